"""What on a machine can mark the turf, and how far apart each would: the causes of a rib.

Every pitch is a product of powers of what the machine and the stretch of turf are known by, so in logarithms it is a
sum, and errors that are a share of each quantity stay normal. That is all the rib finder needs of a cause.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sparkout.core.cut.clip import FASTEST_REEL, FASTEST_TRAVEL, whole_blades
from sparkout.core.errors import Contradiction, NotEnough, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from collections.abc import Mapping

TURN = 2.0 * math.pi
BOUNCE = Measured(3.0, 1.0)
"""Hz. Common practice, no source: for a machine whose bobbing nobody has timed or reckoned (see `bounce`)."""
UNCOUNTED_SLIP = Measured(0.0, 0.02)
"""Common practice, no source: slip of a drive whose turns nobody has counted."""
UNLISTED = 0.1
"""Share kept for causes that are not on the list. Own choice, no source."""
_UNLISTED_PITCH, _UNLISTED_SPREAD = 60.0, 1.7
"""mm, and the spread of its logarithm: nine in ten between 4 mm and 1 m."""


def relative(quantity: Measured) -> float:
    """Standard uncertainty as a share of the value, which is that of the logarithm (to 5 % of itself up to 0.3)."""
    return quantity.u / quantity.value


@dataclass(frozen=True, slots=True)
class OwnSpeed:
    """A reel that keeps its own speed whatever the travel: engine belt, hydraulic or electric motor."""


@dataclass(frozen=True, slots=True)
class LandDrive:
    """A reel geared to its driving roller or wheel: diameter as worn (mm), reel turns per roller turn, slip."""

    diameter: Measured
    reel_turns_per_roller_turn: float
    slip: Measured = UNCOUNTED_SLIP

    def __post_init__(self) -> None:
        within("diameter", self.diameter.value, 0.0, 3_000.0, "mm", above=True)
        within("reel_turns_per_roller_turn", self.reel_turns_per_roller_turn, 0.0, 200.0, above=True)
        within("slip", self.slip.value, -0.5, 1.0)

    @property
    def ground_per_reel_turn(self) -> Measured:
        """Ground covered in one turn of the reel, mm: pi D (1 + s) / i."""
        covered = math.pi * self.diameter.value * (1.0 + self.slip.value) / self.reel_turns_per_roller_turn
        share = math.hypot(relative(self.diameter), self.slip.u / (1.0 + self.slip.value))
        return Measured(covered, covered * share)


@dataclass(frozen=True, slots=True)
class Machine:
    """What is known of the machine that made the ribs.

    `rollers` are all that rolls on the turf, name to diameter (mm); `belts` all belts that could bump, name to belt
    turns per reel turn; `bounce` is the frequency at which it bobs, Hz (None: it cannot, say a unit pushed by hand).

    Raises
    ------
    OutOfRange
        For any number outside its range; an uncertainty above 60 % of its value.
    """

    blade_count: int
    drive: OwnSpeed | LandDrive
    rollers: Mapping[str, Measured] = field(default_factory=dict)
    belts: Mapping[str, Measured] = field(default_factory=dict)
    bounce: Measured | None = BOUNCE

    def __post_init__(self) -> None:
        whole_blades(self.blade_count)
        for name, diameter in self.rollers.items():
            _positive(phrase("diameter of {roller}", roller=AsTyped(name)), diameter, 3_000.0, "mm")
        for name, turns in self.belts.items():
            _positive(phrase("turns of {belt}", belt=AsTyped(name)), turns, 100.0, "")
        if self.bounce is not None:
            _positive("bounce", self.bounce, 100.0, "Hz")


def _positive(name: str, quantity: Measured, high: float, unit: str) -> None:
    within(name, quantity.value, 0.0, high, unit, above=True)
    within(phrase("uncertainty of {quantity}", quantity=name), quantity.u, 0.0, 0.6 * quantity.value, unit)


@dataclass(frozen=True, slots=True)
class Setting:
    """How a stretch of turf is mown: travel speed (mm/s), and the reel's speed (rad/s) where it keeps its own.

    Raises
    ------
    OutOfRange
        For a speed outside its range, or an uncertainty above 60 % of its value.
    """

    travel_speed: Measured
    reel_speed: Measured | None = None

    def __post_init__(self) -> None:
        _positive("travel_speed", self.travel_speed, FASTEST_TRAVEL, "mm/s")
        if self.reel_speed is not None:
            _positive("reel_speed", self.reel_speed, FASTEST_REEL, "rad/s")


@dataclass(frozen=True, slots=True)
class Stretch:
    """Ribs measured on one stretch of turf: their pitch (mm), and how it was mown.

    Raises
    ------
    OutOfRange
        For a pitch outside 0.5 mm to 20 m, or an uncertainty above 60 % of it.
    """

    pitch: Measured
    setting: Setting

    def __post_init__(self) -> None:
        within("pitch", self.pitch.value, 0.5, 20_000.0, "mm")
        _positive("pitch", self.pitch, 20_000.0, "mm")


def counted_pitch(ribs: int, over: Measured, miscount: float = 0.3) -> Measured:
    """Return the pitch from a number of ribs counted over a length, mm.

    Equation: p = L / m, (u_p / p)² = (u_L / L)² + (u_m / m)².

    Parameters
    ----------
    ribs
        m, spaces between ribs counted, 1 or more.
    over
        L, mm: the length they fill.
    miscount
        u_m, standard uncertainty of the count; 0.3 allows for the odd fraction at the ends (own choice, no source).

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Examples
    --------
    >>> pitch = counted_pitch(40, Measured(2000.0, 3.0))
    >>> pitch.value, round(pitch.u, 2)
    (50.0, 0.38)

    References
    ----------
    Law of propagation (JCGM 100, product form).
    """
    number = within("ribs", ribs, 1, 100_000)
    _positive("over", over, 1e6, "mm")
    error = within("miscount", miscount, 0.0, 0.6 * number)
    pitch = over.value / number
    return Measured(pitch, pitch * math.hypot(relative(over), error / number))


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that could make ribs. ln pitch = constant + (ln v if travels) - (ln n if by_turn) + shared.

    `shared` is the spread of what is the same on every stretch (a diameter, a frequency), as a share.
    `n` is reel turns per second.
    """

    kind: str
    name: str
    constant: float
    travels: bool
    by_turn: bool
    shared: float

    def log_pitch(self, setting: Setting) -> tuple[float, float]:
        """Return ln pitch expected at a setting, and its variance from the setting's own speeds (not from `shared`).

        Raises
        ------
        NotEnough
            When the reel's speed is wanted and not given.
        """
        mean, variance = self.constant, 0.0
        if self.travels:
            mean += math.log(setting.travel_speed.value)
            variance += relative(setting.travel_speed) ** 2
        if self.by_turn:
            if setting.reel_speed is None:
                raise NotEnough(phrase("pitch of the clip"), phrase("the reel's speed on that stretch"))
            mean -= math.log(setting.reel_speed.value / TURN)
            variance += relative(setting.reel_speed) ** 2
        return mean, variance

    def pitch(self, setting: Setting, coverage_factor: float = 1.96) -> tuple[float, float, float]:
        """Return the pitch expected at a setting and both ends of its interval, mm."""
        mean, variance = self.log_pitch(setting)
        half = coverage_factor * math.sqrt(variance + self.shared**2)
        return math.exp(mean), math.exp(mean - half), math.exp(mean + half)


