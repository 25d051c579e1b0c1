# ruff: noqa: E501 - a table of words: one field a line reads better than wrapped
"""The kinds of record and their fields, each once, with the words tables use for them: US, UK, German.

Synonyms are the trade's and everyday words; a heading is compared after `headings.told`, so cylinder is reel, bottom
blade and bedknife are knife, and marks, capitals and accents do not count.
"""

from __future__ import annotations

from typing import get_args

from sparkout.interchange.fields import Field, Kind, of_section
from sparkout.visit.quantities import GAUGE_KINDS, LIMITS
from sparkout.visit.sections import (
    AREA_MOWN,
    GaugeEntry,
    GrinderSection,
    HeightSection,
    KnifeSection,
    LimitEntry,
    MowingSection,
    ReelSection,
    Units,
    UnitSection,
    VisitSection,
    Vocabulary,
)
from sparkout.visit.taken import Reading, WorkEntry
from sparkout.visit.words import Day, Switch, Text, Word

_YES = Switch("yes or no", True)


def _name(key: str, words: str, *synonyms: str, names: str = "", needed: bool = False, longest: int = 100) -> Field:
    return Field(key, words, Text(words, "", longest, 1), synonyms, needed, names)


def _day(key: str, words: str, *synonyms: str, needed: bool = False) -> Field:
    return Field(key, words, Day(words, "2026-11-25"), synonyms, needed)


_MACHINE = (
    "mower",
    "maschine",
    "mäher",
    "gerät",
    "equipment",
    "asset",
    "vehicle",
    "fleet no",
    "machine no",
    "machine name",
)
_UNIT = (
    "cutting unit", "unit name", "unit no", "unit number", "unit id", "head", "cutting head", "cassette",
    "schneideinheit", "mäheinheit", "einheit", "spindeleinheit",
)  # fmt: skip
_PLACE = ("site", "course", "location", "green", "ground", "ort", "platz", "anlage", "standort", "where")
_POSITION = ("unit position", "where on machine", "mounting position", "seat", "einbauort", "einbauposition", "lage")
_HOURS = (
    "hrs", "hour", "hour meter", "hourmeter", "clock", "engine hours", "machine hours", "run hours", "hours run",
    "betriebsstunden", "stunden", "std", "zähler", "zählerstand", "hours since new", "meter reading", "hours at visit",
)  # fmt: skip
_DATE = ("day", "on", "date of visit", "visit date", "measured on", "checked on", "datum", "tag", "when", "date read")
_NOTE = (
    "notes",
    "remark",
    "remarks",
    "comment",
    "comments",
    "bemerkung",
    "bemerkungen",
    "notiz",
    "anmerkung",
    "hinweis",
)
_BY = ("technician", "tech", "mechanic", "operator", "done by", "measured by", "read by", "techniker", "von", "wer")

_ON_MACHINE = _name("machine", "machine", *_MACHINE, names="machine")
_OF_UNIT = _name("unit", "unit", *_UNIT, names="unit", needed=True)

_ENDED = _day("ended_on", "out of use since", "ended", "ended on", "out of use", "außer betrieb seit", "left on")

_REEL_SIZES = (
    of_section(ReelSection, "blades", "blades", "blade count", "number of blades", "no of blades", "messer", "messerzahl", "anzahl messer", "blade no"),
    of_section(ReelSection, "diameter", "reel diameter when new", "diameter", "dia", "diameter new", "reel diameter", "reel dia", "new diameter", "durchmesser", "spindeldurchmesser", "durchmesser neu"),
    of_section(ReelSection, "length", "blade length", "length", "reel length", "width of cut", "cutting width", "länge", "arbeitsbreite", "schnittbreite", "spindellänge"),
    of_section(ReelSection, "helix", "helix angle", "helix", "drallwinkel", "steigungswinkel"),
    of_section(ReelSection, "land", "land when fresh", "land", "land width", "new land", "fase", "fasenbreite", "stegbreite"),
    of_section(ReelSection, "relief_angle", "relief angle", "relief", "hinterschliffwinkel", "freiwinkel"),
    of_section(ReelSection, "relief_datum", "relief angle measured from", "relief datum", "relief from"),
    of_section(ReelSection, "blade_thickness", "blade thickness", "thickness of blade", "messerdicke", "messerstärke"),
    of_section(ReelSection, "mass", "reel mass", "mass", "weight", "gewicht", "masse"),
)  # fmt: skip
_BLADE_SIZES = (
    of_section(KnifeSection, "top_angle", "top angle", "top face angle", "top face relief", "oberer winkel"),
    of_section(KnifeSection, "front_angle", "front angle", "front face angle", "front face relief", "vorderer winkel"),
    of_section(KnifeSection, "thickness", "knife thickness", "thickness", "dicke", "stärke"),
    of_section(KnifeSection, "width", "knife width", "width", "breite"),
    of_section(KnifeSection, "lip_height", "lip height", "lip", "lippenhöhe"),
    of_section(KnifeSection, "front_lip_depth", "front lip depth", "lip depth", "lippentiefe"),
)

