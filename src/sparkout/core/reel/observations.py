"""What each reading sees of the parameter vector: readings in, rows of a linear model out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.reel.parameters import (
    FIRST_BLADE,
    FRAME_OUT,
    KNIFE_BOW,
    Parameters,
    knife_line_rows,
    mean_radius_rows,
    station,
    swing,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sparkout.core.reel.geometry import Reel

Kind = Literal["radius", "run-out", "rest gap", "frame", "knife", "shaft"]
KINDS: tuple[Kind, ...] = get_args(Kind)

ARBITRARY = 10.0
"""Standard deviation of a zero (mm) or slope (mm over the length) that was set anywhere; wide enough to say nothing."""

_ARBITRARY_ZERO = ("run-out", "frame", "knife", "shaft")
_PER_STATION = ("run-out", "shaft")
_REACH: dict[str, float] = {"frame": 0.5, "shaft": 0.25}
"""How far past the blade ends a kind may be read, in blade lengths: mounts and journals stand outside."""

REST_GAP_BLIND = phrase(
    "A gap under the resting knife shows the reel against the knife's own line. It is blind to the mean "
    "radius; it cannot tell a cone from mounts out of parallel (only the difference, frame out less half "
    "the cone, shows), nor a barrel or hollow from a bowed knife (only their difference shows); it says "
    "nothing of where the shaft runs."
)


@dataclass(frozen=True, slots=True)
class Observation:
    """One reading, corrected by its gauge's model: mm throughout, radius where a radius is meant.

    `blades` empty means the mean over all blades; otherwise the mean over those listed (a blade listed twice counts
    twice: a flat jaw on an odd reel sees one blade as much as the two across). `u` is the independent standard
    uncertainty; `u_group` that of an offset shared by all readings of one kind and `group` (a calibration, or a
    zero); `u_rail` that of a slope they share, mm over the blade length (a dial's rail out of parallel).

    A zero that is arbitrary by nature (run-out, frame, knife, shaft) is taken as arbitrary when `u_group` is 0; without
    a `group`, run-out and shaft readings then share a zero only at the same x. A knife's straight edge lies anyhow,
    so its slope is arbitrary too. A shaft's `angle` is counted from the marked blade's edge at that x.

    A rest gap without `blades` is the smallest over a turn: how far the highest blade at each x is above the mean
    enters as an uncertainty there, as wide as the explanation lets the shaft run out.
    """

    label: str
    kind: Kind
    x: float
    value: float
    u: float
    blades: tuple[int, ...] = ()
    angle: float | None = None
    group: str = ""
    u_group: float = 0.0
    u_rail: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise OutOfRange("kind", self.kind, ", ".join(KINDS))
        within("x", self.x, unit="mm")
        within("value", self.value, -1000.0, 1000.0, "mm")
        within("u", self.u, 0.0, 1000.0, "mm", above=True)
        within("u_group", self.u_group, 0.0, 1000.0, "mm")
        within("u_rail", self.u_rail, 0.0, 1000.0, "mm")
        if (self.angle is None) == (self.kind == "shaft"):
            wanted = phrase("an angle for shaft readings, none for others")
            raise OutOfRange("angle", self.angle, wanted)
        if self.angle is not None:
            within("angle", self.angle, -100.0, 100.0, "rad")


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """Readings as a linear model: value = rows . parameters + constants + noise of standard deviation u.

    Rows (n, P) of rest gaps hold the gap against the mean knife line; `rows_touching` takes away where the knife
    touches. Nuisances (the last parameters) have mean zero and `nuisance_sd`; `free` ones are arbitrary, `touching`
    ones are how far the blade touched, or met by the feeler, stands from the mean blade (explanations.contact_sd).
    """

    parameters: Parameters
    labels: tuple[str, ...]
    rows: NDArray[np.float64]
    constants: NDArray[np.float64]
    values: NDArray[np.float64]
    u: NDArray[np.float64]
    resting: NDArray[np.bool_]
    nuisance_sd: NDArray[np.float64]
    free: NDArray[np.bool_]
    touching: NDArray[np.bool_]

    def rows_touching(self, t: float) -> NDArray[np.float64]:
        """Rows (n, P) when the resting knife touches the mean blade at station t (-1 left end, +1 right end)."""
        if not self.resting.any():
            return self.rows
        count = self.parameters.blade_count
        at = np.array([t])
        contact = knife_line_rows(count, at)[0] - mean_radius_rows(count, at)[0]
        return self.rows - self.resting[:, None] * self.parameters.embed(contact)


def design(observations: Sequence[Observation], reel: Reel) -> Design:
    """Linear model of a set of readings on one reel.

    Equations, with t = (2x - L)/L and the radius r of parameters.edge_rows averaged over the reading's blades:
    radius: r + offset; run-out: r - R_nominal + zero; rest gap: knife line(x) - r(x) less the same where the knife
    touches, + offsets of the blades touched and met; frame: frame out t/2 + zero;
    knife: bow (1/3 - t²) + slope t/2 + zero;
    shaft: [e + g t + k (1 - t²)] . u(theta_0(x) + angle) + zero; each + rail slope t/2 where stated.

    Raises
    ------
    OutOfRange
        For a station off the reel (frame readings may lie half a length outside, shaft readings a quarter), or a
        blade the reel does not have.
    Contradiction
        When readings of one group state different uncertainties for what they share.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> reading = Observation("tape, right end", "radius", 533.0, 63.2, 0.05)
    >>> design([reading], Reel(11, 127.0, 533.0)).rows[0, :3].round(3).tolist()
    [1.0, 0.25, -0.667]

    References
    ----------
    Geometry, own working, on docs/decisions/0002-definitions.md.
    """
    for observation in observations:
        _check(observation, reel)
    names, sds, free, touching, uses = _nuisances(observations)
    parameters = Parameters(reel.blade_count, tuple(names))
    rows = np.zeros((len(observations), parameters.count))
    t = station(np.array([o.x for o in observations], dtype=np.float64), reel.length)
    rows[:, : parameters.of_the_reel] = _unit_rows(observations, reel, t)
    for i, used in enumerate(uses):
        for place, sloped in used:
            rows[i, parameters.of_the_reel + place] = t[i] / 2.0 if sloped else 1.0
    kinds = np.array([o.kind for o in observations], dtype=object)
    return Design(
        parameters,
        tuple(o.label for o in observations),
        rows,
        np.where(kinds == "run-out", -reel.radius, 0.0),
        np.array([o.value for o in observations], dtype=np.float64),
        np.array([_independent_u(o) for o in observations], dtype=np.float64),
        kinds == "rest gap",
        np.array(sds, dtype=np.float64),
        np.array(free, dtype=np.bool_),
        np.array(touching, dtype=np.bool_),
    )


def _check(observation: Observation, reel: Reel) -> None:
    reach = _REACH.get(observation.kind, 0.0) * reel.length
    within(phrase("x of {reading!r}", reading=observation.label), observation.x, -reach, reel.length + reach, "mm")
    for blade in observation.blades:
        if not 0 <= blade < reel.blade_count:
            raise OutOfRange(
                phrase("blade of {reading!r}", reading=observation.label),
                blade,
                phrase("0 to {last}", last=reel.blade_count - 1),
            )
    if observation.kind in ("frame", "knife", "shaft") and observation.blades:
        raise NotEnough(
            phrase("what {reading!r} means", reading=observation.label),
            phrase("no blade on a reading that touches none"),
        )


def _independent_u(o: Observation) -> float:
    """A shared offset that belongs to no group belongs to the one reading alone."""
    alone = not o.group and o.kind in ("radius", "rest gap")
    return math.hypot(o.u, o.u_group) if alone else o.u


def _group(o: Observation) -> str:
    if o.group:
        return f"{o.kind}, {o.group}"
    return f"{o.kind} at {o.x:.10g} mm" if o.kind in _PER_STATION else o.kind


def _nuisances(
    observations: Sequence[Observation],
) -> tuple[list[str], list[float], list[bool], list[bool], list[list[tuple[int, bool]]]]:
    """Names, sds, arbitrary?, contact?, and for each reading the (place, is a slope) it uses."""
    places: dict[str, int] = {}
    sds: list[float] = []
    free: list[bool] = []
    touching: list[bool] = []

    def place(name: str, sd: float, arbitrary: bool, contact: bool = False) -> int:
        if name not in places:
            places[name] = len(sds)
            sds.append(ARBITRARY if arbitrary else sd)
            free.append(arbitrary)
            touching.append(contact)
        elif sds[places[name]] != (ARBITRARY if arbitrary else sd):
            raise Contradiction((name,), phrase("readings that share it state different uncertainties for it"))
        return places[name]

    uses: list[list[tuple[int, bool]]] = []
    for o in observations:
        used: list[tuple[int, bool]] = []
        if o.kind == "rest gap":
            used.append((place(f"contact of {_group(o)}", 0.0, False, True), False))
            if not o.blades:
                used.append((place(f"blade met by {_group(o)} at {o.x:.10g} mm", 0.0, False, True), False))
        if o.kind in _ARBITRARY_ZERO:
            arbitrary = o.u_group == 0.0 or o.u_group >= ARBITRARY
            used.append((place(f"zero of {_group(o)}", o.u_group, arbitrary), False))
        elif o.group and o.u_group > 0.0:
            used.append((place(f"offset of {_group(o)}", o.u_group, False), False))
        if o.kind == "knife":
            used.append((place(f"slope of {_group(o)}", o.u_rail, o.u_rail == 0.0), True))
        elif o.u_rail > 0.0:
            used.append((place(f"slope of {_group(o)}", o.u_rail, False), True))
        uses.append(used)
    return list(places), sds, free, touching, uses


def _unit_rows(observations: Sequence[Observation], reel: Reel, t: NDArray[np.float64]) -> NDArray[np.float64]:
    count = reel.blade_count
    kinds = np.array([o.kind for o in observations], dtype=object)
    rows = np.zeros((len(observations), FIRST_BLADE + count))
    if not len(observations):
        return rows
    radial = np.isin(kinds, ("radius", "run-out", "rest gap"))
    rows[radial] = _radius_rows([o for o in observations if o.kind in ("radius", "run-out", "rest gap")], reel)
    resting = kinds == "rest gap"
    line = knife_line_rows(count, t)
    rows[resting] = line[resting] - rows[resting]
    frame, knife, shaft = kinds == "frame", kinds == "knife", kinds == "shaft"
    rows[frame] = line[frame]
    rows[frame, KNIFE_BOW] = 0.0
    rows[knife] = line[knife]
    rows[knife, FRAME_OUT] = 0.0
    if shaft.any():
        x = np.clip([o.x for o in observations if o.kind == "shaft"], 0.0, reel.length)
        theta = reel.angles(x)[0] + np.array([o.angle for o in observations if o.kind == "shaft"])
        part = np.zeros((int(shaft.sum()), rows.shape[1]))
        swing(part, t[shaft], np.cos(theta), np.sin(theta))
        rows[shaft] = part
    return rows


def _radius_rows(observations: Sequence[Observation], reel: Reel) -> NDArray[np.float64]:
    """Rows of r(x) averaged over each reading's blades, (n, 11+N)."""
    x = np.array([o.x for o in observations], dtype=np.float64)
    t = station(x, reel.length)
    rows = mean_radius_rows(reel.blade_count, t)
    shares = np.zeros((len(observations), reel.blade_count))
    for i, o in enumerate(observations):
        for blade in o.blades:
            shares[i, blade] += 1.0 / len(o.blades)
    theta = reel.angles(x).T
    swing(rows, t, (shares * np.cos(theta)).sum(axis=1), (shares * np.sin(theta)).sum(axis=1))
    rows[:, FIRST_BLADE:] = shares
    return rows
