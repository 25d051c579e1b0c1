"""What in a visit cannot be true together, although each field by itself is in range."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.entered import Place
from sparkout.visit.problems import Path
from sparkout.visit.quantities import QUANTITIES, gauge_shows
from sparkout.visit.schema import Visit
from sparkout.visit.sections import GaugeEntry, LimitEntry
from sparkout.visit.taken import Earlier, PaperProof, Reading, Sweep
from sparkout.visit.words import nearest


@dataclass(frozen=True, slots=True)
class Finding:
    """A problem before its line is known."""

    path: Path
    text: str
    value: str = ""
    allowed: str = ""
    unit: str = ""
    suggestion: str = ""

    def moved(self, original: dict[str, list[int]]) -> Finding:
        """Return the same finding with list places counted as in the original data."""
        match self.path:
            case (str() as section, int() as place, *rest) if section in original:
                return replace(self, path=(section, original[section][place], *rest))
        return self


def contradictions(visit: Visit, also_known: frozenset[str] = frozenset()) -> list[Finding]:
    """Return everything in the visit that cannot be; `also_known` are ids of gauges that exist but are in error."""
    return list(islice(_all(visit, also_known), _MOST))


_MOST = 1000


def _all(visit: Visit, also_known: frozenset[str]) -> Iterator[Finding]:
    yield from _reel(visit)
    yield from _gauges(visit)
    yield from _limits(visit)
    gauges = {gauge.id: gauge for gauge in visit.gauges}
    for i, reading in enumerate(visit.readings):
        yield from _reading(("readings", i), reading, visit, gauges, also_known)
    for i, sweep in enumerate(visit.sweeps):
        yield from _sweep(("sweeps", i), sweep, visit, gauges, also_known)
    for i, entry in enumerate(visit.earlier):
        yield from _station(("earlier", i, "at"), entry.at, visit)
        yield from _gauge(("earlier", i), entry, gauges, also_known)
    for i, proof in enumerate(visit.paper):
        yield from _paper(("paper", i), proof, visit)


def _reel(visit: Visit) -> Iterator[Finding]:
    reel = visit.reel
    if reel.land is not None and reel.blade_thickness is not None and reel.land > reel.blade_thickness:
        yield Finding(
            ("reel", "land"),
            phrase(
                "a land of {land} is wider than the blade is thick ({blade_thickness})",
                land=reel.land.text,
                blade_thickness=reel.blade_thickness.text,
            ),
            reel.land.text,
        )


def _gauges(visit: Visit) -> Iterator[Finding]:
    seen: set[str] = set()
    for i, gauge in enumerate(visit.gauges):
        path = ("gauges", i)
        if gauge.id in seen:
            yield Finding((*path, "id"), phrase("two gauges are called '{gauge}'", gauge=AsTyped(gauge.id)), gauge.id)
        seen.add(gauge.id)
        yield from _calibration(path, gauge)


def _calibration(path: Path, gauge: GaugeEntry) -> Iterator[Finding]:
    if gauge.expanded_uncertainty is not None and gauge.k is None:
        yield Finding(
            (*path, "expanded_uncertainty"),
            phrase("an expanded uncertainty says nothing without its coverage factor"),
            gauge.expanded_uncertainty.text,
            suggestion=phrase("Add k as the certificate states it."),
        )
    if gauge.k is not None and gauge.expanded_uncertainty is None:
        yield Finding(
            (*path, "k"), phrase("a coverage factor stands here without an expanded uncertainty"), gauge.k.text
        )
    if gauge.expanded_uncertainty is not None and gauge.calibration_uncertainty is not None:
        yield Finding(
            (*path, "calibration_uncertainty"),
            phrase("give either calibration_uncertainty or expanded_uncertainty with k, not both"),
            gauge.calibration_uncertainty.text,
        )


def _limits(visit: Visit) -> Iterator[Finding]:
    sides = Counter((limit.quantity, side) for limit in visit.limits for side in _sides(limit))
    for i, limit in enumerate(visit.limits):
        path = ("limits", i)
        if not _sides(limit):
            yield Finding(
                path, phrase("the limit on {quantity} has neither at_least nor at_most", quantity=limit.quantity)
            )
        if limit.at_least is not None and limit.at_most is not None and limit.at_least > limit.at_most:
            yield Finding(
                (*path, "at_least"),
                phrase(
                    "at_least {at_least} is above at_most {at_most}",
                    at_least=limit.at_least.text,
                    at_most=limit.at_most.text,
                ),
                limit.at_least.text,
            )
        for side in _sides(limit):
            if sides[limit.quantity, side] > 1:
                yield Finding(
                    (*path, side),
                    phrase("{side} of {quantity} is set more than once", side=side, quantity=limit.quantity),
                    limit.quantity,
                )


def _sides(limit: LimitEntry) -> list[str]:
    return [side for side in ("at_least", "at_most") if getattr(limit, side) is not None]


def _station(path: Path, place: Place | None, visit: Visit) -> Iterator[Finding]:
    length = visit.reel.length
    if place is not None and place.distance is not None and place.distance > length * (1 + 1e-9):
        yield Finding(
            path,
            phrase("the station {place} lies beyond the reel's right end", place=place.text),
            place.text,
            phrase("0 to {length:g}", length=length),
            "mm",
        )


def _blade(path: Path, blade: int | None, visit: Visit) -> Iterator[Finding]:
    if blade is not None and blade > visit.reel.blades:
        yield Finding(
            path,
            phrase("there is no blade {blade} on this reel", blade=blade),
            str(blade),
            phrase("1 to {blades}", blades=visit.reel.blades),
        )


def _gauge(
    path: Path, taken: Reading | Sweep | Earlier, gauges: dict[str, GaugeEntry], also_known: frozenset[str]
) -> Iterator[Finding]:
    entry = QUANTITIES[taken.of]
    if taken.gauge is None:
        if entry.only_these and len(entry.gauges) > 1:
            yield Finding(
                path,
                phrase("a reading of {quantity} means something only when its gauge is named", quantity=taken.of),
                allowed=phrase(
                    "the id of one of your gauges of kind {gauges}", gauges=AsTyped(", ".join(entry.gauges))
                ),
            )
        return
    if taken.gauge in also_known and taken.gauge not in gauges:
        return
    path = (*path, "gauge")
    if taken.gauge not in gauges:
        known = ", ".join(f"'{name}'" for name in list(gauges)[:20]) or phrase("none is entered yet")
        hint = nearest(taken.gauge, tuple(gauges)[:100]) or phrase("Enter it under [[gauges]].")
        yield Finding(
            path,
            phrase("no gauge has the id '{gauge}'", gauge=AsTyped(taken.gauge)),
            taken.gauge,
            known,
            suggestion=hint,
        )
        return
    kind = gauges[taken.gauge].kind
    cannot = gauge_shows(kind)[0] != entry.kind and entry.kind != "number"
    if cannot or (entry.only_these and kind not in entry.gauges):
        yield Finding(
            path,
            phrase("a gauge of kind '{kind}' cannot show {quantity}", kind=AsTyped(kind), quantity=taken.of),
            taken.gauge,
            phrase("kind {gauges}", gauges=AsTyped(", ".join(entry.gauges))),
        )


def _reading(
    path: Path, reading: Reading, visit: Visit, gauges: dict[str, GaugeEntry], also_known: frozenset[str]
) -> Iterator[Finding]:
    for need in QUANTITIES[reading.of].needs:
        if getattr(reading, need) is None:
            yield Finding(path, phrase("a reading of {quantity} needs '{need}'", quantity=reading.of, need=need))
    yield from _station((*path, "at"), reading.at, visit)
    yield from _blade((*path, "blade"), reading.blade, visit)
    yield from _gauge(path, reading, gauges, also_known)
    yield from _leaves(path, reading)


def _leaves(path: Path, reading: Reading) -> Iterator[Finding]:
    goes, stays = reading.goes, reading.does_not_go
    if goes is None and stays is None:
        if reading.value is None:
            yield Finding(path, phrase("this reading has no value"), allowed=phrase("value, or goes and does_not_go"))
        return
    if reading.value is not None:
        yield Finding((*path, "value"), phrase("give either a value or leaves, not both"), reading.value.text)
    if "feeler" not in QUANTITIES[reading.of].gauges:
        yield Finding(path, phrase("{quantity} is not read with feeler leaves", quantity=reading.of), allowed="value")
    if goes is not None and stays is not None and goes >= stays:
        yield Finding(
            (*path, "goes"),
            phrase(
                "the leaf that goes ({goes}) is not thinner than the one that does not ({stays})",
                goes=goes.text,
                stays=stays.text,
            ),
            goes.text,
        )


def _sweep(
    path: Path, sweep: Sweep, visit: Visit, gauges: dict[str, GaugeEntry], also_known: frozenset[str]
) -> Iterator[Finding]:
    yield from _gauge(path, sweep, gauges, also_known)
    for j, place in enumerate(sweep.at):
        yield from _station((*path, "at", j), place, visit)
    for j, blade in enumerate(sweep.blades or ()):
        yield from _blade((*path, "blades", j), blade, visit)
    for j, row in enumerate(sweep.values):
        if len(row) != len(sweep.at):
            yield Finding(
                (*path, "values", j),
                phrase("this row has {values} values for {stations} stations", values=len(row), stations=len(sweep.at)),
                str(len(row)),
            )
    yield from _sweep_rows(path, sweep, visit)


def _sweep_rows(path: Path, sweep: Sweep, visit: Visit) -> Iterator[Finding]:
    rows, per = len(sweep.values), QUANTITIES[sweep.of].rows
    where = (*path, "values")
    if per == "angle":
        if sweep.angles is None:
            yield Finding(path, phrase("a sweep of {quantity} needs 'angles', one per row", quantity=sweep.of))
        elif len(sweep.angles) != rows:
            yield Finding(
                where,
                phrase("there are {rows} rows for {angles} angles", rows=rows, angles=len(sweep.angles)),
                str(rows),
            )
        return
    if sweep.angles is not None:
        yield Finding((*path, "angles"), phrase("a sweep of {quantity} has no angles", quantity=sweep.of))
    if sweep.blades is not None:
        if len(sweep.blades) != rows:
            yield Finding(
                where,
                phrase("there are {rows} rows for {blades} blades", rows=rows, blades=len(sweep.blades)),
                str(rows),
            )
        if len(set(sweep.blades)) != len(sweep.blades):
            yield Finding((*path, "blades"), phrase("a blade is named twice"))
    elif per == "blade" and rows > visit.reel.blades:
        yield Finding(
            where, phrase("there are {rows} rows for {blades} blades", rows=rows, blades=visit.reel.blades), str(rows)
        )
    elif per == "" and rows != 1:
        yield Finding(
            where,
            phrase("a sweep of {quantity} without 'blades' has one row, not {rows}", quantity=sweep.of, rows=rows),
            str(rows),
        )


def _paper(path: Path, proof: PaperProof, visit: Visit) -> Iterator[Finding]:
    for j, place in enumerate(proof.stations):
        yield from _station((*path, "stations", j), place, visit)
    if len(proof.rows) > visit.reel.blades:
        yield Finding(
            (*path, "rows"),
            phrase("there are {rows} rows for {blades} blades", rows=len(proof.rows), blades=visit.reel.blades),
            str(len(proof.rows)),
        )
    for j, row in enumerate(proof.rows):
        if len(row) != len(proof.stations):
            yield Finding(
                (*path, "rows", j),
                phrase(
                    "this row has {letters} letters for {stations} stations",
                    letters=len(row),
                    stations=len(proof.stations),
                ),
                row,
            )
