"""Exact crossing heights of trochoids, by hands other than those that wrote `core/cut/trochoid.py`.

Source: our own engineering notes, section on feed marks: a table made there, by another hand and before this code, by
root-finding on the path equations (Hendrick and Gill, Rotary tiller design parameters V, ASAE 1978, give the path). No
publication printing such values could be opened, so this is an independent recomputation, not a published result.

R 62.5 mm; clip 5 mm with 11 blades and 6 mm with 8; "+" the edge moves with travel at its lowest point, "-" against.
Tolerance: half the last printed digit.
"""

import math

from tests.published.evidence import evidence_table

from sparkout.core.cut.trochoid import Sense, cusp

SEEN = "in our own notes"

SOURCE = "Trochoid crossings, independent recomputation (own notes)"
HALF = 0.5e-7


def exact(clip: float, blades: int, sense: Sense) -> float:
    speed = 1234.0
    return cusp(speed, blades, 2 * math.pi * speed / (clip * blades), 125.0, sense)


@evidence_table(
    SOURCE,
    {
        "cusp, clip 5, 11 blades, edge with travel": (0.0384795, HALF),
        "cusp, clip 5, 11 blades, edge against travel": (0.0676575, HALF),
        "cusp, clip 6, 8 blades, edge with travel": (0.0571923, HALF),
        "cusp, clip 6, 8 blades, edge against travel": (0.0935314, HALF),
    },
    note="another hand's root-finding on the same path equations; no publication prints these",
)
def test_exact_table() -> dict[str, float]:
    return {
        "cusp, clip 5, 11 blades, edge with travel": exact(5.0, 11, 1),
        "cusp, clip 5, 11 blades, edge against travel": exact(5.0, 11, -1),
        "cusp, clip 6, 8 blades, edge with travel": exact(6.0, 8, 1),
        "cusp, clip 6, 8 blades, edge against travel": exact(6.0, 8, -1),
    }
