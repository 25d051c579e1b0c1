"""`sparkout token`: the tokens by which programs ask, where no browser is at hand."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.world import DONE
from sparkout.core.errors import Refusal, did_you_mean
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from sparkout.cli.world import World
    from sparkout.records.models import Person, Token


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout token", description="Make, list or end the tokens by which programs ask on a person's behalf."
    )
    kinds = made.add_subparsers(dest="what", required=True, metavar="new | list | end")
    new = kinds.add_parser("new", help="make one; it is printed this once")
    new.add_argument("name", help="what it is for")
    new.add_argument("--person", metavar="NAME", help="as whom it acts (needed when several people work here)")
    new.add_argument("--write", action="store_true", help="it may enter things, not only read")
    listing = kinds.add_parser("list", help="list them")
    end = kinds.add_parser("end", help="end one: nothing asked with it is answered any more")
    end.add_argument("begins", help="how it begins, as 'list' shows it")
    end.add_argument("--person", metavar="NAME", help="who ends it (needed when several people work here)")
    for kind in (new, listing, end):
        kind.add_argument(
            "--data", type=Path, metavar="DIR", help="data folder (else SPARKOUT_DATA, else this user's own)"
        )
    return made


def run(arguments: list[str], world: World) -> int:
    """Make, list or end."""
    asked = asked_of(parser, arguments, world)
    from sparkout.cli.records import opened

    with opened(asked.data, world, alone=asked.what != "list"):
        {"new": _new, "list": _list, "end": _end}[asked.what](asked, world)
    return DONE


def _new(asked: argparse.Namespace, world: World) -> None:
    from sparkout.records.operations.tokens import make_token

    made = make_token(actor=_person(asked.person), name=asked.name, scope="write" if asked.write else "read")
    world.say(made.text)
    world.complain(
        phrase(
            "This is the token '{name}', which acts as {person}. It is shown this once; keep it where only the program "
            "that uses it can read it.",
            name=AsTyped(made.token.name),
            person=AsTyped(made.token.person.name),
        )
    )


def _list(_: argparse.Namespace, world: World) -> None:
    from sparkout.records.models import Token

    for token in Token.objects.select_related("person").order_by("pk"):
        state = f"{world.told(_state(token)):<28}"
        world.say(f"sparkout_{token.mark}  {token.scope:<5}  {state}  {token.person.name}: {token.name}")


def _state(token: Token) -> str:
    if token.ended_at is not None:
        return phrase("ended {day}", day=f"{token.ended_at:%Y-%m-%d}")
    if token.used_at is None:
        return phrase("last used never")
    return phrase("last used {moment}", moment=f"{token.used_at:%Y-%m-%d %H:%M}Z")


def _end(asked: argparse.Namespace, world: World) -> None:
    from sparkout.records.models import Token
    from sparkout.records.operations.tokens import end_token

    mark = asked.begins.removeprefix("sparkout_").partition("_")[0]
    found = Token.objects.filter(mark=mark).first()
    if found is None:
        raise Refusal(phrase("there is no token that begins with '{begins}'", begins=AsTyped(asked.begins)))
    end_token(actor=_person(asked.person), token=found)
    world.say(phrase("The token '{name}' has ended.", name=AsTyped(found.name)))


def _person(name: str | None) -> Person:
    from sparkout.records.models import Person

    people = {person.name: person for person in Person.objects.filter(active=True).order_by("pk")}
    if name is None:
        if len(people) == 1:
            return next(iter(people.values()))
        raise Refusal(phrase("say with --person who it is; known: {people}", people=AsTyped(", ".join(people))))
    if name not in people:
        nearest = did_you_mean(name, people)
        raise Refusal(phrase("nobody called '{name}' works here; {nearest}", name=AsTyped(name), nearest=nearest))
    return people[name]
