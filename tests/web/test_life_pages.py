"""One unit's life and a part's, as pages: drawn, told in the same figures, honest about what is not known yet."""

from __future__ import annotations

import datetime
import json
import re
from types import SimpleNamespace

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.records.workshops import Bench, diameter

from sparkout.core.errors import Refusal
from sparkout.reckoning.in_figures import in_figures
from sparkout.reckoning.reckon import reckon
from sparkout.records import figures as fresh
from sparkout.records.models import KeptFigures, Knife, Person, Reel, Unit, Visit
from sparkout.records.operations.parts import add_reel, fit_reel, remove_reel
from sparkout.records.operations.turf import record_event, record_hours
from sparkout.records.operations.units import add_unit
from sparkout.records.operations.visits import correct_signed_visit, open_visit, set_aside_visit, sign_visit
from sparkout.records.operations.workshop import set_preferences
from sparkout.records.queries import visit_file
from sparkout.showing import Showing
from sparkout.web.unit import figures as worked


def unit_page(client: Client, name: str, query: str = "") -> str:
    """The page when all figures are worked out: a look spends only so long on them."""
    for _ in range(20):
        answer = client.get(f"/units/{Unit.objects.get(name=name).pk}/{query}")
        assert answer.status_code == 200
        if "Work out more" not in answer.content.decode():
            break
    return answer.content.decode()


