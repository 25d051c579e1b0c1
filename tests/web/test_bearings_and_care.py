"""Bearings on the visit page, care of people on the board, the kept stance by API, the workshop's faults at the CLI."""

from __future__ import annotations

import datetime
import os
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.test import Client
from tests.api.conftest import program
from tests.cli.commands import run
from tests.recording.test_recording import sound, wav
from tests.records.workshops import SEASON, Bench, season_set

from sparkout.core.faults.diagnosis import Answer
from sparkout.core.faults.reading import usual_tables
from sparkout.records.jobs import wait_for_all
from sparkout.records.models import Hearing, Unit, Visit
from sparkout.records.operations import care
from sparkout.records.operations.attachments import attach_file
from sparkout.records.operations.doing import today
from sparkout.records.operations.faults import keep_fault_table
from sparkout.records.operations.hearing import hear_recording, heard_soon
from sparkout.records.operations.job import record_work
from sparkout.records.operations.season import set_sheet
from sparkout.records.queries import visit_file
from sparkout.web.faults.known import on_file


def enter(client: Client, box: str, line: str) -> None:
    sent = {"box": box, "line": line, "unit": "", "key": str(uuid.uuid4()), "more": "1"}
    assert client.post("/visits/1/reading/", sent)["Outcome"] == "done"


def test_bearings_are_typed_told_and_their_work_is_kept(client: Client, on_bench: Bench) -> None:
    for box, line in (
        ("drag-f", "9 N"), ("drag-f-l", "6 N"), ("drag-f-r", "3 N"), ("preload-f", "0.02 mm"),
        ("run-down_time-f", "7.5 s"), ("run-down_speed-f", "475 rpm"), ("drag-l", "5 N"),
    ):  # fmt: skip
        enter(client, box, line)
    page = client.get("/visits/1/").content.decode()
    assert "What the readings tell" in page
    assert "Drag torque: left" in page
    assert "larger left" in page
    assert "1/min each second" in page
    answer = client.post("/visits/1/look/", {"what": "both renewed", "step": "bearings"})
    assert answer.status_code in (200, 302)
    assert [work.step for work in visit_file(on_bench.visit).work] == ["bearings"]
    assert "both renewed" in client.get("/visits/1/").content.decode()
    assert 'href="/stance/?visit=1"' in page


def test_what_runs_out_and_what_was_too_much_stands_on_the_board(client: Client, on_bench: Bench) -> None:
    assert "Care of the person" not in client.get("/").content.decode()
    me, day = on_bench.me, today()
    long = datetime.timedelta(days=300)
    for work, until in (("mount wheels", 9), ("grind", -9), ("lift with a hoist", 200)):
        care.add_authorisation(
            actor=me, person=me, work=work, given_by="W", since=day - long, until=day + datetime.timedelta(days=until)
        )
    loud = {"hours": "3.1 h", "vibration": "4 m/s²", "level": "90 dB(A)", "origin": "guess"}
    care.record_exposure(actor=me, person=me, on=day, task="grind", **loud)
    care.record_exposure(actor=me, person=me, on=day - datetime.timedelta(days=20), task="grind", **loud)
    page = client.get("/").content.decode()
    part = page[page.index("care-title") : page.index('id="list"')]
    assert "AB, mount wheels: authorised by W; ends" in part
    assert "AB, grind: the authorisation ended" in part
    assert "hoist" not in part
    assert part.count("upper action value") == 1
    assert 'class="mark bad"' in part
    assert 'class="mark ask"' in part
    assert "check local rules" in part
    again = care.add_authorisation(actor=me, person=me, work="grind", given_by="W", since=day)
    assert "AB, grind" not in client.get("/").content.decode()
    care.end_authorisation(actor=me, authorisation=again)
    assert "AB, grind" in client.get("/").content.decode()


def test_the_kept_stance_by_program(on_bench: Bench) -> None:
    api = program(on_bench.me)
    path = f"units/{on_bench.unit.pk}/stance"
    told = api.told("GET", path)
    assert told["kept"]["pattern"] == "knife up"
    assert told["stance"] is None
    assert told["why_not"]
    table = {"front_roller_diameter": "64 mm", "front_roller_ahead": "88 mm", "rear_roller_behind": "82 mm",
             "rear_roller_diameter": "50 mm", "of_cut": "4 mm"}  # fmt: skip
    api.told("PATCH", path, {"height": table, "pattern": "reel down"})
    carrier = {"pivot_behind": "60 mm", "pivot_below": "20 mm", "arm": "50 mm"}
    api.told("PATCH", path, {"height": {"of_cut": "5 mm", "front_roller_diameter": "60 mm"}, "carrier": carrier})
    kept = Unit.objects.get(pk=on_bench.unit.pk)
    assert (kept.pattern, kept.height["of_cut"], kept.height["rear_roller_diameter"]) == ("reel down", "5 mm", "50 mm")
    assert kept.height["front_roller_diameter"] == "64 mm"  # that of a new one
    told = api.told("GET", path)
    assert told["figures"]["front_roller_ahead"] == 88.0


