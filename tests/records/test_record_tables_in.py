# ruff: noqa: E501 - tables as they stand
"""Tables into the records: tried first, entered once, whole after every interruption, and each record knows its row."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from tests.interchange.made_files import workbook
from tests.records.workshops import Bench

from sparkout.core.errors import Refusal
from sparkout.interchange.mapping import FileMapping
from sparkout.records import jobs
from sparkout.records.bringing import run as bringing
from sparkout.records.bringing.operations import (
    bring_in_table,
    came_from,
    note_columns,
    proposed_again,
    receive_table,
    settle_columns,
    try_table,
)
from sparkout.records.bringing.outcome import CHANGES
from sparkout.records.bringing.past import EARLIER
from sparkout.records.bringing.store import ENTERING, TRIAL, Outcomes
from sparkout.records.jobs import Progress, do_now
from sparkout.records.models import (
    Event,
    Fitting,
    Gauge,
    Grinder,
    HistoryLine,
    HoursEntry,
    Job,
    KnownShape,
    Limit,
    Machine,
    Person,
    Place,
    Reading,
    Reel,
    ReelType,
    TableFile,
    TableRow,
    Unit,
    Visit,
    WorkDone,
)
from sparkout.records.operations.turf import record_hours
from sparkout.records.operations.units import add_unit
from sparkout.records.operations.visits import sign_visit
from sparkout.records.queries import visit_file
from sparkout.visit.reading import read_visit

ON_UNIT = "unit 3"


def received(on: Bench, content: str | bytes, name: str = "table.csv") -> TableFile:
    raw = content.encode() if isinstance(content, str) else content
    return receive_table(actor=on.me, name=name, chunks=[raw])


def tried(on: Bench, content: str | bytes, name: str = "table.csv") -> list[tuple[str, str]]:
    """What a trial says of each row: what and why."""
    file = received(on, content, name)
    job = do_now(try_table(actor=on.me, file=file))
    assert job.state == "done", job.message
    return [(told.what, str(told.why)) for told in Outcomes(file, TRIAL).read()]


def entered(on: Bench, content: str | bytes, name: str = "table.csv", **how: Any) -> dict[str, int]:
    """Counts of an entering, zeros left out; a trial just before must have said the same."""
    said: dict[str, int] = {}
    for what, _ in tried(on, content, name):
        told = "left" if what == CHANGES and not how.get("with_changes") else what
        said[told] = said.get(told, 0) + 1
    file = received(on, content, name)
    job = do_now(bring_in_table(actor=on.me, file=file, **how))
    assert job.state == "done", job.message
    counts = {what: n for what, n in job.told.items() if n}
    assert counts == said
    return counts


FLEET = "Mower,Position,Unit,Reel serial,Blades,Dia (in),Length (mm),HOC\nG9,front left,A,R1,11,5,533,4 mm\nG9,centre,B,R2,11,5,533,4 mm\n"


def test_a_fleet_list_sets_up_machines_units_and_reels(on_bench: Bench) -> None:
    assert tried(on_bench, FLEET)[0] == ("adds", "and adds machine 'G9', reel 'R1'")
    assert not Machine.objects.filter(name="G9").exists()
    assert entered(on_bench, FLEET) == {"adds": 2}
    unit = Unit.objects.get(name="A")
    assert (str(unit), unit.height) == ("A · G9 · front left", {"of_cut": "4 mm"})
    assert Fitting.objects.get(unit=unit).part.label == "R1"
    assert Reel.objects.get(label="R2").type == Reel.objects.get(label="R1").type
    assert entered(on_bench, FLEET) == {"same": 2}


def test_a_unit_list_changes_fits_and_refuses_swaps(on_bench: Bench) -> None:
    entered(on_bench, FLEET)
    add_unit(actor=on_bench.me, name="bare")
    assert tried(on_bench, "Unit,Reel serial,Reel type\nbare,R9,greens\nA,R2,\nB,R7,greens\n") == [
        ("changes", "reel fitted from nothing to R9"),
        ("refused", "it holds the reel 'R1'; a swap comes in with its day, as a part fitted"),
        ("refused", "it holds the reel 'R2'; a swap comes in with its day, as a part fitted"),
    ]
    change = "Mower,Unit,Position,HOC (mm),In use\nG9,A,rear,5,no\nG9,B,rear,,\nG9,new,centre,,\n"
    assert tried(on_bench, change)[0] == (
        "changes",
        "position from front left to rear; height of cut from 4 mm to 5 mm; in use from yes to no",
    )
    assert entered(on_bench, change) == {"left": 2, "refused": 1}
    file = received(on_bench, change)
    do_now(bring_in_table(actor=on_bench.me, file=file, with_changes=True))
    unit = Unit.objects.get(name="A")
    assert (unit.position and unit.position.name, unit.height, unit.active) == ("rear", {"of_cut": "5 mm"}, False)
    assert [t.what for t in Outcomes(file, ENTERING).read()] == ["changes", "refused", "refused"]
    assert [row.what for row in came_from(unit)] == ["added", "changed", "changed"]


THINGS = {
    "places": "Place\nnorth\n",
    "people": "Person,Language,Works here\nCD,de,yes\n",
    "machines": "Mower,Site\nM2,south\n",
    "reel types": "Reel type,Blades,Dia,Length,Relief angle,Relief datum\nfairway,8,178 mm,660 mm,30 deg,radius\n",
    "knife types": "Knife type,Top angle,Lip height\nthin,10 deg,4 mm\n",
    "gauges": "Gauge,Type,Resolution,Cal due,Out of use\nT9,pi tape,0.05 mm,2027-03-31,no\n",
    "calibrations": "Gauge,Calibrated on,Certificate no,Next due,Errors found\ntape 1,2026-02-03,C 17,2031-02-03,125 mm: 0.02 mm; 150 mm: 0.03 mm\n",
    "old calibrations": "Gauge,Calibrated on,Next due\ntape 1,2020-02-03,2021-02-03\n",
    "places out of use": "Place,Out of use since\nold course,2025-01-02\n",
    "units": "Mower,Unit,Out of use since,In use\nM7,U7,2025-01-02,no\n",
    "grinders": "Grinder,give,wheel width\nG2,0.6,20 mm\n",
    "limits": "Quantity,At most,Origin,Reel type\ncone,0.05 mm,house,greens\n",
    "reels": "Serial,Reel type,Blades,Diameter,Length\nR5,special,9,150 mm,600 mm\n",
    "knives": "Serial,Knife type,Lip height\nK5,thick,5 mm\n",
    "events": "Date,What happened,Mower,Remarks\n2026-05-04,stone,greens machine 1,sprinkler\n",
    "hours": "Unit,Date,Hours,Area\nunit 3,2026-05-04,700 h,3 ha\n",
    "fittings": "Unit,Which part,Serial,Fitted,Removed\nunit 3,reel,R5,2024-01-02,2024-05-01\n",
    "work": "Unit,Date,Step,Infeeds,Done by,Technician\nunit 3,2025-12-01,grind,0.02/0.02/0,AB,AB\n",
}


@pytest.mark.parametrize("name", THINGS)
def test_every_kind_is_entered_once_and_says_where_it_came_from(on_bench: Bench, name: str) -> None:
    if name == "fittings":
        entered(on_bench, THINGS["reels"])
    before, lines = TableRow.objects.count(), HistoryLine.objects.count()
    assert entered(on_bench, THINGS[name]) == {"adds": 1}
    assert TableRow.objects.count() > before
    assert HistoryLine.objects.count() == lines + 1
    for row in TableRow.objects.all()[before:]:
        from django.apps import apps

        assert apps.get_model("records", row.subject).objects.filter(pk=row.subject_id).exists()
    assert entered(on_bench, THINGS[name]) == {"same": 1}
    assert entered(on_bench, THINGS[name], with_changes=True) == {"same": 1}


@pytest.mark.parametrize(
    ("name", "old", "new", "told"),
    [
        ("people", "de,yes", "en,no", "language from de to en; works here from yes to no"),
        ("places out of use", "2025-01-02", "2025-01-03", "out of use since from 2025-01-02 to 2025-01-03"),
        ("units", "2025-01-02", "2025-01-03", "out of use since from 2025-01-02 to 2025-01-03"),
        ("machines", "south", "east", "place from south to east"),
        ("reel types", "178 mm", "180 mm", "reel diameter when new from 178 mm to 180 mm"),
        ("knife types", "4 mm", "5 mm", "lip height from 4 mm to 5 mm"),
        ("gauges", "2027-03-31,no", "2028-03-31,yes", "calibration due from 2027-03-31 to 2028-03-31; out of use from no to yes"),
        ("grinders", "20 mm", "25 mm", "wheel width from 20 mm to 25 mm"),
        ("limits", "0.05 mm", "0.04 mm", "at most from 0.05 mm to 0.04 mm"),
        ("reels", "150 mm", "151 mm", "reel diameter when new from 150 mm to 151 mm"),
        ("knives", "5 mm", "6 mm", "lip height from 5 mm to 6 mm"),
        ("hours", "700 h", "710 h", "hours from 700 h to 710 h"),
        ("fittings", "2024-05-01", "2024-06-01", ""),
    ],
)  # fmt: skip
def test_changes_are_told_and_made_only_when_wanted(on_bench: Bench, name: str, old: str, new: str, told: str) -> None:
    for first in ("reels",) if name == "fittings" else ():
        entered(on_bench, THINGS[first])
    entered(on_bench, THINGS[name])
    changed = THINGS[name].replace(old, new)
    if name == "fittings":
        assert tried(on_bench, changed) == [("refused", "it was taken out on 2024-05-01")]
        return
    assert tried(on_bench, changed) == [("changes", told)]
    assert entered(on_bench, changed) == {"left": 1}
    assert entered(on_bench, changed, with_changes=True) == {"changes": 1}
    assert entered(on_bench, changed) == {"same": 1}
    assert entered(on_bench, THINGS[name]) == {"left": 1}


@pytest.mark.parametrize(
    ("table", "why"),
    [
        ("Gauge,Type\ntape 1,dial\n", "is a gauge of another kind, tape"),
        ("Serial,Reel type\nR1,unheard of\n", "there is no reel type 'unheard of'; bring it in first"),
        ("Serial,Reel type,Diameter\nreel 7,other,\n", "is of another type, 'greens'"),
        ("Reel type,Blades\nhalf,11\n", "needed: diameter over the blade edges when new"),
        ("Reel type,Blades,Dia,Length,Land,Blade thickness\nodd,11,127 mm,533 mm,9 mm,5 mm\n", "land"),
        ("Quantity,At most,Origin,Reel type\ncone,0.05 mm,house,unheard of\n", "no reel type"),
        ("Quantity,At most,Origin,Reel type,Knife type\ncone,0.05 mm,house,greens,thin\n", "no knife type"),
        ("Unit,Date,Hours\nunit 4,2026-05-04,700 h\n", "there is no unit 'unit 4'; did you mean 'unit 3'?"),
        ("Mower,Unit,Date,Hours\ngreens machine 2,unit 3,2026-05-04,700 h\n", "there is no machine 'greens machine 2'; did you mean 'greens machine 1'?"),
        ("Mower,Unit,Date,Hours\ngreens machine 1,unit 9,2026-05-04,700 h\n", "there is no unit 'unit 9' on greens machine 1; did you mean"),
        ("Date,What happened\n2026-05-04,stone\n", "none is named"),
        ("Date,What happened,Place\n2026-05-04,sand,moon\n", "there is no place 'moon'; bring it in first"),
        ("Date,What happened,Mower\n2026-05-04,sand,moon\n", "there is no machine 'moon'; bring it in first"),
        ("Date,What happened,Unit\n2026-05-04,sand,moon\n", "there is no unit 'moon'"),
        ("Unit,Which part,Serial,Fitted\nunit 3,reel,none,2020-01-01\n", "there is no reel 'none'"),
        ("Unit,Which part,Serial,Fitted,Removed\nunit 3,reel,reel 7,2020-01-02,2020-01-01\n", "before it was fitted"),
        ("Unit,Which part,Serial,Fitted\nunit 3,reel,reel 7,2020-01-02\n", "'reel 7' was in this unit then"),
        ("Unit,Date,Quantity,At,Value,Gauge\nunit 3,2025-01-02,diameter,left,125 mm,none\n", "no gauge 'none'; bring the gauges in first"),
        ("Unit,Date,Quantity,At,Value\nunit 3,2025-01-02,diameter,left,125 mm\n", "gauge"),
        ("Unit,Date,Quantity,Blade,At,Value,Gauge\nunit 3,2025-01-02,run-out,12,left,0.1 mm,dial 1\n", "blade"),
        ("Unit,Reel serial\nC,R77\n", "its blades, diameter and length are needed"),
        ("Unit,Reel serial\nC,reel 7\n", "reel 'reel 7' is in unit 3 · greens machine 1"),
        ("Mower,Position,Unit\ngreens machine 1,front left,C\n", "'unit 3' sits at 'front left'"),
    ],
)  # fmt: skip
def test_refusals_say_why(on_bench: Bench, table: str, why: str) -> None:
    told = tried(on_bench, table)
    assert [what for what, _ in told] == ["refused"]
    assert why in told[0][1]
    before = (Unit.objects.count(), TableRow.objects.count())
    assert entered(on_bench, table) == {"refused": 1}
    assert (Unit.objects.count(), TableRow.objects.count()) == before


READINGS = """Unit,Date,Technician,Hours,Quantity,At,Value,Gauge,Before or after,Note
unit 3,2025-01-02,CD,200,diameter,left,126.1 mm,tape 1,before,
unit 3,2025-01-02,CD,200,diameter,left,126.1 mm,tape 1,before,
unit 3,2025-01-02,CD,200,diameter,right,126.4 mm,tape 1,before,chipped
unit 3,2025-01-02,CD,200,diameter,left,125.9 mm,tape 1,after,
unit 3,2025-06-02,CD,300,diameter,left,125.5 mm,tape 1,,
"""


def test_readings_of_the_past_become_visits_marked_as_such(on_bench: Bench) -> None:
    assert entered(on_bench, READINGS) == {"adds": 5}
    first, second = Visit.objects.filter(statement=EARLIER).order_by("date")
    assert (first.state, first.signed_by, str(first.signed_on), first.technician) == (
        "signed",
        "CD",
        "2025-01-02",
        "CD",
    )
    assert (first.readings.count(), second.readings.count()) == (4, 1)
    assert HoursEntry.objects.get(visit=first).hours == "200 h"
    told = visit_file(first)
    assert [float(r.value) for r in told.readings if r.value is not None] == [126.1, 126.1, 126.4, 125.9]
    assert told.gauges[0].id == "tape 1"
    assert came_from(first)
    assert [row.row for row in came_from(first.readings.order_by("pk")[2])] == [4]


def test_the_same_readings_twice_are_there_once_and_repeats_stay_repeats(on_bench: Bench) -> None:
    entered(on_bench, READINGS)
    assert entered(on_bench, READINGS) == {"same": 5}
    assert Reading.objects.count() == 5
    once_more = READINGS + "unit 3,2025-01-02,CD,200,diameter,left,126.1 mm,tape 1,before,\n"
    assert entered(on_bench, once_more) == {"same": 5, "adds": 1}
    assert Reading.objects.count() == 6
    assert len(visit_file(Visit.objects.get(date="2025-01-02")).readings) == 5
    in_inches = READINGS.replace("126.4 mm", "4.976377952755906 in")
    assert entered(on_bench, in_inches) == {"same": 5}


def test_rows_that_contradict_the_visit_are_refused_the_others_stay(on_bench: Bench) -> None:
    rows = READINGS.replace("diameter,right,126.4 mm,tape 1", "run-out,right,0.1 mm,dial 1").replace("CD,300", "CD,x")
    told = tried(on_bench, rows)
    assert [what for what, _ in told] == ["adds", "adds", "refused", "adds", "refused"]
    assert "blade" in told[2][1]
    other = "Unit,Date,Technician,Quantity,At,Value,Gauge\nunit 3,2025-01-02,XY,land,left,1 mm,\n"
    entered(on_bench, READINGS)
    assert tried(on_bench, other) == [("refused", "technician: the visit of that day says 'CD'")]


def test_visits_signed_or_open_here_are_not_added_to(on_bench: Bench) -> None:
    day = str(on_bench.visit.date)
    row = f"Unit,Date,Quantity,At,Value,Gauge\nunit 3,{day},diameter,left,126 mm,tape 1\n"
    assert tried(on_bench, row) == [("refused", "a visit of that day is open on the bench; enter it there")]
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    assert tried(on_bench, row) == [("refused", "the visit of that day was signed by AB and is closed")]
    clash = f"Unit,Date,Hours\nunit 3,{day},641 h\n"
    assert tried(on_bench, clash) == [("refused", "the visit of that day says 640 h")]
    assert tried(on_bench, clash.replace("641", "640")) == [("same", "")]


def test_a_visit_without_readings_and_work_beside_readings(on_bench: Bench) -> None:
    log = "Unit,Date,Technician,Complaint,Verdict\nunit 3,2024-01-02,CD,ribs,worn out\nunit 3,2024-01-02,CD,ribs,worn out\n"
    assert entered(on_bench, log) == {"adds": 1, "same": 1}
    made = Visit.objects.get(date="2024-01-02")
    assert (made.complaint, made.notes) == ("ribs", "worn out")
    work = "Unit,Date,Step,Infeeds\nunit 3,2024-01-02,spin grind,0.02/0.02\nunit 3,2024-01-02,relief grind,\n"
    assert entered(on_bench, work) == {"adds": 2}
    assert WorkDone.objects.filter(visit=made).count() == 2
    made.refresh_from_db()
    assert visit_file(made).work[0].infeeds == (0.02, 0.02)
    assert entered(on_bench, work) == {"same": 2}
    assert entered(on_bench, log) == {"same": 2}


def test_a_workbook_in_any_order_of_sheets(on_bench: Bench) -> None:
    """The readings stand before the units they name: entered in the order of what names what."""
    content = workbook(
        log=[["Unit", "Date", "Quantity", "At", "Value (mm)", "Gauge"], ["Z", datetime.date(2025, 3, 4), "land", "left", 1.2, None]],
        units=[["Unit", "Mower", "Reel no", "Blades", "Reel dia", "Blade length"], ["Z", "M9", "RZ", 11, "127 mm", "533 mm"]],
    )  # fmt: skip
    assert entered(on_bench, content, "book.xlsx") == {"adds": 2}
    visit = Visit.objects.get(unit__name="Z")
    assert visit.reel.label == "RZ"
    assert entered(on_bench, content, "book.xlsx") == {"same": 2}


def many(rows: int) -> str:
    start = datetime.date(2020, 1, 1)
    lines = [f"unit 3,{start + datetime.timedelta(days=i)},{i} h" for i in range(rows)]
    return "\n".join(["Unit,Date,Hours", *lines, "unit 3,2020-01-01,0 h", "nobody,2020-01-01,1 h"]) + "\n"


class PowerCut(BaseException):
    """The process ends here."""


def cut_at(monkeypatch: pytest.MonkeyPatch, where: str, batches: int) -> None:
    """End the process in a batch: before its lines are written, before it is committed, or just after."""
    left = [batches]

    def cut() -> None:
        if left[0] == 0:
            raise PowerCut
        left[0] -= 1

    add, breathe = bringing.Outcomes.add, Progress.breathe

    def cut_add(self: Any, outcomes: Any) -> None:
        if where == "before its lines":
            cut()
        add(self, outcomes)
        if where == "before it is committed":
            cut()

    def cut_breathe(self: Progress) -> None:
        cut()
        breathe(self)

    monkeypatch.setattr(bringing.Outcomes, "add", cut_add)
    if where == "after it is committed":
        monkeypatch.setattr(jobs, "_TOLD_EVERY", 0.0)
        monkeypatch.setattr(Progress, "breathe", cut_breathe)


def snapshot() -> Any:
    from sparkout.records.bringing.files import text_of

    hours = list(HoursEntry.objects.filter(visit=None).order_by("on", "pk").values_list("unit", "on", "hours"))
    rows = list(TableRow.objects.order_by("row", "subject_id").values_list("sheet", "row", "what", "subject"))
    return hours, rows, sorted(map(text_of, Visit.objects.all())), Reading.objects.count()


@pytest.mark.parametrize("table", [many(900), READINGS + "\n".join(f"unit 3,2023-{m:02d}-{d:02d},CD,,land,left,1.{d} mm,,," for m in range(1, 13) for d in range(1, 29)) + "\n"], ids=["hours", "readings"])  # fmt: skip
@pytest.mark.parametrize("batches", [0, 1])
@pytest.mark.parametrize("where", ["before its lines", "before it is committed", "after it is committed"])
def test_killed_half_way_and_taken_up_is_the_same_as_once(
    on_bench: Bench, monkeypatch: pytest.MonkeyPatch, table: str, where: str, batches: int
) -> None:
    monkeypatch.setattr(bringing, "_BATCH", 100)
    file = received(on_bench, table)
    job = bring_in_table(actor=on_bench.me, file=file)
    with monkeypatch.context() as patched:
        cut_at(patched, where, batches)
        with pytest.raises(PowerCut):
            do_now(job)
    job.refresh_from_db()
    whole = batches + (where == "after it is committed")
    assert (job.state, 100 * whole <= job.done <= 120 * whole) == ("running", True)
    assert bool(TableRow.objects.exists()) == bool(whole)
    monkeypatch.setattr(jobs._worker, "begin", lambda _: None)
    assert [left.pk for left in jobs.take_up()] == [job.pk]
    job.refresh_from_db()
    ended = do_now(job)
    assert ended.state == "done", ended.message
    resumed, counts = snapshot(), ended.told
    assert sum(counts.values()) == len(Outcomes(file, ENTERING).read())
    again = do_now(bring_in_table(actor=on_bench.me, file=received(on_bench, table)))
    assert again.told["adds"] == 0
    assert snapshot() == resumed
    assert counts["adds"] == again.told["same"] - counts["same"]


def test_stopping_keeps_what_is_whole_and_going_on_does_the_rest(
    on_bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bringing, "_BATCH", 100)
    monkeypatch.setattr(jobs, "_TOLD_EVERY", 0.0)
    file = received(on_bench, many(900))
    job = bring_in_table(actor=on_bench.me, file=file)
    breathe = Progress.breathe

    def stop_soon(self: Progress) -> None:
        if self.job.done > 300:
            jobs.ask_to_stop(job)
        breathe(self)

    monkeypatch.setattr(Progress, "breathe", stop_soon)
    ended = do_now(job)
    assert (ended.state, 300 < ended.done < 900) == ("stopped", True)
    assert HoursEntry.objects.filter(visit=None).count() == ended.done - 1 == len(Outcomes(file, ENTERING).read())
    assert "what was done stays" in ended.message
    monkeypatch.setattr(Progress, "breathe", breathe)
    ended = do_now(bring_in_table(actor=on_bench.me, file=file))
    assert ended.state == "done"
    assert HoursEntry.objects.filter(visit=None).count() == 900
    assert ended.told == {"adds": 900, "same": 1, "changes": 0, "refused": 1, "left": 0}


def test_a_waiting_job_is_stopped_at_once_and_work_that_cannot_go_on_is_marked(on_bench: Bench) -> None:
    job = bring_in_table(actor=on_bench.me, file=received(on_bench, FLEET))
    jobs.ask_to_stop(job)
    assert do_now(Job.objects.get(pk=job.pk)).state == "stopped"
    lost = jobs.ask_for("unheard of", on_bench.me)
    Job.objects.filter(pk=lost.pk).update(state="running")
    jobs.take_up()
    lost.refresh_from_db()
    assert (lost.state, lost.message) == ("stopped", "the server ended meanwhile; what was done stays")


def test_work_in_the_background_by_one_thread(on_bench: Bench) -> None:
    @jobs.work("counting")
    def count(progress: Progress) -> list[int]:
        for i in range(3):
            progress.tell(i + 1, 3, f"{i + 1} of 3")
        return [1, 2, 3]

    @jobs.work("failing")
    def fail(progress: Progress) -> None:
        progress.tell(1, 2)
        raise ZeroDivisionError

    @jobs.work("refusing")
    def refuse(progress: Progress) -> None:
        raise Refusal("not like this")

    asked = [jobs.ask_for(kind, on_bench.me) for kind in ("counting", "failing", "refusing")]
    for job in asked:
        jobs.begin(job)
    assert jobs.wait_for_all()
    for job in asked:
        job.refresh_from_db()
    assert [(j.state, j.told) for j in asked] == [("done", [1, 2, 3]), ("failed", None), ("failed", None)]
    assert (asked[0].done, asked[0].of) == (3, 3) or asked[0].done >= 1
    assert asked[2].message == "not like this"
    assert "not yours" in asked[1].message
    assert str(asked[0]) == "counting, done"


def test_somebody_writes_between_two_batches(on_bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Names are read again when the records changed: a unit added meanwhile is found by the rows still to come."""
    monkeypatch.setattr(bringing, "_BATCH", 1)
    file = received(on_bench, "Unit,Date,Hours\nunit 3,2020-01-01,1 h\nnew one,2020-01-01,1 h\n")
    whole = bringing.Outcomes.add

    def add(self: Any, outcomes: Any) -> None:
        whole(self, outcomes)
        if not Unit.objects.filter(name="new one").exists():
            add_unit(actor=on_bench.me, name="new one")

    monkeypatch.setattr(bringing.Outcomes, "add", add)
    assert do_now(bring_in_table(actor=on_bench.me, file=file)).told["adds"] == 2


