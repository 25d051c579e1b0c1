"""Photographs and recordings over HTTP: sent, shown, played in pieces, described, taken away."""

from __future__ import annotations

import uuid
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from tests.keeping.invented import photograph, picture, pixels, sound_wav
from tests.records.workshops import Bench, key

from sparkout.keeping.kinds import LARGEST_SOUND
from sparkout.records.models import Attachment
from sparkout.records.operations.attachments import attach_file, original_file, shown_file
from sparkout.records.operations.visits import sign_visit


def sent(client: Client, path: str, *contents: bytes, name: str = "left.jpg", **more: Any) -> Any:
    files = [SimpleUploadedFile(name, content) for content in contents]
    return client.post(path, {"key": str(uuid.uuid4()), "file": files, **more})


@pytest.fixture
def shot(on_bench: Bench) -> Attachment:
    asked = {"actor": on_bench.me, "unit": on_bench.unit, "visit": on_bench.visit, "name": "left.jpg"}
    return attach_file(**asked, content=photograph(6), step="look over", blade=7)


@pytest.fixture
def heard(on_bench: Bench) -> Attachment:
    return attach_file(actor=on_bench.me, unit=on_bench.unit, name="end.wav", content=sound_wav(0.5))


def test_a_form_sends_several_once(client: Client, on_bench: Bench) -> None:
    one = {"key": str(uuid.uuid4()), "step": "look over", "blade": "7", "note": "nick"}
    for _ in range(2):
        answer = sent(client, "/visits/1/attach/", photograph(), picture(), **one)
        assert (answer.status_code, answer["Location"]) == (302, "/visits/1/#attached")
    assert [(a.visit, a.blade, a.note) for a in Attachment.objects.all()] == [(on_bench.visit, 7, "nick")] * 2
    page = client.get("/visits/1/").content.decode()
    assert page.count("small.jpg") == 2
    assert 'alt="nick"' in page
    assert sent(client, "/units/1/attach/", picture())["Location"] == "/units/1/#attached"
    assert client.get("/units/1/").content.decode().count("small.jpg") == 3


def test_a_script_is_told_in_one_line(client: Client, on_bench: Bench) -> None:
    asked = {"key": str(uuid.uuid4()), "file": SimpleUploadedFile("a.png", picture())}
    answer = client.post("/units/1/attach/", asked, headers={"HX-Request": "true"})
    assert (answer.status_code, answer["Outcome"], answer["Made"]) == (200, "done", "1")
    assert "small.jpg" in client.get("/units/1/attached/").content.decode()
    asked["file"] = SimpleUploadedFile("letter.jpg", b"<html>")
    answer = client.post("/units/1/attach/", {**asked, "key": str(key())}, headers={"HX-Request": "true"})
    assert (answer.status_code, answer["Outcome"]) == (422, "refused")
    assert answer.content.decode().startswith("not kept: letter.jpg: this is neither a picture nor a recording")


def test_what_is_attached_stands_at_its_step(client: Client, on_bench: Bench) -> None:
    for step in ("look over", "bearings", "spin grind", ""):
        sent(client, "/visits/1/attach/", picture(), step=step)
    parts = {step: client.get("/visits/1/attached/", {"step": step}).content.decode().count("small.jpg")
             for step in ("look over", "bearings", "grind", "prove", "nowhere")}  # fmt: skip
    assert parts == {"look over": 2, "bearings": 1, "grind": 1, "prove": 0, "nowhere": 2}
    page = client.get("/visits/1/").content.decode()
    assert page.count('<form method="post" enctype="multipart/form-data"') == 2
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    page = client.get("/visits/1/").content.decode()
    assert (page.count("small.jpg"), page.count("multipart")) == (4, 0)


@pytest.mark.parametrize(
    ("contents", "more", "why"),
    [
        ([], {}, "choose a picture or a recording first"),
        ([picture()] * 21, {}, "21 files at once; allowed: at most 20"),
        ([picture()], {"key": "x"}, "load the page again"),
        ([picture()], {"blade": "99"}, "left.jpg: &#x27;99&#x27; is too large; allowed: 1 to 11"),
        ([picture()], {"step": "polish"}, "not one of the words"),
        ([picture(), b"<svg/>"], {}, "1 before it are kept"),
    ],
)
def test_refusals(client: Client, on_bench: Bench, contents: list[bytes], more: dict, why: str) -> None:
    answer = sent(client, "/units/1/attach/", *contents, **more)
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert Attachment.objects.count() == (1 if "before it" in why else 0)


def test_a_file_too_large_is_not_even_read(client: Client, on_bench: Bench, monkeypatch) -> None:
    monkeypatch.setattr("sparkout.web.unit.attached.LARGEST_SOUND", 100)
    monkeypatch.setattr("sparkout.web.unit.attached.LARGEST_PICTURE", 50)
    monkeypatch.setattr("sparkout.web.unit.attached.attach_file", None)
    told = sent(client, "/units/1/attach/", sound_wav()).content.decode()
    assert "allowed: at most 0 MB for a picture, 0 MB for a recording" in told
    assert LARGEST_SOUND > 50_000_000


def test_a_closed_visit_takes_no_more(client: Client, on_bench: Bench) -> None:
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    assert "signed by AB" in sent(client, "/visits/1/attach/", picture()).content.decode()
    assert sent(client, "/visits/9/attach/", picture()).status_code == 404


