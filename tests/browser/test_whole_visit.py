"""The whole visit, from taking in to the signed card: by keyboard alone, and by touch."""

from typing import Any

from tests.browser.conftest import pause


def typed(bench: Any, *lines: str) -> None:
    for line in lines:
        if not line:
            pause(0.12)  # a second Enter at once is a gauge's CR LF, no hand's
        bench.page.keyboard.type(line)
        bench.page.keyboard.press("Enter")


def test_by_keyboard_alone(sit_down: Any) -> None:
    bench = sit_down()
    bench.go("/?state=ready")
    take_in_and_look_over(bench)
    size = bench.page.locator("#take-in dd").first.inner_text()
    new = float(size.split("blades,")[1].split("mm")[0])
    blades = measure(bench, new)
    plan_and_grind(bench)
    check_and_set(bench, new)
    prove_and_sign(bench)
    assert bench.page.locator("input[id^=in-]:not([disabled])").count() == 0
    assert bench.page.locator("#paper-as_left button[data-is=c]").count() == 5 * blades
    bench.tab_to("a[href$='card.pdf']")
    with bench.page.expect_download() as waiting:
        bench.page.keyboard.press("Enter")
    assert waiting.value.path().read_bytes().startswith(b"%PDF")


def take_in_and_look_over(bench: Any) -> None:
    bench.tab_to(".units a")
    bench.page.keyboard.press("Enter")
    bench.page.wait_for_selector("#o-complaint")
    bench.tab_to("#o-complaint")
    typed(bench, "misses on the right")
    bench.page.wait_for_selector("[data-visit]")
    bench.tab_to("#looked")
    typed(bench, "one nick, nothing bent")
    bench.page.wait_for_selector("#look-over .mark.good")


def measure(bench: Any, new: float) -> int:
    bench.tab_to("input[id^=in-end_play]")
    blades = bench.page.locator("#g-run-out_as_found tbody tr").count()
    stations = bench.page.locator("#g-run-out_as_found tbody tr").first.locator("input").count()
    typed(bench, "0.02 mm", "0.01 mm", "0.01 mm", "", "2 N")  # end play, radial play twice, no preload, drag
    typed(bench, *[""] * 9)  # drag at a side, run-down, and what would be read after work on the bearings
    typed(bench, f"{new - 2.4:.1f} mm", f"{new - 2.3:.1f} mm", f"{new - 2.2:.1f} mm")  # diameters
    typed(bench, "0.10 0.15 mm", "0.05 0.10", "nogo 0.03 mm")  # rest gaps
    assert bench.focused() == "in-run-out-f-1-l"
    typed(bench, *(f"{0.01 * ((i * 7) % 5):.2f} mm" for i in range(blades * stations)))
    assert bench.focused() == "in-land-f-l"
    typed(bench, "1.2 mm", "1.2 mm", "1.3 mm")
    typed(bench, "0", "0.01 mm", "0", "0.01 mm", "", "")  # bare shaft; no frame readings
    assert bench.focused() == "in-lip_height-f"
    typed(bench, "4.2 mm", "5.1 mm", "0", "0.01 mm", "0")
    bench.saved()
    return int(blades)


def plan_and_grind(bench: Any) -> None:
    page, press = bench.page, bench.page.keyboard.press
    page.wait_for_selector("#pass-1", state="attached")
    bench.tab_to("#w-allowance")
    before = page.locator("#what-if-figures").inner_text()
    press("ArrowRight")
    press("ArrowRight")
    page.locator("#what-if-figures td b").first.wait_for()
    assert page.locator("#what-if-figures").inner_text() != before
    bench.tab_to("#what-if button")
    press("Enter")
    page.wait_for_selector("#what-if")
    bench.tab_to("[data-pass='1']")
    passes = page.locator(".pass").count()
    for number in range(1, passes + 1):
        page.wait_for_selector(f"#tick-{number}:focus")
        pause(0.45)  # a second tap at once is a glove that bounces
        press("Space")
    bench.saved()
    assert f"{passes} passes done" in page.locator(".rail").inner_text()


def check_and_set(bench: Any, new: float) -> None:
    bench.tab_to("#in-diameter-l-l")
    typed(bench, *[f"{new - 2.9:.1f} mm"] * 3)
    bench.tab_to("#in-gap-l-l")
    typed(bench, "0.02 0.04 mm", "0.02 0.04 mm", "0.02 0.04 mm")
    assert bench.focused() == "in-height_of_cut-l-l"
    typed(bench, "4.0 mm", "4.0 mm")
    bench.saved()


def prove_and_sign(bench: Any) -> None:
    press = bench.page.keyboard.press
    bench.tab_to("#paper-as_left button[data-is='-']")
    press("Space")
    bench.tab_to("[data-all-clean=paper-as_left]")
    press("Enter")
    bench.saved()
    bench.tab_to("#sign-statement")
    typed(bench, "ground, set, proved on paper")  # Enter in the last field signs
    bench.page.wait_for_selector("text=Signed and closed")


def test_by_touch(sit_down: Any, open_visit: Any) -> None:
    bench = sit_down(viewport={"width": 820, "height": 1180}, has_touch=True, is_mobile=True)
    page = bench.page
    open_visit(bench)
    blades = page.locator("#paper-as_left tbody tr").count()
    page.tap("#in-diameter-f-l")
    page.wait_for_selector("#pad:not([hidden])")
    assert (
        page.get_attribute("#in-diameter-f-l", "inputmode") == "none"
    )  # no keyboard of the device's own over the page
    for line in ("125.0", "125.1"):
        for key in line:
            page.tap(f"#pad button[data-key='{key}']")
        page.tap("#pad button[data-key=enter]")
    assert bench.focused() == "in-diameter-f-r"
    for key in ("1", "2", "5", "back", "4", ".", "9", "mm", "enter"):
        page.tap(f"#pad button[data-key='{key}']")
    bench.saved()
    assert page.get_attribute("#told-diameter-f-r", "data-shown") == "124.9mm"
    page.evaluate("document.activeElement.blur()")
    page.wait_for_selector("#pad", state="hidden")
    page.tap(".unfold")
    cells = page.locator("#now .unrolled rect.cell")
    cells.nth(cells.count() - 1).tap()
    assert bench.focused() == f"in-run-out-f-{blades}-r"
    page.evaluate("document.activeElement.blur()")
    page.wait_for_selector("#pad", state="hidden")
    spot = page.locator("#paper-as_left tbody button").first
    for words in ("clean", "pinched", "uncut", "not tried", "clean"):
        spot.tap()
        assert spot.inner_text() == words
    page.tap("[data-all-clean=paper-as_left]")
    bench.saved()
    page.fill("#sign-statement", "set and proved on paper")
    page.locator("#sign form button").first.tap()
    page.wait_for_selector("text=Signed and closed")
