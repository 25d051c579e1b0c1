"""The server away: a visit page that was closed opens again, says of when it is, and what is typed into it is kept."""

from typing import Any

import pytest
from tests.browser.test_lost_and_shared import enter, values


def kept(bench: Any, path: str, what: str) -> None:
    """Wait until this device holds the page with something on it."""
    asked = "async ([path, what]) => ((await (await caches.match(path))?.text()) || '').includes(what)"
    for _ in range(150):
        if bench.page.evaluate(asked, [path, what]):
            return
        bench.page.wait_for_timeout(100)
    raise AssertionError(f"{path} with {what} was not kept")


def only_the_network(bench: Any) -> None:
    """Failing requests are what these tests are about."""
    bench.complaints[:] = [text for text in bench.complaints if "ERR_" not in text and "Failed to" not in text]


def test_closed_while_the_server_is_down_and_opened_again(sit_down: Any, open_visit: Any, server: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    enter(bench, "diameter-f-l", "125.1 mm")
    bench.saved()
    kept(bench, path, 'data-shown="125.1 mm"')
    server.kill()
    bench.page.close()
    again = sit_down(context=bench.page.context)
    again.go(path)
    again.page.wait_for_selector("#as-seen:not([hidden])")
    assert "not connected" in again.page.inner_text("#as-seen")
    assert again.page.inner_text("#link") == "Not connected"
    assert again.page.input_value("#in-diameter-f-l") == "125.1 mm"
    enter(again, "diameter-f-c", "125.2 mm")
    again.page.wait_for_selector("#link.off")
    assert "1 kept in this browser" in again.page.inner_text("#link")
    server.start()
    again.page.wait_for_selector("#as-seen", state="hidden", timeout=60_000)
    again.saved()
    assert sorted(values(again, path, "diameter")) == ["125.1 mm", "125.2 mm"]
    only_the_network(again)
    only_the_network(bench)


def test_it_finds_the_server_again_by_itself(sit_down: Any, open_visit: Any, server: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    kept(bench, path, "told-diameter-f-l")
    server.kill()
    bench.page.reload()
    bench.page.wait_for_selector("#as-seen:not([hidden])")
    server.start()
    bench.page.wait_for_selector("#as-seen", state="hidden", timeout=60_000)
    assert bench.page.inner_text("#link") == "All saved"
    only_the_network(bench)


def test_what_the_server_says_goes_before_what_was_kept(sit_down: Any, open_visit: Any) -> None:
    bench, other = sit_down(person=0), sit_down(person=1)
    path = open_visit(bench)
    kept(bench, path, "told-diameter-f-l")
    other.go(path)
    enter(other, "diameter-f-l", "125.9 mm")
    other.saved()
    bench.page.reload()
    assert bench.page.input_value("#in-diameter-f-l") == "125.9 mm"
    assert bench.page.locator("#as-seen").is_hidden()
    answer = bench.page.request.get(bench.address + "/away.js")
    assert answer.headers["cache-control"] == "no-cache"
    policy = bench.page.evaluate(
        "async (path) => (await caches.match(path)).headers.get('Content-Security-Policy')", path
    )
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy


def test_a_page_never_seen_is_not_made_up(sit_down: Any, open_visit: Any, server: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    kept(bench, path, "told-diameter-f-l")
    server.kill()
    from playwright.sync_api import Error

    with pytest.raises(Error, match="ERR_FAILED"):
        bench.go("/visits/999/")
    only_the_network(bench)
