"""Of several places judged together the one that counts is named, also when all surely conform or surely fail."""

import pytest

from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit

START = 'unit.name = "x"\nreel = {blades = 9, diameter = 127, length = 533}\ngauges = [{id = "d", kind = "dial"}]\n'


def worst(left: str, right: str, limit: str) -> str:
    readings = ", ".join(
        f'{{of = "radial play", gauge = "d", at = "{at}", value = "{value}"}}'
        for at, value in (("left", left), ("right", right))
    )
    tables = f'readings = [{readings}]\nlimits = [{{quantity = "radial play", at_most = "{limit}", origin = "house"}}]'
    (judged,) = [j for j in reckon(read_visit(f"{START}{tables}\n")).judged if j.limit.quantity == "radial play"]
    return judged.note


@pytest.mark.parametrize("limit", ["2 mm", "0.05 mm"])
def test_the_place_nearer_its_limit_is_named(limit: str) -> None:
    assert worst("0.5 mm", "0.6 mm", limit) == "worst of 2: right end"
    assert worst("0.6 mm", "0.5 mm", limit) == "worst of 2: left end"
