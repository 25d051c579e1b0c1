"""A visit in figures is what its answer says, and survives being kept."""

from __future__ import annotations

import json
import math

import pytest

from sparkout.core.measured import Measured
from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning import in_figures as room
from sparkout.reckoning.in_figures import InFigures, Stage, as_kept, calculations, from_kept, in_figures
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit


@pytest.mark.parametrize("name", demonstration_files())
def test_figures_are_the_answers_own(name: str) -> None:
    answer = reckon(read_visit(demonstration_files()[name]))
    told = in_figures(answer)
    known = "mean radius" in answer.diagnosis.informed
    assert told.found.diameter == (answer.diagnosis.state.mean_radius.scaled(2.0) if known else None)
    judged = {entry.quantity: entry.verdict.outcome for entry in answer.judged if entry.measured and entry.verdict}
    assert told.found.verdicts == judged
    read = [float(r.value) for r in answer.visit.all_readings if (r.of, r.when) == ("land", "as found")]
    assert (told.found.land is None) == (not read)
    if told.found.land is not None:
        assert told.found.land.value == pytest.approx(sum(read) / len(read))
    assert (told.left == Stage()) == (answer.as_left is None)
    assert told.ground == any(work.step in ("spin grind", "relief grind") for work in answer.visit.work)
    assert from_kept(json.loads(json.dumps(as_kept(told), allow_nan=False))) == told


def test_kept_figures_keep_every_digit() -> None:
    stage = Stage(Measured(125.123456789, 0.1, 4.5), Measured(1.0, 0.0), None, Measured(0.1 + 0.2, 1e-9, math.inf))
    told = InFigures(stage, Stage(verdicts={"cone": "undecided"}), 120.0, ("set",), "")
    assert from_kept(json.loads(json.dumps(as_kept(told), allow_nan=False))) == told


def test_the_weightiest_outcome_stands_for_all() -> None:
    verdicts = {"cone": "conforms", "land": "undecided", "barrel": "does not conform"}
    assert Stage(verdicts=verdicts).worst == "does not conform"
    assert Stage(verdicts=verdicts).with_outcome("undecided") == ["land"]
    assert Stage().worst == ""


def test_other_calculations_have_another_digest(tmp_path, monkeypatch) -> None:
    first = calculations()
    assert len(first) == 64
    (tmp_path / "reckoning").mkdir()
    (tmp_path / "core").mkdir()
    (tmp_path / "units.py").write_text("")
    monkeypatch.setattr(room, "__file__", str(tmp_path / "reckoning" / "in_figures.py"))
    digests = {first}
    for text in ("a = 1", "a = 2"):
        (tmp_path / "core" / "one.py").write_text(text)
        calculations.cache_clear()
        digests.add(calculations())
    calculations.cache_clear()
    assert len(digests) == 3
