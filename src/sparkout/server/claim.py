"""One server for one data folder: a second start says where the first one is."""

from __future__ import annotations

import errno
import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.server.data_folder import database_file

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path
    from typing import BinaryIO

_FAR = 1 << 30
"""Where the lock lies: behind the text, because on Windows locked bytes cannot be read."""


class AlreadyServed(Refusal):
    """Another server holds this data folder; `address` is where it says it is."""

    def __init__(self, data: Path, address: str) -> None:
        self.address = address
        told = phrase(
            "the records in {data} are served already at {address}. Open that, or stop it first, or give another "
            "--data",
            data=AsTyped(data), address=AsTyped(address),
        ) if address else phrase(
            "the records in {data} are served already. Open that, or stop it first, or give another --data",
            data=AsTyped(data),
        )  # fmt: skip
        super().__init__(told)


@contextmanager
def claimed(data: Path) -> Iterator[Callable[[str], None]]:
    """Hold the data folder while serving; the function given back writes the address down for who comes second.

    The operating system lets go when the process ends, however it ends: no stale lock stays behind.

    Raises
    ------
    AlreadyServed
        When another process holds it.
    Refusal
        When nothing can be written in it.
    """
    path = data / "serving.lock"
    with _opened(path, data) as handle:
        try:
            _lock(handle)
        except OSError:
            raise AlreadyServed(data, _address(path)) from None

        def tell(address: str) -> None:
            handle.seek(0)
            handle.truncate()
            handle.write(f"{address} {os.getpid()}\n".encode())
            handle.flush()

        tell("")
        yield tell
        handle.truncate(0)


def _opened(path: Path, data: Path) -> BinaryIO:
    """Open the lock; a folder or records that can only be read are told now, not at the first entry."""
    try:
        for kept in (data, database_file(data), data / "attachments"):
            if kept.exists() and not os.access(kept, os.W_OK):
                raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(kept))
        return path.open("a+b")
    except OSError as error:
        told = phrase(
            "{path} cannot be written: {why}. Give this user the right to write there, or give another --data",
            path=AsTyped(error.filename or path), why=AsTyped(error.strerror or error),
        )  # fmt: skip
        raise Refusal(told) from None


def _address(path: Path) -> str:
    words = path.read_text(encoding="utf-8", errors="replace").split()
    return words[0] if words and words[0].startswith("http") else ""


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: BinaryIO) -> None:
        handle.seek(_FAR)
        msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(handle: BinaryIO) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
