"""Knife to reel after the work: clicks, attitude, height of cut; and paper proofs read as evidence."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.core.setting.clicks import attitude_change, clicks_to_close, gap_per_click
from sparkout.core.setting.height import EdgeShift, edge_shift, height_effect
from sparkout.core.setting.paper import read_paper
from sparkout.core.setting.paper_grid import paper_grid
from sparkout.core.setting.pivot import knife_on_reel
from sparkout.reckoning.answer import Proof, Setting, Spin, Untold
from sparkout.reckoning.given import PRACTICE
from sparkout.reckoning.readings import read_gap

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.bedknife.life import KnifePlan
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.setting.clicks import AttitudeChange, ClicksToClose
    from sparkout.core.setting.height import HeightEffect
    from sparkout.core.setting.paper import PaperEvidence
    from sparkout.core.setting.paper_grid import PaperGrid
    from sparkout.core.setting.pivot import KnifeOnReel
    from sparkout.reckoning.answer import Diagnosis
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import When

USUAL_GAP = 0.03


def wanted_gap(given: Given) -> float:
    """Return the gap to set, as wanted."""
    limit = given.limit("gap")
    if given.visit.wanted.gap is None and limit is not None and limit.upper is not None:
        return (limit.upper + (limit.lower or 0.0)) / 2
    return given.or_else(
        given.visit.wanted.gap,
        USUAL_GAP,
        phrase("gap to set {gap} mm ({practice})", gap=USUAL_GAP, practice=PRACTICE),
    )


def stage(given: Given) -> When:
    """Return the stage whose gaps are to be set from: as left when gaps were read then, else as found."""
    return "as left" if given.readings("gap", "as left") else "as found"


def setting(
    given: Given, reel: Reel, diagnosis: Diagnosis, spin: Spin | Untold, knife: KnifePlan | Untold
) -> Setting | Untold:
    """Return how to set the knife, as far as the file allows."""
    wanted = wanted_gap(given)
    notes: list[str] = []
    per_click = _per_click(given, notes)
    if per_click is not None and per_click > wanted:
        notes.append(
            phrase("One click is more than the gap to set: the adjuster may come no nearer than half a click.")
        )
    clicks = _clicks(given, reel, diagnosis, wanted, per_click, notes)
    stand = knife_stand(given, reel, diagnosis)
    if stand is None and pivot(given) is None:
        notes.append(
            phrase("Bedknife's pivot (behind, below, arm) is not on file: attitude and clearance are not told.")
        )
    elif stand is None:
        notes.append(phrase("Bedknife's pivot as entered does not fit the reel: attitude and clearance are not told."))
    attitude = _attitude(given, reel, diagnosis, spin, wanted, notes) if stand is not None else None
    height = _height(given, diagnosis, stand, spin, knife, notes)
    if per_click is None and clicks is None and stand is None and height is None:
        wants = phrase("the adjuster's thread pitch and clicks per turn, or the knife's pivot (behind, below, arm)")
        return Untold(phrase("the setting"), wants)
    return Setting(per_click, clicks, stand, attitude, height, wanted, tuple(notes))


def _per_click(given: Given, notes: list[str]) -> float | None:
    spec = given.visit.knife
    if spec.thread_pitch is None or spec.clicks_per_turn is None:
        return None
    ratio = given.or_else(spec.lever_ratio, 1.0, phrase("knife adjuster without a lever (ratio 1)"))
    try:
        return gap_per_click(float(spec.thread_pitch), spec.clicks_per_turn, ratio)
    except Refusal as refusal:
        notes.append(phrase("The knife's adjuster: {refusal}.", refusal=refusal))
        return None


def _clicks(
    given: Given, reel: Reel, diagnosis: Diagnosis, wanted: float, per_click: float | None, notes: list[str]
) -> ClicksToClose | None:
    when = stage(given)
    placed = sorted(
        ((r.at.along(reel.length), read_gap(r, given.reading_u(r))) for r in given.readings("gap", when) if r.at),
        key=lambda entry: entry[0],
    )
    if per_click is None:
        return None
    if not placed or placed[0][0] == placed[-1][0]:
        notes.append(phrase("Read the set gap at both ends (leaf that goes, leaf that does not) to get the clicks."))
        return None
    (left_at, left), (right_at, right) = placed[0], placed[-1]
    spacing = given.visit.knife.adjuster_spacing
    adjusters = None
    if spacing is not None:
        aside = (float(spacing) - reel.length) / 2
        adjusters = (-aside, reel.length + aside)
    bow = diagnosis.state.knife_bow.value - diagnosis.state.barrel.value if when == "as found" else 0.0
    places = (left_at, right_at)
    try:
        return clicks_to_close(
            (left, right), wanted, per_click, length=reel.length, stations=places, adjusters=adjusters, bow=bow
        )
    except Refusal as refusal:
        notes.append(phrase("Clicks: {refusal}.", refusal=refusal))
        return None


def diameter_now(given: Given, reel: Reel, diagnosis: Diagnosis) -> float:
    """Return the mean diameter as read, else as specified (written down)."""
    if "mean radius" in diagnosis.informed:
        return 2 * diagnosis.state.mean_radius.value
    given.assume(phrase("reel's diameter as specified when new, because none was read"))
    return reel.diameter


def pivot(given: Given) -> tuple[float, float, float] | None:
    """Return the knife's pivot (behind, below) and arm, or None when not on file."""
    spec = given.visit.knife
    if spec.pivot_behind is None or spec.pivot_below is None or spec.arm is None:
        return None
    return float(spec.pivot_behind), float(spec.pivot_below), float(spec.arm)


