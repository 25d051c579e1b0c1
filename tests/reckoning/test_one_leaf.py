"""A gap told by the leaf that goes alone: what stands in for the other leaf is written down, not silent."""

from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit

START = 'unit.name = "x"\nreel = {blades = 11, diameter = 127, length = 533}\ngauges = [{id = "f", kind = "feeler"}]\n'


def assumed(leaves):
    answer = reckon(read_visit(f'{START}readings = [{{of = "rest gap", gauge = "f", at = "left", {leaves}}}]\n'))
    return [text for text in answer.assumed if "leaf" in text]


def test_the_stand_in_is_told():
    (told,) = assumed('goes = "0.2 mm"')
    assert told.startswith("readings[0]: no leaf that does not go")


def test_two_leaves_or_only_the_one_that_does_not_go_need_none():
    assert assumed('goes = "0.2 mm", does_not_go = "0.25 mm"') == []
    assert assumed('does_not_go = "0.25 mm"') == []
