"""Paper proofs as they are filled in by tapping: blades down, stations across."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.records.models import PaperProof
from sparkout.web.visit.places import FIVE

if TYPE_CHECKING:
    from sparkout.web.visit.bench import Bench

WORDS = {"c": "clean", "p": "pinched", "u": "uncut", "-": "not tried"}


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
    def stations_sent(self) -> str:
        """Stations as the page sends them back."""
        return "|".join(self.stations)


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
    name = f"paper-{when.replace(' ', '_')}"
    return ProofAtTheBench(
        name,
        when,
        title,
        stations,
        tuple(rows),
        str(table.get("thickness", "0.1 mm")),
        "" if entry is None else entry.version,
        entry,
    )
