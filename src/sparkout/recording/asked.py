"""What has to be said beside a recording, once for every door: blades, speed, the bearing's inside, what else turns."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from pydantic_core import PydanticCustomError

from sparkout.core.bearing.geometry import Bearing, defect_multiples
from sparkout.core.phrase import AsTyped, phrase
from sparkout.recording.hearing import listened
from sparkout.recording.kept import Hearing, hearing
from sparkout.units import UnitProblem, parse, split
from sparkout.visit.asked import Quantity, a_length, an_angle
from sparkout.visit.problems import Problem, VisitProblems, problem_of, shown
from sparkout.visit.words import Text, Whole

if TYPE_CHECKING:
    from sparkout.visit.asked import Asked

_EVERY_MINUTE = 60.0 / (2.0 * math.pi)
MOST_OTHERS = 8

ASKED: dict[str, Asked] = {
    "blades": Whole("blades on the reel: their lines tell its speed", "11", 2, 40),
    "reel_speed": Quantity(
        "of the reel, from a tachometer; without it the blades' lines tell it", "1500 1/min", "rotation", 30.0, 20000.0,
        "1/min",
    ),
    "balls": Whole("balls or rollers in one row of the bearing", "9", 3, 100),
    "ball_diameter": a_length(0.5, 200, "of a ball or roller", "7.94 mm"),
    "pitch_diameter": a_length(1, 1000, "of the circle through the balls' middles", "39.04 mm"),
    "contact_angle": an_angle(0, 75, "of a taper or angular bearing; 0 when not said", "15 deg"),
    "others": Text("what else turns, each with how often: a motor, a belt", "motor 48 Hz; belt 620 1/min", 300),
}  # fmt: skip
"""Every entry with what it takes."""
_INSIDE = ("balls", "ball_diameter", "pitch_diameter")


@dataclass(frozen=True, slots=True)
class Beside:
    """What was said beside a recording, in core units but for the speed, 1/min, and the others, Hz."""

    blades: int
    reel_speed: float | None = None
    bearing: Bearing | None = None
    others: Mapping[str, float] = field(default_factory=dict)


def beside(given: Mapping[str, Any]) -> Beside:
    """Return what was said beside a recording, read from what was typed; None and empty texts are not said.

    Raises
    ------
    VisitProblems
        With everything wrong, each naming its entry.

    Examples
    --------
    >>> said = beside({"blades": 11, "balls": 9, "ball_diameter": "7.94 mm", "pitch_diameter": "39.04 mm",
    ...                "others": "motor 48 Hz; belt 620 1/min"})
    >>> said.bearing.elements, {name: round(hz, 2) for name, hz in said.others.items()}
    (9, {'motor': 48.0, 'belt': 10.33})
    """
    problems: list[Problem] = []
    found: dict[str, Any] = {}
    for name, value in given.items():
        if value is None or value == "":
            continue
        if name not in ASKED:
            problems.append(Problem(name, None, phrase("there is no '{key}'", key=AsTyped(name)), "", ", ".join(ASKED)))
            continue
        try:
            found[name] = ASKED[name].read(value)
        except PydanticCustomError as error:
            problems.append(problem_of(name, error.context))
    if "blades" not in given or given["blades"] in (None, ""):
        problems.append(Problem("blades", None, phrase("this is needed"), "", ASKED["blades"].allowed))
    missing = [name for name in _INSIDE if given.get(name) in (None, "")]
    if 0 < len(missing) < len(_INSIDE):
        problems += [
            Problem(name, None, phrase("the bearing's inside takes all three"), "", ASKED[name].allowed)
            for name in missing
            if name not in {problem.path for problem in problems}
        ]
    others: dict[str, float] = {}
    if "others" in found:
        try:
            others = dict(_others(str(found["others"])))
        except VisitProblems as wrong:
            problems += wrong.problems
    if problems:
        raise VisitProblems(problems)
    speed = found.get("reel_speed")
    bearing = None if missing else _bearing(found)
    return Beside(int(found["blades"]), None if speed is None else float(speed) * _EVERY_MINUTE, bearing, others)


def _bearing(found: Mapping[str, Any]) -> Bearing:
    made = Bearing(
        int(found["balls"]), float(found["ball_diameter"]), float(found["pitch_diameter"]),
        float(found.get("contact_angle") or 0.0),
    )  # fmt: skip
    if made.element_diameter >= made.pitch_diameter:
        told = phrase("a ball of {ball:g} mm does not go on a circle of {circle:g} mm",
                      ball=made.element_diameter, circle=made.pitch_diameter)  # fmt: skip
        raise VisitProblems([Problem("ball_diameter", None, told, "", phrase("below the pitch diameter"))])
    if made.elements * made.element_diameter > math.pi * made.pitch_diameter:
        told = phrase("{count} of {ball:g} mm do not fit on a circle of {circle:g} mm",
                      count=made.elements, ball=made.element_diameter, circle=made.pitch_diameter)  # fmt: skip
        raise VisitProblems([Problem("balls", None, told)])
    defect_multiples(made)
    return made


def _others(text: str) -> Iterator[tuple[str, float]]:
    """Yield each name with its frequency in Hz."""
    allowed = phrase("a name and how often, as in: motor 48 Hz; belt 620 1/min")
    pieces = [piece.strip() for piece in text.split(";") if piece.strip()]
    if len(pieces) > MOST_OTHERS:
        told = phrase("{count} other things; allowed: at most {most}", count=len(pieces), most=MOST_OTHERS)
        raise VisitProblems([Problem("others", None, told)])
    for piece in pieces:
        match = re.match(r"\s*(.*?)\s+([0-9][0-9.,]*\s*\S.*)$", piece)
        if match is None:
            told = phrase("{given} has no name, or does not say how often", given=shown(piece))
            raise VisitProblems([Problem("others", None, told, piece, allowed)])
        name, often = match.groups()
        yield name, _hertz(often, allowed)


def _hertz(often: str, allowed: str) -> float:
    try:
        unit = split(often)[1]
        hertz = parse(often, "frequency", "Hz") if unit.lower().endswith("hz") else (
            parse(often, "rotation", "1/min") / (2.0 * math.pi)
        )  # fmt: skip
    except (UnitProblem, OverflowError) as problem:
        told = problem.words if isinstance(problem, UnitProblem) else phrase("that is no finite number")
        raise VisitProblems([Problem("others", None, told, often, allowed)]) from None
    if not 0.1 <= hertz <= 20_000.0:
        told = phrase("{given} is out of range", given=shown(often))
        raise VisitProblems([Problem("others", None, told, often, phrase("0.1 to 20000"), "Hz")])
    return hertz


def listened_to(data: bytes, said: Beside) -> Hearing:
    """Return what a recording tells with what was said beside it: the operation below every door.

    Raises
    ------
    Refusal
        As `sparkout.recording.hearing.listened`.
    """
    told = listened(data, said.blades, said.bearing, said.reel_speed, said.others)
    return hearing(told, said.blades, said.bearing, said.others, given=said.reel_speed is not None)
