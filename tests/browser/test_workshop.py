"""The workshop's own pages in the real browser: forms, the grid of hours, search, two people; phone to desktop."""

from __future__ import annotations

import re
from typing import Any

import pytest
from tests.browser.test_access import SIZES, violations

PAGES = [
    "/",
    "/workshop/",
    "/workshop/settings/",
    "/workshop/hours/",
    "/workshop/turf/",
    "/workshop/turf/1/",
    "/workshop/limits/",
    "/workshop/gauges/1/calibrate/",
    "/workshop/units/1/parts/",
    "/search/?q=fairway",
    "/search/?q=zebra",
    *(
        f"/workshop/{kind}/{end}"
        for kind in ("places", "machines", "units", "reels", "knives", "reel-types", "knife-types", "gauges")
        for end in ("", "new/", "1/")
    ),
    *(f"/workshop/{kind}/{end}" for kind in ("grinders", "people") for end in ("", "new/", "1/")),
]
_REFUSED = "status of 422"


def expected_refusals(bench: Any) -> None:
    """A refused form is a 422, and the browser says so in its console: nothing went wrong."""
    bench.complaints[:] = [text for text in bench.complaints if _REFUSED not in text]


@pytest.mark.parametrize(("light", "width"), [("light", 1440), ("light", 820), ("dark", 390)])
def test_axe_finds_nothing_and_nothing_hangs_over(sit_down: Any, light: str, width: int) -> None:
    bench = sit_down(viewport={"width": width, "height": SIZES[width]}, color_scheme=light)
    wrong = []
    for path in PAGES:
        bench.go(path)
        bench.page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        wrong += [f"{path} {text}" for text in violations(bench.page)]
        aside = bench.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if aside > 0:
            wrong.append(f"{path} is {aside} px too wide")
    assert not wrong, "\n".join(wrong)


def test_a_refused_form_keeps_everything_and_leads_to_what_is_wrong(sit_down: Any) -> None:
    bench = sit_down(viewport={"width": 390, "height": 844})
    page = bench.go("/workshop/reel-types/new/")
    page.fill("#f-name", "a new type")
    page.fill("#f-blades", "80")
    page.fill("#f-diameter", "5.04 in")
    page.get_by_role("button", name="Add a cylinder type").click()
    page.wait_for_selector(".trouble")
    assert page.evaluate("document.activeElement.className") == "trouble"
    assert page.title().startswith("Not kept yet")
    assert not violations(page)
    page.get_by_role("link", name="Number of blades").click()
    assert bench.focused() == "f-blades"
    assert page.input_value("#f-diameter") == "5.04 in"
    page.fill("#f-blades", "11")
    page.fill("#f-length", "21 in")
    page.keyboard.press("Enter")
    page.wait_for_selector(".kept")
    assert page.locator("h1").inner_text() == "a new type"
    assert page.input_value("#f-length") == "21 in"
    expected_refusals(bench)


def test_hours_are_typed_down_a_column_and_pasted(sit_down: Any) -> None:
    bench = sit_down()
    page = bench.go("/workshop/hours/?machine=greens+machine+1")
    boxes = page.locator("[data-column] input[name^=h-]").evaluate_all("found => found.map(box => box.id)")
    assert len(boxes) == 3
    page.focus(f"#{boxes[0]}")
    page.keyboard.type("901")
    page.keyboard.press("Enter")
    assert bench.focused() == boxes[1]
    page.evaluate(
        """id => {
            const data = new DataTransfer();
            data.setData("text", "902\\t3 ha\\n903\\t4 ha\\n");
            const paste = new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true });
            document.getElementById(id).dispatchEvent(paste);
        }""",
        boxes[1],
    )
    assert [page.input_value(f"#{box}") for box in boxes] == ["901", "902", "903"]
    assert page.input_value(f"#{boxes[2].replace('h-', 'a-')}") == "4 ha"
    page.get_by_role("button", name="Keep these hours").click()
    page.wait_for_selector(".kept")
    assert page.locator(".clocks td", has_text="903 h").count() == 1


def test_two_people_change_one_machine(sit_down: Any, chromium: Any) -> None:
    mine, theirs = sit_down(), sit_down(person=1)
    path = "/workshop/machines/1/"
    mine.go(path)
    theirs.go(path)
    theirs.page.fill("#f-name", "their machine")
    theirs.page.get_by_role("button", name="Keep the changes").click()
    theirs.page.wait_for_selector(".kept")
    mine.page.fill("#f-name", "my machine")
    mine.page.get_by_role("button", name="Keep the changes").click()
    mine.page.wait_for_selector(".clash")
    assert not violations(mine.page)
    assert "their machine" in mine.page.locator(".clash").inner_text()
    mine.page.get_by_label("on file now").check()
    mine.page.get_by_role("button", name="Keep the changes").click()
    mine.page.wait_for_selector(".kept")
    assert mine.page.locator("h1").inner_text() == "their machine"
    mine.page.locator("#history summary").click()
    assert "technician B" in mine.page.locator("#history").inner_text()
    expected_refusals(mine)


def test_search_as_you_type_keeps_the_address(sit_down: Any) -> None:
    bench = sit_down()
    page = bench.go("/")
    page.locator("a[accesskey=s]").click()
    assert bench.focused() == "q"
    page.keyboard.type("sprinkler", delay=20)
    page.wait_for_selector("#found section:has-text('Visits')")
    assert re.search(r"/search/\?q=sprinkler$", page.url)
    page.reload()
    assert page.locator("#found section").count() >= 2
    page.locator("#found section a").first.click()
    page.go_back()
    assert page.input_value("#q") == "sprinkler"
    assert bench.focused() in ("q", "")


def test_everything_works_without_script(chromium: Any, server: Any) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{server.address}/who/?next=/search/")
    with page.expect_navigation():
        page.locator("button[name=person]").first.click()
    page.fill("#q", "fairway")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "fairway machine 1" in page.locator("#found").inner_text()
    page.goto(f"{server.address}/workshop/places/new/")
    page.fill("#f-name", "a plain place")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "a plain place" in page.locator("h1").inner_text()
    page.goto(f"{server.address}/workshop/hours/?machine=greens+machine+1")
    page.locator("[data-column] input").first.fill("905")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert "Clocks entered: 3" in page.locator("main").inner_text()
    context.close()


def test_targets_are_big_enough_for_gloves(sit_down: Any) -> None:
    bench = sit_down(viewport={"width": 390, "height": 844}, has_touch=True)
    for path in ("/", "/workshop/", "/workshop/hours/", "/workshop/limits/", "/workshop/gauges/1/", "/search/?q=dial"):
        bench.go(path)
        small = bench.page.evaluate(
            """() => [...document.querySelectorAll('main button, main input, main select, main a')]
            .filter(part => part.offsetParent && !['radio', 'checkbox', 'hidden'].includes(part.type))
            .filter(part => part.getBoundingClientRect().height < 43.9)
            .map(part => part.outerHTML.slice(0, 120))"""
        )
        assert not small, path