PLACE = Kind(
    "place", "a place", "places", ("sites", "courses", "locations", "orte", "standorte"),
    (_name("name", "place", "name", "place name", *_PLACE, needed=True), _ENDED),
)  # fmt: skip
PERSON = Kind(
    "person", "a person", "people", ("staff", "team", "persons", "personen", "mitarbeiter", "technicians"),
    (
        _name("name", "person", "name", "technician", "person name", "full name", "employee", "mitarbeiter", "techniker", needed=True),
        Field("units", "units told", Word("units", "mm", get_args(Units)), ("einheiten",)),
        Field("vocabulary", "words told", Word("words", "uk", get_args(Vocabulary)), ("vocabulary",)),
        Field("decimal", "decimal mark", Word("decimal mark", ".", (".", ",")), ("decimal", "dezimalzeichen")),
        Field("language", "language", Text("language code", "", 10, 2), ("sprache",)),
        Field("active", "works here", _YES, ("active", "aktiv")),
        _ENDED,
    ),
)  # fmt: skip
MACHINE = Kind(
    "machine", "a machine", "machines", ("mowers", "fleet", "equipment", "maschinen", "mäher", "fuhrpark"),
    (_name("name", "machine", "name", *_MACHINE, needed=True), _name("place", "place", *_PLACE, names="place"), _ENDED),
)  # fmt: skip
REEL_TYPE = Kind(
    "reel type", "a type of reel", "reel types", ("types of reel", "spindeltypen"),
    (_name("name", "reel type", "name", "type", "type name", "spindeltyp", "typ", needed=True), *_REEL_SIZES, _ENDED),
)  # fmt: skip
KNIFE_TYPE = Kind(
    "knife type", "a type of knife", "knife types", ("types of knife", "untermessertypen"),
    (_name("name", "knife type", "name", "type", "type name", "untermessertyp", "typ", needed=True), *_BLADE_SIZES, _ENDED),
)  # fmt: skip
UNIT = Kind(
    "unit", "a cutting unit", "units", ("cutting units", "heads", "schneideinheiten", "einheiten", "inventory"),
    (
        _ON_MACHINE,
        _name("position", "position", *_POSITION),
        _name("name", "unit", "name", *_UNIT, needed=True),
        _name("place", "place", *_PLACE, names="place"),
        of_section(UnitSection, "pattern", "adjuster moves", "pattern", "adjustment", "bauart"),
        _name("reel", "reel fitted", "reel", "reel no", "reel number", "reel serial", "reel id", "reel label", "spindel", "spindelnummer", names="reel"),
        _name("reel_type", "reel type", "type", "type of reel", "spindeltyp", names="reel type"),
        *(Field(f"reel.{e.key}", e.words, e.asked, e.synonyms) for e in _REEL_SIZES),
        _name("knife", "knife fitted", "knife", "knife no", "knife number", "knife serial", "untermesser", names="knife"),
        _name("knife_type", "knife type", "type of knife", "untermessertyp", names="knife type"),
        _day("fitted", "parts fitted on", "fitted", "fitted on", "reel fitted on", "installed", "eingebaut", "eingebaut am"),
        of_section(HeightSection, "of_cut", "height of cut", "hoc", "cutting height", "schnitthöhe", under="height"),
        of_section(HeightSection, "front_roller_diameter", "front roller diameter", "front roller", "vordere walze", under="height"),
        of_section(HeightSection, "rear_roller_diameter", "rear roller diameter", "rear roller", "hintere walze", under="height"),
        of_section(HeightSection, "front_roller_ahead", "front roller ahead of edge", under="height"),
        of_section(HeightSection, "rear_roller_behind", "rear roller behind edge", under="height"),
        of_section(HeightSection, "adjuster_pitch", "height adjuster pitch", under="height"),
        of_section(MowingSection, "travel_speed", "travel speed", "mowing speed", "ground speed", "fahrgeschwindigkeit", under="mowing"),
        of_section(MowingSection, "reel_speed", "reel speed", "reel rpm", "spindeldrehzahl", under="mowing"),
        of_section(KnifeSection, "seat_tilt", "seat tilt", under="carrier"),
        of_section(KnifeSection, "pivot_behind", "pivot behind reel axis", under="carrier"),
        of_section(KnifeSection, "pivot_below", "pivot below reel axis", under="carrier"),
        of_section(KnifeSection, "arm", "pivot to edge", "arm", under="carrier"),
        of_section(KnifeSection, "thread_pitch", "adjuster thread pitch", "thread pitch", "gewindesteigung", under="carrier"),
        of_section(KnifeSection, "clicks_per_turn", "clicks per turn", "clicks", "klicks pro umdrehung", under="carrier"),
        of_section(KnifeSection, "lever_ratio", "lever ratio", "hebelverhältnis", under="carrier"),
        of_section(KnifeSection, "adjuster_spacing", "adjuster spacing", under="carrier"),
        Field("active", "in use", _YES, ("active", "aktiv", "in betrieb")),
        _ENDED,
    ),
)  # fmt: skip
REEL = Kind(
    "reel", "a reel", "reels", ("spindeln", "reel stock"),
    (
        _name("label", "reel", "label", "reel no", "reel number", "serial", "serial no", "serial number", "reel id", "reel serial", "spindel", "spindelnummer", "seriennummer", needed=True),
        _name("type", "reel type", "type", "type of reel", "spindeltyp", "typ", names="reel type", needed=True),
        *_REEL_SIZES,
        of_section(ReelSection, "marked_blade", "marked blade", "mark", "markierung"),
        _day("scrapped_on", "scrapped on", "scrapped", "written off", "ausgemustert", "verschrottet"),
    ),
)  # fmt: skip
KNIFE = Kind(
    "knife", "a knife", "knives", ("untermesser", "knife stock"),
    (
        _name("label", "knife", "label", "knife no", "knife number", "serial", "serial no", "serial number", "knife serial", "untermesser", "seriennummer", needed=True),
        _name("type", "knife type", "type", "type of knife", "untermessertyp", "typ", names="knife type", needed=True),
        *_BLADE_SIZES,
        _day("scrapped_on", "scrapped on", "scrapped", "written off", "ausgemustert", "verschrottet"),
    ),
)  # fmt: skip
FITTING = Kind(
    "fitting", "a part fitted or taken out", "parts fitted", ("fittings", "swaps", "part swaps", "einbauten", "changes"),
    (
        _ON_MACHINE,
        _OF_UNIT,
        Field("part", "which part", Word("which part", "reel", ("reel", "knife")), ("what", "teil", "kind of part"), needed=True),
        _name("label", "label of the part", "part", "label", "serial", "serial number", "part no", "part number", "teilenummer", "nummer", needed=True),
        _day("since", "fitted on", "fitted", "since", "from", "installed", "eingebaut", "eingebaut am", "ab", "date", "datum", needed=True),
        of_section(UnitSection, "hours", "hours when fitted", "hours fitted", "hours in", "stunden bei einbau"),
        _day("until", "taken out on", "removed", "removed on", "until", "to", "ausgebaut", "ausgebaut am", "bis"),
        Field("until_hours", "hours when taken out", of_section(UnitSection, "hours", "").asked, ("hours removed", "hours out", "stunden bei ausbau")),
    ),
)  # fmt: skip
GAUGE = Kind(
    "gauge", "a gauge", "gauges", ("instruments", "tools", "messmittel", "messgeräte"),
    (
        of_section(GaugeEntry, "id", "gauge", "id", "gauge id", "name", "gauge name", "instrument", "short name", "messmittel", "lehre", needed=True),
        Field("kind", "kind of gauge", Word("kind", "tape", GAUGE_KINDS), ("kind", "type", "gauge type", "art", "typ"), needed=True),
        of_section(GaugeEntry, "resolution", "resolution", "smallest step", "graduation", "auflösung", "ablesung"),
        of_section(GaugeEntry, "calibration_uncertainty", "calibration uncertainty", "standard uncertainty", "u", "unsicherheit"),
        of_section(GaugeEntry, "expanded_uncertainty", "expanded uncertainty", "erweiterte unsicherheit"),
        of_section(GaugeEntry, "k", "coverage factor", "k", "erweiterungsfaktor"),
        of_section(GaugeEntry, "repeatability", "repeatability", "wiederholbarkeit"),
        of_section(GaugeEntry, "calibration_due", "calibration due", "due", "cal due", "next calibration", "nächste kalibrierung", "kalibrierung fällig", "valid until", "gültig bis"),
        Field("retired", "out of use", Switch("yes or no", False), ("retired", "ausgemustert")),
        _ENDED,
    ),
)  # fmt: skip
CALIBRATION = Kind(
    "calibration", "a calibration of a gauge", "calibrations", ("calibration log", "kalibrierungen", "certificates"),
    (
        _name("gauge", "gauge", "gauge id", "instrument", "messmittel", "lehre", names="gauge", needed=True, longest=60),
        _day("on", "calibrated on", "date", "calibrated", "calibration date", "kalibriert am", "datum", needed=True),
        _name("certificate", "certificate", "certificate no", "certificate number", "zertifikat", "kalibrierschein"),
        _name("by", "calibrated by", "laboratory", "lab", "by", "kalibriert von", "labor"),
        _day("due", "next due", "due", "calibration due", "next calibration", "nächste kalibrierung"),
        Field("figures", "figures found", Text("as 'repeatability 0.05 mm; resolution 0.1 mm'", "", 1000), ("figures", "ergebnisse")),
        Field("lines", "errors found", Text("as '125 mm: 0.02 mm; 150 mm: 0.03 mm', shown less true", "", 4000), ("errors", "abweichungen")),
    ),
)  # fmt: skip
_GRINDER_KEYS = tuple(key for key in GrinderSection.model_fields if key != "name")
GRINDER = Kind(
    "grinder", "a grinder", "grinders", ("schleifmaschinen", "grinding machines"),
    (
        _name("name", "grinder", "name", "grinder name", "schleifmaschine", needed=True),
        *(of_section(GrinderSection, key, key.replace("_", " ")) for key in _GRINDER_KEYS),
        Field("retired", "out of use", Switch("yes or no", False), ("retired",)),
        _ENDED,
    ),
)  # fmt: skip
LIMIT = Kind(
    "limit", "a limit of the workshop", "limits", ("tolerances", "grenzwerte", "service limits"),
    (
        Field("quantity", "quantity", Word("what is limited", "diameter", LIMITS), ("limit of", "what", "limit", "größe", "messgröße"), needed=True),
        of_section(LimitEntry, "at_least", "at least", "minimum", "min", "lower limit", "mindestens"),
        of_section(LimitEntry, "at_most", "at most", "maximum", "max", "upper limit", "höchstens"),
        _name("origin", "origin", "source", "where from", "herkunft", "quelle", needed=True, longest=200),
        of_section(LimitEntry, "set_by", "set by", "festgelegt von"),
        of_section(LimitEntry, "on", "set on", "date", "datum"),
        of_section(LimitEntry, "risk", "risk", "risiko"),
        _name("reel_type", "reel type", "type of reel", "spindeltyp", names="reel type"),
        _name("knife_type", "knife type", "type of knife", "untermessertyp", names="knife type"),
    ),
)  # fmt: skip
HOURS = Kind(
    "hours", "hours on the clock", "hours and area", ("hours", "clock readings", "usage", "betriebsstunden", "stunden", "meter readings"),
    (
        _ON_MACHINE,
        _OF_UNIT,
        _day("on", "date", *_DATE, needed=True),
        of_section(UnitSection, "hours", "hours", *_HOURS, needed=True, spreads=True),
        Field("area", "area mown", AREA_MOWN, ("area", "fläche", "gemähte fläche", "acres", "hectares", "hektar")),
    ),
)  # fmt: skip
EVENT = Kind(
    "event", "sand, a stone or something else on the turf", "events", ("sand", "topdressing", "incidents", "ereignisse", "besandung"),
    (
        Field("kind", "what happened", Word("what happened", "sand", ("sand", "stone", "other")), ("event", "kind", "what", "type", "ereignis", "art", "was"), needed=True),
        _day("on", "date", *_DATE, needed=True),
        _name("place", "place", *_PLACE, names="place"),
        _name("machine", "machine", *_MACHINE, names="machine"),
        _name("unit", "unit", *_UNIT, names="unit"),
        Field("note", "note", Text("what happened", "", 500), (*_NOTE, "description", "beschreibung")),
    ),
)  # fmt: skip
_VISIT = (
    _ON_MACHINE,
    _OF_UNIT,
    of_section(VisitSection, "date", "date", *_DATE, needed=True),
    of_section(VisitSection, "technician", "technician", *(w for w in _BY if w != "technician")),
    of_section(UnitSection, "hours", "hours", *_HOURS),
    of_section(UnitSection, "complaint", "complaint", "fault", "problem", "reported", "beanstandung", "mangel"),
    Field("notes", "visit notes", of_section(VisitSection, "notes", "").asked, ("verdict", "condition", "result", "findings", "befund", "urteil", "zustand", "ergebnis")),
)  # fmt: skip
READING = Kind(
    "reading", "a reading of an earlier visit", "readings",
    ("measurements", "visits", "inspections", "grinding log", "messwerte", "messungen", "prüfungen", "log", "history"),
    (
        *_VISIT,
        of_section(Reading, "of", "quantity read", "quantity", "what", "measurement", "measured", "of", "messgröße", "größe"),
        of_section(Reading, "gauge", "gauge", "instrument", "tool", "measured with", "messmittel", "lehre", names="gauge"),
        of_section(Reading, "at", "station", "at", "where", "end", "side", "stelle", "seite", "messstelle", "distance from left"),
        of_section(Reading, "blade", "blade", "blade number", "blade no", "messer", "messer nr"),
        of_section(Reading, "angle", "shaft angle", "angle", "winkel"),
        of_section(Reading, "which", "which roller", "roller", "walze"),
        of_section(Reading, "value", "value", "reading", "result value", "wert", "messwert", "ablesung", spreads=True),
        Field("unit of value", "unit of value", Text("a unit", "mm", 20), ("uom", "units", "maßeinheit")),
        of_section(Reading, "goes", "leaf that goes", "goes", "go", "gut"),
        of_section(Reading, "does_not_go", "leaf that does not go", "does not go", "no go", "nogo", "ausschuss"),
        of_section(Reading, "set_up", "set up", "setup", "aufspannung"),
        of_section(Reading, "temperature", "part temperature", "temperature", "temp", "temperatur"),
        of_section(Reading, "when", "as found or as left", "before or after", "before after", "state", "vorher nachher", "zustand"),
        of_section(Reading, "time", "time", "time of day", "uhrzeit", "zeit"),
        of_section(Reading, "by", "read by", "measured by", "abgelesen von"),
        of_section(Reading, "note", "note", *_NOTE),
    ),
)  # fmt: skip
WORK = Kind(
    "work", "work done on an earlier visit", "work done", ("work", "grinds", "grinding", "jobs", "arbeiten", "schliffe", "schleifen"),
    (
        *_VISIT,
        of_section(WorkEntry, "step", "step", "work", "operation", "job", "arbeit", "arbeitsschritt", "schritt", "grind", needed=True),
        of_section(WorkEntry, "what", "what was done", "description", "details", "beschreibung", "was"),
        Field("infeeds", "infeeds", Text("infeeds of the passes, with blanks or / between them", "", 2000), ("infeed", "passes", "zustellungen")),
        of_section(WorkEntry, "wheel_diameter_before", "wheel before", "wheel diameter before", "scheibe vorher"),
        of_section(WorkEntry, "wheel_diameter_after", "wheel after", "wheel diameter after", "scheibe nachher"),
        of_section(WorkEntry, "took", "time taken", "took", "duration", "dauer"),
        of_section(WorkEntry, "by", "done by", "by", "ausgeführt von"),
        of_section(WorkEntry, "at", "at time", "uhrzeit"),
        of_section(WorkEntry, "note", "note", *_NOTE),
    ),
)  # fmt: skip
VISIT_FILE = Kind(
    "visit file", "a whole visit as its file", "visit files", ("visit file",),
    (
        _ON_MACHINE,
        _OF_UNIT,
        of_section(VisitSection, "date", "date"),
        Field("state", "state of the visit", Word("state", "signed", ("open", "signed", "set aside"))),
        _name("key", "file key"),
        _name("corrects", "corrects file key"),
        _name("reel", "reel", names="reel"),
        _name("knife", "knife", names="knife"),
        *(_name(f"file.{n}", f"visit file part {n}", longest=32_000, needed=n == 1) for n in range(1, 33)),
    ),
)  # fmt: skip
SEASON_SHEET = Kind(
    "season sheet", "the season's sheet, or a what-if", "season sheets", ("season sheet",),
    (
        _name("what_if", "what if"),
        *(_name(f"sheet.{n}", f"season sheet part {n}", longest=32_000, needed=n == 1) for n in range(1, 17)),
    ),
)  # fmt: skip

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        PLACE, PERSON, MACHINE, REEL_TYPE, KNIFE_TYPE, GAUGE, CALIBRATION, GRINDER, LIMIT, UNIT, REEL, KNIFE, FITTING, HOURS, EVENT,
        VISIT_FILE, READING, WORK, SEASON_SHEET,
    )
}  # fmt: skip
"""In the order in which they can be entered: what is named stands before what names it."""