def knife_stand(given: Given, reel: Reel, diagnosis: Diagnosis) -> KnifeOnReel | None:
    """Return where the edge stands on the reel as found, or None when the pivot is not on file or does not fit."""
    at = pivot(given)
    if at is None:
        return None
    try:
        return knife_on_reel(diameter_now(given, reel, diagnosis), *at, wanted_gap(given))
    except Refusal as refusal:
        given.assume(
            phrase(
                "the bedknife's pivot as entered does not fit the reel ({refusal}); attitude is left out",
                refusal=refusal,
            )
        )
        return None


def _attitude(
    given: Given, reel: Reel, diagnosis: Diagnosis, spin: Spin | Untold, wanted: float, notes: list[str]
) -> AttitudeChange | None:
    """Change of the knife's stand when it is brought to the reel as ground: closing a gap opened by the radius lost."""
    at = pivot(given)
    if at is None or isinstance(spin, Untold):
        return None
    loss = diameter_now(given, reel, diagnosis) / 2 - spin.plan.finish_radius.value
    try:
        return attitude_change(spin.plan.finish_diameter.value, *at, wanted + loss, wanted)
    except Refusal as refusal:
        notes.append(phrase("On the reel as ground the pivot as entered does not fit: {refusal}.", refusal=refusal))
        return None


def _height(
    given: Given,
    diagnosis: Diagnosis,
    stand: KnifeOnReel | None,
    spin: Spin | Untold,
    knife: KnifePlan | Untold,
    notes: list[str],
) -> HeightEffect | None:
    pattern = given.visit.unit.pattern
    if isinstance(spin, Untold):
        return None
    if pattern is None or stand is None:
        notes.append(
            phrase(
                "Which part the adjuster moves, and the knife's pivot, are needed to tell the effect on height of cut."
            )
        )
        return None
    spec = given.visit.knife
    shift = EdgeShift(0.0, 0.0)
    if not isinstance(knife, Untold):
        angles = float(spec.top_angle or 0.0), float(spec.front_angle or 0.0), float(spec.seat_tilt or 0.0)
        shift = edge_shift(knife.top_stock, knife.front_stock, *angles)
    diameter = 2 * diagnosis.state.mean_radius.value
    pitch = given.visit.height.adjuster_pitch
    try:
        return height_effect(
            pattern,
            diameter,
            stand.behind_centre,
            diameter / 2 - spin.plan.finish_radius.value,
            shift=shift,
            pivot=(float(spec.pivot_behind or 0.0), float(spec.pivot_below or 0.0)) if pattern == "knife up" else None,
            adjuster_pitch=None if pitch is None else float(pitch),
        )
    except Refusal as refusal:
        notes.append(phrase("Effect on height of cut: {refusal}", refusal=refusal))
        return None


def proofs(given: Given, reel: Reel, diagnosis: Diagnosis) -> tuple[Proof, ...]:
    """Return each paper proof read as evidence, against the gauged shape where there is one."""
    found = []
    for proof in given.visit.paper:
        if not any(any(row) for row in proof.outcomes):
            continue
        placed = sorted(
            range(len(proof.stations)), key=lambda i: proof.stations[i].along(reel.length)
        )  # as people enter
        stations = tuple(proof.stations[i] for i in placed)
        rows = tuple("".join(row[i] for i in placed) for row in proof.rows)
        at = np.array([place.along(reel.length) for place in stations])
        missing = ("-" * len(at),) * (reel.blade_count - len(rows))  # blades not tried yet
        thickness = None if proof.thickness is None else float(proof.thickness)
        square = None if proof.direction is None else proof.direction == "square to the knife"
        tried = _Tried((*rows, *missing), tuple(at.tolist()), reel, thickness, square)
        try:
            tried.grid()
        except Refusal as refusal:
            given.assume(
                phrase(
                    "the paper proof {when} cannot be read as entered and is left out: {refusal}",
                    when=proof.when,
                    refusal=refusal,
                )
            )
            continue
        gauged = diagnosis if proof.when == "as found" and "blades" in diagnosis.informed else None
        evidence = _evidence(tried, wanted_gap(given), gauged)
        outcomes = tuple(tuple(row[i] for i in placed) for row in proof.outcomes)
        found.append(Proof(proof.when, stations, outcomes, evidence))
    return tuple(found)


class _Tried(NamedTuple):
    """A paper proof as numbers."""

    rows: tuple[str, ...]
    at: tuple[float, ...]
    reel: Reel
    thickness: float | None
    square: bool | None

    def grid(self) -> PaperGrid:
        """Return it as the paper's room takes it."""
        return paper_grid(self.rows, np.array(self.at), self.reel, thickness=self.thickness, square=self.square)


@lru_cache(32)
def _evidence(tried: _Tried, aim: float, gauged: Diagnosis | None) -> PaperEvidence:
    """Remembered by everything that goes in: a proof after the work does not change with a reading before it."""
    deviation = spread = None
    if gauged is not None:
        heights, sd = gauged.state.radius_map(np.array(tried.at))
        deviation, spread = heights - heights.mean(), sd_about_mean(sd, gauged)
    return read_paper(tried.grid(), tried.reel, wanted_gap=aim, deviation=deviation, deviation_sd=spread)


def sd_about_mean(sd: NDArray[np.float64], diagnosis: Diagnosis) -> NDArray[np.float64]:
    """Return the standard deviation of heights about their mean: the doubt in the mean radius itself drops out."""
    common = diagnosis.state.mean_radius.u
    about: NDArray[np.float64] = np.sqrt(np.maximum(sd**2 - common**2, 1e-6))
    return about
