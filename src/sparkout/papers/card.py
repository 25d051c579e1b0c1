"""The job card: one page for the bench, one for the file, its pictures overleaf where they have no room; PDF with real text."""

from __future__ import annotations

import json
from importlib.resources import files
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from sparkout.core.days import dated
from sparkout.core.measured import coverage_factor
from sparkout.core.phrase import AsTyped, joined, phrase, starting_large
from sparkout.papers.pictures import pictures
from sparkout.reckoning.answer import Untold
from sparkout.telling import finding, work
from sparkout.telling.bearings import against_words
from sparkout.telling.section import Table, keeping
from sparkout.telling.stance import plan_lines
from sparkout.telling.whole import ADVICE, DEMONSTRATION, grind_asked, put_right_first, summary, why_no_grind

if TYPE_CHECKING:
    from sparkout.core.measured import Measured
    from sparkout.reckoning.answer import Answer
    from sparkout.showing import Showing

Paper = Literal["A4", "Letter"]
_PAPER = {"A4": "a4", "Letter": "us-letter"}
MOST_ROWS = 26
"""Rows of readings the file page has room for; the visit file keeps them all."""
MOST_PLACES = 8
"""Readings of one kind told in one row."""
LONGEST_LIMIT = 90
"""Letters of a limit with its origin."""
MOST_ASSUMED = 10
"""Stand-ins the file page has room to name; the answer itself lists them all."""
MOST_BEARINGS = 3
"""Differences of the bearings the bench page has room for."""
PICTURE_WIDTH = 500.0
"""Of a picture's own units to the half of a page: its letters, 12 of them, are then printed in 6 pt or more on both papers."""
_ON_FILE = ("unrolled", "cone")
_ALT = {"unrolled": phrase("unrolled of reel"), "cone": phrase("cone of reel")}


def write_card(answer: Answer, showing: Showing, paper: Paper) -> bytes:
    """Return the job card as PDF; the same answer told the same way gives the same bytes.

    Raises
    ------
    ValueError
        For a paper size that is not A4 or Letter.
    """
    import font_source_sans_pro
    import typst

    folder = Path(font_source_sans_pro.__file__).parent / "files"
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)])
    template = (files("sparkout.papers") / "card.typ").read_bytes()
    card = json.dumps(card_data(answer, showing, paper), ensure_ascii=False)
    compiler = typst.Compiler(template, font_paths=fonts, sys_inputs={"card": card})
    made = compiler.compile(format="pdf", pdf_standards=["ua-1"])
    assert isinstance(made, bytes)
    return made


def card_data(answer: Answer, showing: Showing, paper: Paper) -> dict[str, Any]:
    """Return everything the layout prints, as text."""
    if paper not in _PAPER:
        raise ValueError(f"paper is {paper!r}; allowed: {', '.join(_PAPER)}")
    unit, reel = answer.visit.unit, answer.reel
    drawn = pictures(answer, showing, PICTURE_WIDTH)
    showing = keeping(answer, showing)
    said = showing.say
    return {
        "title": showing.typed(phrase("Job card: {unit}", unit=AsTyped(unit.name))),
        "paper": _PAPER[paper],
        "lang": showing.language,
        "unit": unit.name,
        "subtitle": _subtitle(answer, showing),
        "banner": said(DEMONSTRATION) if answer.visit.visit.demonstration else None,
        "footer": showing.say(ADVICE),
        "bench": {
            "kind": said(phrase("Job card · bench")),
            "answer": " ".join(summary(answer, showing).lines),
            "big": _big(answer, showing),
            "steps": _steps(answer, showing),
        },
        "file": {
            "kind": said(phrase("Job card · file")),
            "bands": _file_bands(answer, showing),
            "notes": _notes(answer, showing),
            "sign": [said(phrase("Name")), said(phrase("Date")), said(phrase("Signature"))],
        },
        "pictures": [
            {
                "svg": drawn[name],
                "alt": showing.typed(
                    phrase(
                        "{picture} {unit}, {blade_count} blades",
                        picture=said(_ALT[name]),
                        unit=AsTyped(unit.name),
                        blade_count=reel.blade_count,
                    )
                ),
            }
            for name in _ON_FILE
            if name in drawn
        ],
    }


