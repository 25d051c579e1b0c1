"""Columns that keep what was typed: a number stays a number, a text a text, an order an order.

Kept as JSON text, not in a database's own JSON type: that one may turn 1e16 into a whole number and re-order keys.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.db import models

if TYPE_CHECKING:
    _Text = models.TextField[Any, Any]
else:
    _Text = models.TextField


class AsTyped(_Text):
    """A quantity, a place, a list or a table of them, exactly as typed ("2 thou", 127, 0.0); None when not given."""

    description = "what was typed"
    # What the type checker is to take and give.
    _pyi_private_set_type: Any
    _pyi_private_get_type: Any

    def from_db_value(self, value: str | None, _expression: object, _connection: object) -> Any:
        """Return what was typed."""
        return None if value is None else json.loads(value)

    def get_prep_value(self, value: Any) -> str | None:
        """Return its text in the database."""
        return None if value is None else json.dumps(value, ensure_ascii=False, allow_nan=False)
