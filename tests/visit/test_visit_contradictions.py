from __future__ import annotations

import pytest
from tests.visit.examples import GAUGES, reading, small

from sparkout.visit.problems import VisitProblems
from sparkout.visit.reading import read_visit

SWEEP = "\n[[sweeps]]\nof = '{of}'\nat = ['left', 'right']\n{more}\nvalues = {values}\n"


def sweep(of: str, values: str, more: str = "") -> str:
    return SWEEP.format(of=of, values=values, more=more)


@pytest.mark.parametrize(
    ("more", "path", "words"),
    [
        ("blade_thickness = 2\nland = 3", "reel.land", "wider than the blade"),
        ("[[gauges]]\nid='a'\nkind='tape'\n[[gauges]]\nid='a'\nkind='dial'", "gauges[1].id", "two gauges are called"),
        ("[[gauges]]\nid='a'\nkind='tape'\nexpanded_uncertainty=1", "gauges[0].expanded_uncertainty", "without its"),
        ("[[gauges]]\nid='a'\nkind='tape'\nk=2", "gauges[0].k", "without an expanded"),
        (
            "[[gauges]]\nid='a'\nkind='tape'\nk=2\nexpanded_uncertainty=1\ncalibration_uncertainty=1",
            "gauges[0].calibration_uncertainty", "not both",
        ),
        ("[[limits]]\nquantity='land'", "limits[0]", "neither at_least nor at_most"),
        ("[[limits]]\nquantity='land'\nat_least=3\nat_most=2", "limits[0].at_least", "above at_most"),
        (
            "[[limits]]\nquantity='cone'\nat_most=3\n[[limits]]\nquantity='cone'\nat_most=2",
            "limits[1].at_most", "more than once",
        ),
        (reading("land", at="534 mm", value=1), "readings[0].at", "beyond the reel's right end"),
        (reading("land", blade=12, value=1), "readings[0].blade", "no blade 12"),
        (reading("rest gap", value=1), "readings[0]", "needs 'at'"),
        (reading("run-out", at="left", value=1), "readings[0]", "needs 'blade'"),
        (reading("shaft", at="left", value=1), "readings[0]", "needs 'angle'"),
        (reading("roller diameter", at="left", value=50), "readings[0]", "needs 'which'"),
        (reading("diameter", at="left", value=125), "readings[0]", "only when its gauge is named"),
        (reading("land", gauge="rul", value=1), "readings[0].gauge", "no gauge has the id 'rul'"),
        (reading("land", gauge="zzzz", value=1), "readings[0].gauge", "no gauge has the id 'zzzz'"),
        (reading("land", gauge="protractor", value=1), "readings[0].gauge", "cannot show land"),
        (reading("top angle", gauge="dial", value=1), "readings[0].gauge", "cannot show top angle"),
        (reading("run-out", gauge="tape", at="left", blade=1, value=1), "readings[0].gauge", "cannot show run-out"),
        (reading("land"), "readings[0]", "has no value"),
        (reading("gap", at="left", value=1, goes=1), "readings[0].value", "not both"),
        (reading("land", goes=1), "readings[0]", "not read with feeler leaves"),
        (reading("gap", at="left", goes=2, does_not_go=1), "readings[0].goes", "not thinner"),
        (reading("gap", at="left", goes=1, does_not_go=1), "readings[0].goes", "not thinner"),
        (sweep("run-out", "[[1, 2], [1]]"), "sweeps[0].values[1]", "1 values for 2 stations"),
        (sweep("run-out", "[[1, 2]]", "blades = [1, 2]"), "sweeps[0].values", "1 rows for 2 blades"),
        (sweep("run-out", "[[1, 2], [1, 2]]", "blades = [1, 1]"), "sweeps[0].blades", "named twice"),
        (sweep("run-out", "[[1, 2]]", "blades = [12]"), "sweeps[0].blades[0]", "no blade 12"),
        (sweep("run-out", str([[0, 0]] * 12)), "sweeps[0].values", "12 rows for 11 blades"),
        (sweep("run-out", "[[0, 0]]", "angles = [1]"), "sweeps[0].angles", "has no angles"),
        (sweep("shaft", "[[0, 0]]"), "sweeps[0]", "needs 'angles'"),
        (sweep("shaft", "[[0, 0]]", "angles = [1, 2]"), "sweeps[0].values", "1 rows for 2 angles"),
        (sweep("frame", "[[0, 0], [0, 0]]"), "sweeps[0].values", "has one row, not 2"),
        (sweep("run-out", "[[0, 0]]", "gauge = 'tape'"), "sweeps[0].gauge", "cannot show run-out"),
        ("[[sweeps]]\nof='frame'\nat=['left', 600]\nvalues=[[1, 2]]", "sweeps[0].at[1]", "beyond the reel"),
        ("[[paper]]\nstations=['left']\nrows=['cc']", "paper[0].rows[0]", "2 letters for 1 stations"),
        ("[[paper]]\nstations=[600]\nrows=['c']", "paper[0].stations[0]", "beyond the reel"),
        (f"[[paper]]\nstations=['left']\nrows={['c'] * 12}", "paper[0].rows", "12 rows for 11 blades"),
    ],
)  # fmt: skip
def test_what_cannot_be_true_together_is_named(more, path, words) -> None:
    gauges = "" if "[[gauges]]" in more else GAUGES
    with pytest.raises(VisitProblems) as caught:
        read_visit(small(more + gauges))
    found = {problem.path: problem.text for problem in caught.value.problems}
    assert words in found.get(path, f"only {found}")


def test_an_unknown_gauge_is_answered_with_the_ones_there_are() -> None:
    with pytest.raises(VisitProblems) as caught:
        read_visit(small(GAUGES + reading("land", gauge="rul", value=1)))
    problem = caught.value.problems[0]
    assert problem.suggestion == "Did you mean 'rule'?"
    assert "'tape', 'dial'" in problem.allowed
    with pytest.raises(VisitProblems, match=r"Enter it under \[\[gauges\]\]"):
        read_visit(small(reading("land", gauge="rul", value=1)))


def test_open_leaves_station_at_the_very_end_and_unread_cells_are_fine() -> None:
    text = small(
        GAUGES
        + reading("gap", at="533 mm", gauge="feeler", goes="0.5 mm")
        + reading("gap", at="right", gauge="feeler", does_not_go="0.02 mm")
        + sweep("run-out", "[[0, '-'], ['-', '-']]")
    )
    assert len(read_visit(text).all_readings) == 3
