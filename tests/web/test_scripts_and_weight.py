"""What the bench sends: own script small, a page with its drawings below what a poor wireless can carry at once."""

import re
from pathlib import Path

from django.test import Client

import sparkout.web
from sparkout.records.models import Visit

STATIC = Path(sparkout.web.__file__).parent / "static" / "sparkout"


TEMPLATES = Path(sparkout.web.__file__).parent / "templates"
LOADED = re.compile(r"static 'sparkout/(\w+\.js)'")


def test_own_script_of_any_one_page_is_below_40_kb() -> None:
    """What every page loads, and what a page adds to it in its own template or in any it includes."""
    always = set(LOADED.findall((TEMPLATES / "shell" / "base.html").read_text(encoding="utf-8")))
    known = {path.name: path.stat().st_size for path in STATIC.glob("*.js")}
    used = set(always)
    for path in TEMPLATES.rglob("*.html"):
        loaded = always | set(LOADED.findall(path.read_text(encoding="utf-8")))
        used |= loaded
        assert sum(known[name] for name in loaded) < 40_000, path
    assert used | {"away.js"} == set(known), "a script that no page loads, or one that is loaded otherwise"


def test_no_address_of_another_host_in_what_is_sent() -> None:
    for path in STATIC.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "://" not in text, path.name


def test_a_full_visit_page_is_below_200_kb(visitor: Client) -> None:
    for visit in Visit.objects.filter(state="open"):
        assert len(visitor.get(f"/visits/{visit.pk}/").content) < 200_000
    last = Visit.objects.order_by("-pk").filter(state="signed")[0]
    assert len(visitor.get(f"/visits/{last.pk}/").content) < 200_000
