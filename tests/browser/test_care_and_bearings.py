"""The board's care list, the boxes of the bearings, a machine matched from the records: axe, keyboard, phone, desk."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
from tests.browser.conftest import Bench
from tests.browser.test_access import violations

SIZES = [(390, "dark"), (1440, "light")]
DRAGS = (("#in-drag-f-l", "9 N"), ("#in-drag-f-r", "4 N"))


def sat(sit_down: Callable[..., Bench], width: int, light: str) -> Bench:
    return sit_down(viewport={"width": width, "height": 900}, color_scheme=light)


def fits(bench: Bench) -> bool:
    return bool(bench.page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"))


@pytest.mark.parametrize(("width", "light"), SIZES)
def test_the_care_list_of_the_board(sit_down: Callable[..., Bench], width: int, light: str) -> None:
    bench = sat(sit_down, width, light)
    page = bench.go("/workshop/care/")
    form = page.locator("form[action$='/may/']")
    today = datetime.date.today()
    form.locator("[name=work]").select_option("mount wheels")
    entries = {"given_by": "the workshop", "since": str(today - datetime.timedelta(days=90)),
               "until": str(today + datetime.timedelta(days=9))}  # fmt: skip
    for name, value in entries.items():
        form.locator(f"[name={name}]").fill(value)
    form.locator("button.main-one").click()
    page.wait_for_load_state()
    bench.go("/")
    listed = page.locator("section.care", has=page.locator("#care-title"))
    assert "mount wheels" in listed.inner_text()
    assert violations(page) == []
    assert fits(bench)
    bench.tab_to("section.care a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/workshop/care/**")


@pytest.mark.parametrize(("width", "light"), SIZES)
def test_the_bearings_boxes_by_keyboard(
    sit_down: Callable[..., Bench], open_visit: Callable[[Bench], str], width: int, light: str
) -> None:
    bench = sat(sit_down, width, light)
    path = open_visit(bench)
    page = bench.page
    page.evaluate("document.querySelectorAll('details:has(#in-drag-f-l)').forEach(part => { part.open = true; })")
    page.locator("#in-end_play-f, [id^=in-end_play]").first.focus()
    for box, text in DRAGS:
        bench.tab_to(box, most=60)
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        bench.saved()
    page.locator("main", has_text="Drag torque: left").wait_for(timeout=15_000)
    assert fits(bench)
    assert violations(page) == []
    bench.go(path)
    assert "larger left" in page.locator("main").inner_text()


@pytest.mark.parametrize(("width", "light"), SIZES)
def test_what_is_on_file_of_a_machine_is_matched(sit_down: Callable[..., Bench], width: int, light: str) -> None:
    bench = sat(sit_down, width, light)
    page = bench.go("/matching/?machine=1")
    page.locator("summary", has_text="Where the heights come from").click()
    assert violations(page) == []
    assert fits(bench)


@pytest.mark.parametrize(("width", "light"), SIZES)
@pytest.mark.parametrize("path", ["/why/table/", "/why/?unit=1&a=rumble.y"])
def test_fault_finding_with_what_is_on_file(sit_down: Callable[..., Bench], path: str, width: int, light: str) -> None:
    bench = sat(sit_down, width, light)
    page = bench.go(path)
    page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
    assert violations(page) == []
    assert fits(bench)
