"""The steps of the work as the rail shows them: what is done, what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.phrase import counted, phrase
from sparkout.reckoning.answer import Untold

if TYPE_CHECKING:
    from sparkout.web.visit.bench import Bench

TITLES = {
    "take in": phrase("Take in"),
    "look over": phrase("Look over"),
    "bearings": phrase("Bearings"),
    "measure reel": phrase("Measure reel"),
    "measure knife": phrase("Measure knife"),
    "decide": phrase("Decide"),
    "grind": phrase("Grind"),
    "check": phrase("Check"),
    "set": phrase("Set"),
    "prove": phrase("Prove"),
    "sign": phrase("Sign"),
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
        standing = phrase("{count} read", count=read) if read else phrase("nothing read")
        return Step(
            name,
            title,
            phrase("{standing}, {left} to do", standing=standing, left=len(empty)) if empty else standing,
            empty,
        )
    return Step(name, title, _standing(bench, name))


def _standing(bench: Bench, name: str) -> str:
    file, found = bench.file, bench.found
    if name == "look over":
        return phrase("done") if any(work.step == "look over" for work in file.work) else phrase("to do")
    if name == "decide":
        return (
            phrase("no answer")
            if found is None
            else phrase("readings wanted")
            if isinstance(found.spin, Untold)
            else phrase("answered")
        )
    if name == "grind":
        passes = sum(len(work.infeeds or ()) for work in file.work if work.step == "spin grind")
        return counted(passes, "{n} pass done", "{n} passes done") if passes else phrase("to do")
    if name == "prove":
        return phrase("done") if any(proof.when == "as left" for proof in file.paper) else phrase("to do")
    if name == "sign":
        return bench.visit.state
    return phrase("taken in")
