"""Lost network, killed server, reloaded page, two people on one visit: nothing typed is lost, nothing counts twice."""

import tomllib
import urllib.request
from typing import Any

import pytest
from tests.browser.conftest import pause

FILL = """number => {
  const box = document.getElementById(`in-run-out-f-${number}-l`);
  box.value = `${number} thou`;
  box.dataset.dirty = "1";
  box.dispatchEvent(new Event("change", { bubbles: true }));
}"""
"""Types into a box far above without bringing it into view, as an answer to somebody else's entry would change it."""


def filed(bench: Any, path: str) -> list[dict[str, Any]]:
    """Return the readings on file, by the visit file the server gives out."""
    cookies = "; ".join(f"{c['name']}={c['value']}" for c in bench.page.context.cookies())
    asked = urllib.request.Request(f"{bench.address}{path}visit.toml", headers={"Cookie": cookies})
    with urllib.request.urlopen(asked) as answer:
        return tomllib.loads(answer.read().decode()).get("readings", [])


def values(bench: Any, path: str, of: str) -> list[str]:
    return [str(reading.get("value")) for reading in filed(bench, path) if reading["of"] == of]


def enter(bench: Any, box: str, line: str) -> None:
    bench.page.fill(f"#in-{box}", line)
    bench.page.press(f"#in-{box}", "Enter")


