"""REML of nested lines against the criterion written out with dense matrices."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.errors import NotEnough
from sparkout.core.season import each_unit, nested_fit
from sparkout.core.season.each_unit import Part, Units
from sparkout.core.season.nested import Nested, passed, units_of
from sparkout.core.season.nested_fit import fit


def drawn(seed, workshops=4, duties=3, units=6, readings=5, covariate=False):
    rng = np.random.default_rng(seed)
    groups = workshops * duties
    count = groups * units
    work, group = np.repeat(np.arange(workshops), duties), np.repeat(np.arange(groups), units)
    unit = np.repeat(np.arange(count), readings)
    t = rng.uniform(0, 2, unit.size)
    line = (rng.normal(size=(workshops, 2)) * [0.6, 0.1])[work][group] + (rng.normal(size=(groups, 2)) * [0.4, 0.3])[
        group
    ]
    line += rng.multivariate_normal([5, -1], [[1, 0.1], [0.1, 0.05]], count)
    columns = [np.ones_like(t), t]
    y = line[unit, 0] + line[unit, 1] * t + rng.normal(size=t.size) * 0.3
    if covariate:
        columns.append(rng.integers(0, 4, t.size).astype(float))
        y = y - 0.2 * columns[-1]
    columns.append(y)
    rows = np.stack(columns)
    gram = np.zeros((rows.shape[0], rows.shape[0], count))
    np.add.at(gram, (slice(None), slice(None), unit), rows[:, None] * rows[None])
    half = count // 2 + 1
    parts = [Part(gram[:, :, :half], group[:half]), Part(gram[:, :, half:], group[half:])]
    fleet = Nested(parts, (work, np.zeros(workshops, dtype=np.intp)), unit.size, rows.shape[0])
    return fleet, rows, (unit, group[unit], work[group[unit]])


def dense(rows, nodes, relative):
    """The criterion and generalised least squares with the whole covariance matrix written out."""
    x, y = rows[:-1].T, rows[-1]
    z = x[:, :2]
    v = np.eye(y.size)
    for of, one in zip(nodes, relative, strict=True):
        v += (z @ one @ z.T) * (of[:, None] == of[None, :])
    solved = np.linalg.solve(v, x)
    information = x.T @ solved
    fixed = np.linalg.solve(information, solved.T @ y)
    rest = y - x @ fixed
    degrees = y.size - x.shape[1]
    variance = rest @ np.linalg.solve(v, rest) / degrees
    criterion = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1]
    return criterion + degrees * (1 + math.log(2 * math.pi * variance)), fixed, variance


@given(seed=st.integers(0, 10**6), factors=st.lists(st.floats(0, 2), min_size=9, max_size=9), covariate=st.booleans())
@settings(max_examples=25, deadline=None)
def test_a_pass_is_the_dense_criterion(seed, factors, covariate):
    fleet, rows, nodes = drawn(seed, covariate=covariate)
    relative = [np.array([[a, 0], [b, c]]) @ np.array([[a, b], [0, c]]) for a, b, c in np.reshape(factors, (3, 3))]
    found = passed(fleet, relative)
    criterion, fixed, variance = dense(rows, nodes, relative)
    assert found.deviance == pytest.approx(criterion, abs=1e-7)
    assert found.fixed == pytest.approx(fixed, rel=1e-7, abs=1e-8)
    assert found.variance == pytest.approx(variance, rel=1e-8)


@given(seed=st.integers(0, 10**6), covariate=st.booleans())
@settings(max_examples=10, deadline=None)
def test_the_derivatives_are_the_criterions_own(seed, covariate):
    fleet, rows, nodes = drawn(seed, covariate=covariate)
    search = nested_fit._Search(fleet, units_of(fleet))
    theta = np.random.default_rng(seed).uniform(0.2, 1.2, 9)
    value, gradient, curvature = search.at(theta)
    assert value == pytest.approx(dense(rows, nodes, nested_fit._relative(theta, search.scale))[0], abs=1e-7)
    steps = np.eye(9) * 1e-5
    numeric = [(search.at(theta + step)[0] - search.at(theta - step)[0]) / 2e-5 for step in steps]
    assert gradient == pytest.approx(numeric, rel=1e-5, abs=1e-4)
    numeric = [(search.at(theta + step)[1] - search.at(theta - step)[1]) / 2e-5 for step in steps]
    assert curvature == pytest.approx(np.array(numeric), rel=1e-5, abs=1e-4)


def test_units_a_little_further_on_are_told_to_the_second_order():
    fleet, *_ = drawn(5)
    units, here = units_of(fleet), np.array([[0.9, 0.1], [0.1, 0.4]])
    jet = units.passed(here)
    for size in (1e-2, 1e-3):
        by = size * np.array([0.5, -0.2, 0.3])
        gram, logdet = jet.moved(by)
        true = units.passed(here + np.array([[by[0], by[1]], [by[1], by[2]]]))
        assert np.abs(gram - true.gram).max() < 300 * size**3 * np.abs(true.gram).max()
        assert logdet == pytest.approx(true.logdet, abs=300 * size**3)


def test_fitted_is_a_minimum_of_the_dense_criterion():
    fleet, rows, nodes = drawn(11)
    found = fit(fleet)
    best, _, _ = dense(rows, nodes, found.relative)
    assert found.deviance == pytest.approx(best, abs=1e-7)
    rng = np.random.default_rng(1)
    for _ in range(30):
        other = []
        for one in found.relative:
            root = np.linalg.cholesky(one + 1e-9 * np.eye(2)) * (1 + 0.2 * rng.normal(size=(2, 2)))
            other.append(root @ root.T)
        assert dense(rows, nodes, other)[0] >= best - 1e-9


def test_units_without_spread_of_their_own():
    rng = np.random.default_rng(5)
    unit, t = np.repeat(np.arange(40), 6), rng.uniform(0, 1, 240)
    rows = np.stack([np.ones_like(t), t, 3 - t + rng.normal(size=t.size)])
    gram = np.zeros((3, 3, 40))
    np.add.at(gram, (slice(None), slice(None), unit), rows[:, None] * rows[None])
    found = fit(Nested([Part(gram, np.zeros(40, dtype=np.intp))], (), 240, 3))
    ordinary, *_ = np.linalg.lstsq(rows[:2].T, rows[2], rcond=None)
    assert found.fixed == pytest.approx(ordinary, abs=0.1)
    assert np.all(np.linalg.eigvalsh(found.level_covariances[0]) >= -1e-12)


def test_however_cut_a_fleet_gives_the_same(monkeypatch):
    fleet, _, _ = drawn(7, units=40)
    whole = Nested(
        [Part(np.concatenate([p.gram for p in fleet.parts], axis=2), np.concatenate([p.parent for p in fleet.parts]))],
        fleet.parents,
        fleet.rows,
        fleet.width,
    )
    one, two = fit(whole), fit(fleet)
    for a, b in zip(one.level_covariances, two.level_covariances, strict=True):
        assert a == pytest.approx(b, rel=1e-10, abs=1e-12)
    # And a fleet fitted through a sample of itself comes to the same optimum.
    monkeypatch.setattr(nested_fit, "SAMPLE", 20)
    sampled = fit(whole)
    assert sampled.deviance == pytest.approx(one.deviance, abs=1e-9)
    for a, b in zip(one.level_covariances, sampled.level_covariances, strict=True):
        assert a == pytest.approx(b, rel=1e-6, abs=1e-9)


def test_readings_that_tell_no_slope_are_refused():
    gram = np.ones((3, 3, 4))
    with pytest.raises(NotEnough, match="different hours"):
        fit(Nested([Part(gram, np.zeros(4, dtype=np.intp))], (), 4, 3))


@pytest.mark.parametrize("covariate", [False, True])
def test_units_in_any_order_and_in_pieces_are_the_same_fleet(monkeypatch, covariate):
    fleet, *_ = drawn(21, workshops=3, duties=2, units=150, readings=4, covariate=covariate)
    relative = np.array([[0.9, 0.1], [0.1, 0.4]])
    whole = units_of(fleet)
    assert whole.order is None
    one = whole.passed(relative)
    monkeypatch.setattr(each_unit, "CHUNK", 50)
    anyhow = np.random.default_rng(0).permutation(whole.size)
    shuffled = Units(whole.gram[:, :, anyhow], whole.parent[anyhow], whole.nodes)
    assert shuffled.order is not None
    for other in (whole.passed(relative), shuffled.passed(relative)):
        assert other.logdet == pytest.approx(one.logdet, rel=1e-12)
        for name in ("gram", "first", "second", "slope", "curve"):
            assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-9, abs=1e-9)
    assert shuffled.every(3).size == 300
