"""Cone as an angle, as a set-over, and as a sine-bar height, for setting up the grinder."""

from __future__ import annotations

import math

from sparkout.core.errors import within


def taper_angle(cone: float, length: float) -> float:
    """Return the included angle of a cone, rad, with the sign of `cone`.

    Equation: 2 atan(cone / (2 length)).

    Parameters
    ----------
    cone : difference of the end diameters over `length`, mm.
    length : along the axis, mm.

    Raises
    ------
    OutOfRange
        A length not above 0 or beyond 10 m, a cone greater than 1 m.

    Validity: a straight cone.

    Examples
    --------
    >>> round(math.degrees(taper_angle(0.550, 12.0)), 3)
    2.626

    References
    ----------
    F. D. Jones, Turning and Boring, 1918 (included angle from taper per foot).
    """
    cone = within("cone", cone, -1000.0, 1000.0, "mm")
    return 2.0 * math.atan(cone / (2.0 * within("length", length, 0.0, 10_000.0, "mm", above=True)))


def set_over(cone: float, length: float, span: float) -> float:
    """Return how far one end of the set-up must move so that a cone stands parallel, mm, with the sign of `cone`.

    Equation: (cone / 2) span / length.

    Parameters
    ----------
    cone : difference of the end diameters over `length`, mm.
    length : over which the cone was measured (the blades), mm.
    span : between the two points of support (centres or mounts), mm.

    Raises
    ------
    OutOfRange
        A length or span not above 0 or beyond 10 m, a cone greater than 1 m.

    Validity: small angles (the offset is taken square to the axis); a straight cone.

    Examples
    --------
    >>> set_over(1.0, 12.0, 36.0)
    1.5

    References
    ----------
    J. Rose, Modern Machine-Shop Practice (set-over of the tailstock).
    """
    cone = within("cone", cone, -1000.0, 1000.0, "mm")
    length = within("length", length, 0.0, 10_000.0, "mm", above=True)
    return 0.5 * cone * within("span", span, 0.0, 10_000.0, "mm", above=True) / length


def sine_bar_height(bar_length: float, angle: float) -> float:
    """Return the height of the blocks under one roll of a sine bar that sets it at `angle`, mm.

    Equation: bar_length sin(angle).

    Parameters
    ----------
    bar_length : between the rolls, mm.
    angle : rad, 0 to a quarter turn.

    Raises
    ------
    OutOfRange
        A length not above 0 or beyond 1 m, an angle outside 0 to pi/2.

    Validity: d(angle) = d(height) / (bar_length cos(angle)), so poor above 45 degrees.

    Examples
    --------
    >>> round(sine_bar_height(5.0, math.radians(23 + 41 / 60)), 4)
    2.0084

    References
    ----------
    US Army TC 9-524, appendix C.
    """
    bar_length = within("bar_length", bar_length, 0.0, 1000.0, "mm", above=True)
    return bar_length * math.sin(within("angle", angle, 0.0, math.pi / 2.0, "rad"))
