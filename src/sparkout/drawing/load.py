"""Work wanted against hours there, week by week, for each grinder and each person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.colour import BLUE, INK, ORANGE, RULE, SOFT_INK, STEEL
from sparkout.drawing.given import row, same_length
from sparkout.drawing.manner import Format, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import Scale
from sparkout.drawing.text import text_width

MOST = 60
_TALL = 54.0


@dataclass(frozen=True, slots=True)
class Hours:
    """One person's or grinder's weeks: hours there are, and hours the plan takes (overtime with them), h."""

    name: str
    there: Sequence[float]
    taken: Sequence[float]


def load_by_week(
    weeks: Sequence[str], rows: Sequence[Hours], *, time: Format | None = None, **manners: Unpack[Manners]
) -> str:
    """Return a strip of weeks for each person and grinder, SVG text.

    Parameters
    ----------
    weeks
        How each week is named (its Monday), 1 to 110.
    rows
        1 to 60; hours 0 to 10,000 for each week.
    time
        Format for hours.

    Raises
    ------
    OutOfRange
        For no row or too many, lists of unlike length, hours below 0 or not finite.

    Examples
    --------
    >>> load_by_week(["2 Mar", "9 Mar"], [Hours("grinder", [37.5, 30.0], [20.0, 33.0])]).startswith("<svg")
    True
    """
    if not 1 <= len(rows) <= MOST or not 1 <= len(weeks) <= 110:
        raise OutOfRange("rows and weeks", (len(rows), len(weeks)), f"1 to {MOST} and 1 to 110")
    manner, told = manner_of("load", manners), time or (lambda value: f"{value:.3g} h")
    checked = []
    for each in rows:
        there, taken = (row(f"hours of {each.name}", given, 0.0, 1e4, "h") for given in (each.there, each.taken))
        same_length(f"hours there of {each.name}", len(there), len(weeks))
        same_length(f"hours taken of {each.name}", len(taken), len(weeks))
        checked.append(Hours(each.name, there, taken))
    said = [
        f"{each.name}: {manner.say('load_week', week=week, taken=told(taken), there=told(there))}."
        for each in checked
        for week, there, taken in zip(weeks, each.there, each.taken, strict=True)
    ]
    picture = Picture(manner, manner.say("load"), said)
    top = picture.heading()
    top = picture.paragraph(manner.say("load_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    for each in checked:
        top = _strip(picture, each, weeks, told, top)
    top = _weeks(picture, weeks, top)
    key: list[tuple[Draw, str]] = []
    for each in checked:
        over = [week for week, there, taken in zip(weeks, each.there, each.taken, strict=True) if taken > there + 0.01]
        if over:
            beyond = picture.hatch("beyond", ORANGE, 4.0)
            key.append((marks.patch(beyond), manner.say("load_beyond", who=each.name, week=", ".join(over))))
    return picture.svg(legend(picture, top + 2, key))


def _strip(picture: Picture, each: Hours, weeks: Sequence[str], told: Format, top: float) -> float:
    """Draw one strip; returns the new top."""
    top = picture.paragraph(each.name, MARGIN, top, picture.right, bold=True) + LINE
    most = max(*each.there, *each.taken, 1e-6)
    up = Scale(0.0, most, top + _TALL, top)
    wide = (picture.right - MARGIN) / len(weeks)
    bar = max(min(wide - 3.0, 40.0), 0.6 * wide)
    for i, (week, there, taken) in enumerate(zip(weeks, each.there, each.taken, strict=True)):
        left = MARGIN + i * wide + (wide - bar) / 2
        tip = picture.manner.say("load_week", week=week, taken=told(taken), there=told(there))
        picture.rect(Box(left, up(there), left + bar, up(0.0)), STEEL, RULE, tooltip=f"{each.name}: {tip}")
        picture.rect(Box(left + 2, up(min(taken, there)), left + bar - 2, up(0.0)), BLUE)
        if taken > there + 0.01:
            beyond = picture.hatch("beyond", ORANGE, 4.0)
            picture.rect(Box(left, up(taken), left + bar, up(there)), beyond, ORANGE)
        figure = f"{taken:.0f}"
        if taken and text_width(figure, SMALL) <= wide:
            picture.label(figure, [Spot(left + bar / 2, up(max(taken, there)) - 3, "middle")], fill=INK)
    picture.line((MARGIN, up(0.0)), (picture.right, up(0.0)), INK)
    return top + _TALL + 8


def _weeks(picture: Picture, weeks: Sequence[str], top: float) -> float:
    """Write the weeks that have room below the last strip."""
    wide, end = (picture.right - MARGIN) / len(weeks), 0.0
    for i, week in enumerate(weeks):
        x = MARGIN + i * wide
        if x >= end and x + text_width(week, SMALL) <= picture.width - 2:
            picture.line((x + wide / 2, top - 8), (x + wide / 2, top - 4), RULE)
            picture.text(week, Spot(x, top + SMALL - 2), fill=SOFT_INK)
            end = x + text_width(week, SMALL) + 6
    return top + LINE + 2
