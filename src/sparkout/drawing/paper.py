"""Paper proof as a grid: a shape and, where it fits, a word for what the paper did at each blade and station."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing.axes import marks_along
from sparkout.drawing.colour import BLUE, INK, ORANGE, RULE, SOFT_INK, WHITE
from sparkout.drawing.given import rising, same_length
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import Columns
from sparkout.drawing.svg import Point
from sparkout.drawing.text import shortened, text_width

OUTCOMES = ("clean", "pinched", "uncut", "")
_ICON_WIDE, _ICON_TALL = 20.0, 9.0


def paper_grid(
    outcomes: Iterable[Sequence[str]],
    stations: Iterable[float | str],
    *,
    expected: Iterable[Sequence[str]] | None = None,
    **manners: Unpack[Manners],
) -> str:
    """Return the paper proof as a grid of blades and stations, SVG text.

    Parameters
    ----------
    outcomes
        (N, S) of "clean", "pinched", "uncut" or "" for not tried; the first row is blade 1.
    stations
        (S,) places from the left end, mm, or their names.
    expected
        (N, S) of what the present understanding would expect; where it differs the cell has a dark corner.

    Raises
    ------
    OutOfRange
        For another word, rows of unlike length, no rows or more than 40, no stations or more than 200.

    Examples
    --------
    >>> paper_grid([["clean", "uncut"], ["clean", ""]], ["left", "right"]).startswith("<svg")
    True
    """
    manner = manner_of("paper", manners)
    places = list(stations)
    names = _names(manner, places)
    table = _checked("outcomes", outcomes, len(names))
    wanted = None if expected is None else _checked("expected", expected, len(names))
    if wanted is not None and len(wanted) != len(table):
        raise OutOfRange("number of rows in expected", len(wanted), str(len(table)))
    picture = Picture(manner, manner.say("paper_grid"), _described(manner, table, names))
    top = picture.heading()
    top = picture.paragraph(manner.say("paper_about", count=str(len(table))), MARGIN, top, picture.right, fill=SOFT_INK)
    gutter = max(text_width(str(len(table)), SMALL) + 10.0, 22.0)
    left = MARGIN + gutter
    top = picture.two_ends(manner.say("left"), manner.say("right"), left, picture.right, top + 4) + 3
    columns = Columns(tuple(float(i) for i in range(len(names))), left, picture.right)
    words = max(text_width(manner.say(_word(o)), SMALL) for o in OUTCOMES) + 4 <= columns.width
    row = (34.0 if words else 17.0) if columns.width >= 12.0 else 17.0
    for blade, line in enumerate(table):
        y = top + row * blade
        picture.text(str(blade + 1), Spot(left - 5, y + row / 2 + 4, "end"))
        for column, outcome in enumerate(line):
            x = left + columns.width * column
            cell = Box(x, y, x + columns.width, y + row)
            unlike = wanted is not None and wanted[blade][column] not in ("", outcome) and outcome != ""
            _cell(picture, cell, outcome, words, unlike)
    bottom = top + row * len(table)
    by_index = {float(i): name for i, name in enumerate(names)}
    top = marks_along(picture, columns, list(by_index), lambda i: by_index[i], bottom + 3)
    return picture.svg(legend(picture, top + 4, _key(manner, table, wanted)))


def _names(manner: Manner, places: Sequence[float | str]) -> list[str]:
    if not 1 <= len(places) <= 200:
        raise OutOfRange("number of stations", len(places), "1 to 200")
    if all(isinstance(place, str) for place in places):
        return [shortened(str(place), SMALL, 0.45 * manner.width) for place in places]
    return [manner.place(x) for x in rising("stations", places, least=1)]


def _checked(argument: str, rows: Iterable[Sequence[str]], columns: int) -> list[list[str]]:
    table = [list(line) for line in rows]
    if not 1 <= len(table) <= 40:
        raise OutOfRange(f"number of rows in {argument}", len(table), "1 to 40")
    for i, line in enumerate(table):
        same_length(f"{argument}[{i}]", len(line), columns)
        for j, outcome in enumerate(line):
            if outcome not in OUTCOMES:
                raise OutOfRange(f"{argument}[{i}, {j}]", outcome, 'clean, pinched, uncut or ""')
    return table


def _word(outcome: str) -> str:
    return outcome or "not_tried"


def _cell(picture: Picture, cell: Box, outcome: str, words: bool, unlike: bool) -> None:
    picture.rect(cell, "none", RULE, kind=f"paper-{_word(outcome)}", tooltip=picture.manner.say(_word(outcome)))
    middle = (cell.left + cell.right) / 2
    wide = min(_ICON_WIDE, cell.right - cell.left - 3)
    y = cell.top + 10.0 if words else (cell.top + cell.bottom) / 2
    _icon(picture, (middle, y), outcome, wide)
    if words:
        picture.text(picture.manner.say(_word(outcome)), Spot(middle, cell.bottom - 6, "middle"))
    if unlike:
        _corner(picture, (cell.right, cell.top), min(9.0, (cell.right - cell.left) * 0.4))


def _icon(picture: Picture, at: Point, outcome: str, wide: float) -> None:
    """A strip of paper: in two halves when cut clean, crumpled when pinched, whole when uncut."""
    (x, y), half, tall = at, wide / 2, _ICON_TALL / 2
    if outcome == "clean":
        slit = max(0.14 * wide, 1.2)
        picture.rect(Box(x - half, y - tall, x - slit, y + tall), WHITE, BLUE)
        picture.rect(Box(x + slit, y - tall, x + half, y + tall), WHITE, BLUE)
    elif outcome == "pinched":
        fold = [(x - half + wide * i / 6, y + (tall if i % 2 else -tall)) for i in range(7)]
        picture.trace(fold, ORANGE, 2.2)
    elif outcome == "uncut":
        picture.rect(Box(x - half, y - tall, x + half, y + tall), INK, INK)
    else:
        picture.line((x - half / 2, y), (x + half / 2, y), RULE)


def _key(manner: Manner, table: list[list[str]], wanted: list[list[str]] | None) -> list[tuple[Draw, str]]:
    flat = [outcome for line in table for outcome in line]
    entries: list[tuple[Draw, str]] = []
    for outcome in OUTCOMES:
        if outcome or "" in flat:
            text = manner.say("count_of", word=manner.say(_word(outcome)), count=str(flat.count(outcome)))
            entries.append((_icon_mark(outcome), text))
    if wanted is not None:
        entries.append((_cornered, manner.say("unexpected")))
    return entries


def _icon_mark(outcome: str) -> Draw:
    return lambda picture, at: _icon(picture, at, outcome, 18.0)


def _cornered(picture: Picture, at: Point) -> None:
    box = Box(at[0] - 9, at[1] - 7, at[0] + 9, at[1] + 7)
    picture.rect(box, "none", RULE)
    _corner(picture, (box.right, box.top), 8.0)


def _corner(picture: Picture, at: Point, size: float) -> None:
    x, y = at
    picture.shape([(x - size, y), (x, y), (x, y + size)], INK, WHITE)


def _described(manner: Manner, table: list[list[str]], names: list[str]) -> list[str]:
    return [
        f"{manner.say('blade')} {blade + 1}: "
        + ", ".join(f"{name} {manner.say(_word(o))}" for name, o in zip(names, line, strict=True))
        + "."
        for blade, line in enumerate(table)
    ]
