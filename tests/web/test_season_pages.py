"""The season's pages: they tell what the season reckons; moves, sheet, what-ifs and plans through their forms."""

import datetime
import re
from html import unescape

import pytest
from django.test import Client

from sparkout.core.phrase import capital
from sparkout.records.jobs import do_now, wait_for_all
from sparkout.records.models import Job, Person, SeasonPlan
from sparkout.records.operations.season import keep_plan, make_plan
from sparkout.records.season import kept_plan, placements, plan_of_job, season_on_file, sheet_now
from sparkout.season.now import held
from sparkout.season.reel_choice import reel_choice
from sparkout.showing import Showing
from sparkout.telling.season_reels import way_rows, why_told
from sparkout.telling.season_wear import wear_row

PAGES = ("/season/", "/season/wall/", "/season/load/", "/season/what-if/", "/season/sheet/")


def text_of(client: Client, path: str, status: int = 200) -> str:
    answered = client.get(path)
    assert answered.status_code == status, path
    return unescape(answered.content.decode())


@pytest.fixture
def planned(visitor: Client) -> Client:
    """The demonstration workshop with a plan that is kept."""
    me = Person.objects.order_by("pk")[0]
    made = plan_of_job(do_now(make_plan(actor=me, seconds=0.3)))
    assert made is not None
    keep_plan(actor=me, plan=made)
    return visitor


def jobs_by_day() -> dict[str, datetime.date | None]:
    units, _ = season_on_file(seconds=0.0)
    return {one.job: one.on for one in placements(kept_plan(), units)}


@pytest.mark.parametrize("path", PAGES)
def test_every_page_stands_before_anything_is_on_file(client: Client, path: str) -> None:
    assert "<h1>" in text_of(client, path)


@pytest.mark.parametrize("path", PAGES)
def test_every_page_of_the_demonstration_stands_without_a_plan(visitor: Client, path: str) -> None:
    assert "<h1>" in text_of(visitor, path)


def test_what_is_due_is_what_the_forecast_says(visitor: Client) -> None:
    text = text_of(visitor, "/season/")
    _, season = season_on_file(seconds=0.0)
    for one in season.forecast.units:
        assert one.unit.name in text
        on = season.due_on(one)
        assert on is not None
        assert f"{on.day} {on:%b} {on.year}" in text


def test_every_job_of_the_plan_stands_on_the_wall_on_its_day(planned: Client) -> None:
    text = text_of(planned, "/season/wall/")
    units, season = season_on_file(seconds=0.0)
    told = held(season, placements(kept_plan(), units))
    start = season.needed.start
    assert told.placed
    for one in told.placed:
        assert one.on is not None
        links = re.findall(r'<a href="\?job=([^"#]*)#move"[^>]*data-day="(\d+)"', text)
        found = {name.replace("+", " ").replace("%23", "#"): int(day) for name, day in links}
        if (one.on - start).days < 84:
            assert found[one.job] == (one.on - start).days
        assert f"{one.on:%a} {one.on.day} {one.on:%b}" in text


def test_every_late_job_is_explained_in_words(planned: Client) -> None:
    units, season = season_on_file(seconds=0.0)
    text = text_of(planned, "/season/wall/")
    late = held(season, placements(kept_plan(), units)).late
    assert late, "the demonstration has late jobs"
    for one in late:
        assert one.job in text
        assert one.why
        assert one.why in text


def test_a_move_tells_its_cost_and_changes_nothing_until_it_is_kept(planned: Client) -> None:
    before = jobs_by_day()
    job, on = next((job, on) for job, on in before.items() if on is not None)
    to = on + datetime.timedelta(days=40)
    part = planned.get("/season/wall/move/", {"job": job, "on": to.isoformat()}, headers={"HX-Request": "true"})
    told = unescape(part.content.decode())
    assert "<html" not in told
    assert f'data-keep="{(to - season_on_file(seconds=0.0)[1].needed.start).days}"' in told
    for words in ("lateness", "overtime", "life wasted by grinding early", "together", "days late"):
        assert words in told
    whole = text_of(planned, f"/season/wall/?job={job.replace('#', '%23')}&on={to}")
    assert "What the move costs" in whole
    assert jobs_by_day() == before


