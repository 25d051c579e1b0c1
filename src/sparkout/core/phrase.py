"""A text for people that can be told in another language: a template and what stands in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any


class AsTyped(str):
    """Text as the user typed it: told as it stands, in whatever words, units and language it was written."""

    __slots__ = ()


class Phrase(str):
    """English text that remembers how it was made, so that a catalogue can make it again in another language.

    It is a plain string everywhere else. Join phrases with `joined`, and put one inside another as a part:
    adding strings or an f-string around a phrase makes a string that can no longer be translated.
    """

    __slots__ = ("how_many", "large", "parts", "singular", "template")
    template: str
    singular: str
    how_many: int | None
    parts: dict[str, object]
    large: bool
    """Whether it begins with a capital where it would not by itself, because it begins a sentence."""

    def __new__(cls, text: str, /) -> Phrase:
        """Return a phrase without parts."""
        made = super().__new__(cls, text)
        made.template, made.singular, made.how_many, made.parts, made.large = text, text, None, {}, False
        return made


def phrase(template: str, /, **parts: object) -> Phrase:
    """Return the text of a template with its named parts filled in; parts may be phrases themselves.

    Examples
    --------
    >>> phrase("{cone:.2f} mm, {end} end larger", cone=0.31, end=phrase("left"))
    '0.31 mm, left end larger'
    """
    return _made(template, template, None, parts)


def counted(count: int, singular: str, plural: str, /, **parts: object) -> Phrase:
    """Return the template for this many; `{n}` in it is the count.

    Examples
    --------
    >>> counted(1, "{n} pass", "{n} passes"), counted(21, "{n} pass", "{n} passes")
    ('1 pass', '21 passes')
    """
    return _made(plural, singular, count, {"n": count, **parts})


def joined(separator: str, texts: Iterable[str]) -> Phrase:
    """Return texts with a separator between them, all of them still translatable, the separator too.

    Examples
    --------
    >>> joined(", ", [phrase("left"), phrase("right")])
    'left, right'
    """
    parts: dict[str, object] = {f"text_{i}": text for i, text in enumerate(texts)}
    names = [f"{{{name}}}" for name in parts]
    between = separator.replace("{", "{{").replace("}", "}}")
    if any(map(str.isalpha, separator)):  # " and ": a word of its own
        parts["between"] = separator
        between = "{between}"
    whole = between.join(names)
    return _made(whole, whole, None, parts)


def starting_large(text: str) -> Phrase:
    """Return a text that begins with a capital, in whatever language it is told.

    Examples
    --------
    >>> starting_large(phrase("{place}, centre", place=phrase("land")))
    'Land, centre'
    """
    made = Phrase(capital(text))
    made.template, made.singular, made.how_many, made.parts, made.large = "{text}", "{text}", None, {"text": text}, True
    return made


def frozen(text: Any) -> Any:
    """Return a text fit for JSON that can still be told in another language; anything that is no text as it is.

    Examples
    --------
    >>> thawed(frozen(phrase("adds {what}", what=AsTyped("R1")))).parts
    {'what': 'R1'}
    """
    if isinstance(text, Phrase) and text.parts:
        parts = {name: frozen(part) for name, part in text.parts.items()}
        return {"text": text.template, "one": text.singular, "many": text.how_many, "parts": parts}
    if isinstance(text, AsTyped):
        return {"typed": str(text)}
    return str(text) if isinstance(text, str) else text


def thawed(content: Any) -> Any:
    """Return the text again."""
    if not isinstance(content, dict):
        return Phrase(content) if isinstance(content, str) else content
    if "typed" in content:
        return AsTyped(content["typed"])
    parts = {name: thawed(part) for name, part in content["parts"].items()}
    if content["many"] is not None:
        parts.pop("n", None)
        return counted(content["many"], content["one"], content["text"], **parts)
    return phrase(content["text"], **parts)


def typed_within(text: str) -> tuple[str, ...]:
    """Return what the user typed that stands in a text, in no order.

    Examples
    --------
    >>> typed_within(phrase("{field}: {why}", field="x", why=phrase("{given} is no length", given=AsTyped("'3'"))))
    ("'3'",)
    """
    if isinstance(text, AsTyped):
        return (str(text),)
    parts = text.parts.values() if isinstance(text, Phrase) else ()
    return tuple(typed for part in parts if isinstance(part, str) for typed in typed_within(part))


def capital(text: str) -> str:
    """Return a finished text with its first letter a capital."""
    return text[:1].upper() + text[1:]


def _made(template: str, singular: str, count: int | None, parts: dict[str, object]) -> Phrase:
    chosen = singular if count == 1 else template
    for name, value in parts.items():
        if isinstance(value, Exception):  # its own text, which may be a phrase, stands in for a refusal
            parts[name] = value.args[0] if value.args else ""
    made = Phrase(chosen.format(**parts) if parts else chosen)
    made.template, made.singular, made.how_many, made.parts = template, singular, count, parts
    return made
