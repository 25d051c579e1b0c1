"""The season in a real browser: planned in the background, a job moved by mouse, by keys alone and by touch, axe."""

from typing import Any
from urllib.parse import parse_qs, urlparse

import pytest
from tests.browser.test_access import SIZES, violations

TABLET = {"viewport": {"width": 1024, "height": 1366}, "has_touch": True, "is_mobile": True}
PAGES = ("/season/", "/season/wall/", "/season/load/", "/season/what-if/", "/season/sheet/", "/season/sheet/people/0/",
         "/season/sheet/costs/", "/season/sheet/fresh/")  # fmt: skip


def planned(bench: Any, seconds: str = "1") -> Any:
    """Have a plan made and keep it, where none is kept yet; returns the page with the wall."""
    page = bench.go("/season/wall/")
    if page.locator("[data-wall] a[data-day]").count():
        return page
    page.fill("#p-seconds", seconds)
    page.get_by_role("button", name="Make a plan").click()
    page.wait_for_selector("#offered", timeout=60_000)
    page.get_by_role("button", name="Keep this plan").click()
    page.wait_for_selector("[data-wall] a[data-day]", state="attached")
    return page


def day_of(page: Any, job: str) -> int:
    """Return the day of the season on which the wall has a job."""
    found = page.evaluate(
        """job => [...document.querySelectorAll('[data-wall] a[data-day]')].filter(a =>
        new URL(a.getAttribute('href'), location.href).searchParams.get('job') === job).map(a => a.dataset.day)""",
        job,
    )
    return int(found[0])


def first_job(page: Any) -> tuple[Any, str, int]:
    link = page.locator("[data-wall] a[data-day]").nth(3)
    return link, parse_qs(urlparse(link.get_attribute("href")).query)["job"][0], int(link.get_attribute("data-day"))


def told_for(page: Any, day: int) -> None:
    page.wait_for_selector(f"#move form[data-keep='{day}']", timeout=15_000)


def test_a_job_is_dragged_with_the_mouse_and_its_cost_shown_before_it_is_kept(sit_down: Any) -> None:
    bench = sit_down()
    page = planned(bench)
    link, job, day = first_job(page)
    link.scroll_into_view_if_needed()
    box = link.bounding_box()
    wide = float(page.locator("[data-wall]").get_attribute("data-wide"))
    scale = page.evaluate(
        "(() => { const s = document.querySelector('[data-wall] svg');"
        "return s.getBoundingClientRect().width / s.viewBox.baseVal.width; })()"
    )
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 3 * wide * scale, y, steps=6)
    page.mouse.up()
    told_for(page, day + 3)
    assert job in page.inner_text("#move h2")
    assert "together" in page.inner_text("#move .costs")
    assert day_of(page, job) == day
    page.get_by_role("button", name="Keep the move").click()
    page.wait_for_selector(".kept")
    assert day_of(page, job) == day + 3
    assert job in page.inner_text("#by-hand")


def test_a_move_that_is_let_go_changes_nothing(sit_down: Any) -> None:
    bench = sit_down()
    page = planned(bench)
    link, job, day = first_job(page)
    link.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowDown")
    told_for(page, day + 7)
    page.keyboard.press("Escape")
    assert page.inner_text("#move").strip() == ""
    assert page.locator("[data-wall] .ghost").count() == 0
    page.reload()
    assert day_of(page, job) == day
    assert page.locator("#by-hand").count() == 0


def test_a_job_is_moved_kept_and_released_by_keys_alone(sit_down: Any) -> None:
    bench = sit_down()
    page = planned(bench)
    bench.go("/season/wall/")
    bench.tab_to("[data-wall] a[data-day]")
    page.keyboard.press("ArrowRight")
    job = page.evaluate("new URL(document.activeElement.getAttribute('href'), location.href).searchParams.get('job')")
    day = day_of(page, job)
    page.keyboard.press("Enter")
    told_for(page, day)
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowLeft")
    told_for(page, day + 8)
    page.keyboard.press("Enter")
    page.wait_for_selector(".kept")
    assert day_of(page, job) == day + 8
    assert job in str(
        page.evaluate("decodeURIComponent(document.activeElement.getAttribute('href')).replaceAll('+', ' ')")
    )
    bench.tab_to("#by-hand button")
    page.keyboard.press("Enter")
    page.wait_for_selector(".kept")
    assert page.locator("#by-hand").count() == 0