def test_a_kept_move_is_respected_and_can_be_released(planned: Client) -> None:
    job, on = next((job, on) for job, on in jobs_by_day().items() if on is not None)
    to = on + datetime.timedelta(days=8)
    answered = planned.post("/season/wall/move/", {"job": job, "on": to.isoformat()})
    assert answered.status_code == 302
    assert jobs_by_day()[job] == to
    assert sheet_now().chosen[0].job == job
    assert "Days chosen by hand" in text_of(planned, "/season/wall/")
    assert planned.post("/season/plan/", {"seconds": "0.3", "how": "near"}).status_code == 302
    assert planned.post("/season/wall/release/", {"job": job}).status_code == 302
    assert "Days chosen by hand" not in text_of(planned, "/season/wall/")
    assert sheet_now().chosen == ()


def test_a_released_job_whose_machine_cannot_be_spared_is_said_to_have_moved(planned: Client) -> None:
    _, season = season_on_file(seconds=0.0)
    job = next(one for one in season.needed.season.jobs if one.spared is not None and one.fixed is None)
    assert job.spared is not None
    day = next(d for d in range(30, season.needed.season.days) if d not in job.spared)
    to = season.needed.date(day)
    assert planned.post("/season/wall/move/", {"job": job.unit, "on": to.isoformat()}).status_code == 302
    assert "Not where the kept plan had it" not in text_of(planned, "/season/wall/")
    answered = planned.post("/season/wall/release/", {"job": job.unit}, follow=True)
    text = unescape(answered.content.decode())
    assert "Released: plans choose its day again." in text
    assert "Not where the kept plan had it" in text
    assert re.search(rf"{re.escape(job.unit)}: {to.day} \w+ \d+ → .*its machine cannot be spared on that day", text)


def test_the_best_plan_so_far_is_looked_at_while_a_better_one_is_sought(planned: Client) -> None:
    assert planned.get("/season/wall/?best=so-far").status_code == 302, "nothing is being made"
    _, season = season_on_file(seconds=0.0)
    assert planned.post("/season/plan/", {"seconds": "0.3", "how": "free"}).status_code == 302
    wait_for_all()
    job = Job.objects.order_by("-pk")[0]
    days = {one.unit: season.needed.date(max(one.due, 0)).isoformat() for one in season.needed.season.jobs}
    best = {"days": days, "cost": 321.0, "seconds": 4.0, "late": 2, "undone": 0}
    Job.objects.filter(pk=job.pk).update(state="running", told={**job.told, "bound": 1.0, "doing": "", "best": best})
    progress = text_of(planned, "/season/wall/")
    assert "Best plan so far, after 4 s" in progress
    assert "?best=so-far" in progress
    text = text_of(planned, "/season/wall/?best=so-far")
    assert "Nothing of this is kept" in text
    assert "data-wall" not in text, "what is not kept cannot be moved by hand"
    assert "What changes" in text


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"job": "nobody's", "on": "2026-12-24"}, "no job"),
        ({"job": "G3 left", "on": "1999-01-01"}, "outside the season"),
        ({"job": "G3 left", "on": "soon"}, "soon"),
    ],
)
def test_a_move_that_cannot_be_is_refused_in_words(planned: Client, sent: dict[str, str], says: str) -> None:
    answered = planned.post("/season/wall/move/", sent)
    assert answered.status_code == 422
    assert says in unescape(answered.content.decode())
    asked = planned.get("/season/wall/move/", sent, headers={"HX-Request": "true"})
    assert asked.status_code == 200
    assert says in unescape(asked.content.decode())


def test_the_wall_tells_machines_down_and_later_stretches(planned: Client) -> None:
    text = text_of(planned, "/season/wall/?down=machines")
    assert text.count("data-row") > 0
    later = text_of(planned, "/season/wall/?from=84")
    assert later.count("data-row") < text.count("data-row")
    assert "data-row" in text_of(planned, "/season/wall/?from=99999")
    assert "data-row" in text_of(planned, "/season/wall/?from=x")


def test_pictures_come_alone_when_asked_for_else_as_a_page(planned: Client) -> None:
    for name in ("load", "interval", "spend"):
        alone = planned.get(f"/season/load/{name}/", headers={"HX-Request": "true"}).content.decode()
        assert "<svg" in alone
        assert "<h1>" not in alone
        assert "<h1>" in text_of(planned, f"/season/load/{name}/")
    assert planned.get("/season/load/nothing/").status_code == 404
    assert planned.get("/season/units/99999/fan/").status_code == 404


