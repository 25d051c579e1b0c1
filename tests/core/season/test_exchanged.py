"""The search by exchanges: its table against the cost reckoned anew, and what it finds against every plan."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.season.exchanged import Exchange, exchanged
from sparkout.core.season.jobs import Grinder, Job, Phase, Season, Technician


def drawn(seed, count=7, days=4):
    rng = np.random.default_rng(seed)
    jobs = tuple(
        Job(
            f"U{i}",
            (
                Phase("strip", float(rng.choice([0.5, 1.0]))),
                Phase("spin", float(rng.choice([0.5, 1.5])), "reel" if i % 2 else "wide"),
            ),
            int(rng.integers(0, days)),
            float(rng.integers(1, 5)),
            0.2,
            fixed=1 if i == 6 else None,
        )
        for i in range(count)
    )
    people = (
        Technician("A", frozenset({"strip", "spin"}), (3.0, 0.0, 3.0, 3.0), 0.5, 2.0),
        Technician("B", frozenset({"strip"}), (2.0,) * days),
    )
    grinders = (Grinder("G", frozenset({"reel", "wide"}), (2.0,) * days), Grinder("H", frozenset({"reel"}), (1.0,) * 4))
    return Season(days, people, grinders, jobs, undone_days=3)


@given(seed=st.integers(0, 10**6))
@settings(max_examples=15, deadline=None)
def test_the_table_says_what_every_move_and_exchange_brings(seed):
    one = drawn(seed)
    rng, jobs = np.random.default_rng(seed), [job for job in one.jobs if job.fixed is None]
    days = [None if day == one.days else day for day in rng.integers(0, one.days + 1, len(jobs)).tolist()]
    made = Exchange(one, jobs, days)
    for _ in range(6):  # after some steps, too
        at, total = made.at.tolist(), made.total()
        for i in range(len(jobs)):
            for day in range(one.days + 1):
                other = [*at[:i], day, *at[i + 1 :]]
                assert Exchange(one, jobs, other).total() - total == pytest.approx(made.move[i, day], abs=1e-5)
            for j in range(i):
                other = list(at)
                other[i], other[j] = at[j], at[i]
                assert Exchange(one, jobs, other).total() - total == pytest.approx(made.exchange[i, j], abs=1e-5)
        made.step(np.where(rng.random(len(jobs)) < 0.2, np.inf, 0.0))


@given(seed=st.integers(0, 10**6))
@settings(max_examples=15, deadline=None)
def test_it_costs_no_more_than_where_it_began_and_ends_when_nothing_better_comes(seed):
    one = drawn(seed)
    jobs = [job for job in one.jobs if job.fixed is None]
    steps = []
    days = exchanged(one, jobs, [None] * len(jobs), lambda *now: steps.append(now) is None)
    assert len(steps) < 5000
    assert [cost for _, cost in steps] == sorted((cost for _, cost in steps), reverse=True)
    made = Exchange(one, jobs, days)
    assert made.excess() < 1e-6
    assert made.total() == pytest.approx(steps[-1][1])
    assert made.total() <= Exchange(one, jobs, [None] * len(jobs)).total() + 1e-9
    assert exchanged(one, jobs, days, lambda *_: False) == days


def test_days_too_full_get_dearer_until_a_plan_fits(monkeypatch):
    one = drawn(3)
    jobs = [job for job in one.jobs if job.fixed is None]
    monkeypatch.setattr("sparkout.core.season.exchanged.EXCESS", 1e-3)
    days = exchanged(one, jobs, [0] * len(jobs), lambda *_: True)
    assert Exchange(one, jobs, [0] * len(jobs)).excess() > 1.0
    assert Exchange(one, jobs, days).excess() < 1e-6
