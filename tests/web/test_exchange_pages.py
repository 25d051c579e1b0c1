"""Tables in and out by the page: brought, put right, tried, brought in, taken out."""

from __future__ import annotations

import io
import re
import zipfile
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from tests.records.workshops import Bench

from sparkout.interchange.mapping import FileMapping
from sparkout.interchange.source import open_source
from sparkout.records import jobs
from sparkout.records.bringing.operations import bring_in_table
from sparkout.records.models import HoursEntry, TableFile, Unit
from sparkout.server.security import POLICY

HOURS = "Unit,Date,Hours\nunit 3,03/04/2026,700\nunit 3,05/06/2026,710\nunit 9,05/06/2026,710\n"
CHOSEN = re.compile(r'<select id="([\w.-]+)"[^>]*>.*?</select>', re.DOTALL)


def bring(client: Client, text: str | bytes, name: str = "hours.csv") -> Any:
    content = text.encode() if isinstance(text, str) else text
    return client.post("/tables/in/", {"file": SimpleUploadedFile(name, content)})


def form(page: str) -> dict[str, str]:
    """What the browser would send if nothing were touched."""
    sent = dict(re.findall(r'<input id="([\w.-]+)"[^>]* value="([^"]*)"', page))
    for match in CHOSEN.finditer(page):
        found = re.search(r'<option value="([^"]*)" selected', match[0])
        first = re.search(r'<option value="([^"]*)"', match[0])
        sent[match[1]] = (found or first)[1] if found or first else ""
    if "t-delimiter" in sent:
        sent["delimiter"] = sent.pop("t-delimiter")
    return sent


def done(client: Client, number: int) -> str:
    assert jobs.wait_for_all(20)
    return client.get(f"/tables/{number}/rows/").content.decode()


def test_from_file_to_records(client: Client, on_bench: Bench) -> None:
    assert b"Bring a table in" in client.get("/tables/").content
    answer = bring(client, HOURS)
    assert answer["Location"] == "/tables/1/"
    page = client.get("/tables/1/").content.decode()
    sent = form(page)
    assert (sent["kind-0"], sent["field-0-0"], sent["field-0-2"], sent["unit-0-2"]) == ("hours", "unit", "hours", "h")
    assert "some days can be read in two ways" in page
    refused = client.post("/tables/1/", {**sent, "act": "try"})
    assert (refused.status_code, b"say in which order" in refused.content) == (422, True)
    assert client.post("/tables/1/", {**sent, "order-0": "dmy", "act": "try"})["Location"] == "/tables/1/rows/"
    page = done(client, 1)
    assert "would be added" in page
    assert "there is no unit &#x27;unit 9&#x27;; did you mean &#x27;unit 3&#x27;?" in page
    assert not HoursEntry.objects.filter(visit=None).exists()
    assert client.post("/tables/1/enter/")["Location"] == "/tables/1/rows/"
    page = done(client, 1)
    assert "What was brought in" in page
    assert sorted(str(e.on) for e in HoursEntry.objects.filter(visit=None)) == ["2026-04-03", "2026-06-05"]
    assert "brought in" in client.get("/tables/").content.decode()
    only = client.get("/tables/1/rows/?show=refused").content.decode()
    assert (only.count("<tr>") - 1, "hours.csv" in only) == (1, True)
    assert client.get("/tables/1/rows/")["Content-Security-Policy"] == POLICY


def test_refused_rows_come_back_with_their_reasons(client: Client, on_bench: Bench, tmp_path: Any) -> None:
    bring(client, HOURS)
    client.post("/tables/1/", {**form(client.get("/tables/1/").content.decode()), "order-0": "dmy"})
    done(client, 1)
    for name in ("csv", "xlsx"):
        answer = client.get(f"/tables/1/refused.{name}")
        path = tmp_path / f"refused.{name}"
        path.write_bytes(b"".join(answer.streaming_content))
        answer.close()
        rows = list(open_source(path).sheets[0].rows())
        assert rows[0][1] == ["Unit", "Date", "Hours", "row", "why it was refused"]
        assert (len(rows), rows[1][1][0], str(rows[1][1][3])) == (2, "unit 9", "4")
        assert "no unit" in rows[1][1][4]
    assert client.get("/tables/1/refused.pdf").status_code == 404


def test_a_person_puts_columns_right(client: Client, on_bench: Bench) -> None:
    bring(client, "Kennung;Tag;Stand;Egal\nunit 3;2026-04-03;700,5;x\n")
    sent = form(client.get("/tables/1/").content.decode())
    assert sent["kind-0"] == ""
    looked = client.post("/tables/1/", {**sent, "kind-0": "hours", "act": "look"}).content.decode()
    sent = form(looked)
    assert sent["field-0-1"] == "on"
    sent |= {"field-0-0": "unit", "field-0-2": "hours", "unit-0-2": "h", "decimal-0": ",", "field-0-3": ""}
    assert client.post("/tables/1/", {**sent, "act": "try"}).status_code == 302
    done(client, 1)
    client.post("/tables/1/enter/")
    done(client, 1)
    assert HoursEntry.objects.get(visit=None).hours == "700.5 h"


