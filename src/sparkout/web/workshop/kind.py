"""What a kind of thing in the workshop is: how it is listed, asked for, added and changed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.web.shell.form import Field, shown_values

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from django.db.models import Model, QuerySet

    from sparkout.records.models import Person
    from sparkout.showing import Showing
    from sparkout.web.shell.form import Group

Typed = dict[str, "str | None"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a list: its heading in the code's words, and what stands in it."""

    head: str
    cell: Callable[[Any, Showing], str]


@dataclass(frozen=True, slots=True)
class Side:
    """A further thing that can be done with one of a kind: words and the name of its address."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of thing. `add` and `change` are handed what was typed and call one operation."""

    slug: str
    model: type[Model]
    many: str
    one: str
    new: str
    groups: Callable[[Any], Sequence[Group]]
    """The form for one thing, or for a new one (None)."""
    table: Callable[[Any], dict[str, Any]]
    """What is on file of a thing, by the names of the fields."""
    add: Callable[[Person, Typed, str], Model]
    change: Callable[[Person, Any, Typed, str], object]
    listed: Callable[[], QuerySet[Any]]
    name: str
    """The column by which it is found and ordered."""
    in_use: dict[str, Any]
    """The filter for those in use."""
    columns: tuple[Column, ...] = ()
    about: str = ""
    end_words: str = phrase("Put out of use")
    sides: tuple[Side, ...] = ()
    extra: str = ""
    """Template of what else its page shows."""
    more: Callable[[Any, Showing], dict[str, Any]] | None = None
    """What that template is filled with."""
    related: Callable[[Any], Sequence[Model]] = field(default=lambda _: ())
    """Further things whose history is this one's too."""

    def values(self, thing: Any) -> dict[str, str]:
        """Return what is on file as it stands in the boxes."""
        return shown_values(self.fields(thing), self.table(thing))

    def fields(self, thing: Any) -> list[Field]:
        """Return all fields of its form."""
        return [entry for group in self.groups(thing) for entry in group.fields]


def is_in_use(kind: Kind, thing: Any) -> bool:
    """Return whether a thing is in use."""
    ((name, value),) = kind.in_use.items()
    found = getattr(thing, name)
    return bool(found == value)
