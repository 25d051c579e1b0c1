"""Every address answers, every operation has one, every refusal is JSON."""

from __future__ import annotations

import inspect
import pkgutil
from importlib import import_module
from itertools import product
from typing import Any

import pytest
from tests.api.conftest import Program
from tests.records.workshops import Bench

from sparkout.records import operations
from sparkout.records.bringing import operations as bringing
from sparkout.records.exchange import visit_from_file
from sparkout.web.api.door import ROUTES
from sparkout.web.api.route import Route

NOT_HERE = {
    "set_up_workshop": "before it there is nobody a token could act as",
    "make_token": "a token is made by a person; one that could make others could not be ended for good",
    "note_columns": "what a person has said so far of a form; a program sends the whole",
}
"""Operations that no address opens, and why."""


def operations_there_are() -> set[Any]:
    found = {visit_from_file}
    names = [module.name for module in pkgutil.iter_modules(operations.__path__, f"{operations.__name__}.")]
    for room in (*map(import_module, names), bringing):
        for name, function in vars(room).items():
            own = inspect.isfunction(function) and function.__module__ == room.__name__ and name[0] != "_"
            if own and {"actor", "first_person", "mapping"} & keywords(function):
                found.add(function)
    return found


def keywords(function: Any) -> set[str]:
    parameters = inspect.signature(function).parameters.items()
    return {name for name, parameter in parameters if parameter.kind is parameter.KEYWORD_ONLY}


def test_every_operation_has_an_address() -> None:
    opened = {route.operation for route in ROUTES}
    missing = {f.__name__ for f in operations_there_are() if f not in opened} - set(NOT_HERE)
    assert not missing, f"no address of the API opens {', '.join(sorted(missing))}: add one in web/api/rooms"


def test_what_has_none_is_there_and_says_why() -> None:
    names = {f.__name__ for f in operations_there_are()}
    assert set(NOT_HERE) <= names
    assert len(names) > 55


def test_every_address_takes_all_arguments_of_its_operation() -> None:
    """So that an argument added to an operation is not forgotten here."""
    for route in ROUTES:
        if route.operation in (None, visit_from_file):
            continue
        wanted = keywords(route.operation)
        given = {"actor", "key", *route.takes.names, *route.asks.names}
        given |= {route.about.argument} if route.about else set()
        assert wanted - given <= {"content", "causes", "chunks"}, (route.name, wanted - given)


def test_names_and_addresses_are_unique() -> None:
    assert len({route.name for route in ROUTES}) == len(ROUTES)
    assert len({(route.method, route.path) for route in ROUTES}) == len(ROUTES)


def at(route: Route, number: int = 1) -> str:
    return route.path.replace("{int:number}", str(number)).replace("{name}", "cone-from-rest-gap")


@pytest.mark.parametrize("route", [r for r in ROUTES if r.method == "GET"], ids=lambda r: r.name)
def test_every_look_answers_in_the_demonstration(visitor: Program, route: Route) -> None:
    query = "?text=unit" if route.name == "search" else ""
    found = None if route.about is None else route.about.records().order_by("pk").first()
    if route.about is not None and found is None:
        pytest.skip("nothing of this kind in the demonstration; test_api_files.py looks at it")
    number = 1 if found is None else found.pk
    made = visitor.get(at(route, number) + query)
    content = b"".join(made) if made.streaming else made.content
    made.close()
    assert made.status_code == 200, content[:500]
    assert content


def test_nobody_gets_anything_without_a_token(on_bench: Bench) -> None:
    for route, token in product(ROUTES, ("", "sparkout_00000000_nonsense", "nonsense")):
        made = Program(token).ask(route.method, at(route))
        assert made.status_code == 401, route.name
        assert made.headers["WWW-Authenticate"].startswith("Bearer")
        assert "token" in made.json()["errors"][0]["message"]


def test_what_is_not_there_is_said_to_be_missing(api: Program) -> None:
    for route, number in product(ROUTES, (0, 999_999, 10**30)):
        if route.about is not None:
            error = api.refused(route.method, at(route, number), {}, 404)[0]
            assert error["message"] == f"there is no {route.about.model._meta.verbose_name} {number}"


def test_an_entry_nobody_knows_is_named(api: Program, on_bench: Bench) -> None:
    tried = 0
    for route in ROUTES:
        if not route.takes.names or (route.about is not None and not route.about.records().filter(pk=1).exists()):
            continue
        errors = api.refused(route.method, at(route), {"strange_entry": 1})
        told = [error["message"] for error in errors if error["where"] == "strange_entry"]
        assert told, route.name
        assert told[0].startswith("strange_entry: there is no 'strange_entry' here")
        tried += 1
    assert tried > 40


def test_a_question_nobody_knows_is_named(api: Program, on_bench: Bench) -> None:
    for route in ROUTES:
        if route.about is None:
            errors = api.refused(route.method, at(route) + "?strange=1", None)
            assert "strange" in {error["where"] for error in errors}, route.name
