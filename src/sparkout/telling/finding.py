"""What was found, in words: readings, state, explanations, verdicts."""

from __future__ import annotations

import math
from itertools import groupby
from typing import TYPE_CHECKING

from sparkout.core.measured import Measured, coverage_factor
from sparkout.core.phrase import joined, phrase
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.core.reel.state import Confusion, Explanation
    from sparkout.reckoning.answer import Found, Judged
    from sparkout.reckoning.readings import Meaning
    from sparkout.showing import Showing

FAULT_WORDS = {
    "cone": phrase("coned reel"),
    "barrel": phrase("barrel or hollow reel"),
    "frame out": phrase("frame or mounts out"),
    "knife bowed": phrase("bowed bedknife"),
    "shaft bent": phrase("bent shaft"),
    "odd blade": phrase("odd blade"),
}
OUTCOME_WORDS = {
    "conforms": phrase("conforms"),
    "does not conform": phrase("DOES NOT CONFORM"),
    "undecided": phrase("undecided"),
}
LARGER = (phrase("right end larger"), phrase("left end larger"))
SHOWN_WEIGHT = 0.01
SETTLES = 0.05
"""A reading with less chance than this of bringing a verdict is not promised to settle anything."""


def explanation_words(explanation: Explanation) -> str:
    """Return an explanation in trade words."""
    words = [
        phrase("blade {odd_blade} odd", odd_blade=explanation.odd_blade + 1)
        if fault == "odd blade" and explanation.odd_blade is not None
        else FAULT_WORDS[fault]
        for fault in explanation.faults
    ]
    return joined(" and ", words) if words else phrase("nothing out of true")


def signed(quantity: Measured, ends: tuple[str, str], showing: Showing) -> str:
    """Return a signed quantity as its size with the side named: ('right end larger', 'left end larger')."""
    half = coverage_factor(0.95) * quantity.u
    text = showing.measured(Measured(abs(quantity.value), quantity.u, quantity.dof))
    if abs(quantity.value) <= half:
        return phrase("{text}, not told from none", text=text)
    return joined(", ", (text, ends[0] if quantity.value > 0 else ends[1]))


def readings(answer: Found, showing: Showing) -> Section:
    """Every reading next to what it means; dial sweeps as grids."""
    flagged = {o.label for o in answer.diagnosis.state.outliers}
    single = [m for m in answer.readings if not in_a_grid(m)]
    first = {m.why: m for m in reversed(single)}  # why a gauge shows what it shows is said once
    rows = tuple(
        (
            phrase("{reading} (after)", reading=m.label) if m.when == "as left" else m.label,
            m.gauge,
            showing.typed(m.shown),
            means(m, showing),
            phrase("does not fit the others") if m.label in flagged else m.why if first[m.why] is m else "",
        )
        for m in single
    )
    head = (phrase("reading"), phrase("gauge"), phrase("shown"), phrase("means"), "")
    tables = [Table(head, rows)] if rows else []
    swept = [m for m in answer.readings if in_a_grid(m)]
    for (gauge, of, when), group in groupby(swept, key=lambda m: (m.gauge, m.of, m.when)):
        tables.append(_grid(list(group), gauge, of, when, flagged, showing))
    lines = () if tables else (phrase("No readings yet."),)
    return Section("readings", phrase("What the gauges showed, and what it means"), lines, tuple(tables)).said(showing)


def in_a_grid(meaning: Meaning) -> bool:
    """Tell whether a reading belongs to a sweep, which is shown as a grid."""
    return meaning.path.startswith("sweeps")


def means(meaning: Meaning, showing: Showing, *, brief: bool = False) -> str:
    """Return what a reading says, in words."""
    if meaning.kind == "number":
        return showing.figure(meaning.measured.value, 0 if meaning.measured.value.is_integer() else 2)
    text = showing.measured(meaning.measured, meaning.kind)
    if brief:
        return text
    if meaning.interval is not None:
        text = f"{text} ({showing.interval(*meaning.interval)})"
    return text if meaning.quantity == meaning.of else joined(" ", (meaning.quantity, text))


def _row_name(meaning: Meaning, showing: Showing) -> str:
    """Name a sweep's row: the blade, or how far the shaft was turned."""
    if meaning.angle is not None:
        return showing.quantity(meaning.angle, "angle", places=0)
    return meaning.label if meaning.blade is None else str(meaning.blade)


