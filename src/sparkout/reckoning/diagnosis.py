"""What is wrong, and how sure that is: the state of the reel from whatever readings there are."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.gauges.instrument import USUAL_REPEATABILITY, Instrument, Kind
from sparkout.core.phrase import phrase
from sparkout.core.reel.candidates import candidate_readings
from sparkout.core.reel.explanations import Priors
from sparkout.core.reel.simulated import Simulated, eccentricity_draws, edge_bounds
from sparkout.core.reel.state import ReelState, reel_state
from sparkout.reckoning.answer import Diagnosis
from sparkout.reckoning.on_file import marked
from sparkout.reckoning.readings import GAUGE_WORDS, gauge_words

if TYPE_CHECKING:
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.reel.observations import Observation
    from sparkout.core.verdict.next_reading import Candidate
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import When

STATIONS = 41
SEED = 20261125
"""The same file gives the same answer: simulations start from this seed."""
TOLD = ("mean radius", "cone", "barrel", "frame out", "knife bow")
_BARELY = 0.9
"""A quantity whose standard deviation no reading has brought below this share of what it was has not been measured."""
_USUAL_GAUGES: tuple[Kind, ...] = ("tape", "dial", "feeler", "straight edge", "depth gauge")


def priors(given: Given) -> Priors:
    """Return what is expected before any reading, from the workshop's own limits where it has them."""

    def known(quantity: str, usual: float) -> float:
        limit = given.limit(quantity)
        if limit is not None and limit.upper is not None and limit.upper > 0:
            return limit.upper
        given.assume(
            phrase(
                "no limit on {quantity}: the state of the reel takes {usual} mm as usual (common practice, no source)",
                quantity=quantity,
                usual=usual,
            )
        )
        return usual

    return Priors.from_limits(
        cone=known("cone", 0.25),
        barrel=known("barrel", 0.05),
        frame=known("frame", 0.1),
        knife_straightness=known("knife straightness", 0.05),
        shaft_run_out=known("shaft", 0.1),
        run_out=known("run-out", 0.05),
    )


def gauges_at_hand(given: Given) -> list[Instrument]:
    """Return the workshop's gauges by the words people use for them; the usual ones when none is on file."""
    by_name: dict[str, Instrument] = {}
    for reading in given.all_readings:
        instrument = given.instrument(reading)
        if instrument is not None:
            by_name[instrument.name] = instrument
    for entry in given.visit.gauges:
        if entry.id not in by_name:
            usual = USUAL_REPEATABILITY[entry.kind]
            by_name[entry.id] = Instrument(
                entry.id,
                entry.kind,
                float(entry.resolution or 0.0),
                usual / 2 if entry.calibration_u is None else entry.calibration_u,
                usual if entry.repeatability is None else float(entry.repeatability),
            )
    found = [
        Instrument(gauge_words(i), i.kind, i.resolution, i.calibration_u, i.repeatability) for i in by_name.values()
    ]
    kinds = {instrument.kind for instrument in found}
    missing = [kind for kind in _USUAL_GAUGES if kind not in kinds]
    return found + [
        Instrument(GAUGE_WORDS.get(kind, kind), kind, 0.01, USUAL_REPEATABILITY[kind] / 2, USUAL_REPEATABILITY[kind])
        for kind in missing
    ]


def diagnose(given: Given, reel: Reel, observed: list[Observation], when: When = "as found") -> Diagnosis:
    """Return the state of the reel with everything that is drawn and told of it."""
    expected = priors(given)
    possible = marked(_candidates(reel, tuple(gauges_at_hand(given))), given, when)
    return _diagnosed(reel, tuple(observed), expected, _Possible(possible))


@lru_cache(16)
def _candidates(reel: Reel, gauges: tuple[Instrument, ...]) -> tuple[Candidate, ...]:
    """Remembered: what could be read hangs on the reel and the gauges, not on what has been."""
    return tuple(candidate_readings(reel, gauges))


class _Possible:
    """Candidates as part of a key: the same when they are the same readings, for a row follows from the rest."""

    __slots__ = ("candidates", "key")

    def __init__(self, candidates: tuple[Candidate, ...]) -> None:
        self.candidates = candidates
        self.key = tuple((c.label, c.row.tobytes(), c.u, c.minutes, c.gauge, c.touches, c.again) for c in candidates)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Possible) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)


@lru_cache(16)
def _diagnosed(reel: Reel, observed: tuple[Observation, ...], expected: Priors, possible: _Possible) -> Diagnosis:
    """Remembered by everything that goes in: a new reading changes one of a visit's two stages, a choice neither."""
    state = reel_state(reel, observed, expected)
    over = state.parameters
    readings = tuple(replace(c, row=over.embed(c.row)) for c in possible.candidates)
    generator = np.random.default_rng(SEED)
    drawn = state.draw(generator)
    stations = np.linspace(0.0, reel.length, STATIONS)
    heights, heights_sd = state.radius_map(stations)
    edges = edge_bounds(reel, drawn, stations)
    ends = [0, STATIONS // 2, STATIONS - 1]
    bend = np.max([eccentricity_draws(drawn, t) for t in (-1.0, 0.0, 1.0)], axis=0)
    heights.flags.writeable = heights_sd.flags.writeable = stations.flags.writeable = False
    confusions = state.cannot_tell_apart(readings)
    return Diagnosis(
        state,
        stations,
        heights,
        heights_sd,
        edges.lowest_point(stations, 0.95),
        tuple((float(stations[i]), Simulated.of(edges.run_out(i))) for i in ends),
        Simulated.of(edges.total_run_out(every=2)),
        Simulated.of(bend),
        informed(state, reel, expected),
        readings,
        confusions[:3],
    )


@lru_cache(16)
def _u_before(reel: Reel, expected: Priors) -> dict[str, float]:
    """Return the standard uncertainty of each quantity before any reading."""
    state = reel_state(reel, [], expected)
    return {name: state.quantity(name).measured().u for name in TOLD}


def informed(state: ReelState, reel: Reel, expected: Priors) -> frozenset[str]:
    """Return the names of the quantities that some reading bears on."""
    before = _u_before(reel, expected)
    names = {name for name in TOLD if state.quantity(name).measured().u < _BARELY * before[name]}
    if any(o.kind == "run-out" or (o.kind == "radius" and len(o.blades) == 1) for o in state.observations):
        names.add("blades")
    if any(o.kind in ("run-out", "shaft") for o in state.observations):
        names.add("shaft bend")
    return frozenset(names)
