"""What a recording told, in words and as its picture: the reel's speed, each kind of damage, and what cannot be said."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.core.bearing.spectrum import FALSE_ALARMS
from sparkout.core.cautions import cautions_for
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, phrase
from sparkout.telling.section import Section

if TYPE_CHECKING:
    from sparkout.core.bearing.spectrum import FaultLine
    from sparkout.recording.kept import Hearing, RunDown
    from sparkout.showing import Showing


def hertz(value: float, showing: Showing) -> str:
    """Return a frequency as text with its unit.

    Examples
    --------
    >>> from sparkout.showing import Showing
    >>> hertz(89.6215, Showing(decimal=",")), hertz(2480.3, Showing()), hertz(100.0, Showing())
    ('89,6 Hz', '2480 Hz', '100 Hz')
    """
    return f"{showing.figure(value, 0 if value >= 1000 or value == round(value) else 1)} Hz"


def told_sound(heard: Hearing, showing: Showing) -> tuple[Section, ...]:
    """Return what a recording told in sections, in the reader's words: reel speed, bearing, what cannot be said."""
    if heard.run_down is not None:
        told = Section("run-down", phrase("Run-down"), tuple(_run_down(heard.run_down, showing)), (), _cautions())
        beside = [Section("cannot", phrase("What this recording cannot show"), heard.notes)] if heard.notes else []
        return tuple(section.said(showing) for section in (told, *beside))
    sections = [
        Section("speed", phrase("Reel speed"), tuple(_speed(heard, showing))),
        Section("bearing", phrase("Bearing"), tuple(_bearing(heard, showing)), cautions=tuple(_cautions())),
    ]
    cannot = [*heard.notes, *(() if heard.bearing is None else heard.bearing.cannot)]
    if cannot:
        sections.append(Section("cannot", phrase("What this recording cannot show"), tuple(cannot)))
    return tuple(section.said(showing) for section in sections)


def _cautions() -> tuple[str, ...]:
    return tuple(caution.short for caution in cautions_for("bearings"))


def _run_down(found: RunDown, showing: Showing) -> list[str]:
    per_minute = Measured(found.slowing, found.slowing_u).scaled(30.0 / math.pi)
    lines: list[str] = [
        phrase(
            "The reel runs down: {first} to {last} within {seconds} s",
            first=_turns(found.first_speed, showing),
            last=_turns(found.last_speed, showing),
            seconds=AsTyped(showing.figure(found.seconds, 1)),
        ),
        phrase(
            "It slows by {speed} 1/min each second; by that it stands {stop} s after it was let go",
            speed=AsTyped(showing.measured(per_minute, "number")),
            stop=AsTyped(showing.figure(found.stop, 1)),
        ),
    ]
    if found.by_speed > 0.0:
        more = found.by_speed * found.first_speed * math.pi / 30.0 / max(found.slowing, 1e-9)
        lines.append(
            phrase(
                "At first it slows {times} times as fast as that: drag that grows with speed, as of grease or air.",
                times=AsTyped(showing.figure(1.0 + more, 1)),
            )
        )
    if not found.freely:
        lines.append(
            phrase(
                "It does not slow as a reel let go does: did the drive hold it or brake it for part of the way? Time it "
                "again with the drive off before comparing."
            )
        )
    lines.append(phrase("A drive that drags evenly all the way cannot be heard: it must be off the reel."))
    lines.append(
        phrase("Compare it with this unit's own earlier run-downs: the time and the speed are readings of a visit.")
    )
    return lines


def _turns(value: float, showing: Showing) -> str:
    return AsTyped(f"{showing.figure(value, 0)} 1/min")


