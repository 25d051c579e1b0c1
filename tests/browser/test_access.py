"""Every page, light and dark, phone to desktop: no violation of WCAG 2.2 AA that axe can find, nothing off the side."""

from typing import Any
from urllib.parse import urlencode

import pytest

from sparkout.web.stand import clip, stance

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
SIZES = {390: 844, 820: 1180, 1440: 900}


def violations(page: Any) -> list[str]:
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": TAGS}}).response["violations"]
    return [f"{v['id']}: {v['help']} at {[n['target'] for n in v['nodes'][:3]]}" for v in found]


def pages(bench: Any) -> list[str]:
    """Return every page of the bench, with an open and a signed visit."""
    bench.go("/")
    units = bench.page.locator(".units h2 a").evaluate_all("found => found.map(a => a.getAttribute('href'))")
    opened = bench.page.locator(".units a.main-one").evaluate_all("found => found.map(a => a.getAttribute('href'))")
    bench.go("/?state=ready")
    bench.page.locator(".units h2 a").first.click()
    signed = bench.page.locator("tbody a").first.get_attribute("href")
    return ["/", "/?q=zzz", "/who/", units[0], f"{units[0]}label/", opened[0], signed]


@pytest.mark.parametrize(("light", "width"), [("light", 1440), ("dark", 390)])
def test_axe_finds_nothing(sit_down: Any, light: str, width: int) -> None:
    bench = sit_down(viewport={"width": width, "height": SIZES[width]}, color_scheme=light)
    wrong = []
    for path in pages(bench):
        bench.go(path)
        bench.page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        wrong += [f"{path} {text}" for text in violations(bench.page)]
        aside = bench.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if aside > 0:
            wrong.append(f"{path} is {aside} px too wide")
    assert not wrong, "\n".join(wrong)


def test_axe_finds_nothing_at_first_start(chromium: Any, tmp_path: Any) -> None:
    from tests.browser.conftest import Server

    server = Server(tmp_path / "data").start()
    try:
        page = chromium.new_page()
        page.goto(server.address)
        assert page.url.endswith("/start/")
        assert not violations(page)
        page.fill("#s-name", "Our workshop")
        page.fill("#s-first_person", "me")
        page.select_option("#s-units", "inch")
        page.get_by_role("button", name="Set up").click()
        page.wait_for_selector("h1:has-text('Our workshop')")
        page.close()
    finally:
        server.kill()


def test_targets_are_big_enough_for_gloves(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down(viewport={"width": 820, "height": 1180}, has_touch=True)
    open_visit(bench)
    small = bench.page.evaluate(
        """() => [...document.querySelectorAll('main button, main input, main select, main a.button, .rail a')]
        .filter(part => part.offsetParent && !['radio', 'checkbox', 'range'].includes(part.type))
        .filter(part => part.getBoundingClientRect().height < 43.9 || part.getBoundingClientRect().width < 43.9)
        .map(part => part.outerHTML.slice(0, 120))"""
    )
    assert not small


def test_light_and_dark_by_hand(sit_down: Any) -> None:
    bench = sit_down(color_scheme="light")
    bench.page.click("[data-set-light=dark]")
    dark = bench.page.evaluate("getComputedStyle(document.body).backgroundColor")
    bench.page.reload()
    assert bench.page.evaluate("getComputedStyle(document.body).backgroundColor") == dark
    bench.page.click("[data-set-light=auto]")
    assert bench.page.evaluate("getComputedStyle(document.body).backgroundColor") != dark


_SMALL_LETTERS = """() => [...document.querySelectorAll('main svg text')].map(text => {
    const picture = text.closest('svg');
    if (!picture.getBoundingClientRect().width || text.closest('.now:not(.open)')) return null;
    const scale = text.getScreenCTM();
    const size = parseFloat(getComputedStyle(text).fontSize) * Math.hypot(scale.a, scale.b);
    const of = picture.querySelector('title')?.textContent;
    return size < 11.95 ? `${size.toFixed(1)} px: ${text.textContent} (${of})` : null;
}).filter(Boolean)"""
"""Letters of pictures that stand on the screen, by the size they are shown at; a folded panel shows none."""


@pytest.mark.parametrize("width", SIZES)
def test_letters_in_pictures_are_never_smaller_than_12_px(sit_down: Any, width: int) -> None:
    bench = sit_down(viewport={"width": width, "height": SIZES[width]})
    *_, unit, _, opened, _ = pages(bench)
    examples = [f"/{name}/?{urlencode(live.EXAMPLE)}" for name, live in (("stance", stance), ("clip", clip))]
    season = ["/season/wall/", *(f"/season/load/{name}/" for name in ("load", "budget", "spend", "age"))]
    seen, small = 0, []
    for path in (opened, unit, *examples, *season):
        bench.go(path)
        bench.page.evaluate("document.querySelectorAll('main details').forEach(part => { part.open = true; })")
        if bench.page.locator("[data-unfold]:visible").count():
            bench.page.locator("[data-unfold]:visible").click()
        bench.page.wait_for_timeout(400)
        seen += bench.page.locator("main svg text").count()
        small += [f"{path} {told}" for told in bench.page.evaluate(_SMALL_LETTERS)[:2]]
    assert seen > 200
    assert not small, "\n".join(small)
