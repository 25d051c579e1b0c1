"""Declarations of what is no quantity: whole numbers, words, texts, dates, places along the reel."""

from __future__ import annotations

import datetime
import difflib
from dataclasses import dataclass
from typing import Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.asked import Asked, quantity, wrong
from sparkout.visit.entered import PLACE_WORDS, Place
from sparkout.visit.problems import shown


@dataclass(frozen=True, slots=True)
class Whole(Asked):
    """A whole number."""

    low: int = 0
    high: int = 1_000_000

    def read(self, given: Any) -> int:
        """Return the whole number entered, as number or text."""
        found = given
        if isinstance(given, str) and given.strip().isascii() and given.strip().isdigit() and len(given) < 15:
            found = int(given)
        if isinstance(given, float) and given.is_integer():
            found = int(given)
        if isinstance(found, bool) or not isinstance(found, int):
            raise wrong(phrase("{given} is not a whole number", given=shown(given)), value=given, allowed=self.allowed)
        if not self.low <= found <= self.high:
            raise wrong(
                phrase("{given} is too small" if found < self.low else "{given} is too large", given=shown(given)),
                value=given,
                allowed=self.allowed,
            )
        return found

    @property
    def kind_words(self) -> str:
        """A whole number."""
        return "a whole number"

    @property
    def allowed(self) -> str:
        """The range."""
        return phrase("{low} to {high}", low=self.low, high=self.high)

    def as_json_schema(self) -> dict[str, Any]:
        """An integer, or one in quotes."""
        return {"anyOf": [{"type": "integer", "minimum": self.low, "maximum": self.high}, {"type": "string"}]}


def nearest(given: str, known: tuple[str, ...]) -> str:
    """Return 'did you mean ...?' for the nearest known word, or nothing."""
    close = difflib.get_close_matches(given.strip().lower()[:60], known, n=1, cutoff=0.6)
    return phrase("Did you mean '{closest}'?", closest=AsTyped(close[0])) if close else ""


@dataclass(frozen=True, slots=True)
class Word(Asked):
    """One of a few words; capitals do not matter."""

    choices: tuple[Any, ...] = ()

    def read(self, given: Any) -> Any:
        """Return the word in its own spelling."""
        if isinstance(given, str):
            for choice in self.choices:
                if choice.lower() == given.strip().lower():
                    return choice
        suggestion = nearest(given, self.choices) if isinstance(given, str) else ""
        raise wrong(
            phrase("{given} is not one of the words known here", given=shown(given)),
            value=given,
            allowed=self.allowed,
            suggestion=suggestion,
        )

    @property
    def kind_words(self) -> str:
        """A word."""
        return "a word"

    @property
    def allowed(self) -> str:
        """The words."""
        return ", ".join(f"'{choice}'" for choice in self.choices)

    def as_json_schema(self) -> dict[str, Any]:
        """The words as an enumeration (reading is more patient about capitals)."""
        return {"enum": list(self.choices)}


