"""How the unit stands against each of the workshop's limits, and the one next reading where that is undecided."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.measured import Measured
from sparkout.core.phrase import joined, phrase
from sparkout.core.reel.parameters import MEAN_RADIUS, edge_rows
from sparkout.core.verdict.conformity import verdict
from sparkout.core.verdict.limit import Limit
from sparkout.core.verdict.next_reading import next_readings, worth_taking
from sparkout.reckoning.answer import Judged
from sparkout.visit.quantities import QUANTITIES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.verdict.conformity import Verdict
    from sparkout.core.verdict.next_reading import Prospect
    from sparkout.reckoning.answer import Diagnosis
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import When

STATE_NAMES = {"cone": "cone", "barrel": "barrel", "frame": "frame out", "knife straightness": "knife bow"}
_ENDS = (phrase("left end"), phrase("centre"), phrase("right end"))


def judge(given: Given, diagnosis: Diagnosis, when: When = "as found") -> tuple[Judged, ...]:
    """Return every limit with its verdict, in the order of the file; as left, without rollers nobody read again.

    No work of the workshop touches a roller: it is as it was found.
    """
    found = (_judged(limit, given, diagnosis, when) for limit in given.limits())
    return tuple(
        one for one in found if when == "as found" or one.measured or not QUANTITIES[one.limit.quantity].limits
    )


def _judged(limit: Limit, given: Given, diagnosis: Diagnosis, when: When) -> Judged:
    if limit.quantity in STATE_NAMES or limit.quantity == "diameter":
        return _linear(limit, diagnosis)
    if limit.quantity in ("run-out", "total run-out", "shaft"):
        return _simulated(limit, diagnosis)
    return _direct(limit, given, when)


def _row(limit: Limit, diagnosis: Diagnosis) -> tuple[NDArray[np.float64], str]:
    state = diagnosis.state
    if limit.quantity == "diameter":
        row = np.zeros(state.parameters.count)
        row[MEAN_RADIUS] = 2.0
        return row, "mean radius"
    name = STATE_NAMES[limit.quantity]
    return state.parameters.row(name), name


@lru_cache(64)
def _linear(limit: Limit, diagnosis: Diagnosis) -> Judged:
    """Remembered: of a visit's two stages a new reading changes one."""
    state = diagnosis.state
    row, name = _row(limit, diagnosis)
    quantity = state.quantity(row)
    found = verdict(quantity, limit)
    nearest = _next(limit, found, diagnosis, row)
    told = {
        "diameter": phrase("mean diameter"),
        "frame": phrase("frame out"),
        "knife straightness": phrase("bedknife bow"),
    }
    words = told.get(limit.quantity, limit.quantity)
    if name not in diagnosis.informed:
        return Judged(limit, words, "length", None, None, None, nearest, phrase("not measured yet"))
    return Judged(limit, words, "length", quantity.measured(), quantity.interval(), found, nearest, "")


