"""The world outside the command line, as one object, so that a test can stand in for it."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, Phrase, phrase

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path
    from typing import TextIO

DONE, REFUSED, USAGE = 0, 1, 2
"""Exit statuses: answered; could not be answered as asked; the command itself was not understood."""


class Ended(Exception):
    """The command ends here, with this status."""

    def __init__(self, status: int) -> None:
        self.status = status
        super().__init__(status)


class World:
    """Where text goes, what the environment says, where we stand."""

    __slots__ = ("_folder", "env", "err", "language", "out")

    def __init__(self, out: TextIO, err: TextIO, env: Mapping[str, str], folder: Path | None = None) -> None:
        self.language = "en"
        """In which the reader is told; the command line finds it out."""
        self.out = out
        self.err = err
        self.env = env
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where we stand: the current folder unless another was given."""
        from pathlib import Path  # slow to import, and a quick sum needs no file

        return Path.cwd() if self._folder is None else self._folder

    @classmethod
    def real(cls) -> World:
        """Return the process's own streams, able to say any letter."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(encoding="utf-8", errors="replace")
        return cls(sys.stdout, sys.stderr, os.environ)

    def say(self, text: str = "") -> None:
        """Write a line for the reader."""
        self.out.write(self.told(text) + "\n")

    def complain(self, text: str) -> None:
        """Write a line about what went wrong."""
        self.err.write(self.told(text) + "\n")

    def told(self, text: str) -> str:
        """Return a text in the reader's language; what is no phrase has been told already."""
        if self.language == "en" or not isinstance(text, Phrase):
            return text
        from sparkout.showing import Showing
        from sparkout.translation import DECIMAL_MARKS

        return Showing(decimal=DECIMAL_MARKS[self.language], language=self.language).say(text)

    def today(self) -> date:
        """Return the day, from SPARKOUT_TODAY when set (so that an answer can be repeated)."""
        from datetime import date

        fixed = self.env.get("SPARKOUT_TODAY")
        if not fixed:
            return date.today()
        try:
            return date.fromisoformat(fixed)
        except ValueError:
            raise Refusal(
                phrase("SPARKOUT_TODAY is '{day}'; allowed: a day written like 2026-11-25", day=AsTyped(fixed))
            ) from None

    def write(self, path: Path, content: bytes) -> Path:
        """Write a file, making its folder, and return where it is.

        Raises
        ------
        Refusal
            When it cannot be written, saying why.
        """
        target = self.folder / path
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        except OSError as trouble:
            raise not_written(target, trouble) from None
        return target

    def hang_up(self) -> None:
        """Send what is still to be said nowhere: whoever listened has gone."""
        try:
            os.dup2(os.open(os.devnull, os.O_WRONLY), self.out.fileno())
        except (OSError, ValueError):  # not a stream of the system
            return


def shown_path(path: Path) -> str:
    """Return where something is, told as it stands."""
    return AsTyped(str(path))


def not_written(path: Path, trouble: OSError) -> Refusal:
    """Return the refusal that says why a file could not be written."""
    why = AsTyped(trouble.strerror)
    return Refusal(phrase("{path} cannot be written: {why}", path=shown_path(path), why=why))
