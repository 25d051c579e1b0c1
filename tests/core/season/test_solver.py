"""A solver that can be told to stop: it ends at once, leaves nothing running, and otherwise answers as in place."""

from __future__ import annotations

import subprocess
import time

import numpy as np
import pytest
from scipy.sparse import csr_array

from sparkout.core.season import solver
from sparkout.core.season.solver import SOON, Programme, Solved, solved


def hard(size: int = 60) -> Programme:
    """Equal shares of many weights in several rows (market split): small, and far beyond a minute for any solver."""
    weights = np.random.default_rng(1).integers(0, 100, size=(6, size)).astype(float)
    half = np.floor(weights.sum(axis=1) / 2.0)
    slack = np.hstack([weights, np.eye(6), -np.eye(6)])
    cost = np.concatenate([np.zeros(size), np.ones(12)])
    whole = np.concatenate([np.ones(size, dtype=np.intp), np.zeros(12, dtype=np.intp)])
    high = np.concatenate([np.ones(size), np.full(12, np.inf)])
    return Programme(cost, high, whole, csr_array(slack), half, half, 1e-9)


def easy() -> Programme:
    rng = np.random.default_rng(2)
    matrix = csr_array((rng.random((8, 20)) < 0.3).astype(float))
    return Programme(-rng.random(20), 1.0, np.ones(20, dtype=np.intp), matrix, -np.inf, 1.0, 1e-6)


def test_told_to_stop_it_ends_at_once_and_nothing_runs_on(monkeypatch: pytest.MonkeyPatch) -> None:
    children: list[subprocess.Popen[bytes]] = []
    real = subprocess.Popen

    def watched(*given: object, **how: object) -> subprocess.Popen[bytes]:
        children.append(real(*given, **how))  # type: ignore[call-overload]
        return children[-1]

    monkeypatch.setattr(solver.subprocess, "Popen", watched)
    began = time.monotonic()
    found = solved(hard(), 120.0, lambda: time.monotonic() - began < 3.0)
    assert time.monotonic() - began < 6.0
    assert found == Solved(None, np.inf, None)
    assert [child.poll() is not None for child in children] == [True]


def test_in_a_process_of_its_own_the_answer_is_the_same() -> None:
    here, there = solved(easy(), SOON), solved(easy(), 60.0)
    assert here.columns is not None
    assert there.columns is not None
    assert there.columns.tolist() == here.columns.tolist()
    assert (there.cost, there.bound) == (here.cost, here.bound)


def test_a_programme_larger_than_a_pipe_holds_reaches_the_process_whole() -> None:
    """Some megabytes: more than the child takes in before somebody asks how it goes."""
    count = 100_000
    matrix = csr_array(np.ones((1, count)))
    many = Programme(-np.ones(count), 1.0, np.zeros(count, dtype=np.intp), matrix, -np.inf, np.inf, 1e-6)
    began = time.monotonic()
    found = solved(many, 50.0)
    assert found.cost == -count
    assert time.monotonic() - began < 45.0


def test_where_no_process_is_to_be_had_it_is_solved_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object, **__: object) -> None:
        raise OSError

    monkeypatch.setattr(solver.subprocess, "Popen", none)
    assert solved(easy(), 60.0).cost == solved(easy(), SOON).cost
