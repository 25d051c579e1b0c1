"""A table on any screen: every word of it reached without moving it sideways, and still a table to a screen reader."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from tests.browser.test_access import SIZES
from tests.browser.test_exchange import FLEET, file, read
from tests.browser.test_season_page import planned

from sparkout.web.stand import clip, matching, stance
from sparkout.web.workshop.kinds import KINDS

LIVE = {"stance": stance, "matching": matching, "clip": clip}
PAGES = ("/season/", "/season/wall/", "/season/load/", "/season/what-if/", "/season/sheet/", "/workshop/hours/",
         "/workshop/care/", "/workshop/limits/", "/workshop/tokens/", "/workshop/turf/", "/tables/", "/why/",
         *(f"/{name}/?{urlencode(live.EXAMPLE)}" for name, live in LIVE.items()),
         *(f"/workshop/{kind}/{one}" for kind in KINDS for one in ("", "1/")))  # fmt: skip

SIDEWAYS = """() => [...document.querySelectorAll('main table')].filter(t => t.offsetParent && !t.closest('svg'))
.map(t => [t, t.closest('.wide') || t.parentElement]).filter(([t, box]) => box.scrollWidth > box.clientWidth + 1)
.map(([t, box]) => `${t.className} ${box.ariaLabel || ''}: ${box.scrollWidth} in ${box.clientWidth}`)"""

BARE = """() => [...document.querySelectorAll('main table')].filter(t => t.offsetParent)
.filter(t => getComputedStyle(t).display !== 'table').flatMap(t => [['table', t],
...['thead', 'tbody'].flatMap(name => [...t.querySelectorAll(name)].map(e => ['rowgroup', e])),
...[...t.querySelectorAll('tr')].map(e => ['row', e]), ...[...t.querySelectorAll('td')].map(e => ['cell', e]),
...[...t.querySelectorAll('th')].map(e => [e.scope === 'row' ? 'rowheader' : 'columnheader', e])])
.filter(([role, e]) => e.getAttribute('role') !== role).map(([role, e]) => `no ${role}: ${e.outerHTML.slice(0, 90)}`)"""
"""What stands row by row says in so many words what it is: not every browser tells a table by its tags then."""

UNNAMED = """() => [...document.querySelectorAll('main .cards tbody td')]
.filter(e => e.offsetParent && e.innerText.trim())
.filter(e => !e.dataset.head && !e.matches('.fan, .fanned *') && !e.querySelector('form'))
.map(e => `no heading: ${e.outerHTML.slice(0, 90)}`)"""

BROKEN = """() => { const found = [], range = document.createRange();
const texts = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
while (texts.nextNode()) { const text = texts.currentNode, part = text.parentElement;
  if (!part.closest('dd, td, tbody th') || part.closest('svg, .unseen, button') || !part.checkVisibility()) continue;
  for (const word of text.data.matchAll(/[\\p{L}]{3,12}/gu)) {
    range.setStart(text, word.index); range.setEnd(text, word.index + word[0].length);
    if (new Set([...range.getClientRects()].map(box => Math.round(box.top))).size > 1)
      found.push(`broken: ${word[0]} in ${part.outerHTML.slice(0, 60)}`); } }
return found.slice(0, 3); }"""
"""A word of a figure or a cell that goes on in the next line: its column is too narrow for anything."""

MANNERS = {"de": {"language": "de"}, "us": {"vocabulary": "us", "units": "inch"}}


def every_page(bench: Any, tmp_path: Path, manner: str) -> Iterator[str]:
    """Go to every page with a table, one after the other, all of it opened, told in one manner."""
    page = planned(bench)
    read(bench, file(tmp_path, FLEET))
    page.select_option("#unit-0-5", "in")
    page.locator("button[value=try]").click()
    page.wait_for_selector(".counts", timeout=20_000)
    rows = page.url.removeprefix(bench.address)
    for name in ("one more technician", "the second grinder away"):
        bench.go("/season/what-if/")
        page.fill("#w-name", name)
        page.get_by_role("button", name="Begin").click()
    bench.go("/workshop/tokens/")
    page.locator("#make input:not([type=hidden])").first.fill("the clubhouse's screen")
    page.locator("#make button").click()
    page.wait_for_selector("table")
    bench.go("/workshop/care/")
    for form, typed in (
        ("#task", {"task": "spin grinding", "hours": "2 h", "vibration": "3 m/s2", "origin": "the grinder's handbook"}),
        ("#may", {"given_by": "the workshop's manager"}),
    ):
        for name, value in typed.items():
            page.fill(f"{form} [name={name}]", value)
        page.locator(f"{form} form .main-one, form{form} .main-one").click()
        page.wait_for_selector(f"#{'day' if form == '#task' else 'may'} table")
    bench.go("/")
    units = page.locator(".units h2 a").evaluate_all("found => found.map(a => a.getAttribute('href'))")
    opened = page.locator(".units a.main-one").evaluate_all("found => found.map(a => a.getAttribute('href'))")
    for name, value in MANNERS[manner].items():
        bench.go("/")
        page.locator(f"button[name={name}][value={value}]").click()
    bench.go("/season/")
    reels = page.locator("a[href$='/reel/']").evaluate_all("found => found.map(a => a.getAttribute('href'))")
    for path in (*PAGES, *units, *opened, *reels[:2], rows):
        answer = page.goto(bench.address + path)
        assert answer.ok, path
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        page.wait_for_load_state("networkidle")
        assert page.locator("#all-passes table").count() == page.locator("#all-passes").count()
        yield path


@pytest.mark.parametrize(("manner", "width"), [("de", 390), ("us", 390), ("de", 820), ("de", 1440)])
def test_no_table_is_moved_sideways(sit_down: Any, tmp_path: Path, manner: str, width: int) -> None:
    bench = sit_down(viewport={"width": width, "height": SIZES[width]}, has_touch=True)
    wrong = []
    for path in every_page(bench, tmp_path, manner):
        wrong += [f"{path} {text}" for look in (SIDEWAYS, BARE, UNNAMED, BROKEN) for text in bench.page.evaluate(look)]
    assert not wrong, "\n".join(wrong)
