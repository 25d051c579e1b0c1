"""What was read, done, proved and signed: the tables of a visit file that grow during the job."""

import datetime
from typing import Annotated, Any, Literal, get_args

from sparkout.core.phrase import phrase
from sparkout.visit.asked import Asked, Cell, Depends, Many, Quantity, UnitFor, a_length, an_angle, wrong
from sparkout.visit.entered import Entered, Place
from sparkout.visit.problems import shown
from sparkout.visit.quantities import BEARING, QUANTITIES, READINGS
from sparkout.visit.sections import Section
from sparkout.visit.words import Clock, Day, Switch, Text, Where, Whole, Word

When = Literal["as found", "as left"]
Roller = Literal["front", "rear"]
Step = Literal[
    "take in",
    "look over",
    "bearings",
    "measure reel",
    "measure knife",
    "set up grinder",
    "spin grind",
    "relief grind",
    "knife grind",
    "deburr",
    "wheel mounting",
    "set",
    "prove",
    "other",
]
Direction = Literal["square to the knife", "along the knife"]
SWEPT = tuple(name for name in READINGS if "which" not in QUANTITIES[name].needs and not name.startswith("run-down"))
"""What is read at many places on one set-up; a reel runs down as a whole."""

_temperature = Quantity("temperature of the part", "18 °C", "temperature", -30, 60, "°C")


class Reading(Section):
    """One reading. A feeler gauge gives two leaves in place of one value."""

    of: Annotated[str, Word("what was read", "diameter", READINGS)]
    gauge: Annotated[str | None, Text("id of the gauge", "tape 1", 60, 1)] = None
    at: Annotated[Place | None, Where("where along the reel", "left")] = None
    blade: Annotated[int | None, Whole("number of the blade, the marked one being 1", "", 1, 40)] = None
    angle: Annotated[
        Entered | None, an_angle(-360, 360, "angle round the shaft from the marked blade at that station", "")
    ] = None
    which: Annotated[Roller | None, Word("which roller", "", get_args(Roller))] = None
    value: Annotated[Entered | None, Depends("what the gauge showed", "125.4 mm", "of")] = None
    goes: Annotated[Entered | None, Depends("thickest leaf that goes", "", "of")] = None
    does_not_go: Annotated[Entered | None, Depends("thinnest leaf that does not go", "", "of")] = None
    set_up: Annotated[str | None, Text("letter or name; readings of one set-up share one zero", "A", longest=60)] = None
    temperature: Annotated[Entered | None, _temperature] = None
    when: Annotated[When, Word("before or after the work; as found when not given", "as found", get_args(When))] = (
        "as found"
    )
    time: Annotated[datetime.time | None, Clock("time of day", "09:40")] = None
    by: Annotated[str | None, Text("who read it", "initials", longest=100)] = None
    note: Annotated[str | None, Text("anything worth keeping", "edge chipped here", longest=500)] = None


class Sweep(Section):
    """Many readings of one kind, as a grid: a row per blade (or shaft angle), a column per station."""

    of: Annotated[str, Word("what was read", "run-out", SWEPT)]
    gauge: Annotated[str | None, Text("id of the gauge", "dial 1", 60, 1)] = None
    at: Annotated[
        tuple[Annotated[Place, Where("a station")], ...],
        Many("stations, one per column", ("left", "centre", "right")),
    ]
    blades: Annotated[
        tuple[Annotated[int, Whole("number of a blade", "", 1, 40)], ...] | None,
        Many("blade numbers, one per row; 1, 2, 3 and so on when not given", (1, 2)),
    ] = None
    angles: Annotated[
        tuple[Annotated[Entered, an_angle(-360, 360, "an angle", "")], ...] | None,
        Many("for the shaft: angles from the marked blade, one per row"),
    ] = None
    set_up: Annotated[
        str | None, Text("letter or name of the set-up; a sweep without one is a set-up of its own", "A", longest=60)
    ] = None
    unit: Annotated[str | None, UnitFor("unit of the values that carry none", "mm")] = None
    values: Annotated[
        tuple[tuple[Annotated[Entered | None, Cell("a value", "", "of")], ...], ...],
        Many("the rows; '-' where nothing was read", ((0, 0.01, 0.02), (0.01, "-", 0.03))),
    ]
    temperature: Annotated[Entered | None, _temperature] = None
    when: Annotated[When, Word("before or after the work; as found when not given", "as found", get_args(When))] = (
        "as found"
    )
    time: Annotated[datetime.time | None, Clock("time of day", "10:15")] = None
    by: Annotated[str | None, Text("who read it", "initials", longest=100)] = None
    note: Annotated[str | None, Text("anything worth keeping", "", longest=500)] = None

    def readings(self, name: str) -> list[tuple[tuple[int, int], Reading]]:
        """Return each value as a reading, with its row and column; `name` is the set-up when none is given."""
        shared: dict[str, Any] = {
            key: getattr(self, key) for key in ("of", "gauge", "temperature", "when", "time", "by", "note")
        }
        found = []
        for row, values in enumerate(self.values):
            turned = self._turned(row)
            for column, value in enumerate(values[: len(self.at)]):
                if value is not None:
                    own = Entered(value, f"{value.text} {self.unit}") if self.unit and not value.unit else value
                    reading = Reading.model_construct(
                        **shared, **turned, at=self.at[column], value=own, set_up=self.set_up or name
                    )
                    found.append(((row, column), reading))
        return found

    def _turned(self, row: int) -> dict[str, Any]:
        rows = QUANTITIES[self.of].rows
        if rows == "angle":
            return {"angle": self.angles[row]} if self.angles and row < len(self.angles) else {}
        if self.blades is not None:
            return {"blade": self.blades[row]} if row < len(self.blades) else {}
        return {"blade": row + 1} if rows == "blade" else {}


