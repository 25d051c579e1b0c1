"""A ranking of causes told in words: causes, what each answer did, the checks worth doing, what we would do."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.core.cautions import STEPS, all_cautions
from sparkout.core.phrase import AsTyped, counted, joined, phrase
from sparkout.telling.section import Section

if TYPE_CHECKING:
    from sparkout.core.faults.diagnosis import FaultDiagnosis, Weight
    from sparkout.core.faults.next_check import IfSo, NextCheck
    from sparkout.core.faults.tables import Tables
    from sparkout.showing import Showing

SHOWN, CHECKS = 5, 4
_TELLS = 0.18
"""An answer that moved a cause's log odds by less is not told as having done anything."""


def told_faults(found: FaultDiagnosis, tables: Tables, showing: Showing) -> tuple[Section, ...]:
    """Return the ranking in sections, in the reader's words.

    Examples
    --------
    >>> from sparkout.core.faults.diagnosis import Answer, diagnose
    >>> from sparkout.core.faults.reading import usual_tables
    >>> from sparkout.showing import Showing
    >>> sections = told_faults(diagnose(usual_tables(), [Answer("clack", 1)]), usual_tables(), Showing())
    >>> [section.key for section in sections]
    ['known', 'causes', 'checks', 'remedy']
    """
    sections = (_known(found, tables), _causes(found, tables, showing), _checks(found, showing), _remedy(found))
    return tuple(section.said(showing) for section in sections)


def answer_words(yes: float | None, showing: Showing) -> str:
    """Return yes, no, cannot tell, or the chance that it is so."""
    if yes is None:
        return phrase("cannot tell")
    if yes in (0.0, 1.0):
        return phrase("yes") if yes else phrase("no")
    return phrase("chance {chance}", chance=AsTyped(showing.probability(yes)))


def _known(found: FaultDiagnosis, tables: Tables) -> Section:
    from sparkout.showing import Showing

    plain = Showing()
    lines = [
        phrase(
            "{answer}: {finding} ({source})",
            finding=tables.finding(a.finding).says,
            answer=answer_words(a.yes, plain),
            source=a.source,
        )
        if a.source
        else phrase("{answer}: {finding}", finding=tables.finding(a.finding).says, answer=answer_words(a.yes, plain))
        for a in found.answers
    ]
    return Section("known", phrase("What is known"), tuple(lines) or (phrase("Nothing yet."),))


def _causes(found: FaultDiagnosis, tables: Tables, showing: Showing) -> Section:
    lines: list[str] = []
    for ranked in found.ranked[:SHOWN]:
        chance = AsTyped(showing.probability(ranked.chance))
        lines.append(phrase("{chance}: {cause}", chance=chance, cause=ranked.cause.says))
        why = weights_told(ranked.told, tables, showing)
        if why:
            lines.append(phrase("   {why}", why=why))
    none = AsTyped(showing.probability(found.none_listed))
    lines.append(phrase("{chance}: none of the causes listed", chance=none))
    if found.together and found.together[0].chance >= 0.1:
        both = found.together[0]
        lines.append(
            phrase(
                "{chance}: together {causes}",
                chance=AsTyped(showing.probability(both.chance)),
                causes=joined("; ", [cause.says for cause in both.causes]),
            )
        )
    lines.append(found.standing)
    return Section("causes", phrase("What it may be"), tuple(lines))


def weights_told(told: tuple[Weight, ...], tables: Tables, showing: Showing, most: int = 3) -> str:
    """Return what the answers that moved a cause most did to its odds; empty when none did."""
    moved = sorted((w for w in told if abs(w.log_odds) >= _TELLS), key=lambda w: -abs(w.log_odds))[:most]
    return joined(
        "; ",
        [
            phrase(
                "{factor} times {direction} by ‘{finding}’ ({answer})",
                finding=tables.finding(w.answer.finding).says,
                answer=answer_words(w.answer.yes, showing),
                factor=AsTyped(factor_words(w.log_odds, showing)),
                direction=phrase("likelier") if w.log_odds > 0 else phrase("less likely"),
            )
            for w in moved
        ],
    )


def factor_words(log_odds: float, showing: Showing) -> str:
    """Return the factor on the odds, two figures, never above a thousand.

    Examples
    --------
    >>> from sparkout.showing import Showing
    >>> factor_words(math.log(2.34), Showing()), factor_words(-9.0, Showing())
    ('2.3', 'over 1000')
    """
    factor = math.exp(abs(log_odds))
    if factor > 1000.0:
        return "over 1000"
    return showing.figure(factor, 1 if factor < 10.0 else 0)


def check_cautions(each: NextCheck) -> tuple[str, ...]:
    """Return the short cautions that stand beside a check and what comes before it."""
    short = {caution.id: caution.short for caution in all_cautions()}
    names = [name for setup in each.setups for name in setup.cautions] + list(each.check.cautions)
    return tuple(phrase(short[name]) for name in dict.fromkeys(names))


def minutes_words(minutes: float) -> str:
    """Return whole minutes in words, at least one."""
    return counted(max(1, round(minutes)), "{n} minute", "{n} minutes")


def _checks(found: FaultDiagnosis, showing: Showing) -> Section:
    lines: list[str] = []
    cautions: list[str] = []
    for number, each in enumerate(found.next_checks[:CHECKS], 1):
        lines.append(
            phrase(
                "{number}. {do} ({minutes}; {bits} bits)",
                number=number,
                do=each.check.do,
                minutes=minutes_words(each.minutes),
                bits=AsTyped(showing.figure(each.bits, 2)),
            )
        )
        lines += [phrase("   first: {setup}", setup=setup.do) for setup in each.setups]
        lines += [phrase("   {ask}", ask=_asked(ask)) for ask in each.asks]
        cautions += check_cautions(each)
    lines = lines or [phrase("No check on file would tell more.")]
    return Section("checks", phrase("The next check worth doing"), tuple(lines), (), tuple(dict.fromkeys(cautions)))


def _asked(ask: IfSo) -> str:
    """Return a finding as a question, with what either answer would make the leading cause when that differs."""
    if ask.leads_if_yes == ask.leads_if_no:
        return phrase("{finding}? [{id}]", finding=ask.finding.says, id=AsTyped(ask.finding.id))
    return phrase(
        "{finding}? [{id}] Yes points to: {yes}; no to: {no}",
        finding=ask.finding.says,
        id=AsTyped(ask.finding.id),
        yes=ask.leads_if_yes.says,
        no=ask.leads_if_no.says,
    )


def _remedy(found: FaultDiagnosis) -> Section:
    best = found.best.cause
    lines = [phrase("If it is this ({cause}): {remedy}", cause=best.says, remedy=best.remedy)]
    if best.sum in STEPS:
        lines.append(phrase("Served by the step '{step}' of a visit.", step=phrase(best.sum)))
    elif best.sum:
        lines.append(phrase("Served by the calculation {name}.", name=AsTyped(best.sum)))
    if not found.sure:
        lines.append(phrase("Not sure enough to act on yet: do the next check first."))
    return Section("remedy", phrase("What we would do"), tuple(lines))
