"""One visit in a handful of figures, as found and as left: what a unit's or a reel's life is told and drawn from."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sparkout.core.measured import Measured
from sparkout.reckoning.given import Given

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sparkout.reckoning.answer import Answer, Diagnosis, Judged
    from sparkout.visit.taken import When

OUTCOMES = ("does not conform", "undecided", "conforms")
"""From the one that weighs most."""
_CALCULATING = ("core", "reckoning", "visit", "units.py")


@dataclass(frozen=True, slots=True)
class Stage:
    """As found or as left: means over the places read, None where nothing was; lip is the knife's lip height."""

    diameter: Measured | None = None
    land: Measured | None = None
    height: Measured | None = None
    lip: Measured | None = None
    front_roller: Measured | None = None
    """Diameter, as that of the rear one."""
    rear_roller: Measured | None = None
    verdicts: Mapping[str, str] = field(default_factory=dict)
    """Outcome by quantity, of those that could be judged."""

    @property
    def worst(self) -> str:
        """The outcome that weighs most; empty when nothing was judged.

        Examples
        --------
        >>> Stage(verdicts={"cone": "conforms", "land": "undecided"}).worst
        'undecided'
        """
        return next((outcome for outcome in OUTCOMES if outcome in self.verdicts.values()), "")

    def with_outcome(self, outcome: str) -> list[str]:
        """Return the quantities that came out so."""
        return [quantity for quantity, found in self.verdicts.items() if found == outcome]


@dataclass(frozen=True, slots=True)
class InFigures:
    """One visit in figures, mm."""

    found: Stage = Stage()
    left: Stage = Stage()
    service_diameter: float | None = None
    work: tuple[str, ...] = ()
    """Steps of work done, each once."""
    trouble: str = ""
    """What stood against an answer; then there are no figures."""

    @property
    def ground(self) -> bool:
        """Whether metal was taken off the reel."""
        return "spin grind" in self.work or "relief grind" in self.work

    @property
    def knife_ground(self) -> bool:
        """Whether metal was taken off the knife."""
        return "knife grind" in self.work


def in_figures(answer: Answer) -> InFigures:
    """Return a visit's answer in figures."""
    given = Given(answer.visit)
    left = answer.as_left
    limit = given.limit("diameter")
    return InFigures(
        _stage(given, "as found", answer.diagnosis, answer.judged),
        _stage(given, "as left", None, ()) if left is None else _stage(given, "as left", left.diagnosis, left.judged),
        None if limit is None else limit.lower,
        tuple(dict.fromkeys(work.step for work in answer.visit.work)),
    )


def _stage(given: Given, when: When, diagnosis: Diagnosis | None, judged: Sequence[Judged]) -> Stage:
    known = diagnosis is not None and "mean radius" in diagnosis.informed
    return Stage(
        diagnosis.state.mean_radius.scaled(2.0) if diagnosis is not None and known else None,
        given.mean_of("land", when),
        given.mean_of("height of cut", when),
        given.mean_of("lip height", when),
        given.mean_of("roller diameter", when, "front"),
        given.mean_of("roller diameter", when, "rear"),
        {entry.quantity: entry.verdict.outcome for entry in judged if entry.verdict is not None and _bears(entry)},
    )


def _bears(entry: Judged) -> bool:
    """Whether a reading bears on it: what was only expected beforehand is judged as undecided, and says nothing."""
    return entry.measured is not None


def as_kept(figures: InFigures) -> dict[str, Any]:
    """Return figures fit for JSON.

    Examples
    --------
    >>> from_kept(as_kept(InFigures(Stage(Measured(125.0, 0.1)), work=("set",)))).found.diameter
    Measured(value=125.0, u=0.1, dof=inf)
    """
    return {
        "found": _stage_kept(figures.found),
        "left": _stage_kept(figures.left),
        "service_diameter": figures.service_diameter,
        "work": list(figures.work),
        "trouble": figures.trouble,
    }


def from_kept(kept: Mapping[str, Any]) -> InFigures:
    """Return figures from what `as_kept` made of them."""
    return InFigures(
        _stage_from(kept["found"]),
        _stage_from(kept["left"]),
        kept["service_diameter"],
        tuple(kept["work"]),
        kept["trouble"],
    )


_MEASURED = ("diameter", "land", "height", "lip", "front_roller", "rear_roller")


def _stage_kept(stage: Stage) -> dict[str, Any]:
    kept: dict[str, Any] = {"verdicts": dict(stage.verdicts)}
    for name in _MEASURED:
        value: Measured | None = getattr(stage, name)
        if value is not None:
            kept[name] = [value.value, value.u, None if math.isinf(value.dof) else value.dof]
    return kept


def _stage_from(kept: Mapping[str, Any]) -> Stage:
    found = {
        name: Measured(value, u, math.inf if dof is None else dof)
        for name in _MEASURED
        if name in kept
        for value, u, dof in [kept[name]]
    }
    return Stage(**found, verdicts=kept["verdicts"])


@cache
def calculations() -> str:
    """Return the digest of every source that figures depend on: kept figures of another digest are made again."""
    room = Path(__file__).parents[1]
    sources = sorted(
        path
        for name in _CALCULATING
        for path in ([room / name] if name.endswith(".py") else (room / name).rglob("*"))
        if path.suffix in (".py", ".toml")
    )
    told = hashlib.sha256()
    for path in sources:
        told.update(f"{path.relative_to(room).as_posix()}\n".encode() + path.read_bytes())
    return told.hexdigest()
