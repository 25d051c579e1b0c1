"""What a command is asked: parsed, or told why it is not understood, in the reader's language.

What the standard library's parser says itself ("usage: ", "expected one argument") goes through its module's `_`, which
looks into catalogues of the system; while a command is parsed it looks into ours.
"""

from __future__ import annotations

import argparse
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any

from sparkout.cli.world import DONE, USAGE, Ended
from sparkout.core.phrase import phrase
from sparkout.translation import translated

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from sparkout.cli.world import World

_LANGUAGE = ContextVar("_LANGUAGE", default="en")
PARSER_SAYS = (
    phrase("usage: "), phrase("positional arguments"), phrase("options"),
    phrase("show this help message and exit"),
    phrase("%(prog)s: error: %(message)s\n"), phrase("argument %(argument_name)s: %(message)s"),
    phrase("unrecognized arguments: %s"), phrase("the following arguments are required: %s"),
    phrase("one of the arguments %s is required"), phrase("not allowed with argument %s"),
    phrase("expected one argument"), phrase("expected at least one argument"), phrase("ignored explicit argument %r"),
    phrase("ambiguous option: %(option)s could match %(matches)s"),
    phrase("invalid choice: %(value)r (choose from %(choices)s)"), phrase("invalid %(type)s value: %(value)r"),
)  # fmt: skip
"""The standard library's own texts that a reader may meet, here to be gathered for the translators."""


class _Help(argparse.HelpFormatter):
    """Help told in the language asked for."""

    def add_text(self, text: str | None) -> None:
        super().add_text(told(text) if text else text)

    def _get_help_string(self, action: argparse.Action) -> str | None:
        return told(action.help) if action.help else action.help


class Parser(argparse.ArgumentParser):
    """A parser whose help can be told in another language."""

    def __init__(self, *names: Any, **how: Any) -> None:
        super().__init__(*names, **{"formatter_class": _Help, **how})


def told(text: str) -> str:
    """Return a text in the language in which the command being parsed is told."""
    return translated(text, _LANGUAGE.get())


def asked_of(parser: Callable[[], argparse.ArgumentParser], arguments: Sequence[str], world: World) -> Any:
    """Return what is asked; a language not given is the reader's own.

    Raises
    ------
    Ended
        When help was asked for, or the command is not understood; either was told.
    """
    with _in_language(world.language):
        try:
            asked = parser().parse_args(arguments)
        except SystemExit as stop:
            raise Ended(DONE if stop.code in (0, None) else USAGE) from None
    if getattr(asked, "language", "") is None:
        asked.language = world.language
    return asked


@contextmanager
def _in_language(language: str) -> Iterator[None]:
    before = argparse.__dict__["_"]
    token = _LANGUAGE.set(language)
    argparse.__dict__["_"] = told
    try:
        yield
    finally:
        argparse.__dict__["_"] = before
        _LANGUAGE.reset(token)
