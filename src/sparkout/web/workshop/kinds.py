"""Every kind of thing in the workshop, in the order of its page."""

from __future__ import annotations

from sparkout.web.workshop.equipment import GAUGES, GRINDERS
from sparkout.web.workshop.parts import KNIFE_TYPES, KNIVES, REEL_TYPES, REELS
from sparkout.web.workshop.units import UNITS
from sparkout.web.workshop.where import MACHINES, PEOPLE, PLACES

ALL = (PLACES, MACHINES, UNITS, REELS, KNIVES, REEL_TYPES, KNIFE_TYPES, GAUGES, GRINDERS, PEOPLE)
KINDS = {kind.slug: kind for kind in ALL}


class KindConverter:
    """A kind's name in an address; any other name is no address at all."""

    regex = "|".join(sorted(KINDS, key=len, reverse=True))

    def to_python(self, value: str) -> str:
        """Return the name."""
        return value

    def to_url(self, value: str) -> str:
        """Return the name."""
        return value
