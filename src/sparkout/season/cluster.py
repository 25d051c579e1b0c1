"""A Dask cluster's map: parts of a file are worked on wherever there is a worker, again where one was lost."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

WAIT = 10
"""Seconds to wait for a scheduler to answer."""


@contextlib.contextmanager
def cluster_map(address: str) -> Iterator[tuple[Callable[..., Iterable[Any]], int]]:
    """Give a map like the built-in one that runs on a cluster, and how many workers there are now.

    The functions are pure and their answers small beside what they read, so the scheduler runs one again when its
    worker is lost.

    Raises
    ------
    Refusal
        The library is not installed, or no scheduler answers at the address.
    """
    try:
        from distributed import Client
    except ImportError:
        raise Refusal(phrase('a cluster wants the extra "fleet": pip install "sparkout[fleet]"')) from None
    try:
        client: Any = Client(address, timeout=WAIT, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as trouble:
        raise Refusal(
            phrase("no cluster answers at {address}: {why}", address=AsTyped(address), why=AsTyped(trouble))
        ) from None
    with client:
        workers = len(client.scheduler_info(n_workers=-1)["workers"])

        def mapper(work: Callable[..., Any], *given: Iterable[Any]) -> Iterable[Any]:
            made: list[Any] = client.gather(client.map(work, *map(list, given), pure=False, retries=5))
            return made

        yield mapper, max(workers, 1)
