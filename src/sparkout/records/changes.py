"""What became of a thing on file: who changed it, when, what was and what became."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from django.db.models import Q

from sparkout.records.models import HistoryLine, TableRow

if TYPE_CHECKING:
    import datetime

    from django.db.models import Model


@dataclass(frozen=True, slots=True)
class Change:
    """One action; `was` and `became` hold only the entries that differ."""

    at: datetime.datetime
    who: str
    action: str
    label: str
    was: dict[str, Any]
    became: dict[str, Any]
    file: str = ""
    """The table it came in, when it came in one."""
    through: str = ""
    """The token of the program that did it on the person's behalf."""


MOST = 200


def changes_of(*things: Model, most: int = MOST) -> list[Change]:
    """Return what was done to these things, the last first; two queries however many they are."""
    numbers: dict[str, list[int]] = defaultdict(list)
    for thing in things:
        numbers[thing._meta.model_name or ""].append(thing.pk)
    mine = Q(pk__in=[])
    for name, pks in numbers.items():
        mine |= Q(subject=name, subject_id__in=pks)
    lines = HistoryLine.objects.filter(mine).select_related("who", "through").order_by("-at", "-pk")[:most]
    rows = TableRow.objects.filter(mine).select_related("file__brought_by").order_by("-pk")[:most]
    made = [_of_line(line) for line in lines]
    made += [
        _change(
            row.file.brought_at,
            row.file.brought_by.name,
            f"{row.what} by a table",
            "",
            row.before,
            row.after,
            f"{row.file.name}, {row.sheet}, {row.row}" if row.sheet else f"{row.file.name}, {row.row}",
        )
        for row in rows
    ]
    return sorted(made, key=lambda change: change.at, reverse=True)[:most]


def _of_line(line: HistoryLine) -> Change:
    made = _change(line.at, line.who.name, line.action, line.label, line.before, line.after)
    return made if line.through is None else replace(made, through=line.through.name)


def _change(
    at: datetime.datetime, who: str, action: str, label: str, before: Any, after: Any, file: str = ""
) -> Change:
    was, became = flat(before), flat(after)
    if after is not None and before is not None:
        same = {key for key in was.keys() & became.keys() if was[key] == became[key]}
        was = {key: value for key, value in was.items() if key not in same}
        became = {key: value for key, value in became.items() if key not in same}
    return Change(at, who, action, label, was, became, file)


def flat(table: Any) -> dict[str, Any]:
    """Return a table with the tables in it spread out, without what says nothing.

    Examples
    --------
    >>> flat({"name": "unit 3", "height": {"of_cut": "4 mm"}, "pattern": None})
    {'name': 'unit 3', 'of_cut': '4 mm'}
    """
    found: dict[str, Any] = {}
    if not isinstance(table, dict):
        return found
    for key, value in table.items():
        if isinstance(value, dict):
            found |= flat(value)
        elif value is not None and value != "":
            found[key] = value
    return found
