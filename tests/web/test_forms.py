"""Every form of the workshop: what it keeps, what it refuses and where it says so, and two people at one thing."""

from __future__ import annotations

import datetime
import re
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from tests.records.workshops import Bench
from tests.web.conftest import sat_down

from sparkout.records.models import (
    Calibration,
    Event,
    Fitting,
    Gauge,
    Grinder,
    HistoryLine,
    HoursEntry,
    Knife,
    KnifeType,
    Limit,
    Machine,
    Person,
    Place,
    Reel,
    ReelType,
    Unit,
    Visit,
    Workshop,
)
from sparkout.records.operations.doing import today
from sparkout.records.operations.moving import move_part
from sparkout.records.operations.parts import add_reel, fit_reel
from sparkout.records.operations.turf import record_event, record_hours
from sparkout.records.operations.units import add_unit, change_machine
from sparkout.records.operations.workshop import add_person, set_preferences
from sparkout.web.workshop.kinds import KINDS

NEW: dict[str, dict[str, str]] = {
    "places": {"name": "bowling green"},
    "machines": {"name": "fairway machine", "place": "nine holes"},
    "units": {
        "name": "unit 9",
        "machine": "fairway machine",
        "position": "rear",
        "blades": "8",
        "diameter": "7 in",
        "length": "660,4",
        "arm": "55 mm",
        "of_cut": "1/2 in",
        "travel_speed": "8",
    },
    "reels": {"label": "reel 8", "type": "greens", "diameter": "5 in"},
    "knives": {"label": "knife 8", "type": "thin"},
    "reel-types": {"name": "fairway", "blades": "8", "diameter": "178", "length": "660.4 mm"},
    "knife-types": {"name": "thin", "top_angle": "10", "lip_height": "4"},
    "gauges": {"id": "tape 9", "kind": "tape", "resolution": "0.1"},
    "grinders": {"name": "old grinder", "give": "0.6", "marked_speed": "35", "rough_infeed": "0.02"},
    "people": {"name": "CD"},
}


def add(client: Client, kind: str, **more: str) -> Any:
    return client.post(f"/workshop/{kind}/new/", {"key": str(uuid.uuid4()), **NEW[kind], **more})


def everything(client: Client) -> None:
    for kind in ("knife-types", *(kind for kind in NEW if kind != "knife-types")):
        answer = add(client, kind)
        assert answer.status_code == 302, (kind, answer.content.decode()[:3000])


