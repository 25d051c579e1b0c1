"""What if: other choices for the grind, answered beside the plan as it stands. Nothing is kept until asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.given import Given
from sparkout.reckoning.grind import grinder
from sparkout.records.checked import checked_table
from sparkout.visit.sections import GrinderSection, WantedSection
from sparkout.web.visit.reckoned import Reckoned

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.reckoning.answer import Answer
    from sparkout.showing import Showing
    from sparkout.visit.schema import Visit
    from sparkout.web.visit.bench import Bench

RELIEF = (
    ("if due", phrase("when the limit asks for it")),
    ("yes", phrase("in any case")),
    ("no", phrase("not this time")),
)
USUAL_ALLOWANCE = 0.02
"""Where the slider stands when no allowance is on file, mm: what the reckoning then takes."""
_WANTED = ("uncleaned_share", "allowance", "relief")
_GRINDER = ("rough_infeed", "finish_infeed")


@dataclass(frozen=True, slots=True)
class Choices:
    """What may be chosen, as typed: entries of [wanted] and of [grinder]."""

    wanted: dict[str, Any]
    grinder: dict[str, Any]

    @property
    def tables(self) -> dict[str, dict[str, Any]]:
        """The choices as a kept plan holds them."""
        return {name: table for name, table in (("wanted", self.wanted), ("grinder", self.grinder)) if table}


def choices_from(sent: Mapping[str, str]) -> Choices:
    """Return the choices a form sends, checked by the visit file's own declarations.

    Raises
    ------
    Refusal
        Naming what is out of range.
    """
    typed = {key: sent[key].strip() for key in (*_WANTED, *_GRINDER) if sent.get(key, "").strip()}
    for key, unit in (
        ("uncleaned_share", " %"),
        ("allowance", " mm"),
        ("rough_infeed", " mm"),
        ("finish_infeed", " mm"),
    ):
        if key in typed and typed[key].replace(".", "", 1).isdigit():
            typed[key] += unit
    wanted = checked_table("wanted", {key: typed[key] for key in _WANTED if key in typed})
    return Choices(wanted, checked_table("grinder", {key: typed[key] for key in _GRINDER if key in typed}))


@dataclass(frozen=True, slots=True)
class Slider:
    """One choice that can be moved: in mm or per cent, whatever the page shows beside it."""

    name: str
    title: str
    least: float
    most: float
    step: float
    value: float
    told: str


def sliders(bench: Bench, chosen: Choices | None = None) -> tuple[Slider, ...]:
    """Return the choices as they stand, or as chosen."""
    file = bench.file if chosen is None else with_choices(bench.file, chosen)
    given = Given(file)
    machine, wish, showing = grinder(given, given.reel()), file.wanted, bench.showing
    share = float(wish.uncleaned_share or 0.0)
    allowance = USUAL_ALLOWANCE if wish.allowance is None else float(wish.allowance)
    lengths = (
        ("allowance", phrase("Clean-up below the lowest point"), 0.0, 0.2, 0.005, allowance),
        ("rough_infeed", phrase("Rough infeed"), 0.005, 0.1, 0.005, machine.rough_infeed),
        ("finish_infeed", phrase("Finish infeed"), 0.0025, 0.05, 0.0025, machine.finish_infeed),
    )
    moved = [Slider(*entry, showing.length(entry[-1])) for entry in lengths]
    return Slider(
        "uncleaned_share", phrase("May stay unground"), 0, 20, 1, round(100 * share), showing.share(share)
    ), *moved


def with_choices(file: Visit, choices: Choices) -> Visit:
    """Return the visit as it would be with these choices."""
    wanted = WantedSection.model_validate({**file.wanted.model_dump(exclude_none=True), **choices.wanted})
    machine = GrinderSection.model_validate({**file.grinder.model_dump(exclude_none=True), **choices.grinder})
    return file.model_copy(update={"wanted": wanted, "grinder": machine})


@dataclass(frozen=True, slots=True)
class Line:
    """One figure as planned and as it would be."""

    what: str
    planned: str
    would: str

    @property
    def differs(self) -> bool:
        """Whether the choice changes it."""
        return self.planned != self.would


def compared(bench: Bench, choices: Choices) -> tuple[Line, ...] | str:
    """Return the figures side by side, or why there are none.

    Errors: a refusal of the reckoning comes back as its text.
    """
    if not choices.tables:
        would: Answer | str = bench.answer or bench.trouble_after
    else:
        try:
            would = Reckoned(with_choices(bench.file, choices), timezone.localdate()).answer
        except Refusal as refusal:
            return bench.showing.say(refusal.words)
    if isinstance(would, str) or bench.answer is None:
        return bench.showing.say(would if isinstance(would, str) else phrase("nothing is known yet"))
    planned, other = _figures(bench.answer, bench.showing), _figures(would, bench.showing)
    if isinstance(other, str):
        return other
    base = planned if isinstance(planned, dict) else dict.fromkeys(other, "-")
    return tuple(Line(bench.showing.say(what), base[what], told) for what, told in other.items())


def _figures(answer: Answer, showing: Showing) -> dict[str, str] | str:
    if isinstance(answer.spin, Untold):
        return showing.say(
            phrase("No answer yet on {what}; wanted: {wanted}.", what=answer.spin.what, wanted=answer.spin.wanted)
        )
    plan = answer.spin.plan
    clean = plan.chance_fully_clean
    found: dict[str, str] = {
        phrase("Passes"): str(len(plan.passes)),
        phrase("Time of traverse"): showing.duration(plan.time),
        phrase("Finish diameter"): showing.measured(plan.finish_diameter),
        phrase("Off the radius, highest"): showing.length(plan.heaviest_stock),
        phrase("Edge left unground"): showing.share(plan.uncleaned_share, 1),
        phrase("Chance that all cleans up"): "-" if clean is None else showing.probability(clean),
        phrase("Diameter above service limit"): showing.measured(plan.above_service),
        phrase("Grinds like it left"): showing.say(
            phrase(
                "{expected} ({low} to {high})",
                expected=plan.grinds_left.expected,
                low=plan.grinds_left.low,
                high=plan.grinds_left.high,
            )
        ),
        phrase("Land after spin, widest"): showing.measured(max((p.after for p in plan.land), key=lambda m: m.value)),
    }
    if isinstance(answer.relief, Untold):
        found[phrase("Relief grind")] = showing.say(phrase("none"))
    else:
        passes, time = answer.relief.passes_per_blade, AsTyped(showing.duration(answer.relief.time))
        found[phrase("Relief grind")] = showing.say(
            phrase("{passes_per_blade} passes a blade, {time}", passes_per_blade=passes, time=time)
        )
    if not isinstance(answer.setting, Untold) and answer.setting.height is not None:
        change = answer.setting.height.height_change
        way = AsTyped(showing.length(abs(change)))
        told = phrase("rises {way}", way=way) if change > 0 else phrase("falls {way}", way=way)
        found[phrase("Height of cut")] = showing.say(told)
    return found
