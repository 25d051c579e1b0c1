"""Photographs and recordings on file: attached once, described, taken away with a reason, never lost."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from tests.keeping.invented import film, photograph, picture, sound_wav
from tests.records.workshops import Bench, key

from sparkout.core.errors import Refusal
from sparkout.keeping.photographs import LARGE, SMALL
from sparkout.records.models import Attachment, HistoryLine
from sparkout.records.operations.attachments import (
    attach_file,
    describe_attachment,
    original_file,
    remove_attachment,
    shown_file,
)
from sparkout.records.operations.doing import Conflict, KeyUsed
from sparkout.records.operations.units import add_unit
from sparkout.records.operations.visits import set_aside_visit, sign_visit
from sparkout.visit.problems import VisitProblems


def attach(on: Bench, content: bytes | None = None, **more) -> Attachment:
    asked = {"actor": on.me, "unit": on.unit, "name": "left.jpg", "content": content or photograph(6), **more}
    return attach_file(**asked)


def test_a_photograph_is_kept_byte_for_byte_with_copies(on_bench: Bench, records: Path) -> None:
    content = photograph(6)
    made = attach(on_bench, content, name="C:\\camera\\..\\left.jpg", visit=on_bench.visit, step="look over", blade="7")
    assert (made.name, made.kind, made.content_type) == ("left.jpg", "photograph", "image/jpeg")
    assert (made.width, made.height, made.size) == (48, 64, len(content))
    assert (made.step, made.blade, made.taken_on) == ("look over", 7, datetime.date(2026, 11, 3))
    assert original_file(made).read_bytes() == content
    again = attach(on_bench, content, visit=on_bench.visit)
    assert again.pk != made.pk
    assert len([path for path in (records / "attachments").rglob("*") if path.is_file()]) == 3
    line = HistoryLine.objects.get(action="attach_file", subject_id=made.pk)
    assert (line.who, line.visit, line.after["sha256"]) == (on_bench.me, on_bench.visit, made.sha256)


def test_what_somebody_says_goes_before_the_cameras_clock(on_bench: Bench) -> None:
    assert attach(on_bench, taken_on="2026-11-01").taken_on == datetime.date(2026, 11, 1)


def test_a_recording(on_bench: Bench) -> None:
    made = attach(on_bench, sound_wav(0.5), name="left end.wav", step="bearings")
    assert (made.kind, made.content_type, made.seconds, made.width) == ("recording", "audio/wav", 0.5, None)


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"content": b"<svg/>"}, "content: this is neither a picture nor a recording"),
        ({"content": film()}, "content: this is a film"),
        ({"content": picture()[:50]}, "content: the picture is damaged"),
        ({"blade": 12}, "blade: 12 is too large; allowed: 1 to 11"),
        ({"step": "polish"}, "step: 'polish' is not one of the words"),
        ({"taken_on": "2999-01-01"}, "taken_on: 2999-01-01 has not come yet"),
        ({"taken_on": "soon"}, "taken_on"),
        ({"note": "x" * 501}, "note"),
        ({"name": ""}, "name"),
    ],
)
def test_refusals(on_bench: Bench, asked: dict, why: str) -> None:
    lines = HistoryLine.objects.count()
    with pytest.raises(VisitProblems, match=why):
        attach(on_bench, **asked)
    assert not Attachment.objects.exists()
    assert HistoryLine.objects.count() == lines


def test_a_closed_or_strange_visit_takes_none(on_bench: Bench) -> None:
    other = add_unit(actor=on_bench.me, name="other")
    with pytest.raises(Refusal, match="not of other"):
        attach(on_bench, unit=other, visit=on_bench.visit)
    assert attach(on_bench, unit=other, blade=40).blade == 40  # no reel in it: any blade there can be
    set_aside_visit(actor=on_bench.me, visit=on_bench.visit, reason="mistake")
    with pytest.raises(Refusal, match="set aside"):
        attach(on_bench, visit=on_bench.visit)


def test_the_same_key_with_another_picture_is_refused(on_bench: Bench) -> None:
    mine = key()
    attach(on_bench, key=mine)
    with pytest.raises(KeyUsed):
        attach(on_bench, picture(), key=mine)
    assert Attachment.objects.count() == 1


def test_a_file_that_cannot_be_stored_is_not_on_file(on_bench: Bench, records: Path) -> None:
    (records / "attachments").write_text("in the way")
    with pytest.raises(VisitProblems, match="could not be kept"):
        attach(on_bench)
    assert not Attachment.objects.exists()


def test_a_lost_copy_is_made_again_and_a_lost_original_is_said(on_bench: Bench) -> None:
    made = attach(on_bench)
    first = shown_file(made, SMALL).read_bytes()
    for size in (SMALL, LARGE):
        shown_file(made, size).unlink()
    assert shown_file(made, SMALL).read_bytes() == first
    assert shown_file(made, LARGE).exists()
    shown_file(made, LARGE).unlink()
    original_file(made).unlink()
    with pytest.raises(VisitProblems, match=r"photograph left.jpg is not in the data folder"):
        shown_file(made, LARGE)


def test_describing(on_bench: Bench) -> None:
    made = attach(on_bench, visit=on_bench.visit)
    me = on_bench.me
    told = describe_attachment(actor=me, attachment=made, expected={"note": None}, note="nick", blade=7)
    assert (told.note, told.blade, told.step) == ("nick", 7, None)
    with pytest.raises(Conflict) as caught:
        describe_attachment(actor=me, attachment=made, expected={"note": ""}, note="mine")
    assert (caught.value.theirs, caught.value.mine) == ("nick", "mine")
    assert describe_attachment(actor=me, attachment=made, note="", blade=None).note is None
    for wrong, why in (({"sha256": "0"}, "no 'sha256' to change"), ({"blade": 0}, "too small")):
        with pytest.raises(VisitProblems, match=why):
            describe_attachment(actor=me, attachment=made, **wrong)
    sign_visit(actor=me, visit=on_bench.visit)
    with pytest.raises(VisitProblems, match="signed"):
        describe_attachment(actor=me, attachment=made, note="later")


def test_taking_away(on_bench: Bench) -> None:
    me, made = on_bench.me, attach(on_bench, visit=on_bench.visit)
    with pytest.raises(VisitProblems, match="reason"):
        remove_attachment(actor=me, attachment=made, reason=" ")
    sign_visit(actor=me, visit=on_bench.visit)
    gone = remove_attachment(actor=me, attachment=made, reason="shows a person")
    assert (gone.removed_by, gone.removed_why) == (me, "shows a person")
    assert original_file(gone).exists()
    for ask in (
        lambda: remove_attachment(actor=me, attachment=made, reason="again"),
        lambda: describe_attachment(actor=me, attachment=made, note="again"),
    ):
        with pytest.raises(VisitProblems, match="taken away by AB: shows a person"):
            ask()
    assert HistoryLine.objects.get(action="remove_attachment").after == {"reason": "shows a person"}
