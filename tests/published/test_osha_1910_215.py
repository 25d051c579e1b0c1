"""Guard and gap figures of 29 CFR 1910.215 (abrasive wheel machinery), as quoted by the places named in the data file.

Sources read: OSHA STD 1-12.8 (work rest 1/8 in), an agency training module on 1910.215 (tongue 1/4 in), Washington WAC
296-806-40506 and Michigan R 408.10199 table 1 (exposures), WAC 296-806-40516 (flange at least a third). The
federal text itself was not opened. The millimetre figures printed beside the inches are 3.2 and 6.4: ours, held as
exact inches, must round to them (6.35 rounds half up to 6.4). Tolerance: half the last printed
digit; angles and the third are exact.
"""

import math

from tests.published.evidence import evidence_table

from sparkout.core.cautions import guard_figure

SEEN = "as quoted elsewhere"

LAW = "29 CFR 1910.215, as quoted by OSHA STD 1-12.8 and state codes"


@evidence_table(LAW, {"work rest, mm": (3.2, 0.05), "tongue, mm": (6.4, 0.05 + 1e-9)})
def test_gaps_in_millimetres() -> dict[str, float]:
    return {"work rest, mm": guard_figure("work-rest").value, "tongue, mm": guard_figure("tongue").value}


@evidence_table(LAW, {"work rest, in": (0.125, 1e-12), "tongue, in": (0.25, 1e-12)}, note="1/8 in and 1/4 in exactly")
def test_gaps_in_inches() -> dict[str, float]:
    return {"work rest, in": guard_figure("work-rest").value / 25.4, "tongue, in": guard_figure("tongue").value / 25.4}


@evidence_table(
    LAW,
    {
        "bench-exposure, deg": (90, 1e-9),
        "bench-exposure-below, deg": (125, 1e-9),
        "bench-start, deg": (65, 1e-9),
        "cylindrical-exposure, deg": (180, 1e-9),
        "cylindrical-start, deg": (65, 1e-9),
        "surface-exposure, deg": (150, 1e-9),
        "surface-start, deg": (15, 1e-9),
    },
)
def test_exposures() -> dict[str, float]:
    names = ["bench-exposure", "bench-exposure-below", "bench-start", "cylindrical-exposure", "cylindrical-start"]
    names += ["surface-exposure", "surface-start"]
    return {f"{name}, deg": math.degrees(guard_figure(name).value) for name in names}


@evidence_table(LAW, {"flange over wheel diameter": (1 / 3, 1e-12)})
def test_flange() -> dict[str, float]:
    return {"flange over wheel diameter": guard_figure("flange").value}


def test_the_printed_text_is_the_value() -> None:
    """What is shown and what is compared with cannot drift apart."""
    for name in ("work-rest", "tongue"):
        figure = guard_figure(name)
        assert figure.printed == f"{figure.value + 1e-9:.1f} mm"
        assert figure.us_units in ("1/8 in", "1/4 in")
