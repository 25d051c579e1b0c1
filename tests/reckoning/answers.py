"""The demonstration's answers, reckoned once for all tests of a process; and the truths behind them."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from sparkout.demonstration.listing import demonstration_files
from sparkout.demonstration.make import scenarios
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit, read_visit_file

if TYPE_CHECKING:
    from sparkout.demonstration.scenario import Scenario
    from sparkout.reckoning.answer import Answer
    from sparkout.visit.schema import Visit

NAMES = ("coned", "frame-out", "bent-shaft", "coned-as-left", "three-readings")


@cache
def visit_of(name: str) -> Visit:
    return read_visit(demonstration_files()[name])


@cache
def answer_of(name: str) -> Answer:
    file = read_visit_file(demonstration_files()[name])
    return reckon(file.visit, file.questions(file.visit.visit.date))


@cache
def truths() -> dict[str, Scenario]:
    return scenarios()
