"""Entries and answers as plain data for a program: the same at every door."""

from __future__ import annotations

from typing import Any

from sparkout.catalogue.entry import Answered, Entry


def answered_data(answered: Answered) -> dict[str, Any]:
    """Return the inputs as understood and the results, each number with its unit, nothing rounded.

    Examples
    --------
    >>> from sparkout.catalogue.listing import calculate
    >>> answered_data(calculate("cone-from-rest-gap", {"gap": "2 mm"}))["results"]
    {'cone_on_diameter': {'value': 4.0, 'unit': 'mm'}}
    """
    return {
        "name": answered.name,
        "inputs": {key: {"value": q.value, "unit": q.unit} for key, q in answered.inputs.items()},
        "results": {key: {"value": q.value, "unit": q.unit} for key, q in answered.results.items()},
    }


def entry_data(entry: Entry) -> dict[str, Any]:
    """Return what a calculation takes and gives, its equation, source and validity."""
    return {
        "name": entry.name,
        "title": entry.title,
        "inputs": {item.key: {"unit": item.unit, "kind": item.kind, "meaning": item.meaning} for item in entry.inputs},
        "results": {item.key: {"unit": item.unit, "meaning": item.meaning} for item in entry.results},
        "equation": entry.equation,
        "source": entry.source,
        "validity": entry.validity,
        "example": entry.example,
        "caution": entry.caution,
    }
