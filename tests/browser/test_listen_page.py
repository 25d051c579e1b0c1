"""A recording dropped in the real browser: its spectrum and words appear; phone and desk, axe finds nothing."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.browser.conftest import Bench
from tests.recording.test_recording import coded, sound


@pytest.mark.parametrize("width", [390, 1440])
def test_a_telephones_recording_tells_under_its_player(
    sit_down: Callable[..., Bench], open_visit: Callable[[Bench], str], width: int
) -> None:
    bench = sit_down()
    page = bench.page
    page.set_viewport_size({"width": width, "height": 844})
    path = open_visit(bench)
    page.locator("#attached-bearings-more > summary").click()
    file = {"name": "left end.m4a", "mimeType": "audio/mp4", "buffer": coded(sound(), "mp4", "aac")}
    page.set_input_files("#attached-bearings-f", file)
    page.locator("#attached-bearings form button").last.click()
    page.locator("#attached-bearings audio").wait_for(timeout=15_000)
    page.locator("#attached-bearings summary", has_text="What it tells").click()
    page.locator("#attached-bearings form[action$='/hear/']").wait_for(timeout=15_000)  # asked for on the page itself
    bench.go(page.locator("#attached-bearings a.tall").first.get_attribute("href") or "")  # and on a page of its own
    form = page.locator("form[action$='/hear/']")
    form.locator("[name=balls]").fill("9")
    form.locator("[name=ball_diameter]").fill("7.94")
    form.locator("[name=pitch_diameter]").fill("39.04")
    form.locator("button").click()
    page.wait_for_load_state()
    picture = page.locator(".heard-picture svg")
    picture.wait_for(timeout=20_000)
    assert "Damage shown: outer race" in page.locator("main").inner_text()
    box = picture.bounding_box()
    assert box is not None
    assert box["width"] <= width
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(page).response["violations"]
    assert [violation["id"] for violation in found] == []
    bench.go(path)
    page.locator("#attached-bearings summary", has_text="What it tells").click()
    page.locator("#attached-bearings .heard-picture svg").wait_for(timeout=15_000)  # and beside the visit's player


@pytest.mark.parametrize("path", ["/workshop/care/", "/why/table/"])
@pytest.mark.parametrize("width", [390, 1440])
def test_care_and_own_faults_for_anybody(sit_down: Callable[..., Bench], path: str, width: int) -> None:
    bench = sit_down()
    bench.page.set_viewport_size({"width": width, "height": 844})
    bench.go(path)
    assert bench.page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(bench.page).response["violations"]
    assert [violation["id"] for violation in found] == []
