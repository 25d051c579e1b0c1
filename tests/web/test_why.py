"""Every reading on file can be explained, with its own figures, in either vocabulary and unit system."""

import re
import uuid
from itertools import product

import pytest
from django.test import Client

from sparkout.records.models import Visit
from sparkout.showing import Showing
from sparkout.web.visit.bench import Bench
from sparkout.web.visit.why import explained

WITHOUT = {"drag", "height of cut", "gap"}
"""Quantities with no scene of their own when read as one value."""


@pytest.mark.parametrize(("vocabulary", "units"), list(product(("uk", "us"), ("mm", "inch"))))
def test_every_box_on_file_has_a_drawing(demonstration, vocabulary: str, units: str) -> None:
    seen: set[str] = set()
    for visit in Visit.objects.filter(state="open"):
        bench = Bench(visit, Showing(units, vocabulary))  # type: ignore[arg-type]
        for _, box in bench.boxes.values():
            picture = explained(bench, box)
            if box.key not in bench.filed:
                assert picture == ""
            elif box.of not in WITHOUT:
                assert picture.startswith("<svg"), box.id
                assert bench.showing.say(bench.meanings[box.key][0].label) in picture.replace("\u00a0", " "), box.id
                seen.add(box.of)
    assert {"diameter", "rest gap", "run-out", "shaft", "knife straightness"} <= seen


def test_the_figures_are_those_beside_the_box(visitor: Client) -> None:
    visit = Visit.objects.filter(state="open", readings__of="diameter").first()
    page = visitor.get(f"/visits/{visit.pk}/").content.decode()
    means = re.search(r'id="told-diameter-f-l".*?<span class="means">([^<]+)</span>', page, re.S)[1]
    answer = visitor.get(f"/visits/{visit.pk}/why/diameter-f-l/").content.decode()
    assert means in re.sub(r"<[^>]+>", "", answer).replace("\u00a0", " ")
    assert visitor.get(f"/visits/{visit.pk}/why/nowhere/").status_code == 404


@pytest.mark.parametrize(
    ("box", "line"),
    [
        ("land-f-l", "1.2 mm"),
        ("lip_height-f", "4 mm"),
        ("end_play-f", "0.02 mm"),
        ("gap-l-l", "0.02 0.03 mm"),
        ("top_angle-f", "6 deg"),
        ("frame-f-l", "0.1 mm"),
        ("edge_rounding-f", "0.02 mm"),
    ],
)
def test_each_kind_of_gauge(client: Client, on_bench, box: str, line: str) -> None:
    sent = {"box": box, "line": line, "unit": "mm", "key": str(uuid.uuid4()), "more": "1"}
    assert client.post("/visits/1/reading/", sent)["Outcome"] == "done"
    assert "<svg" in client.get(f"/visits/1/why/{box}/").content.decode()
    assert client.get("/visits/1/why/drag-f/").content == b""
