from __future__ import annotations

import datetime
import math

import pytest
from tests.visit.examples import FULL, GAUGES, SMALL, reading, small

from sparkout.core.errors import Refusal
from sparkout.visit.problems import VisitProblems
from sparkout.visit.reading import read_visit, read_visit_file


def problems(text: str | bytes) -> dict[str, object]:
    with pytest.raises(VisitProblems) as caught:
        read_visit(text)
    return {problem.path: problem for problem in caught.value.problems}


def test_every_table_is_read_into_core_units() -> None:
    visit = read_visit(FULL)
    assert visit.visit.date == datetime.date(2026, 11, 25)
    assert visit.visit.vocabulary == "us"
    assert visit.visit.paper_size == "Letter"
    assert visit.unit.hours == 1240 * 3600
    assert visit.reel.diameter == pytest.approx(127.0, rel=1e-15)
    assert visit.reel.land == 1.0
    assert visit.reel.helix == pytest.approx(math.radians(20))
    assert visit.knife.clicks_per_turn == 12
    assert visit.mowing.travel_speed == pytest.approx(2.8 * 1609344 / 3600)
    assert visit.limits[1].at_most == pytest.approx(0.0508)
    assert visit.limits[1].accepted_risk == pytest.approx(0.01)
    assert visit.limits[0].accepted_risk == 0.05
    assert visit.wanted.uncleaned_share == 0.0
    assert visit.readings[0].temperature == pytest.approx(291.15)
    assert visit.readings[0].time == visit.readings[1].time.replace(minute=40) == datetime.time(9, 40)
    assert visit.work[0].infeeds == (0.02, 0.02, 0.0)
    assert visit.paper[0].outcomes[1] == ("clean", "pinched", "uncut")
    assert visit.paper[0].outcomes[2] == ("clean", "", "clean")


def test_expanded_uncertainty_is_divided_by_its_k() -> None:
    visit = read_visit(FULL)
    assert visit.gauge("dial 1").calibration_u == pytest.approx(0.004)
    assert visit.gauge("tape 1").calibration_u == 0.05
    assert visit.gauge("leaves").calibration_u is None


def test_a_sweep_becomes_one_reading_per_cell_with_its_place_in_the_file() -> None:
    placed = [(path, r) for path, r in read_visit(FULL).placed_readings if path[0] == "sweeps"]
    assert len(placed) == 8, "one of the nine cells was not taken"
    path, last = placed[-1]
    assert path == ("sweeps", 0, "values", 2, 2)
    assert (last.blade, last.at.along(533), last.set_up, last.when) == (3, 533, "sweep 1", "as found")
    by_cell = {path[3:]: r.value for path, r in placed}
    assert by_cell[0, 1] == pytest.approx(0.0254)
    assert by_cell[0, 1].text == "1 thou"
    assert by_cell[1, 0] == 0.05
    assert by_cell[1, 0].text == "0.05 mm"
    assert len(read_visit(FULL).all_readings) == 4 + 8


def test_sweeps_with_named_blades_angles_and_single_rows() -> None:
    visit = read_visit(
        small(
            GAUGES
            + """
[[sweeps]]
of = "land"
at = ["left", "right"]
blades = [4, 9]
values = [[1.0, 1.1], [1.2, 1.3]]
[[sweeps]]
of = "shaft"
set_up = "B"
at = ["centre"]
angles = [0, "90 deg"]
values = [[0], [0.1]]
[[sweeps]]
of = "diameter"
gauge = "tape"
at = ["left", "right"]
values = [[125.1, 125.2]]
"""
        )
    )
    found = [(r.of, r.blade, r.angle, r.set_up) for r in visit.all_readings]
    assert found == [
        ("land", 4, None, "sweep 1"),
        ("land", 4, None, "sweep 1"),
        ("land", 9, None, "sweep 1"),
        ("land", 9, None, "sweep 1"),
        ("shaft", None, 0.0, "B"),
        ("shaft", None, pytest.approx(math.pi / 2), "B"),
        ("diameter", None, None, "sweep 3"),
        ("diameter", None, None, "sweep 3"),
    ]


def test_a_partial_visit_has_empty_tables_to_ask() -> None:
    visit = read_visit(SMALL)
    assert visit.knife.top_angle is None
    assert visit.grinder.give is None
    assert visit.all_readings == ()
    assert visit.reel.relief_from_tangent is None


@pytest.mark.parametrize(
    ("angle", "datum", "expected"),
    [("30 deg", "tangent", 30), ("30 deg", "radius", 60), ("45 deg", None, 45), ("30 deg", None, None)],
)
def test_the_relief_angle_is_never_guessed_from_a_missing_datum(angle, datum, expected) -> None:
    line = f"relief_datum = '{datum}'" if datum else ""
    got = read_visit(small(f"relief_angle = '{angle}'\n{line}\n")).reel.relief_from_tangent
    assert got == (None if expected is None else pytest.approx(math.radians(expected)))


def test_json_is_read_with_the_same_names() -> None:
    text = '{"unit": {"name": "3"}, "reel": {"blades": 11, "diameter": "127 mm", "length": "533 mm"}}'
    assert read_visit(text) == read_visit(SMALL) == read_visit(SMALL.encode("utf-8-sig"))


