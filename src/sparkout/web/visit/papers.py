"""Paper proofs as they are filled in by tapping: blades down, stations across."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import PaperProof
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.job import correct_paper, record_paper
from sparkout.web.visit.places import FIVE
from sparkout.web.visit.typed import understood

if TYPE_CHECKING:
    import uuid
    from collections.abc import Mapping

    from sparkout.records.models import Person
    from sparkout.web.visit.bench import Bench

WORDS = {"c": "clean", "p": "pinched", "u": "uncut", "-": "not tried"}


USUAL_THICKNESS = 0.1
"""mm: where the box of the paper stands until another is typed (common practice, no source)."""
_AT_MOST = 5
"""Times a tap is laid over the proof on file anew when others tap in the same moment."""


@dataclass(frozen=True, slots=True)
class Apart:
    """One spot that two people found otherwise."""

    at: int
    """Counted along the rows."""
    mine: str
    """The letter tapped here."""
    told: str


@dataclass(frozen=True, slots=True)
class Tried:
    """One spot of the grid."""

    letter: str
    words: str
    place: str


@dataclass(frozen=True, slots=True)
class ProofAtTheBench:
    """One paper proof: empty until something is tapped."""

    id: str
    when: str
    title: str
    stations: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Tried, ...]], ...]
    thickness: str
    version: int | str
    entry: PaperProof | None

    @property
    def rows_filed(self) -> str:
        """Letters on file, row by row."""
        return " ".join("".join(spot.letter for spot in row) for _, row in self.rows)

    @property
    def stations_sent(self) -> str:
        """Stations as the page sends them back."""
        return "|".join(self.stations)


def paper_id(when: str) -> str:
    """Return under which name a proof stands on the page."""
    return f"paper-{when.replace(' ', '_')}"


def tapped(
    actor: Person, bench: Bench, sent: Mapping[str, str], key: uuid.UUID
) -> tuple[PaperProof, tuple[Apart, ...]]:
    """Enter what was tapped: of what the page shows only the spots that differ from what it showed before.

    Returns the proof on file, and the spots somebody else found otherwise meanwhile: theirs stand.

    Raises
    ------
    Refusal
        When it cannot be entered.
    """
    when = "as found" if sent.get("when") == "as found" else "as left"
    stations, mine = sent.get("stations", "").split("|"), sent.get("rows", "").split()
    for _ in range(_AT_MOST):
        before = PaperProof.objects.filter(key=key).first()
        if before is not None:
            return before, ()  # the same tap, sent again because its answer was lost
        on_file = standing_proof(bench, when)
        own = {"stations": stations, "rows": mine, "thickness": _thickness(bench, sent.get("thickness", ""))}
        own["direction"] = "square to the knife"
        if on_file is None:
            return record_paper(actor=actor, visit=bench.visit, key=key, when=when, by=actor.name, **own), ()
        theirs = [row.replace(" ", "").lower() for row in on_file.entry["rows"]]
        if on_file.entry.get("stations") != stations or len(mine) != len(theirs) or set("".join(mine)) - set(WORDS):
            raise Refusal(phrase("the proof on file has other places than this page; load the page again"))
        own["rows"], apart = laid_over(mine, sent.get("was", "").split(), theirs)
        if sent.get("thickness") == sent.get("thickness_was"):
            own["thickness"] = on_file.entry.get("thickness")
        told = tuple(_apart(bench, stations, *spot) for spot in apart)
        if all(own[name] == was for name, was in (("rows", theirs), ("thickness", on_file.entry.get("thickness")))):
            return on_file, told
        try:
            made = correct_paper(actor=actor, proof=on_file, expected_version=on_file.version, key=key, **own)
        except Conflict:
            continue  # somebody else tapped between the two lines above
        return made, told
    raise Refusal(phrase("others are tapping here in the same moment; tap again"))


def laid_over(mine: list[str], was: list[str], theirs: list[str]) -> tuple[list[str], list[tuple[int, int, str, str]]]:
    """Return the rows on file with what was changed on a page laid over, and the spots that both changed otherwise.

    Examples
    --------
    >>> laid_over(["cc", "-p"], ["--", "--"], ["-u", "u-"])
    (['cu', 'up'], [(0, 1, 'c', 'u')])
    """
    rows, apart = [], []
    for i, row in enumerate(mine):
        own, before, filed = (letters.ljust(len(row), "-") for letters in (row, _row(was, i), _row(theirs, i)))
        laid = []
        for j, (letter, shown, stands) in enumerate(zip(own, before, filed, strict=False)):
            free = stands in (shown, letter)
            laid.append(letter if letter != shown and free else stands)
            if letter != shown and not free:
                apart.append((i, j, letter, stands))
        rows.append("".join(laid))
    return rows, apart


def _thickness(bench: Bench, typed: str) -> str | None:
    """Return the paper's thickness as typed; a bare number counts in the unit its box showed."""
    if not typed.strip():
        return None
    return understood(typed, bench.showing.unit("length", USUAL_THICKNESS)).fields.get("value")


def _row(rows: list[str], i: int) -> str:
    return rows[i] if i < len(rows) else ""


def _apart(bench: Bench, stations: list[str], i: int, j: int, mine: str, theirs: str) -> Apart:
    told = phrase(
        "{place}: yours {mine}, theirs {theirs}",
        place=phrase("blade {blade}, {place}", blade=i + 1, place=stations[j]),
        mine=WORDS[mine],
        theirs=WORDS[theirs],
    )
    return Apart(i * len(stations) + j, mine, bench.showing.say(told))


def standing_proof(bench: Bench, when: str) -> PaperProof | None:
    """Return the proof of a stage that stands: the last one entered."""
    found = PaperProof.objects.filter(visit=bench.visit, withdrawn_at=None, replaced_by=None).order_by("pk")
    return next((proof for proof in reversed(found) if proof.entry.get("when", "as left") == when), None)


def proofs_at_the_bench(bench: Bench) -> tuple[ProofAtTheBench, ...]:
    """Return the proof after the work, and the one before it."""
    return tuple(
        _proof(bench, when, title)
        for when, title in (("as left", phrase("After the work")), ("as found", phrase("As found")))
    )


def _proof(bench: Bench, when: str, title: str) -> ProofAtTheBench:
    entry = standing_proof(bench, when)
    table = {} if entry is None else entry.entry
    stations = tuple(str(place) for place in table.get("stations", FIVE))
    said = bench.showing.say
    rows = []
    for blade in range(1, bench.file.reel.blades + 1):
        filled = table.get("rows", ())
        letters = filled[blade - 1].replace(" ", "").lower() if blade <= len(filled) else ""
        rows.append(
            (
                blade,
                tuple(
                    Tried(letter, said(WORDS[letter]), said(phrase("blade {blade}, {place}", blade=blade, place=place)))
                    for place, letter in zip(stations, letters.ljust(len(stations), "-"), strict=False)
                ),
            )
        )
    return ProofAtTheBench(
        paper_id(when),
        when,
        title,
        stations,
        tuple(rows),
        str(table.get("thickness") or bench.showing.boxed(USUAL_THICKNESS)),
        "" if entry is None else entry.version,
        entry,
    )