class Earlier(Section):
    """A reading of the bearings from an earlier visit of this reel in this unit, to hold today's against.

    Its diameter then stands beside a pull, which went round it.
    """

    of: Annotated[str, Word("what was read", "end play", (*BEARING, "diameter"))]
    at: Annotated[Place | None, Where("where along the reel", "left")] = None
    value: Annotated[Entered, Depends("what was read", "0.03 mm", "of")]
    gauge: Annotated[str | None, Text("id of the gauge", "dial 1", 60, 1)] = None
    on: Annotated[datetime.date | None, Day("day of that visit", "2026-03-02")] = None
    when: Annotated[When, Word("before or after the work; as found when not given", "as left", get_args(When))] = (
        "as found"
    )
    fresh: Annotated[bool | None, Switch("true when read after work on the bearings", False)] = None


class WorkEntry(Section):
    """A step of work as it was done."""

    step: Annotated[Step, Word("which step", "spin grind", get_args(Step))]
    what: Annotated[str | None, Text("what was done", "ground true", longest=500)] = None
    infeeds: Annotated[
        tuple[Annotated[Entered, a_length(0, 2, "an infeed", "")], ...] | None,
        Many("infeed of each pass as dialled, on the radius; 0 for spark-out", ("0.02 mm", "0.02 mm", 0)),
    ] = None
    wheel_diameter_before: Annotated[Entered | None, a_length(20, 600, "wheel before", "150.0 mm")] = None
    wheel_diameter_after: Annotated[Entered | None, a_length(20, 600, "wheel after", "149.8 mm")] = None
    took: Annotated[Entered | None, Quantity("time it took", "25 min", "time", 0, 1000, "h")] = None
    by: Annotated[str | None, Text("who did it", "initials", longest=100)] = None
    at: Annotated[datetime.time | None, Clock("time of day", "11:20")] = None
    note: Annotated[str | None, Text("anything worth keeping", "", longest=500)] = None


PAPER_LETTERS = {"c": "clean", "p": "pinched", "u": "uncut", "-": ""}


class Row(Asked):
    """Outcomes of one blade over the stations."""

    def read(self, given: Any) -> str:
        """Return the row in small letters, without spaces."""
        row = given.replace(" ", "").lower() if isinstance(given, str) else ""
        if not 0 < len(row) <= 100 or set(row) - set(PAPER_LETTERS):
            raise wrong(phrase("{given} is no row of outcomes", given=shown(given)), value=given, allowed=self.allowed)
        return row

    @property
    def kind_words(self) -> str:
        """A text of letters."""
        return "a text"

    @property
    def allowed(self) -> str:
        """The letters."""
        return "c clean, p pinched, u uncut, - not tried"

    def as_json_schema(self) -> dict[str, Any]:
        """A string of the letters."""
        return {"type": "string", "pattern": "^[cpuCPU -]+$"}


class PaperProof(Section):
    """A paper proof: what the knife and each blade did to a strip of paper, station by station."""

    stations: Annotated[
        tuple[Annotated[Place, Where("a station")], ...],
        Many("where the strip was tried", ("left", "centre", "right")),
    ]
    rows: Annotated[
        tuple[Annotated[str, Row("outcomes of one blade")], ...],
        Many(
            "one row per blade from blade 1 on, one letter per station",
            ("ccc", "ccp"),
        ),
    ]
    thickness: Annotated[Entered | None, a_length(0.01, 0.5, "thickness of the paper", "0.1 mm")] = None
    direction: Annotated[
        Direction | None, Word("how the strip was held", "square to the knife", get_args(Direction))
    ] = None
    paper: Annotated[str | None, Text("what paper", "office paper, dry", longest=200)] = None
    when: Annotated[When, Word("before or after the work; as left when not given", "as left", get_args(When))] = (
        "as left"
    )
    time: Annotated[datetime.time | None, Clock("time of day", "15:30")] = None
    by: Annotated[str | None, Text("who tried it", "initials", longest=100)] = None
    note: Annotated[str | None, Text("anything worth keeping", "", longest=500)] = None

    @property
    def outcomes(self) -> tuple[tuple[str, ...], ...]:
        """The grid in words: clean, pinched, uncut, or empty where not tried."""
        return tuple(tuple(PAPER_LETTERS[letter] for letter in row) for row in self.rows)


class SignOff(Section):
    """Who answers for the unit, and when."""

    name: Annotated[str | None, Text("who signs", "name", longest=100)] = None
    date: Annotated[datetime.date | None, Day("when", "2026-11-26")] = None
    statement: Annotated[str | None, Text("what is stated", "set, proved on paper and checked for height", 500)] = None
