"""One demonstration visit while it is made: the file's tables beside the truth they were read from."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.visit.reading import read_visit
from sparkout.visit.writing import to_toml

if TYPE_CHECKING:
    from sparkout.core.practice.virtual_grind import TrueGrinder
    from sparkout.core.practice.virtual_unit import VirtualUnit
    from sparkout.demonstration.workshop import Table

SEED = 20261012

_COMMENT = """\
# DEMONSTRATION: everything in this file is invented - unit, workshop, people, figures, readings.
# Made by `python -m sparkout.demonstration.make` from seed {seed}, with gauges that err; do not edit, make it again.
# {about}

"""


@dataclass(frozen=True, slots=True)
class Scenario:
    """A visit file's tables, and what was really so: known to the script, not told in the file."""

    name: str
    about: str
    tables: Table
    as_found: VirtualUnit
    as_left: VirtualUnit | None = None
    grinder: TrueGrinder | None = None

    @property
    def text(self) -> str:
        """The visit file, opening comment included; checked by reading it."""
        visit = read_visit(json.dumps(self.tables))
        return _COMMENT.format(seed=SEED, about=self.about) + to_toml(visit)