def _subtitle(answer: Answer, showing: Showing) -> str:
    unit, reel, visit = answer.visit.unit, answer.reel, answer.visit.visit
    size = showing.say(
        phrase(
            "{blade_count} blades, {diameter} × {length}",
            blade_count=reel.blade_count,
            diameter=showing.length(reel.diameter),
            length=showing.place(reel.length),
        )
    )
    return " · ".join(
        filter(None, (unit.machine, unit.position, size, showing.say(dated(visit.date)) if visit.date else ""))
    )


def _figure(label: str, value: str, note: str) -> dict[str, str]:
    return {"label": label, "value": value, "note": note}


def _spread(m: Measured, showing: Showing) -> str:
    return f"± {showing.length(coverage_factor(0.95, m.dof) * m.u)}"


def _big(answer: Answer, showing: Showing) -> list[dict[str, str]]:
    """The figures read from two steps away."""
    found = answer.diagnosis
    cone = found.state.cone
    if "cone" not in found.informed:
        figures = [_figure(phrase("Cone on diameter"), phrase("not known"), phrase("see next reading"))]
    else:
        told = abs(cone.value) > coverage_factor(0.95) * cone.u
        end = finding.LARGER[cone.value <= 0] if told else phrase("not told from none")
        spread = joined(", ", (_spread(cone, showing), end))
        figures = [_figure(phrase("Cone on diameter"), showing.length(abs(cone.value)), spread)]
    if isinstance(answer.spin, Untold):
        figures.append(_figure(phrase("Spin grind"), phrase("no plan yet"), answer.spin.wanted))
        return [{key: showing.say(text) for key, text in figure.items()} for figure in figures]
    if grind_asked(answer) is False:
        why = phrase("every limit that a grind could meet is met")
        figures.append(_figure(phrase("Spin grind"), phrase("none asked"), why))
        return [{key: showing.say(text) for key, text in figure.items()} for figure in figures]
    plan = answer.spin.plan
    move = plan.set_up
    out = {
        "left": phrase("{divisions}, right end out; then touch off", divisions=work.divisions(move.divisions)),
        "right": phrase("{divisions}, left end out; then touch off", divisions=work.divisions(move.divisions)),
        "neither": phrase("{divisions}, neither end out; then touch off", divisions=work.divisions(move.divisions)),
    }
    figures += [
        _figure(
            phrase("Finish diameter"),
            showing.length(plan.finish_diameter.value),
            phrase(
                "{spread}, limit {service_diameter}",
                spread=_spread(plan.finish_diameter, showing),
                service_diameter=showing.length(answer.spin.service_diameter),
            ),
        ),
        _figure(phrase("Off the radius"), showing.length(plan.heaviest_stock), phrase("where it stands highest")),
        _figure(
            phrase("Adjuster"),
            phrase("{turns} turns", turns=showing.figure(abs(move.move.turns), 2)),
            out[move.touch_off.large_end],
        ),
        _figure(
            phrase("Traverse time"),
            showing.duration(plan.time),
            phrase("{passes} passes", passes=len(plan.passes)),
        ),
    ]
    return [{key: showing.say(text) for key, text in figure.items()} for figure in figures]


def _step(
    title: str, lines: tuple[str, ...], cautions: tuple[str, ...], passes: list[dict[str, str]]
) -> dict[str, Any]:
    return {"title": title, "lines": list(lines), "cautions": list(cautions), "passes": passes}


