"""Questions asked with every entry, worded once: wording one takes Django longer than having it answered."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from django.db import connection
from django.db.models import Model, UUIDField

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.db.models import QuerySet

M = TypeVar("M", bound=Model)


class Worded(Generic[M]):
    """What is asked of a model by the values of some of its own fields, and by nothing else that could differ.

    `ask` makes the question of Django, given each field's value by name.
    """

    def __init__(self, model: type[M], ask: Callable[..., QuerySet[M]], *names: str) -> None:
        self._model, self._ask = model, ask
        self._fields: dict[str, Any] = {name: model._meta.get_field(name) for name in names}
        self._said: dict[str, tuple[str, list[str]]] = {}

    def first(self, **values: Any) -> M | None:
        """Return the first row that answers, None when there is none."""
        if connection.vendor not in self._said:
            self._said[connection.vendor] = self._word()
        sql, order = self._said[connection.vendor]
        asked = [self._fields[name].get_db_prep_value(values[name], connection) for name in order]
        return next(iter(self._model._base_manager.raw(sql, asked)), None)

    def one(self, **values: Any) -> M:
        """Return the row that answers.

        Raises
        ------
        ObjectDoesNotExist
            When there is none.
        """
        found = self.first(**values)
        if found is None:
            raise self._model.DoesNotExist  # type: ignore[attr-defined]  # every model has one
        return found

    def _word(self) -> tuple[str, list[str]]:
        """Return the question as Django words it here, and whose value stands where in it."""
        marks = {
            name: uuid.uuid4() if isinstance(field, UUIDField) else 10_000 + number
            for number, (name, field) in enumerate(self._fields.items())
        }
        sql, asked = self._ask(**marks).query.sql_with_params()
        names = {self._fields[name].get_db_prep_value(mark, connection): name for name, mark in marks.items()}
        return sql, [names[value] for value in asked]
