"""After the grind, in words: prediction beside result, and what the grinder has taught."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import joined, phrase
from sparkout.telling.finding import verdicts
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.core.grinding.learn import Learned
    from sparkout.reckoning.answer import Answer, AsLeft
    from sparkout.showing import Showing


def after(answer: Answer, showing: Showing) -> tuple[Section, ...]:
    """Prediction beside result, what was learnt, verdicts as left; nothing when nothing was read as left."""
    found = answer.as_left
    if found is None:
        return ()
    lines = list(found.notes)
    if found.learned is not None:
        lines += _learned(found.learned, showing)
    compared = Section(
        "as left", phrase("After the grind: prediction beside result"), tuple(lines), _tables(found, showing)
    ).said(showing)
    judged = verdicts(answer, showing, found.judged)
    return compared, Section(
        "as left verdicts", showing.say(phrase("As left, against the limits")), judged.lines, judged.tables
    )


def _tables(found: AsLeft, showing: Showing) -> tuple[Table, ...]:
    rows = tuple(
        (
            c.name,
            showing.measured(c.predicted),
            showing.measured(c.measured),
            phrase("{deviation} standard uncertainties", deviation=showing.figure(c.deviation, 1)),
            phrase("agree") if c.consistent else phrase("do not agree: find out why"),
        )
        for c in found.compared
    )
    head = (phrase("what"), phrase("predicted"), phrase("measured"), phrase("difference"), "")
    return (Table(head, rows),) if rows else ()


def _learned(learned: Learned, showing: Showing) -> list[str]:
    give, ratio = showing.measured(learned.give, "fraction"), showing.measured(learned.g_ratio, "number")
    told = (
        phrase("learnt from this grind")
        if learned.told_of_give
        else phrase("this grind says little of it (a long spark-out hides it)")
    )
    of_give = phrase("The grinder's give: {give}; {told}.", give=give, told=told)
    if learned.told_of_give:
        of_give = joined(" ", (of_give, phrase("Enter it in the file to plan the next grind with it.")))
    lines: list[str] = [of_give]
    if learned.told_of_wheel and learned.wheel_loss is not None:
        lines.append(
            phrase(
                "The wheel lost {wheel_loss} of radius: grinding ratio {ratio}, learnt from this grind.",
                wheel_loss=showing.measured(learned.wheel_loss),
                ratio=ratio,
            )
        )
    elif learned.wheel_loss is not None:
        lost = showing.measured(learned.wheel_loss)
        lines.append(
            phrase(
                "Grinding ratio {ratio}: the wheel's loss as read, {lost} of radius, says little of it.",
                ratio=ratio,
                lost=lost,
            )
        )
    else:
        lines.append(
            phrase("Grinding ratio stays at {ratio}: wheel diameters before and after would teach it.", ratio=ratio)
        )
    if not learned.fits:
        lines.append(
            phrase("The as-left readings scatter more than the give can explain: look for play, heat or a loose mount.")
        )
    return lines
