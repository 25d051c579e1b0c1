"""Write what is made from the code: `python docs/make.py [NAME ...]` (all pages and catalogues when none is named).

`--untranslated LANGUAGE` and `--translated LANGUAGE FILE` are for translators (docs/making/translations.py).
Tests hold what is committed to what this makes (tests/docs/test_made_pages.py, tests/translation).
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from docs.making import calculations, commands, glossary, translations, validation  # noqa: E402 - only now can they be found

from sparkout.visit.schema_docs import PAGE_NAME, SCHEMA_NAME, field_reference, schema_text  # noqa: E402

PAGES: dict[str, Callable[[], str]] = {
    "glossary.md": glossary.page,
    "calculations.md": calculations.page,
    "commands.md": commands.page,
    PAGE_NAME: field_reference,
    SCHEMA_NAME: schema_text,
    "validation.md": validation.page,
}


def main(names: list[str]) -> int:
    """Write the pages named, or the catalogues."""
    if names[:1] in (["--untranslated"], ["--translated"]):
        wanted = 2 if names[0] == "--untranslated" else 3
        if len(names) != wanted or names[1] not in translations.languages():
            print(f"usage: {names[0]} LANGUAGE{' FILE' if wanted == 3 else ''}; languages: "
                  f"{', '.join(translations.languages())}", file=sys.stderr)  # fmt: skip
            return 2
    if names[:1] == ["--untranslated"]:
        print(json.dumps(translations.untranslated(names[1]), ensure_ascii=False, indent=1))
        return 0
    if names[:1] == ["--translated"]:
        print(translations.take(names[1], Path(names[2])))
        return 0
    unknown = [name for name in names if name not in PAGES]
    if unknown:
        print(f"not a page that is made: {', '.join(unknown)}; allowed: {', '.join(PAGES)}", file=sys.stderr)
        return 2
    for name in names or PAGES:
        (HERE / name).write_text(PAGES[name](), encoding="utf-8")
        print(HERE / name)
    if not names:
        for path, text in translations.pages().items():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
            print(path)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
