"""A line is worked out while somebody pauses over it: nothing of it is kept before Enter, and nothing moves."""

from typing import Any

from tests.browser.test_lost_and_shared import values


def test_a_pause_over_a_line(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    page = bench.page
    state = page.inner_text("#now-part")
    for box, line in (("diameter-f-l", "125.1 mm"), ("diameter-f-c", "125.2 mm")):
        page.click(f"#in-{box}")
        before = values(bench, path, "diameter")
        with page.expect_response(lambda answer: answer.url.endswith(f"{path}ahead/")) as worked_out:
            page.keyboard.type(line)
        assert worked_out.value.status == 204
        assert worked_out.value.request.post_data is not None
        assert values(bench, path, "diameter") == before
        assert page.inner_text("#now-part") == state
        page.keyboard.press("Enter")
        bench.saved()
        state = page.inner_text("#now-part")
    assert values(bench, path, "diameter") == ["125.1 mm", "125.2 mm"]


def test_a_pause_over_big_keys(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    page = bench.page
    page.click("[data-pad-switch]")
    page.click("#in-diameter-f-l")
    page.wait_for_selector("#pad:not([hidden])")
    with page.expect_response(lambda answer: answer.url.endswith(f"{path}ahead/")) as worked_out:
        for key in "127":
            page.click(f"#pad [data-key='{key}']")
    assert worked_out.value.status == 204
    page.click("#pad [data-key=enter]")
    bench.saved()
    assert len(values(bench, path, "diameter")) == 1
