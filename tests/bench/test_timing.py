"""The bench itself: rounds in turn, ratios, goals, an environment as a user has it."""

from __future__ import annotations

import pytest
from bench.timing import HEAD, Line, Timed, in_turn, table

from bench import processes, simulation


def test_every_round_does_each_in_turn_and_the_first_does_not_count() -> None:
    done: list[str] = []

    def action(name: str, used: float | None):
        def run() -> float | None:
            done.append(name)
            return used

        return run

    timed = in_turn({"a": action("a", None), "b": action("b", 2.0)}, rounds=3)
    assert done == ["a", "b"] * 4
    assert len(timed["a"].wall) == len(timed["b"].wall) == 3
    assert timed["a"].processor == ()
    assert timed["b"].processor == (2.0, 2.0, 2.0)


def test_ratio_is_of_medians_and_the_goal_is_judged_by_it() -> None:
    base, slow = Timed((1.0, 2.0, 90.0), (1.0, 1.0, 1.0)), Timed((6.0, 80.0, 5.0), (4.0, 4.0, 4.0))
    line = Line("x", slow, base)
    assert (line.ratio, line.processor_ratio, line.goal) == (3.0, 4.0, "")
    assert Line("x", slow, base, at_most=3.0).goal == "at most 3 x: kept"
    assert Line("x", slow, base, at_most=2.9).goal == "at most 2.9 x: MISSED"
    assert Line("x", slow, base, at_least=100).goal == "at least 100 x: MISSED"
    assert Line("x", slow, base, at_least=2).goal == "at least 2 x: kept"
    assert Line("x", Timed((1.0,)), base).processor_ratio is None
    assert Timed((1.0, 2.0, 3.0)).scaled(20).median == 40.0


def test_table_is_markdown_and_shows_least_and_most() -> None:
    rows = table([Line("one", Timed((0.002, 0.004, 0.003)), Timed((3e-6,)))]).splitlines()
    assert all(row.startswith("|") and row.endswith("|") and row.count("|") == len(HEAD) + 1 for row in rows)
    assert "2 ms .. 4 ms" in rows[2]
    assert "1000 x" in rows[2]


def test_bytecode_may_be_kept_as_on_a_users_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    assert "PYTHONDONTWRITEBYTECODE" not in processes.environment()
    code = "import sys; sys.exit(sys.dont_write_bytecode)"
    processes.ran(["-c", code])()


def test_plain_loop_does_the_same_sums_as_the_simulation() -> None:
    """What the simulation is timed against must be the same work: plain Python as the independent route."""
    import numpy as np

    from sparkout.core.grinding.passes import simulate

    reel = simulation.invented_reel(50)
    wheel = reel.max() - np.linspace(0.004, 0.3, 20)
    after = simulation.plain_loop(reel.tolist(), wheel.tolist(), 0.7)
    assert simulate(reel, wheel, 0.7).left == pytest.approx(np.array(after), abs=1e-12)