def test_a_mapping_is_remembered_for_the_next_file_of_its_shape(on_bench: Bench) -> None:
    file = received(on_bench, "Unit,Date,Hours\nunit 3,03/04/2025,120\n")
    mapping = FileMapping.from_data(file.mapping)
    with pytest.raises(Refusal, match="in which order"):
        settle_columns(file=file, mapping=mapping)
    from dataclasses import replace

    said = replace(mapping, sheets=(replace(mapping.sheets[0], order="mdy"),))
    settle_columns(file=file, mapping=said)
    assert KnownShape.objects.count() == 1
    again = received(on_bench, "UNIT,date,Hours\nunit 3,05/06/2025,130\n", "next.csv")
    assert FileMapping.from_data(again.mapping).sheets[0].order == "mdy"
    assert entered(on_bench, "Unit,Date,Hours\nunit 3,05/06/2025,130\n") == {"adds": 1}
    assert str(HoursEntry.objects.get(hours="130 h").on) == "2025-05-06"


@pytest.mark.parametrize(
    "next_file",
    [
        "Unit\tDate\tHours\nunit 3\t06.05.2025\t1.230,5\nunit 3\t13.05.2025\t1.240\n",
        "All clocks;;\nas of 1.6.2025;;\nUnit;Date;Hours\nunit 3;06.05.2025;1230,5\nunit 3;13.05.2025;1.240\n",
    ],
)
def test_the_next_file_of_a_shape_is_read_as_it_is_written(on_bench: Bench, next_file: str) -> None:
    """Delimiter, place of the heading, decimal mark and order of days are that file's, not the one's before."""
    assert entered(on_bench, "Unit,Date,Hours\nunit 3,04/13/2025,120.5\n") == {"adds": 1}
    assert entered(on_bench, next_file) == {"adds": 2}
    may = HoursEntry.objects.filter(on__month=5).order_by("on")
    read = [(str(on), hours) for on, hours in may.values_list("on", "hours")]
    assert read == [("2025-05-06", "1230.5 h"), ("2025-05-13", "1240 h")]


