"""One visit that uses every table, invented, and small ways to build on it."""

from __future__ import annotations

from pathlib import Path

FULL = """\
sparkout = 1

[visit]
date = 2026-11-25
technician = "AB"
notes = '''two
lines'''
vocabulary = "US"
units = "mm"
paper_size = "letter"
demonstration = true

[unit]
name = "unit 3"
hours = "1240 h"
pattern = "knife up"

[reel]
blades = 3
diameter = "5 in"
length = 533
helix = "20 deg"
land = "1,0 mm"
relief_angle = "45 deg"
blade_thickness = 5

[knife]
top_angle = "10 deg"
clicks_per_turn = "12"
lever_ratio = 0.5

[height]
of_cut = "4 mm"

[mowing]
travel_speed = "2.8 mph"
reel_speed = "1500 1/min"

[[limits]]
quantity = "diameter"
at_least = "120 mm"
origin = "machine's book"
on = 2026-01-10

[[limits]]
quantity = "cone"
at_most = "2 thou"
origin = "house"
risk = "1 %"

[[gauges]]
id = "tape 1"
kind = "tape"
resolution = "0.1 mm"
calibration_uncertainty = "0.05 mm"
calibration_due = 2027-03-31

[[gauges]]
id = "leaves"
kind = "feeler"

[[gauges]]
id = "dial 1"
kind = "dial"
resolution = "0.01 mm"
expanded_uncertainty = "0.008 mm"
k = 2

[[gauges]]
id = "protractor"
kind = "protractor"
resolution = "0.5 deg"

[grinder]
give = 0.7
spindle_speed = "3000 1/min"
marked_speed = "35 m/s"

[wanted]
uncleaned_share = "0 %"
relief = "if due"

[[readings]]
of = "diameter"
gauge = "tape 1"
at = "left"
value = "125.4 mm"
temperature = "18 °C"
time = 09:40:00

[[readings]]
of = "diameter"
gauge = "tape 1"
at = "right"
value = "125.0 mm"
time = "09:45"

[[readings]]
of = "rest gap"
gauge = "leaves"
at = "right"
goes = "0.15 mm"
does_not_go = "0.25 mm"

[[readings]]
of = "top angle"
gauge = "protractor"
value = "9.5 deg"

[[sweeps]]
of = "run-out"
gauge = "dial 1"
at = ["left end", "10 in", "right end"]
unit = "thou"
values = [
    [0, 1, 2],
    ["0.05 mm", "-", 1.5],
    [-1, 0, 0],
]

[[work]]
step = "spin grind"
infeeds = ["0.02 mm", "0.02 mm", 0]
wheel_diameter_before = "150 mm"
wheel_diameter_after = "149.8 mm"
took = "25 min"

[[paper]]
stations = ["left", "centre", "right"]
rows = ["ccc", "cpu", "c-C"]
thickness = "0.1 mm"

[sign_off]
name = "AB"
date = 2026-11-26
"""

SMALL = """\
unit.name = "3"

[reel]
blades = 11
diameter = "127 mm"
length = "533 mm"
"""

ROOT = Path(__file__).parents[2]


def small(more: str) -> str:
    """The least visit, with more tables behind it."""
    return SMALL + more


GAUGES = """
[[gauges]]
id = "tape"
kind = "tape"
resolution = "0.1 mm"

[[gauges]]
id = "dial"
kind = "dial"

[[gauges]]
id = "feeler"
kind = "feeler"

[[gauges]]
id = "protractor"
kind = "protractor"

[[gauges]]
id = "rule"
kind = "scale"
"""


def reading(of: str, **keys: object) -> str:
    """One [[readings]] table."""
    lines = [f"{key} = {value!r}" if not isinstance(value, bool) else f"{key} = {value}" for key, value in keys.items()]
    return "\n".join(["", "[[readings]]", f"of = '{of}'", *lines, ""])
