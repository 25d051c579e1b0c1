"""`sparkout calc`: list the catalogue, explain one entry, or answer it."""

from __future__ import annotations

from sparkout.catalogue.as_data import answered_data, entry_data
from sparkout.catalogue.entry import Answered, Entry, InputProblem, InputProblems, Quantity
from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.cli.world import DONE, USAGE, World

HELP = """usage: sparkout calc                          list what can be calculated
       sparkout calc NAME                     explain one
       sparkout calc NAME key=value ...       answer it (--json for a program)

A value may carry any unit of its kind: travel_speed="2.8 mph", gap="2 thou", reading=125,4"""


def run(arguments: list[str], world: World) -> int:
    """List, explain or answer."""
    if "-h" in arguments or "--help" in arguments:
        world.say(HELP)
        return DONE
    as_json = "--json" in arguments
    words = [word for word in arguments if word != "--json"]
    if not words:
        world.say(_json([entry_data(entry) for entry in CATALOGUE.values()]) if as_json else _listing())
        return DONE
    name, *pairs = words
    strange = [pair for pair in pairs if "=" not in pair or pair.startswith("-")]
    if strange:
        world.complain(f"not understood: {' '.join(strange)}; inputs are written key=value")
        world.complain(HELP)
        return USAGE
    inputs: dict[str, object] = {}
    for pair in pairs:
        key, value = pair.split("=", 1)
        if key in inputs:
            raise InputProblems(name, [InputProblem(key, f"{key} is given twice", value)])
        inputs[key] = value
    if not inputs and name in CATALOGUE:
        world.say(_json(entry_data(CATALOGUE[name])) if as_json else _explanation(CATALOGUE[name]))
        return DONE
    answered = calculate(name, inputs)
    world.say(_json(answered_data(answered)) if as_json else _text(CATALOGUE[name], answered))
    return DONE


def _listing() -> str:
    width = max(map(len, CATALOGUE))
    lines = [f"{entry.name:<{width}}  {entry.title}" for entry in CATALOGUE.values()]
    return "\n".join([*lines, "", "sparkout calc NAME explains one."])


def _explanation(entry: Entry) -> str:
    lines = [entry.title, "", f"  {entry.equation}", "", "inputs (unit of a bare number):"]
    for item in entry.inputs:
        unit = item.unit or {"choice": " | ".join(item.choices), "list": "1, 2, 3 ...", "same": "any one unit"}.get(
            item.kind, ""
        )
        default = (
            f" [default {item.default:g}]" if item.default is not None else " [may be absent]" if item.optional else ""
        )
        lines.append(f"  {item.key:<28} {unit:<14} {item.meaning}{default}")
    lines += ["results:", *(f"  {item.key:<28} {item.unit:<14} {item.meaning}" for item in entry.results)]
    lines += [f"source:   {entry.source}", f"validity: {entry.validity}"]
    lines += [f"example:  sparkout calc {entry.name} {entry.example}"]
    return "\n".join([*lines, f"caution:  {entry.caution}"] if entry.caution else lines)


def _number(quantity: Quantity) -> str:
    value = quantity.value
    if isinstance(value, list):
        return ", ".join(f"{number:g}" for number in value)
    text = f"{value:.6g}" if isinstance(value, float) else str(value)
    return f"{text} {quantity.unit}".rstrip()


def _text(entry: Entry, answered: Answered) -> str:
    lines = [entry.title]
    lines += [f"  {key} = {_number(quantity)}" for key, quantity in answered.inputs.items()]
    lines += ["", *(f"{key} = {_number(quantity)}" for key, quantity in answered.results.items())]
    lines += ["", f"by {entry.equation}", f"source: {entry.source}"]
    return "\n".join([*lines, f"caution: {entry.caution}"] if entry.caution else lines)


def _json(data: object) -> str:
    import json

    return json.dumps(data, ensure_ascii=False)
