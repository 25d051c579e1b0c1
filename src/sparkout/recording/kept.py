"""What a recording told, as kept beside it and sent to programs: plain data there and back, the curve thinned."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, cast

import numpy as np

from sparkout.core.bearing.geometry import Bearing
from sparkout.core.bearing.running_down import RunningDown
from sparkout.core.bearing.spectrum import Fault, FaultLine
from sparkout.core.phrase import frozen, thawed
from sparkout.recording.hearing import Listened

COLUMNS = 400
"""The curve is kept as the highest ordinate of each so many equal stretches: more than a picture shows."""
_HIGHEST_LINES = 3.3
"""The curve is kept up to so many times the highest defect frequency."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a recording shows of a bearing: defect lines, the band of ringing listened to, and the thinned curve."""

    bearing: Bearing
    lines: tuple[FaultLine, ...]
    band: tuple[float, float]
    frequencies: tuple[float, ...]
    heights: tuple[float, ...]
    """Times the background of noise."""
    cannot: tuple[str, ...]

    @property
    def fault(self) -> FaultLine | None:
        """The surest line named; None: none shown."""
        return min((line for line in self.lines if line.named), key=lambda line: line.by_chance, default=None)


@dataclass(frozen=True, slots=True)
class RunDown:
    """How a reel heard slows down by itself."""

    first_speed: float
    """1/min when it began to slow."""
    last_speed: float
    """1/min when last heard."""
    seconds: float
    """From the one to the other."""
    slowing: float
    """rad/s²"""
    slowing_u: float
    by_speed: float
    """1/s: what is added for each rad/s."""
    stop: float
    """s from the first speed until it stands, by the fit."""
    freely: bool = True
    """Whether drag alone describes it; else a drive held or braked it for part of the way."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """A recording listened to: what was asked of it, and what it told."""

    seconds: float
    rate: float
    coding: str
    blades: int
    speed: float
    """1/min used"""
    speed_given: bool
    """Whether somebody gave it; else by blade-pass."""
    by_blades: float | None
    """1/min by blade-pass; None: it could not be told."""
    by_blades_u: float | None
    by_blades_sure: bool
    others: Mapping[str, float]
    """Hz of other turning things, as typed."""
    bearing: Shown | None
    notes: tuple[str, ...]
    run_down: RunDown | None = None

    def as_data(self) -> dict[str, Any]:
        """Return it as plain data: numbers in Hz, 1/min, s, mm, rad; texts with their parts, so that they translate."""
        made = asdict(self)
        made["others"] = dict(self.others)
        made["notes"] = [frozen(note) for note in self.notes]
        if self.bearing is not None:
            told = made["bearing"]
            told["fault"] = None if self.bearing.fault is None else self.bearing.fault.fault
            told["cannot"] = [frozen(text) for text in self.bearing.cannot]
            for row, line in zip(told["lines"], self.bearing.lines, strict=True):
                row["hidden_by"] = frozen(line.hidden_by)
        return made


def hearing(
    told: Listened, blades: int, bearing: Bearing | None, others: Mapping[str, float], *, given: bool
) -> Hearing:
    """Return what is kept of a recording listened to; `given` when somebody gave the speed."""
    by = told.by_blades
    found = None
    if told.bearing is not None and bearing is not None:
        heard = told.bearing
        highest = _HIGHEST_LINES * max(line.expected for line in heard.lines)
        count = int(np.searchsorted(heard.frequencies, highest))
        width = max(1, math.ceil(count / COLUMNS))
        starts = np.arange(0, max(count, 1), width)
        tops = np.maximum.reduceat(heard.envelope[: max(count, 1)], starts)
        middles = heard.frequencies[np.minimum(starts + width // 2, heard.frequencies.size - 1)]
        curve = tuple(float(f) for f in middles), tuple(float(f"{h:.4g}") for h in tops)
        found = Shown(bearing, heard.lines, heard.band, *curve, heard.cannot)
    return Hearing(
        told.sound.seconds, told.sound.rate, told.sound.coding, blades, told.speed, given,
        None if by is None else by.speed, None if by is None else by.u, by is not None and by.sure,
        dict(others), found, told.notes, None if told.run_down is None else _run_down(told.run_down),
    )  # fmt: skip


def _run_down(heard: RunningDown) -> RunDown:
    return RunDown(
        heard.first_speed.value * 30.0 / math.pi, float(heard.speeds[-1]), float(heard.times[-1]),
        heard.slowing.value, heard.slowing.u, heard.by_speed, heard.stop, heard.freely,
    )  # fmt: skip


def hearing_from_data(data: Mapping[str, Any]) -> Hearing:
    """Return what was kept, from its data."""
    kept = dict(data)
    kept["notes"] = tuple(map(thawed, kept["notes"]))
    if kept.get("run_down") is not None:
        kept["run_down"] = RunDown(**kept["run_down"])
    if (shown := kept["bearing"]) is not None:
        lines = tuple(
            FaultLine(
                cast("Fault", row["fault"]), row["expected"], row["found"], row["by_chance"], row["named"],
                thawed(row["hidden_by"]),
            )
            for row in shown["lines"]
        )  # fmt: skip
        low, high = shown["band"]
        kept["bearing"] = Shown(
            Bearing(**shown["bearing"]), lines, (low, high), tuple(shown["frequencies"]), tuple(shown["heights"]),
            tuple(map(thawed, shown["cannot"])),
        )  # fmt: skip
    return Hearing(**kept)
