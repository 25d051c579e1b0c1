"""Where a finger lands in a drawn life: a column for each visit, or for the few that stand too close to be parted."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from sparkout.drawing.picture import Box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.drawing.life_given import Sight
    from sparkout.drawing.picture import Picture
    from sparkout.drawing.scale import Scale

LEAST, USUAL = 24.0, 44.0
"""Width of a target, px: the least that WCAG 2.2 (2.5.8) allows, and what a glove wants."""


def linked(picture: Picture, sights: Sequence[Sight], x: Scale, room: Box) -> None:
    """Lay the targets over the room of the panels."""
    leading = sorted((sight for sight in sights if sight.href), key=lambda sight: sight.at)
    for box, group in _columns(leading, x, room, picture.width):
        if len(group) == 1:
            picture.link(group[0].href, box, group[0].label)
        elif group[0].row:
            several = picture.manner.say(
                "visits_together", count=str(len(group)), first=group[0].label, last=group[-1].label
            )
            picture.link(group[-1].row, box, several)


def _columns(sights: list[Sight], x: Scale, room: Box, width: float) -> list[tuple[Box, list[Sight]]]:
    places = [x(sight.at) for sight in sights]
    gap = min((b - a for a, b in itertools.pairwise(places)), default=USUAL)
    if gap >= LEAST:
        half = min(gap, USUAL) / 2
        columns = [
            (max(0.0, at - half), min(width, at + half), [sight]) for at, sight in zip(places, sights, strict=True)
        ]
    else:
        columns = _bins(places, sights, room)
    return [(Box(start, room.top, stop, room.bottom), group) for start, stop, group in columns]


def _bins(places: list[float], sights: list[Sight], room: Box) -> list[tuple[float, float, list[Sight]]]:
    count = max(1, int((room.right - room.left) / LEAST))
    wide = (room.right - room.left) / count
    groups: dict[int, list[Sight]] = {}
    for at, sight in zip(places, sights, strict=True):
        groups.setdefault(min(max(int((at - room.left) / wide), 0), count - 1), []).append(sight)
    return [(room.left + wide * i, room.left + wide * (i + 1), group) for i, group in sorted(groups.items())]