def test_another_delimiter_heading_row_and_many_columns(client: Client, on_bench: Bench) -> None:
    bring(client, "title,x\nUnit,2026-04-03,2026-05-03\nunit 3,700,710\n")
    page = client.get("/tables/1/").content.decode()
    assert form(page)["of-0-1-on"] == "2026-04-03"
    sent = {**form(page), "heading-0": "1", "act": "look"}
    assert form(client.post("/tables/1/", sent).content.decode())["heading-0"] == "1"
    sent = {**form(client.get("/tables/1/").content.decode()), "delimiter": ";", "act": "look"}
    again = client.post("/tables/1/", sent).content.decode()
    assert form(again)["delimiter"] == ";"
    assert "field-0-1" not in form(again)


def test_settled_for_all_rows(client: Client, on_bench: Bench) -> None:
    bring(client, "Unit,Hours\nunit 3,700\n")
    sent = form(client.get("/tables/1/").content.decode())
    sent = form(client.post("/tables/1/", {**sent, "kind-0": "hours", "act": "look"}).content.decode())
    assert "settled-0-on" in sent
    client.post("/tables/1/", {**sent, "settled-0-on": "2026-04-03"})
    done(client, 1)
    client.post("/tables/1/enter/")
    done(client, 1)
    assert str(HoursEntry.objects.get(visit=None).on) == "2026-04-03"


def test_changes_are_made_only_when_the_box_is_ticked(client: Client, on_bench: Bench) -> None:
    bring(client, "Unit,Height of cut (mm)\nunit 3,5\n", "units.csv")
    client.post("/tables/1/", form(client.get("/tables/1/").content.decode()))
    page = done(client, 1)
    assert "Also make the changes (1)" in page
    client.post("/tables/1/enter/")
    assert "left as it was" in done(client, 1)
    assert Unit.objects.get().height == {}
    client.post("/tables/1/", form(client.get("/tables/1/").content.decode()))
    done(client, 1)
    client.post("/tables/1/enter/", {"with_changes": "on"})
    done(client, 1)
    assert Unit.objects.get().height == {"of_cut": "5 mm"}


def test_progress_and_stopping(client: Client, on_bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    bring(client, HOURS)
    monkeypatch.setattr("sparkout.web.exchange.page.begin", lambda _: None)
    client.post("/tables/1/", {**form(client.get("/tables/1/").content.decode()), "order-0": "dmy"})
    assert "<progress" in client.get("/tables/1/rows/").content.decode()
    part = client.get("/tables/1/progress/")
    assert "<html" not in part.content.decode()
    assert b"the rows are counted" in part.content
    assert client.post("/tables/1/", form(client.get("/tables/1/").content.decode())).status_code == 422
    assert client.post("/tables/1/enter/").status_code == 422
    client.post("/tables/1/stop/")
    assert client.get("/tables/1/progress/")["HX-Refresh"] == "true"
    assert "stopped" in str(TableFile.objects.get().trial)


def test_brought_in_half_it_can_go_on(client: Client, on_bench: Bench) -> None:
    bring(client, HOURS)
    client.post("/tables/1/", {**form(client.get("/tables/1/").content.decode()), "order-0": "dmy"})
    done(client, 1)
    file = TableFile.objects.get()
    jobs.ask_to_stop(bring_in_table(actor=on_bench.me, file=file))
    assert "Go on" in client.get("/tables/1/rows/").content.decode()
    client.post("/tables/1/enter/")
    done(client, 1)
    assert HoursEntry.objects.filter(visit=None).count() == 2


def test_what_is_no_table_says_so(client: Client, on_bench: Bench) -> None:
    assert client.post("/tables/in/").status_code == 422
    answer = bring(client, b"%PDF-1.7", "a.pdf")
    assert (answer.status_code, b"this is no table" in answer.content) == (422, True)
    for path in ("/tables/9/", "/tables/9/rows/", "/tables/9/progress/", "/tables/9/refused.csv"):
        assert client.get(path).status_code == 404
    bring(client, HOURS)
    assert client.get("/tables/1/rows/")["Location"] == "/tables/1/"
    assert client.get("/tables/1/refused.csv").status_code == 404


@pytest.mark.parametrize("name", ["xlsx", "zip", "json"])
def test_everything_goes_out_in_the_readers_words_and_units(client: Client, on_bench: Bench, name: str) -> None:
    client.post("/who/manner/", {"units": "inch", "vocabulary": "us", "decimal": ",", "next": "/"})
    answer = client.get(f"/tables/out/records.{name}")
    content = b"".join(answer.streaming_content)
    answer.close()
    assert f"sparkout records.{name}" in answer["Content-Disposition"]
    if name == "zip":
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            types = archive.read("reel types.csv").decode("utf-8-sig").splitlines()
        assert types[0].startswith("reel type;blades;reel diameter when new (in)")
        assert types[1].startswith("greens;11;5;")
    assert client.get("/tables/out/records.pdf").status_code == 404


def test_the_pages_use_both_vocabularies(client: Client, on_bench: Bench) -> None:
    bring(client, "Unit,Reel serial\nunit 3,R1\n")
    assert ">cylinder fitted<" in client.get("/tables/1/").content.decode()
    client.post("/who/manner/", {"vocabulary": "us", "next": "/"})
    assert ">reel fitted<" in client.get("/tables/1/").content.decode()
    assert FileMapping.from_data(TableFile.objects.get().mapping).sheets[0].kind == "unit"
