"""The caution that stands beside each step, and the guard figures of one country's law, as data with their origin."""

from __future__ import annotations

import difflib
import math
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from sparkout.core.errors import Refusal, within
from sparkout.core.phrase import AsTyped, phrase

STEPS = (
    "take in",
    "look over",
    "bearings",
    "measure reel",
    "measure knife",
    "wheel mounting",
    "set up grinder",
    "spin grind",
    "relief grind",
    "knife grind",
    "deburr",
    "set",
    "prove",
    phrase("lifting"),
    phrase("dust"),
    phrase("noise and vibration"),
)
"""The steps cautions are kept for, in the order of the job; the last three go with any of them."""

LOCAL_RULES = phrase("Quoted from United States law as an example; local rules apply.")


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: for which steps, in short (25 words at most) and in full, and where its substance comes from."""

    id: str
    steps: tuple[str, ...]
    short: str
    long: str
    origin: str


@dataclass(frozen=True, slots=True)
class GuardFigure:
    """One figure of 29 CFR 1910.215: `value` in mm, rad or as a share, by `kind`; as printed; and where it was seen."""

    id: str
    what: str
    side: Literal["at most", "at least"]
    value: float
    kind: Literal["length", "angle", "fraction"]
    printed: str
    us_units: str
    paragraph: str
    seen: str
    standing: str = LOCAL_RULES

    def holds(self, value: float) -> bool:
        """Whether a value, in the figure's own core unit, keeps to the figure.

        Examples
        --------
        >>> guard_figure("work-rest").holds(3.0), guard_figure("work-rest").holds(4.0)
        (True, False)
        """
        number = within(self.id, value, 0.0)
        slack = 1e-12 * self.value
        return number <= self.value + slack if self.side == "at most" else number >= self.value - slack


@dataclass(frozen=True, slots=True)
class GuardProcedure:
    """One procedure of 29 CFR 1910.215 in our own words, and where it was seen."""

    id: str
    what: str
    paragraph: str
    seen: str
    standing: str = LOCAL_RULES


def cautions_for(step: str) -> tuple[Caution, ...]:
    """Return the cautions that stand beside a step, in the file's order, the general one last.

    Raises
    ------
    Refusal
        When no such step is known; the nearest name is suggested.

    Examples
    --------
    >>> [caution.id for caution in cautions_for("deburr")]
    ['blades', 'grinder-isolate', 'eyes', 'burr-by-hand', 'new-edge', 'advice']

    References
    ----------
    Each caution names its own origin; all defer to the machine's handbook, local rules and licensed practice.
    """
    if step not in STEPS:
        near = difflib.get_close_matches(step, STEPS, 1)
        text: str = phrase("step is {step!r}; allowed: {steps}", step=AsTyped(step), steps=AsTyped(", ".join(STEPS)))
        if near:
            text = phrase("{text}; did you mean {closest!r}", text=text, closest=AsTyped(near[0]))
        raise Refusal(text)
    return tuple(caution for caution in all_cautions() if step in caution.steps)


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Return every caution on file.

    Examples
    --------
    >>> all(caution.origin for caution in all_cautions())
    True
    """
    return tuple(
        Caution(row["id"], tuple(row["steps"]), row["short"], row["long"], row["origin"]) for row in _file()["caution"]
    )


@cache
def guard_figures() -> tuple[GuardFigure, ...]:
    """Return the guard, gap and flange figures of 29 CFR 1910.215, each with where it was seen. Local rules apply.

    Examples
    --------
    >>> [(figure.id, figure.printed) for figure in guard_figures()][:2]
    [('work-rest', '3.2 mm'), ('tongue', '6.4 mm')]

    References
    ----------
    29 CFR 1910.215 as quoted by state codes and agency papers; the federal text itself was not opened.
    """
    return tuple(_figure(row) for row in _file()["figure"])


def guard_figure(name: str) -> GuardFigure:
    """Return one guard figure by its id.

    Raises
    ------
    Refusal
        When there is none of that name.

    Examples
    --------
    >>> guard_figure("tongue").value
    6.35
    """
    for figure in guard_figures():
        if figure.id == name:
            return figure
    raise Refusal(
        phrase(
            "guard figure is {name!r}; allowed: {names}",
            name=name,
            names=AsTyped(", ".join(figure.id for figure in guard_figures())),
        )
    )


@cache
def guard_procedures() -> tuple[GuardProcedure, ...]:
    """Return the checks before mounting a wheel that 29 CFR 1910.215 asks for, in our own words.

    Examples
    --------
    >>> [procedure.id for procedure in guard_procedures()]
    ['ring-test', 'marked-speed']
    """
    return tuple(GuardProcedure(**row) for row in _file()["procedure"])


def _figure(row: dict[str, Any]) -> GuardFigure:
    shared = {key: row[key] for key in ("id", "what", "side", "printed", "paragraph", "seen")}
    if "inches" in row:
        return GuardFigure(
            value=float(Fraction(row["inches"]) * Fraction(254, 10)),
            kind="length",
            us_units=f"{row['inches']} in",
            **shared,
        )
    if "degrees" in row:
        return GuardFigure(value=math.radians(row["degrees"]), kind="angle", us_units=row["printed"], **shared)
    return GuardFigure(value=float(Fraction(row["share"])), kind="fraction", us_units=row["printed"], **shared)


@cache
def _file() -> dict[str, Any]:
    return tomllib.loads(files("sparkout.core").joinpath("data", "cautions.toml").read_text(encoding="utf-8"))
