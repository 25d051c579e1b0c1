"""What is typed at any door is checked by the visit file's own declarations, so errors read the same everywhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from pydantic_core import PydanticCustomError

from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.checking import checked
from sparkout.visit.problems import Problem, VisitProblems, problem_of
from sparkout.visit.sections import KnifeSection

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.visit.asked import Asked

Table = dict[str, Any]
"""One table of the visit file: keys, and values as typed."""

BLADE_KEYS = ("top_angle", "front_angle", "thickness", "width", "lip_height", "front_lip_depth")
"""Entries of [knife] that belong to the knife itself; the others belong to the unit that carries it."""
CARRIER_KEYS = tuple(key for key in KnifeSection.model_fields if key not in BLADE_KEYS)

_ANY = {"unit": {"name": "?"}, "reel": {"blades": 40, "diameter": 600, "length": 3000}}  # contradicts nothing


def refuse(field: str, text: str, *, value: str = "", allowed: str = "", suggestion: str = "") -> VisitProblems:
    """Return the refusal of one field."""
    return VisitProblems([Problem(field, None, text, value, allowed, suggestion=suggestion)])


def checked_table(name: str, table: Mapping[str, Any], among: Mapping[str, Any] | None = None) -> Table:
    """Return one table of the visit file as it will be kept; `among` are the other tables it has to agree with.

    Raises
    ------
    VisitProblems
        With everything wrong in it; paths are the table's own keys.

    Examples
    --------
    >>> checked_table("height", {"of_cut": "4 mm", "adjuster_pitch": None})
    {'of_cut': '4 mm'}
    >>> checked_table("height", {"of_cut": "4 m"})
    Traceback (most recent call last):
    ...
    sparkout.visit.problems.VisitProblems: of_cut: '4 m', which is 4000 mm, is too large; allowed: 1 to 120 mm. Did you mean 4 mm or 4 in (101.6 mm) or 4 cm (40 mm)?
    """  # noqa: E501
    content = _given(table)
    return _kept(name, {**_ANY, **(among or {}), name: content}, name)


def checked_row(name: str, row: Mapping[str, Any], among: Mapping[str, Any] | None = None) -> Table:
    """Return one of a list of tables ([[readings]], [[gauges]], ...) as it will be kept.

    Raises
    ------
    VisitProblems
        As `checked_table`.
    """
    return _kept(f"{name}[0]", {**_ANY, **(among or {}), name: [_given(row)]}, name)


def _given(table: Mapping[str, Any]) -> Table:
    return {key: value for key, value in table.items() if value is not None}


def _kept(prefix: str, data: Table, name: str) -> Table:
    try:
        visit = checked(data, lambda _: None)
    except VisitProblems as problems:
        raise VisitProblems(_below(prefix, problems.problems)) from None
    found: Any = visit.model_dump(mode="json", exclude_none=True, include={name})[name]
    table: Table = found[0] if isinstance(found, list) else found
    return table


def _below(prefix: str, problems: Iterable[Problem]) -> list[Problem]:
    return [
        replace(problem, path=problem.path.removeprefix(prefix).removeprefix(".") or prefix.removesuffix("[0]"))
        for problem in problems
    ]


def checked_value(field: str, declaration: Asked, value: object) -> Any:
    """Return one value as its declaration reads it.

    Raises
    ------
    VisitProblems
        Naming the field.

    Examples
    --------
    >>> from sparkout.visit.words import Text
    >>> checked_value("name", Text("a name", longest=4, shortest=1), "")
    Traceback (most recent call last):
    ...
    sparkout.visit.problems.VisitProblems: name: '' is blank; allowed: 1 to 4 characters.
    """
    try:
        return declaration.read(value)
    except PydanticCustomError as error:
        raise VisitProblems([problem_of(field, error.context)]) from None


def only(table: Table, keys: Iterable[str], others_belong: str) -> Table:
    """Return the table when it holds no other keys.

    Raises
    ------
    VisitProblems
        Naming the keys that belong elsewhere.
    """
    known = tuple(keys)
    strange = [key for key in table if key not in known]
    if strange:
        raise VisitProblems(
            [
                Problem(
                    key,
                    None,
                    phrase("'{key}' belongs {others_belong}", key=AsTyped(key), others_belong=others_belong),
                    allowed=", ".join(known),
                )
                for key in strange
            ]
        )
    return table
