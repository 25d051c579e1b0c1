"""Earlier visits' readings of the bearings stand beside today's; a run-down heard becomes readings."""

import datetime
import uuid

import pytest
from tests.core.bearing.test_running_down import sound
from tests.records.workshops import Bench, diameter, key

from sparkout.core.errors import Refusal
from sparkout.reckoning.reckon import reckon
from sparkout.records.jobs import wait_for_all
from sparkout.records.operations.attachments import attach_file
from sparkout.records.operations.hearing import enter_run_down, hear_recording, heard_soon
from sparkout.records.operations.job import record_work
from sparkout.records.operations.readings import record_reading
from sparkout.records.operations.visits import correct_signed_visit, open_visit, sign_visit
from sparkout.records.queries import visit_file


def test_readings_of_signed_visits_come_in_with_their_day_and_whether_fresh(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    record_reading(actor=me, visit=on_bench.visit, key=key(), of="drag", value="9 N")
    record_work(actor=me, visit=on_bench.visit, key=key(), step="bearings", what="renewed both")
    record_reading(actor=me, visit=on_bench.visit, key=key(), of="drag", value="5 N", when="as left")
    record_reading(actor=me, visit=on_bench.visit, key=key(), of="land", at="left", value="1 mm")
    assert visit_file(on_bench.visit).earlier == ()
    signed = sign_visit(actor=me, visit=on_bench.visit)
    later = open_visit(actor=me, unit=unit, date=datetime.date(2099, 1, 1))
    rows = visit_file(later).earlier
    assert [(row.of, row.value.text, row.when, row.fresh) for row in rows] == [
        ("drag", "9 N", "as found", None),
        ("drag", "5 N", "as left", True),
    ]
    assert {row.on for row in rows} == {signed.date}


def test_an_earlier_pull_comes_with_the_diameter_of_its_own_stage(on_bench: Bench) -> None:
    me, visit = on_bench.me, on_bench.visit
    for when, pull, sizes in (("as found", "9 N", ("125.4 mm", "125.2 mm")), ("as left", "5 N", ("124.6 mm",))):
        record_reading(actor=me, visit=visit, key=key(), of="drag", value=pull, when=when)
        record_reading(actor=me, visit=visit, key=key(), of="end play", value="0.03 mm", when=when)
        for size in sizes:
            diameter(on_bench, size, when=when)
    sign_visit(actor=me, visit=visit)
    later = open_visit(actor=me, unit=on_bench.unit, date=datetime.date(2099, 1, 1))
    rows = visit_file(later).earlier
    told = sorted((row.of, row.when, row.value.text) for row in rows)
    assert told == [
        ("diameter", "as found", "125.2 mm"), ("diameter", "as found", "125.4 mm"), ("diameter", "as left", "124.6 mm"),
        ("drag", "as found", "9 N"), ("drag", "as left", "5 N"),
        ("end play", "as found", "0.03 mm"), ("end play", "as left", "0.03 mm"),
    ]  # fmt: skip
    record_reading(actor=me, visit=later, key=key(), of="drag", value="9 N")
    found = reckon(visit_file(later)).bearings
    assert found is not None
    assert not any("today's radius" in note for note in found.notes)


def test_a_corrected_visit_is_no_earlier_one(on_bench: Bench) -> None:
    me = on_bench.me
    record_reading(actor=me, visit=on_bench.visit, key=key(), of="drag", value="9 N")
    signed = sign_visit(actor=me, visit=on_bench.visit)
    corrected = correct_signed_visit(actor=me, visit=signed, reason="typed wrong")
    assert visit_file(corrected).earlier == ()
    assert [r.value.text for r in visit_file(corrected).readings] == ["9 N"]


def test_a_run_down_heard_is_entered_once(on_bench: Bench) -> None:
    import numpy as np
    from tests.recording.test_recording import RATE, wav

    heard = np.interp(np.arange(0, 8, 1 / RATE), np.arange(0, 8, 1 / 8000), 0.1 * sound(noise=0.3))
    made = attach_file(actor=on_bench.me, unit=on_bench.unit, visit=on_bench.visit, name="a.wav", content=wav(heard))
    with pytest.raises(Refusal, match="no run-down was heard"):
        enter_run_down(actor=on_bench.me, attachment=made)
    heard_soon(hear_recording(actor=on_bench.me, attachment=made))
    assert wait_for_all()
    once = uuid.uuid4()
    first = enter_run_down(actor=on_bench.me, attachment=made, key=once)
    assert enter_run_down(actor=on_bench.me, attachment=made, key=once).pk == first.pk
    told = {r.of: float(r.value) for r in visit_file(on_bench.visit).readings}
    assert told["run-down time"] == pytest.approx(15.0, rel=0.05)
    assert set(told) == {"run-down time", "run-down speed"}
    loose = attach_file(actor=on_bench.me, unit=on_bench.unit, name="b.wav", content=wav(heard[: RATE * 5]))
    with pytest.raises(Refusal, match="of no visit"):
        enter_run_down(actor=on_bench.me, attachment=loose)
