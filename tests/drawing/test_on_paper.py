"""Every picture goes through the PDF renderer the job card uses, and its words come out as text in our own font."""

from pathlib import Path

import font_source_sans_pro
import pytest
import typst
from pypdf import PdfReader
from tests.drawing import gallery
from tests.drawing.looking import parsed, texts

FONTS = Path(font_source_sans_pro.__file__).parent / "files"


@pytest.fixture(scope="module")
def fonts():
    return typst.Fonts(include_system_fonts=False, font_paths=[str(FONTS)])


@pytest.mark.parametrize("manner", gallery.MANNERS.values(), ids=gallery.MANNERS.keys())
@pytest.mark.parametrize("draw", gallery.PICTURES.values(), ids=gallery.PICTURES.keys())
def test_words_and_font_survive(draw, manner, fonts, tmp_path):
    svg = draw(manner)
    (tmp_path / "picture.svg").write_text(svg, encoding="utf-8")
    (tmp_path / "page.typ").write_text(
        '#set page(paper: "a4", margin: 15mm)\n#image("picture.svg")\n', encoding="utf-8"
    )
    _, warnings = typst.compile_with_warnings(
        tmp_path / "page.typ", output=tmp_path / "page.pdf", root=tmp_path, font_paths=fonts
    )
    assert warnings == []
    pages = PdfReader(tmp_path / "page.pdf").pages
    assert len(pages) == 1
    written = "".join((pages[0].extract_text() or "").split())
    for text in texts(parsed(svg)):
        assert "".join(text.split()) in written
    assert {"SourceSansPro"} == {name.split("+")[-1].split("-")[0] for name in _fonts(pages[0])}


def _fonts(page) -> set[str]:
    """Base fonts named anywhere in the page's resources."""
    found, waiting = set(), [page["/Resources"]]
    while waiting:
        resources = waiting.pop().get_object()
        for font in resources.get("/Font", {}).values():
            found.add(font.get_object()["/BaseFont"])
        inner = [*resources.get("/XObject", {}).values(), *resources.get("/Pattern", {}).values()]
        waiting += [form.get_object()["/Resources"] for form in inner if "/Resources" in form.get_object()]
    return found
