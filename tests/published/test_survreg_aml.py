"""Weibull regression with censoring: acute myelogenous leukaemia (aml) as R's survreg prints it.

Data: Miller, Survival Analysis (1981), 23 lives, from memory (data/aml.json). Printed: coefficients and scale of
survreg(Surv(time, status) ~ x, aml), as quoted to full digits in a public test of a port of that library.
"""

from functools import cache

from tests.published.evidence import evidence
from tests.published.printed import data

from sparkout.core.season.edge_life import EdgeLife, edge_life

SEEN = "as quoted elsewhere"
SOURCE = "R survival, survreg on aml"


@cache
def fitted() -> EdgeLife:
    lives = data("aml.json")
    hours = lives["maintained"]["time"] + lives["not maintained"]["time"]
    ended = lives["maintained"]["status"] + lives["not maintained"]["status"]
    kinds = [[1, 0]] * len(lives["maintained"]["time"]) + [[1, 1]] * len(lives["not maintained"]["time"])
    return edge_life(hours, [bool(one) for one in ended], kinds, ("all", "not maintained"))


@evidence(SOURCE, "intercept", printed=4.109055051262132, tolerance=5e-9)
def test_intercept() -> float:
    return float(fitted().coefs[0])


@evidence(SOURCE, "not maintained", printed=-0.929341611365523, tolerance=5e-9)
def test_not_maintained() -> float:
    return float(fitted().coefs[1])


@evidence(SOURCE, "scale", printed=0.790954436951233, tolerance=5e-9)
def test_scale() -> float:
    return fitted().scale
