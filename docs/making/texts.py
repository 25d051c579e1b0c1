"""Every text that a person may be told, gathered for the translators: from the code, the pages' templates, the tables.

In the code a text is a literal in `phrase`, `counted` or `joined`, or in what only ever takes texts (a refusal's
arguments, a section's title). In a template it stands in `{% say %}`. Tables are asked themselves, so that what they
hold is what is gathered. Not gathered, because they stay English: sources and origins (a citation is a citation), the
API's document, and what the drawing room says to whoever calls it wrongly.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple, get_args

SOURCE = Path(__file__).resolve().parents[2] / "src" / "sparkout"
_LETTERS = re.compile(r"[^\W\d_]{2}")
_SAID = re.compile(r"""(?:\{%\s*say\s+|\btitle=)(?:"([^"]*)"|'([^']*)')""")
_ENGLISH = ("drawing/", "web/api/described.py")
_MEANING = {"text": 1, "rows": 1, "record": 2, "table": 2}
"""Where in a declaration of the API's the meaning stands, which is told of an entry that is needed and not sent."""
_WHOLE_ARGUMENTS = {"BelowServiceLimit", "Contradiction", "NotEnough", "Refusal", "Section", "Table", "Untold"}
"""Calls whose every literal is a text, however deep it stands in the arguments; a section's key is none."""


class Text(NamedTuple):
    """One text as the code has it: the template, its plural where it has one, and the files it stands in."""

    singular: str
    plural: str
    places: tuple[str, ...]


def texts() -> list[Text]:
    """Return every text, in the order of the files it first stands in."""
    found: dict[tuple[str, str], list[str]] = {}
    for place, singular, plural in (*_in_code(), *_in_templates(), *_in_tables()):
        if _LETTERS.search(singular):
            places = found.setdefault((singular, plural), [])
            if place not in places:
                places.append(place)
    plurals = {singular: plural for singular, plural in found if plural}
    merged: dict[str, list[str]] = {}
    for (singular, _), places in found.items():
        merged.setdefault(singular, []).extend(p for p in places if p not in merged.get(singular, ()))
    return [Text(singular, plurals.get(singular, ""), tuple(places)) for singular, places in merged.items()]


def _in_code() -> Iterator[tuple[str, str, str]]:
    for path in sorted(SOURCE.rglob("*.py")):
        if "migrations" not in path.parts:
            place = path.relative_to(SOURCE).as_posix()
            if place.startswith(_ENGLISH):
                continue
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call):
                    yield from ((place, *text) for text in (*_of_call(node), *_of_door(place, node)))


def _of_call(call: ast.Call) -> Iterator[tuple[str, str]]:
    name = call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")
    arguments = call.args
    if name in ("phrase", "say", "starting_large", "Phrase") and arguments:
        yield from ((text, "") for text in _either(arguments[0]))
    elif name == "counted" and len(arguments) > 2:
        yield from zip(_either(arguments[1]), _either(arguments[2]), strict=True)
    elif name == "joined" and arguments:
        yield from ((text, "") for text in _either(arguments[0]))
    elif name == "OutOfRange":
        told = [*arguments[2:3], *(a for a in arguments[:1] if isinstance(a, ast.Constant) and " " in str(a.value))]
        yield from ((text, "") for argument in told for text in _either(argument))
    elif name in _WHOLE_ARGUMENTS:
        told = arguments[1:] if name == "Section" else arguments
        yield from ((text, "") for argument in told for text in _deep(argument))


def _of_door(place: str, call: ast.Call) -> Iterator[tuple[str, str]]:
    """What a door of its own declares: meanings of needed entries at the API, help at the command line."""
    said: list[ast.expr] = []
    name = call.func.id if isinstance(call.func, ast.Name) else ""
    if place.startswith("web/api/") and name in _MEANING and any(word.arg == "needed" for word in call.keywords):
        said = [call.args[_MEANING[name]]]
    elif place.startswith("cli/"):
        said = [word.value for word in call.keywords if word.arg in ("help", "description")]
    yield from ((text, "") for one in said for text in _either(one))


