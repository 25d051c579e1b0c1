"""The invented technician: what is written down is what such a gauge can show."""

import numpy as np
import pytest

from sparkout.core.practice.virtual_unit import VirtualUnit
from sparkout.core.reel.geometry import Reel
from sparkout.demonstration.technician import THREE, Technician, where
from sparkout.demonstration.workshop import GAUGES, Gauge

UNIT = VirtualUnit(Reel(11, 127.0, 533.0), 63.0, frame_out=0.2, knife_bow=0.1)
EXACT = (
    Gauge("tape", "tape", "mm", 0.05, 0.0, 0.0, "2027-01-01"),
    Gauge("leaves", "feeler", "mm", 0.0, 0.0, 0.0, "2027-01-01"),
    Gauge("thou leaves", "feeler", "thou", 0.0, 0.0, 0.0, "2027-01-01"),
    Gauge("dial", "dial", "thou", 0.5, 0.0, 0.0, "2027-01-01"),
)


@pytest.fixture
def hand() -> Technician:
    return Technician("technician A", EXACT, np.random.default_rng(1))


def test_as_many_decimals_as_the_step_has() -> None:
    shown = {gauge.id: gauge.text(0.3 if gauge.unit != "deg" else 0.21) for gauge in GAUGES}
    assert shown["tape 1"] == "0.30 mm"
    assert shown["protractor 1"] == "12.03 deg"
    assert shown["spring balance 1"] == "0.3 N"
    assert shown["tape 2"] == "0.012 in"
    assert EXACT[3].text(-1e-9) == "0.0 thou"


def test_a_reading_names_quantity_gauge_and_place(hand: Technician) -> None:
    assert hand.read("diameter", "tape", 125.4185, at="left") == {
        "of": "diameter", "gauge": "tape", "at": "left", "value": "125.40 mm",
    }  # fmt: skip
    assert hand.read("end play", "dial", -0.01, least=0.0)["value"] == "0.0 thou"
    hand.when = "as left"
    assert hand.read("diameter", "tape", 125.4, at="left")["when"] == "as left"


def test_leaves_in_either_unit(hand: Technician) -> None:
    assert hand.leaves("gap", "leaves", 0.055, at="left") == {
        "of": "gap", "gauge": "leaves", "at": "left", "goes": "0.05 mm", "does_not_go": "0.06 mm",
    }  # fmt: skip
    thou = hand.leaves("gap", "thou leaves", 0.055)
    assert (thou["goes"], thou["does_not_go"]) == ("2 thou", "3 thou")
    assert "goes" not in hand.leaves("gap", "leaves", -0.03)


def test_heights_count_from_the_first_station(hand: Technician) -> None:
    frame = hand.zeroed("frame", "dial", UNIT, THREE, "F")
    assert [reading["value"] for reading in frame] == ["0.0 thou", "4.0 thou", "8.0 thou"]
    edge = hand.zeroed("knife straightness", "tape", UNIT, THREE, "S")
    assert [reading["value"] for reading in edge] == ["0.00 mm", "0.10 mm", "0.00 mm"]


def test_places_in_words() -> None:
    assert [where(UNIT, at) for at in THREE] == [0.0, 266.5, 533.0]