def test_copies_are_shown_and_the_original_is_downloaded(client: Client, shot: Attachment) -> None:
    for size in ("small", "large"):
        answer = client.get(f"/attachments/{shot.pk}/{size}.jpg")
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
        assert pixels(answer.content).size == (48, 64)
        assert b"invented" not in answer.content
        assert "immutable" in answer["Cache-Control"]
        assert answer["Cache-Control"].startswith("private")
    answer = client.get(f"/attachments/{shot.pk}/original/")
    assert b"".join(answer) == photograph(6) == original_file(shot).read_bytes()
    assert (answer["Content-Disposition"], answer["X-Content-Type-Options"]) == (
        'attachment; filename="left.jpg"',
        "nosniff",
    )
    page = client.get(f"/attachments/{shot.pk}/").content.decode()
    assert "blade 7, look over, taken 3 Nov 2026" in page
    assert "large.jpg" in page


@pytest.mark.parametrize(
    ("asked", "status", "piece"),
    [
        (None, 200, slice(None)),
        ("bytes=0-99", 206, slice(0, 100)),
        ("bytes=8000-", 206, slice(8000, None)),
        ("bytes=-10", 206, slice(-10, None)),
        ("bytes=0-999999", 206, slice(None)),
        ("bytes=999999-", 416, None),
        ("bytes=-", 416, None),
        ("bytes=5-4", 416, None),
        ("bytes=0-1,4-5", 200, slice(None)),  # RFC 9110, 14.2: what is not understood is passed over
        ("furlongs=1-2", 200, slice(None)),
    ],
)
def test_a_recording_is_played_in_pieces(
    client: Client, heard: Attachment, asked: str | None, status: int, piece: slice | None
) -> None:
    whole = sound_wav(0.5)
    answer = client.get(f"/attachments/{heard.pk}/original/", headers={"Range": asked} if asked else {})
    assert answer.status_code == status
    if piece is None:
        assert answer["Content-Range"] == f"bytes */{len(whole)}"
        return
    content = b"".join(answer)
    assert content == whole[piece]
    assert (answer["Content-Type"], answer["Content-Length"]) == ("audio/wav", str(len(content)))
    assert answer["Accept-Ranges"] == "bytes"
    if status == 206:
        start = whole.index(content) if piece.start is None else range(len(whole))[piece.start]
        assert answer["Content-Range"] == f"bytes {start}-{start + len(content) - 1}/{len(whole)}"


def test_describing_and_conflict(client: Client, on_bench: Bench, shot: Attachment) -> None:
    path = f"/attachments/{shot.pk}/describe/"
    told = {"note": "nick", "was_note": "", "blade": "3", "was_blade": "7", "step": "", "taken_on": "2026-11-02"}
    assert client.post(path, told).status_code == 302
    shot.refresh_from_db()
    assert (shot.note, shot.blade, shot.step, str(shot.taken_on)) == ("nick", 3, None, "2026-11-02")
    late = client.post(path, {"note": "dent", "was_note": ""})
    assert late.status_code == 422
    assert "it now reads &#x27;nick&#x27;" in late.content.decode()
    assert client.post(path, {"taken_on": "2999-01-01"}).status_code == 422
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    assert "describe/" not in client.get(f"/attachments/{shot.pk}/").content.decode()


def test_taken_away(client: Client, shot: Attachment) -> None:
    assert client.post(f"/attachments/{shot.pk}/remove/", {"reason": ""}).status_code == 422
    assert client.post(f"/attachments/{shot.pk}/remove/", {"reason": "shows a person"}).status_code == 302
    for name in ("small.jpg", "large.jpg", "original/"):
        assert client.get(f"/attachments/{shot.pk}/{name}").status_code == 404
    for path in (f"/attachments/{shot.pk}/", "/units/1/", "/visits/1/"):
        page = client.get(path).content.decode()
        assert "photograph taken away by AB" in page
        assert "shows a person" in page
        assert "small.jpg" not in page
        assert "large.jpg" not in page


def test_a_lost_file_is_said(client: Client, shot: Attachment, records: Path) -> None:
    shown_file(shot, 480).unlink()
    assert client.get(f"/attachments/{shot.pk}/small.jpg").status_code == 200
    shown_file(shot, 480).unlink()
    original_file(shot).unlink()
    assert client.get(f"/attachments/{shot.pk}/small.jpg").status_code == 404
    assert client.get(f"/attachments/{shot.pk}/original/").status_code == 404
    assert "not in the data folder" in client.get(f"/attachments/{shot.pk}/").content.decode()


@pytest.mark.parametrize("name", ["attachment", "attachment-small", "attachment-large", "attachment-original"])
def test_strangers_and_what_is_not_there(client: Client, shot: Attachment, name: str) -> None:
    assert client.get(reverse(name, args=[999])).status_code == 404
    stranger = Client(SERVER_NAME="localhost").get(reverse(name, args=[shot.pk]))
    assert (stranger.status_code, stranger["Location"].partition("?")[0]) == (302, "/who/")


def test_queries_do_not_grow_with_what_is_attached(client: Client, on_bench: Bench, shot: Attachment) -> None:
    def count(path: str) -> int:
        client.get(path)
        with CaptureQueriesContext(connection) as queries:
            client.get(path)
        return len(queries)

    before = [count(path) for path in ("/units/1/", "/visits/1/")]
    for number in range(8):
        attach_file(
            actor=on_bench.me, unit=on_bench.unit, visit=on_bench.visit, name=f"{number}.png", content=picture()
        )
    assert [count(path) for path in ("/units/1/", "/visits/1/")] == before
