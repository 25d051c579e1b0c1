"""What is sent: read as JSON without guessing, each entry known, and what is wrong told all at once."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

from django.conf import settings
from django.core.exceptions import RequestDataTooBig

from sparkout.core.errors import did_you_mean
from sparkout.core.phrase import AsTyped, phrase, starting_large
from sparkout.records.checked import checked_value, refuse
from sparkout.visit.problems import Problem, VisitProblems, printable, shown
from sparkout.web.api.errors import JSON, TooMuch, WrongForm
from sparkout.web.api.units import as_typed, number_schemas

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from django.db.models import Model
    from django.http import HttpRequest

    from sparkout.visit.asked import Asked
    from sparkout.visit.sections import Section

Table = dict[str, Any]
_LONGEST_NUMBER = 40
_DEEPEST = 12


@dataclass(frozen=True, slots=True)
class Field:
    """One entry of a body; `read` makes of it what an operation takes, and names its `path` when it cannot."""

    name: str
    meaning: str
    schema: Mapping[str, Any]
    needed: bool = False
    example: Any = None
    nullable: bool = False
    """Whether null may stand for 'none', where something has to be sent."""
    null_is_unsaid: bool = False
    """Whether null is the same as nothing sent, for what no operation can be told as none."""
    read: Callable[[str, Any], Any] = field(default=lambda _, given: given)


def text(name: str, meaning: str, example: str = "", *, needed: bool = False) -> Field:
    """Return an entry that the operation itself reads: text, or whatever else it takes."""
    return Field(name, meaning, {"type": "string"}, needed, example)


def typed(name: str, asked: Asked, *, needed: bool = False) -> Field:
    """Return an entry that the operation itself reads, as declared."""
    return Field(name, asked.meaning, asked.as_json_schema(), needed, asked.example)


def read(name: str, asked: Asked, *, needed: bool = False) -> Field:
    """Return an entry that is read here, as declared."""
    return Field(
        name, asked.meaning, asked.as_json_schema(), needed, asked.example,
        null_is_unsaid=True,
        read=lambda path, given: checked_value(path, asked, given),
    )  # fmt: skip


def record(name: str, model: type[Model], meaning: str, *, needed: bool = False, nullable: bool = False) -> Field:
    """Return an entry that names a record by its number; null where there is none."""
    kind = kind_of(model)

    def found(path: str, given: Any) -> Model:
        whole = isinstance(given, int) and not isinstance(given, bool)
        made = model._default_manager.filter(pk=given).first() if whole else None
        if made is None:
            told = phrase("there is no {kind} {number}", kind=phrase(kind), number=shown(given))
            raise refuse(path, told, value=shown(given), allowed=phrase("the id of a {kind}", kind=phrase(kind)))
        return made

    schema = {"type": "integer"} if needed and not nullable else {"type": ["integer", "null"]}
    return Field(name, meaning, schema, needed, 1, nullable, read=found)


def kind_of(model: type[Model]) -> str:
    """Return what a record is called: 'reel type'."""
    return str(model._meta.verbose_name)


def table(name: str, section: type[Section], meaning: str, *, needed: bool = False, component: str) -> Field:
    """Return an entry that is a table of the visit file, or part of one; `component` describes it."""

    def found(path: str, given: Any) -> Table:
        kept, problems = as_typed(section, _table(path, given), path)
        if problems:
            raise VisitProblems(problems)
        return kept

    example = {f: v for f, v in example_of(section).items() if v not in ("", None)}
    return Field(name, meaning, {"$ref": f"#/components/schemas/{component}"}, needed, example, read=found)


def tables(name: str, meaning: str, parts: Mapping[str, type[Section]], components: Mapping[str, str]) -> Field:
    """Return an entry of several tables by name."""

    def found(path: str, given: Any) -> dict[str, Table]:
        sent = _table(path, given)
        made: dict[str, Table] = {}
        problems: list[Problem] = []
        for part, content in sent.items():
            made[part] = content
            if part in parts:
                made[part], wrong = as_typed(parts[part], _table(f"{path}.{part}", content), f"{path}.{part}")
                problems += wrong
            elif not isinstance(content, dict):
                _table(f"{path}.{part}", content)
        if problems:
            raise VisitProblems(problems)
        return made

    schema = {"type": "object", "properties": {p: {"$ref": f"#/components/schemas/{c}"} for p, c in components.items()}}
    return Field(name, meaning, schema, needed=True, example={}, read=found)


def rows(name: str, meaning: str, body: Body, make: Callable[..., Any], *, needed: bool = False) -> Field:
    """Return an entry that is a list of tables, each read as a body of its own."""

    def found(path: str, given: Any) -> list[Any]:
        if not isinstance(given, list):
            told = phrase("{given} stands where a list is wanted", given=shown(given))
            raise refuse(path, told, value=shown(given))
        made: list[Any] = []
        problems: list[Problem] = []
        for i, sent in enumerate(given):
            try:
                made.append(make(**body.entries(_table(f"{path}[{i}]", sent), f"{path}[{i}]")))
            except VisitProblems as wrong:
                problems += wrong.problems
        if problems:
            raise VisitProblems(problems)
        return made

    return Field(
        name,
        meaning,
        {"type": "array", "items": body.schema()},
        needed,
        [body.example()],
        null_is_unsaid=True,
        read=found,
    )


def plain_table(name: str, meaning: str) -> Field:
    """Return an entry that is a table of anything."""
    return Field(name, meaning, {"type": "object"}, example={}, read=_table)


def _table(path: str, given: Any) -> Table:
    if not isinstance(given, dict):
        told = phrase("{given} stands where a table is wanted", given=shown(given))
        raise refuse(path, told, value=shown(given))
    return given


def example_of(section: type[Section], leave: Iterable[str] = ()) -> Table:
    """Return an example of each field of a section."""
    from sparkout.visit.fields import described

    return {f.key: f.example for f in described(section) if f.key not in leave}


@dataclass(frozen=True, slots=True)
class Body:
    """The entries a request may hold: fields of its own, and those of a table of the visit file beside them."""

    fields: tuple[Field, ...] = ()
    section: type[Section] | None = None
    leave: tuple[str, ...] = ()
    """Entries of the section that have no place here."""
    all_optional: bool = False
    """Whether only what changes is sent."""

    @property
    def names(self) -> tuple[str, ...]:
        """Every entry by its plain name."""
        own = () if self.section is None else tuple(k for k in self.section.model_fields if k not in self.leave)
        return (*(f.name for f in self.fields), *(k for k in own if k not in {f.name for f in self.fields}))

    def entries(self, sent: Mapping[str, Any], path: str = "") -> Table:
        """Return what an operation takes.

        Raises
        ------
        VisitProblems
            With every unknown, missing or unreadable entry.
        """
        problems: list[Problem] = []
        content = dict(sent)
        if self.section is not None:
            content, problems = as_typed(self.section, sent, path)
        for name in content:
            if name not in self.names:
                nearest = did_you_mean(name, self.names) if self.names else ""
                text = phrase("there is no '{name}' here", name=AsTyped(printable(name, 40)))
                problems.append(Problem(_below(path, name), None, text, suggestion=starting_large(nearest)))
        for one in self.fields:
            if one.name not in content or (content[one.name] is None and one.needed and not one.nullable):
                if one.needed:
                    problems.append(
                        Problem(_below(path, one.name), None, phrase("needed: {meaning}", meaning=phrase(one.meaning)))
                    )
            elif content[one.name] is None:
                if one.null_is_unsaid:
                    del content[one.name]
            else:
                try:
                    content[one.name] = one.read(_below(path, one.name), content[one.name])
                except VisitProblems as wrong:
                    problems += wrong.problems
        if problems:
            raise VisitProblems(problems)
        return content

    def schema(self) -> Table:
        """Return the JSON Schema of the body."""
        properties = {f.name: {**f.schema, "description": f.meaning} for f in self.fields}
        needed = [f.name for f in self.fields if f.needed]
        if self.section is not None:
            made = self.section.model_json_schema()
            own = {k: v for k, v in made["properties"].items() if k not in self.leave and k not in properties}
            needed += [k for k in made.get("required", ()) if k in own and not self.all_optional]
            properties |= {k: _no_default(v) for k, v in own.items()}
            properties |= number_schemas(self.section, self.leave)
        found: Table = {"type": "object", "properties": properties, "additionalProperties": False}
        return {**found, "required": needed} if needed else found

    def example(self) -> Table:
        """Return one body that could be sent."""
        found = {} if self.section is None else example_of(self.section, self.leave)
        found |= {f.name: f.example for f in self.fields}
        return {name: value for name, value in found.items() if value not in ("", None)}


def _below(path: str, name: str) -> str:
    return f"{path}.{printable(name, 40)}" if path else printable(name, 40)


def _no_default(schema: Table) -> Table:
    return {key: value for key, value in schema.items() if key not in ("default", "title")}


def sent_in(request: HttpRequest) -> Table:
    """Return the JSON table a request holds; nothing sent is an empty one.

    Raises
    ------
    WrongForm
        When it is sent as something else.
    TooMuch
        When it is longer than is read at once.
    Refusal
        When it is no JSON, or no table.
    """
    try:
        body = request.body
    except RequestDataTooBig:
        most = f"{settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 1_000_000} MB"
        raise TooMuch(phrase("more was sent than is read here; allowed: up to {most}", most=AsTyped(most))) from None
    if not body.strip():
        return {}
    kind = (request.content_type or "").lower()
    if kind != JSON:
        form = AsTyped(printable(kind, 60))
        raise WrongForm(
            phrase("what is sent here has the form '{form}'; allowed: {allowed}", form=form, allowed=AsTyped(JSON))
        )
    data = json_in(body)
    if not isinstance(data, dict):
        _no_json(phrase("{given} stands where a table is wanted", given=shown(data)))
    return data


def json_in(content: bytes) -> Any:
    """Return what JSON text holds.

    Raises
    ------
    Refusal
        When it cannot be read in one way only.
    """
    try:
        data = json.loads(
            content.decode("utf-8-sig"),
            object_pairs_hook=_once,
            parse_int=_whole,
            parse_float=_finite,
            parse_constant=lambda word: _no_json(phrase("{word} is no number in JSON", word=AsTyped(word))),
        )
        json.dumps(data, ensure_ascii=False).encode("utf-8")
    except UnicodeDecodeError:
        _no_json(phrase("what was sent is not UTF-8"))
    except UnicodeEncodeError:
        _no_json(phrase("half a character (a lone surrogate) stands in a text"))
    except json.JSONDecodeError as error:
        why = AsTyped(error.msg[:1].lower() + error.msg[1:])
        _no_json(phrase("not readable as JSON: line {line}, {why}", line=error.lineno, why=why))
    except RecursionError:
        _no_json(phrase("lists or tables are nested too deeply"))
    _shallow(data)
    return data


def _shallow(data: Any, depth: int = 0) -> None:
    if depth > _DEEPEST:
        _no_json(phrase("lists or tables are nested too deeply"))
    if isinstance(data, dict | list):
        for part in data.values() if isinstance(data, dict) else data:
            _shallow(part, depth + 1)


def _once(pairs: list[tuple[str, Any]]) -> Table:
    found: Table = {}
    for name, value in pairs:
        if name in found:
            _no_json(phrase("'{name}' stands in one table twice", name=AsTyped(printable(name, 40))))
        found[name] = value
    return found


def _whole(digits: str) -> int:
    if len(digits) > _LONGEST_NUMBER:
        _no_json(
            phrase(
                "a number of {digits} digits stands here; allowed: up to {most}",
                digits=len(digits), most=_LONGEST_NUMBER,
            )
        )  # fmt: skip
    return int(digits)


def _finite(digits: str) -> float:
    number = float(digits)
    if math.isinf(number):
        _no_json(phrase("{number} is too large for a number", number=AsTyped(printable(digits, 40))))
    return number


def _no_json(why: str) -> NoReturn:
    raise refuse("", why)
