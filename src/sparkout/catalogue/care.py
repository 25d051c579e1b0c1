"""A day's vibration and noise."""

from __future__ import annotations

from collections.abc import Sequence

from sparkout.catalogue.entry import Input, Result, calculation

RULES = "Check local rules. Wear what the workshop's own assessment asks for."
TIMES = Input("hours", "list", "h", "hours of each task, in the same order", 0.0, 24.0)


@calculation(
    "vibration-day",
    "Hand-arm vibration of a day",
    inputs=(Input("magnitudes", "list", "m/s²", "vector sum at the hand of each task", 0.0, 100.0), TIMES),
    results=(
        Result("a8", "acceleration", "m/s²", "A(8): the day brought to 8 h"),
        Result("points", "number", "", "exposure points; 100 at 2.5 m/s², 400 at 5 m/s²"),
    ),
    equation="A(8) = √(Σ a² t / 8 h)",
    source="Directive 2002/44/EC and the UK regulations of 2005, as quoted by the UK authority",
    validity="magnitudes of this work; a maker's test figure may be half of what the hands get",
    example='magnitudes="4 2.5" hours="2 3"',
    caution=RULES,
)
def vibration_day(magnitudes: Sequence[float], hours: Sequence[float]) -> dict[str, float]:
    """Daily vibration."""
    from sparkout.core.care.vibration import daily_vibration

    a8 = daily_vibration(magnitudes, hours)
    return {"a8": a8 * 1e3, "points": 100.0 * (a8 / 2.5) ** 2}


@calculation(
    "noise-day",
    "Noise of a day",
    inputs=(Input("levels", "list", "dB(A)", "level at the ear in each task", 0.0, 150.0), TIMES),
    results=(
        Result("level_8h", "sound level", "dB(A)", "the day brought to 8 h, equal energy (3 dB)"),
        Result("dose_5db", "fraction", "%", "dose against 90 dB(A) for 8 h, halved every 5 dB"),
    ),
    equation="L = 10 lg(Σ t 10^(L/10) / 8 h)",
    source="Directive 2003/10/EC and 29 CFR 1910.95 appendix A (the first form from memory)",
    validity="levels at the ear, without what hearing protection takes off",
    example='levels="90 75" hours="2 6"',
    caution=RULES,
)
def noise_day(levels: Sequence[float], hours: Sequence[float]) -> dict[str, float]:
    """Daily noise."""
    from sparkout.core.care.noise import daily_noise, noise_dose

    return {"level_8h": daily_noise(levels, hours), "dose_5db": noise_dose(levels, hours) / 100.0}


ENTRIES = (vibration_day, noise_day)
