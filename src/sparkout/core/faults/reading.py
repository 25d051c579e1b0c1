"""The tables read from their file, a workshop's own laid over it; everything wrong is told with its line."""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from sparkout.core.cautions import all_cautions
from sparkout.core.errors import Refusal, did_you_mean
from sparkout.core.faults.tables import Cause, Check, Finding, Setup, Tables
from sparkout.core.phrase import AsTyped, joined, phrase

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

KINDS = ("setup", "finding", "check", "cause")
OWN_FILE = "faults.toml"
_CP = phrase("common practice, no source")
_WHOLE = {"origin_of_numbers", "how_many", "minutes_to_look", "minutes_between"}
_TEXTS = {
    "setup": {"do", "origin"},
    "finding": {"says", "origin"},
    "check": {"do", "origin"},
    "cause": {"says", "remedy", "origin"},
}
_MAY_BE_ABSENT: dict[str, dict[str, Any]] = {
    "setup": {"cautions": []},
    "finding": {"seen": False, "reading": "", "record": ""},
    "check": {"setups": [], "cautions": [], "sum": ""},
    "cause": {"sum": ""},
}
_NUMBERS = {
    "setup": {"minutes": (0.0, 600.0, False)},
    "finding": {"without": (0.0, 0.9, True)},
    "check": {"minutes": (0.0, 600.0, True)},
    "cause": {"weight": (0.0, 1e6, True)},
}
"""Lowest, highest, and whether it must lie above the lowest."""
_LISTS = {"setup": ("cautions",), "finding": (), "check": ("setups", "findings", "cautions"), "cause": ()}
_STRONGEST = 0.99
"""Nothing in a workshop shows without fail; a certainty could leave no explanation at all."""
_MOST_AT_ONCE = 3
_MOST_FINDINGS = 6


@dataclass(frozen=True, slots=True)
class TableProblem:
    """One thing wrong with a table: in which file, on which line (0: nowhere in particular), and what."""

    file: str
    line: int
    says: str

    @property
    def text(self) -> str:
        """Return it with its place."""
        if not self.line:
            return phrase("{file}: {says}", file=AsTyped(self.file), says=self.says)
        return phrase("{file} line {line}: {says}", file=AsTyped(self.file), line=self.line, says=self.says)