def test_the_fan_of_a_unit(planned: Client) -> None:
    units, season = season_on_file(seconds=30.0)
    one = next(each for each in season.forecast.units if each.ends is not None)
    path = f"/season/units/{units.numbers[one.unit.name]}/fan/"
    told = unescape(planned.get(path, headers={"HX-Request": "true"}).content.decode())
    assert "<html" not in told
    read = [each for each in one.wears if each.wearing.sizes]
    assert told.count("<svg") == len(read) > 1
    assert "90\u00a0% band" in told or "90 % band" in told
    for each in read:
        for text in wear_row(season, each, Showing()):
            assert capital(Showing().say(text)) in told or Showing().say(text) in told
    assert f"<h1>{one.unit.name}</h1>" in text_of(planned, path)
    assert "metal left" in text_of(planned, "/season/load/").lower()
    assert planned.get("/season/load/age/", headers={"HX-Request": "true"}).content.startswith(b"<svg")


PERSON = {
    "name": "technician C", "skills-spin": "on", "skills-set": "on", "overtime": "90 min",
    **{f"week-{day}": "7.5" for day in ("Mon", "Tue", "Wed")},
}  # fmt: skip


def test_grind_or_replace_of_a_unit_on_demand(visitor: Client) -> None:
    units, season = season_on_file(seconds=60.0)
    assert "Grind or replace" in text_of(visitor, "/season/")
    told = next(one for one in season.forecast.units if one.ends is not None)
    path = f"/season/units/{units.numbers[told.unit.name]}/reel/"
    part = visitor.get(path, headers={"HX-Request": "true"})
    assert part.status_code == 200
    text = unescape(part.content.decode())
    assert "<html" not in text
    found = reel_choice(season.forecast, told, season.sheet)
    assert why_told(found.cheaper) in text
    for row in way_rows(found, Showing()):
        assert all(cell in text for cell in row[1:])
    whole = text_of(visitor, path)
    assert why_told(found.cheaper) in whole
    assert f"<h1>Grind or replace: {told.unit.name}</h1>" in whole
    wanting = next(one for one in season.forecast.units if one.ends is None)
    assert "wanted: two diameters" in text_of(visitor, f"/season/units/{units.numbers[wanting.unit.name]}/reel/")
    assert visitor.get("/season/units/99999/reel/").status_code == 404


def test_somebody_is_added_changed_and_taken_off_the_sheet(visitor: Client) -> None:
    count = len(sheet_now().people)
    assert visitor.post("/season/sheet/people/", PERSON).status_code == 302
    made = sheet_now().people[-1]
    assert (made.name, made.skills, float(made.week[1]), float(made.week[3])) == (
        "technician C",
        ("spin", "set"),
        27000.0,
        0.0,
    )
    assert "technician C" in text_of(visitor, "/season/sheet/")
    shown = text_of(visitor, f"/season/sheet/people/{count}/")
    assert 'name="skills-spin" checked' in shown
    assert 'name="skills-strip" checked' not in shown
    was = re.search(r"name=\"was\" value=\"(.*?)\">", visitor.get(f"/season/sheet/people/{count}/").content.decode())
    assert was is not None
    seen = unescape(was[1])
    changed = {**PERSON, "overtime": "", "was": seen}
    assert visitor.post(f"/season/sheet/people/{count}/", changed).status_code == 302
    assert float(sheet_now().people[-1].overtime) == 0.0
    again = visitor.post(f"/season/sheet/people/{count}/", changed)
    assert again.status_code == 422
    assert "meanwhile" in again.content.decode()
    assert visitor.post(f"/season/sheet/people/{count}/remove/", {}).status_code == 302
    assert len(sheet_now().people) == count


def test_what_is_wrong_is_said_and_what_was_typed_stays(visitor: Client) -> None:
    answered = visitor.post("/season/sheet/people/", {**PERSON, "overtime": "soon", "week-Mon": "30 h"})
    assert answered.status_code == 422
    text = unescape(answered.content.decode())
    assert 'value="soon"' in text
    assert 'value="30 h"' in text
    assert text.count('aria-invalid="true"') == 2
    away = {"who": "nobody here", "first": "2026-12-10", "last": "2026-12-09"}
    refused = visitor.post("/season/sheet/away/", away)
    assert refused.status_code == 422
    assert "is nobody and no grinder of this sheet" in unescape(refused.content.decode())
    assert visitor.get("/season/sheet/nothing/").status_code == 404
    assert visitor.get("/season/sheet/people/99/").status_code == 404


