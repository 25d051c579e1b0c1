"""The visit page and one reading, against a bare Django page of the same server in the same run.

The bare page is one query and one small template behind the same middleware; the bare entry is one row written in one
transaction. All are asked in turn of one process, through Django's own client, on the demonstration workshop.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from bench.served import BARE, BARE_ENTRY, BARE_PAGE, WRITTEN, served
from bench.timing import Line, in_turn

BOX = "run-out-f-3-c"
PAGE, READING = "visit page, nothing written since", "one reading, until it is kept"
HASTY = "one reading, until it is kept, when the answer to the one before was not waited for"
OTHERS = "one reading, until it is kept, when somebody else wrote since the page was told"
AT_ONCE = "one reading, until state, verdicts and pictures are told, entered at once"
EMPTY = "the same, into an empty box"
PAUSED = "the same, worked out while somebody paused over it"
WHOLE, AFTER = "one reading, until the whole page is told anew", "visit page, first time after a reading"
TOLD = "visit page, first time after a reading whose answer was told"


class _Entering:
    """One value of the dial's grid typed over and over, as a page does it: with what it has, answered in parts."""

    def __init__(self, client: Any, visit: int) -> None:
        self.client, self.address, self.count = client, f"/visits/{visit}/", 0
        told = client.get(f"{self.address}answer/").content.decode()
        self.have = _digests(told)
        self.rest: Any = iter(())
        self.version = re.search(rf'id="told-{BOX}"[^>]*data-version="(\d+)"', told)[1]  # type: ignore[index]

    def _next(self) -> dict[str, str]:
        line = f"0.0{10 + (self.count + 1) % 80}"
        return {"box": BOX, "line": line, "unit": "mm", "key": str(uuid.uuid4()), "expected": self.version}

    def _post(self, address: str, sent: dict[str, str]) -> Any:
        """Send a form as the page does."""
        return self.client.post(f"{self.address}{address}", urlencode(sent), "application/x-www-form-urlencoded")

    def empty(self) -> None:
        """Take the value out, and forget what would be known of a reading that was there before."""
        from sparkout.core.reel.state import _posterior

        sent = {**self._next(), "line": "-", "have": ""}
        assert self._post("reading/", sent).getvalue()
        self.version = ""
        _posterior.cache_clear()

    def pause(self) -> None:
        """Have the next value worked out before it is sent."""
        self._post("ahead/", self._next())

    def send(self) -> Any:
        """Send another value; returns once it is kept."""
        have = " ".join(f"{i}:{d}" for i, d in self.have.items())
        answer = self._post("reading/", {**self._next(), "have": have})
        self.count += 1
        assert answer["Outcome"] == "done", answer["Outcome"]
        self.version = answer["Version"]
        return answer

    def first(self) -> None:
        """Send another value and take the first part of what changed; the rest comes when the clock stands."""
        parts = iter(self.send().streaming_content)
        told = next(parts) + next(parts)
        self.rest = parts
        self.have.update(_digests(told.decode()))

    def ready(self) -> None:
        """Take the rest of the answer before."""
        for told in self.rest:
            self.have.update(_digests(told.decode()))

    def whole(self) -> None:
        """Send another value and take the whole answer."""
        told = self.send().getvalue().decode()
        self.have.update(_digests(told))


def _digests(told: str) -> dict[str, str]:
    """What a page has by now, as it says so itself."""
    return dict(re.findall(r'id="([\w-]+)" data-digest="(\w+)"', told))


def lines(rounds: int) -> list[Line]:
    """Time page and reading beside the bare page and the bare entry."""
    with served() as client:
        from sparkout.records.models import Visit

        visit = Visit.objects.filter(state="open").order_by("pk")[0].pk
        entering = _Entering(client, visit)

        def get(address: str) -> Callable[[], None]:
            def asked() -> None:
                assert client.get(address).status_code == 200

            return asked

        def fresh() -> None:
            client.get(entering.address)

        timed = in_turn(
            {
                BARE: get(BARE_PAGE),
                WRITTEN: lambda: client.post(BARE_ENTRY) and None,
                OTHERS: lambda: entering.send().close(),
                HASTY: lambda: entering.send().close(),
                AFTER: fresh,
                PAGE: get(entering.address),
                READING: lambda: entering.send().close(),
                WHOLE: entering.whole,
                TOLD: fresh,
                AT_ONCE: entering.first,
                "its rest": entering.ready,
                "its place emptied": entering.empty,
                EMPTY: entering.first,
                "the rest": entering.ready,
                "a pause": entering.pause,
                PAUSED: entering.first,
                "the rest of that": entering.ready,
            },
            rounds,
        )
    return [
        Line(BARE, timed[BARE], timed[BARE]),
        Line(PAGE, timed[PAGE], timed[BARE], 8.0),
        Line(TOLD, timed[TOLD], timed[BARE]),
        Line(AFTER, timed[AFTER], timed[BARE]),
        Line(READING, timed[READING], timed[BARE], 5.0),
        Line(HASTY, timed[HASTY], timed[BARE], 5.0),
        Line(OTHERS, timed[OTHERS], timed[BARE]),
        Line(WRITTEN, timed[WRITTEN], timed[WRITTEN]),
        Line(f"{READING}: beside the bare entry", timed[READING], timed[WRITTEN]),
        Line(AT_ONCE, timed[AT_ONCE], timed[WRITTEN]),
        Line(EMPTY, timed[EMPTY], timed[WRITTEN]),
        Line(PAUSED, timed[PAUSED], timed[WRITTEN]),
        Line(WHOLE, timed[WHOLE], timed[WRITTEN]),
    ]


if __name__ == "__main__":
    from bench.timing import table

    print(table(lines(11)))