def causes(machine: Machine, reference_travel: float) -> tuple[Cause, ...]:
    """Return every cause of ribs on a machine, those of no name last.

    Equation: clip F = v / (n N), or g / N on a land drive with g = pi D (1 + s) / i; once per turn N F; two high blades
    opposite N F / 2; a roller pi D; bobbing v / f; a belt N F / rho with rho its turns per reel turn. Two more stand
    for what is not listed: something that rolls (its pitch stays when the travel changes) and something that shakes in
    its own time (its pitch goes with the travel).

    Parameters
    ----------
    reference_travel
        mm/s: travel at which the shaking thing of no name has the same broad range of pitches as the rolling one.

    Validity: each kind marks the turf at its first order, once in its round. With an odd number of blades no two are
    opposite; two nearly so still mark at about half a turn.

    Examples
    --------
    >>> greens = Machine(11, OwnSpeed(), rollers={"front roller": Measured(63.0, 0.5)})
    >>> at = Setting(Measured(1250.0, 25.0), Measured(50 * math.pi, 1.6))
    >>> [(cause.kind, round(cause.pitch(at)[0], 1)) for cause in causes(greens, 1250.0)[:5]]
    [('clip', 4.5), ('turn', 50.0), ('opposite', 25.0), ('roller', 197.9), ('bounce', 416.7)]

    References
    ----------
    Geometry and arithmetic, own working. That bounce grows with speed: USGA Green Section Record 62(23), on ripples.
    """
    found = [*_reel_causes(machine)]
    for name, diameter in machine.rollers.items():
        told = phrase("{roller} out of round or built up", roller=AsTyped(name))
        found.append(Cause("roller", told, math.log(math.pi * diameter.value), False, False, relative(diameter)))
    if machine.bounce is not None:
        told = phrase("the unit or machine bounces")
        found.append(Cause("bounce", told, -math.log(machine.bounce.value), True, False, relative(machine.bounce)))
    level = math.log(_UNLISTED_PITCH)
    rolls, shakes = phrase("something that rolls, not listed"), phrase("something that shakes, not listed")
    found.append(Cause("unlisted rolling", rolls, level, False, False, _UNLISTED_SPREAD))
    shaking = level - math.log(within("reference_travel", reference_travel, 0.0, FASTEST_TRAVEL, "mm/s", above=True))
    found.append(Cause("unlisted shaking", shakes, shaking, True, False, _UNLISTED_SPREAD))
    return tuple(found)


