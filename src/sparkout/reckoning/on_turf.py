"""A machine on the turf, without a visit: its clip, its mowing, what makes its ribs, and the strip it leaves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TypeVar

from sparkout.core.cut.band import ClipBand, clip_band
from sparkout.core.cut.clip import clip_land_drive, cuts_per_length, reel_speed_for_clip
from sparkout.core.cut.drive import (
    ratio_for_clip,
    reel_speed_belt,
    reel_speed_electric,
    reel_speed_hydraulic,
    reel_speed_land_drive,
    travel_speed_for_clip,
)
from sparkout.core.cut.growth import MowingPlan, mowing_plan
from sparkout.core.cut.running import Running, running
from sparkout.core.errors import Refusal
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.reckoning.answer import Untold

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.core.reel.state import ReelState
    from sparkout.core.ribs.finder import NextStretch, RibFinding
    from sparkout.core.ribs.stubble_map import StubbleMap

T = TypeVar("T")
Drive = Literal["counted", "belt", "hydraulic", "electric", "from the roller"]
NEEDED: dict[str, tuple[str, ...]] = {
    "counted": ("reel_speed",),
    "belt": ("engine_speed", "driving_pulley", "driven_pulley"),
    "hydraulic": ("flow", "displacement", "efficiency"),
    "electric": ("no_load_speed", "stall_torque", "reel_torque"),
    "from the roller": ("driving_roller", "ratio"),
}
"""What each kind of drive must say for the reel's speed."""
STEP, LONGEST, WIDE = 0.5, 1600.0, 240.0
"""The strip drawn: mm from place to place, longest, and as wide (of the left end): drawn within a second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurfFigures:
    """What a person knows of a machine at work, in core units; None: not said."""

    blades: int | None = None
    travel_speed: float | None = None
    drive: Drive = "counted"
    reel_speed: float | None = None
    engine_speed: float | None = None
    driving_pulley: float | None = None
    driven_pulley: float | None = None
    belt_slip: float | None = None
    flow: float | None = None
    displacement: float | None = None
    efficiency: float | None = None
    no_load_speed: float | None = None
    stall_torque: float | None = None
    reel_torque: float | None = None
    driving_roller: float | None = None
    ratio: float | None = None
    slip: float | None = None
    speed_uncertainty: float | None = None
    """Share by which the speeds may be off."""
    reel_diameter: float | None = None
    helix: float | None = None
    of_cut: float | None = None
    finest_share: float | None = None
    coarsest_share: float | None = None
    origin: str = ""
    wanted_clip: float | None = None
    growth: float | None = None
    interval: float | None = None
    share: float | None = None
    pitch: float | None = None
    pitch_uncertainty: float | None = None
    front_roller: float | None = None
    rear_roller: float | None = None
    bounce: float | None = None
    slowest: float | None = None
    fastest: float | None = None
    standing_grass: float | None = None
    low_blade: float | None = None
    bobbing: float | None = None

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of what is still wanted before anything can be told."""
        return tuple(name for name in ("blades", "travel_speed", *NEEDED[self.drive]) if getattr(self, name) is None)


class Inverse(NamedTuple):
    """What would give the clip wanted: travel (mm/s), reel speed (rad/s); on a land drive the ratio."""

    clip: float
    travel: float | None
    reel: float | None
    ratio: float | None


class Ribs(NamedTuple):
    """What makes the ribs, and the stretch to mow next."""

    finding: RibFinding
    pitch: Measured
    next: NextStretch


@dataclass(frozen=True, slots=True)
class OnTurf:
    """All that follows; a part not asked for is None, one that cannot be is `Untold`."""

    given: TurfFigures
    reel_speed: float
    """rad/s."""
    running: Running
    band: ClipBand | Untold | None
    inverse: Inverse | Untold | None
    mowing: MowingPlan | Untold | None
    ribs: Ribs | Untold | None
    strip: StubbleMap | Untold | None
    measured: bool
    """Whether the strip is mown with a reel as measured."""


