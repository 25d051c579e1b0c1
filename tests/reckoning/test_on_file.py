"""The next reading never names one on file without saying that it is a repeat."""

import pytest

from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit

FILES = demonstration_files()
HEAD = """
unit.name = "7"
reel = {blades = 11, diameter = "127 mm", length = "533 mm"}
gauges = [{id = "tape 1", kind = "tape"}, {id = "dial 1", kind = "dial"}, {id = "jaws 1", kind = "jaws"}]
"""


def again(*readings: str) -> dict[str, bool]:
    """Label without the gauge's words, and whether it counts as a repeat."""
    found = reckon(read_visit(HEAD + "readings = [" + ", ".join(readings) + "]")).diagnosis.possible
    return {c.label.removesuffix(", again"): c.again for c in found}


def reading(of: str, at: str, value: str, **more: str) -> str:
    return "{" + ", ".join(f"{k} = {v!r}" for k, v in {"of": of, "at": at, "value": value, **more}.items()) + "}"


def test_a_tape_at_one_end_is_on_file_at_that_end_only() -> None:
    found = again(reading("diameter", "left", "125.4 mm", gauge="tape 1"))
    assert found["circumference tape (tape 1) at the left end"]
    assert not found["circumference tape (tape 1) at the right end"]
    assert not found["circumference tape (tape 1) at both ends, right against left"]
    assert not found["flat jaws (jaws 1) across blade 1 at the left end"]  # another gauge is no repeat


def test_both_ends_make_the_difference_a_repeat() -> None:
    found = again(*(reading("diameter", at, "125.4 mm", gauge="tape 1") for at in ("left", "533 mm")))
    assert found["circumference tape (tape 1) at both ends, right against left"]


def test_as_left_is_another_stage() -> None:
    found = again(reading("diameter", "left", "125.4 mm", gauge="tape 1", when="as left"))
    assert not any(found.values())


def test_along_a_blade_needs_one_zero() -> None:
    def dial(at: str, set_up: str) -> str:
        return f'{{of = "run-out", at = "{at}", blade = 1, value = "0 mm", gauge = "dial 1", set_up = "{set_up}"}}'

    along = "dial indicator (dial 1) along blade 1 on one rail, right end against left end"
    assert again(dial("left", "A"), dial("right", "A"))[along]
    assert not again(dial("left", "A left"), dial("right", "A right"))[along]


def test_the_shaft_half_a_turn_apart() -> None:
    def dial(angle: int) -> str:
        return f'{{of = "shaft", at = "centre", angle = "{angle} deg", value = "0 mm", gauge = "dial 1"}}'

    under, quarter = (
        f"dial indicator (dial 1) on the bare shaft at the middle, {where}"
        for where in ("under the marked blade against half a turn on", "a quarter turn on against three quarters on")
    )
    found = again(dial(-180), dial(360))
    assert found[under]
    assert not found[quarter]


@pytest.mark.parametrize("name", FILES)
def test_what_is_named_says_again_when_it_is_on_file(name: str) -> None:
    answer = reckon(read_visit(FILES[name]))
    named = [c.separation.candidate for c in answer.diagnosis.apart if c.separation is not None]
    named += [j.next_reading.candidate for j in answer.judged if j.next_reading is not None]
    for candidate in named:
        assert candidate.again == candidate.label.endswith(", again")


def test_fresh_readings_go_before_repeats_of_the_same_worth() -> None:
    """A unit with one diameter: the cone is undecided, and it is the other end that is asked for."""
    limits = 'limits = [{quantity = "cone", at_most = "0.2 mm", origin = "house"}]\n'
    one = reading("diameter", "left", "125.4 mm", gauge="tape 1")
    answer = reckon(read_visit(HEAD + limits + f"readings = [{one}]"))
    (judged,) = answer.judged
    assert judged.next_reading is not None
    assert not judged.next_reading.candidate.again
