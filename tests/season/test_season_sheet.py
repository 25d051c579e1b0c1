"""The season sheet: read back to itself, and everything wrong told at once, with its place."""

import datetime
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.season.sheet import DAYS, HOUR, SeasonSheet, as_tables, sheet_of
from sparkout.visit.problems import VisitProblems

WHOLE = """
start = 2026-11-30
weeks = 10
fresh_days = 5
hours = {strip = "45 min"}
people = [{name = "A", overtime = 2, week = [8, 8, "8 h", "480 min", 6, 0, 0]}, {name = "B", skills = ["strip", "set"]}]
grinders = [{name = "bench grinder", work = ["spin"]}]
machines = [{name = "M1", spared = ["Thu", "Mon"], hours_a_week = 20, importance = 3}]
away = [{who = "A", first = 2026-12-07, last = 2026-12-11, note = "leave"}]
fresh = [{at = "M1", on = 2026-12-20, name = "final"}]
chosen = [{job = "U1", on = 2026-12-02}]
costs = {hour = "32,5"}
"""


def test_a_whole_sheet() -> None:
    sheet = sheet_of(tomllib.loads(WHOLE))
    assert sheet.start == datetime.date(2026, 11, 30)
    assert (sheet.hours.of("strip"), sheet.hours.of("spin")) == (0.75, 0.75)
    assert [hours / HOUR for hours in sheet.people[0].week] == [8, 8, 8, 8, 6, 0, 0]
    assert sheet.people[1].skills == ("strip", "set")
    assert sheet.rule("M1").spared == ("Thu", "Mon")
    assert sheet.rule("elsewhere").spared == DAYS
    assert sheet.costs.hour == 32.5
    assert sheet_of(as_tables(sheet)) == sheet


@pytest.mark.parametrize(
    ("tables", "paths"),
    [
        ({"weeks": 0}, ["weeks"]),
        ({"weeks": "many", "colour": 1}, ["colour", "weeks"]),
        ({"people": [{"week": [25, 2]}]}, ["people[0].name", "people[0].week[0]"]),
        (
            {"people": [{"name": "A", "week": [1, 2]}], "grinders": [{"name": "G", "week": []}]},
            ["people[0].week", "grinders[0].week"],
        ),
        ({"people": [{"name": "A", "week": [25, 0, 0, 0, 0, 0, 0]}]}, ["people[0].week[0]"]),
        ({"people": [{"name": "A"}, {"name": "A"}]}, ["people[1].name"]),
        ({"people": "A"}, ["people"]),
        ({"people": ["A"]}, ["people[0]"]),
        ({"grinders": [{"name": "G", "work": ["paint"]}]}, ["grinders[0].work[0]"]),
        (
            {"machines": [{"name": "M", "interval": -1, "spared": "Mon"}]},
            ["machines[0].interval", "machines[0].spared"],
        ),
        ({"away": [{"who": "X", "first": "2026-12-02", "last": "2026-12-01"}]}, ["away[0].who", "away[0].last"]),
        ({"fresh": [{"at": "M", "on": "soon"}]}, ["fresh[0].on"]),
        ({"chosen": [{"on": "2026-12-02"}]}, ["chosen[0].job"]),
        ({"people": [{"name": "A", "overtime": "2 kg"}]}, ["people[0].overtime"]),
        ({"people": [{"name": "A", "skils": []}]}, ["people[0].skils"]),
        ({"costs": {"hour": -1}}, ["costs.hour"]),
        ({"start": "then", "fresh_days": 99}, ["start", "fresh_days"]),
        ({"people": [{"name": "x" * 300}]}, ["people[0].name"]),
    ],
)
def test_everything_wrong_is_told_with_its_place(tables: dict, paths: list[str]) -> None:
    with pytest.raises(VisitProblems) as refused:
        sheet_of(tables)
    assert sorted(problem.path for problem in refused.value.problems) == sorted(paths)


weeks = st.lists(st.floats(0, 24).map(lambda h: round(h, 2)), min_size=7, max_size=7)


@given(
    st.lists(st.tuples(st.text("abcd ", min_size=1, max_size=5).filter(str.strip), weeks), max_size=4),
    st.integers(1, 104),
)
def test_whatever_is_kept_reads_back(people: list, n: int) -> None:
    named = {name.strip(): week for name, week in people}
    sheet = sheet_of({"weeks": n, "people": [{"name": name, "week": week} for name, week in named.items()]})
    assert sheet_of(as_tables(sheet)) == sheet
    assert isinstance(sheet, SeasonSheet)
