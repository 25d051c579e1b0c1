"""Grind or replace in words: a unit's reel against a new one, spin only against spin and relief."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, Phrase, counted, joined, phrase
from sparkout.season.sand import COVERAGE
from sparkout.season.sheet import HOUR
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.core.measured import Measured
    from sparkout.core.season.policies import GrindOrReplace
    from sparkout.season.now import SeasonNow
    from sparkout.season.reel_choice import ReelChoice
    from sparkout.showing import Showing

TITLE = phrase("Grind or replace")
ONLY_THE_SIMULATION = phrase(
    "Intervals hold 90 % and are those of the simulation: the figures it goes by count as exact."
)


def tell_choices(now: SeasonNow, showing: Showing) -> tuple[Section, ...]:
    """Return the units whose reel may reach its limit within the season: each ground on or replaced, and how."""
    rows: list[tuple[str, ...]] = []
    lines: list[str] = []
    assumed: dict[str, None] = {}
    for name, choice in now.reel_choices.items():
        if isinstance(choice, Refusal):
            lines.append(phrase("{unit}: {why}", unit=AsTyped(name), why=choice.words))
            continue
        rows += [(AsTyped(name), *row) for row in way_rows(choice, showing)]
        lines.append(phrase("{unit}: {told}", unit=AsTyped(name), told=relief_told(choice, showing)))
        assumed |= dict.fromkeys(choice.to_choose.assumed)
    if not lines:
        return ()
    if rows:
        lines += [ONLY_THE_SIMULATION, *([assumed_told(tuple(assumed))] if assumed else [])]
    tables = (Table((phrase("unit"), *HEADS), tuple(rows)),) if rows else ()
    return (Section("reels", TITLE, tuple(lines), tables),)


HEADS = (
    phrase("way of working"), phrase("cheaper"), phrase("an hour to come, ground on"), phrase("an hour of a new reel"),
    phrase("sharpenings left"), phrase("hours in them"), phrase("saved by grinding on"),
)  # fmt: skip


def way_rows(choice: ReelChoice, showing: Showing) -> list[tuple[str, ...]]:
    """Return a row for each way of working."""
    return [_row(found, showing) for found in choice.found]


def _row(found: GrindOrReplace, showing: Showing) -> tuple[str, ...]:
    fits = found.sharpenings > 0
    return (
        found.new.way.name,
        way_told(found),
        phrase("none fits") if found.kept is None else _money(found.kept, 2, showing),
        _money(found.new.cost_an_hour, 2, showing),
        str(found.sharpenings),
        showing.quantity(found.hours * HOUR, "time", unit="h", places=0) if fits else "",
        _money(found.saved, 0, showing) if found.grind else phrase("nothing"),
    )


def way_told(found: GrindOrReplace) -> Phrase:
    """Return which is cheaper, in two words."""
    return phrase("grind it") if found.grind else phrase("a new one")


def why_told(found: GrindOrReplace) -> Phrase:
    """Return what is cheaper and why."""
    if found.grind:
        return counted(
            found.sharpenings,
            "Grind it: {why}, for {n} sharpening more.",
            "Grind it: {why}, for {n} sharpenings more.",
            why=found.why,
        )
    return phrase("Put a new one in: {why}.", why=found.why)


def relief_told(choice: ReelChoice, showing: Showing) -> Phrase:
    """Return spin only against spin and relief, over the whole life of a new reel."""
    apart = choice.apart.difference
    if apart.value == 0.0 and apart.u == 0.0:
        return phrase("with and without relief come to the same: the limit on the land asks for it every time")
    low, high = apart.interval(COVERAGE)
    if low <= 0.0 <= high:
        return phrase(
            "relieving every time cannot be told from spinning only: {low} to {high} an hour cut (90 %)",
            low=showing.figure(low, 3), high=showing.figure(high, 3),
        )  # fmt: skip
    if apart.value > 0.0:
        return phrase(
            "over a reel's whole life spinning only is cheaper than relieving every time, by {by} an hour cut",
            by=_money(apart, 3, showing),
        )
    return phrase(
        "over a reel's whole life relieving every time is cheaper than spinning only, by {by} an hour cut",
        by=_money(apart.scaled(-1.0), 3, showing),
    )


def assumed_told(assumed: tuple[str, ...]) -> Phrase:
    """Return what was not on file and had to be assumed."""
    return phrase("Assumed: {assumed}.", assumed=joined("; ", assumed))


def _money(value: Measured, places: int, showing: Showing) -> Phrase:
    low, high = value.interval(COVERAGE)
    return phrase(
        "{value} (90 %: {low} to {high})",
        value=showing.figure(value.value, places), low=showing.figure(low, places), high=showing.figure(high, places),
    )  # fmt: skip
