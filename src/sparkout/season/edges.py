"""How long edges last here: one life for all of them, and what makes one last longer or less long than another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol, get_args

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough, Refusal
from sparkout.core.phrase import AsTyped, Phrase, counted, phrase
from sparkout.core.season.edge_life import Compared, EdgeLife, compared, edge_life
from sparkout.core.season.ways import FEWEST

FEWEST_LIVES = 5
"""Edges that went, below which this workshop's own edge life is not told from its records."""
LIVES_A_COLUMN = 5
"""Edges that went for each thing that is taken into account at once; common practice, no source."""
TO_TELL = 1.25
"""The least ratio of lives worth telling. Own choice."""
Gap = Literal["contact", "light gap"]
GAPS: tuple[Gap, ...] = get_args(Gap)


@dataclass(frozen=True, slots=True)
class Edge:
    """Hours an edge was cut with, whether it went (sharpened because of a complaint), and how it had been made.

    One that was sharpened while still good, or is still cutting, has not gone: it lasted longer than its hours.
    """

    hours: float
    went: bool
    relief: bool | None = None
    """Whether a relief grind was part of its making; None: not known."""
    gap: Gap | None = None
    """How it was set to the knife; None: not known."""
    who: str = ""
    """Who made it."""


class OfUnit(Protocol):
    """What is to be known of a unit for its edges."""

    @property
    def edges(self) -> Sequence[Edge]:
        """Its edges so far."""
        ...

    @property
    def duty(self) -> str:
        """What it is compared with: its type of reel."""
        ...

    @property
    def hours(self) -> float | None:
        """Hours its reel has run."""
        ...

    @property
    def sandings(self) -> int:
        """Sandings so far."""
        ...


@dataclass(frozen=True, slots=True)
class Effect:
    """What one thing does to an edge's life, everything else that could be taken into account being equal."""

    about: Phrase
    """What is held against what."""
    with_it: int
    """Edges that went with it (of sand: all of them)."""
    without: int
    ratio: Compared
    beside: tuple[str, ...]
    """What was taken into account besides."""


