"""On whose behalf a program asks: a token in the Authorization header, and nothing else. No cookie is looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn

from ninja.security import HttpBearer

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.operations.tokens import BEGINS, note_use, token_shown
from sparkout.web.api.errors import MayNot, NoToken

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.records.models import Token


class BearerToken(HttpBearer):
    """A token made on the workshop's page or by `sparkout token`."""

    def authenticate(self, request: HttpRequest, token: str) -> Token:  # noqa: ARG002 - as ninja calls it
        """Return the token shown.

        Raises
        ------
        NoToken
            When it is none, has ended, or its person works here no longer.
        MayNot
            When it is for the calendar alone.
        """
        found = token_shown(token.strip())
        if found is None:
            raise NoToken(
                phrase("this token is not known here, or has ended; make one on the page 'Tokens for programs'")
            )
        if not found.may_read:
            raise MayNot(phrase("the token '{name}' is for the calendar alone", name=AsTyped(found.name)))
        note_use(found)
        return found


def no_token() -> NoReturn:
    """Say what is missing.

    Raises
    ------
    NoToken
        Always.
    """
    header = AsTyped(f"Authorization: Bearer {BEGINS}_...")
    raise NoToken(
        phrase("this needs a token, sent as '{header}'; make one on the page 'Tokens for programs'", header=header)
    )


def need_write(token: Token) -> None:
    """Let only a token pass that may enter things.

    Raises
    ------
    MayNot
        When it may only read.
    """
    if not token.may_write:
        raise MayNot(
            phrase("the token '{name}' may read, and not enter anything; make one that may", name=AsTyped(token.name))
        )
