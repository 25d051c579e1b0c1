"""Two people who change the same thing: what only one of them changed holds, what both changed is asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Clash:
    """An entry that two people changed: what stands on file now, and what is asked."""

    theirs: str
    mine: str


class Clashes(Refusal):
    """Somebody else changed the same entries meanwhile; a person decides which holds."""

    def __init__(self, clashes: Mapping[str, Clash]) -> None:
        self.clashes = dict(clashes)
        told = joined(
            "; ",
            (
                phrase(
                    "{name} now reads '{theirs}', you enter '{mine}'",
                    name=name,
                    theirs=AsTyped(c.theirs),
                    mine=AsTyped(c.mine),
                )
                for name, c in self.clashes.items()
            ),
        )
        super().__init__(phrase("changed meanwhile: {told}. Which holds?", told=told))


def agreed(current: Mapping[str, str], seen: Mapping[str, str], mine: Mapping[str, str]) -> dict[str, str]:
    """Return what every entry becomes: mine where I changed it, what is on file where I did not.

    `seen` is what I saw when I began. Ask this inside the transaction that writes.

    Raises
    ------
    Clashes
        For the entries that both changed, to different ends.

    Examples
    --------
    >>> agreed({"name": "a", "width": "20"}, {"name": "a", "width": "19"}, {"name": "b", "width": "19"})
    {'name': 'b', 'width': '20'}
    >>> agreed({"width": "20"}, {"width": "19"}, {"width": "18"})
    Traceback (most recent call last):
    ...
    sparkout.records.operations.meanwhile.Clashes: changed meanwhile: width now reads '20', you enter '18'. Which holds?
    """
    made, clashes = {}, {}
    for name, wanted in mine.items():
        stands, was = current.get(name, ""), seen.get(name, current.get(name, ""))
        if wanted == was:
            made[name] = stands
            continue
        made[name] = wanted
        if stands not in (was, wanted):
            clashes[name] = Clash(stands, wanted)
    if clashes:
        raise Clashes(clashes)
    return made
