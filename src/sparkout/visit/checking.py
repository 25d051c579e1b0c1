"""From the data of a file to a Visit: every field's error, and every contradiction, in one go."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.contradictions import Finding, contradictions
from sparkout.visit.fields import declared, model_at
from sparkout.visit.problems import Path, Problem, VisitProblems, path_text, printable, shown
from sparkout.visit.schema import Visit

M = TypeVar("M", bound=BaseModel)
_MOST_SHOWN = 200
_OTHER_WORDS = {
    "cylinder": "reel",
    "bedknife": "knife",
    "bottom_blade": "knife",
    "bedplate": "knife",
    "instruments": "gauges",
    "instrument": "gauge",
    "blade_count": "blades",
    "number_of_blades": "blades",
    "station": "at",
    "place": "at",
    "position": "at",
    "quantity": "of",
    "signed": "sign_off",
    "helix_angle": "helix",
    "minimum": "at_least",
    "maximum": "at_most",
}
_IN_LIMITS = ("service_diameter", "minimum_diameter", "service_limit", "limit")
_STAND_IN: dict[str, dict[str, Any]] = {"unit": {"name": "?"}, "reel": {"blades": 40, "diameter": 600, "length": 3000}}


def checked(data: dict[str, Any], line_of: Callable[[Path], int | None]) -> Visit:
    """Return the visit the data describe.

    Raises
    ------
    VisitProblems
        With the errors of single fields and, as far as the rest can be understood, the contradictions as well.
    """
    try:
        visit = Visit.model_validate(data)
    except ValidationError as error:
        findings = _findings(error, Visit)
        findings += _contradictions_of_the_rest(data, findings)
    else:
        findings = contradictions(visit)
        if not findings:
            return visit
    raise VisitProblems(_problems(findings, line_of))


def checked_as(
    model: type[M],
    data: dict[str, Any],
    agree: Callable[[M], Iterable[Finding]],
    line_of: Callable[[Path], int | None] = lambda _: None,
) -> M:
    """Return another file declared as a visit file is: its top model, with what `agree` finds contradictory in it.

    Raises
    ------
    VisitProblems
        With the errors of single fields, or else the contradictions.
    """
    try:
        made = model.model_validate(data)
    except ValidationError as error:
        findings: Iterable[Finding] = _findings(error, model)
    else:
        findings = list(agree(made))
        if not findings:
            return made
    raise VisitProblems(_problems(findings, line_of))


def _findings(error: ValidationError, root: type[BaseModel]) -> list[Finding]:
    return [_finding(entry, root) for entry in error.errors(include_url=False)[: _MOST_SHOWN + 1]]


def _problems(findings: Iterable[Finding], line_of: Callable[[Path], int | None]) -> list[Problem]:
    found = [
        Problem(path_text(f.path), line_of(f.path), f.text, f.value, f.allowed, f.unit, f.suggestion) for f in findings
    ]
    if len(found) > _MOST_SHOWN:
        found[_MOST_SHOWN:] = [Problem("", 0, phrase("more than {most} problems; some are shown", most=_MOST_SHOWN))]
    return found


def _finding(error: Any, root: type[BaseModel]) -> Finding:
    path: Path = error["loc"]
    match error["type"]:
        case "sparkout":
            told = error["ctx"]
            return Finding(path, told["text"], told["value"], told["allowed"], told["unit"], told["suggestion"])
        case "missing":
            return _missing(path, root)
        case "extra_forbidden":
            return _unknown(path, root)
        case "model_type" | "model_attributes_type":
            given = shown(error["input"])
            return Finding(path, phrase("{given} stands where a table is wanted", given=given), given)
        case "tuple_type":
            given = shown(error["input"])
            name = path[-1]
            table = isinstance(error["input"], dict) and len(path) == 1
            hint = phrase("Write [[{name}]], with two brackets each side.", name=name) if table else ""
            return Finding(path, phrase("{given} stands where a list is wanted", given=given), given, suggestion=hint)
        case _:
            return Finding(path, printable(error["msg"], 200), shown(error["input"]))


def _missing(path: Path, root: type[BaseModel]) -> Finding:
    model, key = model_at(path[:-1], root), str(path[-1])
    asked = declared(model, key) if model else None
    if asked is None:
        return Finding(path, phrase("this table is needed"))
    shown_example = AsTyped(f"{key} = {asked.example!r}".replace("'", '"'))
    example = phrase("For example {entry}.", entry=shown_example) if asked.example != "" else ""
    return Finding(path, phrase("needed: {meaning}", meaning=asked.meaning), "", asked.allowed, suggestion=example)


def _unknown(path: Path, root: type[BaseModel]) -> Finding:
    model, key = model_at(path[:-1], root), str(path[-1])
    known = tuple(model.model_fields) if model else ()
    other = _OTHER_WORDS.get(key.lower().replace(" ", "_"))
    close = difflib.get_close_matches(key.lower()[:60], known, n=1, cutoff=0.6)
    if root is Visit and key.lower() in _IN_LIMITS:
        hint = phrase("A limit stands under [[limits]]: its quantity, at_least or at_most, and origin.")
    elif other in known:
        hint = phrase("Here it is called '{other}'.", other=AsTyped(other or ""))
    elif close:
        hint = phrase("Did you mean '{closest}'?", closest=AsTyped(close[0]))
    else:
        homes = [name for name in root.model_fields if key in _keys(name, root)]
        hint = (
            phrase("It belongs in [{table}].", table=AsTyped(homes[0]))
            if homes
            else phrase("Known here: {known}.", known=AsTyped(", ".join(known)))
        )
    name = AsTyped(printable(key, 40))
    if len(path) > 1:
        text = phrase("there is no '{key}' in [{table}]", key=name, table=AsTyped(path_text(path[:-1])))
    else:
        text = phrase("there is no '{key}'", key=name)
    return Finding(path, text, suggestion=hint)


def _keys(section: str, root: type[BaseModel]) -> tuple[str, ...]:
    model = model_at((section,), root)
    return tuple(model.model_fields) if model and model is not root else ()


def _contradictions_of_the_rest(data: dict[str, Any], findings: list[Finding]) -> list[Finding]:
    """Check what remains when the entries in error are left out, so that one run shows everything."""
    kept, original = _without(data, findings)
    try:
        visit = Visit.model_validate(kept)
    except ValidationError:
        return []
    gauges = data.get("gauges")
    ids = [g.get("id") for g in gauges if isinstance(g, dict)] if isinstance(gauges, list) else []
    return [
        finding.moved(original) for finding in contradictions(visit, frozenset(i for i in ids if isinstance(i, str)))
    ]


def _without(data: dict[str, Any], findings: list[Finding]) -> tuple[dict[str, Any], dict[str, list[int]]]:
    bad = {finding.path[:2] for finding in findings}
    kept: dict[str, Any] = {}
    original: dict[str, list[int]] = {}
    for section, content in data.items():
        if (section,) in bad:
            continue
        if isinstance(content, list):
            original[section] = [i for i in range(len(content)) if (section, i) not in bad]
            kept[section] = [content[i] for i in original[section]]
        elif isinstance(content, dict):
            kept[section] = {key: value for key, value in content.items() if (section, key) not in bad}
        else:
            kept[section] = content
    for section, stand_in in _STAND_IN.items():  # so wide that nothing contradicts them
        kept[section] = {**stand_in, **kept.get(section, {})}
    return kept, original
