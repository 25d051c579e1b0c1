"""Tokens: shown once, kept as a digest, found again, ended; what is done through one says so in the history."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from tests.records.workshops import Bench, key

from sparkout.core.errors import Refusal
from sparkout.records.models import HistoryLine, Person, Token
from sparkout.records.operations import tokens
from sparkout.records.operations.doing import acting_through, at_moment, now
from sparkout.records.operations.tokens import BEGINS, MadeToken, end_token, make_token, note_use, token_shown
from sparkout.records.operations.units import add_place
from sparkout.records.operations.workshop import add_person, set_preferences


def made(on: Bench, **more: str) -> MadeToken:
    return make_token(actor=on.me, name="office sheet", **more)


def test_a_token_is_found_by_its_text_and_kept_nowhere(on_bench: Bench) -> None:
    one = made(on_bench)
    assert one.text.startswith(f"{BEGINS}_{one.token.mark}_")
    assert token_shown(one.text) == one.token
    secret = one.text.rpartition(f"{one.token.mark}_")[2]
    with connection.cursor() as cursor:
        for model in (Token, HistoryLine):
            cursor.execute(f'SELECT * FROM "{model._meta.db_table}"')
            assert secret not in str(cursor.fetchall())


def test_nobody_guesses_one_from_another(on_bench: Bench) -> None:
    texts = {make_token(actor=on_bench.me, name=f"token {i}").text for i in range(50)}
    assert len(texts) == 50
    assert min(len(text.split("_", 2)[2]) for text in texts) >= 43  # 256 bits in base 64


@pytest.mark.parametrize(
    "spoilt",
    ["", "x", "sparkout", "sparkout_", "sparkout_0_1", "other{}", "{}x", "{} ", "\ud800", "sparkout_é_x", "_"],
)
def test_what_is_no_token_is_none(on_bench: Bench, spoilt: str) -> None:
    assert token_shown(spoilt.format(made(on_bench).text)) is None


def test_every_letter_of_it_counts(on_bench: Bench) -> None:
    text = made(on_bench).text
    for place, letter in enumerate(text):
        assert token_shown(text[:place] + ("A" if letter != "A" else "B") + text[place + 1 :]) is None


def test_both_digests_are_always_compared(on_bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that the time taken tells nothing about whether the first part belongs to a token."""
    compared: list[tuple[str, str]] = []
    real = tokens.hmac.compare_digest
    monkeypatch.setattr(tokens.hmac, "compare_digest", lambda a, b: compared.append((a, b)) or real(a, b))
    one = made(on_bench)
    for text in (one.text, one.text + "x", "sparkout_00000000_x", "nonsense"):
        token_shown(text)
    assert len(compared) == 4


def test_an_ended_token_opens_nothing_and_is_ended_once(on_bench: Bench) -> None:
    one, mine = made(on_bench), key()
    ended = end_token(actor=on_bench.me, token=one.token, key=mine)
    assert ended.ended_at is not None
    assert token_shown(one.text) is None
    assert end_token(actor=on_bench.me, token=one.token, key=mine) == ended
    with pytest.raises(Refusal, match="has ended already"):
        end_token(actor=on_bench.me, token=one.token)
    assert made(on_bench).token != one.token  # its name is free again


def test_a_token_goes_with_its_person(on_bench: Bench) -> None:
    one = made(on_bench)
    add_person(actor=on_bench.me, name="CD")
    set_preferences(actor=on_bench.me, person=on_bench.me, active=False)
    assert token_shown(one.text) is None


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ({"name": "  "}, "name: '  ' is blank; allowed: 1 to 100 characters"),
        ({"name": "a", "scope": "all"}, "scope: 'all' is not one of the words known here; allowed: 'read', 'write'"),
        ({"name": "office sheet"}, "AB already has a token 'office sheet'. End that one first"),
    ],
)
def test_refusals(on_bench: Bench, entries: dict[str, str], told: str) -> None:
    made(on_bench)
    with pytest.raises(Refusal, match=told):
        make_token(actor=on_bench.me, **entries)


def test_last_use_is_remembered_to_a_minute(on_bench: Bench) -> None:
    token, moment = made(on_bench).token, now()
    for after, kept in ((0, 0), (30, 0), (61, 61)):
        with at_moment(moment + timedelta(seconds=after)):
            note_use(Token.objects.get(pk=token.pk))
        assert Token.objects.get(pk=token.pk).used_at == moment + timedelta(seconds=kept)


def test_history_says_who_and_through_what(on_bench: Bench) -> None:
    token = made(on_bench, scope="write").token
    assert token.may_write
    with acting_through(token):
        place = add_place(actor=on_bench.me, name="eighteen holes")
    add_place(actor=on_bench.me, name="practice green")
    lines = HistoryLine.objects.filter(action="add_place").order_by("-pk")
    assert [(line.who, line.through) for line in lines[:2]] == [(on_bench.me, None), (on_bench.me, token)]
    assert lines[1].subject_id == place.pk
    assert Person.objects.count() == 1
