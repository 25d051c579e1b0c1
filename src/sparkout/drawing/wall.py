"""The season as a wall planner: units or machines down, days across, each sharpening a block on its day."""

from __future__ import annotations

import datetime
from functools import partial
from typing import Unpack

from sparkout.drawing import marks
from sparkout.drawing.axes import held_in
from sparkout.drawing.colour import BLUE, INK, ORANGE, PALE, RULE, SOFT_INK, STEEL, WHITE
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, TYPEFACE, Box, Draw, Picture, Spot, legend
from sparkout.drawing.svg import Attribute, Point, element, escape, number
from sparkout.drawing.text import shortened, text_width
from sparkout.drawing.wall_given import WORKS, Block, Wall, checked

NAMES = 150.0
"""Most room for the names at the left, px; a third of a narrow picture at most."""
LEAST = 24.0
"""Height of a block and least width of its target: what WCAG 2.2 (2.5.8) asks."""
_WASH = "#d3e2f0"
_TIP = 4.0
_WIDE, _THIN = 22.0, 6.0
"""Most and least width of a block."""


def wall_and_names(given: Wall, **manners: Unpack[Manners]) -> tuple[str, str]:
    """Return the wall planner, and its column of names alone, to stay in sight while the planner scrolls under it.

    A block that leads somewhere becomes a link that carries its day (`data-day`) and its row (`data-row`), so that a
    page can have it moved. The column is as high and drawn to the same scale; it tells nothing more.

    Raises
    ------
    OutOfRange
        From `wall_given.checked`.

    Examples
    --------
    >>> from sparkout.drawing.wall_given import Row
    >>> season = Wall(datetime.date(2027, 3, 1), 28, [Row("G1")], [Block(0, 4, 7, "spin", "G1: Friday, in time")])
    >>> wall_and_names(season)[0].startswith("<svg")
    True
    """
    drawn = _Drawn(checked(given), manner_of("wall", manners))
    wall = drawn.whole()
    return wall, drawn.names_alone()


def days_across(width: float, days: int) -> tuple[float, float]:
    """Return where the first day begins and how wide a day is in a picture of that width, px.

    Examples
    --------
    >>> days_across(1360.0, 84)
    (160.0, 14.17)
    """
    left = MARGIN + min(NAMES, width / 3)
    return left, round((width - MARGIN - left) / days, 2)


