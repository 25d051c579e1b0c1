"""From a visit to the whole answer: the one operation below every door."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

from sparkout.core.cautions import STEPS, cautions_for
from sparkout.reckoning.answer import Answer, Found
from sparkout.reckoning.as_left import as_left
from sparkout.reckoning.bearings import bearings
from sparkout.reckoning.diagnosis import diagnose
from sparkout.reckoning.given import Given
from sparkout.reckoning.grind import spin
from sparkout.reckoning.knife import knife, relief
from sparkout.reckoning.readings import meanings, observations
from sparkout.reckoning.setting import knife_stand, proofs, setting
from sparkout.reckoning.stance import stance_found
from sparkout.reckoning.verdicts import judge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.visit.problems import Question
    from sparkout.visit.schema import Visit


def reckon(visit: Visit, questions: Sequence[Question] = ()) -> Answer:
    """Return the whole answer for one visit, as far as its readings allow.

    Each part that cannot be answered is `Untold`, with what would make an answer possible.

    Raises
    ------
    Refusal
        When a reading cannot have been shown by its gauge, or readings contradict each other.
    """
    return whole(found(visit, questions))


def found(visit: Visit, questions: Sequence[Question] = ()) -> Found:
    """Return the first part of the answer: what the readings say, against which limits, and the spin grind.

    Raises
    ------
    Refusal
        As `reckon`, but for readings taken after the work.
    """
    given = Given(visit)
    reel = given.reel()
    diagnosis = diagnose(given, reel, observations(given))
    judged = judge(given, diagnosis)
    spin_found = spin(given, reel, diagnosis)
    return Found(
        visit=visit,
        given=given,
        reel=reel,
        readings=meanings(given),
        questions=tuple(questions),
        diagnosis=diagnosis,
        judged=judged,
        spin=spin_found,
        cautions={step: cautions_for(step) for step in STEPS},
    )


def whole(first: Found) -> Answer:
    """Return the whole answer that follows from its first part.

    Raises
    ------
    Refusal
        When readings taken after the work cannot have been shown, or contradict each other.
    """
    given, reel, diagnosis, spin_found = first.given, first.reel, first.diagnosis, first.spin
    relief_found = relief(given, reel, spin_found)
    knife_found = knife(given, diagnosis, knife_stand(given, reel, diagnosis))
    setting_found = setting(given, reel, diagnosis, spin_found, knife_found)
    stance = stance_found(given, reel, diagnosis, spin_found, knife_found)
    proofs_found = proofs(given, reel, diagnosis)
    left = as_left(given, reel, diagnosis, spin_found)
    of_bearings = bearings(given, reel, diagnosis)
    return Answer(
        **{field.name: getattr(first, field.name) for field in fields(first)},
        assumed=tuple(given.assumed),
        bearings=of_bearings,
        relief=relief_found,
        knife=knife_found,
        setting=setting_found,
        stance=stance,
        proofs=proofs_found,
        as_left=left,
    )
