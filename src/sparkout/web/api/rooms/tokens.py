"""Tokens: seen and ended. They are made by a person: on the workshop's page, or with `sparkout token`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.records.operations import tokens
from sparkout.web.api import records
from sparkout.web.api.making import doing, listed
from sparkout.web.api.route import Route
from sparkout.web.api.told.happened import TokenTold

if TYPE_CHECKING:
    from sparkout.web.api.route import Ask


def _mine(ask: Ask) -> Any:
    return ask.token


ROUTES = (
    Route("GET", "token", "token", "tokens", _mine, TokenTold, words="The token you ask with, and as whom it acts."),
    listed("tokens", "tokens", "tokens", TokenTold, records.tokens, "Every token, those that ended included."),
    doing("POST", "tokens/{int:number}/end", tokens.end_token, "tokens", TokenTold, about=records.TOKEN),
)
