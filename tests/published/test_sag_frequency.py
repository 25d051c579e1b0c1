"""The rule for the bounce of a machine from how far its weight presses its springs down.

Source: the isolation rule f = 15.76 / sqrt(d), d in mm, as quoted in public notes and tools on machine mounts; one
of them prints 3.15 Hz for 25.0 mm, another about 6.4 Hz for 6 mm. Tolerance: half the last printed digit.
"""

from tests.published.evidence import evidence_table

from sparkout.core.ribs.bounce import bounce_frequency_from_sag

SEEN = "as quoted elsewhere"


@evidence_table(
    "Vibration isolation rule f = 15.76 / sqrt(d mm)",
    {"1 mm, Hz": (15.76, 0.005), "25 mm, Hz": (3.15, 0.005), "6 mm, Hz": (6.4, 0.05)},
)
def test_sag() -> dict[str, float]:
    return {
        "1 mm, Hz": bounce_frequency_from_sag(1.0),
        "25 mm, Hz": bounce_frequency_from_sag(25.0),
        "6 mm, Hz": bounce_frequency_from_sag(6.0),
    }
