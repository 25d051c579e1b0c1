"""Times and levels of noise that public authorities print.

Sources: 29 CFR 1910.95 appendix A, table G-16A, read in two stored copies of the authority's own pages (they differ at
83 dB: 21.1 and 21.2 h; the formula both print gives 21.11, so 21.1 is taken). Its table A-1 is from memory. National
Joint Council of Canada, directive on noise, table of times at 87 dBA over 8 h, read. UK Health and Safety Executive,
Sound Advice (HSG260) 1.20 and 1.21, as quoted on a public page; its weekly ready-reckoner, 2020, read in a copy.
ISO 9612:2009 annex D (welder's day), as quoted by a public implementation's report. NIOSH 98-126 table 1-1: from
memory. Tolerance: half the last printed digit; where a source rounds times to handy ones the note says so.
"""

import math

from tests.published.evidence import evidence_table
from tests.published.printed import printed

from sparkout.core.care.noise import daily_noise, level_of_dose, noise_dose

SEEN = "as quoted elsewhere"

FROM_80 = "32 27.9 24.3 21.1 18.4 16 13.9 12.1 10.6 9.2 8 7.0 6.1 5.3 4.6 4 3.5 3.0 2.6 2.3 2 1.7 1.5 1.3 1.1 1 0.87 "
FROM_107 = "0.76 0.66 0.57 0.5 0.44 0.38 0.33 0.29 0.25 0.22 0.19 0.16 0.14 0.125 0.11 0.095 0.082 0.072 0.063 "
FROM_126 = "0.054 0.047 0.041 0.036 0.031"
DURATIONS = dict(enumerate((FROM_80 + FROM_107 + FROM_126).split(), start=80))


@evidence_table(
    "29 CFR 1910.95 appendix A, table G-16A",
    {f"{level} dB: reference duration, h": printed(hours) for level, hours in DURATIONS.items()},
    note="read in the authority's own pages",
)
def test_reference_durations() -> dict[str, float]:
    """An hour at a level is 1/T of the whole dose."""
    return {f"{level} dB: reference duration, h": 100.0 / noise_dose([level], [1.0]) for level in DURATIONS}


PER_CENT = {10: "73.4", 25: "80.0", 50: "85.0", 75: "87.9", 100: "90.0", 150: "92.9", 200: "95.0", 400: "100.0"}


@evidence_table(
    "29 CFR 1910.95 appendix A, table A-1",
    {f"dose {dose} %: level over 8 h, dB": printed(level) for dose, level in PER_CENT.items()},
    note="from memory; the formula beside it, 16.61 lg(D/100) + 90, was read",
)
def test_levels_of_doses() -> dict[str, float]:
    return {f"dose {dose} %: level over 8 h, dB": level_of_dose(dose) for dose in PER_CENT}


CANADA = {83: "20", 84: "16", 85: "13", 86: "10", 87: "8.0", 88: "6.4", 89: "5.0", 90: "4.0", 91: "3.2", 92: "2.5"}
CANADA |= {93: "2.0", 94: "1.6", 95: "1.3", 96: "1.0", 97: "0.80", 98: "0.64", 99: "0.50", 100: "0.40", 101: "0.32"}


@evidence_table(
    "National Joint Council of Canada, noise, longest times at 87 dBA over 8 h",
    {f"{level} dBA: longest time, h": printed(hours) for level, hours in CANADA.items()},
    note="read; 98 dBA tells equal energy (0.64) from exactly 3 dB (0.63)",
)
def test_times_by_equal_energy() -> dict[str, float]:
    return {f"{level} dBA: longest time, h": 10.0 ** ((87.0 - daily_noise([level], [1.0])) / 10.0) for level in CANADA}


EQUAL = {"80 dB 8 h": (80.0, 8.0), "83 dB 4 h": (83.0, 4.0), "86 dB 2 h": (86.0, 2.0), "89 dB 1 h": (89.0, 1.0)}
EQUAL |= {"92 dB 30 min": (92.0, 0.5)}
UPPER = {"85 dB 8 h": (85.0, 8.0), "95 dB 45 min": (95.0, 0.75), "100 dB 15 min": (100.0, 0.25)}
UPPER |= {"105 dB 5 min": (105.0, 5.0 / 60.0)}


@evidence_table(
    "UK Health and Safety Executive, Sound Advice 1.20",
    {f"{day}: daily exposure, dB": (80.0, 0.05) for day in EQUAL},
    note="said to be the same exposure",
)
def test_the_same_exposure() -> dict[str, float]:
    return {f"{day}: daily exposure, dB": daily_noise([level], [hours]) for day, (level, hours) in EQUAL.items()}


@evidence_table(
    "UK Health and Safety Executive, Sound Advice 1.21",
    {f"{day}: daily exposure, dB": (85.0, 0.5) for day in UPPER},
    note="times to the upper action value, rounded by the source to handy ones: held to a whole decibel",
)
def test_times_to_the_upper_action_value() -> dict[str, float]:
    return {f"{day}: daily exposure, dB": daily_noise([level], [hours]) for day, (level, hours) in UPPER.items()}


POINTS = {78: 20, 79: 26, 80: 32, 81: 40, 82: 50, 83: 65, 84: 80, 85: 100, 86: 125, 87: 160, 88: 200, 89: 250}
POINTS |= {90: 315, 91: 400, 92: 500, 93: 630, 94: 790, 95: 1000}


@evidence_table(
    "UK Health and Safety Executive, weekly noise ready-reckoner",
    {f"{level} dB: points of the day, in dB over 85": (10 * math.log10(points / 100), 0.15)
     for level, points in POINTS.items()},
    note="the source rounds its points to two or three figures: held to 0.15 dB",
)  # fmt: skip
def test_points_of_a_day() -> dict[str, float]:
    """A day's energy against that of 85 dB over 8 h."""
    return {
        f"{level} dB: points of the day, in dB over 85": daily_noise([level], [8.0]) - daily_noise([85.0], [8.0])
        for level in POINTS
    }


WELDER = {"planning and breaks": (70.0, 1.5), "welding": (80.8, 5.0), "cutting and grinding": (90.1, 1.5)}


@evidence_table(
    "ISO 9612:2009 annex D, a welder's day",
    {
        "planning and breaks: contribution, dB": (62.7, 0.1),
        "welding: contribution, dB": (78.7, 0.1),
        "cutting and grinding: contribution, dB": (82.8, 0.1),
        "three tasks together, dB": (84.3, 0.1),
    },
    note="as quoted; its levels are themselves rounded to 0.1 dB",
)
def test_a_day_of_three_tasks() -> dict[str, float]:
    alone = {f"{task}: contribution, dB": daily_noise([level], [hours]) for task, (level, hours) in WELDER.items()}
    levels, hours = zip(*WELDER.values(), strict=True)
    return alone | {"three tasks together, dB": daily_noise(levels, hours)}


RECOMMENDED = {82: 16 * 60, 85: 8 * 60, 86: 6 * 60 + 21, 87: 5 * 60 + 2, 88: 4 * 60, 90: 2 * 60 + 31, 91: 2 * 60}
RECOMMENDED |= {94: 60, 97: 30, 100: 15}


@evidence_table(
    "NIOSH 98-126, table 1-1",
    {f"{level} dBA: longest time, min": (float(minutes), 1.0) for level, minutes in RECOMMENDED.items()},
    note="from memory; whole minutes as the source cuts them",
)
def test_recommended_times() -> dict[str, float]:
    return {
        f"{level} dBA: longest time, min": 6000.0 / noise_dose([level], [1.0], criterion=85.0, exchange=3.0)
        for level in RECOMMENDED
    }