class _Drawn:
    """A wall under way."""

    def __init__(self, wall: Wall, manner: Manner) -> None:
        self.wall, self.manner = wall, manner
        self.left, self.day_wide = days_across(manner.width, wall.days)
        self.right = self.left + self.day_wide * wall.days
        self.last = wall.first + wall.days - 1
        self.shown = [b for b in wall.blocks if self._at(b) is not None]
        late = sum(1 for b in wall.blocks if b.day is not None and b.day > b.due)
        undone = sum(1 for b in wall.blocks if b.day is None)
        counts = manner.say("wall_counts", count=str(len(wall.blocks)), late=str(late), undone=str(undone))
        told = [counts] + [f"{b.said}." for b in wall.blocks if not b.href]
        self.picture = Picture(manner, manner.say("wall"), told)
        self.numbers: dict[str, int] = {}
        self.names: list[str] = []
        self.lanes = self.foot = self.bottom = 0.0

    def _at(self, block: Block) -> int | None:
        """Return the day at which a block stands, when that is shown."""
        last = self.wall.first + self.wall.days - 1
        day = min(max(block.due, self.wall.first), last) if block.day is None else block.day
        return day if self.wall.first <= day <= last else None

    def x(self, day: float) -> float:
        """Return where a day begins, no farther than the edges."""
        place = self.left + self.day_wide * (day - self.wall.first)
        return min(max(place, self.left), self.right)

    def whole(self) -> str:
        """Draw it."""
        picture = self.picture
        top = picture.heading()
        top = picture.paragraph(self.manner.say("wall_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
        self.lanes = self._weeks(top)
        top = self._lanes(self.lanes)
        levels, tops, bottom = self._laid_out(top)
        self._ground(top, bottom)
        for i, row in enumerate(self.wall.rows):
            self._row(i, row.name, row.held, tops[i], levels[i])
        self._fresh_marks(tops, levels)
        for block, level in self._levelled:
            self._block(block, tops[block.row] + LEAST * level)
        if self.wall.today is not None and self.wall.first <= self.wall.today <= self.last:
            picture.line((self.x(self.wall.today), top), (self.x(self.wall.today), bottom), INK, 1.6, "2 3")
        self.foot = bottom
        self.bottom = legend(picture, bottom + 8, self._key())
        return picture.svg(self.bottom)

    def _name(self, text: str, y: float, room: float, *, bold: bool = False, fill: str = INK) -> None:
        """Write a name at the left, and remember it as it stands in the column alone."""
        self.picture.text(shortened(text, SMALL, room), Spot(MARGIN, y), bold=bold, fill=fill)
        attributes: dict[str, Attribute] = {
            "x": MARGIN, "y": y, "font_size": SMALL, "fill": fill, "font_weight": "600" if bold else None,
        }  # fmt: skip
        self.names.append(element("text", attributes, escape(shortened(text, SMALL, self.left - MARGIN - 6))))

    def names_alone(self) -> str:
        """Return the column of names, SVG text; after `whole`."""
        attributes: dict[str, Attribute] = {
            "xmlns": "http://www.w3.org/2000/svg", "class": "picture names", "aria_hidden": "true",
            "viewBox": f"0 0 {number(self.left)} {round(self.bottom + MARGIN)}", "font_family": TYPEFACE,
        }  # fmt: skip
        back = element(
            "rect", {"x": 0.0, "y": self.lanes, "width": self.left - 2, "height": self.foot - self.lanes, "fill": WHITE}
        )
        return element("svg", attributes, "\n".join([back, *self.names])) + "\n"

    def _weeks(self, top: float) -> float:
        """Write the date of each Monday that has room."""
        picture, wall = self.picture, self.wall
        end = 0.0
        for day in range(wall.first, self.last + 1):
            date = wall.start + datetime.timedelta(days=day)
            if date.weekday() and day != wall.first:
                continue
            text = wall.show(date)
            if self.x(day) >= end and self.x(day) + text_width(text, SMALL) <= picture.width - 2:
                picture.text(text, Spot(self.x(day), top + SMALL), fill=SOFT_INK)
                end = self.x(day) + text_width(text, SMALL) + 6
        return top + 18

    def _lanes(self, top: float) -> float:
        """Draw who is away, then what is to be fresh for, above the units."""
        picture = self.picture
        for name in dict.fromkeys(stretch.name for stretch in self.wall.away):
            mine = [s for s in self.wall.away if s.name == name and s.last >= self.wall.first and s.first <= self.last]
            if not mine:
                continue
            self._name(name, top + 13, self.left - MARGIN - 6, fill=SOFT_INK)
            for stretch in mine:
                box = Box(self.x(stretch.first), top + 2, self.x(stretch.last + 1), top + 15)
                picture.rect(box, picture.hatch("away", RULE, 5.0), RULE, tooltip=f"{name}: {self._between(stretch)}")
            top += 18
        days = [f for f in self.wall.fresh if self.wall.first <= f.day <= self.last + 1]
        if days:
            for name in dict.fromkeys(f.name for f in days):
                self.numbers[name] = len(self.numbers) + 1
            for fresh in days:
                x, mark = self.x(fresh.day), str(self.numbers[fresh.name])
                marks.diamond(picture, (min(x, picture.width - 8), top + 8), 6.0)
                picture.label(mark, [held_in(mark, x + 12, top + 12, picture.width)])
            top += 18
        return top

    def _between(self, stretch: tuple[str, int, int]) -> str:
        ends = (self.wall.start + datetime.timedelta(days=day) for day in stretch[1:])
        return " – ".join(self.wall.show(date) for date in ends)

    def _laid_out(self, top: float) -> tuple[list[int], list[float], float]:
        """Return for each row how many blocks stand one below the other and where it begins; and the bottom."""
        levels, ends = [1] * len(self.wall.rows), [[-1e9] for _ in self.wall.rows]
        self._levelled: list[tuple[Block, int]] = []
        for block in sorted(self.shown, key=lambda b: (b.row, self._at(b))):
            x, mine = self.x(self._at(block) or 0), ends[block.row]
            level = next((i for i, end in enumerate(mine) if end <= x + 0.01), len(mine))
            if level == len(mine):
                mine.append(0.0)
            mine[level] = x + max(self.day_wide, LEAST)
            levels[block.row] = len(mine)
            self._levelled.append((block, level))
        tops, group = [], ""
        for row, count in zip(self.wall.rows, levels, strict=True):
            if row.group != group:
                group = row.group
                self._name(group, top + 17, self.right - MARGIN, bold=True)
                top += LEAST
            tops.append(top)
            top += LEAST * count
        return levels, tops, top

    def _ground(self, top: float, bottom: float) -> None:
        """Draw days without work and the lines of the weeks under everything else."""
        for day in sorted(self.wall.off):
            if self.wall.first <= day <= self.last:
                self.picture.rect(Box(self.x(day), top, self.x(day + 1), bottom), STEEL)
        for day in range(self.wall.first, self.last + 2):
            if (self.wall.start + datetime.timedelta(days=day)).weekday() == 0:
                self.picture.line((self.x(day), top), (self.x(day), bottom), PALE)

    def _row(self, i: int, name: str, held: tuple[tuple[int, int], ...], top: float, levels: int) -> None:
        picture, foot = self.picture, top + LEAST * levels
        self._name(name, top + 16, self.left - MARGIN - 6)
        picture.line((MARGIN if i else self.left, foot), (self.right, foot), PALE)
        inside = [(self.x(first), self.x(last + 1)) for first, last in held]
        drawn = "".join(f"M{number(a)} {number(foot - 1.5)}H{number(b)}" for a, b in inside if b > a)
        if drawn:
            picture.add("path", {"d": drawn, "stroke": RULE, "stroke_width": 2.0})

    def _fresh_marks(self, tops: list[float], levels: list[int]) -> None:
        for fresh in self.wall.fresh:
            if not self.wall.first <= fresh.day <= self.last:
                continue
            for row in fresh.rows:
                x, top = self.x(fresh.day), tops[row]
                self.picture.line((x, top + 1), (x, top + LEAST * levels[row] - 1), INK, 2.4)

    def _block(self, block: Block, top: float) -> None:
        picture, at = self.picture, self._at(block)
        assert at is not None
        wide = min(max(self.day_wide - 1, _THIN), _WIDE)
        left, middle = self.x(at), top + LEAST / 2
        if block.day is None:
            _undone(picture, (left + wide / 2, middle))
        else:
            late, due = block.day > block.due, self.x(block.due + 0.5)
            edge = left + wide if block.day < block.due else left
            if abs(block.day - block.due) > 0:
                picture.line((edge, middle), (due, middle), ORANGE if late else RULE, 1.4, "3 2" if late else None)
                picture.line((due, middle - 4), (due, middle + 4), ORANGE if late else RULE, 1.4)
            _body(picture, Box(left, top + 3, left + wide, top + LEAST - 3), block)
            letter = self.manner.say(f"letter_{block.work}")[:1]
            if text_width(letter, SMALL) <= wide + 3:
                picture.text(letter, Spot(left + wide / 2, middle + 4, "middle"), fill=WHITE if late else INK)
        if block.href:
            width = max(self.day_wide, LEAST)
            box = Box(min(left, picture.width - width), top, min(left, picture.width - width) + width, top + LEAST)
            picture.link(block.href, box, block.said, data_day=float(at), data_row=float(block.row))

    def _key(self) -> list[tuple[Draw, str]]:
        say, blocks = self.manner.say, self.shown
        found: list[tuple[Draw, str]] = []
        kinds = (
            ("wall_early", [b for b in blocks if b.day is not None and b.day < b.due], (0, 1)),
            ("wall_on_time", [b for b in blocks if b.day == b.due], (0, 0)),
            ("wall_late", [b for b in blocks if b.day is not None and b.day > b.due], (1, 0)),
        )
        found += [(partial(_block_mark, day=day, due=due), say(key)) for key, some, (day, due) in kinds if some]
        if any(b.day is None for b in blocks):
            found.append((_undone, say("wall_undone")))
        if any(b.by_hand for b in blocks):
            found.append((partial(_block_mark, day=0, due=0, by_hand=True), say("wall_by_hand")))
        letters = [work for work in WORKS if any(b.work == work and b.day is not None for b in blocks)]
        found += [(partial(_letter, letter=say(f"letter_{work}")[:1]), say(f"work_{work}")) for work in letters]
        if self.wall.off:
            found.append((marks.patch(STEEL), say("wall_off")))
        if any(row.held for row in self.wall.rows):
            found.append((marks.stroke(RULE, 2.0), say("wall_held")))
        if self.wall.away:
            found.append((marks.patch(self.picture.hatch("away", RULE, 5.0)), say("wall_away")))
        for name, count in self.numbers.items():
            found.append((partial(_numbered, text=str(count)), say("wall_fresh", name=name)))
        if self.wall.today is not None:
            found.append((marks.stroke(INK, 1.6, "2 3"), say("wall_today")))
        return found


def _body(picture: Picture, box: Box, block: Block) -> None:
    """Draw a block: pointed towards its due day, square when it stands on it."""
    assert block.day is not None
    late, early = block.day > block.due, block.day < block.due
    middle = (box.top + box.bottom) / 2
    points: list[Point] = [(box.left, box.top)]
    points += [(box.right - _TIP, box.top), (box.right, middle), (box.right - _TIP, box.bottom)] if early else []
    points += [] if early else [(box.right, box.top), (box.right, box.bottom)]
    points.append((box.left, box.bottom))
    if late:
        points = [(box.left + _TIP, box.top), *points[1:-1], (box.left + _TIP, box.bottom), (box.left, middle)]
    picture.shape(points, ORANGE if late else _WASH, ORANGE if late else BLUE, 1.2)
    if block.by_hand:
        picture.line((box.left - 1, box.top - 1), (box.right + 1, box.top - 1), INK, 3.0)


def _undone(picture: Picture, at: Point) -> None:
    x, y = at
    picture.rect(Box(x - 6, y - 6, x + 6, y + 6), WHITE, ORANGE)
    for rise in (-4, 4):
        picture.line((x - 4, y - rise), (x + 4, y + rise), ORANGE, 1.6)


def _block_mark(picture: Picture, at: Point, day: int, due: int, by_hand: bool = False) -> None:
    box = Box(at[0] - 7, at[1] - 6, at[0] + 7, at[1] + 6)
    _body(picture, box, Block(0, day, due, "spin", "", by_hand))


def _letter(picture: Picture, at: Point, letter: str) -> None:
    picture.text(letter, Spot(at[0], at[1] + 4, "middle"), bold=True)


def _numbered(picture: Picture, at: Point, text: str) -> None:
    marks.diamond(picture, (at[0] - 4, at[1]), 6.0)
    picture.text(text, Spot(at[0] + 4, at[1] + 4))
