"""The steps of the work as the rail shows them: what is done, what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.reckoning.answer import Untold

if TYPE_CHECKING:
    from sparkout.web.visit.bench import Bench

TITLES = {
    "take in": "Take in",
    "look over": "Look over",
    "bearings": "Bearings",
    "measure reel": "Measure reel",
    "measure knife": "Measure knife",
    "decide": "Decide",
    "grind": "Grind",
    "check": "Check",
    "set": "Set",
    "prove": "Prove",
    "sign": "Sign",
}
"""The order of the work."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step on the rail."""

    name: str
    title: str
    standing: str
    missing: tuple[str, ...] = ()

    @property
    def slug(self) -> str:
        """Its anchor on the page."""
        return self.name.replace(" ", "-")


def steps(bench: Bench) -> tuple[Step, ...]:
    """Return every step with how it stands."""
    return tuple(_step(bench, name, title) for name, title in TITLES.items())


def _step(bench: Bench, name: str, title: str) -> Step:
    own = [group for group in bench.groups if group.step == name and group.all_boxes]
    if own:
        empty = tuple(
            group.title for group in own if group.needed and not any(b.key in bench.filed for b in group.all_boxes)
        )
        boxes = [box for group in own for box in group.all_boxes]
        read = sum(box.key in bench.filed for box in boxes)
        standing = f"{read} read" if read else "nothing read"
        return Step(name, title, f"{standing}, {len(empty)} to do" if empty else standing, empty)
    return Step(name, title, _standing(bench, name))


def _standing(bench: Bench, name: str) -> str:
    file, answer = bench.file, bench.answer
    if name == "look over":
        return "done" if any(work.step == "look over" for work in file.work) else "to do"
    if name == "decide":
        return "no answer" if answer is None else "readings wanted" if isinstance(answer.spin, Untold) else "answered"
    if name == "grind":
        passes = sum(len(work.infeeds or ()) for work in file.work if work.step == "spin grind")
        return f"{passes} passes done" if passes else "to do"
    if name == "prove":
        return "done" if any(proof.when == "as left" for proof in file.paper) else "to do"
    if name == "sign":
        return bench.visit.state
    return "taken in"
