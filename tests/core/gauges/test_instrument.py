"""Instruments and temperature."""

import math
from typing import get_args

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.gauges.instrument import (
    USUAL_REPEATABILITY,
    Instrument,
    Kind,
    at_reference,
    reading_u,
    shared_u,
)
from sparkout.core.measured import Measured


def test_resolution_alone_is_a_rectangle() -> None:
    """Brute force: the error of rounding to steps of 0.01; 0.29 of the step (JCGM 100 F.2.2.1, from memory)."""
    true = np.random.default_rng(1).uniform(0.0, 5.0, 200_000)
    shown = np.round(true / 0.01) * 0.01
    gauge = Instrument("dial", "dial", 0.01, 0.0, 0.0)
    assert reading_u(gauge) == pytest.approx(np.std(shown - true), rel=5e-3)
    assert round(reading_u(gauge) / 0.01, 2) == 0.29


def test_own_and_shared_parts() -> None:
    gauge = Instrument("tape", "tape", 0.05, 0.04, 0.1)
    assert reading_u(gauge) == pytest.approx(math.sqrt(0.1**2 + 0.05**2 / 12))
    assert shared_u(gauge) == 0.04


def test_every_kind_has_a_usual_repeatability_above_zero() -> None:
    assert set(USUAL_REPEATABILITY) == set(get_args(Kind))
    assert all(value > 0 for value in USUAL_REPEATABILITY.values())


@pytest.mark.parametrize("part", ["resolution", "calibration_u", "repeatability"])
@pytest.mark.parametrize("value", [-0.1, math.nan, math.inf])
def test_instrument_refuses_impossible_parts(part: str, value: float) -> None:
    parts = {"resolution": 0.01, "calibration_u": 0.0, "repeatability": 0.0, part: value}
    with pytest.raises(OutOfRange, match=part):
        Instrument("x", "dial", **parts)


def test_instrument_refuses_an_unknown_kind() -> None:
    with pytest.raises(OutOfRange, match="kind is 'ruler'; allowed: tape, jaws"):
        Instrument("x", "ruler", 0.0, 0.0, 0.0)


def test_a_warm_reel_against_the_rise_worked_out_by_hand() -> None:
    """63.5 mm at 11.5e-6 per K and +30 K is 21.9 um longer."""
    warm = 63.5 * (1 + 11.5e-6 * 30)
    cold = at_reference(warm, Measured(323.15, 0.0))
    assert cold.value == pytest.approx(63.5, rel=1e-14)
    assert warm - cold.value == pytest.approx(0.0219, abs=5e-5)
    assert cold.u == 0.0


def test_temperature_uncertainty_against_moving_the_temperature() -> None:
    found = at_reference(127.0, Measured(300.0, 2.0, 7.0))
    moved = [at_reference(127.0, Measured(300.0 + change, 0.0)).value for change in (-1.0, 1.0)]
    assert found.u == pytest.approx(2.0 * (moved[0] - moved[1]) / 2.0, rel=1e-6)
    assert found.dof == 7.0


def test_at_reference_temperature_nothing_changes() -> None:
    assert at_reference(127.0, Measured(293.15, 0.0)).value == 127.0
    assert at_reference(127.0, Measured(310.0, 1.0), expansion=0.0) == Measured(127.0, 0.0)
    assert at_reference(127.0, Measured(310.0, 0.0), reference=310.0).value == 127.0


@pytest.mark.parametrize(
    ("length", "temperature", "expansion", "reference", "says"),
    [
        (127.0, 20.0, 11.5e-6, 293.15, "temperature is 20 K; allowed: 200 to 600 K"),
        (127.0, 293.15, 11.5, 293.15, "expansion is 11.5 1/K"),
        (127.0, 293.15, 11.5e-6, 20.0, "reference is 20 K"),
        (math.nan, 293.15, 11.5e-6, 293.15, "length is nan"),
    ],
)
def test_temperature_refusals(length: float, temperature: float, expansion: float, reference: float, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        at_reference(length, Measured(temperature, 1.0), expansion, reference)