def test_a_day_far_ahead_is_refused_row_by_row(on_bench: Bench) -> None:
    table = "Unit,Date,Hours\nunit 3,2026-05-06,120\nunit 3,2062-05-06,130\n"
    assert entered(on_bench, table) == {"adds": 1, "refused": 1}
    assert entered(on_bench, "Unit,Date,Event\nunit 3,2062-05-06,stone\n") == {"refused": 1}
    assert not HoursEntry.objects.filter(on__year=2062).exists()


def test_another_kind_is_proposed_when_asked_for(on_bench: Bench) -> None:
    file = received(on_bench, "Name,Type\ngreens 2,x\n")
    again = proposed_again(file, ",", {"table.csv": {"kind": "knife type", "heading": 1, "heading_rows": 1}})
    assert again.sheets[0].kind == "knife type"
    assert FileMapping.from_data(note_columns(file=file, mapping=again).mapping) == again


def test_a_file_at_work_is_left_alone(on_bench: Bench) -> None:
    file = received(on_bench, FLEET)
    try_table(actor=on_bench.me, file=file)
    with pytest.raises(Refusal, match="is being worked on"):
        bring_in_table(actor=on_bench.me, file=file)
    with pytest.raises(Refusal, match="no table"):
        received(on_bench, b"%PDF")
    assert TableFile.objects.count() == 1


