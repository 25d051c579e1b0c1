"""Files: visit files in and out, photographs, tables in and everything out, as programs send and fetch them."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.api.conftest import Program
from tests.keeping.invented import photograph, picture, sound_wav
from tests.recording.test_recording import sound, wav
from tests.records.workshops import Bench, diameter, key

from sparkout.demonstration.listing import demonstration_files
from sparkout.records.jobs import wait_for_all
from sparkout.records.models import Attachment, HistoryLine, Place
from sparkout.records.operations.visits import set_aside_visit
from sparkout.records.queries import visit_file
from sparkout.visit.reading import read_visit
from sparkout.visit.writing import to_json, to_toml

TOML, CSV = {"Content-Type": "application/toml"}, {"Content-Type": "text/csv"}


def whole(made: Any) -> bytes:
    content = b"".join(made) if made.streaming else made.content
    made.close()
    return bytes(content)


@pytest.mark.parametrize("name", demonstration_files())
def test_a_visit_file_in_and_out_again(api: Program, name: str) -> None:
    content = demonstration_files()[name].read_bytes()
    told = api.told("POST", "visits/from-file", content, 201, **TOML)
    assert api.told("POST", "visits/from-file", content, 201, **TOML)["id"] == told["id"]  # once, however often sent
    asked = read_visit(content)
    assert read_visit(whole(api.get(f"visits/{told['id']}/file"))) == asked
    assert read_visit(whole(api.get(f"visits/{told['id']}/file?form=toml"))) == asked
    line = HistoryLine.objects.filter(action="visit_from_file").get()
    assert line.through is not None


def test_a_visit_file_for_one_unit(api: Program, on_bench: Bench) -> None:
    set_aside_visit(actor=on_bench.me, visit=on_bench.visit, reason="makes room")
    content = to_json(read_visit(demonstration_files()["coned"])).encode()
    told = api.told("POST", f"visits/from-file?unit={on_bench.unit.pk}", content, 201)
    assert told["unit"]["id"] == on_bench.unit.pk
    error = api.refused("POST", "visits/from-file?unit=999", content)[0]
    assert error["message"] == "unit: there is no unit 999; allowed: the id of a unit."


def test_a_broken_visit_file_says_where(api: Program) -> None:
    content = to_toml(read_visit(demonstration_files()["coned"])).replace("diameter = ", "diametre = ", 1).encode()
    for path in ("visits/from-file", "plan"):
        errors = api.refused("POST", path, content, **TOML)
        strange = next(e for e in errors if e["argument"] == "diametre")
        assert strange["line"] > 1
        assert "Did you mean 'diameter'?" in strange["message"]


def test_a_photograph(api: Program, on_bench: Bench) -> None:
    mine, content = {"Idempotency-Key": str(key()), "Content-Type": "image/jpeg"}, photograph()
    path = f"units/{on_bench.unit.pk}/attachments?name=nick.jpg&blade=3&step=look%20over&visit={on_bench.visit.pk}"
    told = api.told("POST", path, content, 201, **mine)
    assert api.told("POST", path, content, 201, **mine)["id"] == told["id"]
    assert (told["kind"], told["blade"], told["visit_id"], told["size_bytes"]) == (
        "photograph",
        3,
        on_bench.visit.pk,
        len(content),
    )
    assert told["taken_on"] == "2026-11-03"
    original = api.get(f"attachments/{told['id']}/original")
    assert original.headers["Content-Disposition"] == 'attachment; filename="nick.jpg"'
    assert original.headers["X-Content-Type-Options"] == "nosniff"
    assert whole(original) == content
    for size in ("large", "small"):
        copy = whole(api.get(f"attachments/{told['id']}/{size}"))
        assert copy.startswith(b"\xff\xd8\xff")
        assert b"2026:11:03" not in copy
    api.told("POST", f"attachments/{told['id']}/remove", {"reason": "shows a person"})
    for size in ("original", "large", "small"):
        error = api.refused("GET", f"attachments/{told['id']}/{size}")[0]
        assert error["message"] == "attachment: this photograph was taken away by AB: shows a person."


def test_a_recording_has_no_copies(api: Program, on_bench: Bench) -> None:
    path = f"units/{on_bench.unit.pk}/attachments?name=clack.wav"
    told = api.told("POST", path, sound_wav(), 201, **{"Content-Type": "audio/wav"})
    assert told["kind"] == "recording"
    assert "no copies" in api.refused("GET", f"attachments/{told['id']}/small")[0]["message"]


@pytest.mark.parametrize(
    ("content", "query", "told"),
    [
        (b"", "name=a.png", "the file is empty"),
        (b"GIF89a", "name=a.png", "neither a picture nor a recording"),
        (picture(), "", "name: needed: name of the file."),
        (picture(), "name=a.png&blade=99", "blade: '99' is too large; allowed: 1 to 11"),
        (picture(), "name=a.png&step=other%20thing", "step: 'other thing' is not one of the words known here"),
        (picture(), "name=a.png&visit=x", "visit: 'x' is not a whole number"),
    ],
)
def test_a_file_that_is_refused(api: Program, on_bench: Bench, content: bytes, query: str, told: str) -> None:
    path = f"units/{on_bench.unit.pk}/attachments?{query}"
    errors = api.refused("POST", path, content, **{"Content-Type": "image/png"})
    assert any(told in error["message"] for error in errors), errors
    assert not Attachment.objects.exists()


TABLE = b"place;name\nnine holes;greens machine 2\n;greens machine 3\n"


def test_a_table_in_by_steps(api: Program) -> None:
    """What the page does: brought, columns said, tried, entered; asked again it changes nothing."""
    file = api.told(
        "POST", "tables?name=machines.csv", b"place;machine\nnew place;machine 7\nnew place;machine 8\n", 201, **CSV
    )
    path = f"tables/{file['id']}"
    mapping = file["mapping"]
    assert [column["heading"] for column in mapping["sheets"][0]["columns"]] == ["place", "machine"]
    api.told("POST", f"{path}/proposal", {"delimiter": ";"})
    assert api.told("PUT", f"{path}/columns", {"mapping": mapping})["mapping"] == mapping
    assert not api.told("GET", f"{path}/rows")["items"]
    assert whole(api.get(f"{path}/refused"))
    assert "try the table first" in api.refused("POST", f"{path}/entering", {})[0]["message"]
    job = api.told("POST", f"{path}/trial", {}, 202)
    assert wait_for_all()
    assert api.told("GET", f"jobs/{job['id']}")["state"] == "done"
    told = api.told("GET", f"{path}/rows")
    assert {what: n for what, n in told["counts"].items() if n} == {"adds": 2}
    assert [row["row"] for row in told["items"]] == [2, 3]
    job = api.told("POST", f"{path}/entering", {"with_changes": True}, 202)
    assert wait_for_all()
    assert api.told("GET", f"jobs/{job['id']}")["state"] == "done"
    assert Place.objects.filter(name="new place").exists()
    assert api.told("POST", f"jobs/{job['id']}/stop", {})["state"] == "done"
    told = api.told("GET", f"{path}/rows?stage=entering&what=adds&limit=1")
    assert len(told["items"]) == 1
    refused = api.get(f"{path}/refused?stage=entering")
    assert refused.status_code == 200
    whole(refused)


def test_no_table_is_kept_nowhere(api: Program) -> None:
    api.refused("POST", "tables?name=a.csv", b"", **CSV)
    file = api.told("POST", "tables?name=a.csv", b"place\nx\n", 201, **CSV)
    for mapping in ({}, {"sheets": 3}, {"sparkout mapping": 1, "sheets": [{}], "delimiter": ""}):
        api.refused("PUT", f"tables/{file['id']}/columns", {"mapping": mapping})
    api.refused("POST", f"tables/{file['id']}/proposal", {"sheets": {"a": 3}})


def test_everything_out(api: Program, on_bench: Bench) -> None:
    diameter(on_bench)
    told = json.loads(whole(api.get("export")))
    assert told
    for form, begins in (("xlsx", b"PK"), ("zip", b"PK")):
        assert whole(api.get(f"export?form={form}&units=inch&vocabulary=us&decimal=,")).startswith(begins)
    error = api.refused("GET", "export?form=pdf")[0]
    assert error["allowed"] == "'xlsx', 'zip', 'json'"


def test_what_is_told_of_a_visit_is_its_file(api: Program, on_bench: Bench) -> None:
    diameter(on_bench)
    assert whole(api.get(f"visits/{on_bench.visit.pk}/file")).decode() == to_json(visit_file(on_bench.visit))


def test_a_recording_is_listened_to_and_what_it_told_is_kept(api: Program, on_bench: Bench) -> None:
    made = api.told("POST", f"units/{on_bench.unit.pk}/attachments?name=left.wav", wav(sound()), 201)
    path, mine = f"attachments/{made['id']}/hear", {"Idempotency_Key": str(key())}
    inside = {"balls": 9, "ball_diameter": "7.94 mm", "pitch_diameter": "39.04 mm", "others": "motor 48 Hz"}
    told = api.told("POST", path, inside, 202, **mine)
    assert wait_for_all()
    again = api.told("POST", path, inside, 202, **mine)
    assert again["id"] == told["id"]
    assert again["asked"]["blades"] == 11  # the reel's own
    assert again["told"]["bearing"]["fault"] == "outer race"
    assert [one["id"] for one in api.told("GET", f"attachments/{made['id']}/hearings")["items"]] == [told["id"]]
    wrong = api.refused("POST", path, {"balls": 2})
    assert {error["argument"] for error in wrong} == {"balls", "ball_diameter", "pitch_diameter"}


def test_a_recording_that_tells_nothing_says_why(api: Program, on_bench: Bench) -> None:
    made = api.told("POST", f"units/{on_bench.unit.pk}/attachments?name=left.wav", sound_wav(), 201)
    api.told("POST", f"attachments/{made['id']}/hear", {}, 202)
    assert wait_for_all()
    (one,) = api.told("GET", f"attachments/{made['id']}/hearings")["items"]
    assert (one["state"], one["told"]) == ("failed", None)
    assert one["why_not"]
    shot = api.told("POST", f"units/{on_bench.unit.pk}/attachments?name=a.png", picture(), 201)
    assert "is no recording" in api.refused("POST", f"attachments/{shot['id']}/hear", {})[0]["message"]


def test_somebodys_day_beside_the_values(api: Program, on_bench: Bench) -> None:
    me = on_bench.me.pk
    task = {"person": me, "on": "2026-11-24", "task": "grind", "hours": 3.1, "vibration": 4, "level": 90, "origin": "x"}
    api.told("POST", "exposures", task, 201)
    day = api.told("GET", f"people/{me}/exposure-day?on=2026-11-24")
    assert round(day["vibration_a8"], 2) == 2.49  # the worked figure of core.care.vibration
    reached = {(value["region"], value["name"]) for value in day["values"] if value["reached"]}
    assert ("UK", "upper action value") in reached
    assert ("EU and UK", "action value") not in reached
    assert "together" in api.refused("POST", "exposures", {**task, "hours": 22})[0]["message"]
    assert "not come yet" in api.refused("POST", "exposures", {**task, "on": "2999-01-01"})[0]["message"]
