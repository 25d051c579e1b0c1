"""The API put together: every address, who may ask, how refusals are told, the OpenAPI document and its page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import HttpRequest, HttpResponse
from ninja import NinjaAPI, Schema
from ninja.errors import AuthenticationError, HttpError, ValidationError
from ninja.openapi.docs import Swagger

from sparkout.core.errors import Refusal
from sparkout.web.api.access import BearerToken, no_token
from sparkout.web.api.described import DESCRIPTION, TAGS, component_schemas, describe
from sparkout.web.api.errors import problem, refused, telling
from sparkout.web.api.rooms import (
    attachments,
    calculations,
    care,
    entries,
    equipment,
    faults,
    overview,
    parts,
    season,
    stand,
    tables,
    tokens,
    turf,
    visits,
)
from sparkout.web.api.rooms import workshop as workshop_room
from sparkout.web.api.route import Ask, Route, answered
from sparkout.web.api.told.parts import referring

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http.response import HttpResponseBase
    from ninja.openapi.schema import OpenAPISchema

VERSION = "1"
ROUTES: tuple[Route, ...] = (
    *overview.ROUTES,
    *workshop_room.ROUTES,
    *parts.ROUTES,
    *equipment.ROUTES,
    *turf.ROUTES,
    *visits.ROUTES,
    *entries.ROUTES,
    *attachments.ROUTES,
    *calculations.ROUTES,
    *faults.ROUTES,
    *stand.ROUTES,
    *care.ROUTES,
    *season.ROUTES,
    *tables.ROUTES,
    *tokens.ROUTES,
)


class _Shown(Swagger):
    """The page that shows the document: the package's own script and style, nothing inline, nothing from elsewhere."""

    template = "api/docs.html"


class _Api(NinjaAPI):
    def get_openapi_schema(self, **how: Any) -> OpenAPISchema:
        """Return the OpenAPI document."""
        made = super().get_openapi_schema(**how)
        by_name = {route.name: route for route in ROUTES}
        for operations in made["paths"].values():
            for told in operations.values():
                told["responses"] = {str(status): answer for status, answer in told["responses"].items()}
                describe(told, by_name[told["operationId"]])
        made["components"]["schemas"] |= component_schemas()
        made["components"] = referring(made["components"])
        return made


api = _Api(
    title="Sparkout",
    version=VERSION,
    description=DESCRIPTION,
    urls_namespace="api",
    auth=BearerToken(),
    openapi_extra={"tags": [{"name": name, "description": words} for name, words in TAGS.items()]},
    docs=_Shown({"validatorUrl": None, "persistAuthorization": False, "docExpansion": "none", "tryItOutEnabled": True}),
)


@api.exception_handler(Refusal)
def _refusal(request: HttpRequest, refusal: Any) -> HttpResponse:
    return refused(refusal, request)


@api.exception_handler(AuthenticationError)
def _nobody(request: HttpRequest, _: Any) -> HttpResponse:
    try:
        no_token()
    except Refusal as refusal:
        return refused(refusal, request)


@api.exception_handler(ValidationError)
def _invalid(request: HttpRequest, error: Any) -> HttpResponse:
    told = [problem(str(one.get("msg", "")), where=".".join(map(str, one.get("loc", ())))) for one in error.errors]
    return telling(told, request, 422)


@api.exception_handler(HttpError)
def _http(request: HttpRequest, error: Any) -> HttpResponse:
    return telling([problem(str(error))], request, error.status_code)


def _view(route: Route) -> Callable[..., HttpResponseBase]:
    """Return the view of an address: with a number in it, a name, or neither."""

    def with_number(request: HttpRequest, number: int) -> HttpResponseBase:
        return answered(route, Ask(request, route, request.auth, number=number))  # type: ignore[attr-defined]

    def with_name(request: HttpRequest, name: str) -> HttpResponseBase:
        return answered(route, Ask(request, route, request.auth, name=name))  # type: ignore[attr-defined]

    def alone(request: HttpRequest) -> HttpResponseBase:
        return answered(route, Ask(request, route, request.auth))  # type: ignore[attr-defined]

    return with_number if "{int:number}" in route.path else with_name if "{name}" in route.path else alone


def _page_of(schema: type[Schema]) -> type[Schema]:
    """Return the schema of a page of a list."""
    annotations = {"items": list[schema], "next": str | None}  # type: ignore[valid-type]
    words = {"__annotations__": annotations, "__doc__": "A page of a list.", "__module__": __name__}
    return type(f"PageOf{schema.__name__}", (Schema,), words)


def _add(route: Route) -> None:
    first, rest = route.described
    told: Any = None if route.tells is None else _page_of(route.tells) if route.many else route.tells
    api.default_router.add_api_operation(
        f"/{route.path}",
        [route.method],
        _view(route),
        response={route.status: told},
        operation_id=route.name,
        summary=first,
        description=rest or None,
        tags=[route.tag],
    )


for _route in ROUTES:
    _add(_route)
