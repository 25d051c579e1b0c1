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

    def html(self, *, oob: bool = False) -> str:
        """Return the fragment; `oob` when it is to take the place of the one on the page."""
        swap = ' hx-swap-oob="true"' if oob else ""
        return (
            f'<{self.tag} id="{self.id}" data-digest="{self.digest}"{self.attributes}{swap}>{self.inside}</{self.tag}>'
        )
