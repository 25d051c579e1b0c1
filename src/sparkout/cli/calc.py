"""`sparkout calc`: list the catalogue, explain one entry, or answer it."""

from __future__ import annotations

from sparkout.catalogue.as_data import answered_data, entry_data
from sparkout.catalogue.entry import Answered, Entry, InputProblem, InputProblems, Quantity
from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.cli.world import DONE, USAGE, World
from sparkout.core.phrase import AsTyped, Phrase, phrase

HELP = phrase("""usage: sparkout calc                          list what can be calculated
       sparkout calc NAME                     explain one
       sparkout calc NAME key=value ...       answer it (--json for a program)

A value may carry any unit of its kind: travel_speed="2.8 mph", gap="2 thou", reading=125,4""")


def run(arguments: list[str], world: World) -> int:
    """List, explain or answer."""
    if "-h" in arguments or "--help" in arguments:
        world.say(HELP)
        return DONE
    as_json = "--json" in arguments
    words = [word for word in arguments if word != "--json"]
    if not words:
        world.say(_json([entry_data(entry) for entry in CATALOGUE.values()]) if as_json else _listing(world))
        return DONE
    name, *pairs = words
    strange = [pair for pair in pairs if "=" not in pair or pair.startswith("-")]
    if strange:
        world.complain(
            phrase("not understood: {words}; inputs are written key=value", words=AsTyped(" ".join(strange)))
        )
        world.complain(HELP)
        return USAGE
    inputs: dict[str, object] = {}
    for pair in pairs:
        key, value = pair.split("=", 1)
        if key in inputs:
            raise InputProblems(name, [InputProblem(key, phrase("{key} is given twice", key=AsTyped(key)), value)])
        inputs[key] = value
    if not inputs and name in CATALOGUE:
        world.say(_json(entry_data(CATALOGUE[name])) if as_json else _explanation(CATALOGUE[name], world))
        return DONE
    answered = calculate(name, inputs)
    world.say(_json(answered_data(answered)) if as_json else _text(CATALOGUE[name], answered, world))
    return DONE


def _listing(world: World) -> str:
    width = max(map(len, CATALOGUE))
    lines = [f"{entry.name:<{width}}  {world.told(Phrase(entry.title))}" for entry in CATALOGUE.values()]
    return "\n".join([*lines, "", world.told(phrase("sparkout calc NAME explains one."))])


def _explanation(entry: Entry, world: World) -> str:
    told = world.told
    lines = [told(Phrase(entry.title)), "", f"  {entry.equation}", "", told(phrase("inputs (unit of a bare number):"))]
    units = {"list": "1, 2, 3 ...", "same": told(phrase("any one unit"))}
    for item in entry.inputs:
        unit = item.unit or (" | ".join(item.choices) if item.kind == "choice" else units.get(item.kind, ""))
        default = ""
        if item.default is not None:
            default = told(phrase(" [default {default:g}]", default=item.default))
        elif item.optional:
            default = told(phrase(" [may be absent]"))
        lines.append(f"  {item.key:<28} {unit:<14} {told(Phrase(item.meaning))}{default}")
    lines.append(told(phrase("results:")))
    lines += [f"  {item.key:<28} {item.unit:<14} {told(Phrase(item.meaning))}" for item in entry.results]
    lines.append(told(phrase("source:   {source}", source=AsTyped(entry.source))))
    lines.append(told(phrase("validity: {validity}", validity=Phrase(entry.validity))))
    lines.append(told(phrase("example:  {example}", example=AsTyped(f"sparkout calc {entry.name} {entry.example}"))))
    if entry.caution:
        lines.append(told(phrase("caution:  {caution}", caution=Phrase(entry.caution))))
    return "\n".join(lines)


def _number(quantity: Quantity) -> str:
    value = quantity.value
    if isinstance(value, list):
        return ", ".join(f"{number:g}" for number in value)
    text = f"{value:.6g}" if isinstance(value, float) else str(value)
    return f"{text} {quantity.unit}".rstrip()


def _text(entry: Entry, answered: Answered, world: World) -> str:
    lines = [world.told(Phrase(entry.title))]
    lines += [f"  {key} = {_number(quantity)}" for key, quantity in answered.inputs.items()]
    lines += ["", *(f"{key} = {_number(quantity)}" for key, quantity in answered.results.items()), ""]
    lines.append(world.told(phrase("by {equation}", equation=AsTyped(entry.equation))))
    lines.append(world.told(phrase("source: {source}", source=AsTyped(entry.source))))
    if entry.caution:
        lines.append(world.told(phrase("caution: {caution}", caution=Phrase(entry.caution))))
    return "\n".join(lines)


def _json(data: object) -> str:
    import json

    return json.dumps(data, ensure_ascii=False)