def test_ground_lately_and_not(client: Client, on_bench: Bench) -> None:
    record_work(actor=on_bench.me, visit=on_bench.visit, key=uuid.uuid4(), step="spin grind", infeeds=["0.02 mm"])
    for days, yes in ((1, 1.0), (30, 0.0)):
        Visit.objects.filter(pk=on_bench.visit.pk).update(date=today() - datetime.timedelta(days=days))
        known = {each.answer.finding: each.answer.yes for each in on_file(on_bench.unit, usual_tables())}
        assert known["ground-lately"] == yes


def known_of(unit: Unit) -> dict[str, Answer]:
    return {each.answer.finding: each.answer for each in on_file(unit, usual_tables())}


def test_more_work_on_this_edge_than_the_sheet_sets(on_bench: Bench) -> None:
    """The reel came in at 100 h on the clock and has never been ground: 540 h on its edge."""
    assert "long-since-grind" not in known_of(on_bench.unit), "nobody said how long an edge lasts here"
    season_set(on_bench)
    assert "long-since-grind" not in known_of(on_bench.unit), "the usual figure is nobody's own"
    for interval, yes in (("500 h", 1.0), ("550 h", 0.0)):
        set_sheet(actor=on_bench.me, tables={**SEASON, "interval": interval})
        answer = known_of(on_bench.unit)["long-since-grind"]
        assert answer.yes == yes
        assert f"540 h on this edge; the season sheet sets {interval}" in answer.source


def recording_told(on: Bench) -> Hearing:
    made = attach_file(actor=on.me, unit=on.unit, name="left.wav", content=wav(sound()), key=uuid.uuid4())
    said = {"blades": "11", "balls": "9", "ball_diameter": "7.94", "pitch_diameter": "39.04"}
    hearing = heard_soon(hear_recording(actor=on.me, attachment=made, **said))
    assert wait_for_all()
    return Hearing.objects.get(pk=hearing.pk)


def test_damage_heard_answers_until_the_bearings_are_worked_on(client: Client, on_bench: Bench) -> None:
    held = recording_told(on_bench)
    answer = known_of(on_bench.unit)["bearing-lines"]
    assert answer.yes is not None
    assert answer.yes > 0.99
    assert answer.source.endswith("outer race")
    page = client.get(f"/why/?unit={on_bench.unit.pk}&a=rumble.y").content.decode()
    assert f'href="/attachments/{held.attachment.pk}/"' in page
    record_work(actor=on_bench.me, visit=on_bench.visit, key=uuid.uuid4(), step="bearings", what="both renewed")
    assert "bearing-lines" not in known_of(on_bench.unit)


@pytest.mark.parametrize(("cannot", "yes"), [([], 0.0), (["it is short"], None)])
def test_no_line_is_a_no_only_where_each_could_show(on_bench: Bench, cannot: list[object], yes: float | None) -> None:
    held = recording_told(on_bench)
    lines = [{**line, "named": False} for line in held.told["bearing"]["lines"]]
    held.told = {**held.told, "bearing": {**held.told["bearing"], "lines": lines, "fault": None, "cannot": cannot}}
    held.save()
    found = known_of(on_bench.unit).get("bearing-lines")
    assert (None if found is None else found.yes) == yes


@pytest.fixture
def data(records: Path) -> Iterator[Path]:
    before = dict(os.environ)
    yield records
    os.environ.clear()
    os.environ.update(before)


def test_the_workshops_own_faults_at_the_command_line(data: Path, on_bench: Bench) -> None:
    own = '[[finding]]\nid = "clack"\nsays = "It clacks in our shed"\norigin = "seen in our sheds"\n'
    keep_fault_table(actor=on_bench.me, text=own, name="ours")
    assert "It clacks in our shed" in run("why", "--data", data)[1]
    assert "It clacks in our shed" not in run("why")[1]
    assert run("why", "--data", data, "--tables", "x.toml")[0] == 2
