"""The whole answer in words, in the order of the work."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sparkout.core.measured import Measured
from sparkout.core.phrase import joined, phrase, starting_large
from sparkout.reckoning.answer import Untold
from sparkout.telling import after, finding, work
from sparkout.telling.bearings import told_bearings
from sparkout.telling.section import Section, keeping

if TYPE_CHECKING:
    from sparkout.reckoning.answer import Answer, Found
    from sparkout.showing import Showing

ADVICE = phrase(
    "Sparkout advises; a person decides and signs. The machine's handbook, local rules and licensed "
    "practice come first."
)
DEMONSTRATION = phrase("DEMONSTRATION: unit, readings and people are invented.")
GRINDING = ("spin", "set up", "passes", "relief", "knife")
GRINDABLE = ("cone", "barrel", "run-out", "total run-out", "land")
TOLD_APART = 0.03
"""How much weight an explanation must gain from company before both weights are told."""


def tell(answer: Answer, showing: Showing) -> tuple[Section, ...]:
    """Return every section of the answer; a caution is told where it first applies, and pointed back to after."""
    showing = keeping(answer, showing)
    return _each_caution_once(
        (
            summary(answer, showing),
            *_questions(answer, showing),
            finding.readings(answer, showing),
            *told_bearings(answer, showing),
            finding.state(answer, showing),
            finding.verdicts(answer, showing),
            *work.spin(answer, showing),
            work.relief(answer, showing),
            work.knife(answer, showing),
            work.setting(answer, showing),
            work.proof(answer, showing),
            *after.after(answer, showing),
            sources(answer, showing),
        ),
        showing,
    )


def _each_caution_once(sections: tuple[Section, ...], showing: Showing) -> tuple[Section, ...]:
    """Return the sections with a grinding caution told at the first grinding step only, and that step named after.

    Elsewhere a caution is repeated: whoever only sets or proves must not have to look it up.
    """
    told: dict[str, str] = {}
    found = []
    for section in sections:
        if section.key not in GRINDING:
            found.append(section)
            continue
        fresh = tuple(caution for caution in section.cautions if caution not in told)
        earlier = dict.fromkeys(told[caution] for caution in section.cautions if caution in told)
        told |= dict.fromkeys(fresh, section.title)
        named = phrase("What is said under {earlier} applies here too.", earlier=joined(" and under ", earlier))
        pointer = (showing.say(named),) if earlier else ()
        found.append(replace(section, cautions=pointer + fresh))
    return tuple(found)


def summary(answer: Found, showing: Showing) -> Section:
    """What is wrong, how sure that is, and what to do, in a few sentences."""
    lines: list[str] = [_what_is_wrong(answer, showing), *_what_to_do(answer, showing)]
    return Section("summary", phrase("In short"), tuple(lines), (), work.cautions(answer, "take in")[:2]).said(showing)


def _what_is_wrong(answer: Found, showing: Showing) -> str:
    found = answer.diagnosis
    if not found.state.observations:
        return phrase("No reading of the reel yet, so nothing is known of it beyond its specification.")
    leading = found.state.explanations[0]
    words = finding.explanation_words(leading)
    weight = showing.probability(leading.weight)
    with_others = sum(e.weight for e in found.state.explanations if set(e.faults) >= set(leading.faults))
    if leading.faults and with_others - leading.weight > TOLD_APART:
        text = phrase(
            "{explanation}: {weight} by itself, {with_others} with whatever else may be wrong.",
            explanation=words,
            weight=weight,
            with_others=showing.probability(with_others),
        )
    else:
        text = phrase("{explanation}: {weight}.", explanation=words, weight=weight)
    sentences = [starting_large(text)]
    if "cone" in found.informed and ("cone" in leading.faults or "frame out" in leading.faults):
        cone = found.state.cone
        sentences.append(phrase("Cone {cone}.", cone=finding.signed(cone, finding.LARGER, showing)))
    if "frame out" in leading.faults:
        out = found.state.frame_out
        sentences.append(
            phrase(
                "Frame or mounts out by {frame_out} over the blade length.",
                frame_out=showing.measured(Measured(abs(out.value), out.u)),
            )
        )
    if "shaft bent" in leading.faults:
        sentences.append(phrase("Shaft bent by {shaft_bend}.", shaft_bend=showing.measured(found.shaft_bend.value)))
    return joined(" ", sentences)


def _what_to_do(answer: Found, showing: Showing) -> list[str]:
    found = answer.diagnosis
    lines: list[str] = []
    if found.apart and found.state.observations:
        lines.append(finding.apart_words(found.apart[0], showing))
    elif found.apart and found.apart[0].separation is not None:
        lines.append(
            phrase("First reading worth taking: {reading}.", reading=found.apart[0].separation.candidate.label)
        )
    lines += put_right_first(answer)
    failing = [j.quantity for j in answer.judged if j.verdict is not None and j.verdict.outcome == "does not conform"]
    open_ = [j.quantity for j in answer.judged if j.verdict is not None and j.verdict.outcome == "undecided"]
    if failing:
        lines.append(phrase("Does not conform: {failing}.", failing=joined(", ", failing)))
    if open_:
        lines.append(phrase("Undecided with these gauges: {undecided}.", undecided=joined(", ", open_)))
    spin = answer.spin
    if isinstance(spin, Untold):
        lines.append(phrase("No answer yet on {what}; wanted: {wanted}.", what=spin.what, wanted=spin.wanted))
    elif grind_asked(answer):
        plan = spin.plan
        lines.append(
            phrase(
                "Spin grind to {finish_diameter}: {passes} passes, {time}; leaves {above_service} of diameter above "
                "the service limit.",
                finish_diameter=showing.measured(plan.finish_diameter),
                passes=len(plan.passes),
                time=showing.duration(plan.time),
                above_service=showing.length(plan.above_service.value),
            )
        )
        if plan.speed_check is not None and not plan.speed_check.allowed:
            lines.append(phrase("The wheel as set runs FASTER THAN ITS MARKING: do not run it."))
    else:
        lines.append(joined(" ", (why_no_grind(answer), phrase("The plan shows what a grind would take."))))
    return lines


def put_right_first(answer: Found) -> list[str]:
    """Say what has to be put right before the reel is judged or ground."""
    chance = answer.diagnosis.state.chance_of
    lines: list[str] = []
    if chance("frame out") > 0.5:
        lines.append(phrase("Put the frame or the bedknife's mounts right before judging the reel by its gap."))
    if chance("shaft bent") > 0.5:
        lines.append(
            phrase(
                "Find out why the shaft runs out (bearings, seats, bend) before grinding; grinding true on a bent "
                "shaft leaves the reel out of balance."
            )
        )
    return lines


def grind_asked(answer: Found) -> bool | None:
    """Tell whether a limit that a grind can meet fails; None while that is not decided, or no such limit is on file."""
    outcomes = [
        None if j.verdict is None else j.verdict.outcome for j in answer.judged if j.limit.quantity in GRINDABLE
    ]
    if "does not conform" in outcomes:
        return True
    return False if outcomes and set(outcomes) == {"conforms"} else None


def why_no_grind(answer: Found) -> str:
    """Say why no limit asks for a grind (yet)."""
    if grind_asked(answer) is False:
        return phrase("No limit asks for a grind.")
    if any(j.limit.quantity in GRINDABLE for j in answer.judged):
        return phrase("Whether to grind is not decided yet.")
    return phrase("No limit on cone, barrel, run-out or land is on file, so nothing says whether to grind.")


def _questions(answer: Found, showing: Showing) -> tuple[Section, ...]:
    if not answer.questions:
        return ()
    return (Section("questions", phrase("Asked back"), tuple(q.words for q in answer.questions)).said(showing),)


def sources(answer: Answer, showing: Showing) -> Section:
    """What was assumed, and by which standards the sums go."""
    lines: list[str] = [
        phrase(
            "Uncertainties are expanded, coverage 95 % (JCGM 100); intervals of several explanations are their "
            "mixture's own quantiles."
        ),
        phrase("Verdicts: JCGM 106, with guard band in the sense of ISO 14253-1; limits are the workshop's own."),
        phrase(
            "Gauge models, land, setting: geometry, own working. Give, allowance and default priors: common "
            "practice, no source."
        ),
    ]
    if answer.assumed:
        lines.append(phrase("Taken because the file does not say:"))
        lines += [joined("", ("· ", text)) for text in answer.assumed]
    return Section("sources", phrase("What this rests on"), tuple(lines)).said(showing)
