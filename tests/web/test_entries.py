"""What is entered on the visit page: kept once, corrected, struck out, refused, and never settled silently."""

import uuid
from typing import Any

import pytest
from django.http import HttpResponse, StreamingHttpResponse
from django.test import Client
from tests.records.workshops import Bench

from sparkout.records.models import Cell, KeptPlan, Reading, Sweep, WorkDone
from sparkout.records.models.visits import Visit
from sparkout.records.operations.equipment import set_limit
from sparkout.records.operations.workshop import set_preferences
from sparkout.records.queries import visit_file
from sparkout.web.visit.parts import MORE


def whole(answer: Any) -> HttpResponse:
    """The answer with all its parts arrived."""
    if not isinstance(answer, StreamingHttpResponse):
        return answer
    return HttpResponse(answer.getvalue(), status=answer.status_code, headers=dict(answer.headers))


def enter(client: Client, box: str, line: str, **more: Any) -> HttpResponse:
    gauge = "tape 1" if box.startswith("diameter") else None
    sent = {"box": box, "line": line, "unit": "mm", "gauge": gauge, "key": str(uuid.uuid4()), **more}
    return whole(client.post("/visits/1/reading/", {key: value for key, value in sent.items() if value is not None}))


def readings(on_bench: Bench) -> list[Any]:
    return list(visit_file(on_bench.visit).readings)


def test_a_reading_is_kept_as_typed(client: Client, on_bench: Bench) -> None:
    answer = enter(client, "diameter-f-l", "125.4", gauge="tape 1")
    assert (answer.status_code, answer["Outcome"]) == (200, "done")
    text = answer.content.decode()
    assert 'id="told-diameter-f-l"' in text
    assert "± " in text
    (kept,) = readings(on_bench)
    assert (kept.value.text, kept.gauge, kept.at.text, kept.by) == ("125.4 mm", "tape 1", "left", "AB")


def test_only_what_is_new_to_the_page_is_sent(client: Client, on_bench: Bench) -> None:
    import re

    first = client.get("/visits/1/answer/").content.decode()
    have = " ".join(f"{i}:{d}" for i, d in re.findall(r'id="([\w-]+)" data-digest="(\w+)"', first))
    assert client.get("/visits/1/answer/", {"have": have}).content.replace(MORE.encode(), b"") == b""
    after = enter(client, "lip_height-f", "4 mm", have=have).content.decode()
    assert "told-lip_height-f" in after
    assert len(after) < len(first) / 2
    quick = enter(client, "lip_height-f", "4.1 mm", expected="1", more="1")
    assert (quick.content, quick["Version"]) == (b"", "2")


