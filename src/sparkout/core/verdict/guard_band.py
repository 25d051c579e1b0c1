"""Acceptance limits from what is known of the whole run of work, and the risks to its receiver and its maker."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sparkout.core.crossing import crossing
from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.verdict.limit import check_sides
from sparkout.core.verdict.quadrature import panel_nodes, panels_between

_STEPS = np.arange(-9.0, 9.5, 0.75)
_ORDER = 20
_NEGLIGIBLE = 1e-17

Zone = tuple[float | None, float | None]


def acceptance_limit(
    prior_shape: float,
    prior_scale: float,
    standard_uncertainty: float,
    upper: float,
    wanted_false_accept: float,
    *,
    given_accepted: bool = False,
) -> float:
    """Return the largest reading to accept so that false accepts stay at the wanted share.

    Equation: find A with P(true > upper and reading <= A) = wanted, where true ~ gamma(shape, scale) and
    reading ~ N(true, u^2):  integral over t > upper of gamma(t) Phi((A - t)/u) dt = wanted.

    This is the global consumer's risk: the joint probability, a share of all the work that passes the gauge. With
    `given_accepted` it is the conditional one instead, P(true > upper | reading <= A), a share of what was accepted.

    Parameters
    ----------
    prior_shape, prior_scale
        Gamma distribution of the true values (mean shape x scale); scale in the unit of upper.
    standard_uncertainty
        Of one reading, unit of upper.
    upper
        The limit, above zero.
    wanted_false_accept
        The share wanted, between what A = 0 gives and the share over the limit when everything is accepted.

    Raises
    ------
    OutOfRange
        When an argument is out of range; when no limit above zero gives the share, with the attainable range.

    Validity: a quantity that cannot be negative (run-out, gap, land); readings normal about the true value.
    Quadrature relative error below 1e-10; A to the last digits of a float.

    Examples
    --------
    >>> round(acceptance_limit(4.0, 0.25, 0.25, 2.0, 0.001), 6)
    1.671829

    References
    ----------
    JCGM 106:2012 9.5.4 as worked in the examples of the open uncertainty package suncal, "Risk - Ball Bearing"
    (seen there, not in the guide): shape 4, scale 1/4, u 0.25, limit 2, wanted 0.1 %: 1.671828771543956.
    """
    within("prior_shape", prior_shape, 0.01, 1e4)
    within("prior_scale", prior_scale, 0.0, above=True)
    within("standard_uncertainty", standard_uncertainty, 0.0, above=True)
    within("upper", upper, 0.0, above=True)
    within("wanted_false_accept", wanted_false_accept, 0.0, 1.0, above=True)
    # lengths in units of the prior's scale from here on
    u, limit = standard_uncertainty / prior_scale, upper / prior_scale

    def risk(acceptance: float) -> float:
        joint = _accepted_beyond(prior_shape, u, limit, acceptance)
        if not given_accepted:
            return joint
        accepted = joint + _accepted_within(prior_shape, u, limit, acceptance)
        return joint / accepted if accepted > 0.0 else 0.0

    least, everything = risk(0.0), risk(math.inf)
    if not least < wanted_false_accept < everything:
        raise OutOfRange(
            "wanted_false_accept",
            float(wanted_false_accept),
            phrase(
                "above {least:.6g} (accept nothing but zero) and below {everything:.6g} (the share over the limit "
                "when everything is accepted, so that no acceptance limit is needed)",
                least=least,
                everything=everything,
            ),
        )
    enough = limit + 9.0 * u
    while risk(enough) < wanted_false_accept:
        enough *= 2.0
    return prior_scale * crossing(risk, 0.0, enough, wanted_false_accept)


def _accepted_beyond(shape: float, u: float, limit: float, acceptance: float) -> float:
    """P(true > limit and reading <= acceptance), unit scale: integral of the gamma density times Phi."""
    from scipy.special import gammaincc, gammainccinv, gammaln, ndtr

    share = float(gammaincc(shape, limit))
    if share == 0.0:
        return 0.0
    top = max(float(gammainccinv(shape, share * _NEGLIGIBLE)), limit * (1.0 + 1e-9))
    breaks = np.concatenate(
        (
            acceptance + u * _STEPS,
            limit + u * _STEPS,
            shape + math.sqrt(shape) * _STEPS,
            np.linspace(limit, top, 25),
        )
    )
    t, weights = panel_nodes(*panels_between(limit, top, breaks), _ORDER)
    density = np.exp((shape - 1.0) * np.log(t) - t - gammaln(shape))
    return float((weights * density * ndtr((acceptance - t) / u)).sum())


def _accepted_within(shape: float, u: float, limit: float, acceptance: float) -> float:
    """P(true <= limit and reading <= acceptance), unit scale, by parts so that a shape below 1 is no singularity."""
    from scipy.special import gammainc, ndtr

    breaks = np.concatenate(
        (acceptance + u * _STEPS, shape + math.sqrt(shape) * _STEPS, limit * 0.5 ** np.arange(0.0, 60.0))
    )
    t, weights = panel_nodes(*panels_between(0.0, limit, breaks), _ORDER)
    bell = np.exp(-0.5 * ((acceptance - t) / u) ** 2) / (u * math.sqrt(2.0 * math.pi))
    at_limit = float(gammainc(shape, limit) * ndtr((acceptance - limit) / u))
    return at_limit + float((weights * gammainc(shape, t) * bell).sum())


@dataclass(frozen=True, slots=True)
class GlobalRisks:
    """Shares of all the work: wrongly accepted (consumer's), wrongly refused (producer's), and accepted at all."""

    consumer: float
    producer: float
    accepted: float

    @property
    def consumer_given_accepted(self) -> float:
        """Share of the accepted work that should have failed (nan when nothing is accepted)."""
        return self.consumer / self.accepted if self.accepted > 0.0 else math.nan


def global_risks(mean: float, sd: float, u: float, limits: Zone, acceptance: Zone | None = None) -> GlobalRisks:
    """Return the global risks of accepting by a gauge when the true values of the work are N(mean, sd^2).

    Equations, reading ~ N(true, u^2): consumer's = P(true outside limits, reading inside acceptance);
    producer's = P(true inside limits, reading outside acceptance).

    Parameters
    ----------
    mean, sd
        Of the true values of the work.
    u
        Standard uncertainty of one reading.
    limits
        (lower, upper), either may be None.
    acceptance
        (lower, upper) for the reading; the limits themselves when not given.

    Raises
    ------
    OutOfRange
        When an argument is not finite, or sd or u is not above zero.
    NotEnough
        When a zone has no side.
    Contradiction
        When a zone has its sides out of order.

    Validity: normal work, normal readings; relative quadrature error below 1e-10.

    Examples
    --------
    >>> risks = global_risks(0.0, 1.0, 0.25, (-2.0, 2.0))
    >>> round(risks.consumer, 3), round(risks.producer, 3)
    (0.008, 0.015)

    References
    ----------
    JCGM 106:2012 clause 9 (clause number from memory). Example: figures of Deaver, seen in the tests of suncal.
    """
    within("mean", mean)
    within("sd", sd, 0.0, above=True)
    within("u", u, 0.0, above=True)
    check_sides(*limits, phrase("the work"))
    zone = limits if acceptance is None else acceptance
    check_sides(*zone, phrase("the reading"))
    low, high = _open(limits)
    far = 39.0 * sd
    regions = {
        "below": (mean - far, min(low, mean + far)),
        "inside": (max(low, mean - far), min(high, mean + far)),
        "above": (max(high, mean - far), mean + far),
    }
    accepted = {name: _accepted_share(mean, sd, u, ends, zone) for name, ends in regions.items()}
    consumer = accepted["below"][0] + accepted["above"][0]
    return GlobalRisks(consumer, accepted["inside"][1], consumer + accepted["inside"][0])


def _open(zone: Zone) -> tuple[float, float]:
    return -math.inf if zone[0] is None else zone[0], math.inf if zone[1] is None else zone[1]


def _accepted_share(mean: float, sd: float, u: float, ends: tuple[float, float], zone: Zone) -> tuple[float, float]:
    """P(true in [ends], reading in zone) and P(true in [ends], reading outside zone)."""
    from scipy.special import ndtr

    if ends[0] >= ends[1]:
        return 0.0, 0.0
    edges = [edge for edge in (*zone, *ends) if edge is not None]
    breaks = np.concatenate([mean + sd * _STEPS, *(edge + u * _STEPS for edge in edges)])
    t, weights = panel_nodes(*panels_between(*ends, breaks), _ORDER)
    weights = weights * np.exp(-0.5 * ((t - mean) / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))
    low, high = _open(zone)
    a, b = (low - t) / u, (high - t) / u
    refused = ndtr(a) + ndtr(-b)
    taken = np.where(a > 0.0, ndtr(-a) - ndtr(-b), ndtr(b) - ndtr(a))
    return float((weights * taken).sum()), float((weights * refused).sum())
