"""Hand-arm vibration: what public authorities work out or print.

Sources: UK Health and Safety Executive, page of the vibration ready-reckoner, read: its illustration (5 m/s² for 3 h is
150 points), and the values its points are made from (100 points are 2.5 m/s² A(8), 400 are 5). The rows of the table
itself are from memory. European Commission, non-binding guide to Directive 2002/44/EC (2008), hand-arm part, worked
examples of one machine and of three: from memory; they agree with the formula only if remembered rightly.
Tolerance: half the last printed digit.
"""

from tests.published.evidence import evidence_table
from tests.published.printed import printed

from sparkout.core.care.vibration import daily_vibration, hours_to_vibration, vibration_points

SEEN = "in the source"

HSE = "UK Health and Safety Executive, vibration ready-reckoner"
GUIDE = "European Commission, guide to Directive 2002/44/EC, worked examples"


@evidence_table(
    HSE,
    {"5 m/s² for 3 h: points": printed("150"), "2.5 m/s² for 8 h: points": printed("100"),
     "5 m/s² for 8 h: points": printed("400")},
    note="read in the source",
)  # fmt: skip
def test_points_it_names() -> dict[str, float]:
    days = ((5.0, 3.0, "5"), (2.5, 8.0, "2.5"), (5.0, 8.0, "5"))
    return {f"{name} m/s² for {hours:g} h: points": vibration_points(a, hours) for a, hours, name in days}


ROWS = {3.0: ("5", "9", "18", "36", "54", "72"), 4.0: ("8", "16", "32", "64", "96", "128")}
ROWS |= {5.0: ("13", "25", "50", "100", "150", "200"), 10.0: ("50", "100", "200", "400", "600", "800")}
HOURS = (0.25, 0.5, 1.0, 2.0, 3.0, 4.0)


@evidence_table(
    HSE,
    {f"{a:g} m/s² for {hours:g} h: points, row": printed(points)
     for a, row in ROWS.items() for hours, points in zip(HOURS, row, strict=True)},
    note="rows from memory",
)  # fmt: skip
def test_rows_of_the_table() -> dict[str, float]:
    return {f"{a:g} m/s² for {hours:g} h: points, row": vibration_points(a, hours) for a in ROWS for hours in HOURS}


@evidence_table(
    GUIDE,
    {
        "4 m/s² for 4.5 h: A(8), m/s²": printed("3.0"),
        "4 m/s² for 2.5 h: A(8), m/s²": printed("2.2"),
        "3 m/s² for 1 h: A(8), m/s²": printed("1.1"),
        "20 m/s² for 0.25 h: A(8), m/s²": printed("3.5"),
        "the three machines together: A(8), m/s²": printed("4.3"),
    },
    note="from memory",
)
def test_days_of_one_and_of_three_machines() -> dict[str, float]:
    three = {4.0: 2.5, 3.0: 1.0, 20.0: 0.25}
    alone = {f"{a:g} m/s² for {hours:g} h: A(8), m/s²": daily_vibration([a], [hours]) for a, hours in three.items()}
    return {
        "4 m/s² for 4.5 h: A(8), m/s²": daily_vibration([4.0], [4.5]),
        **alone,
        "the three machines together: A(8), m/s²": daily_vibration(list(three), list(three.values())),
    }


@evidence_table(HSE, {"5 m/s²: hours to 100 points": (2.0, 1e-9)}, note="2 h at 50 points an hour, as its table adds")
def test_hours_to_the_action_value() -> dict[str, float]:
    return {"5 m/s²: hours to 100 points": hours_to_vibration(5.0, 2.5)}
