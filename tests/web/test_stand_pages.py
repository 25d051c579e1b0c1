"""How a unit stands, units matched, clip and ribs: what the pages tell is what the core reckons; errors in place."""

import re
from html import unescape
from urllib.parse import urlencode

import pytest
from django.test import Client
from tests.records.workshops import Bench

from sparkout.catalogue.entry import answer
from sparkout.catalogue.listing import CATALOGUE
from sparkout.records.models import HistoryLine, Unit, Visit
from sparkout.web.stand import clip, matching, stance

EXAMPLES = {"/stance/": stance.EXAMPLE, "/matching/": matching.EXAMPLE, "/clip/": clip.EXAMPLE}
LIVE = {"HX-Request": "true"}


def shown(client: Client, path: str, typed: dict[str, str], **headers: str) -> str:
    answered = client.get(f"{path}?{urlencode(typed)}", headers=headers)
    assert answered.status_code == 200
    return unescape(answered.content.decode())


@pytest.mark.parametrize("path", EXAMPLES)
def test_nothing_typed_says_what_is_wanted(client: Client, path: str) -> None:
    text = client.get(path).content.decode()
    assert "Still wanted" in text
    assert "<svg" not in text


@pytest.mark.parametrize("path", EXAMPLES)
def test_the_page_without_script_and_the_part_that_comes_while_typing_say_the_same(client: Client, path: str) -> None:
    whole = shown(client, path, EXAMPLES[path])
    part = shown(client, f"{path}told/", EXAMPLES[path], **LIVE)
    told = part.split('<p class="wrong"')[0].strip()
    assert len(told) > 500
    assert told in whole


def test_turns_are_those_of_the_catalogue(client: Client) -> None:
    typed = stance.EXAMPLE
    names = {
        "front_ahead": "front_roller_ahead", "rear_behind": "rear_roller_behind", "wanted_height": "of_cut",
        "front_diameter": "front_roller_diameter", "rear_diameter": "rear_roller_diameter",
        "front_pitch": "adjuster_pitch",
    }  # fmt: skip
    same = ("pattern", "reel_diameter", "behind_centre", "height_left", "height_right")
    given = {**{key: typed[name] for key, name in names.items()}, **{key: typed[key] for key in same}}
    results = answer(CATALOGUE["roller-turns"], given).results
    text = shown(client, "/stance/", typed)
    for side in ("left", "right"):
        turns = float(str(results[f"front_{side}_turns"].value))
        assert f"{abs(turns):.2f} turns" in text
        assert f"<td>{abs(round(turns * 4) / 4):.2f}</td>" in text


def test_clip_is_that_of_the_catalogue(client: Client) -> None:
    """4.5 km/h and 1500 turns a minute with 11 blades: 1250 mm/s / (25 x 11) = 4.545 mm."""
    text = shown(client, "/clip/", clip.EXAMPLE)
    assert re.search(r"Clip</th><td>4\.5\d*\s", text)
    assert "once per cylinder turn" in text
    assert "mow a stretch at" in text


@pytest.mark.parametrize(
    ("more", "speed"),
    [
        ({"drive": "belt", "engine_speed": "3000", "driving_pulley": "60", "driven_pulley": "120"}, "1500 1/min"),
        ({"drive": "hydraulic", "flow": "15", "displacement": "10", "efficiency": "90 %"}, "1350 1/min"),
        ({"drive": "electric", "no_load_speed": "2000", "stall_torque": "8", "reel_torque": "2"}, "1500 1/min"),
        ({"drive": "from the roller", "driving_roller": "190", "ratio": "6"}, "754 1/min"),
    ],
)
def test_every_kind_of_drive(client: Client, more: dict[str, str], speed: str) -> None:
    """Worked by hand: 3000 x 60/120; 15 L x 0.9 / 10 cm³; 2000 x (1 - 2/8); 75 m/min x 6 / (pi x 0.19 m)."""
    text = shown(client, "/clip/", {"blades": "11", "travel_speed": "4.5", **more})
    assert f"<td>{speed}</td>" in text


def test_too_much_at_one_cut_is_refused_with_what_would_do(client: Client) -> None:
    text = shown(client, "/clip/", {**clip.EXAMPLE, "interval": "7 day"})
    assert "Instead: every" in text
    assert "Clip</th>" in text, "the rest is still told"


def test_matching_says_what_stays_and_why(client: Client) -> None:
    text = shown(client, "/matching/", {**matching.EXAMPLE, "right2": "4.5 mm", "locked2": "both"})
    assert "its left adjuster is locked" in text
    assert "front right" in text