def _steps(answer: Answer, showing: Showing) -> list[dict[str, Any]]:
    """The work in order, each with what to tick and its cautions."""
    say = showing.say
    steps = [
        _step(
            say(phrase("Make safe, look over")),
            (
                say(phrase("Isolated, tried and tagged")),
                say(phrase("Bearings: play cured before measuring")),
                say(phrase("Nicks, cracks, bent blades, frame, rollers")),
            ),
            tuple(map(say, work.cautions(answer, "look over")))[:4],
            [],
        )
    ]
    differing = [a for a in (answer.bearings.against if answer.bearings else ()) if a.found.told][:MOST_BEARINGS]
    if differing:
        lines = tuple(say(starting_large(against_words(a, showing))) for a in differing)
        steps.append(_step(say(phrase("Bearings")), lines, (), []))
    wanted = [j.next_reading.candidate.label for j in answer.judged if j.next_reading is not None]
    wanted += [c.separation.candidate.label for c in answer.diagnosis.apart if c.separation is not None]
    if wanted:
        lines = tuple(say(starting_large(label)) for label in dict.fromkeys(wanted[:3]))
        steps.append(
            _step(
                say(phrase("Next reading worth taking")),
                lines,
                tuple(map(say, work.cautions(answer, "measure reel")))[1:3],
                [],
            )
        )
    first = tuple(map(say, put_right_first(answer)))
    if first:
        steps.append(_step(say(phrase("Put right first")), first, (), []))
    steps += _grinding_steps(answer, showing)
    knife = work.knife(answer, showing)
    if not isinstance(answer.knife, Untold) and answer.knife.face is not None:
        steps.append(_step(knife.title, knife.lines[:2], knife.cautions[:4], []))
    setting = work.setting(answer, showing)
    if not isinstance(answer.setting, Untold):
        moved = plan_lines(answer, showing)[:2] or work.height_lines(answer.setting, showing)
        ground = () if grind_asked(answer) is False else tuple(map(say, moved))
        steps.append(_step(setting.title, setting.lines[:3] + ground, setting.cautions[:3], []))
    proof = work.proof(answer, showing)
    steps.append(
        _step(
            proof.title,
            (
                say(phrase("Paper cut clean on every blade at left, centre and right")),
                say(phrase("Height of cut and rollers checked after setting")),
            ),
            proof.cautions[2:4],
            [],
        )
    )
    return steps


def _grinding_steps(answer: Answer, showing: Showing) -> list[dict[str, Any]]:
    if isinstance(answer.spin, Untold):
        lines = tuple(map(showing.say, work.untold(answer.spin)))
        return [_step(showing.say(phrase("Spin grind")), lines, (), [])]
    asked = grind_asked(answer)
    if asked is False:
        return [_step(showing.say(phrase("Spin grind")), (showing.say(why_no_grind(answer)),), (), [])]
    decide = () if asked else (joined(" ", (why_no_grind(answer), phrase("Decide first."))),)
    notes = tuple(note for note in answer.spin.notes if not note.startswith("The grinder's give"))
    by_key = {section.key: section for section in work.spin(answer, showing)}
    unit = showing.unit("length", max((p.dial_total for p in answer.spin.plan.passes), default=0.0))
    passes = [
        {"number": str(p.number), "depth": _running(p.dial_total, p.kind, unit, showing)}
        for p in answer.spin.plan.passes
    ]
    steps = [
        _step(
            by_key["set up"].title,
            tuple(map(showing.say, (*decide, *notes))) + by_key["set up"].lines[1:3],
            by_key["set up"].cautions[:4],
            [],
        ),
        _step(
            showing.say(
                phrase(
                    "{title} (tick each; running total on the dial, {unit})", title=by_key["passes"].title, unit=unit
                )
            ),
            by_key["passes"].lines[:1] + by_key["passes"].lines[2:],
            by_key["passes"].cautions[1:7],
            passes,
        ),
    ]
    relief = work.relief(answer, showing)
    wanted = not isinstance(answer.relief, Untold) and (answer.relief.due or work.relief_wished(answer))
    if not isinstance(answer.relief, Untold) and wanted and answer.relief.passes_per_blade:
        steps.append(_step(relief.title, relief.lines[:2], relief.cautions[:2], []))
    return steps


def _running(total: float, kind: str, unit: str, showing: Showing) -> str:
    if kind == "spark-out":
        return showing.say(phrase("spark"))
    return showing.quantity(total, "length", unit=unit).removesuffix(f" {unit}")