def _grid(group: list[Meaning], gauge: str, of: str, when: str, flagged: set[str], showing: Showing) -> Table:
    places = list(dict.fromkeys(m.x for m in group))
    turned = any(m.angle is not None for m in group)
    blades = list(dict.fromkeys(_row_name(m, showing) for m in group))
    by_place = {(_row_name(m, showing), m.x): m for m in group}
    unit = showing.unit("length", max(abs(m.measured.value) for m in group))
    rows = []
    for blade in blades:
        cells = []
        for x in places:
            m = by_place.get((blade, x))
            cell = "-" if m is None else showing.quantity(m.measured.value, m.kind, unit=unit)
            cells.append(cell.removesuffix(f" {unit}") + (" !" if m is not None and m.label in flagged else ""))
        rows.append((blade, *cells))
    heads = tuple("-" if x is None else showing.place(x) for x in places)
    swept = phrase("{of}, after", of=of) if when == "as left" else of
    title = phrase("{of}: {gauge}, {unit} against its own zero", of=swept, gauge=gauge, unit=unit)
    if any(" !" in cell for row in rows for cell in row):
        title = joined("; ", (title, phrase("! does not fit the others")))
    return Table((phrase("turned to") if turned else phrase("blade"), *heads), tuple(rows), title)


def state(answer: Found, showing: Showing) -> Section:
    """The state of the reel, frame, bedknife and shaft, with 95 % intervals."""
    found, informed = answer.diagnosis, answer.diagnosis.informed
    reel = found.state
    rows: list[tuple[str, str, str]] = []

    def row(name: str, value: str, interval: tuple[float, float], known: bool) -> None:
        rows.append((name, value if known else phrase("not measured"), showing.interval(*interval) if known else "-"))

    diameter = reel.mean_radius.scaled(2.0)
    low, high = reel.interval("mean radius")
    row(phrase("mean diameter"), showing.measured(diameter), (2 * low, 2 * high), "mean radius" in informed)
    sides = {
        "cone": LARGER,
        "barrel": (phrase("barrel"), phrase("hollow")),
        "frame out": (phrase("farther from the axis at the right"), phrase("farther from the axis at the left")),
        "knife bow": (phrase("hollow"), phrase("proud in the middle")),
    }
    words = {
        "frame out": phrase("frame or mounts out"),
        "knife bow": phrase("bedknife bow"),
        "cone": phrase("cone on diameter"),
    }
    for name, ends in sides.items():
        quantity = reel.quantity(name).measured()
        low, high = reel.interval(name)  # told along with the size, so turned with it
        turned = (low, high) if quantity.value >= 0.0 else (-high, -low)
        row(words.get(name, name), signed(quantity, ends, showing), turned, name in informed)
    known = "blades" in informed
    places = (phrase("run-out at the left end"), phrase("run-out at the centre"), phrase("run-out at the right end"))
    for (_, simulated), name in zip(found.run_out, places, strict=True):
        row(name, showing.measured(simulated.value), simulated.interval, known)
    row(phrase("total run-out"), showing.measured(found.total_run_out.value), found.total_run_out.interval, known)
    bend = found.shaft_bend
    row(phrase("bend of the shaft"), showing.measured(bend.value), bend.interval, "shaft bend" in informed)
    lowest = found.lowest
    place = phrase(
        "blade {blade}, {region} ({chance} that it is this blade)",
        blade=lowest.blade + 1,
        region=lowest.region,
        chance=showing.probability(lowest.chance),
    )
    row(
        phrase("lowest edge, as diameter"),
        showing.measured(lowest.radius.scaled(2.0)),
        (2 * lowest.interval[0], 2 * lowest.interval[1]),
        "mean radius" in informed,
    )
    lines: list[str] = [phrase("The lowest edge is most likely on {place}.", place=place)] if known else []
    if known:
        lines.append(
            phrase(
                "Run-outs are a highest less a lowest: a dial's scatter makes some of it, so small ones are told high."
            )
        )
    lines += _consistency(answer, showing)
    tables = (
        Table(
            (phrase("what"), phrase("value (95 %)"), phrase("95 % interval")), tuple(rows), phrase("State of the unit")
        ),
        explanations(answer, showing),
    )
    return Section("state", phrase("State of the unit"), tuple(lines), tables).said(showing)


def explanations(answer: Found, showing: Showing) -> Table:
    """Which explanations fit, with what weight."""
    shown = [e for e in answer.diagnosis.state.explanations if e.weight >= SHOWN_WEIGHT][:8]
    rows = tuple(
        (
            explanation_words(e),
            showing.probability(e.weight),
            joined("; ", sorted(e.work)) or phrase("no work on the reel or frame"),
        )
        for e in shown
    )
    head = (phrase("explanation"), phrase("weight"), phrase("leads to"))
    return Table(head, rows, phrase("What would explain the readings"))