@dataclass(frozen=True, slots=True)
class Text(Asked):
    """Free text without control characters."""

    longest: int = 4000
    shortest: int = 0

    def read(self, given: Any) -> str:
        """Return the text entered."""
        if not isinstance(given, str):
            raise wrong(
                phrase("{given} is not a text", given=shown(given)), value=given, suggestion=phrase("Put it in quotes.")
            )
        if self.shortest and not given.strip():
            raise wrong(phrase("{given} is blank", given=shown(given)), value=given, allowed=self.allowed)
        if not self.shortest <= len(given.strip()) or len(given) > self.longest:
            raise wrong(
                phrase("{given} has {count} characters", given=shown(given), count=len(given)),
                value=given,
                allowed=self.allowed,
            )
        for character in given:
            if not character.isprintable() and character not in "\n\t":
                raise wrong(
                    phrase(
                        "{given} holds the control character {character!a}", given=shown(given), character=character
                    ),
                    value=given,
                )
        return given

    @property
    def kind_words(self) -> str:
        """A text."""
        return "a text"

    @property
    def allowed(self) -> str:
        """How long it may be."""
        return (
            phrase("{shortest} to {longest} characters", shortest=self.shortest, longest=self.longest)
            if self.shortest
            else phrase("up to {longest} characters", longest=self.longest)
        )

    def as_json_schema(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string", "minLength": self.shortest, "maxLength": self.longest}


@dataclass(frozen=True, slots=True)
class Switch(Asked):
    """True or false."""

    def read(self, given: Any) -> bool:
        """Return the truth entered."""
        if not isinstance(given, bool):
            raise wrong(
                phrase("{given} is neither true nor false", given=shown(given)), value=given, allowed=self.allowed
            )
        return given

    @property
    def kind_words(self) -> str:
        """True or false."""
        return "true or false"

    @property
    def allowed(self) -> str:
        """Both."""
        return "true, false"

    def as_json_schema(self) -> dict[str, Any]:
        """A boolean."""
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True)
class Day(Asked):
    """A date: 2026-11-25, with or without quotes."""

    def read(self, given: Any) -> datetime.date:
        """Return the date entered."""
        if isinstance(given, datetime.date) and not isinstance(given, datetime.datetime):
            return given
        try:
            if not isinstance(given, str) or len(given) != 10:
                raise ValueError
            return datetime.date.fromisoformat(given)
        except ValueError:
            raise wrong(
                phrase("{given} is not a date", given=shown(given)), value=given, allowed=self.allowed
            ) from None

    @property
    def kind_words(self) -> str:
        """A date."""
        return "a date"

    @property
    def allowed(self) -> str:
        """The form."""
        return phrase("year-month-day as 2026-11-25")

    def as_json_schema(self) -> dict[str, Any]:
        """A string with a date."""
        return {"type": "string", "format": "date"}


@dataclass(frozen=True, slots=True)
class Clock(Asked):
    """A time of day: 09:40."""

    def read(self, given: Any) -> datetime.time:
        """Return the time of day entered."""
        if isinstance(given, datetime.time):
            return given
        try:
            if not isinstance(given, str) or given[2:3] != ":":
                raise ValueError
            found = datetime.time.fromisoformat(given)
            if found.tzinfo is not None:
                raise ValueError
            return found
        except ValueError:
            raise wrong(
                phrase("{given} is not a time of day", given=shown(given)), value=given, allowed=self.allowed
            ) from None

    @property
    def kind_words(self) -> str:
        """A time of day."""
        return "a time of day"

    @property
    def allowed(self) -> str:
        """The form."""
        return "hours and minutes as 09:40"

    def as_json_schema(self) -> dict[str, Any]:
        """A string with a time of day, seconds optional."""
        return {"type": "string", "pattern": r"^\d\d:\d\d(:\d\d(\.\d+)?)?$"}


_FARTHEST = 3000.0


@dataclass(frozen=True, slots=True)
class Where(Asked):
    """A station along the reel: a word, or a length from the left end."""

    def read(self, given: Any) -> Place:
        """Return the place entered."""
        if isinstance(given, str) and given.strip().lower() in PLACE_WORDS:
            return Place(given)
        if isinstance(given, str) and not any(character.isdigit() for character in given):
            raise wrong(
                phrase("{given} is no place along the reel", given=shown(given)),
                value=given,
                allowed=self.allowed,
                suggestion=nearest(given, PLACE_WORDS),
            )
        return Place(given, float(quantity(given, "length", 0.0, _FARTHEST, "mm")))

    @property
    def kind_words(self) -> str:
        """A place."""
        return "a place along the reel"

    @property
    def allowed(self) -> str:
        """The words, or a length."""
        return "'left', 'left quarter', 'centre', 'right quarter', 'right', or a length from the left end"

    def as_json_schema(self) -> dict[str, Any]:
        """A word or a length."""
        return {"anyOf": [{"type": "number", "minimum": 0, "maximum": _FARTHEST}, {"type": "string"}]}