def _table(title: str, table: Table, columns: tuple[int, ...], widths: tuple[float, ...]) -> dict[str, Any]:
    return {
        "title": title,
        "head": [table.head[i] for i in columns],
        "rows": [[row[i] for i in columns] for row in table.rows],
        "widths": list(widths),
    }


def _file_bands(answer: Answer, showing: Showing) -> list[list[dict[str, Any]]]:
    """Readings, state, explanations and verdicts as tables; those of one band stand side by side."""
    state = finding.state(answer, showing).tables
    grids = [_grid(table) for table in finding.readings(answer, showing).tables if table.title]
    known = _table(showing.say(phrase("State of the unit as found")), state[0], (0, 1), (1, 1.6))
    explained = _table(state[1].title, state[1], (0, 1, 2), (1.6, 0.6, 2.4))
    title = showing.say(phrase("Against the workshop's own limits"))
    limits = [
        Table(t.head, tuple((quantity, _short(limit), *rest) for quantity, limit, *rest in t.rows))
        for t in finding.verdicts(answer, showing).tables
    ]
    judged = [_table(title, t, (0, 1, 2, 3, 4), (1, 2.6, 1.3, 1.0, 1.1)) for t in limits]
    bands = [[_readings(answer, showing)], [known, *grids[:1]], [explained], judged]
    return [kept for band in bands if (kept := [section for section in band if section["rows"]])]


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_LIMIT else text[: LONGEST_LIMIT - 1] + "…"


def _grid(table: Table) -> dict[str, Any]:
    count = len(table.head)
    return _table(table.title, table, tuple(range(count)), (0.8, *[1.0] * (count - 1)))


def _readings(answer: Answer, showing: Showing) -> dict[str, Any]:
    """One row for each quantity, gauge and stage, its places one after the other; sweeps stand as grids."""
    rows = []
    single = [m for m in answer.readings if not finding.in_a_grid(m)]
    for (of, gauge, when), group in groupby(single, key=lambda m: (m.of, m.gauge, m.when)):
        every = list(group)
        taken, rest = every[:MOST_PLACES], len(every) - MOST_PLACES
        more = [showing.say(phrase("and {rest} more in the visit file", rest=rest))] if rest > 0 else []
        name = showing.say(phrase("{reading} (after)", reading=of) if when == "as left" else of)
        typed = [" ".join(filter(None, (showing.say(m.place), showing.typed(m.shown)))) for m in taken]
        shown = "; ".join([*typed, *more])
        means = "; ".join(finding.means(m, showing, brief=True) for m in taken)
        rows.append((name, showing.say(gauge), shown, means))
    if len(rows) > MOST_ROWS:
        rows = [
            *rows[:MOST_ROWS],
            (showing.say(phrase("and {rest} more in the visit file", rest=len(rows) - MOST_ROWS)), "", "", ""),
        ]
    head = (phrase("reading"), phrase("gauge"), phrase("shown"), phrase("means (95 %)"))
    table = Table(tuple(map(showing.say, head)), tuple(rows))
    return _table(showing.say(phrase("Readings and what they mean")), table, (0, 1, 2, 3), (1.1, 1.3, 3, 2.4))


def _notes(answer: Answer, showing: Showing) -> list[str]:
    said = showing.say
    over = len(answer.assumed) - MOST_ASSUMED
    more = (phrase("and {rest} more, which `sparkout plan` lists", rest=over),) if over > 0 else ()
    notes = [
        phrase(
            "Uncertainties are expanded, 95 % (JCGM 100); verdicts by JCGM 106 with guard band; limits are the "
            "workshop's own."
        ),
        phrase(
            "Taken because the file does not say: {stand_ins}.",
            stand_ins=joined("; ", (*answer.assumed[:MOST_ASSUMED], *more)),
        )
        if answer.assumed
        else phrase("Nothing had to be assumed."),
    ]
    if answer.as_left is not None:
        notes += [
            phrase(
                "{name}: predicted {predicted}, measured {measured}.",
                name=c.name,
                predicted=showing.measured(c.predicted),
                measured=showing.measured(c.measured),
            )
            for c in answer.as_left.compared
        ]
    return [said(note) for note in notes]
