"""The form of a catalogue entry, and how an answer is had from one."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple  # not a dataclass: importing those would double the start-up of a quick sum

from sparkout.core.errors import OutOfRange, Refusal, did_you_mean
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.units import KINDS, UnitProblem, from_core, parse, split, to_core

Value = float | str | list[float] | None


class Input(NamedTuple):
    """One input: key, kind of quantity, unit of a bare number, allowed range in that unit, meaning.

    Kind "choice" takes one of `choices`; "list" takes several plain numbers; "same" is a quantity of any
    one kind, shared by all "same" inputs of the entry (a reading, its uncertainty and its limits).
    """

    key: str
    kind: str
    unit: str
    meaning: str
    low: float = -math.inf
    high: float = math.inf
    above: bool = False
    optional: bool = False
    default: float | None = None
    choices: tuple[str, ...] = ()


class Result(NamedTuple):
    """One result: key, kind of quantity, unit, meaning.

    Kind "list" is several plain numbers, in the unit told;
    kind "words" says it in words.
    """

    key: str
    kind: str
    unit: str
    meaning: str


class Entry(NamedTuple):
    """One calculation: what goes in, what comes out, by which equation, from where, and how far to trust it.

    `example` is the inputs of one worked example, as typed at the command line.
    """

    name: str
    title: str
    inputs: tuple[Input, ...]
    results: tuple[Result, ...]
    equation: str
    source: str
    validity: str
    example: str
    caution: str
    calculate: Callable[..., Mapping[str, Any]]


class Quantity(NamedTuple):
    """A number with the unit it is told in."""

    value: Value
    unit: str


class Answered(NamedTuple):
    """The inputs as understood and the results, each with its unit."""

    name: str
    inputs: dict[str, Quantity]
    results: dict[str, Quantity]


class InputProblem(NamedTuple):
    """One thing wrong with one input: `text` tells a person all of it, the rest is for a program."""

    argument: str
    text: str
    value: object = None
    allowed: str = ""
    unit: str = ""

    def __str__(self) -> str:
        return self.text


class InputProblems(Refusal):
    """Everything wrong with the inputs of one calculation, all at once."""

    def __init__(self, name: str, problems: Sequence[InputProblem]) -> None:
        self.name = name
        self.problems = tuple(problems)
        lines = (phrase("{name}: {problem}", name=AsTyped(name), problem=each.text) for each in problems)
        super().__init__(joined("\n", lines))


def calculation(
    name: str,
    title: str,
    *,
    inputs: tuple[Input, ...],
    results: tuple[Result, ...],
    equation: str,
    source: str,
    validity: str,
    example: str,
    caution: str = "",
) -> Callable[[Callable[..., Mapping[str, Any]]], Entry]:
    """Make a catalogue entry of a function from core-unit inputs to core-unit results."""

    def wrap(calculate: Callable[..., Mapping[str, Any]]) -> Entry:
        return Entry(name, title, inputs, results, equation, source, validity, example, caution, calculate)

    return wrap


def range_text(entry: Input) -> str:
    """Return the allowed range of an input in words, in the unit of a bare number."""
    if math.isinf(entry.low) and math.isinf(entry.high):
        return phrase("any finite number")
    if math.isinf(entry.high):
        return phrase("above {low:g}" if entry.above else "at least {low:g}", low=entry.low)
    if math.isinf(entry.low):
        return phrase("at most {high:g}", high=entry.high)
    return phrase("above {low:g} to {high:g}" if entry.above else "{low:g} to {high:g}", low=entry.low, high=entry.high)


def _check(entry: Input, number: float, unit: str) -> None:
    low, high = entry.low * (1 - 1e-12), entry.high * (1 + 1e-12)
    if not math.isfinite(number) or number < low or number > high or (entry.above and number <= entry.low):
        raise OutOfRange(entry.key, number, range_text(entry), unit)


def _listed(entry: Input, given: object) -> list[float]:
    """Return a list of numbers; text is split at semicolons, commas or spaces."""
    if isinstance(given, str):
        mark = ";" if ";" in given else "," if "," in given else None
        parts: Sequence[object] = [part for part in given.strip().strip("[]").split(mark) if part.strip()]
    elif isinstance(given, Sequence):
        parts = given
    else:
        parts = [given]
    if not parts:
        raise UnitProblem(phrase("an empty list; wanted numbers like 1, 2, 3"))
    numbers = [parse(part, "number") for part in parts]  # type: ignore[arg-type]
    for i, number in enumerate(numbers):
        if number < entry.low or (entry.above and number == entry.low):
            raise OutOfRange(f"{entry.key}[{i}]", number, range_text(entry))
    return numbers


def _understood(entry: Input, given: object) -> tuple[object, Quantity]:
    """Return (value in core units, quantity as it will be echoed) for one input."""
    if entry.kind == "choice":
        if given not in entry.choices:
            raise OutOfRange(entry.key, given, " or ".join(entry.choices))
        return given, Quantity(str(given), "")
    if entry.kind == "list":
        numbers = _listed(entry, given)
        return numbers, Quantity(numbers, "")
    value = parse(given, entry.kind, entry.unit)  # type: ignore[arg-type]
    # A bare number is echoed as given, not as it comes back from core units.
    bare = split(given) if isinstance(given, str) else (float(given), "")  # type: ignore[arg-type]
    number = from_core(value, entry.kind, entry.unit) if bare[1] else bare[0]
    _check(entry, number, entry.unit)
    if entry.kind == "count":
        if number != round(number):
            raise OutOfRange(entry.key, number, phrase("a whole number, {allowed}", allowed=range_text(entry)))
        return round(number), Quantity(round(number), "")
    return value, Quantity(number, entry.unit)


def _in_one_unit(entries: Sequence[Input], given: Mapping[str, object]) -> tuple[dict[str, float], str]:
    """Return the "same" inputs as numbers of one unit: that of the first which carries one."""
    typed = {e.key: split(v) if isinstance(v := given[e.key], str) else (parse(v, "number"), "") for e in entries}  # type: ignore[arg-type]
    units = [unit for _, unit in typed.values() if unit]
    if not units:
        return {key: number for key, (number, _) in typed.items()}, ""
    unit = units[0]
    if all(other == unit for other in units):
        return {key: number for key, (number, _) in typed.items()}, unit
    kind = next((k for k, entry in KINDS.items() if k != "temperature" and _has(k, units)), None)
    if kind is None:
        raise UnitProblem(
            phrase(
                "units {units} do not go together; give all of one kind", units=AsTyped(", ".join(sorted(set(units))))
            )
        )
    return {
        key: from_core(to_core(number, kind, own or unit), kind, unit) for key, (number, own) in typed.items()
    }, unit


def _has(kind: str, units: Sequence[str]) -> bool:
    try:
        return all(math.isfinite(to_core(1.0, kind, unit)) for unit in units)
    except UnitProblem:
        return False


def _gather(
    entry: Entry, given: Mapping[str, object], problems: list[InputProblem]
) -> tuple[dict[str, object], dict[str, Quantity], str]:
    values: dict[str, object] = {}
    echoed: dict[str, Quantity] = {}
    same = [i for i in entry.inputs if i.kind == "same" and given.get(i.key) is not None]
    unit = ""
    try:
        numbers, unit = _in_one_unit(same, given)
        for item in same:
            _check(item, numbers[item.key], unit)
            values[item.key], echoed[item.key] = numbers[item.key], Quantity(numbers[item.key], unit)
    except Refusal as refusal:
        problems.append(_problem(" and ".join(item.key for item in same), refusal))
    for item in entry.inputs:
        if item.kind == "same" or given.get(item.key) is None:
            continue
        try:
            values[item.key], echoed[item.key] = _understood(item, given[item.key])
        except UnitProblem as problem:
            allowed = "" if item.kind == "choice" else range_text(item)
            problems.append(
                InputProblem(
                    item.key,
                    phrase("{key}: {problem}", key=AsTyped(item.key), problem=problem),
                    given[item.key],
                    allowed,
                    item.unit,
                )
            )
        except Refusal as refusal:
            problems.append(_problem(item.key, refusal))
    return values, echoed, unit


def _problem(argument: str, refusal: Refusal) -> InputProblem:
    if isinstance(refusal, OutOfRange):
        return InputProblem(refusal.argument, refusal.words, refusal.value, refusal.allowed, refusal.unit)
    return InputProblem(argument, refusal.words)


def answer(entry: Entry, given: Mapping[str, object]) -> Answered:
    """Answer one calculation from inputs as typed (text with units, or numbers in the entry's own units).

    Raises
    ------
    InputProblems
        Naming every unknown, missing, unreadable or out-of-range input at once.
    Refusal
        When the calculation itself refuses.
    """
    keys = [item.key for item in entry.inputs]
    problems = [
        InputProblem(
            key,
            phrase("{key} is not an input; {hint}", key=AsTyped(key), hint=did_you_mean(key, keys)),
            given[key],
            ", ".join(keys),
        )
        for key in given
        if key not in keys
    ]
    for item in entry.inputs:
        if given.get(item.key) is None and not item.optional and item.default is None:
            spaced = f" ({item.unit})" if item.unit else ""
            allowed = " or ".join(item.choices) or range_text(item)
            told = phrase(
                "{input} is missing: {meaning}; allowed: {allowed}",
                input=AsTyped(item.key + spaced),
                meaning=item.meaning,
                allowed=allowed,
            )
            problems.append(InputProblem(item.key, told, None, allowed, item.unit))
    filled = {item.key: item.default for item in entry.inputs if item.default is not None} | {
        key: value for key, value in given.items() if value is not None
    }
    values, echoed, unit = _gather(entry, filled, problems)
    if problems:
        raise InputProblems(entry.name, problems)
    results = entry.calculate(**values)
    return Answered(
        entry.name,
        {key: echoed[key] for key in keys if key in echoed},
        {
            r.key: Quantity(results[r.key], unit)
            if r.kind == "same"
            else Quantity(results[r.key], r.unit)
            if r.kind in ("list", "words")
            else Quantity(from_core(results[r.key], r.kind, r.unit), r.unit)
            for r in entry.results
        },
    )
