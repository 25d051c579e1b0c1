"""The tables of fault finding: what is seen, what can be checked, what causes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from sparkout.core.errors import Refusal, did_you_mean
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, slots=True)
class Setup:
    """What has to be done before some checks, its minutes (paid once), and the cautions that stand beside it."""

    id: str
    do: str
    minutes: float
    cautions: tuple[str, ...]
    origin: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is so or is not so.

    `seen`: from where a person stands, without a tool. `without`: how often it is so though none of its causes is at
    work. `reading` and `record` name what on file answers it, empty where nothing does.
    """

    id: str
    says: str
    seen: bool
    without: float
    reading: str
    record: str
    origin: str


@dataclass(frozen=True, slots=True)
class Check:
    """What to do to answer one or more findings: minutes, setups that come before, cautions beside it.

    `sum` names the calculation or the step of a visit that serves it.
    """

    id: str
    do: str
    minutes: float
    setups: tuple[str, ...]
    findings: tuple[str, ...]
    cautions: tuple[str, ...]
    sum: str
    origin: str


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause: how often it is the cause against the others, how often it alone makes each finding so, the remedy."""

    id: str
    says: str
    weight: float
    shows: tuple[tuple[str, float], ...]
    remedy: str
    sum: str
    origin: str


@dataclass(frozen=True, slots=True)
class Tables:
    """Everything fault finding knows. `how_many[k]`: chance that k of the causes are at work at once.

    Findings that are seen have a check each: to look, `minutes_to_look`. `minutes_between` goes with any check.
    """

    setups: tuple[Setup, ...]
    findings: tuple[Finding, ...]
    checks: tuple[Check, ...]
    causes: tuple[Cause, ...]
    how_many: tuple[float, ...]
    minutes_to_look: float
    minutes_between: float
    origin_of_numbers: str

    def finding(self, name: str) -> Finding:
        """Return a finding by its id, or refuse with the nearest."""
        return _named(name, self.findings, phrase("finding"))

    def cause(self, name: str) -> Cause:
        """Return a cause by its id, or refuse with the nearest."""
        return _named(name, self.causes, phrase("cause"))

    def check(self, name: str) -> Check:
        """Return a check by its id, those that only look included, or refuse with the nearest."""
        return _named(name, self.all_checks, phrase("check"))

    def setup(self, name: str) -> Setup:
        """Return a setup by its id, or refuse with the nearest."""
        return _named(name, self.setups, phrase("setup"))

    @property
    def all_checks(self) -> tuple[Check, ...]:
        """The checks on file and one look for each finding that is seen."""
        looks = tuple(
            Check(
                f"look-{each.id}",
                phrase("Look and listen again, from where you stand"),
                self.minutes_to_look,
                (),
                (each.id,),
                (),
                "",
                each.origin,
            )
            for each in self.findings
            if each.seen
        )
        return looks + self.checks

    @property
    def seen(self) -> tuple[Finding, ...]:
        """The findings that are seen or heard, in the order of the file."""
        return tuple(each for each in self.findings if each.seen)


Row = TypeVar("Row", Setup, Finding, Check, Cause)


def _named(name: str, rows: Iterable[Row], what: str) -> Row:
    listed = list(rows)
    for each in listed:
        if each.id == name:
            return each
    raise Refusal(
        phrase(
            "{what} {name!r} is not in the tables; {nearest}",
            what=what,
            name=AsTyped(name),
            nearest=did_you_mean(name, [each.id for each in listed]),
        )
    )
