"""Where a file brought in lies, and what came of each of its rows: in the data folder, beside the records."""

from __future__ import annotations

import hashlib
import json
import os
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, frozen, phrase, thawed
from sparkout.interchange.source import LARGEST, Source, open_source
from sparkout.records.bringing.outcome import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from sparkout.records.models import TableFile

TRIAL, ENTERING = "trial", "entering"
_MARK = {"adds": "a", "same": "s", "changes": "c", "refused": "r", "left": "l"}


def folder() -> Path:
    """Return where files brought in lie."""
    return Path(settings.MEDIA_ROOT).parent / "tables"


def content(sha256: str) -> Path:
    """Return where the content with this digest lies."""
    return folder() / sha256[:2] / sha256


def keep(chunks: Iterable[bytes]) -> tuple[str, int]:
    """Keep a file under the digest of its content, whole or not at all; return digest and size.

    Raises
    ------
    Refusal
        When it is too large, or cannot be written.
    """
    digest, size = hashlib.sha256(), 0
    try:
        folder().mkdir(parents=True, exist_ok=True)
        waiting = folder() / f".{os.urandom(8).hex()}"
        try:
            with waiting.open("wb") as handle:
                for chunk in chunks:
                    size += len(chunk)
                    if size > LARGEST:
                        raise Refusal(phrase("the file is too large; allowed: up to {most:.0f} MB", most=LARGEST / 1e6))
                    digest.update(chunk)
                    handle.write(chunk)
                handle.flush()
                os.fsync(handle.fileno())
            path = content(digest.hexdigest())
            path.parent.mkdir(exist_ok=True)
            waiting.replace(path)
        finally:
            waiting.unlink(missing_ok=True)
    except OSError as error:
        raise Refusal(phrase("the file could not be kept: {why}", why=AsTyped(error.strerror or str(error)))) from None
    return digest.hexdigest(), size


def source_of(file: TableFile, delimiter: str | None = None) -> Source:
    """Return the file's sheets.

    Raises
    ------
    Refusal
        When it cannot be read, or lies there no longer.
    """
    path = content(file.sha256)
    if not path.exists():
        raise Refusal(
            phrase("the file '{name}' lies in the data folder no longer; bring it again", name=AsTyped(file.name))
        )
    told = (file.mapping or {}).get("delimiter", "") if delimiter is None else delimiter
    return open_source(path, file.name, told)


@dataclass(frozen=True, slots=True)
class Told:
    """What came of one row, as it was written down."""

    sheet: str
    row: int
    column: str
    what: str
    label: str
    why: str


class Outcomes:
    """What came of each row, one line each; the first letter says what, so that one kind is found quickly."""

    def __init__(self, file: TableFile, stage: str) -> None:
        self.path = folder() / f"{file.pk}.{stage}"

    def clear(self) -> None:
        """Begin anew."""
        folder().mkdir(parents=True, exist_ok=True)
        self.path.write_bytes(b"")

    def add(self, outcomes: Iterable[Outcome]) -> None:
        """Write outcomes behind those there."""
        lines = [
            _MARK[o.what]
            + json.dumps([o.sheet, o.row, o.column, o.what, str(o.label), frozen(o.why)], ensure_ascii=False)
            for o in outcomes
        ]
        with self.path.open("a", encoding="utf-8") as handle:
            handle.writelines(f"{line}\n" for line in lines)
            handle.flush()

    def keep_up_to(self, is_done: Any) -> None:
        """Drop what was written ahead of the records when the server was killed: lines whose row is not done."""
        if not self.path.exists():
            self.clear()
            return
        kept = [line for line in self._lines() if line.endswith("\n") and is_done(_told(line))]
        self.path.write_text("".join(kept), encoding="utf-8")

    def _lines(self) -> Iterator[str]:
        if self.path.exists():
            with self.path.open(encoding="utf-8") as handle:
                yield from handle

    def read(self, what: str = "", start: int = 0, count: int | None = None) -> list[Told]:
        """Return outcomes of one kind (else all), `count` from `start` on."""
        mark, found, seen = _MARK.get(what, ""), [], 0
        for line in self._lines():
            if line.startswith(mark) and line.endswith("\n"):
                if seen >= start:
                    found.append(_told(line))
                    if len(found) == count:
                        break
                seen += 1
        return found

    def each(self, what: str) -> Iterator[Told]:
        """Yield outcomes of one kind."""
        mark = _MARK[what]
        for line in self._lines():
            if line.startswith(mark) and line.endswith("\n"):
                yield _told(line)

    def counts(self) -> dict[str, int]:
        """Return how many there are of each kind."""
        found = Counter(line[0] for line in self._lines())
        return {what: found[mark] for what, mark in _MARK.items()}


def _told(line: str) -> Told:
    sheet, row, column, what, label, why = json.loads(line[1:])
    return Told(sheet, row, column, what, AsTyped(label), thawed(why))
