"""Files kept byte for byte, each under the SHA-256 of its content, written whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import uuid
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from pathlib import Path


def digest_of(content: bytes) -> str:
    """Return the name under which content is kept.

    Examples
    --------
    >>> digest_of(b"abc")[:8]
    'ba7816bf'
    """
    return hashlib.sha256(content).hexdigest()


def original_path(folder: Path, digest: str) -> Path:
    """Return where an original lies."""
    return folder / digest[:2] / digest


def copy_path(folder: Path, digest: str, size: int) -> Path:
    """Return where the copy of a photograph lies that is so many pixels long."""
    return folder / "shown" / digest[:2] / f"{digest}-{size}.jpg"


def keep(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; one that is there already is left.

    Raises
    ------
    Refusal
        When it cannot be written.
    """
    if path.exists():
        return
    waiting = path.with_name(f".{path.name}.{uuid.uuid4().hex}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with waiting.open("xb") as handle:
            handle.write(content)
            handle.flush()
            os.fsync(handle.fileno())
        waiting.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):  # where nothing could be written there is nothing to clear away
            waiting.unlink()
        raise Refusal(phrase("the file could not be kept: {why}", why=AsTyped(error.strerror or str(error)))) from None
