"""Why a gauge shows what it shows: a drawing beside the number, with the visit's own figures on it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from sparkout.core.phrase import phrase
from sparkout.drawing import gauges
from sparkout.drawing.gauges import GaugeTexts
from sparkout.papers.pictures import manners
from sparkout.telling import finding, work
from sparkout.visit.quantities import QUANTITIES
from sparkout.web.shell.pages import text_of
from sparkout.web.shell.reader import somebody
from sparkout.web.visit.page import bench_of

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.drawing.manner import Manners
    from sparkout.reckoning.readings import Meaning
    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.places import Box

FOLDED = ("passes",)
"""Pictures of the page that are drawn when their part is unfolded."""
STRAIGHT = {
    "rest gap": phrase(
        "The knife lies straight on the highest place, so gaps show the reel and the frame together, not a diameter."
    ),
    "knife straightness": phrase("Against a straight edge only the shape shows: how it lies on the knife drops out."),
}
DIAL = phrase("A dial shows differences from its own zero; where the zero was set drops out of every result.")
SHAFT = phrase("The dial moves by twice what the shaft is bent: once to each side in one turn.")
LEAVES = phrase("The gap lies between the two leaves; the nearer they are, the better it is known.")
DEPTH = phrase("The gauge stands on one face and its rod touches the other: both must be clean.")
FRAME = phrase("Only the difference between the two ends counts, so any gauge used alike at both will do.")
STRIP = phrase("The strip is read square to the edge; round the reel a helical blade's strip is longer.")
ANGLE = phrase("The angle stands between the face and the plane it is counted from.")
PLAY = phrase("The dial moves by the play alone: push and pull with the same force both ways.")


@somebody
@require_safe
def why(request: HttpRequest, number: int, box: str) -> HttpResponse:
    """The drawing that explains one box's gauge."""
    bench = bench_of(request, number)
    if box not in bench.boxes:
        raise Http404
    picture = explained(bench, bench.boxes[box][1])
    return HttpResponse(text_of(request, "visit/why.html", {"picture": mark_safe(picture)}))


@somebody
@require_safe
def drawn(request: HttpRequest, number: int, name: str) -> HttpResponse:
    """One of the pictures that stand folded on the page, below its table as a phone has room for it."""
    if name not in FOLDED:
        raise Http404
    bench = bench_of(request, number)
    told = work.spin(bench.answer, bench.showing) if bench.answer else ()
    section = next((section for section in told if section.key == name), None)
    return HttpResponse(text_of(request, "visit/why.html", {"picture": bench.pictures[name], "section": section}))


def explained(bench: Bench, box: Box) -> str:
    """Return the drawing for one box as SVG text; empty where nothing is read there or there is nothing to draw."""
    readings = bench.meanings.get(box.key, [])
    if not readings:
        return ""
    meaning = readings[-1] if bench.boxes[box.id][0].grid is not None else readings[0]
    draw = _SCENES.get(box.of, _other)
    return draw(bench, box, meaning, manners(bench.showing, f"why-{box.id}"))


def _other(bench: Bench, box: Box, meaning: Meaning, drawn: Manners) -> str:
    value = meaning.measured.value
    if meaning.interval is not None:
        goes, stops = meaning.interval
        say = bench.showing.say
        texts = GaugeTexts(
            say(meaning.label),
            say(phrase("goes: {leaf}", leaf=bench.showing.length(goes))),
            say(phrase("does not go: {leaf}", leaf=bench.showing.length(stops))),
            " ".join((say(finding.means(meaning, bench.showing)) + ".", say(LEAVES))),
        )
        return gauges.two_leaves(goes, stops, texts, **drawn)
    if meaning.kind == "angle":
        return gauges.angle_of(value, _texts(bench, meaning, ANGLE), **drawn) if abs(value) < 1.3 else ""
    if box.of in ("end play", "radial play"):
        texts = _texts(bench, meaning, PLAY)
        return gauges.dial_over(
            [bench.showing.say("pushed"), bench.showing.say("pulled")], [0.0, value], texts, here=1, **drawn
        )
    if "depth gauge" in QUANTITIES[box.of].gauges:
        return gauges.depth_below(abs(value), _texts(bench, meaning, DEPTH), **drawn)
    return ""


