"""What the bench sends: own script small, a page with its drawings below what a poor wireless can carry at once."""

from pathlib import Path

from django.test import Client

import sparkout.web
from sparkout.records.models import Visit

STATIC = Path(sparkout.web.__file__).parent / "static" / "sparkout"


def test_own_script_is_below_40_kb() -> None:
    assert sum(path.stat().st_size for path in STATIC.glob("*.js")) < 40_000


def test_no_address_of_another_host_in_what_is_sent() -> None:
    for path in STATIC.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "://" not in text, path.name


def test_a_full_visit_page_is_below_200_kb(visitor: Client) -> None:
    for visit in Visit.objects.filter(state="open"):
        assert len(visitor.get(f"/visits/{visit.pk}/").content) < 200_000
    last = Visit.objects.order_by("-pk").filter(state="signed")[0]
    assert len(visitor.get(f"/visits/{last.pk}/").content) < 200_000
