"""The demonstration workshop served in this process, and the bare page that its pages are measured against.

The bare page is one query and one small template behind the same middleware; the bare entry is one row written in one
transaction. Django is set up once in a process, so one of these serves a process.
"""

from __future__ import annotations

import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

BARE, WRITTEN = "bare page: one query", "bare entry: one row in one transaction"
BARE_TEMPLATE = "<p>{{ name }}</p>\n"
BARE_PAGE, BARE_ENTRY = "/bare/", "/bare-entry/"


@contextmanager
def served() -> Iterator[Any]:
    """The demonstration workshop in a folder of its own, with somebody at the bench and the bare views beside it."""
    with tempfile.TemporaryDirectory() as folder:
        from sparkout.server.data_folder import make_ready
        from sparkout.server.run import start_django

        make_ready(Path(folder))
        start_django(Path(folder))
        from django.db import connections
        from django.test import Client

        from sparkout.records.demonstration import load_demonstration
        from sparkout.records.models import Person

        _add_bare_views()
        load_demonstration()
        client = Client(SERVER_NAME="localhost")
        client.post("/who/", {"person": Person.objects.order_by("pk")[0].pk, "next": "/"})
        yield client
        connections.close_all()


def _add_bare_views() -> None:
    from django.db import transaction
    from django.http import HttpRequest, HttpResponse
    from django.template import engines
    from django.urls import clear_url_caches, path

    from sparkout.records.models import HistoryLine, Workshop
    from sparkout.web import urls

    small = engines["django"].from_string(BARE_TEMPLATE)

    def page(request: HttpRequest) -> HttpResponse:
        return HttpResponse(small.render({"name": Workshop.objects.get().name}, request))

    def entry(_: HttpRequest) -> HttpResponse:
        line = HistoryLine.objects.order_by("-pk")[0]
        with transaction.atomic():
            line.pk, line.key = None, uuid.uuid4()
            line.save(force_insert=True)
        return HttpResponse()

    urls.urlpatterns += [path(BARE_PAGE.strip("/") + "/", page), path(BARE_ENTRY.strip("/") + "/", entry)]
    clear_url_caches()


def write_something() -> None:
    """Write to the records: nothing that was kept of a page stands any more."""
    from sparkout.records.models import HistoryLine

    line = HistoryLine.objects.order_by("-pk")[0]
    line.pk, line.key = None, None
    line.save(force_insert=True)
