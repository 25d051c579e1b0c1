"""Pass by pass: one line per pass, with what was dialled in, how much of the edge it touched and what came off."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing.colour import BLUE, INK, PALE, RULE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Picture, Spot
from sparkout.drawing.text import shortened, text_width, wrapped

KINDS = ("rough", "finish", "spark-out")
_ROW = 17.0
_LEAST_BAR = 56.0


class DrawnPass(NamedTuple):
    """One pass: lengths on radius, mm; contact share 0 to 1; kind "rough", "finish" or "spark-out"."""

    label: str
    infeed: float
    contact_share: float
    largest_bite: float
    running_stock: float
    kind: str


class _Columns(NamedTuple):
    """Right edges of the columns of figures, and the room for the bar."""

    label: float
    infeed: float
    bite: float
    stock: float
    bar: Box
    own_line: bool
    """Whether the bar goes below the figures, because beside them there is no room."""


def pass_chart(
    passes: Iterable[DrawnPass | tuple[str, float, float, float, float, str]], **manners: Unpack[Manners]
) -> str:
    """Return the passes of a grind as a chart, one line each, SVG text.

    Parameters
    ----------
    passes
        `DrawnPass` or tuples of its parts, in the order ground.

    Raises
    ------
    OutOfRange
        For no passes or more than 400, an unknown kind, values that are not finite, a share outside 0 to 1.

    Examples
    --------
    >>> pass_chart([("1", 0.02, 0.4, 0.014, 0.014, "rough")]).startswith("<svg")
    True
    """
    manner = manner_of("passes", manners)
    rows = [_checked(i, DrawnPass(*given)) for i, given in enumerate(passes)]
    if not 1 <= len(rows) <= 400:
        raise OutOfRange("number of passes", len(rows), "1 to 400")
    picture = Picture(manner, manner.say("pass_chart"), [_sentence(manner, row) for row in rows])
    top = picture.heading()
    columns = _columns(picture, rows)
    top = _head(picture, columns, rows, top + 2)
    kind = ""
    for row in rows:
        if row.kind != kind:
            kind = row.kind
            top = picture.paragraph(manner.say(kind), MARGIN, top + 4, picture.right, bold=True)
        top = _line(picture, columns, row, top)
    return picture.svg(top)


def _checked(i: int, row: DrawnPass) -> DrawnPass:
    if row.kind not in KINDS:
        raise OutOfRange(f"passes[{i}] kind", row.kind, ", ".join(KINDS))
    return DrawnPass(
        str(row.label),
        one(f"passes[{i}] infeed", row.infeed),
        one(f"passes[{i}] contact_share", row.contact_share, 0.0, 1.0, ""),
        one(f"passes[{i}] largest_bite", row.largest_bite),
        one(f"passes[{i}] running_stock", row.running_stock),
        row.kind,
    )


def _sentence(manner: Manner, row: DrawnPass) -> str:
    figures = (
        f"{manner.say('infeed')} {manner.length(row.infeed)}",
        f"{manner.say('contact_share')} {manner.share(row.contact_share)}",
        f"{manner.say('largest_bite')} {manner.length(row.largest_bite)}",
        f"{manner.say('running_stock')} {manner.length(row.running_stock)}",
    )
    return f"{manner.say('pass')} {row.label}, {manner.say(row.kind)}: {', '.join(figures)}."


def _columns(picture: Picture, rows: list[DrawnPass]) -> _Columns:
    figure, share = picture.manner.figure, picture.manner.share
    label = min(max(text_width(row.label, SMALL) for row in rows), 0.24 * picture.width)
    wide = [
        max(44.0, *(text_width(figure(value), SMALL) for value in values))
        for values in zip(*((row.infeed, row.largest_bite, row.running_stock) for row in rows), strict=True)
    ]
    room = picture.right - MARGIN - label - sum(wide) - 4 * 10.0
    percent = max(text_width(share(row.contact_share), SMALL) for row in rows) + 4
    own_line = room < _LEAST_BAR + percent
    stock = picture.right
    bite = stock - wide[2] - 10.0
    infeed = MARGIN + label + 10.0 + wide[0]
    bar = Box(infeed + 10.0, 0.0, bite - wide[1] - 10.0, 0.0)
    if own_line:
        bar = Box(MARGIN, 0.0, picture.right, 0.0)
    return _Columns(MARGIN + label, infeed, bite, stock, Box(bar.left, 0.0, bar.right - percent, 0.0), own_line)


def _head(picture: Picture, columns: _Columns, rows: list[DrawnPass], top: float) -> float:
    manner = picture.manner
    unit = manner.unit_name(rows[-1].running_stock)
    if columns.own_line:
        names = [manner.say(key) for key in ("pass", "infeed", "largest_bite", "running_stock", "contact_share")]
        top = picture.paragraph(f"{' · '.join(names)}{f' ({unit})' if unit else ''}", MARGIN, top, picture.right)
        picture.line((MARGIN, top + 1), (picture.right, top + 1), INK)
        return top + 2
    spread = [MARGIN, columns.infeed + 4, columns.bar.right + 38, columns.bite + 5, columns.stock]
    spread[2] = max(columns.bar.left + 60, columns.bite - 56)
    texts = (
        manner.say("infeed"),
        manner.say("contact_share"),
        manner.say("largest_bite"),
        manner.say("running_stock"),
    )
    anchors = ("end", "start", "end", "end")
    bottoms = []
    for i, (text, anchor) in enumerate(zip(texts, anchors, strict=True)):
        left = spread[i] + (0 if i == 0 else 5)
        right = spread[i + 1]
        bottoms.append(picture.paragraph(text, left, top, right, anchor=anchor, fill=SOFT_INK))
        if unit and i != 1:
            bottoms[-1] = picture.paragraph(unit, left, bottoms[-1], right, anchor=anchor, fill=SOFT_INK)
    picture.line((MARGIN, max(bottoms) + 1), (picture.right, max(bottoms) + 1), INK)
    return max(bottoms) + 2


def _line(picture: Picture, columns: _Columns, row: DrawnPass, top: float) -> float:
    manner = picture.manner
    base = top + 13.0
    picture.text(shortened(row.label, SMALL, columns.label - MARGIN + 1), Spot(MARGIN, base))
    if columns.own_line:
        return _on_two_lines(picture, columns, row, top)
    for right, value in (
        (columns.infeed, row.infeed), (columns.bite, row.largest_bite), (columns.stock, row.running_stock),
    ):  # fmt: skip
        picture.text(manner.figure(value), Spot(right, base, "end"))
    _bar(picture, columns.bar, row, top)
    picture.line((MARGIN, top + _ROW), (picture.right, top + _ROW), PALE, 0.6)
    return top + _ROW


def _on_two_lines(picture: Picture, columns: _Columns, row: DrawnPass, top: float) -> float:
    figures = " · ".join(map(picture.manner.figure, (row.infeed, row.largest_bite, row.running_stock)))
    left = columns.label + 10.0
    for line in wrapped(figures, SMALL, picture.right - left):
        picture.text(line, Spot(picture.right, top + 13.0, "end"))
        top += LINE
    _bar(picture, columns.bar, row, top)
    picture.line((MARGIN, top + _ROW), (picture.right, top + _ROW), PALE, 0.6)
    return top + _ROW


def _bar(picture: Picture, room: Box, row: DrawnPass, top: float) -> None:
    """Solid for a rough pass, hatched for a finish pass, open for a spark-out pass."""
    end = room.left + (room.right - room.left) * row.contact_share
    whole = Box(room.left, top + 3.0, room.right, top + _ROW - 3.0)
    done = Box(room.left, whole.top, end, whole.bottom)
    picture.rect(whole, STEEL)
    if row.kind == "rough":
        picture.rect(done, BLUE)
    elif row.kind == "finish":
        picture.rect(done, picture.hatch("finish", BLUE, 5.0, 45.0, 0.9), BLUE)
    else:
        picture.rect(done, "none", BLUE)
    picture.line((room.left, top + 1.0), (room.left, top + _ROW - 1.0), RULE)
    picture.text(picture.manner.share(row.contact_share), Spot(room.right + 4, top + 13.0))
