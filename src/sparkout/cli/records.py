"""Commands on the records themselves: the data folder opened, alone or beside a running server."""

from __future__ import annotations

from contextlib import contextmanager, nullcontext
from typing import TYPE_CHECKING

from sparkout.cli.world import shown_path
from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from sparkout.cli.world import World


@contextmanager
def opened(data: Path | None, world: World, *, alone: bool) -> Iterator[None]:
    """Open the records of a data folder; `alone` when they are written, which one process does at a time.

    Raises
    ------
    Refusal
        When the folder cannot be used, a server holds it, or no workshop is set up in it.
    """
    from sparkout.server.claim import claimed
    from sparkout.server.data_folder import make_ready, usual_data_folder
    from sparkout.server.run import start_django, stop_django

    told: Path | str | None = data or world.env.get("SPARKOUT_DATA")
    folder = world.folder / told if told else usual_data_folder()
    make_ready(folder)
    with claimed(folder) if alone else nullcontext():
        start_django(folder, say=world.say)
        from sparkout.records.models import Workshop

        try:
            if not Workshop.objects.exists():
                raise Refusal(
                    phrase(
                        "no workshop is set up in {folder}; open it with 'sparkout serve' first",
                        folder=shown_path(folder),
                    )
                )
            yield
        finally:
            stop_django()