def test_all_problems_come_at_once_with_line_value_range_unit_and_suggestion() -> None:
    found = problems(
        """
[unit]
nam = "x"
[cylinder]
[reel]
blades = 0
diameter = 5
length = "127 m"
[[gauges]]
id = "t"
kind = "tap"
[[readings]]
of = "land"
at = "lefft"
value = nan
[[readings]]
of = "rest gap"
at = "left"
goes = "0.2 mm"
does_not_go = "0.1 mm"
"""
    )
    assert set(found) == {
        "unit.name", "unit.nam", "cylinder", "reel.blades", "reel.diameter", "reel.length", "gauges[0].kind",
        "readings[0].at", "readings[0].value", "readings[1].goes",
    }  # fmt: skip
    diameter = found["reel.diameter"]
    assert (diameter.line, diameter.value, diameter.allowed, diameter.unit) == (7, "5", "40 to 600", "mm")
    assert diameter.suggestion == "Did you mean 5 in (127 mm) or 5 cm (50 mm)?"
    assert str(diameter).startswith("line 7, reel, diameter: 5 counted in mm is too small; allowed: 40 to 600 mm.")
    assert found["unit.nam"].suggestion == "Did you mean 'name'?"
    assert found["cylinder"].suggestion == "Here it is called 'reel'."
    assert found["reel.blades"].allowed == "2 to 40"
    assert "which is 127000 mm" in found["reel.length"].text
    assert found["gauges[0].kind"].suggestion == "Did you mean 'tape'?"
    assert found["readings[0].at"].suggestion == "Did you mean 'left'?"
    assert found["readings[1].goes"].line == 19
    assert found["readings[1].goes"].place == "line 19, readings number 2, goes"


def test_contradictions_are_found_beside_errors_of_fields_and_keep_their_place() -> None:
    found = problems(
        small(GAUGES + reading("nonsense") + reading("land", value="1 mm", gauge="rule", blade=12) + reading("land"))
    )
    assert set(found) == {"readings[0].of", "readings[1].blade", "readings[2]"}


def test_a_gauge_in_error_is_not_also_called_unknown() -> None:
    found = problems(small("[[gauges]]\nid='t'\nkind='tepa'\n" + reading("land", value=1, gauge="t", blade=1)))
    assert set(found) == {"gauges[0].kind"}


def test_refusals_are_refusals() -> None:
    with pytest.raises(Refusal, match="needed"):
        read_visit("[unit]")


def test_a_missing_table_is_asked_for() -> None:
    found = problems("[unit]\nname = 'x'")
    assert "needed" in found["reel"].text


@pytest.mark.parametrize(
    ("more", "path", "words"),
    [
        ("[knife]\nthickness = true", "knife.thickness", "not a length"),
        ("[knife]\nthickness = [3]", "knife.thickness", "a list is not a length"),
        ("[knife]\nthickness = '3 kg'", "knife.thickness", "'kg' is a unit of mass"),
        ("[knife]\nthickness = '" + "3" * 80 + "'", "knife.thickness", "too long"),
        ("[knife]\nthickness = " + "9" * 400, "knife.thickness", "finite"),
        ("[knife]\nthickness = inf", "knife.thickness", "not a finite number"),
        ("[knife]\nthickness = '1,200 mm'", "knife.thickness", "can be read as"),
        ("[knife]\nthickness = '500 mm'", "knife.thickness", "'500 mm' is too large"),
        ("[knife]\nclicks_per_turn = 1.5", "knife.clicks_per_turn", "not a whole number"),
        ("[knife]\nclicks_per_turn = true", "knife.clicks_per_turn", "not a whole number"),
        ("[knife]\nclicks_per_turn = 99999", "knife.clicks_per_turn", "too large"),
        ("[knife]\nclicks_per_turn = " + "9" * 30, "knife.clicks_per_turn", "more than 18 digits"),
        ("[visit]\nvocabulary = 'fr'", "visit.vocabulary", "words known here"),
        ("[visit]\nvocabulary = 3", "visit.vocabulary", "words known here"),
        ("[visit]\ntechnician = 3", "visit.technician", "not a text"),
        ("[visit]\ntechnician = '" + "x" * 101 + "'", "visit.technician", "101 characters"),
        ("[visit]\ntechnician = \"\\u001b[2J\"", "visit.technician", "control character"),
        ("[visit]\ndemonstration = 1", "visit.demonstration", "neither true nor false"),
        ("[visit]\ndate = '25.11.2026'", "visit.date", "not a date"),
        ("[visit]\ndate = '2026-02-30'", "visit.date", "not a date"),
        ("[visit]\ndate = 2026-11-25T10:00:00", "visit.date", "not a date"),
        ("[visit]\ndate = 20261125", "visit.date", "not a date"),
        (reading("land", value=1, time="9h"), "readings[0].time", "not a time of day"),
        (reading("land", value=1, time="09:40+01:00"), "readings[0].time", "not a time of day"),
        (reading("land", value=1, at=5000), "readings[0].at", "too large"),
        (reading("land", value=1, at=[1]), "readings[0].at", "not a length"),
        ("[readings]\nof = 'land'", "readings", "a table stands where a list is wanted"),
        ("readings = 3", "reel.readings", "no 'readings' in [reel]"),
        ("diameter_new = 3", "reel.diameter_new", "no 'diameter_new'"),
        ("helix_angle = 3", "reel.helix_angle", "no 'helix_angle'"),
        ("give = 3", "reel.give", "no 'give'"),
        ("[[knife]]\narm = 3", "knife", "a list stands where a table is wanted"),
        ("[[paper]]\nstations=['left']\nrows=['x']", "paper[0].rows[0]", "no row of outcomes"),
        ("[[paper]]\nstations=['left']\nrows=[7]", "paper[0].rows[0]", "no row of outcomes"),
        ("[[sweeps]]\nof='land'\nat=['left']\nunit='kg'\nvalues=[[1]]", "sweeps[0].unit", "not a unit of a length"),
        ("[[sweeps]]\nof='land'\nat=['left']\nunit=3\nvalues=[[1]]", "sweeps[0].unit", "not a unit"),
        ("[[sweeps]]\nof='land'\nat=['left']\nunit='5 mm'\nvalues=[[1]]", "sweeps[0].unit", "not a unit"),
        ("[[sweeps]]\nof='land'\nat=['left']\nunit='in'\nvalues=[[1]]", "sweeps[0].values[0][0]", "which is 25.4 mm"),
        ("[[sweeps]]\nof='land'\nat=['left']\nvalues=[[true]]", "sweeps[0].values[0][0]", "not a length"),
        ("[[sweeps]]\nof='land'\nat=['left']\nvalues=[['x']]", "sweeps[0].values[0][0]", "not a number"),
        ("[[sweeps]]\nof='land'\nat=['left']\nvalues=[1]", "sweeps[0].values[0]", "where a list is wanted"),
        ("[[gauges]]\nid='p'\nkind='protractor'\nresolution='1 mm'", "gauges[0].resolution", "is a unit of length"),
        ("[[limits]]\nquantity='run-out'\nat_most=-1", "limits[0].at_most", "too small"),
    ],
)  # fmt: skip
def test_each_slip_is_named(more, path, words) -> None:
    found = problems(small(more))
    assert path in found
    assert words in found[path].text