def on_turf(given: TurfFigures, state: ReelState | None = None) -> OnTurf:
    """Return everything that follows from what is known of a machine at work.

    Parameters
    ----------
    given
        Its figures.
    state
        The reel as measured on the bench, for the strip it leaves.

    Raises
    ------
    Refusal
        When the clip itself cannot be told; every other part that cannot be is `Untold`.
    """
    band = _part(phrase("the band of clip"), lambda: _band(given))
    reel = _reel_speed(given)
    share = 0.02 if given.speed_uncertainty is None else given.speed_uncertainty
    travel = _told(given.travel_speed)
    own = band if isinstance(band, ClipBand) else None
    found = running(Measured(travel, share * travel), int(given.blades or 0), Measured(reel, share * reel),
                    given.reel_diameter, own)  # fmt: skip
    if given.drive == "from the roller":
        found = _geared(given, found)
    clip = found.clip.value
    return OnTurf(
        given, reel, found, band,
        _part(phrase("what gives the clip wanted"), lambda: _inverse(given, reel)),
        _part(phrase("how often to mow"), lambda: _mowing(given)),
        _part(phrase("what makes the ribs"), lambda: _ribs(given, reel, share)),
        _part(phrase("the strip it leaves"), lambda: _strip(given, reel, clip, state)),
        state is not None,
    )  # fmt: skip


def _part(what: str, made: Callable[[], T]) -> T | Untold:
    try:
        return made()
    except Refusal as refusal:
        return Untold(what, refusal.words)


def _told(value: float | None) -> float:
    return 0.0 if value is None else value


def _reel_speed(given: TurfFigures) -> float:
    if given.drive == "belt":
        return reel_speed_belt(_told(given.engine_speed), _told(given.driving_pulley), _told(given.driven_pulley),
                               slip=_told(given.belt_slip))  # fmt: skip
    if given.drive == "hydraulic":
        return reel_speed_hydraulic(_told(given.flow), _told(given.displacement), _told(given.efficiency))
    if given.drive == "electric":
        return reel_speed_electric(_told(given.no_load_speed), _told(given.stall_torque), _told(given.reel_torque))
    if given.drive == "from the roller":
        return reel_speed_land_drive(
            _told(given.travel_speed), _told(given.driving_roller), _told(given.ratio), _told(given.slip)
        )
    return _told(given.reel_speed)


def _geared(given: TurfFigures, found: Running) -> Running:
    """The clip of a land drive does not go with travel: only the slip and the roller make it uncertain."""
    clip = clip_land_drive(_told(given.driving_roller), _told(given.ratio), int(given.blades or 0), _told(given.slip))
    share = math.hypot(0.005, 0.02 / (1.0 + _told(given.slip)))  # roller; slip of a drive nobody counted
    cuts = cuts_per_length(clip)
    return Running(Measured(clip, clip * share), Measured(cuts, cuts * share), found.tip_speed, found.band, None)


def _band(given: TurfFigures) -> ClipBand | None:
    if given.of_cut is None or given.finest_share is None or given.coarsest_share is None:
        return None
    return clip_band(given.of_cut, given.finest_share, given.coarsest_share, given.origin or "-")


def _inverse(given: TurfFigures, reel: float) -> Inverse | None:
    if given.wanted_clip is None:
        return None
    clip, blades = given.wanted_clip, int(given.blades or 0)
    if given.drive == "from the roller":
        return Inverse(clip, None, None, ratio_for_clip(_told(given.driving_roller), blades, clip, _told(given.slip)))
    return Inverse(
        clip,
        travel_speed_for_clip(reel, blades, clip),
        reel_speed_for_clip(_told(given.travel_speed), blades, clip),
        None,
    )


def _mowing(given: TurfFigures) -> MowingPlan | None:
    if given.growth is None or (given.interval is None and given.share is None):
        return None
    return mowing_plan(given.growth, height=given.of_cut, interval=given.interval, share=given.share)


