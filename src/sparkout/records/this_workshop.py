"""The workshop itself and whoever works in it, which nearly everything that is told begins with."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any, TypeVar

from django.db import connection
from django.db.models import Model

from sparkout.records.models import Person, Workshop
from sparkout.records.stamp import stamp_but_readings

if TYPE_CHECKING:
    from collections.abc import Callable

M = TypeVar("M", bound=Model)
_kept: dict[Any, tuple[str, Model | None]] = {}
_MOST = 200


def this_workshop() -> Workshop | None:
    """Return the workshop, asked for once for as long as nothing but readings is written; not to be changed."""
    return _asked_once("workshop", Workshop.objects.first)


def active_person(pk: int) -> Person | None:
    """Return a person who works here, asked for as seldom."""
    return copy.copy(_asked_once(pk, lambda: Person.objects.filter(pk=pk, active=True).first()))


def _asked_once(key: Any, ask: Callable[[], M | None]) -> M | None:
    """Return what was answered under a key, or ask.

    Where asking whether anything was written is a query too, it is asked for itself.
    """
    if connection.vendor == "postgresql":
        return ask()
    now = stamp_but_readings()
    at, found = _kept.get(key, ("", None))
    if at != now:
        found = ask()
        if len(_kept) > _MOST:
            _kept.clear()
        _kept[key] = (now, found)
    return found  # type: ignore[return-value]  # of the model its key stands for
