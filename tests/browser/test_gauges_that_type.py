"""Gauges that type like a keyboard, big keys under gloves, keys held down: every reading in its own box, once."""

from typing import Any

import pytest
from tests.browser.conftest import pause
from tests.browser.test_lost_and_shared import FILL, enter, values

TYPED = """([lines, ends]) => {
  const press = (key) => document.activeElement.dispatchEvent(
    new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  for (const line of lines) {
    for (const key of line) document.execCommand("insertText", false, key);
    for (const end of ends) press(end);
  }
}"""
"""A gauge types: all of a reading and what ends it at once, reading upon reading."""


def grid(bench: Any, blades: int) -> list[str]:
    """Return the boxes of the dial's grid in measuring order: round the reel, station by station."""
    return [bench.page.input_value(f"#in-run-out-f-{blade}-{at}") for at in "lcr" for blade in range(1, blades + 1)]


@pytest.mark.parametrize("ends", [["Enter"], ["Enter", "Enter"], ["Tab"]], ids=["CR", "CR LF", "tabulator"])
def test_whatever_ends_a_reading_the_next_one_is_in_the_next_box(sit_down: Any, open_visit: Any, ends: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    blades = bench.page.locator("#g-run-out_as_found tbody tr").count()
    for first in (0.01, 0.02):  # into empty boxes, then over what is on file
        lines = [f"{first + 0.001 * ((i * 7) % 10):.3f}" for i in range(3 * blades)]
        bench.page.focus("#in-run-out-f-1-l")
        bench.page.evaluate(TYPED, [lines, ends])
        bench.saved()
        assert grid(bench, blades) == lines
        assert bench.focused() == "in-land-f-l"
        bench.page.reload()
        assert grid(bench, blades) == lines
    bench.page.focus("#in-diameter-f-l")
    for lines in (["125.1", "125.2", "125.3"], ["125.4", "125.5", "125.6"]):  # beside each a link appears meanwhile
        bench.page.focus("#in-diameter-f-l")
        bench.page.evaluate(TYPED, [lines, ends])
        bench.saved()
        assert values(bench, path, "diameter") == [f"{line} mm" for line in lines]


def test_without_anything_typed_the_tabulator_goes_where_it_always_goes(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    open_visit(bench)
    enter(bench, "diameter-f-l", "125.1 mm")
    bench.saved()
    bench.page.wait_for_selector("#why-diameter-f-l")
    bench.page.focus("#in-diameter-f-l")
    bench.page.keyboard.press("Tab")
    assert bench.page.evaluate("document.activeElement.closest('details').id") == "why-diameter-f-l"


def test_enter_held_down_goes_on_by_one_box(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    open_visit(bench)
    bench.page.focus("#in-diameter-f-l")
    bench.page.keyboard.type("125.1")
    for _ in range(6):
        bench.page.keyboard.down("Enter")
    bench.page.keyboard.up("Enter")
    assert bench.focused() == "in-diameter-f-c"


def test_big_keys_and_then_a_finger_on_another_box(sit_down: Any, open_visit: Any) -> None:
    """No Enter key was used: what was typed is entered all the same."""
    bench = sit_down(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    path = open_visit(bench)
    bench.page.tap("#in-diameter-f-l")
    bench.page.wait_for_selector("#pad:not([hidden])")
    for key in "125":
        bench.page.tap(f"#pad button[data-key='{key}']")
    bench.page.tap("#in-diameter-f-c")
    bench.page.wait_for_selector("#told-diameter-f-l[data-version]", state="attached")
    assert values(bench, path, "diameter") == ["125 mm"]


@pytest.fixture
def planned(sit_down: Any, open_visit: Any) -> Any:
    """A visit read so far that there is a plan, open at its passes."""
    bench = sit_down()
    open_visit(bench)
    for place in "lcr":
        enter(bench, f"diameter-f-{place}", "125.1 mm")
    for blade in range(1, bench.page.locator("#g-run-out_as_found tbody tr").count() + 1):
        for place in "lcr":
            enter(bench, f"run-out-f-{blade}-{place}", "0.01 mm")
    bench.saved()
    return bench


def on(bench: Any) -> Any:
    return bench.page.locator(".pass:visible").get_attribute("id")


@pytest.mark.parametrize("key", ["Enter", " "])
def test_a_key_held_down_ticks_one_pass(planned: Any, key: str) -> None:
    planned.page.focus("#tick-1")
    for _ in range(6):
        planned.page.keyboard.down(key)
        pause(0.1)
    planned.page.keyboard.up(key)
    planned.saved()
    assert on(planned) == "pass-2"
    pause(0.5)
    planned.page.wait_for_selector("#tick-2:focus")  # still the next one's, after the answer too
    planned.page.locator("#tick-2").dblclick()  # a glove that bounces
    planned.saved()
    assert on(planned) == "pass-3"
    assert "2 passes done" in planned.page.inner_text(".rail")


def test_a_pass_is_taken_back_with_and_without_the_network(planned: Any) -> None:
    page = planned.page

    def press(what: str) -> None:
        page.click(what)
        pause(0.45)

    assert page.locator("#take-back").is_hidden()
    for number in (1, 2, 3):
        press(f"#tick-{number}")
    planned.saved()
    assert page.inner_text("#take-back") == "Take back pass 3"
    press("#take-back")
    planned.saved()
    assert on(planned) == "pass-3"
    assert "2 passes done" in page.inner_text(".rail")
    page.context.set_offline(True)
    press("#tick-3")
    press("#take-back")
    press("#take-back")
    assert page.inner_text("#take-back") == "Take back pass 1"
    page.context.set_offline(False)
    planned.saved()
    assert on(planned) == "pass-2"
    assert "1 pass done" in page.inner_text(".rail")
    planned.complaints[:] = [text for text in planned.complaints if "ERR_INTERNET_DISCONNECTED" not in text]


def test_what_if_follows_a_new_plan_while_somebody_looks_at_it(planned: Any) -> None:
    page = planned.page
    page.locator("#what-if-figures").scroll_into_view_if_needed()
    before = page.inner_text("#what-if-figures")
    page.evaluate(FILL, 1)
    planned.until(lambda: page.inner_text("#what-if-figures") != before)