def _ribs(given: TurfFigures, reel: float, share: float) -> Ribs | None:
    if given.pitch is None:
        return None
    from sparkout.core.ribs.finder import find_ribs, next_stretch, settings_within
    from sparkout.core.ribs.machine import BOUNCE, LandDrive, Machine, OwnSpeed, Setting, Stretch

    travel = _told(given.travel_speed)
    there = {phrase("front roller"): given.front_roller, phrase("rear roller"): given.rear_roller}
    rollers: dict[str, Measured] = {name: Measured(d, 0.01 * d) for name, d in there.items() if d is not None}
    geared = given.drive == "from the roller"
    roller = _told(given.driving_roller)
    drive = (
        LandDrive(Measured(roller, 0.005 * roller), _told(given.ratio), Measured(_told(given.slip), 0.02))
        if geared
        else OwnSpeed()
    )
    bounce = BOUNCE if given.bounce is None else Measured(given.bounce, given.bounce / 3.0)
    setting = Setting(Measured(travel, share * travel), None if geared else Measured(reel, share * reel))
    u = 0.02 * given.pitch if given.pitch_uncertainty is None else given.pitch_uncertainty
    pitch = Measured(given.pitch, u)
    finding = find_ribs(Machine(int(given.blades or 0), drive, rollers, bounce=bounce), [Stretch(pitch, setting)])
    ends = given.slowest or 0.6 * travel, given.fastest or 1.3 * travel
    return Ribs(finding, pitch, next_stretch(finding, settings_within(finding, ends))[0])


def _strip(given: TurfFigures, reel: float, clip: float, state: ReelState | None) -> StubbleMap | None:
    if given.standing_grass is None or given.of_cut is None or (given.reel_diameter is None and state is None):
        return None
    import numpy as np

    from sparkout.core.reel.geometry import Reel
    from sparkout.core.ribs.as_set import gaps_as_set
    from sparkout.core.ribs.stubble_map import Mowing, Wave, stubble_map

    blades, travel = int(given.blades or 0), _told(given.travel_speed)
    if state is None:
        made = Reel(blades, _told(given.reel_diameter), WIDE, _told(given.helix))
        gap = np.zeros((blades, 2))
        gap[0] += _told(given.low_blade)
        places = np.array([0.0, WIDE])
    else:
        made = state.reel
        as_set = gaps_as_set(state)
        places, gap = as_set.stations, np.array(as_set.gap)
        gap[0] += _told(given.low_blade)
    waves: tuple[Wave, ...] = ()
    if given.bobbing:
        hertz = 3.0 if given.bounce is None else given.bounce
        waves = (Wave(given.bobbing, travel / hertz),)
    mowing = Mowing(travel, reel, given.of_cut, given.of_cut, given.standing_grass, waves)
    long = min(LONGEST, max(600.0, 5.0 * clip * blades))
    return stubble_map(made, gap, places, mowing, travelled=long, step=min(STEP, 0.25 * clip),
                       width=min(WIDE, made.length))  # fmt: skip


def on_turf_data(found: OnTurf) -> dict[str, Any]:
    """Return it as data, the strip left out: mm, mm/s, rad/s, s; what could not be told says why. Nothing rounded."""
    running = found.running
    return {
        "reel_speed": found.reel_speed,
        "clip": _known(running.clip),
        "cuts_per_mm": _known(running.cuts),
        "tip_speed": _known(running.tip_speed),
        "chance_within_band": running.chance_within,
        "band": _part_data(found.band, lambda band: {"finest": band.finest, "coarsest": band.coarsest,
                                                     "origin": band.origin, "lies": band.lies(running.clip.value)}),
        "for_clip": _part_data(found.inverse, lambda one: one._asdict()),
        "mowing": _part_data(found.mowing, lambda plan: {"height": plan.height, "interval": plan.interval,
                                                         "growth": plan.growth, "share": plan.share}),
        "ribs": _part_data(found.ribs, _ribs_data),
    }  # fmt: skip


def _ribs_data(ribs: Ribs) -> dict[str, Any]:
    ranked = ribs.finding.weighed
    causes = [{"kind": w.cause.kind, "name": w.cause.name, "chance": w.chance, "pitch": w.pitch} for w in ranked]
    setting = ribs.next.setting
    reel = None if setting.reel_speed is None else setting.reel_speed.value
    following = {"travel_speed": setting.travel_speed.value, "reel_speed": reel, "tells_apart": ribs.next.tells_apart}
    return {"pitch": _known(ribs.pitch), "causes": causes, "next": following, "standing": ribs.finding.standing}


def _known(value: Measured | None) -> dict[str, float] | None:
    return None if value is None else {"value": value.value, "standard_uncertainty": value.u}


def _part_data(part: T | Untold | None, told: Callable[[T], dict[str, Any]]) -> dict[str, Any] | None:
    if part is None:
        return None
    return {"why_not": part.wanted} if isinstance(part, Untold) else told(part)
