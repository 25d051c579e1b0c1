"""The fields of the visit file as declared: what the starting file, the field reference and messages are made from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import BaseModel

from sparkout.visit.asked import Asked, Many
from sparkout.visit.problems import Path
from sparkout.visit.schema import Visit


@dataclass(frozen=True, slots=True)
class Described:
    """One field: its key, whether it is needed, and what its declaration says."""

    key: str
    needed: bool
    asked: Asked
    many: Many | None

    @property
    def meaning(self) -> str:
        """What it means."""
        return (self.many or self.asked).meaning

    @property
    def example(self) -> Any:
        """One value it could take; empty when none is shown."""
        return (self.many or self.asked).example

    @property
    def takes(self) -> str:
        """The kind of value."""
        return f"a list: {self.asked.kind_words} each" if self.many else self.asked.kind_words


def model_at(path: Path, root: type[BaseModel] = Visit) -> type[BaseModel] | None:
    """Return the section class whose table stands at this path of a file, of a visit unless said.

    Examples
    --------
    >>> model_at(("readings", 3)).__name__
    'Reading'
    """
    model = root
    for step in path:
        if isinstance(step, int):
            continue
        field = model.model_fields.get(step)
        inner = None if field is None else _section_in(field.annotation)
        if inner is None:
            return None
        model = inner
    return model


def _section_in(annotation: Any) -> type[BaseModel] | None:
    for candidate in (annotation, *get_args(annotation)):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    return None


def declared(model: type[BaseModel], key: str) -> Asked | None:
    """Return how a field of a section is declared; for lists the declaration of one item."""
    field = model.model_fields[key]
    pending: list[Any] = [*reversed(field.metadata), field.annotation]
    while pending:
        entry = pending.pop(0)
        if isinstance(entry, Asked):
            return entry
        pending += [*getattr(entry, "__metadata__", ()), *get_args(entry)]
    return None


def described(model: type[BaseModel]) -> Iterator[Described]:
    """Yield the fields of a section in the order of the file."""
    for key, field in model.model_fields.items():
        asked = declared(model, key)
        if asked is not None:
            many = next((entry for entry in field.metadata if isinstance(entry, Many)), None)
            yield Described(key, field.is_required(), asked, many)


def sections() -> Iterator[tuple[str, type[BaseModel], bool]]:
    """Yield each table of the file: its name, its class, and whether it may stand there many times."""
    for name, field in Visit.model_fields.items():
        model = _section_in(field.annotation)
        if model is not None:
            yield name, model, field.annotation is not model
