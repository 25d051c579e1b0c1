"""A line worked out while it is still being typed: nothing is kept of it, and Enter finds its answer ready."""

import uuid
from typing import Any

import pytest
from django.test import Client
from tests.records.workshops import Bench
from tests.web.test_entries import enter

import sparkout.web.visit.reckoned as reckoned_module
from sparkout.records.models import Cell, HistoryLine, Person, Reading, Sweep
from sparkout.records.stamp import stamp

DIAL = {"unit": "mm", "gauge": "dial 1"}


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Every visit file that is reckoned anew from here on."""
    seen: list[Any] = []
    real = reckoned_module.found

    def noted(file: Any, questions: Any) -> Any:
        seen.append(file)
        return real(file, questions)

    monkeypatch.setattr(reckoned_module, "found", noted)
    reckoned_module._reckoned.clear()
    return seen


def pause(client: Client, box: str, line: str, **more: Any) -> None:
    sent = {"box": box, "line": line, "unit": "mm", "key": str(uuid.uuid4()), **more}
    sent.setdefault("gauge", "tape 1" if box.startswith("diameter") else "")
    answer = client.post("/visits/1/ahead/", sent)
    assert (answer.status_code, answer.content) == (204, b"")


def on_file() -> tuple[int, ...]:
    return tuple(kind._base_manager.count() for kind in (Reading, Cell, Sweep, HistoryLine))


def test_nothing_is_kept(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4")
    before, page = on_file(), client.get("/visits/1/answer/").content
    for box, line, more in (
        ("diameter-f-r", "125.6", {}),
        ("diameter-f-l", "125.9", {"expected": "1"}),
        ("diameter-f-l", "-", {"expected": "1"}),
        ("diameter-f-l", "again 125.2", {"expected": "1"}),
        ("run-out-f-1-l", "0.03", {}),
        ("rest_gap-f-l", "left go 1.9 nogo 2.0", {}),
        ("diameter-f-r", "twelve", {}),  # refused when it is entered, and not before
        ("diameter-f-l", "126", {}),  # somebody else's value stands there
        ("nowhere", "1", {}),
    ):
        pause(client, box, line, **more)
        assert on_file() == before, line
    assert client.get("/visits/1/answer/").content == page


@pytest.mark.sqlite
def test_whatever_else_was_worked_out_still_stands(client: Client, on_bench: Bench) -> None:
    before = stamp()
    pause(client, "diameter-f-l", "125.4")
    assert stamp() == before


@pytest.mark.parametrize(
    ("box", "line", "expected", "more"),
    [
        ("diameter-f-r", "125.6", "", {}),
        ("diameter-f-l", "125.9", "1", {}),
        ("diameter-f-l", "again 125.2", "1", {}),
        ("diameter-f-l", "-", "1", {}),
        ("run-out-f-1-l", "0.03", "1", DIAL),
        ("run-out-f-2-c", "0.05", "", DIAL),
        ("run-out-f-3-c", "-", "", DIAL),
        ("shaft-f-90-c", "0.02", "", DIAL),
        ("rest_gap-f-l", "go 1.9 nogo 2.0", "", {"gauge": ""}),
    ],
)
def test_enter_finds_it_ready(
    client: Client,
    on_bench: Bench,
    worked_out: list[Any],
    box: str,
    line: str,
    expected: str,
    more: dict[str, Any],
) -> None:
    """The same line entered has nothing reckoned anew, and tells what a page does that never heard of it before."""
    enter(client, "diameter-f-l", "125.4")
    enter(client, "run-out-f-1-l", "0.01", **DIAL)
    pause(client, box, line, expected=expected, **more)
    worked_out.clear()
    told = enter(client, box, line, expected=expected, **more)
    assert told["Outcome"] == "done"
    assert worked_out == []
    after = client.get("/visits/1/answer/").content
    reckoned_module._reckoned.clear()
    other = Person.objects.create(name="CD", units=on_bench.me.units, vocabulary=on_bench.me.vocabulary)
    other.delete()  # something was written: no bench kept counts
    assert client.get("/visits/1/answer/").content == after
    assert worked_out


def test_a_later_line_ends_it(client: Client, on_bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is being worked out for a line that has been typed on is dropped at its next step."""
    from sparkout.web.visit import entries

    done: list[int] = []

    def steps(_request: Any, _bench: Any) -> Any:
        for step in range(5):
            if step == 2:
                entries._newest(1)  # as a later line does
            yield
            done.append(step)

    monkeypatch.setattr(entries, "made_ahead", steps)
    pause(client, "diameter-f-l", "125.4")
    assert done == [0, 1]


def test_only_for_somebody_and_only_sent(client: Client, on_bench: Bench) -> None:
    assert client.get("/visits/1/ahead/").status_code == 405
    assert Client(SERVER_NAME="localhost").post("/visits/1/ahead/", {"box": "diameter-f-l"}).status_code == 302
    assert client.post("/visits/999/ahead/", {"box": "diameter-f-l"}).status_code == 404
