"""How a unit stands, units matched, clip and ribs in a real browser: live without a jump, keyboard, phone, axe."""

from typing import Any
from urllib.parse import urlencode

import pytest
from tests.browser.test_access import violations

from sparkout.web.stand import clip, matching, stance

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
PATHS = [f"/{name}/?{urlencode(page.EXAMPLE)}" for name, page in
         (("stance", stance), ("matching", matching), ("clip", clip))]  # fmt: skip


def place(bench: Any, selector: str) -> float:
    return float(bench.page.evaluate("s => document.querySelector(s).getBoundingClientRect().top", selector))


@pytest.mark.parametrize("how", [{}, PHONE])
def test_the_drawing_follows_the_typing_without_a_jump(sit_down: Any, how: dict[str, Any]) -> None:
    bench = sit_down(**how)
    bench.go(PATHS[0])
    box = bench.page.locator("#s-height_right")
    box.scroll_into_view_if_needed()
    box.focus()
    before = place(bench, "#s-height_right"), bench.page.inner_text("#told")
    box.press("Control+a")
    box.press_sequentially("4.6", delay=20)
    bench.page.wait_for_function("() => document.querySelector('#told').innerText.includes('4.600')")
    assert bench.focused() == "s-height_right"
    assert box.input_value() == "4.6"
    assert abs(place(bench, "#s-height_right") - before[0]) < 1.0
    assert bench.page.inner_text("#told") != before[1]
    bench.page.wait_for_function("() => location.search.includes('height_right=4.6+mm')")
    bench.page.reload()
    assert bench.page.locator("#s-height_right").input_value() == "4.6 mm"


def test_what_is_wrong_appears_beside_the_box_and_goes(sit_down: Any) -> None:
    bench = sit_down()
    bench.go(PATHS[0])
    box = bench.page.locator("#s-reel_diameter")
    box.fill("4 mm")
    bench.page.wait_for_selector("#s-reel_diameter-wrong:not(:empty)")
    assert bench.page.locator("#told svg").count() == 0
    box.fill("126")
    bench.page.wait_for_selector("#told svg")
    assert bench.page.locator("#s-reel_diameter-wrong:not(:empty)").count() == 0


def test_by_keyboard_alone_from_empty_to_a_clip(sit_down: Any) -> None:
    bench = sit_down()
    bench.go("/clip/")
    for name, text in (("blades", "11"), ("travel_speed", "4.5"), ("reel_speed", "1500")):
        bench.tab_to(f"#s-{name}")
        bench.page.keyboard.type(text)
    bench.page.wait_for_selector("#told svg")
    assert "4.5" in bench.page.inner_text("#told")


@pytest.mark.parametrize(("dark", "vocabulary"), [(False, "uk"), (True, "us")])
@pytest.mark.parametrize("how", [{}, PHONE])
def test_axe_finds_nothing_and_nothing_is_off_the_side(
    sit_down: Any, dark: bool, vocabulary: str, how: dict[str, Any]
) -> None:
    bench = sit_down(**how, color_scheme="dark" if dark else "light")
    if vocabulary == "us":
        for name, value in (("vocabulary", "us"), ("units", "inch")):
            bench.page.locator(f"button[name={name}][value={value}]").click()
            bench.page.wait_for_selector(f"button[name={name}][value={value}][aria-pressed=true]")
    for path in (*PATHS, "/stance/", "/stance/?reel_diameter=4+mm"):
        bench.go(path)
        bench.page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        assert violations(bench.page) == [], path
        wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert bench.page.evaluate(wide) <= 0, path


def test_targets_for_a_thumb(sit_down: Any) -> None:
    bench = sit_down(**PHONE)
    bench.go(PATHS[0])
    low = bench.page.evaluate(
        "[...document.querySelectorAll("
        "'main form input:not([type=hidden]), main form select, main button, main a.button')]"
        ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.outerHTML.slice(0, 80))"
    )
    assert low == []
