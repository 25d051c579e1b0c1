"""The whole catalogue by name."""

from __future__ import annotations

from collections.abc import Mapping

from sparkout.catalogue import (
    bearings,
    bedknife,
    care,
    cut,
    drive,
    faults,
    grinding,
    growth,
    judging,
    matching,
    measuring,
    reel_lives,
    ribs,
    season,
    stance,
)
from sparkout.catalogue.entry import Answered, Entry, answer
from sparkout.core.errors import Refusal, did_you_mean

CATALOGUE: dict[str, Entry] = {
    entry.name: entry
    for room in (
        *(cut, drive, growth, ribs, measuring, grinding, bedknife, stance, matching),
        *(judging, bearings, care, season, reel_lives, faults),
    )
    for entry in room.ENTRIES
}


def calculate(name: str, inputs: Mapping[str, object]) -> Answered:
    """Answer the named calculation: the one operation behind every door.

    Raises
    ------
    Refusal
        When there is no such calculation (the nearest name is given) or the inputs do not do.

    Examples
    --------
    >>> calculate("cone-from-rest-gap", {"gap": "2 mm"}).results["cone_on_diameter"].value
    4.0
    """
    if name not in CATALOGUE:
        raise Refusal(f"there is no calculation named {name!r}; {did_you_mean(name, CATALOGUE)}")
    return answer(CATALOGUE[name], inputs)
