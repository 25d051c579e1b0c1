"""Work in the background: one at a time, by one thread of the one server process; progress and an end by request.

A kind of work is a function that takes a `Progress`. What it has written is whole at every moment: it writes in
batches, and the count of what is done is written with the batch. So a killed server loses nothing, and work that can
be taken up again (`again=True`) goes on where it was; other work is marked as stopped.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import connection

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import Job
from sparkout.records.models.jobs import DONE, FAILED, RUNNING, STOPPED, WAITING
from sparkout.records.operations.doing import now, one_transaction

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.records.models import Person

_TOLD_EVERY = 0.3
_LET_OTHERS = 0.002
"""Between two batches somebody at the bench may write."""
_log = logging.getLogger("sparkout.jobs")


class Stopped(Exception):
    """The work was asked to stop; what is done stays."""


@dataclass(frozen=True, slots=True)
class _Kind:
    function: Callable[[Progress], Any]
    again: bool


_KINDS: dict[str, _Kind] = {}


def work(name: str, *, again: bool = False) -> Callable[[Callable[[Progress], Any]], Callable[[Progress], Any]]:
    """Make a function a kind of work; `again` when it can be taken up where a killed server left it (`job.done`)."""

    def known(function: Callable[[Progress], Any]) -> Callable[[Progress], Any]:
        _KINDS[name] = _Kind(function, again)
        return function

    return known


class Progress:
    """How the work tells how far it is, and hears that it is to stop."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self._told_at = 0.0

    def tell(self, done: int, of: int | None = None, message: str | None = None, *, at_once: bool = False) -> None:
        """Write down how far the work is; inside a transaction with `at_once` it is kept with what was done.

        What has come of it so far (`job.told`) is written down with it.

        Raises
        ------
        Stopped
            When somebody asked for it: between batches, never inside one (`at_once`).
        """
        self.job.done = done
        self.job.of = self.job.of if of is None else of
        self.job.message = self.job.message if message is None else message[:2000]
        if not at_once and time.monotonic() - self._told_at < _TOLD_EVERY:
            return
        with one_transaction():
            columns = {"done": done, "of": self.job.of, "message": self.job.message}
            so_far = {} if self.job.told is None else {"told": self.job.told}
            Job.objects.filter(pk=self.job.pk).update(**columns, **so_far)
        if not at_once:
            self._told_at = time.monotonic()
            self.breathe()

    def breathe(self) -> None:
        """Let others write, and end when asked to.

        Raises
        ------
        Stopped
            When somebody asked for it.
        """
        time.sleep(_LET_OTHERS)
        if Job.objects.filter(pk=self.job.pk, stop_asked=True).exists():
            raise Stopped


def ask_for(kind: str, actor: Person, about: int | None = None, asked: Any = None, of: int = 0) -> Job:
    """Write down work to be done; `begin` starts it."""
    with one_transaction():
        return Job.objects.create(kind=kind, about=about, asked=asked, of=of, asked_by=actor, asked_at=now())


def ask_to_stop(job: Job) -> None:
    """Ask work to stop; it does so between two batches. What only waits is stopped at once."""
    with one_transaction():
        Job.objects.filter(pk=job.pk, state__in=(WAITING, RUNNING)).update(stop_asked=True)
        Job.objects.filter(pk=job.pk, state=WAITING).update(state=STOPPED, ended_at=now())


def do_now(job: Job) -> Job:
    """Do the work in this thread, and return the job as it ended. A refusal is told in it, not raised."""
    with one_transaction():
        started = Job.objects.filter(pk=job.pk, state=WAITING).update(state=RUNNING, started_at=now())
    job.refresh_from_db()
    if started:
        state, told, message = _done(job)
        with one_transaction():
            columns = {"state": state, "message": (message or job.message)[:2000], "ended_at": now()}
            Job.objects.filter(pk=job.pk).update(**columns, **({} if told is None else {"told": told}))
        job.refresh_from_db()
    return job


def _done(job: Job) -> tuple[str, Any, str]:
    try:
        return DONE, _KINDS[job.kind].function(Progress(job)), ""
    except Stopped:
        return STOPPED, None, phrase("stopped when asked; what was done stays")
    except Refusal as refusal:
        return FAILED, None, str(refusal)
    except Exception:  # a fault of ours: the bench goes on, and the page says so
        _log.exception("job %s (%s) failed", job.pk, job.kind)
        return (
            FAILED,
            None,
            phrase("this failed for a reason that is not yours; what was done stays. The log tells more"),
        )


class _Worker:
    """The one thread that works in the background; it ends when there is nothing left to do."""

    def __init__(self) -> None:
        self.waiting: deque[int] = deque()
        self.lock = threading.Lock()
        self.thread: threading.Thread | None = None

    def begin(self, pk: int) -> None:
        with self.lock:
            self.waiting.append(pk)
            if self.thread is None:
                self.thread = threading.Thread(target=self._work, name="sparkout-jobs", daemon=True)
                self.thread.start()

    def _work(self) -> None:
        try:
            while (pk := self._next()) is not None:
                job = Job.objects.filter(pk=pk).first()
                if job is not None:
                    do_now(job)
        finally:
            connection.close()

    def _next(self) -> int | None:
        with self.lock:
            if self.waiting:
                return self.waiting.popleft()
            self.thread = None
            return None

    def wait(self, seconds: float) -> bool:
        end = time.monotonic() + seconds
        while (thread := self.thread) is not None and time.monotonic() < end:
            thread.join(0.05)
        return self.thread is None


_worker = _Worker()


def begin(job: Job) -> None:
    """Have the work done in the background, after what waits already."""
    _worker.begin(job.pk)


def soon(job: Job, seconds: float) -> None:
    """Have work that waits done in the background, and give it a moment: what is short is then done."""
    if job.state == WAITING:
        begin(job)
        end = time.monotonic() + seconds
        while time.monotonic() < end and Job.objects.filter(pk=job.pk, state__in=(WAITING, RUNNING)).exists():
            time.sleep(0.02)


def wait_for_all(seconds: float = 30.0) -> bool:
    """Wait until nothing is left to do; whether that came in time."""
    return _worker.wait(seconds)


def take_up() -> list[Job]:
    """After a start: go on with what a killed server left, where its kind can; mark the rest as stopped."""
    left = list(Job.objects.filter(state__in=(WAITING, RUNNING)).order_by("pk"))
    for job in left:
        kind = _KINDS.get(job.kind)
        going_on = kind is not None and (kind.again or job.state == WAITING)
        with one_transaction():
            job.state = WAITING if going_on else STOPPED
            job.message = job.message if going_on else phrase("the server ended meanwhile; what was done stays")
            job.ended_at = None if going_on else now()
            job.save()
        if going_on:
            begin(job)
    return left
