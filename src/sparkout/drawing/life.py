"""A life drawn out: diameter, land and height of cut against hours or days, with what happened on the way."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import life_marks
from sparkout.drawing.axes import marks_along
from sparkout.drawing.colour import INK, PALE, SOFT_INK, STEEL, WHITE
from sparkout.drawing.life_given import (
    KINDS,
    VERDICTS,
    Along,
    Happening,
    Segment,
    Sight,
    Stretch,
    checked_axis,
    checked_happening,
    checked_stretch,
)
from sparkout.drawing.life_links import linked
from sparkout.drawing.life_panels import Drawn, draw_panel, panel_key, panels_of
from sparkout.drawing.manner import Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import Scale
from sparkout.drawing.text import shortened, text_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.drawing.life_panels import Panel

__all__ = ["Along", "Happening", "Segment", "Sight", "Stretch", "life_drawn_out"]

_BAND, _LANE, _ROW, _APART = 20.0, 24.0, 17.0, 46.0
_LANES = (("sand",), ("stone", "other"), ("photograph", "recording"))
_WORDS = {"conforms": "life_conforms", "undecided": "life_undecided", "does not conform": "life_does_not_conform"}
_TWO_COLUMNS = 600.0
_TOLD = 40
"""So many visits are told one by one to who cannot see the picture; of more, the first and the last."""


def life_drawn_out(
    stretches: Sequence[Stretch],
    along: Along,
    *,
    bands: Sequence[tuple[str, Sequence[Segment]]] = (),
    happenings: Sequence[Happening] = (),
    **manners: Unpack[Manners],
) -> str:
    """Return a life as panels above each other against one axis, SVG text.

    Parameters
    ----------
    stretches
        The visits, parted where a reel was swapped: no line is drawn across. At least one visit in all.
    along
        Hours or days, in the caller's own numbers; every place lies between its ends.
    bands
        Names and segments: which reel, which knife, which unit when. At the ends of the first band's segments the
        panels are parted too.
    happenings
        Sand, stones, photographs.

    Raises
    ------
    OutOfRange
        For no visits, a place outside the axis, values that are not finite, a word that is no verdict or kind.

    Examples
    --------
    >>> seen = Sight(640.0, "visit", diameter=((125.1, 0.1), (124.9, 0.1)))
    >>> axis = Along("hours", 0, 800, [(0, "0 h"), (800, "800 h")])
    >>> life_drawn_out([Stretch([seen], 120.0)], axis).startswith("<svg")
    True
    """
    manner = manner_of("life", manners)
    axis = checked_axis(along)
    parts = [part for part in (checked_stretch(stretch, axis) for stretch in stretches) if part.sights]
    things = [checked_happening(happening, axis) for happening in happenings]
    if not parts:
        raise OutOfRange("number of visits", 0, "at least 1")
    picture = Picture(manner, manner.say("life"), _described([sight for part in parts for sight in part.sights]))
    return _drawn(picture, parts, axis, bands, things)


def _described(sights: list[Sight]) -> list[str]:
    told = sights if len(sights) <= _TOLD else [sights[0], sights[-1]]
    return [f"{sight.label}." for sight in told]


def _drawn(
    picture: Picture,
    parts: list[Stretch],
    axis: Along,
    bands: Sequence[tuple[str, Sequence[Segment]]],
    things: list[Happening],
) -> str:
    manner = picture.manner
    sights = [sight for part in parts for sight in part.sights]
    panels = panels_of(manner, parts)
    x = Scale(axis.low, axis.high, _gutter(picture, panels, sights) + 8, picture.right - 8)
    swaps = [x(s.start) for _, row in bands[:1] for s in row[1:] if s.start is not None and x.low < s.start < x.high]
    drawn = Drawn(picture, x, _closest(sorted({x(sight.at) for sight in sights})), tuple(swaps))
    top = picture.heading()
    for name, segments in bands:
        top = _band(picture, name, segments, x, top)
    first = top
    for shown in panels:
        top = draw_panel(drawn, shown, parts, top)
    top = _verdict_rows(drawn, sights, top)
    for swap in swaps:
        picture.line((swap, first), (swap, top), INK, 1.2, "2 3")
    linked(picture, sights, x, Box(x.start - 8, first, picture.width, top))
    top = _lanes(picture, things, x, top)
    figures = dict(axis.marks)
    top = marks_along(picture, x, sorted(figures), lambda value: figures[value], top + 2)
    picture.text(axis.title, Spot(picture.right, top + SMALL, "end"), fill=SOFT_INK)
    return picture.svg(_legend(picture, top + LINE + 4, _key(drawn, panels, sights, things)))


def _legend(picture: Picture, top: float, entries: list[tuple[Draw, str]]) -> float:
    """Add the key, in two columns where the picture is wide enough for them."""
    if picture.width < _TWO_COLUMNS:
        return legend(picture, top, entries)
    half, middle, bottom = -(-len(entries) // 2), picture.width / 2, top
    for left, right, column in ((MARGIN, middle, entries[:half]), (middle, picture.right, entries[half:])):
        y = top
        for draw, text in column:
            draw(picture, (left + 9.0, y + 8.0))
            y = picture.paragraph(text, left + 26.0, y, right - 8.0) + 1.0
        bottom = max(bottom, y)
    return bottom


def _gutter(picture: Picture, panels: list[Panel], sights: list[Sight]) -> float:
    """Return where the panels begin: right of the widest figure, and of the names of the rows below them."""
    texts = [text for shown in panels for text in shown.figures]
    texts += [picture.manner.say(key) for key in ("visits", *_stages(sights))]
    widest = max((text_width(text, SMALL) for text in texts), default=30.0)
    return min(MARGIN + widest + 8, 0.4 * picture.width)


def _stages(sights: list[Sight]) -> list[str]:
    judged = any(word for sight in sights for word in sight.verdicts)
    return ["as_found", "as_left"] if judged else []


def _closest(places: list[float]) -> float:
    """Return how far apart visits stand, as a rule: a tenth of the gaps may be smaller."""
    gaps = sorted(b - a for a, b in pairwise(places))
    return gaps[len(gaps) // 10] if gaps else 100.0


def _band(picture: Picture, name: str, segments: Sequence[Segment], x: Scale, top: float) -> float:
    """Draw who was in when: a bar for each, its name in it where there is room (the table tells all)."""
    picture.text(shortened(name, SMALL, x.start - 14 - MARGIN), Spot(MARGIN, top + 14), fill=SOFT_INK)
    for i, segment in enumerate(segments):
        start = x.start - 8 if segment.start is None else x(min(max(segment.start, x.low), x.high))
        stop = x.stop + 8 if segment.stop is None else x(min(max(segment.stop, x.low), x.high))
        body = Box(start, top + 1, max(stop, start + 2), top + _BAND - 2)
        picture.rect(body, STEEL if i % 2 == 0 else WHITE, INK, tooltip=segment.label)
        short = shortened(segment.label, SMALL, body.right - body.left - 8)
        if short == segment.label or len(short) > 6:
            picture.label(short, [Spot(start + 4, top + 14)])
    return top + _BAND + 4


def _verdict_rows(drawn: Drawn, sights: list[Sight], top: float) -> float:
    picture, x = drawn.picture, drawn.x
    half = min(5.0, max(1.6, drawn.spacing * 0.45))
    rows = [i for i in (0, 1) if any(sight.verdicts[i] for sight in sights)]
    if rows:
        picture.text(picture.manner.say("against_limits"), Spot(MARGIN, top + 13), fill=SOFT_INK)
        top += LINE + 4
    for i in rows:
        y = _row(drawn, ("as_found", "as_left")[i], top)
        for word in VERDICTS:
            places = [(x(sight.at), y) for sight in sights if sight.verdicts[i] == word]
            life_marks.verdicts(picture, word, places, half)
        top += _ROW
    y = _row(drawn, "visits", top)
    life_marks.visits(picture, [(x(sight.at), y) for sight in sights], half)
    return top + _ROW + 4


def _row(drawn: Drawn, key: str, top: float) -> float:
    """Draw a row's name and its line; returns where its marks stand."""
    picture, x, y = drawn.picture, drawn.x, top + _ROW / 2
    picture.line((x.start - 8, y), (x.stop + 8, y), PALE)
    name = shortened(picture.manner.say(key), SMALL, x.start - 13 - MARGIN)
    picture.text(name, Spot(x.start - 13, y + 4, "end"), fill=SOFT_INK)
    return y