def test_where_an_unknown_key_belongs_is_said() -> None:
    assert problems(small("give = 3"))["reel.give"].suggestion == "It belongs in [grinder]."
    assert problems("blades = 3\n" + SMALL)["blades"].suggestion.startswith("It belongs in [reel]")
    assert problems(small("[qqqq]"))["qqqq"].suggestion.startswith("Known here: sparkout, visit, unit")


def test_a_later_layout_is_refused() -> None:
    assert problems("sparkout = 2\n" + SMALL)["sparkout"].allowed == "1 to 1"


def test_a_flood_of_problems_is_cut_short_and_says_so() -> None:
    found = problems(small("\n".join(reading("nonsense") for _ in range(500))))
    assert len(found) == 201
    assert "more than 200 problems" in found[""].text


def test_the_file_keeps_its_lines_for_questions() -> None:
    file = read_visit_file(FULL)
    line = file.line_of(("readings", 2, "goes"))
    assert FULL.splitlines()[line - 1] == 'goes = "0.15 mm"'
    assert file.questions() == ()


def test_a_limit_typed_among_the_parts_is_sent_to_the_limits() -> None:
    assert "[[limits]]" in problems(small("service_diameter = 120"))["reel.service_diameter"].suggestion


def test_a_file_name_taken_for_its_content_is_explained() -> None:
    assert "pathlib.Path" in problems("some/visit.toml")[""].suggestion


def test_whole_numbers_may_be_typed_as_text_or_with_a_point() -> None:
    assert read_visit(small("[knife]\nclicks_per_turn = 12.0")).knife.clicks_per_turn == 12
    assert read_visit(small("[knife]\nclicks_per_turn = ' 12 '")).knife.clicks_per_turn == 12


def test_errors_of_fields_and_contradictions_outside_lists_come_together() -> None:
    assert set(problems(small("land = 3\nblade_thickness = 2\nrelief_angle = 'x'"))) == {
        "reel.land",
        "reel.relief_angle",
    }


def test_the_same_visit_in_inches_is_the_same_visit() -> None:
    metric = read_visit(small(GAUGES + reading("diameter", gauge="tape", at="25.4 mm", value="125.73 mm")))
    inches = read_visit(
        small(GAUGES + reading("diameter", gauge="tape", at="1 in", value="4.95 in"))
        .replace("127 mm", "5 in")
        .replace("533 mm", "20.98425196850393700787 in")
    )
    for one, other in ((metric.reel.diameter, inches.reel.diameter), (metric.reel.length, inches.reel.length)):
        assert one == pytest.approx(other, rel=1e-14)
    one, other = metric.all_readings[0], inches.all_readings[0]
    assert one.value == pytest.approx(other.value, rel=1e-14)
    assert one.at.along(533) == pytest.approx(other.at.along(533), rel=1e-14)