def test_network_cut_in_the_middle(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    enter(bench, "diameter-f-l", "125.1 mm")
    bench.saved()
    bench.page.context.set_offline(True)
    enter(bench, "diameter-f-c", "125.2 mm")
    enter(bench, "diameter-f-r", "125.3 mm")
    enter(bench, "diameter-f-c", "125.25 mm")  # corrected before it was ever sent
    bench.page.wait_for_selector("#link.off")
    assert "3 kept in this browser" in bench.page.inner_text("#link")
    assert bench.page.locator(".box.waiting").count() == 2
    assert bench.page.locator("#sign form button").first.is_disabled()
    assert values(bench, path, "diameter") == ["125.1 mm"]
    bench.page.context.set_offline(False)
    bench.saved()
    assert sorted(values(bench, path, "diameter")) == ["125.1 mm", "125.25 mm", "125.3 mm"]
    assert bench.page.locator(".waiting").count() == 0
    bench.complaints[:] = [text for text in bench.complaints if "ERR_INTERNET_DISCONNECTED" not in text]


def test_passes_are_ticked_on_without_the_network(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    for place in "lcr":
        enter(bench, f"diameter-f-{place}", "125.1 mm")
    blades = bench.page.locator("#g-run-out_as_found tbody tr").count()
    for blade in range(1, blades + 1):
        for place in "lcr":
            enter(bench, f"run-out-f-{blade}-{place}", "0.01 mm")
    bench.saved()
    bench.page.context.set_offline(True)
    for number in (1, 2, 3):
        bench.page.click(f"#tick-{number}")
        pause(0.45)
    assert bench.page.locator(".pass:visible").get_attribute("id") == "pass-4"
    bench.page.context.set_offline(False)
    bench.saved()
    assert bench.page.locator(".pass:visible").get_attribute("id") == "pass-4"
    assert "3 passes done" in bench.page.inner_text(".rail")
    assert path
    bench.complaints[:] = [text for text in bench.complaints if "ERR_INTERNET_DISCONNECTED" not in text]


def test_server_killed_and_page_closed_in_the_middle(sit_down: Any, open_visit: Any, server: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    server.kill()
    enter(bench, "diameter-f-l", "125.1 mm")
    bench.page.wait_for_selector("#link.off")
    other = sit_down(context=bench.page.context)
    bench.page.close()
    server.start()
    other.go(path)  # the page again, on the same device: it finds what was kept and sends it
    other.saved()
    other.page.wait_for_selector("#told-diameter-f-l[data-shown]", state="attached")
    assert values(other, path, "diameter") == ["125.1 mm"]
    bench.complaints[:] = [text for text in bench.complaints if "ERR_" not in text]


def test_an_answer_lost_on_its_way_counts_once(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    lost: list[str] = []

    def lose_first(route: Any) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.request.post_data)
        route.fetch()  # the server does it, and the answer never arrives
        route.abort()

    bench.page.route("**/reading/", lose_first)
    enter(bench, "diameter-f-l", "125.1 mm")
    bench.page.wait_for_selector("#link.off")
    bench.saved()
    assert lost
    assert values(bench, path, "diameter") == ["125.1 mm"]
    assert bench.page.get_attribute("#told-diameter-f-l", "data-version") == "1"
    bench.complaints[:] = [text for text in bench.complaints if "ERR_FAILED" not in text]


def test_two_people_on_one_visit(sit_down: Any, open_visit: Any) -> None:
    first, second = sit_down(person=0), sit_down(person=1)
    path = open_visit(first)
    second.go(path)
    enter(first, "diameter-f-l", "125.1 mm")
    first.saved()
    enter(second, "diameter-f-l", "125.9 mm")  # on a page that still shows the place empty
    second.page.wait_for_selector("#said-diameter-f-l .no")
    told = second.page.inner_text("#said-diameter-f-l")
    assert "125.1 mm" in told
    assert "125.9 mm" in told
    assert values(first, path, "diameter") == ["125.1 mm"]  # nothing is settled silently
    second.page.get_by_role("button", name="Enter mine: 125.9 mm").click()
    second.saved()
    assert values(first, path, "diameter") == ["125.9 mm"]
    enter(first, "diameter-f-l", "125.2 mm")
    first.page.get_by_role("button", name="Leave theirs: 125.9 mm").click()
    first.page.wait_for_selector("#said-diameter-f-l .no", state="detached")
    assert first.page.input_value("#in-diameter-f-l") == "125.9 mm"
    assert values(first, path, "diameter") == ["125.9 mm"]


def test_wrong_unit_is_noticed_and_asked(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    enter(bench, "land-f-l", "40")
    bench.page.wait_for_selector("#said-land-f-l .no")
    assert "0 to 20 mm" in bench.page.inner_text("#said-land-f-l")
    assert bench.page.input_value("#in-land-f-l") == "40"  # what was typed stays to be put right
    bench.page.get_by_role("button", name="40 thou").click()
    bench.saved()
    assert values(bench, path, "land") == ["40 thou"]
    enter(bench, "land-f-l", "-")
    bench.saved()
    assert values(bench, path, "land") == []


def test_the_page_does_not_jump_under_the_finger(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    open_visit(bench)
    page = bench.page
    enter(bench, "diameter-f-c", "125.0 mm")
    bench.saved()
    box = page.locator("#in-diameter-l-l")  # below everything that an answer changes in size
    box.scroll_into_view_if_needed()
    box.focus()
    page.wait_for_timeout(300)
    before = box.bounding_box()["y"]
    for row in (1, 2, 3):
        page.evaluate(FILL, row)
        bench.saved()
        assert abs(box.bounding_box()["y"] - before) < 2


def test_the_page_does_not_jump_where_somebody_has_scrolled_to(sit_down: Any, open_visit: Any) -> None:
    """The box typed in last is out of sight; as on a telephone whose browser does not hold the page by itself."""
    bench = sit_down(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    open_visit(bench)
    page = bench.page
    page.evaluate("document.documentElement.style.overflowAnchor = 'none'")
    page.focus("#in-diameter-f-c")
    page.evaluate("document.getElementById('g-diameter_as_left').scrollIntoView({ block: 'center' })")
    page.wait_for_timeout(300)
    box = page.locator("#g-diameter_as_left")
    before = box.bounding_box()["y"]
    assert page.evaluate("document.activeElement.getBoundingClientRect().bottom < 0")
    for row in range(1, 1 + page.locator("#g-run-out_as_found tbody tr").count()):
        page.evaluate(FILL, row)
    bench.saved()
    assert abs(box.bounding_box()["y"] - before) < 2


def test_a_server_that_knows_nobody_keeps_nothing_and_so_the_page_does(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    page = bench.page
    bench.saved()
    page.context.clear_cookies()
    enter(bench, "diameter-f-l", "125.9 mm")
    page.locator("#link", has_text="does not know who you are").wait_for()
    assert "1 kept in this browser" in page.inner_text("#link")
    assert page.locator(".box.waiting").count() == 1
    bench.go("/who/")
    page.click("button[name=person]")
    bench.go(path)
    bench.saved()
    assert values(bench, path, "diameter") == ["125.9 mm"]
    bench.complaints[:] = [text for text in bench.complaints if "403" not in text]


def test_what_is_typed_and_not_entered_outlives_the_page(sit_down: Any, open_visit: Any) -> None:
    """As when a telephone puts a page away: it is in its box again, and still not on file before Enter."""
    bench = sit_down()
    path = open_visit(bench)
    bench.page.click("#in-diameter-f-l")
    bench.page.keyboard.type("125.9 mm")
    again = sit_down(context=bench.page.context)
    again.go(path)
    assert again.page.input_value("#in-diameter-f-l") == "125.9 mm"
    assert values(again, path, "diameter") == []
    again.page.press("#in-diameter-f-l", "Enter")
    again.saved()
    assert values(again, path, "diameter") == ["125.9 mm"]
    bench.page.press("#in-diameter-f-l", "Escape")


@pytest.mark.parametrize("box", ["looked", "bearing-work"])
def test_words_typed_and_not_entered_outlive_the_page_until_they_are(sit_down: Any, open_visit: Any, box: str) -> None:
    """Reloaded: there again. Sent into nothing: there again. Entered: told once, and the box is empty."""
    bench = sit_down()
    path = open_visit(bench)
    page, words = bench.page, "nick at blade 3, bracket loose"
    page.click(f"#{box}")
    page.keyboard.type(words)
    page.reload()
    assert page.input_value(f"#{box}") == words
    assert page.locator(".step .mark.good", has_text=words).count() == 0
    page.route("**/look/", lambda route: route.abort())
    with page.expect_event("requestfailed", lambda request: request.url.endswith("/look/")):
        page.press(f"#{box}", "Enter")
    page.unroute("**/look/")
    bench.go(path)
    assert page.input_value(f"#{box}") == words
    page.press(f"#{box}", "Enter")
    page.wait_for_selector(f".step .mark.good:has-text('{words}')")
    assert page.input_value(f"#{box}") == ""
    page.reload()
    assert page.input_value(f"#{box}") == ""
    page.fill(f"#{box}", words)  # the same once more is another entry: still kept until it is sent
    page.reload()
    assert page.input_value(f"#{box}") == words
    bench.complaints.clear()  # that the form went nowhere is told in the console


def test_signing_while_the_server_is_away_leaves_the_page_and_the_words(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    page, words = bench.page, "ground and set, proved on paper"
    page.context.set_offline(True)
    page.fill("#sign-statement", words)
    page.press("#sign-statement", "Enter")
    page.locator("#link", has_text="what you typed stays here").wait_for()
    assert page.url == bench.address + path
    assert page.input_value("#sign-statement") == words
    page.context.set_offline(False)
    page.press("#sign-statement", "Enter")
    page.wait_for_selector("text=Signed and closed")
    bench.complaints[:] = [text for text in bench.complaints if "ERR_INTERNET_DISCONNECTED" not in text]


def test_entries_keep_their_order_when_the_clock_is_put_back(sit_down: Any, open_visit: Any) -> None:
    """A device's clock is set right while entries wait: the one typed last is still the one that stands."""
    bench = sit_down()
    path = open_visit(bench)
    page = bench.page
    page.context.set_offline(True)
    enter(bench, "diameter-f-l", "125.1 mm")
    page.evaluate("Date.now = () => 1_000_000")
    enter(bench, "diameter-f-l", "125.2 mm")
    enter(bench, "diameter-f-l", "125.3 mm")
    other = sit_down(context=page.context)
    page.close()
    other.page.context.set_offline(False)
    other.go(path)
    other.saved()
    assert values(other, path, "diameter") == ["125.3 mm"]
    bench.complaints[:] = [text for text in bench.complaints if "ERR_INTERNET_DISCONNECTED" not in text]


def test_a_line_refused_after_a_better_one_was_typed_does_not_come_back(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    page = bench.page
    page.context.set_offline(True)
    enter(bench, "diameter-f-l", "1254 mm")
    enter(bench, "diameter-f-l", "125.4 mm")
    page.context.set_offline(False)
    bench.saved()
    assert values(bench, path, "diameter") == ["125.4 mm"]
    assert page.input_value("#in-diameter-f-l") == "125.4 mm"
    bench.complaints[:] = [text for text in bench.complaints if "ERR_INTERNET_DISCONNECTED" not in text]


def test_a_grid_shows_the_unit_of_a_value_that_its_head_does_not_name(sit_down: Any, open_visit: Any) -> None:
    """Two people, one in mm and one in thou, both with an empty grid before them."""
    first, second = sit_down(person=0), sit_down(person=1)
    path = open_visit(first)
    second.go(path)
    second.page.locator("header button[value=inch]").click()
    second.page.wait_for_selector("#g-run-out_as_found[data-unit=thou]")
    enter(first, "run-out-f-1-l", "0.02")
    first.saved()
    enter(second, "run-out-f-2-l", "1.5")
    second.saved()
    second.until(lambda: second.page.input_value("#in-run-out-f-1-l") == "0.02 mm")
    assert second.page.input_value("#in-run-out-f-2-l") == "1.5"
    enter(first, "run-out-f-3-l", "0.01")
    first.until(lambda: first.page.input_value("#in-run-out-f-2-l") == "1.5 thou")
    assert first.page.input_value("#in-run-out-f-1-l") == "0.02"


def test_two_people_tap_one_paper_proof(sit_down: Any, open_visit: Any) -> None:
    first, second = sit_down(person=0), sit_down(person=1)
    path = open_visit(first)
    second.go(path)

    def tap(bench: Any, *spots: int) -> None:
        for spot in spots:
            bench.page.locator("#paper-as_left tbody button").nth(spot).click()
        pause(0.4)  # taps go together
        bench.saved()

    def rows(bench: Any) -> str:
        return str(bench.page.get_attribute("#told-paper-as_left", "data-rows"))[:5]

    def shown(bench: Any) -> str:
        buttons = bench.page.locator("#paper-as_left tbody button")
        return "".join(str(buttons.nth(i).get_attribute("data-is")) for i in range(5))

    tap(first, 0)
    tap(second, 3, 3)  # their page does not know of the first tap
    second.until(lambda: shown(second) == rows(second) == "c--p-")
    tap(first, 3)
    first.page.locator("#said-paper-as_left", has_text="yours clean, theirs pinched").wait_for()
    assert shown(first) == "c--p-"
    first.page.get_by_role("button", name="Enter mine").click()
    assert first.page.locator("#said-paper-as_left").count() == 0
    first.until(lambda: rows(first) == "c--c-")
    assert rows(first) == shown(first) == "c--c-"
    first.page.fill("#thickness-paper-as_left", "0.08")
    first.page.press("#thickness-paper-as_left", "Tab")
    pause(0.4)
    first.saved()
    second.page.reload()
    assert second.page.input_value("#thickness-paper-as_left") == "0.08 mm"
    assert shown(second) == "c--c-"


def test_what_is_asked_about_one_box_stays_while_others_are_typed(sit_down: Any, open_visit: Any) -> None:
    """In a row and in the dial's grid, where a finger finds no title: both values, and the buttons that settle it."""
    first, second = sit_down(person=0), sit_down(person=1)
    path = open_visit(first)
    second.go(path)
    enter(first, "run-out-f-2-l", "0.02")
    first.saved()
    enter(second, "run-out-f-2-l", "0.03")
    enter(second, "land-f-l", "25 mm")
    second.page.locator("#said-land-f-l", has_text="too large").wait_for()
    enter(second, "diameter-f-l", "125.1 mm")
    second.until(lambda: values(second, path, "diameter") == ["125.1 mm"])
    asked = second.page.locator("#s-run-out_as_found .said")
    assert "left, blade 2: changed meanwhile: it now reads 0.02 mm" in asked.inner_text()
    assert second.page.locator("#said-land-f-l").is_visible()
    enter(second, "land-f-l", "2.5 mm")
    asked.get_by_role("button", name="Leave theirs: 0.02 mm").click()
    second.until(lambda: second.page.locator(".said").count() == 0)
    second.saved()
    assert second.page.input_value("#in-run-out-f-2-l") == "0.02"


def test_what_is_refused_in_the_middle_of_a_burst_is_told_and_kept_in_its_box(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    bench.page.context.set_offline(True)
    enter(bench, "diameter-f-l", "125.1 mm")
    enter(bench, "land-f-l", "25 mm")
    enter(bench, "diameter-f-c", "125.2 mm")
    bench.page.context.set_offline(False)
    bench.page.locator("#said-land-f-l", has_text="too large").wait_for()
    bench.until(lambda: values(bench, path, "diameter") == ["125.1 mm", "125.2 mm"])
    bench.page.locator("#link", has_text="Not on file yet: 1 typed").wait_for()
    assert bench.page.input_value("#in-land-f-l") == "25 mm"
    bench.complaints.clear()  # the network was away


def test_a_refused_line_is_not_said_to_be_saved(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down()
    path = open_visit(bench)
    enter(bench, "diameter-f-l", "twelve")
    bench.page.locator("#link", has_text="Not on file yet: 1 typed").wait_for()
    enter(bench, "diameter-f-l", "125.9 mm")
    bench.saved()
    assert values(bench, path, "diameter") == ["125.9 mm"]
