"""A paper proof as people enter it: not every blade tried, stations in any order."""

from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit


def answered(rows, stations):
    text = demonstration_files()["coned"].read_text(encoding="utf-8")
    start = text.index("[[paper]]")
    return reckon(read_visit(text[:start] + f'[[paper]]\nwhen = "as found"\nstations = {stations}\nrows = {rows}\n'))


def test_blades_not_tried_yet_need_no_row():
    answer = answered('["ccc", "ccu"]', '["left", "centre", "right"]')
    assert "6 of 33 places tried" in answer.proofs[0].evidence.sentences[0]


def test_stations_may_be_entered_from_the_right():
    answer = answered('["cuc", "ccu"]', '["right", "centre", "left"]')
    assert [place.text for place in answer.proofs[0].stations] == ["left", "centre", "right"]
    assert answer.proofs[0].outcomes[1] == ("uncut", "clean", "clean")


def test_a_station_twice_leaves_the_rest_of_the_answer():
    answer = answered('["ccc", "ccu"]', '["left", "left", "right"]')
    assert answer.proofs == ()
    assert any("paper proof" in text for text in answer.assumed)
    assert answer.spin.plan.passes
