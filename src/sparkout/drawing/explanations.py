"""What could explain the readings, each explanation with its weight as a bar."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing.colour import BLUE, RULE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Picture, Spot
from sparkout.drawing.text import text_width


def explanation_bars(explanations: Iterable[tuple[str, float]], **manners: Unpack[Manners]) -> str:
    """Return explanations as bars in the order given, SVG text.

    Parameters
    ----------
    explanations
        (name, weight), weight 0 to 1. They need not sum to one: those left out are simply not shown.

    Raises
    ------
    OutOfRange
        For no explanations, more than 60, or a weight outside 0 to 1.

    Examples
    --------
    >>> explanation_bars([("cone", 0.8), ("frame out", 0.2)]).startswith("<svg")
    True
    """
    manner = manner_of("explanations", manners)
    rows = [(str(name), one(f"weight of {name}", weight, 0.0, 1.0, "")) for name, weight in explanations]
    if not 1 <= len(rows) <= 60:
        raise OutOfRange("number of explanations", len(rows), "1 to 60")
    said = [f"{name}: {manner.share(weight)}." for name, weight in rows]
    picture = Picture(manner, manner.say("explanations"), said)
    top = picture.heading()
    top = picture.paragraph(manner.say("explanations_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    figures = max(text_width(manner.share(weight), SMALL) for _, weight in rows) + 8
    for name, weight in rows:
        base = top
        top = picture.paragraph(name, MARGIN, top, picture.right - figures)
        picture.text(manner.share(weight), Spot(picture.right, base + SMALL, "end"), bold=True)
        picture.rect(Box(MARGIN, top + 1, picture.right, top + 10), STEEL)
        picture.rect(Box(MARGIN, top + 1, MARGIN + (picture.right - MARGIN) * weight, top + 10), BLUE)
        picture.line((MARGIN, top), (MARGIN, top + 11), RULE)
        top += LINE
    return picture.svg(top)