def test_a_file_gone_from_the_folder_says_so(on_bench: Bench, records: Any) -> None:
    file = received(on_bench, FLEET)
    from sparkout.records.bringing.store import content

    content(file.sha256).unlink()
    ended = do_now(try_table(actor=on_bench.me, file=file))
    assert (ended.state, "lies in the data folder no longer" in ended.message) == ("failed", True)


def test_hours_read_at_the_bench_meet_the_table(on_bench: Bench) -> None:
    record_hours(actor=on_bench.me, unit=on_bench.unit, on="2026-01-02", hours="650 h")
    assert entered(on_bench, "Unit,Date,Hours\nunit 3,2026-01-02,650\nunit 3,2026-01-03,39000 min\n") == {
        "same": 1,
        "adds": 1,
    }


def test_counts_that_stay(on_bench: Bench) -> None:
    counts = (Place.objects.count(), Person.objects.count(), Gauge.objects.count(), Grinder.objects.count())
    kinds = (ReelType.objects.count(), Limit.objects.count(), Event.objects.count())
    for name, table in THINGS.items():
        if name != "fittings":
            tried(on_bench, table)
    assert counts == (Place.objects.count(), Person.objects.count(), Gauge.objects.count(), Grinder.objects.count())
    assert kinds == (ReelType.objects.count(), Limit.objects.count(), Event.objects.count())
    assert read_visit  # the trial reads, it does not write
