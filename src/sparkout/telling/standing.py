"""A unit on the bench in words: how it stands, what to turn, how it moves with wear and work, and warm."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.core.stance.moves import CAUTION
from sparkout.reckoning.answer import Untold
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.core.setting.heat import ColdSetting, GapHot
    from sparkout.core.stance.moves import Moves, Pair
    from sparkout.core.stance.standing import StanceAt
    from sparkout.core.stance.work import AfterWork, LifePath
    from sparkout.reckoning.standing import Standing
    from sparkout.showing import Showing


def standing_sections(found: Standing, showing: Showing) -> tuple[Section, ...]:
    """Return everything told of a unit on the bench, part by part, in the order of the work."""
    parts = (
        _stands(found, showing),
        _turned(found.moves, showing),
        _worked(found.worked, showing),
        _life(found.life, showing),
        _warm(found.hot, found.cold, showing),
    )
    return tuple(part for part in parts if part is not None)


def _stands(found: Standing, showing: Showing) -> Section:
    known = {name: each.measured for name, each in found.known.items()}
    at = found.stance.middle
    level = known["level"]
    much = showing.residue(abs(level.value))
    lines = [phrase("Level: both ends stand alike.")]
    if level.value > 1e-6:
        lines = [phrase("Level: the right end is {much} higher.", much=much)]
    elif level.value < -1e-6:
        lines = [phrase("Level: the left end is {much} higher.", much=much)]
    if level.u > 0.0 and abs(level.value) > 1e-6:
        lines.append(
            phrase("That difference is known to {u} (95 %).", u=showing.length(1.96 * level.u))
            if abs(level.value) > 1.96 * level.u
            else phrase("That is no more than the readings may be off by: read again before turning.")
        )
    if found.stance.on_flat.rocks_about:
        lines.append(
            phrase(
                "It rocks: one foot stands {off} off a flat bench.", off=showing.length(abs(found.stance.on_flat.twist))
            )
        )
    rows = (
        (phrase("Height of cut, left"), showing.measured(known["left.height_of_cut"])),
        (phrase("Height of cut, right"), showing.measured(known["right.height_of_cut"])),
        *_rows(at, showing),
    )
    return Section("stands", phrase("How it stands"), tuple(lines), (_two(rows),))


def _rows(at: StanceAt, showing: Showing) -> tuple[tuple[str, str], ...]:
    behind = phrase("Edge behind centre") if at.behind_centre >= 0.0 else phrase("Edge ahead of centre")
    return (
        (behind, showing.length(abs(at.behind_centre))),
        (phrase("Reel reaches below the edge"), showing.length(at.reach)),
        (phrase("Reel clears the ground by"), showing.length(at.reel_clearance)),
        (phrase("Attitude, rear lower positive"), showing.quantity(at.attitude, "angle")),
        (phrase("Top clearance, as it stands"), showing.quantity(at.top_clearance, "angle")),
        (phrase("Front face leans back"), showing.quantity(at.front_lean, "angle")),
        (phrase("Edge's place on the reel, from straight below"), showing.quantity(at.approach_angle, "angle")),
    )


def _two(rows: tuple[tuple[str, str], ...], title: str = "") -> Table:
    return Table((phrase("What"), phrase("Figure")), rows, title)


def _turned(moves: Moves | Untold | None, showing: Showing) -> Section | None:
    title = phrase("What to turn")
    if moves is None:
        return None
    if isinstance(moves, Untold):
        return _untold("turn", title, moves)
    ends = moves.after.left.height_of_cut, moves.after.right.height_of_cut
    lines = [
        phrase(
            "Then it stands at {left} left and {right} right, the edge {behind} behind centre.",
            left=showing.length(ends[0]),
            right=showing.length(ends[1]),
            behind=showing.length(moves.after.middle.behind_centre),
        ),
        *moves.notes,
        phrase("Turn both ends in small steps and measure again: a bar over both rollers has the last word."),
    ]
    return Section("turn", title, tuple(lines), (_turns(moves, showing),), (moves.caution,))


def turns_to_set(turns: float, showing: Showing) -> str:
    """Return turns that can be set exactly, without their sign: an eighth of a turn in full, a quarter short.

    Examples
    --------
    >>> from sparkout.showing import Showing
    >>> turns_to_set(-0.125, Showing()), turns_to_set(0.75, Showing())
    ('0.125', '0.75')
    """
    return showing.figure(abs(turns), 2 if abs(turns - round(turns, 2)) < 5e-4 else 3)


def _turns(moves: Moves, showing: Showing, title: str = "") -> Table:
    rows = [
        (phrase("Front roller, left"), phrase("Front roller, right")),
        (phrase("Rear roller, left"), phrase("Rear roller, right")),
    ]
    told = [row for pair, names in ((moves.front, rows[0]), (moves.rear, rows[1])) if pair is not None
            for row in _pair(pair, names, showing)]  # fmt: skip
    return Table((phrase("Where"), phrase("Which way"), phrase("Turns to set"), phrase("Exactly")), tuple(told), title)


def _pair(pair: Pair, names: tuple[str, str], showing: Showing) -> list[tuple[str, str, str, str]]:
    rows: list[tuple[str, str, str, str]] = []
    for move, name in zip(pair, names, strict=True):
        way = phrase("down") if move.travel > 0.0 else phrase("up")
        if abs(move.travel) < 5e-4:
            way = phrase("leave it")
        exactly = phrase("{travel}, {turns} turns", travel=showing.length(abs(move.travel)),
                         turns=showing.figure(abs(move.turns), 2))  # fmt: skip
        rows.append((name, way, turns_to_set(move.set_turns, showing), exactly))
    return rows


def _worked(worked: AfterWork | Untold | None, showing: Showing) -> Section | None:
    title = phrase("After that work")
    if worked is None:
        return None
    if isinstance(worked, Untold):
        return _untold("worked", title, worked)
    before, after = worked.before.middle, worked.after.middle
    last = None if worked.moves is None else worked.moves.after.middle
    head = [phrase("What"), phrase("Now"), phrase("Rollers untouched")]
    columns = [before, after]
    if last is not None:
        head.append(phrase("Turned to its height"))
        columns.append(last)
    told = [[value for _, value in _rows(at, showing)] for at in columns]
    heights = tuple(showing.length(at.height_of_cut) for at in columns)
    names = [name for name, _ in _rows(before, showing)]
    rows = ((phrase("Height of cut"), *heights), *zip(names, *told, strict=True))
    tables = [Table(tuple(head), tuple(rows))]
    if worked.moves is not None:
        tables.append(_turns(worked.moves, showing, phrase("What to turn then")))
    change = after.height_of_cut - before.height_of_cut
    much = showing.residue(abs(change))
    line = (
        phrase("With the rollers untouched it cuts {much} higher.", much=much)
        if change > 0.0
        else phrase("With the rollers untouched it cuts {much} lower.", much=much)
    )
    return Section("worked", title, (line,), tuple(tables), () if worked.moves is None else (CAUTION,))


def _life(life: LifePath | Untold | None, showing: Showing) -> Section | None:
    title = phrase("From now to the reel's limit")
    if life is None:
        return None
    if isinstance(life, Untold):
        return _untold("life", title, life)
    kept = not math.isnan(float(life.travel[0]))
    head = [phrase("Reel diameter"), phrase("Height, rollers untouched"), phrase("Edge behind centre"),
            phrase("Reach")]  # fmt: skip
    if kept:
        head += [phrase("Roller, height kept"), phrase("Behind centre then"), phrase("Reach then")]
    rows = []
    for i in range(len(life.diameter)):
        row = [life.diameter[i], life.height_of_cut[i], life.behind_centre[i], life.reach[i]]
        row += [life.travel[i], life.kept_behind_centre[i], life.kept_reach[i]] if kept else []
        rows.append(tuple(showing.length(float(value)) for value in row))
    lines = [phrase("The knife unground; down positive for the roller. Grinding the knife moves its edge too.")]
    return Section("life", title, tuple(lines), (Table(tuple(head), tuple(rows)),))


def _warm(hot: GapHot | None, cold: ColdSetting | None, showing: Showing) -> Section | None:
    if hot is None or cold is None:
        return None
    change = hot.change.value
    much = showing.residue(abs(change))
    lines = [
        phrase("Warm, the gap opens by {much}.", much=much)
        if change > 0.0
        else phrase("Warm, the gap closes by {much}.", much=much),
        phrase("To have the gap wanted in the tightest state, set {cold} cold.", cold=showing.length(cold.gap.value)),
        *cold.notes,
    ]
    rows = (
        (phrase("Gap as set now, when warm"), showing.measured(hot.gap)),
        (phrase("Gap to set cold"), showing.length(cold.gap.value)),
        (phrase("Then, reel warm and frame still cold"), showing.measured(cold.warm[0])),
        (phrase("Then, both warm"), showing.measured(cold.warm[1])),
    )
    return Section("warm", phrase("Gap, cold to hot"), tuple(lines), (_two(rows),), (cold.caution,))


def _untold(key: str, title: str, untold: Untold) -> Section:
    told = phrase("No answer on {what}; wanted: {wanted}.", what=untold.what, wanted=untold.wanted)
    return Section(key, title, (told,))