@lru_cache(64)
def _simulated(limit: Limit, diagnosis: Diagnosis) -> Judged:
    """Run-outs are not linear in the parameters; the next reading is sought for the two edge points farthest apart."""
    name = limit.quantity
    if name == "total run-out":
        value, note = diagnosis.total_run_out, phrase("over the whole length")
        spread = diagnosis.heights.ravel()
    elif name == "run-out":
        at = max(range(3), key=lambda i: diagnosis.run_out[i][1].value.value)
        value, note = diagnosis.run_out[at][1], phrase("worst of three places: {place}", place=_ENDS[at])
        spread = diagnosis.heights[:, (0, len(diagnosis.stations) // 2, -1)[at]]
    else:
        value, note, spread = diagnosis.shaft_bend, phrase("as movement of a dial: twice the bend"), None
        value = type(value)(value.value.scaled(2.0), (2 * value.interval[0], 2 * value.interval[1]))
    found = verdict(value.value, limit)
    nearest = None
    if spread is not None:
        row = _farthest(name, diagnosis, spread)
        nearest = _next(limit, found, diagnosis, row)
    told = phrase("shaft run-out") if name == "shaft" else name
    if ("shaft bend" if name == "shaft" else "blades") not in diagnosis.informed:
        note = phrase(
            "not measured yet; what would: dial indicator on the bare shaft at the middle, over one turn"
            if name == "shaft"
            else "not measured yet; what would: dial indicator on every blade at the centre"
        )
        return Judged(limit, told, "length", None, None, None, None, note)
    return Judged(limit, told, "length", value.value, value.interval, found, nearest, note)


def _farthest(name: str, diagnosis: Diagnosis, spread: NDArray[np.float64]) -> NDArray[np.float64]:
    """Row of the highest less the lowest point of the best estimate."""
    state, x = diagnosis.state, diagnosis.stations
    rows = edge_rows(state.reel, x)
    if name == "run-out":
        column = int(np.argmax([np.array_equal(diagnosis.heights[:, i], spread) for i in range(len(x))]))
        high, low = rows[int(spread.argmax()), column], rows[int(spread.argmin()), column]
    else:
        flat = rows.reshape(-1, rows.shape[2])
        high, low = flat[int(spread.argmax())], flat[int(spread.argmin())]
    return state.parameters.embed(high - low)


def _next(limit: Limit, found: Verdict, diagnosis: Diagnosis, row: NDArray[np.float64]) -> Prospect | None:
    if found.outcome != "undecided":
        return None
    # For run-outs the row stands in for a largest of many; when it sees no risk it has nothing to say.
    best = worth_taking(next_readings(diagnosis.state.mixture, row, limit, diagnosis.possible))
    if best is None:
        return None
    # A reading that settles nothing is not worth naming.
    gains = best.risk_after < 0.999 * best.risk_before or best.wrong_after < 0.99 * best.wrong_before
    return best if gains and best.risk_before > 1e-6 else None


def _direct(limit: Limit, given: Given, when: When) -> Judged:
    """Quantities read as such: the worst place counts."""
    kind = QUANTITIES[limit.quantity].kind
    of, which = QUANTITIES[limit.quantity].limits or (limit.quantity, "")
    at = given.readings(of, when)
    read = [r for r in at if (r.value is not None or r.goes is not None) and which in ("", r.which)]
    if not read:
        return Judged(limit, limit.quantity, kind, None, None, None, None, phrase("not read"))
    from sparkout.reckoning.readings import place_words, read_gap

    values = [
        (read_gap(r, given.reading_u(r)) if r.value is None else Measured(float(r.value), given.reading_u(r)), r)
        for r in read
    ]
    judged = [(verdict(value, limit), value, reading) for value, reading in values]
    # Of two that are equally likely to conform, as both surely do, the one nearer the limit.
    found, value, reading = min(judged, key=lambda entry: (entry[0].probability, round(entry[0].margin, 9)))
    place = place_words(reading, given.visit.reel.length)
    note = phrase("worst of {count}: {place}", count=len(read), place=place) if len(read) > 1 and place else ""
    if found.outcome == "undecided":
        note = joined("; ", filter(None, (note, _repeats(found.margin, value.u, limit.risk))))
    return Judged(limit, limit.quantity, kind, value, value.interval(), found, None, note)


def _repeats(margin: float, u: float, risk: float) -> str:
    """Say how much smaller the uncertainty would have to be for this value to be decided."""
    from statistics import NormalDist

    wanted = abs(margin) / NormalDist().inv_cdf(1.0 - risk)
    if wanted <= 0.0:
        return phrase("on the limit: only a finer gauge could decide")
    share = wanted / u
    times = math.ceil(1.0 / share**2)
    if times <= 10:
        return phrase(
            "the mean of {times} readings as good as this one would decide, were it only their own scatter", times=times
        )
    return phrase("a gauge {times:.0f} times finer would be needed to decide", times=1.0 / share)
