"""Addresses of the web bench; reads as its contents."""

from __future__ import annotations

from django.urls import path, register_converter

from sparkout.web.board import page as board
from sparkout.web.calendar import feed as calendar
from sparkout.web.care import page as care
from sparkout.web.exchange import page as exchange
from sparkout.web.faults import own_table
from sparkout.web.faults import page as faults
from sparkout.web.search import page as search
from sparkout.web.season import load as season_load
from sparkout.web.season import page as season
from sparkout.web.season import reel as season_reel
from sparkout.web.season import sheet as season_sheet
from sparkout.web.season import solving as season_plan
from sparkout.web.season import taken as season_taken
from sparkout.web.season import wall as season_wall
from sparkout.web.season import what_if as season_what_if
from sparkout.web.shell import away, people
from sparkout.web.stand import clip, matching, stance
from sparkout.web.start import page as start
from sparkout.web.tokens import page as tokens
from sparkout.web.unit import attached, sound
from sparkout.web.unit import page as unit
from sparkout.web.visit import attached as of_visit
from sparkout.web.visit import entries, forms, why
from sparkout.web.visit import page as visit
from sparkout.web.workshop import calibrating, fitting, hours, limits, things, turf
from sparkout.web.workshop import page as workshop
from sparkout.web.workshop.kinds import KindConverter

register_converter(KindConverter, "kind")

