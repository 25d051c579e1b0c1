"""Photographs and recordings in the real browser: camera, drop, microphone, a server that is away, a plain form."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.browser.conftest import Bench, Server, pause
from tests.keeping.invented import photograph, sound_wav

SMALL_SHOT = "img[src$='small.jpg']"
TONE = """navigator.mediaDevices.getUserMedia = async () => {
  const sound = new AudioContext(), out = sound.createMediaStreamDestination(), tone = sound.createOscillator();
  tone.connect(out); tone.start(); return out.stream; };"""


def file(name: str = "left.jpg", content: bytes | None = None, kind: str = "image/jpeg") -> dict[str, Any]:
    return {"name": name, "mimeType": kind, "buffer": content or photograph(6, size=(640, 480))}


@pytest.fixture
def at_visit(sit_down: Callable[..., Bench], open_visit: Callable[[Bench], str]) -> tuple[Bench, str]:
    bench = sit_down()
    path = open_visit(bench)
    bench.page.locator("#attached-look-over-more > summary").click()
    return bench, path


def shots(bench: Bench, count: int, within: str = "#attached-look-over") -> None:
    bench.page.locator(f"{within} {SMALL_SHOT}").nth(count - 1).wait_for(timeout=15_000)
    assert bench.page.locator(f"{within} {SMALL_SHOT}").count() == count


def test_what_the_camera_takes_is_kept_at_once_and_seen(at_visit: tuple[Bench, str]) -> None:
    bench, path = at_visit
    page = bench.page
    page.fill("#attached-look-over-b", "7")
    page.set_input_files("#attached-look-over-t", file())
    shots(bench, 1)
    seen = page.locator(f"#attached-look-over {SMALL_SHOT}").first
    seen.scroll_into_view_if_needed()
    page.wait_for_function("e => e.complete && e.naturalHeight > e.naturalWidth", arg=seen.element_handle())  # upright
    assert "blade 7, look over, taken 3 Nov 2026" in page.locator("#attached-look-over ul").inner_text()
    assert "All sent" in page.locator("#attached-look-over-said").inner_text()
    page.set_input_files("#attached-look-over-f", [file("one.jpg"), file("two.jpg")])
    page.locator("#attached-look-over form button").last.click()
    shots(bench, 3)
    bench.go(path)
    shots(bench, 3)  # and it is on file


def test_a_file_dropped(at_visit: tuple[Bench, str]) -> None:
    bench, _ = at_visit
    content = list(photograph())
    bench.page.evaluate(
        """([bytes]) => { const held = new DataTransfer();
        held.items.add(new File([new Uint8Array(bytes)], "dropped.jpg", { type: "image/jpeg" }));
        document.querySelector("#attached-look-over form").dispatchEvent(
          new DragEvent("drop", { dataTransfer: held, bubbles: true, cancelable: true })); }""",
        [content],
    )
    shots(bench, 1)


def test_a_photograph_taken_while_the_server_is_away_is_sent_when_it_is_back(
    at_visit: tuple[Bench, str], server: Server
) -> None:
    bench, path = at_visit
    server.kill()
    bench.page.set_input_files("#attached-look-over-t", file("kept.jpg"))
    bench.page.wait_for_function(
        "() => document.querySelector('#attached-look-over-said').textContent.includes('kept in this browser')"
    )
    server.start()
    shots(bench, 1)
    bench.go(path)
    shots(bench, 1)
    bench.complaints[:] = [c for c in bench.complaints if "ERR_CONNECTION" not in c and "Failed to load" not in c]


def test_a_photograph_outlives_the_page_it_was_taken_on(at_visit: tuple[Bench, str], server: Server) -> None:
    bench, path = at_visit
    bench.page.route("**/attach/", lambda route: route.abort())
    bench.page.set_input_files("#attached-look-over-t", file("kept.jpg"))
    bench.page.wait_for_function(
        "() => document.querySelector('#attached-look-over-said').textContent.includes('kept in this browser')"
    )
    bench.go("/")  # the page is left, the browser has it
    bench.page.unroute("**/attach/")
    bench.go(path)
    shots(bench, 1)
    pause(0.5)
    bench.go(path)
    shots(bench, 1)  # once
    bench.complaints[:] = [c for c in bench.complaints if "ERR_FAILED" not in c]


def test_what_is_no_picture_is_refused_in_words(at_visit: tuple[Bench, str]) -> None:
    bench, _ = at_visit
    bench.page.set_input_files("#attached-look-over-f", file("letter.jpg", b"<html>"))
    bench.page.locator("#attached-look-over form button").last.click()
    bench.page.wait_for_selector("#attached-look-over-said.bad")
    told = bench.page.locator("#attached-look-over-said").inner_text()
    assert re.match(r"not kept: letter\.jpg: this is neither a picture nor a recording", told)
    bench.complaints[:] = [c for c in bench.complaints if "422" not in c]


def test_the_microphone(sit_down: Callable[..., Bench], open_visit: Callable[[Bench], str]) -> None:
    bench = sit_down()
    bench.page.add_init_script(TONE)
    open_visit(bench)
    page = bench.page
    page.locator("#attached-bearings-more > summary").click()
    page.click("[data-record]")
    page.wait_for_function("() => document.querySelector('#attached-bearings-said').textContent.includes('Recording')")
    assert page.get_attribute("[data-record]", "aria-pressed") == "true"
    pause(1.5)
    page.click("[data-record]")
    page.wait_for_selector("#attached-bearings audio", timeout=15_000)
    page.evaluate("document.querySelector('#attached-bearings audio').load()")
    page.wait_for_function("() => document.querySelector('#attached-bearings audio').readyState >= 1")


def test_without_script_the_forms_do_the_same(sit_down: Callable[..., Bench], tmp_path: Path) -> None:
    path = tmp_path / "end.wav"
    path.write_bytes(sound_wav())
    bench = sit_down()
    context = bench.page.context.browser.new_context(
        java_script_enabled=False, storage_state=bench.page.context.storage_state()
    )
    page = context.new_page()
    page.goto(f"{bench.address}/units/14/")
    page.locator("#attached-more > summary").click()
    page.set_input_files("#attached-f", str(path))
    page.fill("#attached-n", "left end")
    page.locator("#attached form button").last.click()
    assert page.locator("audio[aria-label='left end']").count() == 1
    page.get_by_role("link", name="more left end").click()
    page.fill("#r-why", "not this unit")
    page.get_by_role("button", name="Take it away").click()
    assert "recording taken away by technician A" in page.inner_text("main")
    assert page.locator("audio").count() == 0
    context.close()


@pytest.mark.parametrize("width", [390, 820, 1440])
@pytest.mark.parametrize("light", ["light", "dark"])
def test_nobody_is_kept_out(sit_down: Callable[..., Bench], width: int, light: str) -> None:
    bench = sit_down(viewport={"width": width, "height": 900}, color_scheme=light)
    pages = (
        "/units/14/",
        "/units/14/?by=date",
        "/reels/15/life/",
        "/knives/14/life/",
        "/attachments/1/",
        "/attachments/3/",
    )
    for path in pages:
        page = bench.go(path)
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true })")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
        found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]})
        assert found.violations_count == 0, f"{path}: {found.generate_report()}"


def test_a_visit_is_reached_from_the_picture(sit_down: Callable[..., Bench]) -> None:
    bench = sit_down(viewport={"width": 390, "height": 900}, has_touch=True)
    page = bench.go("/units/14/?by=date")
    page.locator(".narrow svg a[href^='/visits/']").first.tap()
    page.wait_for_selector("[data-visit]")
    page = bench.go("/units/14/")
    together = page.locator(".narrow svg a[href*='#v']").first  # visits too close for a finger lead to their lines
    together.tap()
    page.wait_for_url(re.compile("#v"))
    assert page.evaluate("document.querySelector('tr:target') !== null")
