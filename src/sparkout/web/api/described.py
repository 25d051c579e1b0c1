"""The OpenAPI document of each address, made from what the address itself is made of."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from sparkout.web.api.errors import JSON
from sparkout.web.api.told.parts import table_schemas

if TYPE_CHECKING:
    from sparkout.web.api.route import Route

Told = dict[str, Any]
_REFUSALS = {
    401: "no token, or one that is not known here or has ended",
    403: "the token may read only",
    404: "there is no such thing",
    409: "somebody else changed it meanwhile: both values are told, a person decides",
    412: "it is no longer as If-Match says; what stands now is told",
    422: "refused: everything wrong, each with where, argument, value, allowed, unit and message",
    503: "nothing was kept: the records cannot be written now",
}
ERRORS: Told = {
    "type": "object",
    "description": "Everything that is wrong, in the words of every other door.",
    "required": ["errors"],
    "properties": {
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["where", "argument", "value", "allowed", "unit", "message"],
                "properties": {
                    "where": {"type": "string", "description": "place in what was sent, such as readings[3].value"},
                    "argument": {"type": "string", "description": "the entry"},
                    "value": {"description": "what was sent there, in a few words"},
                    "allowed": {"type": "string", "description": "what may stand there"},
                    "unit": {"type": "string", "description": "the unit in which that counts"},
                    "message": {"type": "string", "description": "all of it, for a person"},
                    "line": {"type": "integer", "description": "of a visit file, counted from 1"},
                    "theirs": {"type": "string", "description": "after a conflict: what stands now"},
                    "mine": {"type": "string", "description": "after a conflict: what you sent"},
                    "version": {"type": "integer", "description": "after a conflict: the version that stands now"},
                },
            },
        }
    },
}
_KEY: Told = {
    "in": "header",
    "name": "Idempotency-Key",
    "required": False,
    "schema": {"type": "string", "format": "uuid"},
    "description": "a UUID of your own making: sent again with it, the same is done once and answered alike",
}
_IF_MATCH: Told = {
    "in": "header",
    "name": "If-Match",
    "required": False,
    "schema": {"type": "string"},
    "description": "the ETag you were told: the change is made only if the thing is still so",
}
_IF_NONE_MATCH: Told = {
    "in": "header",
    "name": "If-None-Match",
    "required": False,
    "schema": {"type": "string"},
    "description": "the ETag you were told: answered with 304 and nothing when it is still so",
}
DESCRIPTION = """\
Everything the pages can do, for programs: the same operations, the same numbers, the same words when something is
refused. It advises; a person decides and signs.

**Tokens.** Each request carries `Authorization: Bearer sparkout_...`. A token acts as a person: the history names both.
Tokens are made on the workshop's page or with `sparkout token`; they read, or read and write.

**Quantities** are sent as typed, with any unit of their kind (`"diameter": "5 in"`), or as a number under a name that
carries the unit (`"diameter_mm": 127.0`). They are told both ways, so that what was told can be sent back.

**Refusals** have one form: `{"errors": [{"where", "argument", "value", "allowed", "unit", "message"}]}`.

**Sent twice, done once**: with an `Idempotency-Key` (a UUID) a repeat is recognised. **Changed meanwhile**: send the
`ETag` you were told as `If-Match`; entries of a visit carry a `version`.

**Lists** are told a page at a time; ask again with `after` = the `next` you were told.
"""


TAGS = {
    "overview": "everything at a glance: board, search, history",
    "visits": "a unit's pass through the workshop: opened, described, signed, corrected; in and out as a file",
    "plans": "the whole answer, what if, and the plan kept",
    "readings": "single readings",
    "sweeps": "many readings on one set-up",
    "work": "steps of work as they were done",
    "paper proofs": "what the knife and each blade did to a strip of paper",
    "attachments": "photographs and recordings",
    "calculations": "single sums from the catalogue",
    "faults": "why does it look like that: from what is seen to causes and the next check",
    "care": "a day's vibration and noise, and who may do which work till when; it advises, check local rules",
    "season": "what is due when, the plan, what-ifs; plans are made in the background: ask, look at the job, keep",
    "units": "cutting units, and what is fitted",
    "reels": "",
    "reel types": "",
    "knives": "",
    "knife types": "",
    "hours": "clocks read, area mown",
    "events": "sand and stones",
    "gauges": "with their calibrations",
    "grinders": "with what they taught",
    "limits": "the workshop's own, each with its origin",
    "machines": "",
    "places": "",
    "people": "",
    "workshop": "",
    "tables": "spreadsheets of any shape in, everything out; work in the background",
    "tokens": "seen and ended; they are made by a person",
}
"""In which order the document tells its parts."""


def describe(operation: Told, route: Route) -> None:
    """Say in an operation's part of the document what its schema does not say."""
    operation["parameters"] += _parameters(route)
    content = _content(route)
    if content:
        operation["requestBody"] = {"required": True, "content": content}
    operation["responses"] |= {**_outcome(route), **_refusals(route)}


def _parameters(route: Route) -> list[Told]:
    found = [
        {
            "in": "query",
            "name": f.name,
            "required": f.needed,
            "description": f.meaning,
            "schema": _of_query(dict(f.schema)),
            **({} if f.example in (None, "") else {"example": f.example}),
        }
        for f in route.asks.fields
    ]
    if route.writes and route.name != "visit_from_file":
        found.append(_KEY)
    if route.changes:
        found.append(_IF_MATCH)
    if route.method == "GET" and route.tells is not None and not route.many:
        found.append(_IF_NONE_MATCH)
    return found


def _of_query(schema: Told) -> Told:
    """Return the schema of what is text in an address anyway: a whole number is one."""
    kinds = [one.get("type") for one in schema.get("anyOf", ())]
    return dict(schema["anyOf"][kinds.index("integer")]) if "integer" in kinds else schema


def _content(route: Route) -> Told:
    if route.sent is not None:
        return {JSON: route.sent}
    if route.takes_form != JSON:
        forms = re.split(r" or |, ", route.takes_form)
        kinds = [form if "/" in form else "application/octet-stream" for form in forms]
        return {kind: {"schema": {"type": "string", "format": "binary"}} for kind in dict.fromkeys(kinds)}
    if route.takes.fields or route.takes.section:
        return {JSON: {"schema": route.takes.schema(), "example": route.takes.example()}}
    return {}


def _outcome(route: Route) -> Told:
    if route.tells is not None:
        return {}  # told by its schema
    if "/" in route.form and JSON not in route.form:
        return {str(route.status): {"description": "the file", "content": {route.form: {"schema": _BINARY}}}}
    if JSON not in route.form:
        content: Told = {"application/octet-stream": {"schema": _BINARY}}
        return {str(route.status): {"description": "the file", "content": content}}
    content = {JSON: {"schema": {"type": "object"}, "example": route.example}}
    return {str(route.status): {"description": "OK", "content": content}}


_BINARY = {"type": "string", "format": "binary"}


def _refusals(route: Route) -> Told:
    wanted = [401, 422]
    wanted += [403, 409, 503] if route.writes else []
    wanted += [404] if "{" in route.path else []
    wanted += [412] if route.changes else []
    told = {JSON: {"schema": {"$ref": "#/components/schemas/Refused"}}}
    return {str(status): {"description": _REFUSALS[status], "content": told} for status in sorted(wanted)}


def component_schemas() -> Told:
    """Return the schemas that addresses refer to by name."""
    return {"Refused": ERRORS, **table_schemas()}
