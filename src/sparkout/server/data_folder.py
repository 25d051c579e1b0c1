"""The data folder: where the records, the attachments and the server's own secret lie."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase


def usual_data_folder() -> Path:
    """Return the data folder of this user."""
    from platformdirs import user_data_path

    return user_data_path("sparkout", appauthor=False)


def data_folder() -> Path:
    """Return the data folder in use: SPARKOUT_DATA, else this user's."""
    told = os.environ.get("SPARKOUT_DATA")
    return Path(told) if told else usual_data_folder()


def database_file(data: Path) -> Path:
    """Return where the records lie when they are in SQLite."""
    return data / "records.sqlite3"


def make_ready(data: Path) -> None:
    """Make the folder, for this user alone, with its secret key; an existing one is left as it is.

    Raises
    ------
    Refusal
        When it cannot be used.
    """
    try:
        _made_ready(data)
    except OSError as error:
        why = AsTyped(error.strerror or error)
        raise Refusal(phrase("the data folder {folder} cannot be used: {why}", folder=AsTyped(data), why=why)) from None


def _made_ready(data: Path) -> None:
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    (data / "attachments").mkdir(exist_ok=True)
    path = _secret_file(data)
    if not path.exists():
        waiting = path.with_name(f"{path.name}.{os.getpid()}")
        waiting.touch(mode=0o600)
        waiting.write_text(secrets.token_urlsafe(50), encoding="ascii")
        waiting.replace(path)


def secret_key(data: Path) -> str:
    """Return the folder's secret key; a passing one when the folder has none (type checks, tests)."""
    try:
        return _secret_file(data).read_text(encoding="ascii").strip() or secrets.token_urlsafe(50)
    except OSError:
        return secrets.token_urlsafe(50)


def _secret_file(data: Path) -> Path:
    return data / "secret-key"