def text_of(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_table_tells_every_figure(visitor: Client, units: str) -> None:
    """The oracle is the Python package: reckon, and Showing."""
    set_preferences(actor=Person.objects.first(), person=Person.objects.first(), units=units)
    page = text_of(unit_page(visitor, "C1 right"))
    showing = Showing(units, "uk")  # type: ignore[arg-type]
    for visit in Visit.objects.filter(unit__name="C1 right"):
        told = in_figures(reckon(visit_file(visit)))
        for stage in (told.found, told.left):
            for value in (stage.diameter, stage.land, stage.height):
                assert value is not None
                assert showing.measured(value) in page
            for quantity in stage.with_outcome("does not conform"):
                assert f"{showing.say(quantity)} does not conform" in page


def test_the_picture_leads_to_visits_and_photographs(visitor: Client) -> None:
    page = unit_page(visitor, "C1 right", "?by=date")
    svgs = re.findall(r"<svg.*?</svg>", page, re.DOTALL)
    assert len(svgs) == 2  # for a narrow page and a broad one
    visits = Visit.objects.filter(unit__name="C1 right").values_list("pk", flat=True)
    for svg in svgs:
        assert {int(n) for n in re.findall(r'href="/visits/(\d+)/"', svg)} == set(visits)
        assert re.search(r'href="/attachments/\d+/"', svg)
        assert "reel C1 right, second" in svg or "reel C1 r" in svg
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_a_reels_page_and_a_knifes(visitor: Client) -> None:
    old, new = Reel.objects.filter(label__startswith="reel C1 right").order_by("pk")
    page = visitor.get(f"/reels/{old.pk}/life/").content.decode()
    assert page.count("<tr role=") == 1 + 3 + 2 + 1 + 1  # head, visits, in and out, a stone, hours of the unit
    assert "In no unit now" in page
    assert "hours run since first fitted here" in page
    assert "Now in" in visitor.get(f"/reels/{new.pk}/life/").content.decode()
    knife = Knife.objects.get(label="knife C1 right, second")
    page = visitor.get(f"/knives/{knife.pk}/life/").content.decode()
    assert "mean diameter" not in page  # that is the reel's
    assert "height of cut" in page
    assert visitor.get("/reels/999/life/").status_code == visitor.get("/knives/999/life/").status_code == 404


def test_a_unit_without_a_visit(client: Client, on_bench: Bench) -> None:
    bare = add_unit(actor=on_bench.me, name="bare")
    page = client.get(f"/units/{bare.pk}/").content.decode()
    assert "No visit yet" in page
    assert "<svg" not in page
    spare = add_reel(actor=on_bench.me, part_type=on_bench.reel.type, label="spare")
    assert "<svg" not in client.get(f"/reels/{spare.pk}/life/").content.decode()


def test_one_open_visit_is_drawn_as_far_as_it_is_known(client: Client, on_bench: Bench) -> None:
    page = client.get("/units/1/").content.decode()
    assert page.count("<svg") == 2
    assert "mean diameter" not in page
    diameter(on_bench)
    page = client.get("/units/1/").content.decode()
    assert "mean diameter" in page
    assert "Go on with the visit" in page
    assert not KeptFigures.objects.exists()  # only a signed visit stays as it is


def test_what_stands_against_an_answer_is_told(client: Client, on_bench: Bench, monkeypatch) -> None:
    sign_visit(actor=on_bench.me, visit=on_bench.visit)

    def refuse(_visit: object, _day: object = None) -> None:
        raise Refusal("the readings contradict each other")

    monkeypatch.setattr(fresh, "reckon", refuse)
    assert "the readings contradict each other" in client.get("/units/1/").content.decode()
    opened = open_visit(actor=on_bench.me, unit=on_bench.unit, hours="700 h")
    stands_against = SimpleNamespace(answer="a gauge has no resolution")
    monkeypatch.setattr(worked, "reckoned", lambda _visit, _day: stands_against)
    assert "a gauge has no resolution" in client.get("/units/1/").content.decode()
    monkeypatch.setattr(worked, "reckoned", refuse)
    assert "contradict each other" in client.get("/units/1/").content.decode()
    set_aside_visit(actor=on_bench.me, visit=opened, reason="mistake")
    assert "set aside" in client.get("/units/1/").content.decode()


def test_a_corrected_visit_gives_way_and_says_so(client: Client, on_bench: Bench) -> None:
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    sign_visit(actor=on_bench.me, visit=correct_signed_visit(actor=on_bench.me, visit=on_bench.visit, reason="misread"))
    page = client.get("/units/1/?by=date").content.decode()
    assert "corrected by a later one" in page
    assert "visit that corrects another" in page
    svg = page[page.index("<svg") : page.index("</svg>")]
    assert 'href="/visits/2/"' in svg
    assert 'href="/visits/1/"' not in svg


def test_a_clock_that_fell_makes_dates_the_measure(client: Client, on_bench: Bench) -> None:
    later = on_bench.visit.date + datetime.timedelta(days=9)
    record_hours(actor=on_bench.me, unit=on_bench.unit, on=later, hours="3 h", clock_changed=True)
    page = client.get("/units/1/?by=hours").content.decode()
    assert "The clock once showed 640 h, then 3 h" in page
    assert re.search(r'by=date#life" aria-current="true"', page)


def test_without_hours_a_life_runs_by_date(client: Client, on_bench: Bench) -> None:
    set_aside_visit(actor=on_bench.me, visit=on_bench.visit, reason="none of it")
    on_bench.unit.hours_entries.all().delete()
    open_visit(actor=on_bench.me, unit=on_bench.unit)
    page = client.get("/units/1/").content.decode()
    assert re.search(r'by=date#life" aria-current="true"', page)
    page = client.get("/units/1/?by=hours").content.decode()
    assert "Visits that have no place in the picture, because their hours are not known: 1" in page


def many_visits(on: Bench, count: int) -> None:
    """A life as long as a unit's can be: copies of one signed visit, each on its own day."""
    for at in ("left", "right"):
        diameter(on, at=at)
    signed = sign_visit(actor=on.me, visit=on.visit)
    file = json.loads(signed.as_signed)
    first = signed.date - datetime.timedelta(days=20 * count)
    made = []
    for number in range(count):
        day, hours = first + datetime.timedelta(days=20 * number), f"{100 + 5 * number} h"
        file["visit"]["date"], file["unit"]["hours"] = str(day), hours
        made.append(
            Visit(
                unit=on.unit, reel=on.reel, date=day, state="signed", opened_at=signed.opened_at, opened_by=on.me,
                signed_by="AB", signed_on=day, signed_at=signed.signed_at, as_signed=json.dumps(file),
            )
        )  # fmt: skip
    for visit, number in zip(Visit.objects.bulk_create(made), range(count), strict=True):
        record_hours(actor=on.me, unit=on.unit, on=visit.date, hours=f"{100 + 5 * number} h")
        on.unit.hours_entries.filter(on=visit.date).update(visit=visit)


def test_a_long_life_is_worked_out_a_few_visits_at_each_look(client: Client, on_bench: Bench, monkeypatch) -> None:
    many_visits(on_bench, 24)
    monkeypatch.setattr(fresh, "MOST", 10)
    monkeypatch.setattr(fresh, "LONGEST", 60.0)
    waiting = [
        int(found[1])
        if (found := re.search(r"still to be worked out: (\d+)", client.get("/units/1/").content.decode()))
        else 0
        for _ in range(3)
    ]
    assert waiting == [15, 5, 0]
    assert KeptFigures.objects.count() == 25
    monkeypatch.setattr(fresh, "reckon", None)  # nothing is worked out twice
    assert client.get("/units/1/").status_code == 200
    KeptFigures.objects.update(made_by="other calculations")
    monkeypatch.undo()
    monkeypatch.setattr(fresh, "LONGEST", 0.0)  # however slow, each look brings one
    client.get("/units/1/")
    assert KeptFigures.objects.exclude(made_by="other calculations").count() == 1


def test_figures_that_cannot_be_kept_are_shown_all_the_same(client: Client, on_bench: Bench, monkeypatch) -> None:
    diameter(on_bench)
    sign_visit(actor=on_bench.me, visit=on_bench.visit)

    def full(_figures: object, _made_by: str) -> None:
        raise Refusal("the disk is full")

    monkeypatch.setattr(fresh, "keep_figures", full)
    assert "mean diameter" in client.get("/units/1/").content.decode()


def test_two_hundred_visits(client: Client, on_bench: Bench) -> None:
    def look() -> tuple[int, int, str]:
        with CaptureQueriesContext(connection) as queries:
            page = client.get("/units/1/").content.decode()
        return len(queries), len(page.encode()), page

    sample = None
    many_visits(on_bench, 200)
    for visit in Visit.objects.exclude(pk=on_bench.visit.pk):
        sample = sample or fresh.as_kept(fresh.of_signed(visit.as_signed))
        fresh.keep_figures({visit.pk: sample}, fresh.calculations())
    fresh.keep_figures({on_bench.visit.pk: sample}, fresh.calculations())
    asked, size, page = look()
    assert size < 200_000
    assert page.count("<svg") == 1  # drawn once, wide, scrolled along on a telephone
    assert page.count("<tr role=") == 1 + 40
    assert "older lines too" in page
    record_event(actor=on_bench.me, kind="stone", on=on_bench.visit.date, unit=on_bench.unit)
    assert look()[0] == asked <= 16
    assert client.get("/units/1/?all=1").content.decode().count('<tr role="row" id="v') == 201


def test_a_reel_in_two_units_is_one_line_of_hours(client: Client, on_bench: Bench) -> None:
    me, reel = on_bench.me, on_bench.reel
    sign_visit(actor=me, visit=on_bench.visit)
    remove_reel(actor=me, unit=on_bench.unit, on=on_bench.visit.date, hours="640 h")
    other = add_unit(actor=me, name="unit 4")
    fit_reel(actor=me, unit=other, reel=reel, on=on_bench.visit.date, hours="40 h")
    sign_visit(actor=me, visit=open_visit(actor=me, unit=other, hours="140 h"))
    page = client.get(f"/reels/{reel.pk}/life/?by=hours").content.decode()
    svg = page[page.index("<svg") : page.index("</svg>")]
    assert "unit 3" in svg
    assert "unit 4" in svg
    assert "640 h" in svg or "600 h" in svg  # 540 h here, then 100 h there
    assert re.search(r'by=hours#life" aria-current="true"', page)


def test_the_label_leads_to_the_unit(client: Client, on_bench: Bench) -> None:
    page = client.get("/units/1/label/").content.decode()
    assert "http://localhost/units/1/" in page
    assert page.count("<svg") == 1


def test_labels_of_a_whole_machine(visitor: Client) -> None:
    unit = Unit.objects.get(name="C1 right")
    page = visitor.get(f"/units/{unit.pk}/label/?machine").content.decode()
    assert page.count("<svg") == 3
    assert all(name in page for name in ("C1 left", "C1 centre", "C1 right"))
