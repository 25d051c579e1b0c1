"""Why does it look like that, with a thumb on a phone: answers, undo, the server away, opened again without it; axe."""

from typing import Any

import pytest
from tests.browser.test_access import violations
from tests.browser.test_away import only_the_network

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def question(bench: Any) -> str:
    return str(bench.page.inner_text(".asks"))


def answer(bench: Any, words: str) -> None:
    before = bench.page.url
    bench.page.get_by_role("link", name=words, exact=True).tap()
    bench.page.wait_for_function("before => location.href !== before", arg=before)


def test_from_what_is_seen_to_a_cause_by_thumb_and_back(sit_down: Any) -> None:
    bench = sit_down(**PHONE)
    bench.go("/why/")
    bench.page.get_by_label("Torn or uncut at one end of the unit's strip, clean at the other").tap()
    bench.page.get_by_role("button", name="Rank the causes").tap()
    bench.page.wait_for_selector(".answers")
    first = question(bench)
    for name in ("Yes", "No", "Cannot tell"):
        box = bench.page.get_by_role("link", name=name, exact=True).bounding_box()
        assert box["height"] >= 44
        assert box["width"] >= 44
    answer(bench, "No")
    second = question(bench)
    assert second != first
    answer(bench, "Cannot tell")
    assert question(bench) not in (first, second)
    bench.page.get_by_role("link", name="Undo the last answer").tap()
    bench.page.wait_for_function("text => document.querySelector('.asks').innerText === text", arg=second)
    bench.page.go_back()
    bench.page.wait_for_function("text => document.querySelector('.asks').innerText !== text", arg=second)
    bench.page.reload()
    assert bench.page.locator(".likely li").count() >= 2
    assert bench.page.evaluate("document.documentElement.scrollWidth") <= 390


def test_two_answers_go_on_while_the_server_is_away_and_the_third_is_kept(sit_down: Any, server: Any) -> None:
    bench = sit_down(**PHONE)
    bench.go("/why/?a=hand-bands.y")
    bench.page.wait_for_timeout(500)
    server.kill()
    seen = [question(bench)]
    for _ in range(2):
        answer(bench, "No")
        seen.append(question(bench))
    assert len(set(seen)) == 3, "ranked and asked ahead, without the server"
    bench.page.wait_for_selector("#off:not([hidden])")
    answer(bench, "No")
    assert question(bench) == seen[-1], "what lies further waits, and says so"
    assert "Not connected" in bench.page.inner_text("#off")
    server.start()
    bench.page.wait_for_selector("#off", state="hidden", timeout=20_000)
    bench.page.wait_for_function("text => document.querySelector('.asks').innerText !== text", arg=seen[-1])
    assert bench.page.url.count("a=") == 4, "the third answer was not lost"
    only_the_network(bench)


def test_closed_and_opened_again_while_the_server_is_down(sit_down: Any, server: Any) -> None:
    bench = sit_down(**PHONE)
    bench.go("/why/?a=clack.y")
    asked = "async () => ((await (await caches.match('/why/'))?.text()) || '').includes('clack.y')"
    for _ in range(150):
        if bench.page.evaluate(asked):
            break
        bench.page.wait_for_timeout(100)
    first = question(bench)
    server.kill()
    bench.page.close()
    again = sit_down(context=bench.page.context)
    again.go("/why/?a=clack.y")
    again.page.wait_for_selector("#off:not([hidden])")
    assert question(again) == first
    answer(again, "No")
    assert question(again) != first
    only_the_network(again)
    only_the_network(bench)


def test_kept_with_the_unit(sit_down: Any) -> None:
    bench = sit_down(**PHONE)
    bench.go("/why/?a=torn-all.y&unit=1")
    bench.page.get_by_role("button", name="Keep with the unit").tap()
    bench.page.wait_for_url("**/workshop/units/1/")
    assert "looked for a fault" in bench.page.content()


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("vocabulary", ["uk", "us"])
def test_axe_finds_nothing(sit_down: Any, dark: bool, vocabulary: str) -> None:
    bench = sit_down(**PHONE, color_scheme="dark" if dark else "light")
    if vocabulary == "us":
        for name, value in (("vocabulary", "us"), ("units", "inch")):
            bench.page.locator(f"button[name={name}][value={value}]").tap()
            bench.page.wait_for_selector(f"button[name={name}][value={value}][aria-pressed=true]")
    for path in ("/why/", "/why/?a=paper-uncut-one-end.y&a=torn-one-end.y&unit=1"):
        bench.go(path)
        assert violations(bench.page) == []
    text = bench.page.inner_text("main").lower()
    assert ("bottom blade" in text) == (vocabulary == "uk")
    assert ("bedknife" in text) == (vocabulary == "us")
