"""How long edges last here, and what makes one last longer: in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import counted, joined, phrase
from sparkout.core.season.ways import still_wanted
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.season.edges import Effect
    from sparkout.season.now import SeasonNow
    from sparkout.showing import Showing


def tell_edges(now: SeasonNow, showing: Showing) -> tuple[Section, ...]:
    """Return how long edges last and each thing that may matter with its ratio of lives; nothing without a life."""
    found = now.edges
    if found is None:
        return ()
    life = found.life
    half = phrase(
        "Half the edges have gone by {hours} h. On file: {went}, {good}.",
        hours=showing.figure(life.life([1.0]), 0),
        went=counted(life.ended, "{n} edge that went", "{n} edges that went"),
        good=counted(
            life.running,
            "{n} still good when sharpened or still cutting",
            "{n} still good when sharpened or still cutting",
        ),
    )
    head = (
        phrase("what"), phrase("edges that went"), phrase("times as long"),
        phrase("95 % between"), phrase("told apart"), phrase("other things being equal"),
    )  # fmt: skip
    rows = tuple(_row(one, showing) for one in found.effects)
    tables = (Table(head, rows),) if rows else ()
    return (Section("edges", phrase("How long edges last"), (half, *found.untold), tables),)


def _row(one: Effect, showing: Showing) -> tuple[str, ...]:
    ratio = one.ratio
    return (
        one.about,
        joined(" + ", [str(one.with_it), str(one.without)]) if one.without else str(one.with_it),
        showing.figure(ratio.ratio, 2),
        joined(" – ", [showing.figure(ratio.low, 2), showing.figure(ratio.high, 2)]),
        _told(one),
        joined(", ", one.beside) if one.beside else phrase("none"),
    )


def _told(one: Effect) -> str:
    ratio = one.ratio
    if ratio.told_apart:
        return phrase("lasts longer") if ratio.ratio > 1.0 else phrase("lasts less long")
    return still_wanted(ratio)
