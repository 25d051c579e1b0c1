"""What a wall planner shows: rows, blocks of work, days to be fresh for, stretches of absence."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from sparkout.core.errors import OutOfRange, within

WORKS = ("strip", "spin", "relief", "knife", "set")
MOST_ROWS, MOST_DAYS, MOST_BLOCKS = 1000, 400, 10_000
_FAR = 4000


class Row(NamedTuple):
    """A unit or a machine: its name, what it stands under, and first and last days on which it cannot be spared."""

    name: str
    group: str = ""
    held: tuple[tuple[int, int], ...] = ()


class Block(NamedTuple):
    """One sharpening of one row. Days are counted from the season's first; `day` None: left undone."""

    row: int
    day: int | None
    due: int
    work: str
    """What tells most of it: one of `WORKS`."""
    said: str
    """Everything about it in words."""
    by_hand: bool = False
    href: str = ""


class Stretch(NamedTuple):
    """Somebody away, or a grinder out of work: first and last day."""

    name: str
    first: int
    last: int


class FreshFor(NamedTuple):
    """A day by which some rows are to be fresh."""

    name: str
    day: int
    rows: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Wall:
    """Everything on the wall; what lies outside `first` to `first + days` is left out or cut off there."""

    start: datetime.date
    """The season's first day."""
    days: int
    """How many are shown."""
    rows: Sequence[Row]
    blocks: Sequence[Block]
    fresh: Sequence[FreshFor] = ()
    away: Sequence[Stretch] = ()
    off: Collection[int] = ()
    """Days on which nobody works."""
    first: int = 0
    today: int | None = None
    show: Callable[[datetime.date], str] = datetime.date.isoformat


def checked(wall: Wall) -> Wall:
    """Return the wall when it can be drawn.

    Raises
    ------
    OutOfRange
        For no row or too many, days out of range, a block of no row or with work that is none, stretches backwards.
    """
    within("days", wall.days, 1, MOST_DAYS)
    within("first", wall.first, 0, _FAR)
    within("number of rows", len(wall.rows), 1, MOST_ROWS)
    within("number of blocks", len(wall.blocks), 0, MOST_BLOCKS)
    for i, block in enumerate(wall.blocks):
        within(f"row of block {i}", block.row, 0, len(wall.rows) - 1)
        within(f"due day of block {i}", block.due, -_FAR, _FAR, "days")
        if block.day is not None:
            within(f"day of block {i}", block.day, 0, _FAR, "days")
        if block.work not in WORKS:
            raise OutOfRange(f"work of block {i}", block.work, ", ".join(WORKS))
    for name, first, last in wall.away:
        within(f"last day of {name}", last, first, _FAR, "days")
    for fresh in wall.fresh:
        within(f"day of {fresh.name}", fresh.day, -_FAR, _FAR, "days")
        for row in fresh.rows:
            within(f"row of {fresh.name}", row, 0, len(wall.rows) - 1)
    return wall