def _lanes(picture: Picture, things: list[Happening], x: Scale, top: float) -> float:
    """Draw a lane for each kind of thing that happened; those too close together share one mark and a number."""
    for kinds in _LANES:
        mine = sorted((thing for thing in things if thing.kind in kinds), key=lambda thing: thing.at)
        if not mine:
            continue
        y = top + _LANE / 2
        picture.line((x.start - 8, y), (x.stop + 8, y), PALE)
        for group in _grouped(mine, x):
            _together(picture, group, (x(group[0].at), y))
        top += _LANE
    return top


def _grouped(things: list[Happening], x: Scale) -> list[list[Happening]]:
    groups: list[list[Happening]] = []
    for thing in things:
        if groups and x(thing.at) - x(groups[-1][0].at) < _APART:
            groups[-1].append(thing)
        else:
            groups.append([thing])
    return groups


def _together(picture: Picture, group: list[Happening], at: tuple[float, float]) -> None:
    kinds = sorted({thing.kind for thing in group}, key=KINDS.index)
    life_marks.happening(picture, kinds[0], at)
    if len(group) > 1:
        spots = [Spot(at[0] + 9, at[1] + 4), Spot(at[0] - 9, at[1] + 4, "end")]
        picture.label(f"×{len(group)}", spots)
    label = "; ".join(thing.label for thing in group[:8])
    if group[0].href:
        left = min(max(0.0, at[0] - 22.0), picture.width - 44.0)
        picture.link(group[0].href, Box(left, at[1] - _LANE / 2, left + 44.0, at[1] + _LANE / 2), label)


def _key(drawn: Drawn, panels: list[Panel], sights: list[Sight], things: list[Happening]) -> list[tuple[Draw, str]]:
    say = drawn.picture.manner.say
    words = {word for sight in sights for word in sight.verdicts}
    kinds = {thing.kind for thing in things}
    verdicts = [(life_marks.verdict_mark(word), say(_WORDS[word])) for word in VERDICTS if word in words]
    happened = [(life_marks.happening_mark(kind), say(f"life_{kind}")) for kind in KINDS if kind in kinds]
    return [*panel_key(drawn, panels), *verdicts, *happened]
