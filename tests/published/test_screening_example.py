"""The screening example of texts on Bayes' theorem: 1 in 100 have it, 80 % of them are told by the test, 9.6 % of the
others too; of those told, 7.8 % have it. After D. Eddy (1982) as retold. The question seen as quoted elsewhere
with its figures; the 7.8 % is from memory.
"""

from tests.published.evidence import evidence

from sparkout.core.faults.diagnosis import Answer, chance_of_causes
from sparkout.core.faults.tables import Cause, Check, Finding, Tables

SEEN = "from memory"


@evidence("Screening example after Eddy 1982", "chance after a positive test", printed=0.078, tolerance=0.0005)
def test_screening() -> float:
    strength = 1.0 - (1.0 - 0.8) / (1.0 - 0.096)  # the cause alone, so that with the 9.6 % it comes to 80 %
    shows = (("test", strength),)
    tables = Tables(
        (),
        (Finding("test", "test", False, 0.096, "", "", "invented"),),
        (Check("do", "do", 1.0, (), ("test",), (), "", "invented"),),
        (Cause("it", "it", 1.0, shows, "", "", "invented"),),
        (0.99, 0.01),
        1.0,
        0.0,
        "as printed",
    )
    return chance_of_causes(tables, [Answer("test", 1.0)])["it"]
