"""How a field of the visit file is declared: what it takes, within what range, and what it means.

One declaration serves reading, refusing, the JSON Schema, the field reference and the starting file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from types import NoneType
from typing import Any, get_args

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.units import KINDS, UnitProblem, from_core, is_bare, parse, split, to_core
from sparkout.visit.entered import Entered, Place, Typed, perhaps_meant
from sparkout.visit.problems import shown
from sparkout.visit.quantities import QUANTITIES, gauge_shows

_LONGEST_QUANTITY = 60


def wrong(text: str, *, value: object = None, allowed: str = "", unit: str = "", suggestion: str = "") -> Exception:
    """Return the error a declaration raises; reading.py turns it into a Problem."""
    context = {"text": text, "value": shown(value), "allowed": allowed, "unit": unit, "suggestion": suggestion}
    return PydanticCustomError("sparkout", "{text}", context)


@dataclass(frozen=True, slots=True)
class Asked:
    """A field's meaning and one example; subclasses say what it takes."""

    meaning: str
    example: Any = ""

    def read(self, given: Any) -> Any:
        """Return the value entered, or raise what is wrong with it."""
        raise NotImplementedError

    @property
    def kind_words(self) -> str:
        """What the field takes, for the field reference."""
        raise NotImplementedError

    @property
    def allowed(self) -> str:
        """The allowed range in words, with its unit."""
        return ""

    def as_json_schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the field."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        schema: CoreSchema = core_schema.no_info_plain_validator_function(self.read, serialization=as_typed)
        return core_schema.nullable_schema(schema) if NoneType in get_args(source) else schema

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {**self.as_json_schema(), "description": self.meaning}


@dataclass(frozen=True, slots=True)
class Many:
    """What a list means as a whole, beside the declaration of its items."""

    meaning: str
    example: Any = ""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {**handler(schema), "description": self.meaning}


as_typed = core_schema.plain_serializer_function_ser_schema(
    lambda value: value.typed if isinstance(value, Entered | Place) else value
)


def quantity(given: Any, kind: str, low: float, high: float, unit: str) -> Entered:
    """Return a quantity entered, when of the kind and in [low, high] (in `unit`)."""
    if isinstance(given, str | int | float) and not isinstance(given, bool):
        if not isinstance(given, str) or len(given) <= _LONGEST_QUANTITY:
            return _parsed(given, kind, low, high, unit)
        text = phrase("{given} is too long for {kind}", given=shown(given), kind=KINDS[kind].words)
    else:
        text = phrase("{given} is not {kind}", given=shown(given), kind=KINDS[kind].words)
    raise wrong(text, value=given, allowed=phrase("{low:g} to {high:g}", low=low, high=high), unit=unit)


@lru_cache(8192, typed=True)
def _parsed(given: Typed, kind: str, low: float, high: float, unit: str) -> Entered:
    """Remembered: a whole visit is read again after each entry."""
    allowed = phrase("{low:g} to {high:g}", low=low, high=high)
    try:
        value = parse(given, kind, unit)
    except UnitProblem as problem:
        raise wrong(problem.words, value=given, allowed=allowed, unit=unit) from None
    except OverflowError:
        raise wrong(
            phrase("{given} is no finite number", given=shown(given)), value=given, allowed=allowed, unit=unit
        ) from None
    lowest, highest = to_core(low, kind, unit), to_core(high, kind, unit)
    slack = 1e-9 * max(abs(lowest), abs(highest))
    if not lowest - slack <= value <= highest + slack:
        raise _out_of_range(given, value, kind, (lowest, highest), allowed, unit)
    return Entered(value, given)


def _out_of_range(
    given: Typed, value: float, kind: str, core: tuple[float, float], allowed: str, unit: str
) -> Exception:
    number, typed_unit = split(given) if isinstance(given, str) else (float(given), "")
    counted = (
        phrase("{given} counted in {unit}", given=shown(given), unit=unit) if unit and not typed_unit else shown(given)
    )
    if typed_unit and typed_unit != unit:
        told = f"{from_core(value, kind, unit):g} {unit}".rstrip()
        counted = phrase("{given}, which is {quantity},", given=shown(given), quantity=AsTyped(told))
    return wrong(
        phrase("{given} is too small" if value < core[0] else "{given} is too large", given=counted),
        value=given,
        allowed=allowed,
        unit=unit,
        suggestion=perhaps_meant(number, kind, *core),
    )


@dataclass(frozen=True, slots=True)
class Quantity(Asked):
    """A quantity with a unit; `low` and `high` in `unit`, in which a bare number counts."""

    kind: str = "length"
    low: float = 0.0
    high: float = math.inf
    unit: str = "mm"

    def read(self, given: Any) -> Entered:
        """Return the quantity entered."""
        return quantity(given, self.kind, self.low, self.high, self.unit)

    @property
    def kind_words(self) -> str:
        """The kind of quantity."""
        return KINDS[self.kind].words

    @property
    def allowed(self) -> str:
        """The range with its unit."""
        allowed = phrase("{low:g} to {high:g}", low=self.low, high=self.high)
        return joined(" ", (allowed, AsTyped(self.unit))) if self.unit else allowed

    def as_json_schema(self) -> dict[str, Any]:
        """A number (counted in the unit, so its range can be checked) or a text with a unit."""
        return {
            "anyOf": [{"type": "number", "minimum": self.low, "maximum": self.high}, {"type": "string"}],
            "x-kind": self.kind,
            "x-unit": self.unit,
            "x-range": [self.low, self.high],
        }


