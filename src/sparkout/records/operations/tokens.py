"""Tokens by which programs ask on a person's behalf: made, found again, ended."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import Token
from sparkout.records.models.tokens import READ, SCOPES
from sparkout.records.operations.doing import Key, NotKept, asking, now, one_transaction, operation
from sparkout.visit.words import Text, Word

if TYPE_CHECKING:
    from sparkout.records.models import Person

BEGINS = "sparkout"
"""With it every token begins, so that one left lying in a file can be searched for."""
_MARK_BYTES, _SECRET_BYTES = 4, 32
_TOLD_EVERY = timedelta(minutes=1)
TOKEN_NAME = Text(phrase("what the token is for"), "spreadsheet in the office", 100, 1)
_SCOPE = Word(phrase("what it may do"), READ, tuple(name for name, _ in SCOPES))


@dataclass(frozen=True, slots=True)
class MadeToken:
    """A token just made. `text` is the token itself: it is shown now and can never be shown again."""

    token: Token
    text: str


@operation
def make_token(*, actor: Person, name: str, scope: str = READ) -> MadeToken:
    """Make a token that acts as the actor; `scope` is read or write. It takes no key: what is shown once cannot be repeated.

    Raises
    ------
    Refusal
        When an entry is wrong, or the actor has a token of that name in use.
    """  # noqa: E501
    told = checked_value("name", TOKEN_NAME, name).strip()
    may = checked_value("scope", _SCOPE, scope)
    if Token.objects.filter(person=actor, name=told, ended_at=None).exists():
        taken = phrase("{person} already has a token '{name}'", person=AsTyped(actor.name), name=AsTyped(told))
        raise refuse("name", taken, value=told, suggestion=phrase("End that one first."))
    mark = secrets.token_hex(_MARK_BYTES)
    text = f"{BEGINS}_{mark}_{secrets.token_urlsafe(_SECRET_BYTES)}"
    token = Token.objects.create(name=told, person=actor, scope=may, mark=mark, digest=_digest(text), made_at=now())
    asking("make_token", actor, None).note(token, after={"name": told, "scope": may, "person": actor.name})
    return MadeToken(token, text)


@operation
def end_token(*, actor: Person, token: Token, key: Key = None) -> Token:
    """End a token: nothing asked with it is answered any more. It stays on file, for the history names it.

    Raises
    ------
    Refusal
        When it has ended already.
    """
    ask = asking("end_token", actor, key, str(token), token=token)
    if (done := ask.answered(Token)) is not None:
        return done
    held = Token.objects.select_for_update(of=("self",)).select_related("person").get(pk=token.pk)
    if held.ended_at is not None:
        raise refuse("token", phrase("the token {token} has ended already", token=AsTyped(str(held))))
    held.ended_at = now()
    held.save()
    ask.note(held, after={"name": held.name, "person": held.person.name})
    return held


def token_shown(text: str) -> Token | None:
    """Return the token in use that somebody shows; None when it is none, has ended, or its person works here no longer.

    The comparison takes as long for a wrong token as for a right one.
    """
    begins, _, rest = text.partition("_")
    mark = rest.partition("_")[0]
    found = None
    if begins == BEGINS and mark.isascii() and mark.isalnum():
        found = Token.objects.select_related("person").filter(mark=mark).first()
    fits = hmac.compare_digest(_digest(text), "" if found is None else found.digest)
    return found if found is not None and fits and found.ended_at is None and found.person.active else None


def note_use(token: Token) -> None:
    """Remember that a token was used, to a minute. Nothing a person did: no history line, and no matter if it fails."""
    if token.used_at is None or now() - token.used_at >= _TOLD_EVERY:
        with suppress(NotKept), one_transaction():
            Token.objects.filter(pk=token.pk).update(used_at=now())


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