def _either(node: ast.expr) -> Iterator[str]:
    """The literals an argument can be: itself, or either branch of a condition."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _either(node.body)
        yield from _either(node.orelse)


def _deep(node: ast.expr) -> Iterator[str]:
    """The literals in tuples, lists and conditions; calls look after themselves."""
    yield from _either(node)
    if isinstance(node, ast.Tuple | ast.List):
        for item in node.elts:
            yield from _deep(item)


def _in_templates() -> Iterator[tuple[str, str, str]]:
    for path in sorted((SOURCE / "web" / "templates").rglob("*.html")):
        for found in _SAID.finditer(path.read_text(encoding="utf-8")):
            yield path.relative_to(SOURCE).as_posix(), found[1] or found[2] or "", ""


def _in_tables() -> Iterator[tuple[str, str, str]]:
    for place, told in tables().items():
        yield from ((place, text, "") for text in told if text)


def tables() -> dict[str, list[str]]:
    """Return the texts of each table, by the file it stands in."""
    from sparkout.catalogue.listing import CATALOGUE
    from sparkout.cli.main import COMMANDS
    from sparkout.core import cautions
    from sparkout.core.care.values import CHECK, exposure_values
    from sparkout.core.faults.reading import usual_tables
    from sparkout.drawing.words import WORDS
    from sparkout.glossary import QUANTITIES as NAMED
    from sparkout.glossary import TERMS
    from sparkout.units import KINDS
    from sparkout.visit.fields import described, sections
    from sparkout.visit.quantities import GAUGE_KINDS, GAUGE_MEANING, QUANTITIES

    known = usual_tables()
    return {
        "glossary.py": [
            *(text for term in TERMS for text in (term.us, term.meaning)),
            *(text for key, named in NAMED.items() for text in (key, named.name, named.meaning)),
        ],
        "units.py": [text for kind in KINDS.values() for text in (kind.words, kind.name)],
        "core/data/cautions.toml": [
            *(text for caution in cautions.all_cautions() for text in (caution.short, caution.long)),
            *(text for figure in cautions.guard_figures() for text in (figure.what, figure.standing)),
            *(text for each in cautions.guard_procedures() for text in (each.what, each.standing)),
        ],
        "core/data/exposure.toml": [
            CHECK,
            *(text for v in exposure_values() for text in (v.region, v.of, v.name)),
        ],
        "core/data/faults.toml": [
            text
            for rows in (known.setups, known.findings, known.checks, known.causes)
            for row in rows
            for text in _texts_of(row, ("do", "says", "remedy"))
        ],
        "catalogue": [
            text
            for entry in CATALOGUE.values()
            for text in (
                *(entry.title, entry.validity, entry.caution),
                *(item.meaning for item in (*entry.inputs, *entry.results)),
            )
        ],
        "drawing/words.py": list(WORDS.values()),
        "visit/sections.py": [field.meaning for _, model, _ in sections() for field in described(model)],
        "visit/quantities.py": [
            *(text for name, entry in QUANTITIES.items() for text in (name, entry.meaning)),
            *GAUGE_KINDS,
            *GAUGE_MEANING.values(),
        ],
        "code words": _code_words(),
        "interchange/targets.py": _interchanged(),
        "cli/main.py": list(COMMANDS.values()),
    }


def _interchanged() -> list[str]:
    from sparkout.interchange.targets import KINDS

    return [
        text for kind in KINDS.values() for text in (kind.words, kind.sheet, *(field.words for field in kind.fields))
    ]


def _code_words() -> list[str]:
    """Words the code decides by and that are told as they stand: faults, faces, stages, kinds of pass."""
    from sparkout.core.bedknife.life import Cause, Face
    from sparkout.core.cautions import STEPS
    from sparkout.core.reel.explanations import FAULTS, WORK
    from sparkout.core.setting.heat import EXPANSION
    from sparkout.core.verdict.conformity import Outcome
    from sparkout.reckoning.on_turf import Drive
    from sparkout.visit.entered import PLACE_WORDS
    from sparkout.visit.sections import Datum, Pattern, ReliefWish
    from sparkout.visit.taken import Direction, Roller, Step, When

    literals = (Face, Cause, Outcome, Pattern, Datum, ReliefWish, Direction, Roller, Step, When, Drive)
    return [
        *FAULTS,
        *STEPS,
        *WORK.values(),
        *(str(word) for literal in literals for word in get_args(literal)),
        *PLACE_WORDS,
        *EXPANSION,
        *("mount wheels", "turn a reel by power", "lift with a hoist"),
        *("lip height", "front-lip depth"),
        *("decide", "grind", "check", "sign"),
        *("open", "signed", "set aside"),
        *("fitting", "calibration", "learnt", "sweep", "paper proof", "kept plan", "attachment", "table file"),
        *("authorisation", "exposure", "hearing", "token", "hours entry", "event", "season plan"),
        *("inches and thou", "cylinder and bottom blade", "reel and bedknife", "point", "comma"),
        *("left third", "middle third", "right third", "rough", "finish", "spark-out", "left", "middle", "right"),
    ]


def _texts_of(row: Any, names: Iterable[str]) -> Iterator[str]:
    for name in names:
        value = getattr(row, name, "")
        if isinstance(value, str):
            yield value