@dataclass(frozen=True, slots=True)
class EdgesTold:
    """How long edges last here, by what; and why no more can be told."""

    life: EdgeLife
    effects: tuple[Effect, ...]
    untold: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """An edge with what its unit adds."""

    edge: Edge
    duty: str
    sand: float | None
    """Sandings in a hundred hours of its reel, over all its time: an edge's own would hang on how long it lasted."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """One thing that may matter: a column of the regression."""

    factor: str
    about: Phrase
    name: str
    value: Callable[[_Row], float | None]
    counted: bool = False
    """Whether it is a count; else it is there or not."""


def edges_of(units: Sequence[OfUnit]) -> list[Edge]:
    """Return every edge on file of all units."""
    return [edge for unit in units for edge in unit.edges if edge.hours > 0.0]


def life_of(edges: Sequence[Edge]) -> EdgeLife | None:
    """Return how long an edge lasts here; None where fewer than `FEWEST_LIVES` went.

    Raises
    ------
    NotEnough
        Where these edges settle no life.
    """
    if sum(edge.went for edge in edges) < FEWEST_LIVES:
        return None
    return edge_life([e.hours for e in edges], [e.went for e in edges], [[1.0]] * len(edges), ["all"])


def edges_told(units: Sequence[OfUnit]) -> EdgesTold | None:
    """Return what makes edges last here: relief or spin only, contact or light gap, sand, type of reel, who made them.

    log T = x b + sigma W (Weibull regression, edges that have not gone right-censored). Each thing is told from those
    edges of which it is known, with everything else taken into account that these edges can bear: where at least three
    went on either side, where it is no copy of what is there, and while five went for each. None without a life.

    Validity: what was done to which edge had nothing to do with how long it would have lasted anyway.

    Source: `core.season.edge_life`.
    """
    rows = [
        _Row(edge, unit.duty, 100.0 * unit.sandings / unit.hours if unit.hours else None)
        for unit in units
        for edge in unit.edges
        if edge.hours > 0.0
    ]
    try:
        life = life_of([row.edge for row in rows])
    except NotEnough:
        return None
    if life is None:
        return None
    kinds = list(_kinds(rows))
    effects: list[Effect] = []
    untold: list[Phrase] = []
    for kind in kinds:
        found = _effect(kind, rows, [other for other in kinds if other.factor != kind.factor])
        if isinstance(found, Effect):
            effects.append(found)
        else:
            untold.append(found)
    return EdgesTold(life, tuple(effects), tuple(untold))


def _kinds(rows: Sequence[_Row]) -> Iterator[_Kind]:
    def flag(told: bool | None) -> float | None:
        return None if told is None else float(told)

    yield _Kind(
        "relief", phrase("spin and relief against spin only"), phrase("relief"), lambda row: flag(row.edge.relief)
    )
    yield _Kind(
        "gap",
        phrase("set to contact against a light gap"),
        phrase("contact"),
        lambda row: flag(None if row.edge.gap is None else row.edge.gap == "contact"),
    )
    yield _Kind("sand", phrase("each sanding in 100 hours"), phrase("sand"), lambda row: row.sand, counted=True)
    for factor, of in (("duty", _duty), ("who", _who)):
        often = Counter(of(row) for row in rows if of(row))
        # Against all others, so that of two one line says it all.
        for name in list(often)[: len(often) if len(often) > 2 else len(often) - 1]:
            yield _Kind(
                factor,
                phrase("{name} against all others", name=AsTyped(name)),
                AsTyped(name),
                lambda row, of=of, name=name: float(of(row) == name) if of(row) else None,  # type: ignore[misc]
            )


def _duty(row: _Row) -> str:
    return row.duty


def _who(row: _Row) -> str:
    return row.edge.who


def _effect(kind: _Kind, rows: Sequence[_Row], others: Sequence[_Kind]) -> Effect | Phrase:
    mine = [row for row in rows if kind.value(row) is not None]
    went = np.array([row.edge.went for row in mine], dtype=np.bool_)
    column = _column(kind, mine)
    if (lacking := _lacking(kind, column[went])) is not None:
        return phrase("{about}: {lacking}", about=kind.about, lacking=lacking)
    columns, beside = [np.ones(len(mine)), column], []
    for other in others:
        if any(other.value(row) is None for row in mine) or (len(columns) + 1) * LIVES_A_COLUMN > went.sum():
            continue
        more = _column(other, mine)
        stacked = np.column_stack([*columns, more])[went]
        if _lacking(other, more[went]) is None and np.linalg.matrix_rank(stacked) == stacked.shape[1]:
            columns.append(more)
            beside.append(other.name)
    names = ["all", "it", *(f"beside {i}" for i in range(len(beside)))]
    hours = [row.edge.hours for row in mine]
    try:
        life = edge_life(hours, went, np.column_stack(columns), names)
    except Refusal as why:
        return phrase("{about}: {lacking}", about=kind.about, lacking=why.words)
    with_it = int(went.sum() if kind.counted else np.count_nonzero(column[went]))
    return Effect(kind.about, with_it, int(went.sum()) - with_it, compared(life, "it", TO_TELL), tuple(beside))


def _column(kind: _Kind, rows: Sequence[_Row]) -> NDArray[np.float64]:
    return np.array([kind.value(row) for row in rows], dtype=np.float64)


def _lacking(kind: _Kind, went: NDArray[np.float64]) -> Phrase | None:
    """Return what a column lacks among edges that went; None where it can be told."""
    if kind.counted:
        if went.size < 2 * FEWEST or np.ptp(went) == 0.0:
            return phrase("the units' own counts on file do not differ, or too few edges went")
        return None
    short = FEWEST - min(int(np.count_nonzero(went)), int(went.size - np.count_nonzero(went)))
    if short <= 0:
        return None
    return counted(short, "{n} more edge that went is wanted", "{n} more edges that went are wanted")
