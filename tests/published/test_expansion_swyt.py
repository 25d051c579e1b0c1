"""Thermal expansion coefficients against their source.

Source: D. A. Swyt, "Uncertainties in dimensional measurements made at nonstandard temperatures", J. Res. NIST 99(1),
1994, 31-44 (title and pages from memory; the coefficients were read there): steel 11.5e-6, aluminium 23.1e-6 per K,
reference temperature 20 C (ISO 1).

Each is read back out of the gap sum, by the definition dL = alpha L dT, over 50 mm and 10 K. Tolerance: half the last
printed digit.
"""

from tests.published.evidence import evidence_table

from sparkout.core.setting.heat import EXPANSION, gap_change_hot

SEEN = "in the source"


@evidence_table(
    "Swyt, J. Res. NIST 99(1), 1994",
    {"steel, 1e-6 per K": (11.5, 0.05), "aluminium, 1e-6 per K": (23.1, 0.05)},
)
def test_coefficients() -> dict[str, float]:
    growth = {metal: gap_change_hot(100.0, 0.0, 10.0, 0.0, alpha) / (50.0 * 10.0) for metal, alpha in EXPANSION.items()}
    return {f"{metal}, 1e-6 per K": 1e6 * alpha for metal, alpha in growth.items()}
