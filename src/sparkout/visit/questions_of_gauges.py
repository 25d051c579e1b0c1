"""What has to be asked about the gauges: which it was, and whether it can show what was read."""

from __future__ import annotations

from collections import defaultdict

from sparkout.core.gauges.instrument import USUAL_REPEATABILITY
from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.looking import Asking, Look, Placed, and_more
from sparkout.visit.problems import Path
from sparkout.visit.quantities import QUANTITIES, gauge_shows
from sparkout.visit.taken import Reading


def without_gauge(look: Look) -> Asking:
    """Readings of which nobody says what they were read with."""
    paths = [path for path, reading in look.placed if reading.gauge is None and QUANTITIES[reading.of].gauges]
    if paths:
        yield (
            paths[0],
            phrase(
                "{what}; its uncertainty is then a guess. Which was it?",
                what=and_more(phrase("no gauge is named"), paths),
            ),
        )


def without_set_up(look: Look) -> Asking:
    """Readings off a zero of which nobody says whether they shared it."""
    zeroed = ("run-out", "shaft", "frame", "knife straightness")
    paths: list[Path] = [
        ("readings", i)
        for i, reading in enumerate(look.visit.readings)
        if reading.of in zeroed and reading.set_up is None
    ]
    if len(paths) > 1:
        yield (
            paths[0],
            phrase("{what}. Did all these share one zero?", what=and_more(phrase("no set_up is named"), paths)),
        )


def unusual_gauge(look: Look) -> Asking:
    """A quantity read with a gauge seldom used for it."""
    seen = set()
    for path, reading in look.placed:
        gauge, usual = look.gauges.get(reading.gauge or ""), QUANTITIES[reading.of].gauges
        if gauge is not None and usual and gauge.kind not in usual and (gauge.kind, reading.of) not in seen:
            seen.add((gauge.kind, reading.of))
            yield (
                path,
                phrase(
                    "{quantity} is seldom read with a gauge of kind '{kind}'. Is the gauge right?",
                    quantity=reading.of,
                    kind=AsTyped(gauge.kind),
                ),
            )


_ESTIMATED = 10.0
"""A reading between two marks is taken at most to a tenth of their distance."""


def too_fine(look: Look) -> Asking:
    """A reading between the steps that a gauge shows."""
    found: dict[str, list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        gauge = look.gauges.get(reading.gauge or "")
        if gauge is not None and gauge.resolution and reading.value is not None:
            usual = gauge_shows(gauge.kind)[1]
            tenths = reading.value / gauge.resolution * _ESTIMATED
            between = abs(tenths - round(tenths)) > 1e-6 * max(1.0, abs(tenths))
            if between and (reading.value.unit or usual) == (gauge.resolution.unit or usual):
                found[gauge.id].append((path, reading))
    for name, placed in found.items():
        path, reading = placed[0]
        step, text = (getattr(typed, "text", "") for typed in (look.gauges[name].resolution, reading.value))
        yield (
            path,
            phrase(
                "{what}. Is it right?",
                what=and_more(
                    phrase(
                        "'{name}' shows steps of {step}; {reading} is finer than it can be read",
                        name=AsTyped(name),
                        step=step,
                        reading=text,
                    ),
                    [p for p, _ in placed],
                ),
            ),
        )


_UNSEEN = 0.03
"""Of what a gauge tells apart: so little it does not show (own choice; the wrong unit is a thousand times off)."""
_NEXT_UNIT = {"thou": "in", "µm": "mm"}


def tiny(look: Look) -> Asking:
    """A reading next to nothing, such as .002 beside a box that counts in thou: .002 in, as dials are marked."""
    found: dict[str, list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        entry = QUANTITIES[reading.of]
        if entry.kind != "length" or not entry.gauges or reading.value is None:
            continue
        if 0.0 < abs(reading.value) < _UNSEEN * _finest(look, reading):
            found[reading.of].append((path, reading))
    for placed in found.values():
        path, value = placed[0][0], placed[0][1].value
        assert value is not None
        meant = AsTyped(f"{value.number:g} {_NEXT_UNIT.get(value.unit, 'in')}")
        less = phrase("{value} is less than any gauge for it shows", value=AsTyped(value.text))
        yield (
            path,
            phrase("{what}. Did you mean {meant}?", what=and_more(less, [p for p, _ in placed]), meant=meant),
        )


def _finest(look: Look, reading: Reading) -> float:
    """Return what the gauge of a reading tells apart, mm: its own figures, else what is usual of its kind."""
    gauge = look.gauges.get(reading.gauge or "")
    if gauge is None:
        return min(USUAL_REPEATABILITY[kind] for kind in QUANTITIES[reading.of].gauges)
    own = [float(said) for said in (gauge.resolution, gauge.repeatability) if said]
    return min([*own, USUAL_REPEATABILITY[gauge.kind]])
