"""Sums by unit: however the readings stand and are cut, and against the sums written out."""

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.season import unit_sums as sums_module
from sparkout.core.season.unit_sums import Readings, unit_sums

CENTRE = (400.0, 126.0)


def drawn(seed, units=40, per=7, covariates=1):
    """Readings in the order of their units, of uneven number, some units without any."""
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(units), rng.integers(0, per, units))
    counts = rng.integers(0, 5, (covariates, unit.size)).astype(float)
    hours, value, removed = (
        rng.uniform(0, 900, unit.size),
        rng.uniform(120, 127, unit.size),
        rng.uniform(0, 1, unit.size),
    )
    return Readings(unit, hours, value, removed, counts)


def some(readings, at):
    return Readings(
        readings.unit[at], readings.hours[at], readings.value[at], readings.removed[at], readings.covariates[:, at]
    )


def written_out(readings, units):
    level = readings.value + readings.removed - CENTRE[1]
    columns = np.stack([np.ones(level.size), readings.hours - CENTRE[0], *readings.covariates, level])
    gram = np.zeros((columns.shape[0], columns.shape[0], units))
    np.add.at(gram, (slice(None), slice(None), readings.unit), columns[:, None] * columns[None])
    return gram


@pytest.mark.parametrize("covariates", [0, 1, 3])
@pytest.mark.parametrize("chunk", [4, 16_384])
def test_sums_are_those_written_out_in_any_order_and_in_parts(monkeypatch, covariates, chunk):
    monkeypatch.setattr(sums_module, "CHUNK", chunk)
    readings = drawn(5, covariates=covariates)
    wanted = written_out(readings, 40)
    found = unit_sums(readings, 40, CENTRE)
    assert found == pytest.approx(wanted, rel=1e-12, abs=1e-9)
    anyhow = np.random.default_rng(0).permutation(readings.unit.size)
    assert unit_sums(some(readings, anyhow), 40, CENTRE) == pytest.approx(wanted, rel=1e-12, abs=1e-9)
    parts = [unit_sums(some(readings, at), 40, CENTRE) for at in (anyhow[:50], anyhow[50:])]
    assert sum(parts) == pytest.approx(wanted, rel=1e-12, abs=1e-9)


def test_a_units_sums_are_the_same_bits_however_its_fleet_is_cut(monkeypatch):
    readings = drawn(6)
    whole = unit_sums(readings, 40, CENTRE)
    monkeypatch.setattr(sums_module, "CHUNK", 3)
    assert np.array_equal(unit_sums(readings, 40, CENTRE), whole)
    head = readings.unit < 17
    parts = [unit_sums(some(readings, np.flatnonzero(at)), 40, CENTRE) for at in (head, ~head)]
    assert np.array_equal(parts[0] + parts[1], whole)


def test_no_readings_have_no_sums():
    none = np.zeros(0)
    empty = Readings(np.zeros(0, dtype=np.intp), none, none, none, np.zeros((1, 0)))
    assert np.array_equal(unit_sums(empty, 3, CENTRE), np.zeros((4, 4, 3)))


def test_every_piece_is_checked_before_it_is_added():
    readings, seen = drawn(7), []
    unit_sums(readings, 40, CENTRE, seen.append)
    assert sum(rows.stop - rows.start for rows in seen) == readings.unit.size


@pytest.mark.parametrize("order", [1, -1])
def test_a_unit_outside_the_fleet_is_named(order):
    readings = some(drawn(8), slice(None, None, order))
    with pytest.raises(OutOfRange, match="unit"):
        unit_sums(readings, 5, CENTRE)