def _reel_causes(machine: Machine) -> list[Cause]:
    """Causes that go with the reel's turns: constants are logarithms of reel turns."""
    blades, drive = machine.blade_count, machine.drive
    start, shared, own = 0.0, 0.0, True
    if isinstance(drive, LandDrive):
        covered = drive.ground_per_reel_turn
        start, shared, own = math.log(covered.value), relative(covered), False
    turns = [
        ("clip", phrase("the clip itself: travel per blade"), 1.0 / blades, 0.0),
        ("turn", phrase("once per reel turn: one high blade, bent shaft or loose bearing"), 1.0, 0.0),
    ]
    if blades >= 4:
        turns.append(("opposite", phrase("twice per reel turn: two high blades opposite each other"), 0.5, 0.0))
    for name, ratio in machine.belts.items():
        told = phrase("{belt}: a lump or a joint, once per belt turn", belt=AsTyped(name))
        turns.append(("belt", told, 1.0 / ratio.value, relative(ratio)))
    return [
        Cause(kind, name, start + math.log(share), own, own, math.hypot(shared, extra))
        for kind, name, share, extra in turns
    ]


def prior_weights(found: tuple[Cause, ...], weights: Mapping[str, float] | None = None) -> tuple[float, ...]:
    """Return the chance of each cause before any rib is measured.

    Equation: the workshop's weights by kind, shared evenly within a kind, scaled to 1 - `UNLISTED`; the two of no name
    share `UNLISTED`. Without weights every kind counts the same (own choice, no source).

    Raises
    ------
    OutOfRange
        For a weight below 0.
    Contradiction
        When no cause that is there has any weight.

    Examples
    --------
    >>> cuts = causes(Machine(11, OwnSpeed(), bounce=None), 1250.0)
    >>> prior_weights(cuts)
    (0.3, 0.3, 0.3, 0.05, 0.05)
    """
    kinds = [cause.kind for cause in found if not cause.kind.startswith("unlisted")]
    given = {
        kind: within(phrase("weight of {kind}", kind=kind), 1.0 if weights is None else weights.get(kind, 0.0), 0.0)
        for kind in kinds
    }
    total = math.fsum(given.values())
    if total <= 0.0:
        raise Contradiction(("weights",), phrase("no cause on this machine is given any weight"))
    return tuple(
        UNLISTED / 2.0
        if cause.kind.startswith("unlisted")
        else (1.0 - UNLISTED) * given[cause.kind] / total / kinds.count(cause.kind)
        for cause in found
    )
