"""Every reading the answer can ask for leads to boxes that are on the page."""

import pytest
from django.test import Client

from sparkout.core.gauges.instrument import Instrument
from sparkout.core.reel.candidates import candidate_readings
from sparkout.core.reel.geometry import Reel
from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.visit.quantities import GAUGE_KINDS
from sparkout.visit.reading import read_visit
from sparkout.web.visit.next_reading import next_reading, places
from sparkout.web.visit.places import groups

FILES = demonstration_files()


@pytest.mark.parametrize("name", FILES)
def test_every_candidate_of_a_visit_has_its_boxes(name: str) -> None:
    visit = read_visit(FILES[name])
    answer = reckon(visit)
    made = groups(visit, Showing())
    boxes = {box.key for group in made for box in group.all_boxes}
    assert answer.diagnosis.possible
    for candidate in answer.diagnosis.possible:
        assert candidate.touches, candidate.label
        assert set(places(candidate)) <= boxes, candidate.label


@pytest.mark.parametrize("kind", GAUGE_KINDS)
def test_gauges_without_a_name_as_well(kind: str) -> None:
    gauge = Instrument(kind, kind, 0.01, 0.01, 0.01)  # type: ignore[arg-type]
    for candidate in candidate_readings(Reel(11, 127.0, 533.0), [gauge]):
        assert places(candidate), candidate.label
        assert candidate.gauge == kind


def test_of_the_answer_the_first_is_taken_that_tells_explanations_apart() -> None:
    answer = reckon(read_visit(FILES["three-readings"]))
    found = next_reading(answer)
    assert found is not None
    assert answer.diagnosis.apart[0].separation is not None
    assert found.label == answer.diagnosis.apart[0].separation.candidate.label
    assert {key[0] for key in found.keys} == {"frame"}
    assert not found.again


def test_the_drawing_marks_the_blade_asked_for_first(visitor: Client) -> None:
    from sparkout.records.models import Visit
    from sparkout.web.visit.bench import Bench

    seen = 0
    for visit in Visit.objects.filter(state="open"):
        bench = Bench(visit, Showing())
        if bench.next is None or not bench.next_boxes:
            continue
        first = bench.next_boxes[0]
        assert first.key in bench.next.keys
        if first.of == "run-out":
            blade = bench.next.keys[0][2]
            assert f"next reading: blade {blade}," in bench.pictures["unrolled"].lower()
            seen += 1
    assert seen
