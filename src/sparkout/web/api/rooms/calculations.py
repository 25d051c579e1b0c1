"""The catalogue: what can be calculated, and its answers."""

from __future__ import annotations

from typing import Any

from sparkout.catalogue.as_data import answered_data, entry_data
from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.core.errors import did_you_mean
from sparkout.core.phrase import AsTyped, phrase
from sparkout.web.api.body import sent_in
from sparkout.web.api.errors import NoSuch
from sparkout.web.api.route import Ask, Route

_EXAMPLE = {
    "name": "cone-from-rest-gap",
    "inputs": {"gap": {"value": 2.0, "unit": "mm"}},
    "results": {"cone_on_diameter": {"value": 4.0, "unit": "mm"}},
}


def _entry(ask: Ask) -> dict[str, Any]:
    if ask.name not in CATALOGUE:
        raise NoSuch(
            "calculation",
            phrase("named {name}; {nearest}", name=AsTyped(repr(ask.name)), nearest=did_you_mean(ask.name, CATALOGUE)),
        )
    return entry_data(CATALOGUE[ask.name])


def _calculate(ask: Ask) -> dict[str, Any]:
    _entry(ask)
    return answered_data(calculate(ask.name, sent_in(ask.request)))


ROUTES = (
    Route(
        "GET", "calculations", "calculations", "calculations",
        lambda _: {"items": [entry_data(entry) for entry in CATALOGUE.values()], "next": None},
        words="What can be calculated: inputs, results, equation, source and validity of each.",
        example={"items": [entry_data(CATALOGUE["cone-from-rest-gap"])], "next": None},
    ),
    Route(
        "GET", "calculations/{name}", "calculation", "calculations", _entry,
        words="One calculation.", example=entry_data(CATALOGUE["cone-from-rest-gap"]),
    ),
    Route(
        "POST", "calculations/{name}", "calculate", "calculations", _calculate,
        sent={"schema": {"type": "object", "description": "the inputs by name"}, "example": {"gap": "2 mm"}},
        words="The answer of one calculation. An input is a number in its unit, or text with any unit of its kind.",
        example=_EXAMPLE,
    ),
)  # fmt: skip
