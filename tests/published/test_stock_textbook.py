"""Stock: Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, examples 3.1, 4.3 and 4.4.

Digits as quoted in the tests of a public library by one of the authors (stockpyl, MIT).
"""

from tests.published.evidence import evidence, evidence_table

from sparkout.core.season.stock import cost_of_level, order_quantity, order_up_to

SEEN = "as quoted elsewhere"
BOOK = "Snyder and Shen, Fundamentals of Supply Chain Theory"


@evidence_table(f"{BOOK}, example 3.1", {"quantity": (304.0467800264368, 1e-9), "cost": (68.410525505948272, 1e-9)})
def test_order_quantity() -> dict[str, float]:
    found = order_quantity(8, 0.225, 1300)
    return {"quantity": found.quantity, "cost": found.cost}


@evidence(f"{BOOK}, example 4.3", "newsvendor quantity", printed=56.603955927433887, tolerance=1e-9)
def test_newsvendor() -> float:
    return order_up_to(0.18, 0.70, 50, 8).level


@evidence_table(
    f"{BOOK}, example 4.3 away from the best",
    {"cost at 40": (7.356131552870388, 1e-9), "cost at 60": (2.156131552870387, 1e-9)},
)
def test_cost_of_a_level() -> dict[str, float]:
    return {f"cost at {level}": cost_of_level(level, 0.18, 0.70, 50, 8) for level in (40, 60)}


@evidence_table(
    f"{BOOK}, example 4.4", {"base stock level": (264.7668943741548, 1e-9), "cost": (4.466781004149578, 1e-9)}
)
def test_base_stock() -> dict[str, float]:
    found = order_up_to(0.18, 0.70, 50, 8, lead_time=4)
    return {"base stock level": found.level, "cost": found.cost}