def _consistency(answer: Found, showing: Showing) -> list[str]:
    state_found = answer.diagnosis.state
    lines: list[str] = [
        phrase(
            "{reading} does not fit the others ({deviations} standard deviations): read it again. It is kept "
            "in the sums.",
            reading=outlier.label,
            deviations=showing.figure(abs(outlier.standardised), 1),
        )
        for outlier in state_found.outliers
    ]
    if state_found.without_outliers is not None:
        without = state_found.without_outliers.cone
        lines.append(
            phrase(
                "Without what does not fit, the cone would be {cone}.",
                cone=showing.measured(Measured(abs(without.value), without.u)),
            )
        )
    check = state_found.consistency
    if check.probability is not None and check.probability < 0.01:
        lines.append(
            phrase(
                "The readings scatter more than their gauges allow (chi-squared {chi_squared} on {degrees}); some "
                "gauge is worse than stated, or the reel has a shape not thought of.",
                chi_squared=showing.figure(check.chi_squared, 1),
                degrees=check.degrees,
            )
        )
    if state_found.observations:
        lines += [apart_words(confusion, showing) for confusion in answer.diagnosis.apart]
    return lines


def apart_words(confusion: Confusion, showing: Showing) -> str:
    """Say that two explanations cannot be told apart, and which reading would."""
    first, second = explanation_words(confusion.first), explanation_words(confusion.second)
    text = phrase(
        "Cannot be told apart yet: {first}, or {second} (odds {odds} to 1)",
        first=first,
        second=second,
        odds=showing.figure(confusion.odds, 1),
    )
    if confusion.separation is None:
        return phrase("{text}.", text=text)
    evidence = confusion.separation.evidence
    fold = (
        phrase("over a thousandfold")
        if evidence > math.log(1000.0)
        else phrase("about {times}-fold", times=showing.figure(math.exp(evidence), 0))
    )
    return phrase(
        "{text}. What would: {reading} (shifts the odds {fold}).",
        text=text,
        reading=confusion.separation.candidate.label,
        fold=fold,
    )


def verdicts(answer: Found, showing: Showing, judged: tuple[Judged, ...] | None = None) -> Section:
    """How the unit stands against each of the workshop's limits."""
    entries = answer.judged if judged is None else judged
    rows = tuple(
        (
            j.quantity,
            _limit_words(j, showing),
            "-" if j.measured is None else showing.measured(j.measured, j.kind),
            phrase("not known") if j.verdict is None else OUTCOME_WORDS[j.verdict.outcome],
            "-" if j.verdict is None else showing.probability(j.verdict.probability),
            "-" if j.verdict is None else showing.quantity(j.verdict.guard_band, j.kind),
        )
        for j in entries
    )
    lines: list[str] = [phrase("{quantity}: {note}.", quantity=j.quantity, note=j.note) for j in entries if j.note]
    lines += [_next_words(j, showing) for j in entries if j.next_reading is not None]
    if not rows:
        lines = [
            phrase("No limits on file. Limits are the workshop's own: enter them with their origin to get verdicts.")
        ]
    head = (
        phrase("quantity"),
        phrase("limit (origin)"),
        phrase("found"),
        phrase("verdict"),
        phrase("chance of conforming"),
        phrase("guard band"),
    )
    return Section(
        "verdicts", phrase("Against the workshop's own limits"), tuple(lines), (Table(head, rows),) if rows else ()
    ).said(showing)


def _next_words(judged: Judged, showing: Showing) -> str:
    """Say which one reading would most reduce the expected risk, and by how much."""
    p = judged.next_reading
    assert p is not None
    standing = phrase("undecided") if judged.verdict is not None else phrase("not known")
    name = (
        phrase("the one next reading")
        if p.chance_decided >= SETTLES
        else phrase("no one reading is likely to settle it; the best")
    )

    return phrase(
        "{quantity} is {standing}; {name}: {reading}. Deciding now would be wrong {wrong_before} of the time, "
        "after it {wrong_after}; chance that it settles the matter {chance_decided}; expected risk falls from "
        "{risk_before} to {risk_after} wrong decisions.",
        quantity=judged.quantity,
        standing=standing,
        name=name,
        reading=p.candidate.label,
        wrong_before=showing.probability(p.wrong_before),
        wrong_after=showing.probability(p.wrong_after),
        chance_decided=showing.probability(p.chance_decided),
        risk_before=showing.figure(p.risk_before, 3),
        risk_after=showing.figure(p.risk_after, 3),
    )


def _limit_words(judged: Judged, showing: Showing) -> str:
    limit, kind = judged.limit, judged.kind
    if limit.lower is not None and limit.upper is not None:
        size: str = (
            f"± {showing.quantity(limit.upper, kind)}"
            if limit.lower == -limit.upper
            else phrase(
                "{lower} to {upper}",
                lower=showing.quantity(limit.lower, kind),
                upper=showing.quantity(limit.upper, kind),
            )
        )
    elif limit.upper is not None:
        size = phrase("at most {upper}", upper=showing.quantity(limit.upper, kind))
    else:
        size = phrase("at least {lower}", lower=showing.quantity(limit.lower or 0.0, kind))
    return phrase("{size} ({origin})", size=size, origin=limit.origin)