def _texts(bench: Bench, meaning: Meaning, reason: str) -> GaugeTexts:
    """Return what is said beside a scene: as shown and as meant, in the reader's words."""
    say = bench.showing.say
    gauge = meaning.gauge or phrase("no gauge named")
    return GaugeTexts(
        say(meaning.label),
        say(phrase("{gauge}: shows {shown}", gauge=gauge, shown=meaning.shown)),
        say(phrase("means {means}", means=finding.means(meaning, bench.showing))),
        say(reason),
    )


def _across(bench: Bench, _: Box, meaning: Meaning, drawn: Manners) -> str:
    kind = next((gauge.kind for gauge in bench.file.gauges if f"({gauge.id})" in meaning.gauge), "")
    if kind not in ("tape", "jaws", "chord"):
        return ""
    spec = bench.file.reel
    land = float(spec.land or 1.0) / math.cos(float(spec.helix or 0.0))
    texts = _texts(bench, meaning, meaning.why)
    return gauges.across_the_reel(kind, meaning.measured.value, spec.blades, land, texts, **drawn)


def _beside(bench: Bench, box: Box) -> list[tuple[Box, Meaning]]:
    """Return the places of the box's group that are read, along the reel or round it, with what each means."""
    group, _ = bench.boxes[box.id]
    return [
        (other, found[-1 if group.grid is not None else 0])
        for other in group.all_boxes
        if (found := bench.meanings.get(other.key)) and (group.grid is None or other.at == box.at)
    ]


def _straight(bench: Bench, box: Box, meaning: Meaning, drawn: Manners) -> str:
    read = sorted(_beside(bench, box), key=lambda entry: entry[1].x or 0.0)
    here = next(i for i, (other, _) in enumerate(read) if other == box)
    places = [m.x or 0.0 for _, m in read]
    texts = _texts(bench, meaning, STRAIGHT[box.of])
    return gauges.gaps_below_a_line(
        places, [m.measured.value for _, m in read], bench.length, texts, here=here, **drawn
    )


def _dial(bench: Bench, box: Box, meaning: Meaning, drawn: Manners) -> str:
    read = _beside(bench, box)
    here = next(i for i, (other, _) in enumerate(read) if other == box)
    names = [str(other.blade) if other.blade is not None else f"{other.angle}°" for other, _ in read]
    texts = _texts(bench, meaning, SHAFT if box.of == "shaft" else DIAL)
    return gauges.dial_over(names, [m.measured.value for _, m in read], texts, here=here, **drawn)


def _play(bench: Bench, _: Box, meaning: Meaning, drawn: Manners) -> str:
    names = [bench.showing.say(phrase("pushed")), bench.showing.say(phrase("pulled"))]
    return gauges.dial_over(names, [0.0, meaning.measured.value], _texts(bench, meaning, PLAY), here=1, **drawn)


def _frame(bench: Bench, _: Box, meaning: Meaning, drawn: Manners) -> str:
    return gauges.depth_below(abs(meaning.measured.value), _texts(bench, meaning, FRAME), **drawn)


def _strip(bench: Bench, _: Box, meaning: Meaning, drawn: Manners) -> str:
    return gauges.width_of_a_strip(abs(meaning.measured.value), _texts(bench, meaning, STRIP), **drawn)


_SCENES = {
    "diameter": _across,
    "rest gap": _straight,
    "knife straightness": _straight,
    "run-out": _dial,
    "shaft": _dial,
    "end play": _play,
    "radial play": _play,
    "frame": _frame,
    "land": _strip,
    "wear land": _strip,
    "edge rounding": _strip,
}
