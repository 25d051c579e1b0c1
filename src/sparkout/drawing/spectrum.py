"""What a recording shows of a bearing: the spectrum of the ringing's envelope, with each defect's lines marked."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from itertools import pairwise
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import BLUE, INK, ORANGE, RULE, SOFT_INK, WHITE
from sparkout.drawing.given import one, row
from sparkout.drawing.manner import Format, Manner, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, Box, Picture, legend
from sparkout.drawing.scale import Scale, round_steps
from sparkout.drawing.svg import Point

HIGH = 170.0
HARMONICS = 4
_MOST = 1e12


def hertz(value: float) -> str:
    """Return a frequency as plain text: what is shown when no format is passed.

    Examples
    --------
    >>> hertz(89.6215)
    '89.6 Hz'
    """
    return f"{value:.{0 if value >= 1000 or value == round(value) else 1}f} Hz"


class DefectLine(NamedTuple):
    """A defect's lines: outer race, inner race, ball or cage; Hz; what the key says of it; whether it was named."""

    fault: str
    frequency: float
    told: str
    named: bool


class OtherLine(NamedTuple):
    """Something else that has lines of its own: its name and its frequency, Hz."""

    name: str
    frequency: float


def envelope_spectrum(
    frequencies: Sequence[float],
    heights: Sequence[float],
    defects: Iterable[DefectLine | tuple[str, float, str, bool]],
    others: Iterable[OtherLine | tuple[str, float]] = (),
    cannot: Iterable[str] = (),
    frequency: Format = hertz,
    **manners: Unpack[Manners],
) -> str:
    """Return the spectrum of the ringing's envelope with the lines to be expected, SVG text.

    Parameters
    ----------
    frequencies, heights
        Hz, rising; times the background of noise. The height axis is logarithmic and ends downwards at the background.
    defects
        One row of marks each above the curve, at its first four harmonics, told apart by shape; a named one is filled.
    others
        Dashed uprights from the foot: blades, the reel's own turns, belt, motor.
    cannot
        What the recording cannot show, and why: told below.
    frequency
        Hz to shown text, number and unit with a blank between.

    Raises
    ------
    OutOfRange
        For fewer than two ordinates, lengths that differ, frequencies that do not rise, values out of range, an unknown
        defect, none or more than four of them, or more than 12 others.

    Examples
    --------
    >>> envelope_spectrum([1, 50, 100], [1, 9, 2], [("cage", 48.0, "cage: not shown", False)]).startswith("<svg")
    True
    """
    manner = manner_of("spectrum", manners)
    f = row("frequencies", frequencies, 0.0, 1e6, "Hz", 2)
    h = row("heights", heights, 0.0, _MOST, "", 2)
    if len(f) != len(h):
        raise OutOfRange("number of heights", len(h), f"{len(f)}, one for each frequency")
    if any(b <= a for a, b in pairwise(f)):
        raise OutOfRange("frequencies", f[0], "each above the one before", "Hz")
    lines = [_defect(DefectLine(*given)) for given in defects]
    if not 1 <= len(lines) <= len(_MARKS):
        raise OutOfRange("number of defects", len(lines), f"1 to {len(_MARKS)}")
    also = [OtherLine(str(name), one(f"frequency of {name}", at, 0.0, 1e6, "Hz", above=True)) for name, at in others]
    if len(also) > 12:
        raise OutOfRange("number of others", len(also), "at most 12")
    missing = [str(text) for text in cannot]
    picture = Picture(manner, manner.say("spectrum"), [f"{line.told}." for line in lines])
    top = picture.heading()
    top = picture.paragraph(manner.say("spectrum_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    top = _chart(picture, manner, f, h, lines, also, top, frequency)
    top = legend(picture, top + 4, [(_mark(line), line.told) for line in lines])
    told = ", ".join(f"{other.name} {frequency(other.frequency)}" for other in also)
    if told:
        key = f"{manner.say('spectrum_others')} {told}"
        top = legend(picture, top, [(marks.stroke(SOFT_INK, 1.2, "3 3"), key)])
    if missing:
        top = picture.paragraph(manner.say("spectrum_cannot"), MARGIN, top + 4, picture.right, bold=True)
        for text in missing:
            top = picture.paragraph(text, MARGIN, top, picture.right)
    return picture.svg(top)


def _defect(line: DefectLine) -> DefectLine:
    if line.fault not in _MARKS:
        raise OutOfRange("defect", line.fault, ", ".join(_MARKS))
    at = one(f"frequency of {line.fault}", line.frequency, 0.0, 1e6, "Hz", above=True)
    return DefectLine(line.fault, at, str(line.told), bool(line.named))


def _chart(
    picture: Picture,
    manner: Manner,
    f: tuple[float, ...],
    h: tuple[float, ...],
    lines: list[DefectLine],
    also: list[OtherLine],
    top: float,
    frequency: Format,
) -> float:
    """Draw rows of marks and the curve below them; returns the new top."""
    left, right = MARGIN + 46.0, picture.right - 6.0
    highest = max(1.0, math.ceil(math.log10(max(*h, 1.0)) - 1e-9))
    foot = top + len(lines) * LINE + 6.0 + HIGH
    up = Scale(0.0, highest, foot, foot - HIGH)
    along = Scale(0.0, f[-1], left, right)
    steps = range(0, int(highest) + 1, max(1, math.ceil(highest / 5)))
    marks_up(picture, up, [float(n) for n in steps], _times, left, right)
    for other in also:
        for k in range(1, HARMONICS + 1):
            if k * other.frequency <= f[-1]:
                x = along(k * other.frequency)
                picture.line((x, foot - HIGH / 3.0), (x, foot), SOFT_INK, 1.2, "3 3")
    for n, line in enumerate(lines):
        y = top + (n + 0.5) * LINE
        picture.line((left, y), (right, y), RULE, 0.6)
        for k in range(1, HARMONICS + 1):
            if k * line.frequency <= f[-1]:
                x = along(k * line.frequency)
                if line.named:
                    picture.line((x, y), (x, foot), ORANGE, 1.0)
                _mark(line)(picture, (x, y))
    curve = [(along(at), up(math.log10(max(height, 1.0)))) for at, height in zip(f, h, strict=True)]
    picture.trace(curve, BLUE, 1.2)
    frame(picture, Box(left, foot - HIGH, right, foot))
    below = marks_along(picture, along, round_steps(0.0, f[-1], wanted=5), frequency, foot)
    return picture.paragraph(manner.say("spectrum_axes"), MARGIN, below, picture.right, fill=SOFT_INK)


def _times(power: float) -> str:
    return f"{10.0**power:.0f}×" if power < 5 else f"1e{power:.0f}×"


def _mark(line: DefectLine) -> Callable[[Picture, Point], None]:
    """Return the defect's mark: its shape says which defect, its filling whether it was named."""
    return partial(_MARKS[line.fault], fill=INK if line.named else WHITE)


def _round(picture: Picture, at: Point, fill: str) -> None:
    picture.circle(at, 4.2, fill, INK, 1.3)


def _square(picture: Picture, at: Point, fill: str) -> None:
    x, y = at
    picture.rect(Box(x - 3.8, y - 3.8, x + 3.8, y + 3.8), fill, INK)


def _diamond(picture: Picture, at: Point, fill: str) -> None:
    x, y = at
    picture.shape([(x, y - 5.4), (x + 5.4, y), (x, y + 5.4), (x - 5.4, y)], fill, INK, 1.3)


def _triangle(picture: Picture, at: Point, fill: str) -> None:
    x, y = at
    picture.shape([(x - 5.0, y - 4.0), (x + 5.0, y - 4.0), (x, y + 5.0)], fill, INK, 1.3)


_MARKS: dict[str, Callable[..., None]] = {
    "outer race": _round,
    "inner race": _square,
    "ball": _diamond,
    "cage": _triangle,
}
