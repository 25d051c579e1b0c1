"""The whole answer as plain data for a program: every number with its unit, nothing rounded."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from sparkout.core.measured import Measured
from sparkout.core.stance.given import figures
from sparkout.reckoning.answer import Untold

if TYPE_CHECKING:
    from sparkout.core.reel.simulated import Simulated
    from sparkout.core.reel.state import ReelState
    from sparkout.reckoning.answer import Answer, AsLeft, Diagnosis, Judged, Proof, Setting, Spin
    from sparkout.reckoning.bearings import BearingsFound
    from sparkout.reckoning.readings import Meaning
    from sparkout.reckoning.stance import StanceFound

VERSION = 1
_STANCE_ANGLES = {"approach_angle", "attitude", "attitude_level", "top_fall", "front_lean", "top_clearance"}
UNITS = {
    "length": "mm",
    "angle": "rad",
    "force": "N",
    "time": "s",
    "rotation": "rad/s",
    "torque": "N mm",
    "slowing": "rad/s²",
    "number": "",
    "fraction": "",
}
# Units of plan figures by name; lengths unless said otherwise. Ends in the unit so that no figure stands bare.
_UNITLESS = (
    "uncleaned_share", "chance_fully_clean", "spark_out_factor", "overlap", "turns", "divisions", "touched", "number",
    "passes", "passes_per_blade", "top_passes", "front_passes", "expected", "low", "high", "grinds_left", "life_used",
    "allowed", "uncleaned", "left_whole", "right_whole", "deviation", "give", "g_ratio", "chi_squared", "readings",
    "weight", "margin",
)  # fmt: skip
_NOT_LENGTHS = dict.fromkeys(_UNITLESS, "") | {
    "volume": "mm³", "time": "s", "power": "N mm/s", "removal_rate": "mm³/s", "specific_removal_rate": "mm²/s",
    "surface_speed": "mm/s", "marked_speed": "mm/s", "fastest_spindle": "rad/s", "top": "rad",
    "front": "rad", "included_angle": "rad", "approach_angle": "rad", "top_clearance": "rad", "seat_tilt": "rad",
}  # fmt: skip
_IN_ITS_OWN_UNIT = {("ClicksToClose", "left"): "clicks", ("ClicksToClose", "right"): "clicks"}
"""Figures whose name stands for another unit elsewhere."""


def as_data(answer: Answer) -> dict[str, Any]:
    """Return the answer as dictionaries, lists, numbers, text and booleans only."""
    unit = answer.visit.unit
    return {
        "sparkout_answer": VERSION,
        "unit": {"name": unit.name, "machine": unit.machine, "position": unit.position},
        "demonstration": bool(answer.visit.visit.demonstration),
        "readings": [_meaning(m) for m in answer.readings],
        "questions": [{"path": q.path, "line": q.line, "text": q.text} for q in answer.questions],
        "assumed": list(answer.assumed),
        "state": _diagnosis(answer.diagnosis),
        "verdicts": [_judged(j) for j in answer.judged],
        "bearings": None if answer.bearings is None else _bearings(answer.bearings),
        "spin": _part(answer.spin, _spin),
        "relief": _part(answer.relief, _plain),
        "knife": _part(answer.knife, _plain),
        "setting": _part(answer.setting, _setting),
        "stance": _part(answer.stance, stance_data),
        "paper": [_proof(p) for p in answer.proofs],
        "as_left": None if answer.as_left is None else _as_left(answer.as_left),
        "cautions": {step: [c.short for c in found] for step, found in answer.cautions.items() if found},
    }


def _part(part: Any, tell: Any) -> dict[str, Any]:
    if isinstance(part, Untold):
        return {"answered": False, "what": part.what, "wanted": part.wanted}
    return {"answered": True, **tell(part)}


def _measured(m: Measured | None, unit: str) -> dict[str, Any] | None:
    if m is None:
        return None
    low, high = m.interval()
    return {"value": m.value, "standard_uncertainty": m.u, "interval_95": [low, high], "unit": unit}


def _simulated(s: Simulated, unit: str = "mm") -> dict[str, Any]:
    return {
        "value": s.value.value,
        "standard_uncertainty": s.value.u,
        "interval_95": list(s.interval),
        "unit": unit,
    }


def _meaning(m: Meaning) -> dict[str, Any]:
    return {
        "path": m.path,
        "label": m.label,
        "gauge": m.gauge,
        "shown": m.shown,
        "when": m.when,
        "quantity": m.quantity,
        "means": _measured(m.measured, UNITS[m.kind]),
        "between": None if m.interval is None else list(m.interval),
        "why": m.why,
    }


def _of_state(state: ReelState, name: str, factor: float = 1.0) -> dict[str, Any]:
    m = state.quantity(name).measured()
    low, high = state.interval(name)
    return {
        "value": factor * m.value,
        "standard_uncertainty": factor * m.u,
        "interval_95": [factor * low, factor * high],
        "unit": "mm",
    }


def _diagnosis(found: Diagnosis) -> dict[str, Any]:
    state = found.state
    return {
        "mean_diameter": _of_state(state, "mean radius", 2.0),
        "cone_on_diameter": _of_state(state, "cone"),
        "barrel": _of_state(state, "barrel"),
        "frame_out": _of_state(state, "frame out"),
        "knife_bow": _of_state(state, "knife bow"),
        "run_out": [{"x_mm": x, **_simulated(s)} for x, s in found.run_out],
        "total_run_out": _simulated(found.total_run_out),
        "shaft_bend": _simulated(found.shaft_bend),
        "blade_heights": [_measured(h, "mm") for h in state.blade_heights],
        "lowest_point": {
            "radius_mm": found.lowest.radius.value,
            "standard_uncertainty_mm": found.lowest.radius.u,
            "interval_95_mm": list(found.lowest.interval),
            "blade": found.lowest.blade + 1,
            "chance_of_blade": found.lowest.chance,
            "region": found.lowest.region,
        },
        "measured": sorted(found.informed),
        "explanations": [
            {"faults": list(e.faults), "weight": e.weight, "work": sorted(e.work)} for e in state.explanations
        ],
        "cannot_tell_apart": [
            {
                "first": list(c.first.faults),
                "second": list(c.second.faults),
                "odds": c.odds,
                "reading_that_would": None if c.separation is None else c.separation.candidate.label,
            }
            for c in found.apart
        ],
        "outliers": [{"label": o.label, "standardised": o.standardised} for o in state.outliers],
        "map": {"stations_mm": found.stations.tolist(), "radius_mm": found.heights.tolist()},
    }


def _judged(j: Judged) -> dict[str, Any]:
    unit = UNITS[j.kind]
    verdict, next_reading = j.verdict, j.next_reading
    return {
        "quantity": j.quantity,
        "limit": {
            "at_least": j.limit.lower,
            "at_most": j.limit.upper,
            "unit": unit,
            "origin": j.limit.origin,
            "risk": j.limit.risk,
        },
        "found": _measured(j.measured, unit),
        "verdict": None if verdict is None else verdict.outcome,
        "probability_conforming": None if verdict is None else verdict.probability,
        "guard_band": None if verdict is None else {"value": verdict.guard_band, "unit": unit},
        "next_reading": None
        if next_reading is None
        else {
            "label": next_reading.candidate.label,
            "risk_before": next_reading.risk_before,
            "risk_after": next_reading.risk_after,
            "wrong_before": next_reading.wrong_before,
            "wrong_after": next_reading.wrong_after,
            "chance_decided": next_reading.chance_decided,
        },
        "note": j.note,
    }


def _bearings(found: BearingsFound) -> dict[str, Any]:
    return {
        "figures": [
            {"of": f.of, "side": f.side, "when": f.when, "is": _measured(f.measured, UNITS[f.kind])}
            for f in found.figures
        ],
        "against": [
            {
                "of": a.of,
                "side": a.side,
                "when": a.when,
                "against": a.base,
                "on": None if a.on is None else a.on.isoformat(),
                "now": _measured(a.now, UNITS[a.kind]),
                "then": _measured(a.then, UNITS[a.kind]),
                "difference": _measured(a.found.value, UNITS[a.kind]),
                "told_apart": a.found.told,
                "chance_larger": a.found.chance_larger,
                "times": _measured(a.ratio, ""),
            }
            for a in found.against
        ],
        "notes": list(found.notes),
    }


def _spin(spin: Spin) -> dict[str, Any]:
    return {**_plain(spin.plan), "service_diameter_mm": spin.service_diameter, "notes": list(spin.notes)}


def _setting(setting: Setting) -> dict[str, Any]:
    return _plain(setting)


def stance_data(found: StanceFound) -> dict[str, Any]:
    """Return how a unit stands as data, now and after the plan."""
    plan = found.plan
    return {
        "now": {name: _measured(one.measured, _unit_of(name)) for name, one in found.known.items()},
        "plan": None
        if plan is None
        else {
            "height_change": [_measured(m, "mm") for m in plan.height_change],
            "behind_centre_change": _measured(plan.behind_centre_change, "mm"),
            "front_roller_travel": [_measured(m, "mm") for m in plan.travel],
            "front_roller_turns": None if plan.turns is None else [_measured(m, "turns") for m in plan.turns],
            "wanted_height_mm": plan.wanted_height,
            "then": {name: {"value": value, "unit": _unit_of(name)} for name, value in figures(plan.stance).items()},
        },
        "notes": list(found.notes),
        "caution": found.caution,
    }


def _unit_of(name: str) -> str:
    return "rad" if name.rsplit(".", 1)[-1] in _STANCE_ANGLES else "mm"


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "when": proof.when,
        "explanations": [{"key": e.key, "words": e.words, "weight": e.weight} for e in proof.evidence.explanations],
        "next_check": proof.evidence.next_check.words,
        "sentences": list(proof.evidence.sentences),
        "cautions": list(proof.evidence.cautions),
    }


def _as_left(left: AsLeft) -> dict[str, Any]:
    return {
        "state": _diagnosis(left.diagnosis),
        "compared": [_plain(c) for c in left.compared],
        "learned": None if left.learned is None else _plain(left.learned),
        "verdicts": [_judged(j) for j in left.judged],
        "notes": list(left.notes),
    }


def _plain(value: Any) -> dict[str, Any]:
    """Return a result of the core with the unit at the end of each figure's name."""
    names = [f.name for f in dataclasses.fields(value)] if dataclasses.is_dataclass(value) else list(value._fields)
    found = {}
    for name in names:
        unit = _IN_ITS_OWN_UNIT.get((type(value).__name__, name)) or _NOT_LENGTHS.get(name, "mm")
        key, told = _named(name, getattr(value, name), unit)
        found[key] = told
    return found


def _named(name: str, value: Any, unit: str) -> tuple[str, Any]:
    """Return (name with its unit, plain value) of one figure, whatever it is made of."""
    suffix = f"_{_ASCII.get(unit, unit)}" if unit else ""
    told: Any = value
    if isinstance(value, Measured):
        told, suffix = _measured(value, unit), ""
    elif isinstance(value, np.ndarray):
        told = value.tolist()
    elif isinstance(value, float | int) and not isinstance(value, bool):
        told = value if math.isfinite(value) else None
    elif dataclasses.is_dataclass(value) or hasattr(value, "_fields"):
        told, suffix = _plain(value), ""
    elif isinstance(value, tuple | list):
        told, suffix = [_named(name, item, unit)[1] for item in value], ""
    else:
        suffix = ""
    return name + suffix, told


_ASCII = {
    "mm³": "mm3",
    "mm/s": "mm_per_s",
    "rad/s": "rad_per_s",
    "mm³/s": "mm3_per_s",
    "mm²/s": "mm2_per_s",
    "N mm/s": "N_mm_per_s",
}
