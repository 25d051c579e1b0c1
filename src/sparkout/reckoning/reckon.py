"""From a visit to the whole answer: the one operation below every door."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.cautions import STEPS, cautions_for
from sparkout.reckoning.answer import Answer
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
    given = Given(visit)
    reel = given.reel()
    found = diagnose(given, reel, observations(given))
    judged = judge(given, found)
    spin_found = spin(given, reel, found)
    stand = knife_stand(given, reel, found)
    relief_found = relief(given, reel, spin_found)
    knife_found = knife(given, found, stand)
    setting_found = setting(given, reel, found, spin_found, knife_found)
    stance = stance_found(given, reel, found, spin_found, knife_found)
    proofs_found = proofs(given, reel, found)
    left = as_left(given, reel, found, spin_found)
    read = meanings(given)
    of_bearings = bearings(given, reel, found)
    return Answer(
        visit=visit,
        reel=reel,
        readings=read,
        questions=tuple(questions),
        assumed=tuple(given.assumed),
        diagnosis=found,
        judged=judged,
        bearings=of_bearings,
        spin=spin_found,
        relief=relief_found,
        knife=knife_found,
        setting=setting_found,
        stance=stance,
        proofs=proofs_found,
        as_left=left,
        cautions={step: cautions_for(step) for step in STEPS},
    )
