"""`{% attached bench step.name %}`: the photographs and recordings at one step of the visit page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import template
from django.template.loader import render_to_string

from sparkout.records.life import attachments_of
from sparkout.web.visit.attached import WITH_FORM, at_step, shown_at

if TYPE_CHECKING:
    from django.template import Context
    from django.utils.safestring import SafeString

    from sparkout.web.visit.bench import Bench

register = template.Library()


@register.simple_tag(takes_context=True)
def attached(context: Context, bench: Bench, step: str) -> SafeString | str:
    """Return the part of the page; all steps of one page are answered from one query."""
    kept = vars(bench)
    if "attached" not in kept:
        kept["attached"] = attachments_of(bench.visit)
    if step not in WITH_FORM and all(shown_at(one.step) != step for one in kept["attached"]):
        return ""
    here = at_step(bench.visit, step, kept["attached"], bench.showing)
    around = {"reader": context["reader"], "showing": context["showing"], "script": step == WITH_FORM[0]}
    return render_to_string("unit/attached.html", {**around, **here}, context["request"])