def opened(client: Client, path: str) -> dict[str, str]:
    """Return what a form on a page would send: what stands in its boxes, its key, what was seen."""
    html = client.get(path).content.decode()
    form = max(re.findall(r"<form method=\"post\".*?</form>", html, re.DOTALL), key=len)
    sent = {}
    for tag in re.findall(r"<input[^>]*>", form):
        found = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if "name" in found:
            sent[found["name"]] = found.get("value", "")
    for name, options in re.findall(r'<select[^>]*name="(\w+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        sent[name] = chosen[1] if chosen else ""
    return sent


@pytest.mark.parametrize("kind", NEW)
def test_added_listed_changed_ended(client: Client, kind: str) -> None:
    everything(client)
    which = KINDS[kind]
    made = which.model._default_manager.order_by("-pk")[0]
    name = getattr(made, which.name)
    listed = client.get(f"/workshop/{kind}/").content.decode()
    assert f"/workshop/{kind}/{made.pk}/" in listed
    assert name in client.get(f"/workshop/{kind}/?q={name[:4]}").content.decode()
    assert "None of that name" in client.get(f"/workshop/{kind}/?q=zebra").content.decode()
    path = f"/workshop/{kind}/{made.pk}/"
    before, lines = which.values(made), HistoryLine.objects.count()
    assert client.post(path, opened(client, path))["Location"] == f"{path}?done=changed"
    assert HistoryLine.objects.count() == lines, "nothing was changed, so nothing is written"
    if which.name in before:
        assert client.post(path, {**opened(client, path), which.name: f"{name} x"}).status_code == 302
        made.refresh_from_db()
        assert getattr(made, which.name) == f"{name} x"
        page = client.get(path).content.decode()
        assert f'<s><span class="unseen">was </span>{name}</s>' in page
        assert "AB, " in page
    if kind in ("places", "machines"):
        Machine.objects.update(place=None)
        Unit.objects.update(position=None)
    ended = client.post(f"{path}end/", {"on": "2026-11-01", "why": "worn out"})
    assert ended.status_code == (422 if kind in ("reels", "knives") and _fitted(made) else 302), ended.content
    if ended.status_code == 302:
        assert f"/workshop/{kind}/{made.pk}/" not in client.get(f"/workshop/{kind}/").content.decode()
        assert f"/workshop/{kind}/{made.pk}/" in client.get(f"/workshop/{kind}/?ended=1").content.decode()
        assert "1 Nov 2026" in client.get(path).content.decode()
        assert client.post(f"{path}end/", {"again": "1"}).status_code == 302
        assert f"/workshop/{kind}/{made.pk}/" in client.get(f"/workshop/{kind}/").content.decode()


def _fitted(part: Any) -> bool:
    return bool(part.fittings.filter(until=None).exists())


def test_what_was_typed_is_kept_in_the_readers_units(client: Client, on_bench: Bench) -> None:
    everything(client)
    unit = Unit.objects.get(name="unit 9")
    spec = Fitting.objects.get(unit=unit, knife=None).reel.type.spec
    assert (spec["diameter"], spec["length"], spec["blades"]) == ("7 in", "660,4 mm", 8)
    assert (unit.carrier["arm"], unit.height["of_cut"], unit.mowing["travel_speed"]) == ("55 mm", "1/2 in", "8 km/h")
    assert Gauge.objects.get(name="tape 9").spec == {"resolution": "0.1 mm"}
    set_preferences(actor=on_bench.me, person=on_bench.me, units="inch")
    assert "(in)" in client.get("/workshop/reel-types/new/").content.decode()
    client.post("/workshop/reel-types/new/", {**NEW["reel-types"], "name": "inches", "diameter": "5", "length": "21"})
    assert ReelType.objects.get(name="inches").spec["diameter"] == "5 in"
    client.post("/workshop/grinders/new/", {"name": "thou", "rough_infeed": "1", "marked_speed": "6000"})
    assert Grinder.objects.get(name="thou").spec == {"rough_infeed": "1 thou", "marked_speed": "6000 ft/min"}
    bare = client.post("/workshop/gauges/new/", {"id": "t", "kind": "tape", "resolution": "0.1"})
    assert "&#x27;0.1&#x27; has no unit" in bare.content.decode()


@pytest.mark.parametrize("kind", NEW)
def test_everything_wrong_is_told_beside_its_box_and_nothing_is_lost(client: Client, kind: str) -> None:
    count = KINDS[kind].model._default_manager.count()
    sent = {name: "x" * 101 if name in ("name", "label", "id") else "12 q" for name in NEW[kind]}
    answer = client.post(f"/workshop/{kind}/new/", sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert KINDS[kind].model._default_manager.count() == count
    assert 'role="alert"' in page
    assert "<title>Not kept yet" in page
    told = re.findall(r'<a href="#([\w-]+)">', page)
    assert told
    for box in told:
        assert re.search(rf'id="{box}"[^>]*aria-invalid="true"', page), box
        assert f'id="{box}-wrong"' in page
    for name, value in sent.items():
        if name in page and f'<select id="f-{name}"' not in page:
            assert f'name="{name}"' in page
            assert f'value="{value}"' in page, name


def test_a_number_out_of_range_says_which_and_what_is_allowed(client: Client) -> None:
    page = client.post("/workshop/reel-types/new/", {**NEW["reel-types"], "blades": "80", "diameter": "17.8"}).content
    assert "80&#x27; is too large; allowed: 2 to 40." in page.decode()
    assert "17.8 mm&#x27; is too small; allowed: 40 to 600 mm." in page.decode()
    assert "this is needed" in client.post("/workshop/places/new/", {}).content.decode()


def test_sent_twice_is_added_once(client: Client) -> None:
    key = str(uuid.uuid4())
    for _ in range(2):
        assert client.post("/workshop/gauges/new/", {**NEW["gauges"], "key": key}).status_code == 302
    assert Gauge.objects.filter(name="tape 9").count() == 1
    everything_at_once = {**NEW["units"], "key": str(uuid.uuid4())}
    for _ in range(2):
        assert client.post("/workshop/units/new/", everything_at_once).status_code == 302
    assert Unit.objects.filter(name="unit 9").count() == 1


def test_a_unit_is_added_whole_or_not_at_all(client: Client) -> None:
    for wrong in ({"diameter": "7"}, {"machine": ""}, {"blades": ""}):
        assert add(client, "units", **wrong).status_code == 422
        assert not Unit.objects.filter(name="unit 9").exists()
        assert not Machine.objects.filter(name="fairway machine").exists()
    assert add(client, "units").status_code == 302
    made = Unit.objects.get(name="unit 9")
    assert client.post(f"/units/{made.pk}/visit/", {"complaint": "ribs", "hours": "12 h"}).status_code == 302
    assert client.post(f"/units/{made.pk}/visit/").status_code == 422
    assert Visit.objects.filter(unit=made).count() == 1
    second = add(
        client, "units", name="unit 10", reel_type="greens", position="front", blades="", diameter="", length=""
    )
    assert second.status_code == 302
    assert Fitting.objects.get(unit__name="unit 10", knife=None).reel.type.name == "greens"


def test_a_unit_moves_and_changes_in_one_form(client: Client, on_bench: Bench) -> None:
    path = f"/workshop/units/{on_bench.unit.pk}/"
    sent = {**opened(client, path), "machine": "another machine", "position": "centre", "of_cut": "4"}
    assert client.post(path, sent).status_code == 302
    unit = Unit.objects.get(pk=on_bench.unit.pk)
    assert (str(unit), unit.height) == ("unit 3 · another machine · centre", {"of_cut": "4 mm"})
    assert client.post(path, {**opened(client, path), "machine": "", "position": "rear"}).status_code == 422
    assert client.post(path, {**opened(client, path), "machine": "", "position": ""}).status_code == 302
    assert Unit.objects.get(pk=unit.pk).position is None


def test_two_people_change_the_same_machine(client: Client, on_bench: Bench) -> None:
    machine = Machine.objects.get()
    path = f"/workshop/machines/{machine.pk}/"
    mine = opened(client, path)
    CD = add_person(actor=on_bench.me, name="CD")
    change_machine(actor=CD, machine=machine, name="their name", place=machine.place)
    asked = client.post(path, {**mine, "name": "my name", "place": ""})
    page = asked.content.decode()
    assert asked.status_code == 422
    assert "Changed by somebody else meanwhile" in page
    assert "<b>their name</b>" in page
    assert "<b>my name</b>" in page
    machine.refresh_from_db()
    assert (machine.name, machine.place is None) == ("their name", False)
    seen = {"seen-name": "their name", "seen-place": "nine holes"}
    client.post(path, {**mine, **seen, "name": "my name", "place": "", "holds-name": "theirs"})
    machine.refresh_from_db()
    assert (machine.name, machine.place) == ("their name", None)
    client.post(path, {**opened(client, path), "name": "my name", "holds-name": "mine"})
    machine.refresh_from_db()
    assert machine.name == "my name"


def test_what_only_the_other_changed_stands(client: Client, on_bench: Bench) -> None:
    machine = Machine.objects.get()
    path = f"/workshop/machines/{machine.pk}/"
    mine = opened(client, path)
    change_machine(actor=on_bench.me, machine=machine, name="their name", place=machine.place)
    assert client.post(path, {**mine, "place": ""}).status_code == 302
    machine.refresh_from_db()
    assert (machine.name, machine.place) == ("their name", None)


def test_what_is_still_needed_is_told_and_stays(client: Client, on_bench: Bench) -> None:
    machine = Machine.objects.get()
    answer = client.post(f"/workshop/machines/{machine.pk}/end/", {"on": "2026-11-01", "why": "sold"})
    assert answer.status_code == 422
    assert "unit 3 sits on it" in answer.content.decode()
    assert 'value="sold"' in answer.content.decode()
    assert Machine.objects.get().ended_on is None


def test_parts_are_fitted_taken_out_and_swapped(client: Client, on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    other = add_unit(actor=me, name="unit 4")
    spare = add_reel(actor=me, part_type=on_bench.reel.type, label="reel 8")
    fit_reel(actor=me, unit=other, reel=spare, hours="10 h")
    path, key = f"/workshop/units/{unit.pk}/parts/", str(uuid.uuid4())
    page = client.get(path).content.decode()
    assert "reel 7" in page
    assert "last read 640 h" in page
    day = datetime.date.today().isoformat()
    swap = {
        "kind": "reel",
        "what": "swap",
        "part": "reel 8",
        "on": day,
        "hours": "700",
        "hours_there": "90",
        "key": key,
    }
    for _ in range(2):
        assert client.post(path, swap)["Location"] == f"{path}?done=changed"
    held = {f.unit.name: (f.reel.label, f.since_hours) for f in Fitting.objects.filter(until=None)}
    assert held == {"unit 3": ("reel 8", "700 h"), "unit 4": ("reel 7", "90 h")}
    for there in (unit, other):
        told = client.get(f"/workshop/units/{there.pk}/parts/").content.decode()
        assert "part moved" in told
    for wrong, says in (
        ({"part": ""}, "this is needed"),
        ({"part": "reel 99"}, "there is no cylinder called &#x27;reel 99&#x27;"),
        ({"part": "reel 8"}, "already"),
        ({"on": "2001-01-01"}, "before the day"),
        ({"hours": "12 mm"}, "unit of length"),
        ({"what": ""}, "this is needed"),
    ):
        refused = client.post(path, {**swap, "key": str(uuid.uuid4()), "what": "fit", "part": "reel 7", **wrong})
        assert refused.status_code == 422, wrong
        assert says in refused.content.decode(), wrong
    assert client.post(path, {"kind": "reel", "what": "out", "on": day, "hours": "701 h"}).status_code == 302
    assert not Fitting.objects.filter(unit=unit, until=None).exists()
    assert client.post(path, {"kind": "reel", "what": "fit", "on": day, "part": "reel 8"}).status_code == 302
    assert Fitting.objects.get(unit=unit, until=None).reel == spare
    assert client.post(path, {"kind": "wheel"}).status_code == 200


def test_a_part_page_tells_where_it_was(client: Client, on_bench: Bench) -> None:
    move_part(actor=on_bench.me, part=on_bench.reel, to=None, hours_there="700 h")
    page = client.get(f"/workshop/reels/{on_bench.reel.pk}/").content.decode()
    assert "700 h" in page
    assert "on the shelf" in client.get("/workshop/reels/").content.decode()


def test_a_calibration_is_entered_with_its_certificate(client: Client) -> None:
    gauge = Gauge.objects.get(name="tape 1")
    path = f"/workshop/gauges/{gauge.pk}/calibrate/"
    sent = {
        "on": "2026-11-02",
        "due": "2027-11-02",
        "certificate": "C 7",
        "by": "a laboratory",
        "expanded_uncertainty": "0.04 mm",
        "k": "2",
        "lines": "100 mm: 0.01 mm\n\n5 in; -1 thou",
    }
    wrong = client.post(path, {**sent, "lines": "100 mm 0.01 mm", "k": "9"}).content.decode()
    assert "k on the certificate" in wrong
    wrong = client.post(path, {**sent, "lines": "100 mm 0.01 mm"}).content.decode()
    assert "line 1, &#x27;100 mm 0.01 mm&#x27;, is no pair" in wrong
    assert "100 mm 0.01 mm</textarea>" in wrong
    wrong = client.post(path, {**sent, "lines": "100 mm: 1 N"}).content.decode()
    assert 'id="f-lines-wrong"' in wrong
    assert client.post(path, sent).status_code == 302
    kept = Calibration.objects.get()
    assert kept.lines == [{"at": "100 mm", "error": "0.01 mm"}, {"at": "5 in", "error": "-1 thou"}]
    page = client.get(f"/workshop/gauges/{gauge.pk}/").content.decode()
    for text in ("C 7", "a laboratory", "2 Nov 2027", "−1 thou", "readings are not corrected"):
        assert text in page
    Gauge.objects.update(calibration_due="2020-01-01")
    assert "overdue since 1 Jan 2020" in client.get("/workshop/gauges/").content.decode()
    assert "Calibration overdue" in client.get("/workshop/").content.decode()


def test_hours_of_many_units_in_one_go(client: Client, on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    read_on = str(today() + datetime.timedelta(days=30))
    machine = unit.position.machine
    second = add_unit(actor=me, name="unit 4", machine=machine, position="front right")
    loose = add_unit(actor=me, name="loose")
    first, others = f"m-{unit.pk}", f"h-{loose.pk}"
    assert first in client.get("/workshop/hours/").content.decode()
    assert client.post("/workshop/hours/", {"on": read_on}).status_code == 422
    sent = {"on": read_on, "key": str(uuid.uuid4()), first: "700", f"h-{second.pk}": "40,5 h", others: "5"}
    sent[f"a-{second.pk}"] = "3 ha"
    for _ in range(2):
        assert client.post("/workshop/hours/", sent)["Location"] == "/workshop/hours/?done=3"
    found = {entry.unit.name: (entry.hours, entry.area) for entry in HoursEntry.objects.filter(visit=None)}
    assert found == {"unit 3": ("700 h", None), "unit 4": ("40,5 h", "3 ha"), "loose": ("5 h", None)}
    back = client.post("/workshop/hours/", {"on": read_on, f"h-{unit.pk}": "70", f"h-{second.pk}": "4 mm"})
    page = back.content.decode()
    assert back.status_code == 422
    assert "is less than 700 h read before" in page
    assert 'value="4 mm"' in page
    assert "the clock was changed" in page
    assert HoursEntry.objects.filter(visit=None).count() == 3
    again = {"on": read_on, f"h-{unit.pk}": "70", f"c-{unit.pk}": "on"}
    assert client.post("/workshop/hours/", again).status_code == 302
    assert client.post("/workshop/hours/", {"on": read_on, f"a-{unit.pk}": "3 ha"}).status_code == 422
    wrong = client.post("/workshop/hours/", {"on": read_on, f"h-{second.pk}": "4 mm"}).content.decode()
    assert "unit of length" in wrong
    assert "loose" not in client.get("/workshop/hours/?machine=greens+machine+1").content.decode()


def test_hours_are_corrected_by_naming_the_old(client: Client, on_bench: Bench) -> None:
    wrong = record_hours(actor=on_bench.me, unit=on_bench.unit, on="2026-11-20", hours="7000 h", area="2 ha")
    path = f"/workshop/hours/{wrong.pk}/"
    assert "7000 h" in client.get(path).content.decode()
    assert client.post(path, {"on": "2026-11-20", "hours": "7 mm"}).status_code == 422
    assert client.post(path, {"on": "2026-11-20", "hours": "700"})["Location"] == f"/units/{on_bench.unit.pk}/"
    right = HoursEntry.objects.get(corrects=wrong)
    assert right.hours == "700 h"
    late = client.post(path, {"on": "2026-11-20", "hours": "70"})
    assert "it now reads &#x27;unit 3: 700 h&#x27;" in late.content.decode()
    assert "7000 h" in client.get(f"/workshop/hours/{right.pk}/").content.decode()
    assert client.post(f"/workshop/hours/{right.pk}/", {"withdraw": "1"}).status_code == 302
    assert not HoursEntry.objects.filter(visit=None).exists()
    of_visit = HoursEntry.objects.get()
    assert "read at a visit" in client.get(f"/workshop/hours/{of_visit.pk}/").content.decode()


def test_sand_and_stones(client: Client, on_bench: Bench) -> None:
    sand = {"kind": "sand", "on": "2026-11-20", "place": "nine holes", "note": "topdressing"}
    for wrong, says in (
        ({"place": ""}, "an event happens at a place"),
        ({"place": "moon"}, "no place called"),
        ({"machine": "x"}, "no machine called"),
        ({"unit": "unit 99"}, "no unit called"),
        ({"on": "", "kind": "hail"}, "this is needed"),
    ):
        refused = client.post("/workshop/turf/", {**sand, **wrong})
        assert refused.status_code == 422
        assert says in refused.content.decode(), wrong
    assert client.post("/workshop/turf/", sand).status_code == 302
    add_unit(actor=on_bench.me, name="unit 3")
    twice = client.post("/workshop/turf/", {**sand, "kind": "stone", "unit": "unit 3"})
    assert "several units are called" in twice.content.decode()
    stone = {**sand, "kind": "stone", "machine": "greens machine 1", "unit": "unit 3"}
    assert client.post("/workshop/turf/", stone).status_code == 302
    event = Event.objects.get(kind="sand")
    assert "topdressing" in client.get(f"/workshop/turf/{event.pk}/").content.decode()
    assert client.post(f"/workshop/turf/{event.pk}/", {**sand, "place": ""}).status_code == 422
    assert client.post(f"/workshop/turf/{event.pk}/", {**sand, "on": "2026-11-19"}).status_code == 302
    made = Event.objects.get(corrects=event)
    page = client.get(f"/workshop/turf/{made.pk}/").content.decode()
    assert "20 Nov 2026" in page
    assert "counts no longer" in client.get(f"/workshop/turf/{event.pk}/").content.decode()
    assert client.post(f"/workshop/turf/{made.pk}/", {"withdraw": "1"}).status_code == 302
    assert not Event.objects.filter(kind="sand").exists()
    assert client.get("/workshop/turf/999/").status_code == 404


def test_limits_are_set_anew_and_ended(client: Client, on_bench: Bench) -> None:
    limit = {"quantity": "diameter", "at_least": "120", "origin": "the machine's book"}
    for wrong, says in (
        ({"origin": " "}, "this is needed"),
        ({"at_least": "120 N"}, "unit of force"),
        ({"quantity": ""}, "this is needed"),
        ({"at_least": ""}, "at_least"),
    ):
        refused = client.post("/workshop/limits/", {**limit, **wrong})
        assert refused.status_code == 422, wrong
        assert says in refused.content.decode(), wrong
    assert client.post("/workshop/limits/", limit).status_code == 302
    of_type = f"reel_type={on_bench.reel.type.pk}"
    assert client.post("/workshop/limits/", {**limit, "at_least": "4.8 in", "for": of_type}).status_code == 302
    assert client.post("/workshop/limits/", {**limit, "at_least": "119"}).status_code == 302
    page = client.get("/workshop/limits/").content.decode()
    assert "121.92\N{NO-BREAK SPACE}mm" in page
    assert "Limits that held before" in page
    assert "121.92\N{NO-BREAK SPACE}mm" in client.get(f"/workshop/reel-types/{on_bench.reel.type.pk}/").content.decode()
    own = Limit.objects.get(reel_type=on_bench.reel.type)
    assert client.post(f"/workshop/limits/{own.pk}/end/").status_code == 302
    assert Limit.objects.filter(ended_at=None).get().at_least == "119 mm"
    assert client.post("/workshop/limits/999/end/").status_code == 404
    assert 'value="diameter" selected' in client.get("/workshop/limits/?quantity=diameter").content.decode()


def test_settings_are_changed_and_asked_when_two_change_them(client: Client, on_bench: Bench) -> None:
    sent = opened(client, "/workshop/settings/")
    assert client.post("/workshop/settings/", {**sent, "gap": "3 km"}).status_code == 422
    assert client.post("/workshop/settings/", {**sent, "name": "our own", "gap": "0.03"}).status_code == 302
    made = Workshop.objects.get()
    assert (made.name, made.wanted) == ("our own", {"gap": "0.03 mm"})
    asked = client.post("/workshop/settings/", {**sent, "name": "another"})
    assert "<b>our own</b>" in asked.content.decode()
    lines = HistoryLine.objects.count()
    assert client.post("/workshop/settings/", opened(client, "/workshop/settings/")).status_code == 302
    assert HistoryLine.objects.count() == lines


def test_a_person_is_told_their_own_way(client: Client, on_bench: Bench) -> None:
    path = f"/workshop/people/{on_bench.me.pk}/"
    assert client.post(path, {**opened(client, path), "units": "inch", "vocabulary": "us"}).status_code == 302
    assert "Reel and" not in client.get("/workshop/").content.decode()
    assert "Bedknives" in client.get("/workshop/").content.decode()
    assert Person.objects.get().units == "inch"


def test_what_is_learnt_says_where_it_comes_from(visitor: Client) -> None:
    page = visitor.get(f"/workshop/grinders/{Grinder.objects.get().pk}/").content.decode()
    assert "What its grinds taught" in page
    assert "to start from" in page


def test_a_kind_nobody_knows_is_no_address(client: Client) -> None:
    for path in ("/workshop/wheels/", "/workshop/wheels/new/", "/workshop/reels/999/", "/workshop/units/999/parts/"):
        assert client.get(path).status_code == 404
    assert client.post("/workshop/reels/999/end/", {}).status_code == 404


def test_long_lists_go_on_over_pages(client: Client, on_bench: Bench) -> None:
    Place.objects.bulk_create(Place(name=f"place {i:03}") for i in range(130))
    first = client.get("/workshop/places/?q=place").content.decode()
    assert "q=place&amp;page=2" in first
    assert "place 129" in client.get("/workshop/places/?q=place&page=2").content.decode()


def test_choose_from_what_is_in_use(client: Client) -> None:
    KnifeType.objects.create(name="gone", ended_on="2026-01-01")
    assert "gone" not in client.get("/workshop/knives/new/").content.decode()
    wrong = client.post("/workshop/knives/new/", {"label": "k", "type": "no such"})
    assert "there is no type called" in wrong.content.decode()
    assert not Knife.objects.filter(label="k").exists()
    assert Reel.objects.count() == 1


MINE = {
    "name": "ours",
    "first_person": "me",
    "units": "inch",
    "vocabulary": "us",
    "decimal": ",",
    "language": "en",
    "paper_size": "A4",
}


def test_first_start_with_gauges_and_limits(records: Path) -> None:
    ask = Client(SERVER_NAME="localhost")
    page = ask.get("/start/").content.decode()
    assert "common practice, no source" in page
    more = {"gauge-tape": "on", "gauge-tape-id": "our tape", "gauge-tape-resolution": "2 thou"}
    more |= {"limit-cone": "on", "limit-cone-at_most": "8 thou", "limit-cone-origin": "the house"}
    assert ask.post("/start/", {**MINE, **more})["Location"] == "/workshop/"
    assert Gauge.objects.get().spec == {"resolution": "2 thou"}
    limit = Limit.objects.get()
    assert (limit.at_most, limit.origin, limit.set_by) == ("8 thou", "the house", "me")
    assert Workshop.objects.get().units == "inch"


def test_first_start_tells_all_that_is_wrong_at_once(records: Path) -> None:
    ask = Client(SERVER_NAME="localhost")
    more = {"gauge-tape": "on", "gauge-tape-id": "", "gauge-dial": "on", "gauge-dial-id": "d"}
    more |= {"gauge-dial-resolution": "3 N", "limit-cone": "on", "limit-cone-at_most": "0.2 mm"}
    for names in ({"first_person": ""}, {}):
        answer = ask.post("/start/", {**MINE, **more, **names})
        page = answer.content.decode()
        assert answer.status_code == 422
        assert 'id="gauge-tape-id-wrong"' in page
        assert 'id="gauge-dial-resolution-wrong"' in page
        assert 'id="limit-cone-origin-wrong"' in page
        assert 'value="3 N"' in page
        assert ('href="#s-first_person"' in page) == bool(names)
        assert not Workshop.objects.exists()
        assert not Person.objects.exists()


def test_two_at_a_bench_see_one_anothers_names(client: Client, on_bench: Bench) -> None:
    other = sat_down(add_person(actor=on_bench.me, name="CD"))
    event = record_event(actor=on_bench.me, kind="stone", on="2026-11-20", unit=on_bench.unit)
    assert "AB, " in other.get(f"/workshop/turf/{event.pk}/").content.decode()


def test_when_a_part_was_fitted_is_put_right_on_a_page(client: Client, on_bench: Bench) -> None:
    unit, fitting = on_bench.unit, on_bench.unit.fittings.get(reel=on_bench.reel)
    address = f"/workshop/fittings/{fitting.pk}/"
    assert address in client.get(f"/workshop/units/{unit.pk}/parts/").content.decode()
    assert 'name="until"' not in client.get(address).content.decode()
    slip = client.post(address, {"since": "2062-03-01", "since_hours": "12"})
    assert (slip.status_code, "more than a year ahead" in slip.content.decode()) == (422, True)
    assert 'value="2062-03-01"' in slip.content.decode()
    done = client.post(address, {"since": "2024-03-01", "since_hours": "12"})
    assert done["Location"] == f"/workshop/units/{unit.pk}/parts/?done=changed"
    fitting.refresh_from_db()
    assert (str(fitting.since), fitting.since_hours, fitting.until) == ("2024-03-01", "12 h", None)
    assert "day or hours of a part put right" in client.get(done["Location"]).content.decode()