def test_a_job_is_moved_by_touch(sit_down: Any) -> None:
    bench = sit_down(**TABLET)
    page = planned(bench)
    link, _, day = first_job(page)
    link.scroll_into_view_if_needed()
    box = link.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    wide = float(page.locator("[data-wall]").get_attribute("data-wide"))
    touch = page.context.new_cdp_session(page)

    def send(kind: str, *at: float) -> None:
        points = [{"x": at[0], "y": at[1]}] if at else []
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    scale = page.evaluate(
        "(() => { const s = document.querySelector('[data-wall] svg');"
        "return s.getBoundingClientRect().width / s.viewBox.baseVal.width; })()"
    )
    send("touchStart", x, y)
    for step in range(1, 5):
        send("touchMove", x + step * wide * scale / 2, y)
    send("touchEnd")
    told_for(page, day + 2)


def test_without_script_the_form_moves_a_job(sit_down: Any, chromium: Any) -> None:
    bench = sit_down()
    page = planned(bench)
    _, job, _ = first_job(page)
    context = chromium.new_context(java_script_enabled=False, storage_state=page.context.storage_state())
    plain = context.new_page()
    plain.goto(bench.address + "/season/wall/")
    plain.locator("[data-wall] a[data-day]").nth(3).click(force=True)
    assert plain.locator("#m-job").input_value() == job
    end = plain.locator("#m-on").get_attribute("max")
    plain.fill("#m-on", end)
    plain.get_by_role("button", name="What does it cost?").click()
    assert job in plain.inner_text("#move h2")
    plain.get_by_role("button", name="Keep the move").click()
    assert job in plain.inner_text("#by-hand")
    context.close()


def test_planning_is_stopped_and_the_best_so_far_can_be_kept(sit_down: Any) -> None:
    bench = sit_down()
    page = bench.go("/season/wall/")
    page.fill("#p-seconds", "300")
    page.locator("#plan button[value=free]").click()
    page.wait_for_function("() => document.querySelector('#progress')?.innerText.includes('It costs')", timeout=60_000)
    page.get_by_role("button", name="Stop").click()
    page.wait_for_selector("#offered", timeout=60_000)
    page.get_by_role("button", name="Keep this plan").click()
    page.wait_for_selector("[data-wall] a[data-day]")


def test_after_a_bad_day_what_changes_is_shown_before_it_is_kept(sit_down: Any) -> None:
    bench = sit_down()
    page = planned(bench)
    page.locator("#bad-day summary").click()
    page.select_option("#b-who", "technician A")
    page.fill("#b-last", page.locator("#m-on").get_attribute("max"))
    page.fill("#b-seconds", "1")
    page.locator("#bad-day button").click()
    page.wait_for_selector("#offered", timeout=60_000)
    assert "What changes" in page.inner_text("#offered")
    assert "left undone" in page.inner_text("#offered")


def test_pictures_come_when_asked_for(sit_down: Any) -> None:
    bench = sit_down()
    planned(bench)
    page = bench.go("/season/load/")
    assert page.locator("main svg").count() == 0
    page.locator("#load a.button").click()
    page.wait_for_selector("#picture-load svg")


@pytest.mark.parametrize(("light", "width"), [("light", 1440), ("dark", 390), ("dark", 1440), ("light", 390)])
def test_axe_finds_nothing_and_nothing_is_off_the_side(sit_down: Any, light: str, width: int) -> None:
    bench = sit_down(viewport={"width": width, "height": SIZES[width]}, color_scheme=light)
    page = planned(bench)
    wrong = []
    for path in PAGES:
        bench.go(path)
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        wrong += [f"{path} {text}" for text in violations(page)]
        aside = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if aside > 0:
            wrong.append(f"{path} is {aside} px too wide")
    assert not wrong, "\n".join(wrong)


def test_targets_are_big_enough_for_a_thumb(sit_down: Any) -> None:
    bench = sit_down(viewport={"width": 390, "height": 844}, has_touch=True)
    page = planned(bench)
    for path in PAGES:
        bench.go(path)
        low = page.evaluate(
            """() => [...document.querySelectorAll(`main button, main input:not([type=hidden]), main select,
            main a.button, main a.tall`)].filter(e => e.offsetParent && !['radio', 'checkbox'].includes(e.type))
            .filter(e => e.getBoundingClientRect().height < 43.9).map(e => e.outerHTML.slice(0, 100))"""
        )
        assert not low, (path, low)


@pytest.mark.parametrize("width", SIZES)
def test_a_fan_opened_in_the_list_is_as_wide_as_it_is_drawn_for(sit_down: Any, width: int) -> None:
    page = sit_down(viewport={"width": width, "height": SIZES[width]}).go("/season/")
    page.locator("a[hx-get*=fan]").first.click()
    page.wait_for_selector(".fan svg")
    assert page.locator(".fan svg").first.bounding_box()["width"] >= 390.0
