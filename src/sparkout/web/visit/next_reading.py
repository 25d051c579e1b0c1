"""The one next reading: which boxes it asks for, so that page and drawing can point at them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sparkout.reckoning.answer import Answer

_AT = {"left end": "left", "middle": "centre", "right end": "right"}
_ALONG = {
    "right end against left end": ("left", "right"),
    "right against left": ("left", "right"),
    "both ends, right against left": ("left", "right"),
    "middle against both ends": ("left", "centre", "right"),
    "middle against its ends": ("left", "centre", "right"),
}


@dataclass(frozen=True, slots=True)
class Spot:
    """A place a reading asks for, in the words of the boxes."""

    of: str
    at: str
    blade: int | None = None
    angle: int | None = None


@dataclass(frozen=True, slots=True)
class NextReading:
    """The reading most worth taking, as the answer names it, and its places."""

    label: str
    spots: tuple[Spot, ...]


def next_reading(answer: Answer) -> NextReading | None:
    """Return the reading that settles most: first what tells explanations apart, then what brings a verdict."""
    labels = [c.separation.candidate.label for c in answer.diagnosis.apart if c.separation is not None]
    worth = [j.next_reading for j in answer.judged if j.next_reading is not None]
    worth.sort(key=lambda prospect: prospect.risk_after - prospect.risk_before)
    labels += [prospect.candidate.label for prospect in worth]
    return NextReading(labels[0], spots(labels[0])) if labels else None


def spots(label: str) -> tuple[Spot, ...]:
    """Return the places a candidate's label names; none when it is of a kind the page has no boxes for.

    Examples
    --------
    >>> spots("dial indicator (dial 1) on blade 3 at the left end against blade 1")
    (Spot(of='run-out', at='left', blade=3, angle=None), Spot(of='run-out', at='left', blade=1, angle=None))
    """
    return _by_dial(label) or _under_knife(label) or _across(label)


def _by_dial(label: str) -> tuple[Spot, ...]:
    if found := re.search(r"on blade (\d+) at the ([\w ]+?) against blade (\d+)$", label):
        at = _AT[found[2]]
        return Spot("run-out", at, int(found[1])), Spot("run-out", at, int(found[3]))
    if found := re.search(r"along blade (\d+) on one rail, (.+)$", label):
        return tuple(Spot("run-out", at, int(found[1])) for at in _ALONG.get(found[2], ()))
    if "bare shaft" in label:
        angles = (90, 270) if "a quarter turn on" in label else (0, 180)
        return tuple(Spot("shaft", "centre", None, angle) for angle in angles)
    return ()


def _under_knife(label: str) -> tuple[Spot, ...]:
    for words, of in (("under the resting", "rest gap"), ("along the knife", "knife straightness")):
        if words in label:
            return tuple(Spot(of, at) for at in _ALONG.get(label.rpartition(", ")[2], ()))
    return (Spot("frame", "left"), Spot("frame", "right")) if "from the bearing axis" in label else ()


def _across(label: str) -> tuple[Spot, ...]:
    if found := re.search(r"(?:^|\) |across blade \d+ |caliper |tape |jaws )at (?:the )?(.+)$", label):
        ends = (_AT[found[1]],) if found[1] in _AT else _ALONG.get(found[1], ())
        return tuple(Spot("diameter", at) for at in ends)
    return ()