@pytest.mark.parametrize(
    ("part", "sent"),
    [
        ("season", {"weeks": "20", "interval": "150", "fresh_days": "5"}),
        ("hours", {"strip": "20 min", "spin": "1", "relief": "1 h", "knife": "30 min", "set": "30 min"}),
        ("costs", {"hour": "40", "late_day": "25"}),
    ],
)
def test_figures_become_the_workshops_own(visitor: Client, part: str, sent: dict[str, str]) -> None:
    assert visitor.get(f"/season/sheet/{part}/").status_code == 200
    assert visitor.post(f"/season/sheet/{part}/", sent).status_code == 302
    sheet = sheet_now()
    found = {"season": sheet.weeks, "hours": float(sheet.hours.strip), "costs": float(sheet.costs.hour)}[part]
    assert found == {"season": 20, "hours": 1200.0, "costs": 40.0}[part]
    assert sheet.people, "the rest of the sheet stays"


def test_a_what_if_is_begun_changed_planned_and_put_away(planned: Client) -> None:
    assert planned.post("/season/what-if/begin/", {"name": "one more"}).status_code == 302
    twice = planned.post("/season/what-if/begin/", {"name": "one more"})
    assert twice.status_code == 422
    assert planned.post("/season/sheet/people/", {**PERSON, "of": "one more"}).status_code == 302
    assert len(sheet_now("one more").people) == len(sheet_now().people) + 1
    me = Person.objects.order_by("pk")[0]
    do_now(make_plan(actor=me, seconds=0.3, what_if="one more"))
    text = text_of(planned, "/season/what-if/")
    assert "one more" in text
    assert "Days late, together" in text
    assert planned.post("/season/what-if/forget/", {"of": "one more"}).status_code == 302
    assert "one more</th>" not in text_of(planned, "/season/what-if/")
    assert planned.get("/season/sheet/?of=one+more").status_code == 404


def test_a_plan_is_offered_with_what_it_changes_and_kept(planned: Client) -> None:
    me = Person.objects.order_by("pk")[0]
    job = do_now(make_plan(actor=me, seconds=0.3, hold_on=True))
    made = plan_of_job(job)
    assert made is not None
    text = text_of(planned, "/season/wall/")
    assert "A new plan to look at" in text
    assert planned.post(f"/season/plan/{made.pk}/keep/", {}).status_code == 302
    assert SeasonPlan.objects.get(pk=made.pk).kept_at is not None
    again = planned.post(f"/season/plan/{made.pk}/keep/", {})
    assert again.status_code == 422
    assert "kept already" in again.content.decode()


@pytest.mark.parametrize("seconds", ["never", "0", "1e9", "-3"])
def test_a_time_that_cannot_be_is_refused(planned: Client, seconds: str) -> None:
    answered = planned.post("/season/plan/", {"seconds": seconds, "how": "free"})
    assert answered.status_code == 422


def test_no_plan_without_work_says_why(client: Client) -> None:
    answered = client.post("/season/plan/", {"seconds": "1", "how": "free"})
    assert answered.status_code == 422
    assert "somebody with hours" in unescape(answered.content.decode())


def test_progress_of_nothing_asks_for_the_page_again(planned: Client) -> None:
    assert planned.get("/season/plan/progress/")["HX-Refresh"] == "true"
    assert planned.post("/season/plan/stop/").status_code == 302


@pytest.mark.parametrize(
    ("file", "begins"), [("season.ics", b"BEGIN:VCALENDAR"), ("season.xlsx", b"PK"), ("plan-A3.pdf", b"%PDF")]
)
def test_the_plan_is_taken_along(planned: Client, file: str, begins: bytes) -> None:
    answered = planned.get(f"/season/{file}")
    assert answered.status_code == 200
    assert answered.content.startswith(begins)
    assert f'href="/season/{file}"' in text_of(planned, "/season/wall/")


def test_there_is_nothing_to_take_along_without_a_plan(client: Client) -> None:
    assert client.get("/season/season.ics").status_code == 422
