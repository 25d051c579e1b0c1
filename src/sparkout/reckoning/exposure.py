"""What a day of grinding comes to for the person: vibration, noise, and each region's values beside them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sparkout.core.care.noise import daily_noise, noise_dose
from sparkout.core.care.values import CHECK, ExposureValue, exposure_values
from sparkout.core.care.vibration import daily_vibration, hours_to_vibration

VIBRATION, NOISE = "hand-arm vibration", "noise"
_FIVE_DB = "5 dB exchange"


@dataclass(frozen=True, slots=True)
class Task:
    """One task of a day: hours, m/s² at the hand, dB(A) at the ear; None where nobody said."""

    name: str
    hours: float
    vibration: float | None = None
    level: float | None = None


@dataclass(frozen=True, slots=True)
class Beside:
    """A region's value and what of it the day came to; `share` 1 is the value itself, on its own scale."""

    value: ExposureValue
    came_to: float
    """In the value's unit."""

    @property
    def reached(self) -> bool:
        """Whether the day reached it."""
        return self.came_to >= self.value.value


@dataclass(frozen=True, slots=True)
class ExposureDay:
    """What the day came to; None where no task said so."""

    vibration: float | None
    """A(8), m/s²"""
    noise: float | None
    """LEX,8h, dB(A)"""
    noise_5db: float | None
    """Level over 8 h by the 5 dB exchange, dB(A)"""
    values: tuple[Beside, ...]
    untold: tuple[str, ...]
    """Tasks that say nothing of vibration or of noise, so that the day is more than it shows."""
    to_action: tuple[tuple[str, float], ...]
    """Task and the hours at which it alone brings the day to the lowest vibration value."""


def day_of(tasks: Iterable[Task]) -> ExposureDay:
    """Return what a day comes to.

    Equation: A(8) and LEX,8h by `core.care`; a US level is the steady one over 8 h with the same dose at 5 dB exchange.

    Raises
    ------
    OutOfRange
        Naming the argument, as for more than 24 hours together.

    Examples
    --------
    >>> day = day_of([Task("spin grind", 3.1, 4.0, 90.0), Task("bench", 4.9, None, 75.0)])
    >>> round(day.vibration, 2), [beside.value.name for beside in day.values if beside.reached]
    (2.49, ['lower action value', 'upper action value'])
    """
    given = list(tasks)
    shaken = [(t.vibration, t.hours) for t in given if t.vibration is not None and t.hours > 0.0]
    heard = [(t.level, t.hours) for t in given if t.level is not None and t.hours > 0.0]
    vibration = daily_vibration(*map(list, zip(*shaken, strict=True))) if shaken else None
    levels, hours = ([level for level, _ in heard], [h for _, h in heard])
    noise = daily_noise(levels, hours) if heard else None
    by_five = _level_5db(levels, hours) if heard else None
    came = {VIBRATION: vibration, NOISE: noise}
    beside = []
    for value in exposure_values():
        to = by_five if value.of == NOISE and _FIVE_DB in value.over else came.get(value.of)
        if to is not None:
            beside.append(Beside(value, to))
    lowest = min((v.value for v in exposure_values() if v.of == VIBRATION), default=None)
    alone = [(t.name, hours_to_vibration(t.vibration, lowest)) for t in given if t.vibration and lowest]
    untold = tuple(t.name for t in given if t.vibration is None or t.level is None)
    return ExposureDay(vibration, noise, by_five, tuple(beside), untold, tuple(alone))


def _level_5db(levels: list[float], hours: list[float]) -> float | None:
    from sparkout.core.care.noise import level_of_dose

    dose = noise_dose(levels, hours)
    return level_of_dose(dose) if dose > 1e-6 else None


def day_data(day: ExposureDay) -> dict[str, Any]:
    """Return it as data; nothing rounded."""
    return {
        "vibration_a8": day.vibration,
        "noise_level_8h": day.noise,
        "noise_level_8h_5db": day.noise_5db,
        "values": [
            {
                "region": b.value.region, "of": b.value.of, "name": b.value.name, "value": b.value.value,
                "unit": b.value.unit, "over": b.value.over, "came_to": b.came_to, "reached": b.reached,
                "source": b.value.source, "seen": b.value.seen,
            }
            for b in day.values
        ],
        "untold": list(day.untold),
        "hours_to_lowest_vibration_value": [{"task": name, "hours": hours} for name, hours in day.to_action],
        "check": CHECK,
    }  # fmt: skip