def _speed(heard: Hearing, showing: Showing) -> list[str]:
    by = None if heard.by_blades is None else _turns(heard.by_blades, showing)
    if not heard.speed_given:
        told = phrase("{speed}, from the lines that {blades} blades make", speed=by, blades=heard.blades)
        return [told, phrase("If the count of blades is wrong, so is this speed.")]
    lines: list[str] = [phrase("{speed}, as given", speed=_turns(heard.speed, showing))]
    if by is None:
        lines.append(phrase("The blades' lines do not stand out, so the recording neither supports nor denies it."))
    elif not heard.by_blades_sure:
        lines.append(
            phrase("By the blades' lines perhaps {speed}; another speed explains them nearly as well", speed=by)
        )
    elif abs(heard.speed / (heard.by_blades or 1.0) - 1.0) > 0.02:
        told = phrase(
            "By the lines of {blades} blades it is {speed}: the speed, or the count of blades, is not so. "
            "What is said of the bearing stands on the speed given.",
            blades=heard.blades, speed=by,
        )  # fmt: skip
        lines.append(told)
    else:
        lines.append(phrase("The blades' lines agree: {speed}", speed=by))
    return lines


def _bearing(heard: Hearing, showing: Showing) -> list[str]:
    if heard.bearing is None:
        return [
            phrase("Nothing can be said: its inside (balls, their diameter, pitch diameter) was not given."),
        ]
    fault = heard.bearing.fault
    if fault is None:
        lines: list[str] = [
            phrase("No damage shown. That is no proof of a sound bearing: weak damage can stay below the noise.")
        ]
    else:
        lines = [
            phrase(
                "Damage shown: {fault}. A recording names it wrongly, from noise alone, about once in a thousand. "
                "Before the bearing is changed, isolate the drive, turn the reel by a bar and feel the housing.",
                fault=phrase(fault.fault),
            )
        ]
    return lines + [line_told(line, showing) for line in heard.bearing.lines]


def line_told(line: FaultLine, showing: Showing) -> str:
    """Return what is said of one defect's lines; a text with parts, to be said.

    Examples
    --------
    >>> from sparkout.core.bearing.spectrum import FaultLine
    >>> from sparkout.showing import Showing
    >>> line_told(FaultLine("cage", 9.9, 9.9, 0.4, False, None), Showing())
    'cage: not shown (expected at 9.9 Hz; lines as strong come by chance in 40 %)'
    """
    fault, at = phrase(line.fault), AsTyped(hertz(line.expected, showing))
    if line.hidden_by is not None:
        return phrase("{fault}: nothing can be said (expected at {at}, hidden by {what})",
                      fault=fault, at=at, what=line.hidden_by)  # fmt: skip
    chance = AsTyped(showing.say(showing.probability(line.by_chance)))
    if line.named:
        found = AsTyped(hertz(line.found, showing))
        return phrase("{fault}: shown (expected at {at}, found at {found}; lines as strong come by chance in {chance})",
                      fault=fault, at=at, found=found, chance=chance)  # fmt: skip
    if line.by_chance < FALSE_ALARMS:
        return phrase("{fault}: not shown (expected at {at}; some of its multiples stand out, its own frequency does not)",
                      fault=fault, at=at)  # fmt: skip
    return phrase("{fault}: not shown (expected at {at}; lines as strong come by chance in {chance})",
                  fault=fault, at=at, chance=chance)  # fmt: skip


def headline(heard: Hearing, showing: Showing) -> str:
    """Return the one line that stands beside a recording in a list."""
    if heard.run_down is not None:
        stop = AsTyped(showing.figure(heard.run_down.stop, 1))
        first = _turns(heard.run_down.first_speed, showing)
        return showing.say(phrase("runs down from {speed} in {stop} s", speed=first, stop=stop))
    if heard.bearing is None:
        return showing.say(phrase("reel speed {speed}", speed=_turns(heard.speed, showing)))
    if heard.bearing.fault is None:
        return showing.say(phrase("no damage shown at {speed}", speed=_turns(heard.speed, showing)))
    fault = phrase(heard.bearing.fault.fault)
    return showing.say(phrase("damage shown: {fault}, at {speed}", fault=fault, speed=_turns(heard.speed, showing)))
