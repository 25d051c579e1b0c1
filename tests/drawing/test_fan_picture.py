"""The fan of one unit's forecast."""

import xml.etree.ElementTree as ET

import pytest

from sparkout.core.errors import OutOfRange
from sparkout.drawing.fan import Band, Grind, wear_fan

HOURS, VALUES = [0, 120, 240, 360, 500], [127.0, 126.8, 126.2, 126.05, 125.4]
AHEAD = [500, 1000, 2000, 3000]
BAND = Band(
    AHEAD,
    [125.3, 124.3, 122.2, 120.0],
    [125.35, 124.45, 122.6, 120.7],
    [125.4, 124.55, 122.9, 121.2],
    [125.45, 124.65, 123.2, 121.7],
    [125.5, 124.8, 123.6, 122.4],
)
GRINDS = [Grind(200, 126.6, 126.3), Grind(430, 125.9, 125.5, True)]


def picture(**more):
    return wear_fan(HOURS, VALUES, BAND, limit=121.0, grinds=GRINDS, reached=(2600.0, 2620.0, float("inf")), **more)


@pytest.mark.parametrize("width", [320, 390, 820])
def test_the_fan_stays_inside_its_picture_and_is_the_same_each_time(width):
    made = picture(width=width)
    assert made == picture(width=width)
    root = ET.fromstring(made)
    assert float(root.attrib["width"]) == width
    for circle in root.iter("{http://www.w3.org/2000/svg}circle"):
        assert 0 <= float(circle.attrib["cx"]) <= width
    told = " ".join("".join(root.itertext()).split())
    assert "limit 121" in told
    assert "was there one?" in told
    assert "no time in sight" in told


def test_a_single_reading_without_forecast_is_drawn():
    made = wear_fan([0.0], [127.0], None)
    assert "as likely earlier" not in made


@pytest.mark.parametrize(
    ("band", "match"),
    [
        (Band([0, 1], [2, 2], [1, 1], [3, 3], [4, 4], [5, 5]), "in order"),
        (Band([0, 1], [1, 1], [2], [3, 3], [4, 4], [5, 5]), "low"),
    ],
)
def test_bands_that_make_no_sense_are_named(band, match):
    with pytest.raises(OutOfRange, match=match):
        wear_fan([0.0], [127.0], band)


def test_readings_must_be_there_and_finite():
    with pytest.raises(OutOfRange):
        wear_fan([], [], None)
    with pytest.raises(OutOfRange):
        wear_fan([0.0], [float("nan")], None)