def a_length(low: float, high: float, meaning: str, example: Typed, unit: str = "mm") -> Quantity:
    """Declare a length."""
    return Quantity(meaning, example, "length", low, high, unit)


def an_angle(low: float, high: float, meaning: str, example: Typed) -> Quantity:
    """Declare an angle, in degrees."""
    return Quantity(meaning, example, "angle", low, high, "deg")


def a_number(low: float, high: float, meaning: str, example: Typed) -> Quantity:
    """Declare a plain number."""
    return Quantity(meaning, example, "number", low, high, "")


def a_share(low: float, high: float, meaning: str, example: Typed) -> Quantity:
    """Declare a share: 0.05 or '5 %'."""
    return Quantity(meaning, example, "fraction", low, high, "")


@dataclass(frozen=True, slots=True)
class Depends(Asked):
    """A quantity whose kind and range follow from another field of the same table, named by `on`.

    `on` is 'of' (readings), 'quantity' (limits) or 'kind' (gauges).
    """

    on: str = "of"

    def shape(self, data: dict[str, Any]) -> tuple[str, float, float, str] | None:
        """Return kind, low, high, unit; None when the deciding field is itself wrong."""
        name = data.get(self.on)
        if name is None:
            return None
        if self.on == "kind":
            kind, unit, most = gauge_shows(name)
            return kind, 0.0, most, unit
        entry = QUANTITIES[name]
        return entry.kind, max(entry.low, 0.0) if self.on == "quantity" else entry.low, entry.high, entry.unit

    def read_with(self, given: Any, info: core_schema.ValidationInfo) -> Any:
        """Return the quantity entered."""
        shape = self.shape(info.data)
        if shape is None:
            return Entered(0.0)  # the deciding field's own error is reported; this value is never seen
        return quantity(given, *shape)

    @property
    def kind_words(self) -> str:
        """What decides the kind."""
        return phrase("a quantity, by {on}", on=self.on)

    @property
    def allowed(self) -> str:
        """Where the range stands."""
        return phrase("see the table of gauges") if self.on == "kind" else phrase("see the table of quantities")

    def as_json_schema(self) -> dict[str, Any]:
        """A number or a text with a unit."""
        return {"type": ["number", "string"], "x-kind-by": self.on}

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        schema: CoreSchema = core_schema.with_info_plain_validator_function(self.read_with, serialization=as_typed)
        return core_schema.nullable_schema(schema) if NoneType in get_args(source) else schema


@dataclass(frozen=True, slots=True)
class UnitFor(Asked):
    """The unit in which bare numbers of a sweep count."""

    def read_with(self, given: Any, info: core_schema.ValidationInfo) -> str:
        """Return the unit entered, when it belongs to the quantity swept."""
        entry = QUANTITIES.get(info.data.get("of", ""))
        if not isinstance(given, str) or len(given) > _LONGEST_QUANTITY:
            raise wrong(phrase("{given} is not a unit", given=shown(given)), value=given)
        if entry is not None:
            quantity_of_one = f"1 {given}" if given[:1].isalpha() or given[:1] in "°µμ\"'" else "?"
            try:
                parse(quantity_of_one, entry.kind, entry.unit)
            except UnitProblem:
                units = ", ".join(unit for unit in KINDS[entry.kind].units if unit)
                raise wrong(
                    phrase("{given} is not a unit of {kind}", given=shown(given), kind=KINDS[entry.kind].words),
                    value=given,
                    allowed=units,
                ) from None
        return given

    @property
    def kind_words(self) -> str:
        """A unit."""
        return "a unit"

    @property
    def allowed(self) -> str:
        """Which units."""
        return phrase("a unit of the quantity swept")

    def as_json_schema(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string"}

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.nullable_schema(core_schema.with_info_plain_validator_function(self.read_with))


@dataclass(frozen=True, slots=True)
class Cell(Depends):
    """One value of a sweep; '-' where none was taken."""

    def read_with(self, given: Any, info: core_schema.ValidationInfo) -> Any:
        """Return the quantity entered, a bare number in the sweep's unit, or None for '-'."""
        if given == "-":
            return None
        if "unit" not in info.data:
            return Entered(0.0)  # the unit is wrong and reported; this value is never seen
        unit = info.data["unit"]
        bare = isinstance(given, int | float) or (isinstance(given, str) and is_bare(given))
        counted = f"{given} {unit}" if unit and bare and not isinstance(given, bool) else given
        return Entered(Depends.read_with(self, counted, info), given)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(
            self.read_with,
            serialization=core_schema.plain_serializer_function_ser_schema(lambda v: "-" if v is None else v.typed),
        )
