"""Key figures of the coned demonstration unit as they came out before: a guard that something moved, proof of nothing.

When a figure moves on purpose, write the file anew (`python -m tests.frozen.test_coned_unit`) and say so in CHANGELOG
under "Numbers that changed".
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.reckoning.answers import answer_of

from sparkout.reckoning.answer import Untold

KEPT = Path(__file__).with_name("coned.json")


def figures() -> dict[str, float | str]:
    """Rounded to about a tenth of what the job can see."""
    answer = answer_of("coned")
    state = answer.diagnosis.state
    assert not isinstance(answer.spin, Untold)
    assert not isinstance(answer.relief, Untold)
    assert not isinstance(answer.knife, Untold)
    assert not isinstance(answer.setting, Untold)
    plan = answer.spin.plan
    return {
        "explanation": " and ".join(state.explanations[0].faults),
        "weight": round(state.explanations[0].weight, 2),
        "mean diameter, mm": round(2 * state.mean_radius.value, 3),
        "cone, mm": round(state.cone.value, 3),
        "cone's u, mm": round(state.cone.u, 3),
        "barrel, mm": round(state.barrel.value, 4),
        "run-out at the centre, mm": round(answer.diagnosis.run_out[1][1].value.value, 3),
        "finish diameter, mm": round(plan.finish_diameter.value, 3),
        "passes": len(plan.passes),
        "spin time, s": round(plan.time),
        "adjuster turns": round(plan.set_up.move.turns, 2),
        "land after at the right, mm": round(plan.land[2].after.value, 3),
        "relief passes a blade": answer.relief.passes_per_blade,
        "knife face": str(answer.knife.face),
        "gap per click, mm": round(answer.setting.gap_per_click or 0.0, 4),
        "verdicts": ", ".join(f"{j.quantity}: {j.verdict.outcome if j.verdict else '-'}" for j in answer.judged),
    }


def test_nothing_moved() -> None:
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    now = figures()
    assert now.keys() == kept.keys()
    for name, figure in now.items():
        if isinstance(figure, float):
            # a figure from draws may differ in its last place on another machine
            assert figure == pytest.approx(kept[name], abs=1.5 * 10.0 ** -len(str(kept[name]).partition(".")[2])), name
        else:
            assert figure == kept[name], name


if __name__ == "__main__":
    KEPT.write_text(json.dumps(figures(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
