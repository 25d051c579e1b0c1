"""What the workshop holds already, as answers to findings of fault finding; and a ranking as data for programs."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from sparkout.core.faults.diagnosis import Answer
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.core.faults.diagnosis import FaultDiagnosis
    from sparkout.core.faults.next_check import NextCheck
    from sparkout.core.faults.tables import Tables
    from sparkout.reckoning.answer import Answer as WholeAnswer
    from sparkout.reckoning.answer import Judged, Proof

_FAILED = 0.5
"""A place of the paper proof has failed when more than this share of the blades tried there did not cut."""
_END = 0.5
"""Beyond this |t| (-1 left end, +1 right end) a station counts as an end."""


def known_from_visit(whole: WholeAnswer, tables: Tables) -> tuple[Answer, ...]:
    """Return the findings that a visit's readings, limits and last paper proof answer.

    Equation: for a finding about a limit, yes = 1 - P(the limit is kept), from the verdict; for barrel and hollow each
    side of the limit by itself. A proof answers by what it says outright (more than half the blades uncut at a place).

    What is not read is not answered.

    Validity: a verdict's chance is taken as evidence with even odds beforehand (see `core.faults.diagnosis.diagnose`).

    References
    ----------
    JCGM 106:2012 for the chance that a limit is kept; the rest is our own working.
    """
    found: dict[str, Answer] = {}
    for judged in whole.judged:
        for answer in _of_limit(judged, tables):
            before = found.get(answer.finding)
            if before is None or (answer.yes or 0.0) > (before.yes or 0.0):
                found[answer.finding] = answer
    found.update(_of_bearings(whole, tables, found))
    as_found = [proof for proof in whole.proofs if proof.when == "as found"]
    if as_found:
        known = {finding.id for finding in tables.findings}
        found.update((name, each) for name, each in _of_paper(as_found[-1], whole.reel.length).items() if name in known)
    return tuple(found.values())


def _of_limit(judged: Judged, tables: Tables) -> Iterable[Answer]:
    if judged.verdict is None:
        return
    source = phrase("{quantity} measured, against the limit", quantity=judged.quantity)
    for finding in tables.findings:
        if not finding.reading:
            continue
        if judged.limit.quantity == "barrel" and finding.reading in ("barrel", "hollow"):
            if judged.measured is not None:
                yield Answer(finding.id, _beyond(judged, hollow=finding.reading == "hollow"), source)
        elif judged.limit.quantity == finding.reading:
            yield Answer(finding.id, min(1.0, max(0.0, 1.0 - judged.verdict.probability)), source)


def _of_bearings(whole: WholeAnswer, tables: Tables, judged: Mapping[str, Answer]) -> dict[str, Answer]:
    """Return what drag against earlier visits answers, where no limit answers it."""
    chance = None if whole.bearings is None else whole.bearings.chance_of_hard_turning
    if chance is None:
        return {}
    source = phrase("drag measured, against this unit's own earlier visits")
    names = [finding.id for finding in tables.findings if finding.reading == "drag" and finding.id not in judged]
    return {name: Answer(name, min(1.0, max(0.0, chance)), source) for name in names}


def _beyond(judged: Judged, *, hollow: bool) -> float:
    """Return the chance that the reel is fatter (or thinner) in the middle than the limit allows."""
    assert judged.measured is not None
    lower, upper = judged.limit.lower, judged.limit.upper
    if hollow:
        side = lower if lower is not None else -(upper or 0.0)
    else:
        side = upper if upper is not None else -(lower or 0.0)
    if judged.measured.u == 0.0:
        return float(judged.measured.value < side if hollow else judged.measured.value > side)
    below = NormalDist(judged.measured.value, judged.measured.u).cdf(side)
    return below if hollow else 1.0 - below


def _of_paper(proof: Proof, length: float) -> dict[str, Answer]:
    """Return what a proof with left, middle and right tried says outright."""
    places: dict[str, list[str]] = {"left": [], "middle": [], "right": []}
    for number, place in enumerate(proof.stations):
        t = 2.0 * place.along(length) / length - 1.0
        name = "left" if t < -_END else "right" if t > _END else "middle"
        places[name] += [row[number] for row in proof.outcomes if row[number] in ("clean", "pinched", "uncut")]
    if not all(places.values()):
        return {}
    fails = {name: sum(o != "clean" for o in tried) > _FAILED * len(tried) for name, tried in places.items()}
    tried = [outcome for each in places.values() for outcome in each]
    some = any(0 < sum(o != "clean" for o in each) <= _FAILED * len(each) for each in places.values())
    said = {
        "paper-clean": all(outcome == "clean" for outcome in tried),
        "paper-uncut-everywhere": all(fails.values()) and any(outcome == "uncut" for outcome in tried),
        "paper-uncut-one-end": fails["left"] != fails["right"],
        "paper-uncut-middle": fails["middle"] and not fails["left"] and not fails["right"],
        "paper-uncut-both-ends": fails["left"] and fails["right"] and not fails["middle"],
        "paper-some-blades": some,
    }
    source = phrase("paper proof of the visit")
    return {name: Answer(name, float(so), source) for name, so in said.items()}


def with_known(told: Iterable[Answer], known: Iterable[Answer]) -> tuple[Answer, ...]:
    """Return a person's answers and, for what they did not answer, those on file.

    Examples
    --------
    >>> with_known([Answer("clack", 1)], [Answer("clack", 0, "file"), Answer("rocks", 0, "file")])[1].finding
    'rocks'
    """
    own = tuple(told)
    names = {answer.finding for answer in own}
    return own + tuple(answer for answer in known if answer.finding not in names)


def faults_data(found: FaultDiagnosis, tables: Tables) -> Mapping[str, Any]:
    """Return a ranking as data: ids, chances, natural logarithms of odds, minutes, bits; nothing rounded.

    Examples
    --------
    >>> from sparkout.core.faults.diagnosis import diagnose
    >>> from sparkout.core.faults.reading import usual_tables
    >>> data = faults_data(diagnose(usual_tables(), [Answer("clack", 1)]), usual_tables())
    >>> data["causes"][0]["cause"]
    'blade-high'
    """
    return {
        "answers": [
            {"finding": a.finding, "says": tables.finding(a.finding).says, "yes": a.yes, "source": a.source}
            for a in found.answers
        ],
        "causes": [
            {
                "cause": ranked.cause.id,
                "says": ranked.cause.says,
                "chance": ranked.chance,
                "told": [{"finding": told.answer.finding, "log_odds": told.log_odds} for told in ranked.told],
                "remedy": ranked.cause.remedy,
                "sum": ranked.cause.sum,
                "origin": ranked.cause.origin,
            }
            for ranked in found.ranked
        ],
        "none_listed": found.none_listed,
        "together": [{"causes": [cause.id for cause in both.causes], "chance": both.chance} for both in found.together],
        "next_checks": [_check_data(each) for each in found.next_checks],
        "sure": found.sure,
        "origin_of_numbers": tables.origin_of_numbers,
        "standing": found.standing,
    }


def _check_data(each: NextCheck) -> dict[str, Any]:
    return {
        "check": each.check.id,
        "do": each.check.do,
        "minutes": each.minutes,
        "bits": each.bits,
        "setups": [{"setup": setup.id, "do": setup.do, "minutes": setup.minutes} for setup in each.setups],
        "asks": [
            {
                "finding": ask.finding.id,
                "says": ask.finding.says,
                "chance": ask.chance,
                "leads_if_yes": ask.leads_if_yes.id,
                "leads_if_no": ask.leads_if_no.id,
            }
            for ask in each.asks
        ],
        "apart": [each.apart[0].id, each.apart[1].id],
        "cautions": list(dict.fromkeys([*(c for s in each.setups for c in s.cautions), *each.check.cautions])),
        "sum": each.check.sum,
        "origin": each.check.origin,
    }
