"""What a visit answers of fault finding: limits by their verdicts, each side of a barrel by itself, paper outright."""

from dataclasses import dataclass

import pytest

from sparkout.core.faults.diagnosis import diagnose
from sparkout.core.faults.reading import usual_tables
from sparkout.core.measured import Measured
from sparkout.core.verdict.conformity import verdict
from sparkout.core.verdict.limit import Limit
from sparkout.reckoning.answer import Judged, Proof
from sparkout.reckoning.known_faults import _of_limit, _of_paper, with_known
from sparkout.showing import Showing
from sparkout.telling.faults import answer_words, told_faults

TABLES = usual_tables()


def judged(quantity: str, value: float, u: float, lower: float | None, upper: float | None) -> Judged:
    limit, measured = Limit(quantity, lower, upper, origin="house"), Measured(value, u)
    return Judged(limit, quantity, "length", measured, measured.interval(), verdict(measured, limit), None, "")


def test_yes_is_the_chance_that_the_limit_is_not_kept() -> None:
    (answer,) = _of_limit(judged("cone", 0.25, 0.02, -0.25, 0.25), TABLES)
    assert (answer.finding, answer.yes) == ("cone-over", pytest.approx(0.5, abs=1e-6))
    unread = Judged(Limit("cone", None, 0.2, origin="house"), "cone", "length", None, None, None, None, "not read")
    assert not list(_of_limit(unread, TABLES))
    assert not list(_of_limit(judged("diameter", 120.0, 0.1, 118.0, None), TABLES))


@pytest.mark.parametrize(
    ("value", "lower", "upper", "barrel", "hollow"),
    [
        (0.06, None, 0.05, 0.9772, 0.0),
        (-0.06, -0.05, 0.05, 0.0, 0.9772),
        (-0.05, None, 0.05, 0.0, 0.5),
        (0.05, -0.05, None, 0.5, 0.0),
    ],
)
def test_each_side_of_a_barrel(
    value: float, lower: float | None, upper: float | None, barrel: float, hollow: float
) -> None:
    """Φ(2) = 0.9772 from any table of the normal distribution."""
    found = {a.finding: a.yes for a in _of_limit(judged("barrel", value, 0.005, lower, upper), TABLES)}
    assert found == {"barrel-over": pytest.approx(barrel, abs=5e-5), "hollow-over": pytest.approx(hollow, abs=5e-5)}
    sure = {a.finding: a.yes for a in _of_limit(judged("barrel", value * 1.01, 0.0, lower, upper), TABLES)}
    assert sure == {"barrel-over": float(value > 0), "hollow-over": float(value < 0)}


@dataclass(frozen=True)
class At:
    x: float

    def along(self, _: float) -> float:
        return self.x


def proof(*rows: tuple[str, ...], at: tuple[float, ...] = (10.0, 266.0, 520.0)) -> dict[str, float | None]:
    made = Proof("as found", tuple(map(At, at)), rows, None)  # type: ignore[arg-type]
    return {name: answer.yes for name, answer in _of_paper(made, 533.0).items()}


@pytest.mark.parametrize(
    ("rows", "so"),
    [
        ([("clean",) * 3] * 4, {"paper-clean"}),
        ([("uncut",) * 3] * 4, {"paper-uncut-everywhere"}),
        ([("uncut", "clean", "clean")] * 4, {"paper-uncut-one-end"}),
        ([("clean", "uncut", "clean")] * 4, {"paper-uncut-middle"}),
        ([("uncut", "clean", "uncut")] * 4, {"paper-uncut-both-ends"}),
        ([("uncut",) * 3, ("clean",) * 3, ("clean",) * 3, ("clean",) * 3], {"paper-some-blades"}),
        ([("pinched",) * 3] * 4, set()),
    ],
)
def test_a_proof_answers_what_it_says_outright(rows: list[tuple[str, ...]], so: set[str]) -> None:
    assert {name for name, yes in proof(*rows).items() if yes} == so


def test_a_proof_without_both_ends_and_middle_answers_nothing() -> None:
    assert proof(("clean", "clean"), at=(10.0, 266.0)) == {}


def test_told_in_both_vocabularies_and_when_there_is_nothing() -> None:
    found = diagnose(TABLES, [])
    plain = told_faults(found, TABLES, Showing())
    assert plain[0].lines == ("Nothing yet.",)
    assert "step" in " ".join(plain[3].lines)
    every = with_known([], [])
    assert every == ()
    assert answer_words(None, Showing()) == "cannot tell"
    from sparkout.core.faults.diagnosis import Answer

    done = diagnose(TABLES, [Answer(f.id, float(f.id in ("long-waves", "waves-in-ground"))) for f in TABLES.findings])
    sections = told_faults(done, TABLES, Showing(vocabulary="us", decimal=","))
    assert sections[2].lines == ("No check on file would tell more.",)
    assert not any("calculation" in line for line in sections[3].lines), "ground work has no sum"
    bedded = told_faults(diagnose(TABLES, [Answer("fine-ribs", 1.0)]), TABLES, Showing())
    assert any("travel-speed-for-clip" in line for line in bedded[3].lines)
    both = told_faults(diagnose(TABLES, [Answer("line-along", 1.0), Answer("brown-track", 1.0)]), TABLES, Showing())
    assert any("together" in line for line in both[1].lines)
