"""The reel unrolled: one row per blade, one column per station, high and low by tone, hatch and figure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import marks_along
from sparkout.drawing.colour import INK, LOW_LINE, RULE, SOFT_INK, diverging
from sparkout.drawing.given import grid, one, rising
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import FINE, Columns, Scale, round_up
from sparkout.drawing.text import text_width

Place = tuple[float, int | None]
"""x in mm, blade 0 .. N-1 or None for all blades."""

_SURE = 1.96


@dataclass(frozen=True, slots=True)
class _Map:
    heights: tuple[tuple[float, ...], ...]
    sd: tuple[tuple[float, ...], ...] | None
    stations: tuple[float, ...]
    left: float
    top: float
    row: float
    along: Columns
    end: float
    """Height at the end of the colour scale, mm."""
    fits: bool
    """Whether there is room for figures."""

    @property
    def blank(self) -> bool:
        """Whether nothing has been read yet, so that there is no height to tell of any blade."""
        return not any(value for values in self.heights for value in values)

    @property
    def figures(self) -> bool:
        """Whether each cell has its figure."""
        return self.fits and not self.blank

    @property
    def bottom(self) -> float:
        return self.top + self.row * len(self.heights)

    def cell(self, blade: int, column: int) -> Box:
        top, left = self.top + self.row * blade, self.left + self.along.width * column
        return Box(left, top, left + self.along.width, top + self.row)

    def unsure(self, blade: int, column: int) -> bool:
        if self.sd is None or self.blank:
            return False
        return abs(self.heights[blade][column]) < _SURE * self.sd[blade][column]

    def spot(self, place: Place) -> tuple[float, float]:
        """Where a mark for a place goes: upper part of the row, clear of the figure."""
        x, blade = place
        if blade is None:
            return self.along(x), self.top - 9.0
        middle = 6.5 if self.figures else self.row / 2
        return self.along(x), self.top + self.row * blade + middle


def unrolled_reel(
    heights: Iterable[Iterable[Any]],
    stations: Iterable[Any],
    reel_length: float,
    *,
    readings: Sequence[tuple[float, int | None, str]] = (),
    next_reading: Place | None = None,
    lowest: Place | None = None,
    sd: Iterable[Iterable[Any]] | None = None,
    marked_blade: int = 0,
    **manners: Unpack[Manners],
) -> str:
    """Return the reel unrolled as a height map, SVG text.

    Parameters
    ----------
    heights
        (N, S) height of each blade's edge against the mean reel, mm; blade 0 is the first row.
    stations
        (S,) places along the axis from the left end, mm, rising.
    reel_length
        Blade length, mm.
    readings
        (x, blade or None for all blades, label): where readings were taken; the label shows on pointing.
    next_reading, lowest
        Places marked and named in the key.
    sd
        (N, S) standard uncertainty of `heights`, mm: where the sign is not told at 95 % the cell is small
        and its figure in brackets.

    Raises
    ------
    OutOfRange
        For values that are not finite, shapes that do not match, places outside the reel.

    Examples
    --------
    >>> unrolled_reel([[0.1, 0.0], [0.0, -0.1]], [0, 500], 500).startswith("<svg")
    True
    """
    manner = manner_of("unrolled", manners)
    length = one("reel_length", reel_length, 0.0, above=True)
    places = rising("stations", stations, least=1)
    if places[0] < 0 or places[-1] > length:
        raise OutOfRange("stations", (places[0], places[-1]), f"0 to {length:g}", "mm")
    table = grid("heights", heights, len(places))
    if len(table) > 40:
        raise OutOfRange("number of blades", len(table), "1 to 40")
    spreads = None if sd is None else grid("sd", sd, len(places), 0.0)
    if spreads is not None and len(spreads) != len(table):
        raise OutOfRange("number of rows in sd", len(spreads), str(len(table)))
    for name, place in (
        *((f"readings[{i}]", (x, b)) for i, (x, b, _) in enumerate(readings)),
        ("next_reading", next_reading),
        ("lowest", lowest),
        ("marked_blade", (0.0, marked_blade)),
    ):
        _checked(name, place, length, len(table))

    picture = Picture(manner, manner.say("unrolled"), _described(manner, table, places, next_reading, lowest))
    top = picture.heading()
    top = picture.paragraph(
        manner.say("unrolled_about", count=str(len(table))), MARGIN, top, picture.right, fill=SOFT_INK
    )
    gutter = max(text_width(str(len(table)), SMALL) + 10.0, 22.0)
    over_all = any(blade is None for _, blade, _ in readings) or (next_reading is not None and next_reading[1] is None)
    top = picture.two_ends(manner.say("left"), manner.say("right"), MARGIN + gutter, picture.right, top + 4)
    top += 20.0 if over_all else 3.0
    chart = _laid_out(manner, picture, table, spreads, places, top, MARGIN + gutter, bool(readings))
    _cells(picture, chart)
    _rows(picture, chart, marked_blade)
    for x, blade, text in readings:
        (marks.square if blade is None else marks.ring)(picture, chart.spot((x, blade)), tooltip=text)
    aside = 8.0 if lowest is not None and lowest == next_reading else 0.0
    if lowest is not None:
        x, y = chart.spot(lowest)
        marks.pointer(picture, (x - aside, y))
    if next_reading is not None:
        x, y = chart.spot(next_reading)
        marks.diamond(picture, (x + aside, y))
    top = marks_along(picture, chart.along, places, manner.place, chart.bottom + 3)
    top = _scale_bar(picture, chart, top + 6)
    return picture.svg(legend(picture, top + 6, _key(manner, chart, readings, next_reading, lowest, marked_blade)))


def _checked(name: str, place: Place | None, length: float, blades: int) -> None:
    if place is None:
        return
    one(f"{name} x", place[0], 0.0, length)
    if place[1] is not None and not 0 <= place[1] < blades:
        raise OutOfRange(f"{name} blade", place[1], f"0 to {blades - 1}")


def _laid_out(
    manner: Manner,
    picture: Picture,
    table: tuple[tuple[float, ...], ...],
    spreads: tuple[tuple[float, ...], ...] | None,
    places: tuple[float, ...],
    top: float,
    left: float,
    marked: bool,
) -> _Map:
    along = Columns(places, left, picture.right)
    widest = max(text_width(f"({manner.figure(value)})", SMALL) for values in table for value in values)
    fits = widest + 2 <= along.width
    row = (28.0 if marked else 20.0) if fits else 17.0
    largest = max(abs(value) for values in table for value in values)
    end = round_up(largest / manner.unit, FINE) * manner.unit if largest > 1e-12 else manner.unit
    return _Map(table, spreads, places, left, top, row, along, end, fits)


def _cells(picture: Picture, chart: _Map) -> None:
    for blade, values in enumerate(chart.heights):
        for column, value in enumerate(values):
            whole = chart.cell(blade, column)
            box = _shrunk(whole, chart.figures) if chart.unsure(blade, column) else whole
            picture.rect(box, diverging(value / chart.end), kind="cell")
            if value < 0:
                picture.rect(box, _low_hatch(picture))
    left, right = chart.along.start, chart.along.stop
    thin = 0.5 if chart.along.width > 14 else 0.2
    for blade in range(len(chart.heights) + 1):
        y = chart.top + blade * chart.row
        picture.line((left, y), (right, y), RULE, thin)
    for column in range(len(chart.stations) + 1):
        x = left + chart.along.width * column
        picture.line((x, chart.top), (x, chart.bottom), RULE, thin)
    if chart.figures:
        _figures(picture, chart)


def _low_hatch(picture: Picture) -> str:
    """Thin lines darker than any low tone, so that they show in a grey print and leave the figures readable."""
    return picture.hatch("low", LOW_LINE, 5.0, 45.0, 0.45)


def _shrunk(box: Box, round_figure: bool) -> Box:
    aside = min(8.0, (box.right - box.left) * 0.25)
    if round_figure:
        return Box(box.left + aside, box.bottom - 17, box.right - aside, box.bottom - 2)
    down = (box.bottom - box.top) * 0.22
    return Box(box.left + aside, box.top + down, box.right - aside, box.bottom - down)


def _figures(picture: Picture, chart: _Map) -> None:
    for blade, values in enumerate(chart.heights):
        for column, value in enumerate(values):
            box = chart.cell(blade, column)
            text = picture.manner.figure(value)
            shown = f"({text})" if chart.unsure(blade, column) else text
            picture.text(shown, Spot((box.left + box.right) / 2, box.bottom - 5, "middle"), kind="figure")


def _rows(picture: Picture, chart: _Map, marked_blade: int) -> None:
    for blade in range(len(chart.heights)):
        y = chart.top + chart.row * (blade + 0.5)
        picture.text(str(blade + 1), Spot(chart.left - 5, y + 4, "end"), bold=blade == marked_blade)
        if blade == marked_blade:
            picture.rect(Box(chart.left - 3, y - chart.row / 2 + 1, chart.left, y + chart.row / 2 - 1), INK)


def _scale_bar(picture: Picture, chart: _Map, top: float) -> float:
    manner = picture.manner
    left, right, steps = chart.along.start, chart.along.stop, 16
    top = picture.two_ends(manner.say("lower"), manner.say("higher"), left, right, top) + 2
    width = (right - left) / (2 * steps)
    for step in range(2 * steps):
        share = (step + 0.5 - steps) / steps
        box = Box(left + step * width, top, left + (step + 1) * width + 0.3, top + 12)
        picture.rect(box, diverging(share))
    picture.rect(Box(left, top, (left + right) / 2, top + 12), _low_hatch(picture))
    picture.rect(Box(left, top, right, top + 12), "none", RULE)
    bar = Scale(-chart.end, chart.end, left, right)
    return marks_along(picture, bar, (-chart.end, 0.0, chart.end), manner.length, top + 12)


def _named(manner: Manner, key: str, place: Place, **more: str) -> str:
    x, blade = place
    if blade is None:
        return manner.say(f"{key}_all", place=manner.place(x), **more)
    return manner.say(key, place=manner.place(x), blade=str(blade + 1), **more)


def _value_at(chart_heights: Sequence[Sequence[float]], places: Sequence[float], place: Place) -> float:
    column = min(range(len(places)), key=lambda i: abs(places[i] - place[0]))
    if place[1] is None:
        return min(values[column] for values in chart_heights)
    return chart_heights[place[1]][column]


def _key(
    manner: Manner,
    chart: _Map,
    readings: Sequence[tuple[float, int | None, str]],
    next_reading: Place | None,
    lowest: Place | None,
    marked_blade: int,
) -> list[tuple[Draw, str]]:
    entries: list[tuple[Draw, str]] = []
    if next_reading is not None:
        entries.append((marks.diamond, _named(manner, "next_reading", next_reading)))
    if lowest is not None:
        value = manner.length(_value_at(chart.heights, chart.stations, lowest))
        entries.append((marks.pointer, _named(manner, "lowest", lowest, value=value)))
    if any(blade is not None for _, blade, _ in readings):
        entries.append((marks.ring, manner.say("reading")))
    if any(blade is None for _, blade, _ in readings):
        entries.append((marks.square, manner.say("reading_all")))
    entries.append((_low_patch, manner.say("low_is_hatched")))
    # Before anything is read the key is as long as afterwards, so that nothing moves when a reading comes.
    unsure = any(chart.unsure(b, c) for b in range(len(chart.heights)) for c in range(len(chart.stations)))
    if unsure or (chart.blank and chart.sd is not None):
        entries.append((_small_cell, manner.say("not_told_from_mean" if chart.fits else "small_cell")))
    entries.append((_bar, manner.say("marked_blade", blade=str(marked_blade + 1))))
    unit = manner.unit_name(chart.end)
    if chart.fits and unit:
        entries.append((marks.nothing, manner.say("figures_in", unit=unit)))
    return entries


def _low_patch(picture: Picture, at: tuple[float, float]) -> None:
    marks.patch(diverging(-0.5), _low_hatch(picture))(picture, at)


def _small_cell(picture: Picture, at: tuple[float, float]) -> None:
    x, y = at
    picture.rect(Box(x - 9, y - 6, x + 9, y + 6), "none", RULE)
    picture.rect(Box(x - 5, y - 3, x + 5, y + 3), diverging(0.3))


def _bar(picture: Picture, at: tuple[float, float]) -> None:
    picture.rect(Box(at[0] - 1.5, at[1] - 7, at[0] + 1.5, at[1] + 7), INK)


def _described(
    manner: Manner,
    table: tuple[tuple[float, ...], ...],
    places: tuple[float, ...],
    next_reading: Place | None,
    lowest: Place | None,
) -> list[str]:
    lines = [manner.say("unrolled_about", count=str(len(table)))]
    if lowest is not None:
        lines.append(_named(manner, "lowest", lowest, value=manner.length(_value_at(table, places, lowest))) + ".")
    if next_reading is not None:
        lines.append(_named(manner, "next_reading", next_reading) + ".")
    for blade, values in enumerate(table if any(map(any, table)) else ()):
        lines.append(f"{manner.say('blade')} {blade + 1}: {', '.join(map(manner.length, values))}.")
    return lines
