"""What a column of a table can be: the fields of each kind of record, declared as the visit file declares them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sparkout.units import KINDS
from sparkout.visit.asked import Depends, Quantity
from sparkout.visit.fields import declared
from sparkout.visit.words import Clock, Day, Where, Whole, Word

if TYPE_CHECKING:
    from pydantic import BaseModel

    from sparkout.visit.asked import Asked


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind of record: `words` head its column when it goes out, synonyms find it coming in."""

    key: str
    words: str
    asked: Asked
    synonyms: tuple[str, ...] = ()
    needed: bool = False
    names: str = ""
    """The kind of record whose name stands here."""
    spreads: bool = False
    """Several columns may hold it, each saying in its heading what it is of (a place, a blade, a day)."""

    @property
    def unit_kind(self) -> str:
        """The kind of quantity (units.KINDS); empty when it is none."""
        if isinstance(self.asked, Quantity):
            return self.asked.kind
        return "length" if isinstance(self.asked, Depends | Where) else ""

    @property
    def unit(self) -> str:
        """The unit in which a bare number counts; empty when there is none, or the row itself decides."""
        if isinstance(self.asked, Quantity):
            return self.asked.unit
        return "mm" if isinstance(self.asked, Where) else ""

    @property
    def units(self) -> tuple[str, ...]:
        """The units a column of it may be in."""
        if isinstance(self.asked, Depends):
            return tuple(u for kind in ("length", "angle", "force") for u in KINDS[kind].units)
        return tuple(u for u in KINDS[self.unit_kind].units if u) if self.unit_kind else ()

    @property
    def is_day(self) -> bool:
        """Whether it is a date."""
        return isinstance(self.asked, Day)

    @property
    def is_clock(self) -> bool:
        """Whether it is a time of day."""
        return isinstance(self.asked, Clock)

    @property
    def is_number(self) -> bool:
        """Whether it is a quantity or a whole number."""
        return isinstance(self.asked, Quantity | Depends | Whole)

    @property
    def choices(self) -> tuple[Any, ...]:
        """The words it may be, when it is one of a few."""
        return self.asked.choices if isinstance(self.asked, Word) else ()


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of record a row can become. Earlier kinds of the listing may be named by later ones."""

    name: str
    words: str
    """What one row is, for people."""
    sheet: str
    """What its sheet is called when it goes out."""
    synonyms: tuple[str, ...]
    fields: tuple[Field, ...]
    by_key: dict[str, Field] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_key", {entry.key: entry for entry in self.fields})

    @property
    def needed(self) -> tuple[Field, ...]:
        """The fields no row can do without."""
        return tuple(entry for entry in self.fields if entry.needed)


def of_section(model: type[BaseModel], key: str, words: str, *synonyms: str, under: str = "", **more: Any) -> Field:
    """Return a field that a section of the visit file declares; `under` is the table it is kept in."""
    asked = declared(model, key)
    assert asked is not None
    return Field(f"{under}.{key}" if under else key, words, asked, synonyms, **more)
