"""A real browser on a real server: `sparkout serve` as a process of its own, Debian's chromium driven by playwright."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass
class Server:
    """A bench served from a data folder; it can be killed and started again."""

    data: Path
    port: int = 0
    process: subprocess.Popen[str] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self, *more: str) -> "Server":
        command = [sys.executable, "-m", "sparkout", "serve", "--data", str(self.data), "--port", str(self.port), *more]
        source = str(Path(__file__).parents[2] / "src")
        self.process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**os.environ, "PYTHONPATH": source},
        )
        assert self.process.stdout is not None
        told = []
        for line in self.process.stdout:
            told.append(line)
            if found := re.search(r"http://127\.0\.0\.1:(\d+)/", line):
                self.port = int(found[1])
                return self
        raise AssertionError("the server did not start: " + "".join(told))

    def kill(self) -> None:
        """Kill it, as a power cut would."""
        self.stop(signal.SIGKILL)

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        assert self.process is not None
        assert self.process.stdout is not None
        self.process.send_signal(how)
        self.process.wait(20)
        self.process.stdout.close()


@pytest.fixture(scope="session")
def served_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the demonstration workshop, to copy from."""
    server = Server(tmp_path_factory.mktemp("demonstration")).start("--demo")
    server.stop()
    return server.data


@pytest.fixture
def server(served_once: Path, tmp_path: Path) -> Iterator[Server]:
    """The demonstration workshop, served."""
    data = tmp_path / "data"
    shutil.copytree(served_once, data)
    made = Server(data).start()
    yield made
    made.kill()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The browser; skipped with the reason where there is none, unless SPARKOUT_REQUIRE_BROWSER=1."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        why = "no chromium on this machine (Debian: apt-get install chromium)"
        if os.environ.get("SPARKOUT_REQUIRE_BROWSER") == "1":
            pytest.fail(why)
        pytest.skip(why)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@dataclass
class Bench:
    """A page with somebody in front of it; collects what must not happen."""

    page: Any
    address: str
    complaints: list[str] = field(default_factory=list)
    asked_for: list[str] = field(default_factory=list)

    def go(self, path: str) -> Any:
        self.page.goto(self.address + path)
        return self.page

    def saved(self) -> None:
        """Wait until everything entered has been sent and answered."""
        self.page.wait_for_selector("#link:not(.wait):not(.off)", timeout=15_000)

    def tab_to(self, selector: str, most: int = 600) -> None:
        """Reach something by the tabulator key alone."""
        for _ in range(most):
            if self.page.evaluate(
                "s => document.activeElement !== null && document.activeElement.matches(s)", selector
            ):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{selector} cannot be reached by keyboard")

    def until(self, wanted: Callable[[], bool], most: float = 10.0) -> None:
        """Wait for something of the page; what the page's own security policy keeps from being asked inside it."""
        end = time.monotonic() + most
        while not wanted():
            assert time.monotonic() < end, "it never came to that"
            self.page.wait_for_timeout(30)

    def focused(self) -> str:
        return str(self.page.evaluate("document.activeElement.id"))


@pytest.fixture
def sit_down(chromium: Any, server: Server) -> Iterator[Callable[..., Bench]]:
    """Open a page as one of the demonstration's people; at the end nothing may have gone wrong in it."""
    opened: list[tuple[Any, Bench]] = []

    def open_page(person: int = 0, context: Any = None, **how: Any) -> Bench:
        made = context or chromium.new_context(**{"viewport": {"width": 1440, "height": 900}, **how})
        page = made.new_page()
        bench = Bench(page, server.address)
        page.on("console", lambda m: bench.complaints.append(m.text) if m.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: bench.complaints.append(str(error)))
        page.on("request", lambda request: bench.asked_for.append(request.url))
        if context is None:
            bench.go("/who/?next=/")
            page.locator("button[name=person]").nth(person).click()
        opened.append((made, bench))
        return bench

    yield open_page
    for context, bench in opened:
        strangers = [u for u in bench.asked_for if not u.startswith((server.address, "data:", "blob:"))]
        assert not strangers, f"requests left the host: {strangers[:3]}"
        assert not bench.complaints, bench.complaints[:3]
        context.close()


@pytest.fixture
def open_visit(server: Server) -> Callable[[Bench], str]:
    """Open a visit of a unit that has none; returns its path."""

    def start(bench: Bench) -> str:
        bench.go("/?state=ready")
        bench.page.locator(".units h2 a").first.click()
        bench.page.fill("#o-complaint", "cuts higher on the right")
        bench.page.get_by_role("button", name="Start a visit").click()
        bench.page.wait_for_selector("[data-visit]")
        return str(bench.page.url.removeprefix(server.address))

    return start


def pause(seconds: float) -> None:
    """Give things time that must not happen the chance to happen."""
    time.sleep(seconds)
