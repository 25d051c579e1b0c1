"""Whether left and right were exchanged: two gauges that find opposite cones."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations, islice
from statistics import fmean

from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.looking import Asking, Look, Placed, allowance, length_told
from sparkout.visit.problems import Path
from sparkout.visit.taken import Reading


@dataclass(frozen=True, slots=True)
class _Cone:
    """A rough cone on diameter, right less left, from the readings of one gauge."""

    words: str
    path: Path
    value: float
    doubt: float


def exchanged(look: Look) -> Asking:
    """Two gauges that find cones of like size and opposite sign: left and right exchanged, perhaps."""
    for one, other in combinations(islice(_cones(look), _MOST_CONES), 2):
        alike = 1 / 3 < abs(one.value / other.value) < 3
        sure = abs(one.value) > one.doubt and abs(other.value) > other.doubt
        if one.value * other.value < 0 and alike and sure:
            yield (
                other.path,
                phrase(
                    "{other}, but {one}. Were left and right exchanged in one of them? If not, the frame "
                    "or the knife may be out: keep both.",
                    other=_cone_words(look, other),
                    one=_cone_words(look, one),
                ),
            )


_MOST_CONES = 30


def _cone_words(look: Look, cone: _Cone) -> str:
    return phrase(
        "{reading} the right end larger by {length} on diameter"
        if cone.value > 0
        else "{reading} the left end larger by {length} on diameter",
        reading=cone.words,
        length=length_told(look, abs(cone.value)),
    )


def _cones(look: Look) -> Iterator[_Cone]:
    groups: dict[tuple[str, str], list[Placed]] = defaultdict(list)
    for path, reading in look.placed:
        if reading.when == "as found" and reading.at is not None:
            if reading.of in ("diameter", "rest gap"):
                groups[reading.of, reading.gauge or ""].append((path, reading))
            elif reading.of == "run-out":
                groups[reading.of, reading.set_up or ""].append((path, reading))
    for (of, name), placed in groups.items():
        on_diameter = {"diameter": 1.0, "rest gap": -2.0, "run-out": 2.0}[of]
        difference = _end_to_end(look, placed)
        if difference:
            words = {
                "diameter": phrase("the diameters read with '{name}' make", name=AsTyped(name)),
                "rest gap": phrase("the rest gap makes"),
            }
            said = words.get(
                of, phrase("the dial ({set_up}) makes", set_up=AsTyped(name) if name else phrase("no set-up named"))
            )
            doubt = abs(on_diameter) * allowance(look, placed[0][1])
            yield _Cone(said, placed[0][0], on_diameter * difference, doubt)


def _end_to_end(look: Look, placed: Iterable[Placed]) -> float | None:
    """Mean at the rightmost station less mean at the leftmost, carried to the whole length; None when too close."""
    at: dict[float, list[float]] = defaultdict(list)
    for _, reading in placed:
        value = _middle(reading)
        if value is not None and reading.at is not None:
            at[reading.at.along(look.visit.reel.length)].append(value)
    if not at or max(at) - min(at) < 0.3 * look.visit.reel.length:
        return None
    return (fmean(at[max(at)]) - fmean(at[min(at)])) * look.visit.reel.length / (max(at) - min(at))


def _middle(reading: Reading) -> float | None:
    leaves = [float(leaf) for leaf in (reading.goes, reading.does_not_go) if leaf is not None]
    return float(reading.value) if reading.value is not None else (fmean(leaves) if len(leaves) == 2 else None)