@pytest.mark.parametrize(
    ("path", "wrong", "says"),
    [
        ("/stance/", {"reel_diameter": "5 mm"}, "too small"),
        ("/stance/", {"front_roller_diameter": "wide"}, "wide"),
        ("/stance/", {"behind_centre": "190 mm"}, "behind_centre"),
        ("/stance/", {"pattern": "sideways"}, "not one of the words"),
        ("/clip/", {"blades": "1.5"}, "1.5"),
        ("/clip/", {"travel_speed": "4 kg"}, "kg"),
        ("/matching/", {"rise": "0"}, "too small"),
        ("/matching/", {"left1": "999 m"}, "too large"),
    ],
)
def test_what_is_wrong_stands_beside_its_box_and_nothing_is_lost(
    client: Client, path: str, wrong: dict[str, str], says: str
) -> None:
    (name,) = wrong
    typed = EXAMPLES[path] | wrong
    whole, part = shown(client, path, typed), shown(client, f"{path}told/", typed, **LIVE)
    for text in (whole, part):
        beside = re.search(rf'<p class="wrong" id="s-{name}-wrong"[^>]*>([^<]*)</p>', text)
        assert beside is not None
        assert says in beside[1]
        assert f'href="#s-{name}"' in text
    for other, value in typed.items():
        assert value in whole or other == "pattern"


def test_a_refusal_of_the_whole_is_told_and_keeps_what_was_typed(client: Client) -> None:
    typed = {**stance.EXAMPLE, "wanted_behind": "9 mm"}
    text = shown(client, "/stance/", typed)
    assert "adjusters at both rollers" in text
    assert "How it stands" in text
    two = {**matching.EXAMPLE, "name2": "front left"}
    assert "two of them have the same name" in shown(client, "/matching/", two)


@pytest.mark.parametrize("path", EXAMPLES)
def test_both_vocabularies_and_unit_systems(client: Client, path: str) -> None:
    uk = shown(client, path, EXAMPLES[path]).split('id="told"', 1)[1].split("<footer")[0]
    assert re.search(r"\d\smm\b", uk)
    assert re.search(r"\b(?:bedkni|reel\b)", re.sub(r"<[^>]*>", " ", uk), re.IGNORECASE) is None
    for name, value in (("vocabulary", "us"), ("units", "inch")):
        client.post("/who/manner/", {name: value, "next": "/"})
    told = shown(client, path, EXAMPLES[path]).split('id="told"', 1)[1].split("<footer")[0]
    assert re.search(r"\b(?:cylinder|bottom blade)\b", told, re.IGNORECASE) is None
    assert re.search(r"\d\s(?:in|thou)\b", told)
    assert not re.search(r"\d\smm\b", told)


def test_bare_numbers_stand_in_the_address_with_their_unit(client: Client) -> None:
    """So that changing the units does not change what was typed."""
    answered = client.get("/stance/told/?reel_diameter=125", headers=LIVE)
    assert answered["HX-Replace-Url"] == "/stance/?reel_diameter=125+mm"
    client.post("/who/manner/", {"units": "inch", "next": "/"})
    assert client.get("/stance/told/?reel_diameter=5", headers=LIVE)["HX-Replace-Url"].endswith("=5+in")


def test_kept_with_the_unit_once_and_there_again(client: Client, on_bench: Bench) -> None:
    unit = on_bench.unit
    typed = {**stance.EXAMPLE, "unit": str(unit.pk), "key": "8c6f0f2e-0000-4000-8000-000000000001"}
    for _ in range(2):
        assert client.post("/stance/keep/", typed).status_code == 302
    assert HistoryLine.objects.filter(action="keep_stance").count() == 1
    kept = Unit.objects.get(pk=unit.pk)
    assert kept.height["front_roller_ahead"] == "88 mm"
    assert kept.height["adjuster_pitch"] == "1.5 mm"
    text = shown(client, "/stance/", {"unit": str(unit.pk)})
    assert 'value="88 mm"' in text
    assert client.post("/stance/keep/", {**typed, "unit": "9999"}).status_code == 404


@pytest.mark.parametrize("query", ["unit=9999", "visit=9999", "unit=x", "visit=٣", "unit=-1"])
@pytest.mark.parametrize("path", ["/stance/", "/clip/"])
def test_what_is_not_there(client: Client, path: str, query: str) -> None:
    assert client.get(f"{path}?{query}").status_code == 404
    assert client.get("/matching/?machine=9999").status_code == 404


def test_from_a_visit_of_the_demonstration(visitor: Client) -> None:
    visit = Visit.objects.filter(state="signed").order_by("-pk")[0]
    for path in ("/stance/", "/clip/"):
        for query in (f"visit={visit.pk}", f"unit={visit.unit_id}"):
            text = visitor.get(f"{path}?{query}").content.decode()
            assert "<svg" in text, (path, query)
            assert f"/units/{visit.unit_id}/" in text
    unit = visit.unit
    assert unit.position is not None
    text = visitor.get(f"/matching/?machine={unit.position.machine_id}").content.decode()
    assert "Still wanted" in text


def test_pages_are_light(client: Client) -> None:
    for path, typed in EXAMPLES.items():
        assert len(shown(client, path, typed).encode()) < 200_000, path
