"""A machine on the turf in words: clip, how often to mow, ribs and what to mow next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, phrase
from sparkout.reckoning.answer import Untold
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.core.cut.growth import MowingPlan
    from sparkout.core.ribs.stubble_map import StubbleMap
    from sparkout.reckoning.on_turf import Inverse, OnTurf, Ribs
    from sparkout.showing import Showing

DAY = 86400.0
COUNT = phrase("Measure reel speed from behind guards, never with a hand near the reel.")
LOOK = phrase("Engine off, reel blocked and gloves on before a hand goes to what the odds point at.")


def on_turf_sections(found: OnTurf, showing: Showing) -> tuple[Section, ...]:
    """Return everything told of a machine at work, part by part."""
    parts = (
        _clip(found, showing),
        _mowing(found.mowing, showing),
        _ribs(found.ribs, showing),
        _strip(found, found.strip, showing),
    )
    return tuple(part for part in parts if part is not None)


def _clip(found: OnTurf, showing: Showing) -> Section:
    run = found.running
    rows = [
        (phrase("Clip"), showing.measured(run.clip)),
        (phrase("Cuts along the travel"), showing.quantity(run.cuts.value, "per length", places=1)),
        (phrase("Reel speed"), showing.quantity(found.reel_speed, "rotation", places=0)),
    ]
    if run.tip_speed is not None:
        rows.append((phrase("Speed of the edge"), showing.quantity(run.tip_speed.value, "speed", unit=_edge(showing))))
    lines: list[str] = []
    band = found.band
    if isinstance(band, Untold):
        lines.append(_no(band))
    elif band is not None:
        rows.append((phrase("Your own band"), showing.interval(band.finest, band.coarsest)))
        says = {
            "finer": phrase("The clip is finer than your own band."),
            "within": phrase("The clip lies in your own band."),
            "coarser": phrase("The clip is coarser than your own band."),
        }
        lines.append(says[band.lies(run.clip.value)])
        if run.chance_within is not None:
            rows.append((phrase("Chance that it lies in it"), showing.probability(run.chance_within)))
        lines.append(band.standing)
    return Section("clip", phrase("Clip"), (*lines, *_inverse(found.inverse, showing)),
                   (Table((phrase("What"), phrase("Figure")), tuple(rows)),), (COUNT,))  # fmt: skip


def _edge(showing: Showing) -> str:
    return "m/s" if showing.system == "mm" else "ft/min"


def _inverse(found: Inverse | Untold | None, showing: Showing) -> tuple[str, ...]:
    if found is None:
        return ()
    if isinstance(found, Untold):
        return (_no(found),)
    clip = showing.length(found.clip)
    if found.ratio is not None:
        told = phrase("For a clip of {clip}: {ratio} reel turns for one turn of the roller; travel does not change it.",
                      clip=clip, ratio=showing.figure(found.ratio, 2))  # fmt: skip
        return (told,)
    assert found.travel is not None
    assert found.reel is not None
    return (
        phrase(
            "For a clip of {clip}: travel at {travel}, or turn the reel at {reel}.",
            clip=clip,
            travel=AsTyped(travel_words(found.travel, showing)),
            reel=showing.quantity(found.reel, "rotation", places=0),
        ),
    )


def travel_words(speed: float, showing: Showing) -> str:
    """Return a travel speed as text: km/h, or miles in an hour."""
    return showing.quantity(speed, "speed", unit="km/h" if showing.system == "mm" else "mph", places=1)


def _mowing(plan: MowingPlan | Untold | None, showing: Showing) -> Section | None:
    title = phrase("How often to mow")
    if plan is None:
        return None
    if isinstance(plan, Untold):
        return Section("mowing", title, (plan.wanted,))
    rows = (
        (phrase("Height kept"), showing.length(plan.height)),
        (phrase("Days between cuts"), showing.figure(plan.interval / DAY, 1)),
        (phrase("Grown between cuts"), showing.length(plan.growth)),
        (phrase("Each cut takes"), showing.share(plan.share, 1)),
    )
    told = phrase("Within the rule: at most {most} of what stands.", most=showing.share(plan.rule.share))
    return Section("mowing", title, (told, plan.rule.origin), (Table((phrase("What"), phrase("Figure")), rows),))


def _ribs(found: Ribs | Untold | None, showing: Showing) -> Section | None:
    title = phrase("What makes the ribs")
    if found is None:
        return None
    if isinstance(found, Untold):
        return Section("ribs", title, (_no(found),))
    finding, following = found.finding, found.next
    first, second = (each.cause.name for each in finding.weighed[:2])
    rows = tuple(
        (each.cause.name, showing.probability(each.chance), showing.length(each.pitch))
        for each in finding.weighed
        if each.chance >= 0.001
    )
    gain = following.tells_apart - following.before
    lines: list[str] = [phrase("Likeliest: {cause}.", cause=first)]
    if gain > 0.005:
        lines.append(
            phrase(
                "To tell it from the next ({second}), mow a stretch at {travel} and measure the pitch again: {one} would "
                "speak for the first, {other} for the second.",
                second=second,
                travel=AsTyped(travel_words(following.setting.travel_speed.value, showing)),
                one=showing.length(following.first_pitch),
                other=showing.length(following.second_pitch),
            )
        )
        lines.append(
            phrase(
                "The right one of the two is then named with {after}; now with {before}.",
                after=showing.probability(following.tells_apart),
                before=showing.probability(following.before),
            )
        )
    else:
        lines.append(phrase("No other travel speed would tell the best two apart: look at the parts."))
    lines.append(finding.standing)
    head = phrase("Cause"), phrase("Chance"), phrase("Pitch it would make")
    return Section("ribs", title, tuple(lines), (Table(head, rows),), (LOOK,))


def _strip(found: OnTurf, strip: StubbleMap | Untold | None, showing: Showing) -> Section | None:
    title = phrase("The strip it leaves")
    if strip is None:
        return None
    if isinstance(strip, Untold):
        return Section("strip", title, (_no(strip),))
    low, high = float(strip.length.min()), float(strip.length.max())
    whose = (
        phrase("Mown with the reel as measured, the knife set to it.")
        if found.measured
        else phrase("Mown with a true reel, but for what was typed.")
    )
    told = phrase("Leaves from {low} to {high}.", low=showing.length(low), high=showing.length(high))
    return Section("strip", title, (whose, told, strip.standing))


def _no(untold: Untold) -> str:
    return phrase("No answer on {what}; wanted: {wanted}.", what=untold.what, wanted=untold.wanted)