def test_corrected_and_struck_out(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4")
    assert enter(client, "diameter-f-l", "125.5", expected="1")["Outcome"] == "done"
    assert [r.value.text for r in readings(on_bench)] == ["125.5 mm"]
    assert Reading.objects.count() == 2  # the first stays on file
    assert enter(client, "diameter-f-l", "-", expected="2")["Outcome"] == "done"
    assert readings(on_bench) == []
    assert enter(client, "diameter-f-l", "-")["Outcome"] == "done"  # nothing there to strike out
    assert enter(client, "diameter-f-l", "125.6")["Outcome"] == "done"


def test_sent_twice_counts_once(client: Client, on_bench: Bench) -> None:
    key = str(uuid.uuid4())
    for _ in range(3):
        assert enter(client, "diameter-f-l", "125.4", key=key)["Outcome"] == "done"
    assert Reading.objects.count() == 1
    other = enter(client, "diameter-f-l", "125.9", key=key)
    assert other["Outcome"] == "refused"
    assert b"sent before as" in other.content
    assert [r.value.text for r in readings(on_bench)] == ["125.4 mm"]


@pytest.mark.parametrize("expected", ["", "1"])
def test_two_people_both_values_are_shown(client: Client, on_bench: Bench, expected: str) -> None:
    enter(client, "diameter-f-l", "125.4")
    enter(client, "diameter-f-l", "125.5", expected="1")
    answer = enter(client, "diameter-f-l", "125.9", expected=expected)
    assert answer["Outcome"] == "conflict"
    assert b"125.5 mm" in answer.content
    assert b"125.9" in answer.content
    assert [r.value.text for r in readings(on_bench)] == ["125.5 mm"]


def test_two_people_who_count_otherwise_see_the_value_as_it_was_typed(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "126,4")
    set_preferences(actor=on_bench.me, person=on_bench.me, units="inch")
    told = enter(client, "diameter-f-l", "4.98", unit="in").content.decode()
    assert "it now reads 126,4 mm" in told
    assert "Leave theirs: 126,4 mm" in told
    refused = enter(client, "diameter-f-c", "126.4", unit="in").content.decode()
    assert "Did you mean 126.4 mm?" in refused.replace("&#x27;", "'")


def test_a_feeler_and_another_place(client: Client, on_bench: Bench) -> None:
    assert enter(client, "rest_gap-f-c", "left go 1.9 nogo 2.0", gauge="leaves 1")["Outcome"] == "done"
    (kept,) = readings(on_bench)
    assert (kept.at.text, kept.goes.text, kept.does_not_go.text) == ("left", "1.9 mm", "2.0 mm")
    refused = enter(client, "rest_gap-f-c", "left quarter 1.9 2.0")
    assert b"no box for rest gap at left quarter" in refused.content


@pytest.mark.parametrize(
    ("box", "line", "why"),
    [
        ("diameter-f-l", "5", "Did you mean 5 in"),
        ("diameter-f-l", "five", "not a number"),
        ("diameter-f-l", "1.9 2.0", "takes one value"),
        ("land-f-l", "-1 mm", "allowed: 0 to 20 mm"),
        ("diameter-f-l", "2 kg", "unit of mass"),
        ("nowhere", "1 mm", "no place"),
        ("diameter-f-l", "", "type what the gauge shows"),
    ],
)
def test_refused_beside_the_box(client: Client, on_bench: Bench, box: str, line: str, why: str) -> None:
    answer = enter(client, box, line)
    assert answer["Outcome"] == "refused"
    assert why in answer.content.decode().replace("&#x27;", "'")
    assert readings(on_bench) == []


def test_a_key_is_needed_and_a_gauge_must_fit(client: Client, on_bench: Bench) -> None:
    assert enter(client, "diameter-f-l", "125.4", key="no key")["Outcome"] == "refused"
    assert enter(client, "diameter-f-l", "125.4", gauge="dial 1")["Outcome"] == "refused"
    assert enter(client, "diameter-f-l", "125.4", gauge="unheard of")["Outcome"] == "refused"
    assert readings(on_bench) == []


def test_a_grid_is_one_sweep_on_one_zero(client: Client, on_bench: Bench) -> None:
    for box, line in (("run-out-f-1-l", "0"), ("run-out-f-2-l", "-0.01"), ("run-out-f-11-r", "2 thou")):
        assert enter(client, box, line, gauge="dial 1", zero="one")["Outcome"] == "done"
    (sweep,) = visit_file(on_bench.visit).sweeps
    assert [place.text for place in sweep.at] == ["left", "centre", "right"]
    assert (sweep.set_up, sweep.gauge, len(sweep.values)) == ("A", "dial 1", 11)
    assert abs(float(sweep.values[10][2]) - 0.0508) < 1e-12  # 2 thou, exact by definition of the inch
    assert enter(client, "run-out-f-1-l", "0.02", expected="1")["Outcome"] == "done"
    assert enter(client, "run-out-f-1-l", "-", expected="2")["Outcome"] == "done"
    assert visit_file(on_bench.visit).sweeps[0].values[0][0] is None
    assert enter(client, "run-out-f-1-l", "0.03")["Outcome"] == "done"
    assert Sweep.objects.count() == 1


def test_a_zero_of_its_own_at_each_place(client: Client, on_bench: Bench) -> None:
    enter(client, "run-out-f-1-l", "0", zero="place")
    enter(client, "run-out-f-1-c", "0", zero="place")
    assert [sweep.set_up for sweep in visit_file(on_bench.visit).sweeps] == ["A left", "A centre"]


def test_five_places_join_the_sweep_begun_with_three(client: Client, on_bench: Bench) -> None:
    enter(client, "run-out-f-1-l", "0")
    sent = {"box": "run-out-f-1-lq", "line": "0.01", "unit": "mm", "key": str(uuid.uuid4())}
    assert client.post("/visits/1/reading/?five=1", sent)["Outcome"] == "done"
    found = visit_file(on_bench.visit).sweeps
    assert [[place.text for place in sweep.at] for sweep in found] == [
        ["left", "centre", "right"],
        ["left quarter", "right quarter"],
    ]
    assert {sweep.set_up for sweep in found} == {"A"}


def test_shaft_by_quarters(client: Client, on_bench: Bench) -> None:
    for angle, line in (("0", "0"), ("90", "0.02"), ("180", "0.04"), ("270", "0.02")):
        assert enter(client, f"shaft-f-{angle}-c", line, gauge="dial 1")["Outcome"] == "done", angle
    (sweep,) = visit_file(on_bench.visit).sweeps
    assert [round(float(a) * 180 / 3.141592653589793) for a in sweep.angles] == [0, 90, 180, 270]
    assert Cell.objects.count() == 4


def test_work_on_the_rest_of_the_page(client: Client, on_bench: Bench) -> None:
    assert client.post("/visits/1/look/", {"what": "nothing found"})["Location"] == "/visits/1/#look-over"
    assert (
        client.post(
            "/visits/1/another/",
            {"of": "nick depth", "at": "120 mm", "blade": "3", "line": "0.3 mm", "when": "as found"},
        ).status_code
        == 302
    )
    assert (
        client.post("/visits/1/another/", {"of": "nick depth", "line": "0.3 mm", "when": "as found"}).status_code == 422
    )
    assert "nick depth 120 mm from the left, blade 3: 0.3 mm" in client.get("/visits/1/").content.decode()


ALL = " ".join(["ccc"] * 11)
NONE = ALL.replace("c", "-")


def tap(client: Client, rows: str, was: str, **more: str) -> HttpResponse:
    sent = {"when": "as left", "stations": "left|centre|right", "rows": rows, "was": was, "key": str(uuid.uuid4())}
    return whole(client.post("/visits/1/paper/", {**sent, "thickness": "0.1", "thickness_was": "0.1 mm", **more}))


def proof(on_bench: Bench) -> Any:
    (found,) = visit_file(on_bench.visit).paper
    return found


def test_a_paper_proof_is_tapped(client: Client, on_bench: Bench) -> None:
    key = str(uuid.uuid4())
    for _ in range(2):  # the second time because its answer was lost
        assert tap(client, ALL, NONE, key=key)["Outcome"] == "done"
    assert tap(client, "ccp" + ALL[3:], ALL)["Outcome"] == "done"
    assert proof(on_bench).rows[0] == "ccp"
    assert proof(on_bench).thickness.text == "0.1 mm"
    assert tap(client, "ccp" + ALL[3:], ALL, thickness="0,08")["Outcome"] == "done"
    assert proof(on_bench).thickness.text == "0,08 mm"
    for wrong in ({"rows": "xyz" + ALL[3:]}, {"rows": "ccc"}, {"stations": "left|right"}, {"thickness": "4 m"}):
        refused = tap(client, **{"rows": ALL, "was": ALL, **wrong})
        assert refused["Outcome"] == "refused"
        assert b'<div id="refused"' in refused.content  # and is told on the page
    assert proof(on_bench).rows[0] == "ccp"


def test_two_people_tap_one_paper_proof(client: Client, on_bench: Bench) -> None:
    """Each has changed what they tapped, whatever the other's page showed; of one spot both answers are told."""
    tap(client, "c--" + NONE[3:], NONE)
    assert tap(client, "--u" + NONE[3:], NONE)["Outcome"] == "done"
    assert proof(on_bench).rows[0] == "c-u"
    answer = tap(client, "pc-" + NONE[3:], NONE)
    assert answer["Outcome"] == "conflict"
    assert "blade 1, left: yours pinched, theirs clean" in answer.content.decode()
    assert 'data-mine="0:p"' in answer.content.decode()
    assert proof(on_bench).rows[0] == "ccu"
    assert 'data-rows="ccu' in answer.content.decode()  # their page is told all of it


def planned(client: Client, on_bench: Bench) -> None:
    set_limit(actor=on_bench.me, quantity="diameter", at_least="120 mm", origin="house")
    enter(client, "diameter-f-l", "125.4", gauge="tape 1")
    for blade in range(1, 12):
        for place in "lcr":
            enter(client, f"run-out-f-{blade}-{place}", "0.01", gauge="dial 1", more="1")


def test_passes_are_ticked_once_each_in_order(client: Client, on_bench: Bench) -> None:
    planned(client, on_bench)
    page = client.get("/visits/1/").content.decode()
    assert 'id="pass-1"' in page
    first = {"pass": 1, "infeed": "0.0200 mm", "key": str(uuid.uuid4())}
    for _ in range(2):
        assert client.post("/visits/1/pass/", first)["Outcome"] == "done"
    client.post("/visits/1/pass/", {"pass": 1, "infeed": "0.0200 mm", "key": str(uuid.uuid4())})
    client.post("/visits/1/pass/", {"pass": 2, "infeed": "0.0150 mm", "key": str(uuid.uuid4())})
    client.post("/visits/1/pass/", {"pass": 7, "infeed": "0.0150 mm", "key": str(uuid.uuid4())})
    (work,) = visit_file(on_bench.visit).work
    assert [infeed.text for infeed in work.infeeds] == ["0.0200 mm", "0.0150 mm"]
    assert WorkDone.objects.count() == 2
    wrong = {"pass": 3, "infeed": "9 mm", "key": str(uuid.uuid4())}
    assert client.post("/visits/1/pass/", wrong)["Outcome"] == "refused"


def test_the_last_pass_is_taken_back(client: Client, on_bench: Bench) -> None:
    planned(client, on_bench)
    for number in (1, 2):
        client.post("/visits/1/pass/", {"pass": number, "infeed": "0.02 mm", "key": str(uuid.uuid4())})

    def back(number: int, key: uuid.UUID) -> None:
        assert client.post("/visits/1/pass/", {"back": number, "key": str(key)})["Outcome"] == "done"

    back(1, uuid.uuid4())  # not the last one
    assert [len(work.infeeds) for work in visit_file(on_bench.visit).work] == [2]
    key = uuid.uuid4()
    for _ in range(2):  # the second time because its answer was lost
        back(2, key)
    assert [len(work.infeeds) for work in visit_file(on_bench.visit).work] == [1]
    assert "1 pass done" in client.get("/visits/1/").content.decode()
    back(1, uuid.uuid4())
    assert visit_file(on_bench.visit).work == ()


def test_what_if_keeps_nothing_until_asked(client: Client, on_bench: Bench) -> None:
    planned(client, on_bench)
    asked = {
        "uncleaned_share": "5",
        "allowance": "0.05",
        "rough_infeed": "0.04",
        "finish_infeed": "0.01",
        "relief": "no",
    }
    text = client.get("/visits/1/what-if/", asked).content.decode()
    assert "<b>" in text
    assert "0.050 mm" in text
    assert KeptPlan.objects.count() == 0
    assert "allowed: 0 to 1 mm" in client.get("/visits/1/what-if/", {"allowance": "9"}).content.decode()
    assert client.post("/visits/1/keep/", asked).status_code == 302
    assert visit_file(on_bench.visit).wanted.allowance.text == "0.05 mm"
    assert visit_file(on_bench.visit).grinder.rough_infeed.text == "0.04 mm"
    assert client.post("/visits/1/keep/", {"allowance": "9"}).status_code == 422


def test_signed_is_closed(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4")
    assert client.post("/visits/1/sign/", {"name": "AB", "statement": "set and proved"}).status_code == 302
    assert Visit.objects.get().state == "signed"
    page = client.get("/visits/1/").content.decode()
    assert "Signed and closed" in page
    assert "set and proved" in page
    assert enter(client, "diameter-f-l", "125.5", expected="1")["Outcome"] == "refused"
    assert client.post("/visits/1/sign/", {"name": "AB", "statement": "again"}).status_code == 422
    assert client.post("/visits/1/look/", {"what": "late"}).status_code == 422
    assert [r.value.text for r in readings(on_bench)] == ["125.4 mm"]


def test_a_contradiction_is_told_and_can_be_put_right(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4", gauge="tape 1")
    page = enter(client, "diameter-f-l", "590", expected="1", gauge="tape 1")
    assert page.status_code == 200
    assert client.get("/visits/1/").status_code == 200
    assert client.get("/visits/1/card.pdf").status_code in (200, 422)
    assert enter(client, "diameter-f-l", "125.4", expected="2", gauge="tape 1")["Outcome"] == "done"


def test_a_signed_visit_is_corrected_by_a_new_one_that_names_it(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4")
    assert client.post("/visits/1/correct/", {"reason": "slip"}).status_code == 422  # it is still open
    client.post("/visits/1/sign/", {"name": "AB", "statement": "set and proved"})
    assert client.post("/visits/1/correct/", {"reason": ""}).status_code == 422
    address = client.post("/visits/1/correct/", {"reason": "read on the wrong side"})["Location"]
    made = Visit.objects.get(corrects=1)
    assert address == f"/visits/{made.pk}/"
    assert "Corrects an earlier visit" in client.get(address).content.decode()
    assert [r.value.text for r in visit_file(made).readings] == ["125.4 mm"]


def test_opened_by_mistake(client: Client, on_bench: Bench) -> None:
    assert client.post("/visits/1/set-aside/", {"reason": ""}).status_code == 422
    assert client.post("/visits/1/set-aside/", {"reason": "wrong unit"}).status_code == 302
    assert "Set aside" in client.get("/visits/1/").content.decode()
    assert enter(client, "diameter-f-l", "125.4")["Outcome"] == "refused"


def test_what_comes_after_the_signature_is_refused_with_the_day_as_it_is_told(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4")
    client.post("/visits/1/sign/", {"name": "AB", "statement": "set and proved"})
    signed = Visit.objects.get(pk=1).signed_on
    assert signed is not None
    day = f"{signed:%-d %b %Y}"
    assert f"was signed by AB on {day} and is closed" in enter(client, "diameter-f-c", "125.4").content.decode()
    for address, sent in (("pass", {"pass": "1", "infeed": "0.02 mm"}), ("paper", {"rows": ALL, "was": NONE})):
        sent |= {"stations": "left|centre|right", "key": str(uuid.uuid4())}
        answer = whole(client.post(f"/visits/1/{address}/", sent)).content.decode()
        assert '<div id="refused"' in answer
        assert day in answer
