"""What must hold of fault finding whatever is answered."""

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.faults.diagnosis import Answer, diagnose
from sparkout.core.faults.reading import usual_tables

TABLES = usual_tables()
NAMES = [finding.id for finding in TABLES.findings]
ANSWERS = st.dictionaries(
    st.sampled_from(NAMES), st.one_of(st.none(), st.floats(0.0, 1.0), st.sampled_from([0.0, 1.0])), max_size=25
)


@given(ANSWERS)
@settings(max_examples=30, deadline=None)
def test_chances_stand_whatever_the_order_of_the_answers(answers: dict[str, float | None]) -> None:
    given_ = [Answer(name, yes) for name, yes in answers.items()]
    found = diagnose(TABLES, given_)
    turned = diagnose(TABLES, given_[::-1])
    assert all(0.0 <= ranked.chance <= 1.0 for ranked in found.ranked)
    assert 0.0 < found.none_listed < 1.0
    assert sum(ranked.chance for ranked in found.ranked) >= 1.0 - found.none_listed - 1e-9
    before = {ranked.cause.id: ranked.chance for ranked in turned.ranked}
    assert all(math.isclose(ranked.chance, before[ranked.cause.id], rel_tol=1e-9) for ranked in found.ranked)
    assert all(math.isfinite(told.log_odds) for ranked in found.ranked for told in ranked.told)


@given(ANSWERS)
@settings(max_examples=30, deadline=None)
def test_no_check_asks_what_is_answered_and_none_tells_more_than_there_is(answers: dict[str, float | None]) -> None:
    found = diagnose(TABLES, [Answer(name, yes) for name, yes in answers.items()])
    asked = [ask.finding.id for each in found.next_checks for ask in each.asks]
    assert not set(asked) & set(answers)
    assert len(asked) == len(set(asked))
    assert all(0.0 < each.bits <= len(each.asks) + 1e-9 for each in found.next_checks)


@given(st.sampled_from(TABLES.causes))
@settings(max_examples=25, deadline=None)
def test_a_unit_that_shows_all_a_cause_shows_is_named_by_it(cause: object) -> None:
    """With everything the cause usually shows (three times in four or more) and nothing else said."""
    shows = [name for name, strength in cause.shows if strength >= 0.75]  # type: ignore[attr-defined]
    if shows:
        found = diagnose(TABLES, [Answer(name, 1.0) for name in shows])
        assert cause.id in [ranked.cause.id for ranked in found.ranked[:3]]  # type: ignore[attr-defined]
