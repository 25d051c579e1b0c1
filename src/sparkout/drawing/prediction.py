"""Predicted against measured: per quantity, measured less predicted with both intervals."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import marks_along
from sparkout.drawing.colour import BLUE, PALE, SOFT_INK
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, Box, Picture, legend
from sparkout.drawing.scale import FINE, Scale, round_up
from sparkout.drawing.text import hard


class Compared(NamedTuple):
    """One quantity, mm: predicted and measured, each with the half width of its 95 % interval."""

    label: str
    predicted: float
    predicted_half: float
    measured: float
    measured_half: float

    @property
    def agrees(self) -> bool:
        """Whether the two intervals meet."""
        return abs(self.measured - self.predicted) <= self.predicted_half + self.measured_half


def predicted_against_measured(
    rows: Iterable[Compared | tuple[str, float, float, float, float]], **manners: Unpack[Manners]
) -> str:
    """Return predictions and what was then measured, one line per quantity, SVG text.

    Parameters
    ----------
    rows
        `Compared` or tuples of its parts. All share one scale of differences, zero at the prediction.

    Raises
    ------
    OutOfRange
        For no rows, more than 60, values that are not finite or a negative half width.

    Examples
    --------
    >>> predicted_against_measured([("diameter, left", 124.2, 0.05, 124.22, 0.02)]).startswith("<svg")
    True
    """
    manner = manner_of("prediction", manners)
    lines = [_checked(i, Compared(*given)) for i, given in enumerate(rows)]
    if not 1 <= len(lines) <= 60:
        raise OutOfRange("number of rows", len(lines), "1 to 60")
    picture = Picture(manner, manner.say("prediction"), [f"{_sentence(manner, line)}." for line in lines])
    top = picture.heading()
    top = picture.paragraph(manner.say("prediction_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    largest = max(max(abs(line.measured - line.predicted) + line.measured_half, line.predicted_half) for line in lines)
    end = round_up(largest / manner.unit, FINE) * manner.unit if largest > 1e-12 else manner.unit
    along = Scale(-end, end, MARGIN + 6, picture.right - 6)
    for line in lines:
        top = picture.paragraph(_sentence(manner, line), MARGIN, top, picture.right)
        _bars(picture, along, line, top + 9.0)
        top += 20.0
    top = marks_along(picture, along, (-end, 0.0, end), manner.length, top)
    key = [(_predicted, manner.say("predicted")), (_measured, manner.say("measured"))]
    return picture.svg(legend(picture, top + 2, key))


def _checked(i: int, line: Compared) -> Compared:
    return Compared(
        str(line.label),
        one(f"rows[{i}] predicted", line.predicted),
        one(f"rows[{i}] predicted_half", line.predicted_half, 0.0),
        one(f"rows[{i}] measured", line.measured),
        one(f"rows[{i}] measured_half", line.measured_half, 0.0),
    )


def _sentence(manner: Manner, line: Compared) -> str:
    predicted = f"{manner.say('predicted')} {hard(manner.length(line.predicted))}"
    measured = f"{manner.say('measured')} {hard(manner.length(line.measured))}"
    return f"{line.label}: {predicted}, {measured}; {manner.say('agrees' if line.agrees else 'disagrees')}"


def _bars(picture: Picture, along: Scale, line: Compared, y: float) -> None:
    zero = along(0.0)
    picture.rect(Box(along(-line.predicted_half), y - 6, along(line.predicted_half), y + 6), PALE, BLUE)
    picture.line((zero, y - 8), (zero, y + 8), BLUE, 2.0)
    at = line.measured - line.predicted
    marks.error_bar(picture, (along(at - line.measured_half), y), (along(at + line.measured_half), y))
    (marks.ring if line.agrees else marks.diamond)(picture, (along(at), y))


def _predicted(picture: Picture, at: tuple[float, float]) -> None:
    picture.rect(Box(at[0] - 9, at[1] - 5, at[0] + 9, at[1] + 5), PALE, BLUE)
    picture.line((at[0], at[1] - 7), (at[0], at[1] + 7), BLUE, 2.0)


def _measured(picture: Picture, at: tuple[float, float]) -> None:
    marks.error_bar(picture, (at[0] - 9, at[1]), (at[0] + 9, at[1]))
    marks.ring(picture, at)
