"""One fragment of the visit page with a digest, so that a page is sent only what is new to it."""

from __future__ import annotations

import zlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Part:
    """One fragment of the page with its own id."""

    id: str
    inside: str
    tag: str = "div"
    attributes: str = ""

    @property
    def digest(self) -> str:
        """Changes whenever the part does."""
        return f"{zlib.crc32((self.attributes + self.inside).encode()):x}"

    def html(self) -> str:
        """Return the fragment; the page puts it in the place of its own of this id."""
        return f'<{self.tag} id="{self.id}" data-digest="{self.digest}"{self.attributes}>{self.inside}</{self.tag}>'
