"""Serve the bench from a data folder until told to stop."""

from __future__ import annotations

import errno
import ipaddress
import os
import signal
import socket
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.server.claim import claimed
from sparkout.server.data_folder import make_ready

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

LOOPBACK = "127.0.0.1"
PORT = 8765
_THREADS = 4


def serve(
    data: Path,
    port: int = PORT,
    host: str = LOOPBACK,
    *,
    demonstration: bool = False,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the records in a data folder until Ctrl-C (or a polite end from outside).

    Raises
    ------
    Refusal
        When the folder cannot be used, is served already, or the port is taken.
    """
    make_ready(data)
    with claimed(data) as tell, _ended_politely():
        application = start_django(data, host, say)
        if demonstration:
            _demonstration(say)
        server = _listening(application, host, port)
        _take_up_work()
        _rest_the_collector()
        try:
            _say_where(server, data, host, say, tell)
            server.run()  # ends on KeyboardInterrupt, after the requests under way
        finally:
            server.close()
    say(phrase("Sparkout has stopped; everything entered is kept."))


def _say_where(server: Any, data: Path, host: str, say: Callable[[str], None], tell: Callable[[str], None]) -> None:
    address = _address(host, server.effective_port)
    tell(address)
    if not _is_loopback(host):
        say(
            phrase(
                "Everybody on this network can open it, read and change the records: there are no passwords and "
                "nothing is encrypted. Use it on a network you trust."
            )
        )
    where = {"address": AsTyped(address), "data": AsTyped(data)}
    say(phrase("Sparkout is at {address} (data: {data}). Ctrl-C stops it.", **where))


def _rest_the_collector() -> None:
    """Leave what is loaded once and for all out of every later search for garbage, and search less often.

    An answer makes tens of thousands of small things, and a search through everything in the middle of it costs more
    than it finds.
    """
    import gc

    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


@contextmanager
def _ended_politely() -> Iterator[None]:
    """End on Ctrl-C, or when told from outside, without an error, whatever was being done."""

    def stop(_signal: int, _frame: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    except KeyboardInterrupt:
        pass
    finally:
        signal.signal(signal.SIGTERM, before)
        from django.db import connections

        connections.close_all()


def stop_django() -> None:
    """Close what a command opened of the records."""
    from django.db import connections

    connections.close_all()


def start_django(data: Path, host: str = LOOPBACK, say: Callable[[str], None] = print) -> Any:
    """Return the WSGI application over a data folder, its records brought up to date."""
    os.environ["SPARKOUT_DATA"] = str(data.resolve())
    os.environ["DJANGO_SETTINGS_MODULE"] = "sparkout.server.settings"
    # Sums this small are slower shared out: the threads of the linear algebra wait for each other, and take the cores
    # the other requests need.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    if not _is_loopback(host):
        names = [os.environ.get("SPARKOUT_HOSTS", ""), *_own_names(host)]
        os.environ["SPARKOUT_HOSTS"] = ",".join(filter(None, names))
    import django
    from django.core.exceptions import ImproperlyConfigured

    try:
        django.setup()
    except ImproperlyConfigured as error:
        why = AsTyped(" ".join(str(error).split()))
        raise Refusal(phrase("the records cannot be opened: {why}", why=why)) from None
    from sparkout.server.migrating import bring_up_to_date

    copy = bring_up_to_date(data)
    if copy is not None:
        told = phrase(
            "The records were brought to this version's layout; a copy of them as they were: {copy}", copy=AsTyped(copy)
        )
        say(told)
    from sparkout.server.wsgi import application

    return application


def _take_up_work() -> None:
    """Go on with background work that a server before this one left."""
    import sparkout.records.bringing.operations  # noqa: F401 - makes its kinds of work known
    from sparkout.records.jobs import take_up

    take_up()


def _demonstration(say: Callable[[str], None]) -> None:
    from sparkout.records.demonstration import load_demonstration
    from sparkout.records.models import Workshop

    workshop = Workshop.objects.first()
    if workshop is None:
        load_demonstration()
    elif not workshop.demonstration:
        told = phrase(
            "This data folder holds {workshop}: the demonstration is not put into it. Give another --data.",
            workshop=AsTyped(workshop.name),
        )
        say(told)


def _listening(application: Any, host: str, port: int) -> Any:
    from waitress.server import create_server

    try:
        return create_server(
            application, host=host, port=port, threads=_THREADS, ident="", clear_untrusted_proxy_headers=True
        )
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            told = phrase(
                "port {port} of {host} is taken by another program; choose another with --port",
                port=AsTyped(port), host=AsTyped(host),
            )  # fmt: skip
            raise Refusal(told) from None
        why = AsTyped(error.strerror or error)
        told = phrase("{host}, port {port} cannot be used: {why}", host=AsTyped(host), port=AsTyped(port), why=why)
        raise Refusal(told) from None
    except ValueError:
        told = phrase(
            "'{host}' is no address of this machine; allowed: 127.0.0.1, 0.0.0.0, or one of its own", host=AsTyped(host)
        )
        raise Refusal(told) from None


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _address(host: str, port: int) -> str:
    shown = next(iter(_own_addresses()), LOOPBACK) if host in ("0.0.0.0", "::") else host
    return f"http://[{shown}]:{port}/" if ":" in shown else f"http://{shown}:{port}/"


def _own_names(host: str) -> list[str]:
    """Return under which names this machine may be asked when it listens at `host`."""
    if host not in ("0.0.0.0", "::"):
        return [f"[{host}]" if ":" in host else host]
    return [socket.gethostname(), socket.getfqdn(), *_own_addresses()]


def _own_addresses() -> list[str]:
    try:
        found = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
    except OSError:
        return []
    return sorted({str(entry[4][0]) for entry in found} - {LOOPBACK})
