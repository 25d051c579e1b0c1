"""A ranking as the page shows it: the next question first, then causes, then what is known."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.urls import reverse

from sparkout.catalogue.listing import CATALOGUE
from sparkout.core.cautions import STEPS
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.records.operations.faults import workshop_tables
from sparkout.telling.faults import answer_words, check_cautions, minutes_words, weights_told
from sparkout.web.faults.answers import MEANT
from sparkout.web.stand.stance import machine_of

if TYPE_CHECKING:
    from sparkout.core.faults.diagnosis import FaultDiagnosis, Ranked
    from sparkout.core.faults.next_check import IfSo, NextCheck
    from sparkout.records.models import Unit
    from sparkout.showing import Showing
    from sparkout.web.faults.answers import Asked
    from sparkout.web.faults.known import OnFile

CAUSES, OTHERS = 5, 3
PAGES = {
    "stance": "stance",
    "roller-turns": "stance",
    "gap-hot": "stance",
    "match-heights": "matching",
    "rib-finder": "clip",
    "clip": "clip",
    "clip-as-timed": "clip",
    "mowing-plan": "clip",
}
"""Which page reckons what a cause is served by."""
UNLIKELY = 0.01


@dataclass(frozen=True, slots=True)
class Question:
    """One finding asked, within its check; the address each answer leads to."""

    name: str
    says: str
    do: str
    minutes: str
    setups: tuple[str, ...]
    cautions: tuple[str, ...]
    between: str
    yes: str
    no: str
    unsure: str


@dataclass(frozen=True, slots=True)
class Shown:
    """One cause."""

    says: str
    chance: str
    share: float
    why: str
    remedy: str
    served: str
    page: str = ""
    """Address of the page that reckons it."""


@dataclass(frozen=True, slots=True)
class Given:
    """One answer, and the address without it or the page it is from."""

    says: str
    answer: str
    source: str
    undo: str = ""
    page: str = ""


def shown(
    asked: Asked, found: FaultDiagnosis, unit: Unit | None, known: tuple[OnFile, ...], showing: Showing
) -> dict[str, Any]:
    """Return what the template fills in, told to this reader."""
    say, tables = showing.say, workshop_tables()
    own = {name for name, _ in asked.given}
    told = [
        Given(say(tables.finding(name).says), say(answer_words(MEANT[mark], showing)), "", asked.without(name).address)
        for name, mark in asked.given
    ]
    filed = [
        Given(
            say(tables.finding(each.answer.finding).says),
            say(answer_words(each.answer.yes, showing)),
            say(each.answer.source),
            page=each.address,
        )
        for each in known
        if each.answer.finding not in own
    ]
    best = next(iter(found.next_checks), None)
    anything = bool(asked.given)
    return {
        "unit": unit,
        "address": asked.address,
        "question": None if best is None or not anything else _question(asked, best, showing),
        "others": [(say(_does(each)), say(minutes_words(each.minutes))) for each in found.next_checks[1 : 1 + OTHERS]],
        "causes": [_cause(ranked, unit, showing) for ranked in found.ranked[:CAUSES] if ranked.chance >= UNLIKELY],
        "none": showing.probability(found.none_listed),
        "together": _together(found, showing),
        "sure": found.sure,
        "standing": say(found.standing),
        "given": told,
        "filed": filed,
        "last": asked.without(asked.given[-1][0]).address if asked.given else "",
        "pairs": asked.given,
        "anything": anything,
        "key": uuid.uuid4(),
    }


def _does(each: NextCheck) -> str:
    """Return what a check is, in one line: looks are told by what is looked for."""
    if each.check.id.startswith("look-"):
        return phrase("Look: {finding}?", finding=each.asks[0].finding.says)
    return each.check.do


def _question(asked: Asked, best: NextCheck, showing: Showing) -> Question:
    """Return the open finding of the best check that is least certain."""
    say = showing.say
    ask: IfSo = min(best.asks, key=lambda each: abs(each.chance - 0.5))
    name = ask.finding.id
    first, second, _ = best.apart
    return Question(
        name,
        say(ask.finding.says),
        say(best.check.do),
        say(minutes_words(best.minutes)),
        tuple(say(setup.do) for setup in best.setups),
        tuple(say(caution) for caution in check_cautions(best)),
        say(phrase("Tells apart: {first} / {second}", first=first.says, second=second.says)),
        asked.then(name, "y").address,
        asked.then(name, "n").address,
        asked.then(name, "u").address,
    )


def _cause(ranked: Ranked, unit: Unit | None, showing: Showing) -> Shown:
    say, cause = showing.say, ranked.cause
    served = ""
    if cause.sum in STEPS:
        served = say(phrase("In a visit: step '{step}'", step=phrase(cause.sum)))
    elif cause.sum in CATALOGUE:
        served = say(phrase("Calculation: {title}", title=phrase(CATALOGUE[cause.sum].title)))
    page = "" if cause.sum not in PAGES else reverse(PAGES[cause.sum])
    if page and unit is not None:
        page += f"?unit={unit.pk}" if PAGES[cause.sum] != "matching" else machine_of(unit)
    why = say(weights_told(ranked.told, workshop_tables(), showing))
    return Shown(
        say(cause.says), showing.probability(ranked.chance), ranked.chance, why, say(cause.remedy), served, page
    )


def _together(found: FaultDiagnosis, showing: Showing) -> str:
    """Return the likeliest causes at once, where that is likely enough to be told."""
    if not found.together or found.together[0].chance < 0.1:
        return ""
    both = found.together[0]
    return showing.say(
        phrase(
            "{chance}: both at once: {causes}",
            chance=AsTyped(showing.probability(both.chance)),
            causes=joined("; ", [cause.says for cause in both.causes]),
        )
    )