urlpatterns = [
    path("", board.board, name="board"),
    path("search/", search.searched, name="search"),
    path("why/", faults.faults, name="faults"),
    path("why/ahead/", faults.ahead, name="faults-ahead"),
    path("why/table/", own_table.table, name="fault-table"),
    path("why/table/<int:number>/end/", own_table.ended, name="end-fault-table"),
    path("why/keep/", faults.keep, name="faults-keep"),
    path("stance/", stance.stand, name="stance"),
    path("stance/told/", stance.stand, name="stance-told"),
    path("stance/keep/", stance.keep, name="stance-keep"),
    path("matching/", matching.matched, name="matching"),
    path("matching/told/", matching.matched, name="matching-told"),
    path("clip/", clip.clip, name="clip"),
    path("clip/told/", clip.clip, name="clip-told"),
    path("season/", season.due, name="season"),
    path("season/season.ics", season_taken.calendar, name="season-calendar"),
    path("season/figures/", season.figures, name="season-figures"),
    path("season/units/<int:number>/fan/", season.fan, name="season-fan"),
    path("season/units/<int:number>/reel/", season_reel.choice, name="season-reel"),
    path("season/wall/", season_wall.wall, name="season-wall"),
    path("season/wall/move/", season_wall.move, name="season-move"),
    path("season/wall/release/", season_wall.release, name="season-release"),
    path("season/plan/", season_plan.plan, name="season-plan"),
    path("season/plan/progress/", season_plan.how_far, name="season-progress"),
    path("season/plan/stop/", season_plan.stop, name="season-stop"),
    path("season/plan/<int:number>/keep/", season_plan.keep, name="season-keep"),
    path("season/load/", season_load.load, name="season-load"),
    path("season/load/<slug:name>/", season_load.picture, name="season-picture"),
    path("season/what-if/", season_what_if.what_if, name="season-what-if"),
    path("season/what-if/begin/", season_what_if.begin, name="season-begin"),
    path("season/what-if/forget/", season_what_if.forget, name="season-forget"),
    path("season/sheet/", season_sheet.sheet, name="season-sheet"),
    path("season/sheet/<slug:name>/", season_sheet.entry, name="season-entry-new"),
    path("season/sheet/<slug:name>/<int:which>/", season_sheet.entry, name="season-entry"),
    path("season/sheet/<slug:name>/<int:which>/remove/", season_sheet.remove, name="season-remove"),
    path("start/", start.start, name="start"),
    path("start/demonstration/", start.demonstration, name="start-demonstration"),
    path("away.js", away.away, name="away"),
    path("who/", people.who, name="who"),
    path("who/manner/", people.manner, name="manner"),
    path("workshop/", workshop.workshop, name="workshop"),
    path("workshop/settings/", workshop.settings, name="settings"),
    path("workshop/bring/", workshop.bring, name="bring"),
    path("workshop/hours/", hours.hours, name="hours"),
    path("workshop/hours/<int:number>/", hours.entry, name="hours-entry"),
    path("workshop/care/", care.care, name="care"),
    path("workshop/care/<int:number>/withdraw/", care.withdrawn, name="withdraw-exposure"),
    path("workshop/care/may/", care.may_do, name="authorise"),
    path("workshop/care/may/<int:number>/end/", care.ended, name="end-authorisation"),
    path("workshop/turf/", turf.turf, name="turf"),
    path("workshop/turf/<int:number>/", turf.event, name="event"),
    path("workshop/limits/", limits.limits, name="limits"),
    path("workshop/limits/<int:number>/end/", limits.ended, name="end-limit"),
    path("workshop/gauges/<int:number>/calibrate/", calibrating.calibrate, name="calibrate"),
    path("workshop/units/<int:number>/parts/", fitting.parts, name="parts"),
    path("workshop/fittings/<int:number>/", fitting.entry, name="fitting"),
    path("workshop/tokens/", tokens.tokens, name="tokens"),
    path("workshop/tokens/<int:number>/end/", tokens.ended, name="end-token"),
    path("workshop/<kind:kind>/", things.listed, name="things"),
    path("workshop/<kind:kind>/new/", things.add, name="add"),
    path("workshop/<kind:kind>/<int:number>/", things.thing, name="thing"),
    path("workshop/<kind:kind>/<int:number>/end/", things.ended, name="end"),
    path("calendar/<str:token>.ics", calendar.feed, name="calendar"),
    path("season/plan-<slug:paper>.pdf", calendar.printed, name="season-print"),
    path("season/season.xlsx", calendar.workbook, name="season-workbook"),
    path("tables/", exchange.tables, name="tables"),
    path("tables/in/", exchange.receive, name="table-receive"),
    path("tables/<int:number>/", exchange.columns, name="table-columns"),
    path("tables/<int:number>/rows/", exchange.rows, name="table-rows"),
    path("tables/<int:number>/progress/", exchange.progress, name="table-progress"),
    path("tables/<int:number>/enter/", exchange.enter, name="table-enter"),
    path("tables/<int:number>/stop/", exchange.stop, name="table-stop"),
    path("tables/<int:number>/refused.<slug:form>", exchange.refused_file, name="table-refused"),
    path("tables/out/records.<slug:form>", exchange.out, name="table-out"),
    path("units/<int:number>/", unit.life, name="unit"),
    path("units/<int:number>/label/", unit.label, name="label"),
    path("units/<int:unit>/visit/", forms.opened, name="open"),
    path("units/<int:number>/attached/", unit.attached, name="attached-unit"),
    path("units/<int:number>/attach/", attached.attach, name="attach-unit"),
    path("reels/<int:number>/life/", unit.reel, name="reel"),
    path("knives/<int:number>/life/", unit.knife, name="knife"),
    path("attachments/<int:number>/", attached.attachment, name="attachment"),
    path("attachments/<int:number>/small.jpg", attached.small, name="attachment-small"),
    path("attachments/<int:number>/large.jpg", attached.large, name="attachment-large"),
    path("attachments/<int:number>/original/", attached.original, name="attachment-original"),
    path("attachments/<int:number>/describe/", attached.describe, name="describe-attachment"),
    path("attachments/<int:number>/hear/", sound.hear, name="hear"),
    path("attachments/<int:number>/run-down/", sound.enter, name="enter-run-down"),
    path("attachments/<int:number>/heard/", sound.heard, name="heard"),
    path("attachments/<int:number>/remove/", attached.remove, name="remove-attachment"),
    path("visits/<int:number>/", visit.visit, name="visit"),
    path("visits/<int:number>/answer/", visit.answer, name="answer"),
    path("visits/<int:number>/reading/", entries.reading, name="reading"),
    path("visits/<int:number>/ahead/", entries.ahead, name="ahead"),
    path("visits/<int:number>/picture/<slug:name>/", why.drawn, name="picture"),
    path("visits/<int:number>/why/<slug:box>/", why.why, name="why"),
    path("visits/<int:number>/another/", forms.another, name="another"),
    path("visits/<int:number>/look/", forms.look, name="look"),
    path("visits/<int:number>/what-if/", forms.what_if, name="what-if"),
    path("visits/<int:number>/keep/", forms.keep, name="keep"),
    path("visits/<int:number>/pass/", entries.passed, name="pass"),
    path("visits/<int:number>/paper/", entries.paper, name="paper"),
    path("visits/<int:number>/sign/", forms.sign, name="sign"),
    path("visits/<int:number>/set-aside/", forms.set_aside, name="set-aside"),
    path("visits/<int:number>/correct/", forms.correct, name="correct"),
    path("visits/<int:number>/attached/", of_visit.attached, name="attached-visit"),
    path("visits/<int:number>/attach/", of_visit.attach, name="attach-visit"),
    path("visits/<int:number>/card.pdf", visit.card, name="card"),
    path("visits/<int:number>/visit.toml", visit.file, name="file"),
]