class TableProblems(Refusal):
    """Everything wrong with the tables, all at once."""

    def __init__(self, problems: Iterable[TableProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__(joined("\n", [problem.text for problem in self.problems]))


@dataclass(slots=True)
class _Row:
    """A row with where each of its keys was last written."""

    kind: str
    values: dict[str, Any]
    places: dict[str, tuple[str, int]]

    def place(self, key: str = "") -> tuple[str, int]:
        if key in self.places:
            return self.places[key]
        return self.places.get(key.split(".", 1)[0], self.places[""])


@cache
def usual_tables() -> Tables:
    """Return the tables that come with Sparkout.

    Examples
    --------
    >>> tables = usual_tables()
    >>> tables.cause("cone").says
    'Coned reel: one end thicker than the other'

    References
    ----------
    core/data/faults.toml: each row names the origin of its reasoning; the numbers are common practice without a source.
    """
    return _made(_own_rows(), *_own_whole())


def overlaid_tables(text: str, file: str) -> Tables:
    """Return the tables with a workshop's own file laid over them.

    Parameters
    ----------
    text
        TOML of the same form: a row with a known id changes that row's keys, `off = true` takes the row away, entries
        of `shows` are changed one by one and taken away by 0; other rows are added.
    file
        What to call it when something is wrong.

    Raises
    ------
    TableProblems
        Naming everything wrong with its line.

    Examples
    --------
    >>> own = overlaid_tables('[[cause]]\\nid = "sand"\\nweight = 12', "ours.toml")
    >>> own.cause("sand").weight, usual_tables().cause("sand").weight
    (12.0, 4.0)
    >>> overlaid_tables('[[cause]]\\nid = "sand"\\nwieght = 12', "ours.toml")
    Traceback (most recent call last):
    ...
    sparkout.core.faults.reading.TableProblems: ours.toml line 3: wieght is not a key of a cause; did you mean weight?

    References
    ----------
    A form of our own.
    """
    rows, whole, problems = _parsed(text, file)
    laid = {key: _copied(row) for key, row in _own_rows().items()}
    for row in rows:
        problems += _lay(laid, row)
    base, places = _own_whole()
    if problems:
        raise TableProblems(problems)
    lines = _lines(text)
    return _made(laid, {**base, **whole}, {**places, **{key: (file, lines.get(key, 0)) for key in whole}})


@cache
def _own() -> tuple[list[_Row], dict[str, Any]]:
    text = files("sparkout.core").joinpath("data", OWN_FILE).read_text(encoding="utf-8")
    rows, whole, problems = _parsed(text, OWN_FILE)
    if problems:
        raise TableProblems(problems)
    return rows, whole


def _own_rows() -> dict[tuple[str, str], _Row]:
    return {(row.kind, row.values["id"]): row for row in _own()[0]}


def _own_whole() -> tuple[dict[str, Any], dict[str, tuple[str, int]]]:
    whole = _own()[1]
    return whole, dict.fromkeys(whole, (OWN_FILE, 0))


def _copied(row: _Row) -> _Row:
    values = {key: dict(value) if isinstance(value, dict) else value for key, value in row.values.items()}
    return _Row(row.kind, values, dict(row.places))


def _parsed(text: str, file: str) -> tuple[list[_Row], dict[str, Any], list[TableProblem]]:
    """Return the rows of a file as written, what stands outside rows, and what is wrong with its form."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        told = phrase("not TOML: {why}", why=AsTyped(re.sub(r" \(at .*\)$", "", str(error))))
        return [], {}, [TableProblem(file, int(found[1]) if found else 0, told)]
    lines, problems, rows = _lines(text), [], []
    for key, value in raw.items():
        if key in KINDS and isinstance(value, list) and all(isinstance(row, dict) for row in value):
            rows += [_Row(key, row, _places(lines, key, number, file)) for number, row in enumerate(value)]
        elif key not in _WHOLE:
            told = phrase(
                "{key} is not a part of the tables; {nearest}",
                key=AsTyped(key),
                nearest=did_you_mean(key, [*KINDS, *sorted(_WHOLE)]),
            )
            problems.append(TableProblem(file, lines.get(key, 0), told))
    for row in rows:
        problems += _misnamed(row)
    return rows, {key: value for key, value in raw.items() if key in _WHOLE}, problems


def _lines(text: str) -> dict[str, int]:
    """Return the line of each row (`cause 3`), of each key in it (`cause 3 weight`, `cause 3 shows.cone-over`)."""
    found: dict[str, int] = {}
    counts = dict.fromkeys(KINDS, -1)
    row, within = "", ""
    for number, line in enumerate(text.splitlines(), 1):
        if opened := re.match(r"\s*\[\[\s*([\w-]+)\s*\]\]", line):
            name, within = opened[1], ""
            counts[name] = counts.get(name, -1) + 1
            row = f"{name} {counts[name]}"
            found.setdefault(row, number)
            found.setdefault(name, number)
        elif inside := re.match(r"\s*\[\s*[\w-]+\.([\w-]+)\s*\]", line):
            within = f"{inside[1]}."
            found.setdefault(f"{row} {inside[1]}", number)
        elif written := re.match(r"""\s*["']?([\w.-]+)["']?\s*=""", line):
            found.setdefault(f"{row} {within}{written[1]}".strip(), number)
    return found


def _places(lines: Mapping[str, int], kind: str, number: int, file: str) -> dict[str, tuple[str, int]]:
    start = f"{kind} {number}"
    inside = {key[len(start) + 1 :]: (file, line) for key, line in lines.items() if key.startswith(f"{start} ")}
    return {"": (file, lines.get(start, lines.get(kind, 0))), **inside}


def _misnamed(row: _Row) -> Iterator[TableProblem]:
    if not isinstance(row.values.get("id"), str) or not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row.values["id"]):
        told = phrase("a {kind} needs an id of small letters, digits and hyphens", kind=AsTyped(row.kind))
        yield TableProblem(*row.place("id"), told)
    known = _keys(row.kind) | {"off"}
    for key in row.values:
        if key not in known:
            told = phrase(
                "{key} is not a key of a {kind}; {nearest}",
                key=AsTyped(key),
                kind=AsTyped(row.kind),
                nearest=did_you_mean(key, sorted(known)),
            )
            yield TableProblem(*row.place(key), told)


def _keys(kind: str) -> set[str]:
    named = {"id", *_TEXTS[kind], *_MAY_BE_ABSENT[kind], *_NUMBERS[kind], *_LISTS[kind]}
    return named | {"shows"} if kind == "cause" else named


def _lay(laid: dict[tuple[str, str], _Row], row: _Row) -> list[TableProblem]:
    name = (row.kind, row.values["id"] if isinstance(row.values.get("id"), str) else "")
    if row.values.pop("off", False) is True:
        if laid.pop(name, None) is None:
            told = phrase(
                "{id} cannot be taken away: there is no such {kind}", id=AsTyped(name[1]), kind=AsTyped(name[0])
            )
            return [TableProblem(*row.place(), told)]
        return []
    there = laid.get(name)
    if there is None:
        laid[name] = _copied(row)
        return []
    for key, value in row.values.items():
        if key == "shows" and isinstance(value, dict) and isinstance(there.values.get("shows"), dict):
            there.values["shows"].update(value)
        else:
            there.values[key] = value
    there.places.update(row.places)
    return []


def _made(rows: dict[tuple[str, str], _Row], whole: Mapping[str, Any], places: Mapping[str, tuple[str, int]]) -> Tables:
    """Return the tables, or refuse with everything that is wrong."""
    names = {kind: [name for of, name in rows if of == kind] for kind in KINDS}
    problems = [problem for row in rows.values() for problem in _wrong(row, names)]
    problems += _wrong_whole(whole, places)
    problems += _unreached(rows, names)
    if problems:
        raise TableProblems(problems)
    made: dict[str, list[dict[str, Any]]] = {kind: [] for kind in KINDS}
    for row in rows.values():
        made[row.kind].append(_filled(row))
    return Tables(
        tuple(Setup(**row) for row in made["setup"]),
        tuple(Finding(**row) for row in made["finding"]),
        tuple(Check(**row) for row in made["check"]),
        tuple(Cause(**row) for row in made["cause"]),
        tuple(float(share) for share in whole["how_many"]),
        float(whole["minutes_to_look"]),
        float(whole["minutes_between"]),
        phrase(whole["origin_of_numbers"]),
    )


def _filled(row: _Row) -> dict[str, Any]:
    values = {**_MAY_BE_ABSENT[row.kind], **row.values}
    for key in _TEXTS[row.kind]:
        values[key] = phrase(values[key])
    values["origin"] = _told_origin(values["origin"])
    for key in _NUMBERS[row.kind]:
        values[key] = float(values[key])
    for key in _LISTS[row.kind]:
        values[key] = tuple(values[key])
    if row.kind == "cause":
        values["shows"] = tuple((name, float(value)) for name, value in values["shows"].items() if value)
    return values


def _told_origin(origin: str) -> str:
    if origin == "cp":
        return _CP
    if origin.startswith("cp"):
        return phrase("{practice}{rest}", practice=_CP, rest=phrase(origin[2:]))
    return phrase(origin)


def _wrong(row: _Row, names: Mapping[str, list[str]]) -> Iterator[TableProblem]:
    for key in sorted(_keys(row.kind) - {"id"} - set(_MAY_BE_ABSENT[row.kind])):
        if key not in row.values:
            told = phrase("{key} is missing in {kind} {id}", key=AsTyped(key), kind=AsTyped(row.kind), id=_id(row))
            yield TableProblem(*row.place(), told)
    for key in sorted(_TEXTS[row.kind] | {"sum", "reading", "record"} & _keys(row.kind)):
        value = row.values.get(key, "")
        if not isinstance(value, str) or (key in _TEXTS[row.kind] and key in row.values and not value.strip()):
            yield TableProblem(*row.place(key), phrase("{key} must be a text", key=AsTyped(key)))
        elif "{" in value or "}" in value:
            yield TableProblem(*row.place(key), phrase("{key} must not hold braces", key=AsTyped(key)))
    for key, (low, high, above) in _NUMBERS[row.kind].items():
        if key in row.values:
            yield from _bad_number(row, key, row.values[key], low, high, above)
    yield from _bad_lists(row, names)
    if row.kind == "cause":
        yield from _bad_shows(row, names["finding"])
    if row.kind == "finding" and not isinstance(row.values.get("seen", False), bool):
        yield TableProblem(*row.place("seen"), phrase("seen must be true or false"))


def _id(row: _Row) -> AsTyped:
    return AsTyped(row.values["id"])


def _bad_number(row: _Row, key: str, value: object, low: float, high: float, above: bool) -> Iterator[TableProblem]:
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    if not good or not low <= float(value) <= high or (above and value == low):  # type: ignore[arg-type]
        allowed = phrase("above {low:g} up to {high:g}", low=low, high=high) if above else None
        told = phrase(
            "{key} is {value}; allowed: {allowed}",
            key=AsTyped(key),
            value=AsTyped(str(value)),
            allowed=allowed or phrase("{low:g} to {high:g}", low=low, high=high),
        )
        yield TableProblem(*row.place(key), told)


def _bad_lists(row: _Row, names: Mapping[str, list[str]]) -> Iterator[TableProblem]:
    known = {
        "setups": names["setup"],
        "findings": names["finding"],
        "cautions": [caution.id for caution in all_cautions()],
    }
    for key in _LISTS[row.kind]:
        value = row.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(name, str) for name in value):
            yield TableProblem(*row.place(key), phrase("{key} must be a list of names", key=AsTyped(key)))
            continue
        for name in value:
            if name not in known[key]:
                yield TableProblem(*row.place(key), _unknown(key, name, known[key]))
        if key == "findings" and not 1 <= len(set(value)) == len(value) <= _MOST_FINDINGS:
            told = phrase("a check answers 1 to {most} findings, each once", most=_MOST_FINDINGS)
            yield TableProblem(*row.place(key), told)


def _unknown(key: str, name: str, known: list[str]) -> str:
    return phrase(
        "{key}: {name} is not known; {nearest}", key=AsTyped(key), name=AsTyped(name), nearest=did_you_mean(name, known)
    )


def _bad_shows(row: _Row, findings: list[str]) -> Iterator[TableProblem]:
    shows = row.values.get("shows", {})
    if not isinstance(shows, dict):
        yield TableProblem(*row.place("shows"), phrase("shows must be a table of findings, each with how often"))
        return
    for name, value in shows.items():
        if name not in findings:
            yield TableProblem(*row.place(f"shows.{name}"), _unknown("shows", name, findings))
        for problem in _bad_number(row, name, value, 0.0, _STRONGEST, above=False):
            yield TableProblem(*row.place(f"shows.{name}"), problem.says)
    if "shows" in row.values and not any(value for value in shows.values()):
        told = phrase("cause {id} shows nothing, so nothing could find it", id=_id(row))
        yield TableProblem(*row.place("shows"), told)


def _wrong_whole(whole: Mapping[str, Any], places: Mapping[str, tuple[str, int]]) -> Iterator[TableProblem]:
    shares = whole["how_many"]
    good = isinstance(shares, list) and 2 <= len(shares) <= _MOST_AT_ONCE + 1
    good = good and all(isinstance(share, (int, float)) and 0.0 < share < 1.0 for share in shares)
    if not good or abs(sum(shares) - 1.0) > 1e-6:
        told = phrase(
            "how_many must hold {least} to {most} chances above 0 that sum to 1: of none, one, two ... causes at once",
            least=2,
            most=_MOST_AT_ONCE + 1,
        )
        yield TableProblem(*places["how_many"], told)
    for key in ("minutes_to_look", "minutes_between"):
        row = _Row("", {}, {"": places[key]})
        yield from _bad_number(row, key, whole[key], 0.0, 60.0, above=key == "minutes_to_look")
    if not isinstance(whole["origin_of_numbers"], str):
        yield TableProblem(*places["origin_of_numbers"], phrase("origin_of_numbers must be a text"))


def _unreached(rows: dict[tuple[str, str], _Row], names: Mapping[str, list[str]]) -> Iterator[TableProblem]:
    """Findings nobody could answer, findings in two checks, too few causes."""
    answered: dict[str, str] = {}
    for row in rows.values():
        for name in row.values.get("findings", []) if row.kind == "check" else []:
            if name in answered:
                told = phrase(
                    "finding {id} is answered by check {other} already", id=AsTyped(str(name)), other=answered[name]
                )
                yield TableProblem(*row.place("findings"), told)
            answered[name] = AsTyped(row.values["id"])
    for row in rows.values():
        if row.kind == "finding" and not row.values.get("seen") and row.values["id"] not in answered:
            yield TableProblem(
                *row.place(), phrase("finding {id} is neither seen nor answered by a check", id=_id(row))
            )
    if len(names["cause"]) < 2:
        yield TableProblem(OWN_FILE, 0, phrase("fewer than two causes are left"))
