# ruff: noqa: E501 - tables as they stand
"""Tables in the real browser: by keyboard alone, with progress, stopped and gone on with, through a killed server."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest
from tests.browser.test_access import SIZES, violations

FLEET = "Mower,Position,Unit,Reel serial,Blades,Dia,Length (mm)\nnew machine,front,N1,S1,11,5,533\nnew machine,rear,N2,S2,11,500,533\n"


UNITS = ("G1 left", "G1 centre", "G1 right", "F2 outer left", "F2 outer right")


def hours(rows: int) -> str:
    start, days = datetime.date(2000, 1, 1), -(-rows // len(UNITS))
    lines = [f"{name},{start + datetime.timedelta(days=i)},{i} h" for name in UNITS for i in range(days)]
    return "\n".join(["Unit,Date,Hours", *lines[:rows]]) + "\n"


def file(folder: Path, text: str, name: str = "table.csv") -> Path:
    path = folder / name
    path.write_text(text)
    return path


def read(bench: Any, path: Path) -> None:
    bench.go("/tables/")
    bench.page.set_input_files("#t-file", path)
    bench.page.get_by_role("button", name="Read the file").click()
    bench.page.wait_for_selector("#columns")


def test_a_fleet_list_by_keyboard_alone(sit_down: Any, tmp_path: Path) -> None:
    bench = sit_down()
    read(bench, file(tmp_path, FLEET))
    assert bench.page.input_value("#field-0-3") == "reel"
    bench.tab_to("#unit-0-5")
    bench.page.keyboard.press("i")  # a native choice goes to what begins so
    assert bench.page.input_value("#unit-0-5") == "in"
    bench.tab_to("button[value=try]")
    bench.page.keyboard.press("Enter")
    bench.page.wait_for_selector(".counts", timeout=20_000)
    assert "'500 in'" in bench.page.inner_text("table.rows")
    bench.tab_to("main form button.main-one")
    bench.page.keyboard.press("Enter")
    bench.page.wait_for_selector("h1:has-text('What was brought in')")
    bench.page.wait_for_selector(".counts", timeout=20_000)
    assert bench.page.locator(".counts li").first.inner_text().split() == ["1", "added"]
    bench.go("/?q=N1")
    assert bench.page.locator(".units h2").first.inner_text() == "N1"


def test_stopped_on_the_way_and_gone_on_with(sit_down: Any, tmp_path: Path) -> None:
    rows = 24_000  # enough that no machine is through before a hand has pressed Stop
    bench = sit_down()
    read(bench, file(tmp_path, hours(rows)))
    bench.page.get_by_role("button", name="Try it").click()
    bench.page.wait_for_selector(".counts", timeout=120_000)
    bench.page.get_by_role("button", name="Bring in").click()
    bench.page.wait_for_selector("progress[value]", timeout=20_000)
    bench.page.get_by_role("button", name="Stop").click()
    bench.page.wait_for_selector(".counts", timeout=60_000)
    assert "what was done stays" in bench.page.inner_text(".trouble")
    part = int(bench.page.locator(".counts .mark").first.inner_text())
    assert 0 <= part < rows
    bench.page.get_by_role("button", name="Go on").click()
    bench.page.wait_for_selector(".counts", timeout=120_000)
    assert int(bench.page.locator(".counts .mark").first.inner_text()) == rows


def test_a_killed_server_goes_on_where_it_was(sit_down: Any, server: Any, tmp_path: Path) -> None:
    bench = sit_down()
    read(bench, file(tmp_path, hours(6000)))
    bench.page.get_by_role("button", name="Try it").click()
    bench.page.wait_for_selector(".counts", timeout=60_000)
    bench.page.get_by_role("button", name="Bring in").click()
    bench.page.wait_for_selector("progress[value]", timeout=20_000)
    server.kill()
    server.start()
    bench.complaints.clear()  # that the server was away is told in the console
    bench.page.reload()
    bench.page.wait_for_selector(".counts", timeout=60_000)
    assert int(bench.page.locator(".counts .mark").first.inner_text()) == 6000
    bench.complaints.clear()


@pytest.mark.parametrize(("light", "width"), [("light", 1440), ("dark", 390)])
def test_axe_finds_nothing_and_nothing_lies_off_the_side(sit_down: Any, tmp_path: Path, light: str, width: int) -> None:
    bench = sit_down(viewport={"width": width, "height": SIZES[width]}, color_scheme=light)
    wrong = []

    def look(what: str) -> None:
        bench.page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        wrong.extend(f"{what} {text}" for text in violations(bench.page))
        aside = bench.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        small = bench.page.evaluate(
            """() => [...document.querySelectorAll('main button, main input, main select, main a.button')]
            .filter(part => part.offsetParent && !['checkbox'].includes(part.type))
            .filter(part => part.getBoundingClientRect().height < 43.9).map(part => part.outerHTML.slice(0, 90))"""
        )
        wrong.extend([f"{what} is {aside} px too wide"] if aside > 0 else [])
        wrong.extend(f"{what} {part} is small" for part in small)

    text = "Unit,Date,Dia left,Dia right,Gauge,Remarks\nG1 left,03/04/2023,126.4,1266,tape 1,x\nnone,05/06/2023,126,126,tape 1,\n"
    read(bench, file(tmp_path, text))
    look("columns")
    bench.page.select_option("#order-0", "dmy")
    bench.page.get_by_role("button", name="Try it").click()
    bench.page.wait_for_selector(".counts", timeout=20_000)
    look("rows")
    bench.go("/tables/")
    look("tables")
    assert not wrong, "\n".join(wrong)
    with bench.page.expect_download() as taken:
        bench.page.get_by_role("link", name="Workbook (XLSX)").click()
    path = tmp_path / "all.xlsx"
    taken.value.save_as(path)
    assert path.read_bytes()[:2] == b"PK"
