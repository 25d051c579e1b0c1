"""What is remembered changes no figure of an answer; independent route: the same answer with nothing kept."""

import datetime
import threading

import pytest
from hypothesis import given as given_any
from hypothesis import settings
from hypothesis import strategies as st

from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning import diagnosis, grind, setting, verdicts
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit
from sparkout.visit.schema import Visit
from sparkout.visit.sections import WantedSection

FILES = demonstration_files()
KEPT = (
    diagnosis._diagnosed,
    diagnosis._u_before,
    grind._planned,
    setting._evidence,
    verdicts._linear,
    verdicts._simulated,
)


def forget() -> None:
    for kept in KEPT:
        kept.cache_clear()


def plainly(visit: Visit) -> dict[str, object]:
    forget()
    return as_data(reckon(visit))


@pytest.mark.parametrize("name", FILES)
def test_the_second_answer_is_the_first(name: str) -> None:
    visit = read_visit(FILES[name])
    first = plainly(visit)
    assert as_data(reckon(visit)) == first
    assert as_data(reckon(read_visit(FILES[name]))) == first
    assert reckon(visit).assumed == reckon(visit).assumed


def edited(visit: Visit, row: int, column: int, by: float, allowance: str | None) -> Visit:
    """The visit with one dial value moved, and perhaps another allowance wished."""
    sweeps = list(visit.sweeps)
    if sweeps:
        values = [list(cells) for cells in sweeps[0].values]
        at = row % len(values), column % len(values[0])
        old = values[at[0]][at[1]]
        if old is not None:
            values[at[0]][at[1]] = type(old)(float(old) + by, f"{float(old) + by} mm")
        sweeps[0] = sweeps[0].model_copy(update={"values": tuple(map(tuple, values))})
    wanted = visit.wanted
    if allowance is not None:
        wanted = WantedSection.model_validate({**wanted.model_dump(exclude_none=True), "allowance": allowance})
    return visit.model_copy(update={"sweeps": tuple(sweeps), "wanted": wanted})


@settings(max_examples=8, deadline=None)
@given_any(
    st.sampled_from(sorted(FILES)),
    st.lists(
        st.tuples(
            st.integers(0, 20),
            st.integers(0, 4),
            st.sampled_from([-0.3, -0.02, 0.001, 0.02, 0.3]),
            st.sampled_from([None, "0.01 mm", "0.05 mm"]),
        ),
        min_size=1,
        max_size=3,
    ),
)
def test_edit_after_edit(name: str, edits: list[tuple[int, int, float, str | None]]) -> None:
    visits = [read_visit(FILES[name])]
    for edit in edits:
        visits.append(edited(visits[-1], *edit))
    visits.append(visits[0])  # and back again
    kept = [as_data(reckon(visit)) for visit in visits]
    assert kept == [plainly(visit) for visit in visits]


def test_what_is_remembered_cannot_be_written_over() -> None:
    found = reckon(read_visit(FILES["coned"])).diagnosis
    for array in (found.heights, found.heights_sd, found.stations):
        with pytest.raises(ValueError, match="read-only"):
            array[...] = 0.0


def test_two_at_once_get_the_same() -> None:
    visit = read_visit(FILES["coned"])
    wanted = plainly(visit)
    forget()
    found: list[dict[str, object]] = []
    threads = [threading.Thread(target=lambda: found.append(as_data(reckon(visit)))) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [wanted] * 3


def test_the_day_does_not_matter_to_what_is_remembered() -> None:
    from sparkout.visit.questions import questions

    visit = read_visit(FILES["coned"])
    asked = questions(visit, datetime.date(2026, 1, 1))
    assert reckon(visit, asked).questions == asked
    assert reckon(visit).questions == ()
