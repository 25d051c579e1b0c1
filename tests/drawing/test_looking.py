"""The looker itself must see what is wrong, or the tests that lean on it could not fail."""

import pytest
from tests.drawing.looking import problems

GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 390 60" width="390" height="60" role="img" '
    'aria-labelledby="a-title a-desc"><title id="a-title">T</title><desc id="a-desc">D</desc>'
    '<text x="10" y="20" font-size="12">first</text><text x="10" y="40" font-size="12">second</text></svg>'
)


def test_a_sound_picture_has_no_problems():
    assert problems(GOOD) == []


@pytest.mark.parametrize(
    ("old", "new", "seen"),
    [
        ('y="40"', 'y="24"', "texts meet"),
        ('x="10" y="20"', 'x="380" y="20"', "over the edge"),
        ('x="10" y="20"', 'x="-1" y="20"', "over the edge"),
        ('y="20"', 'y="7"', "over the edge"),
        ('y="20" font-size="12"', 'y="20" font-size="11"', "small text"),
        ('x="10" y="20"', 'x="nan" y="20"', "text x=nan"),
        ('x="10" y="20"', 'x="1e-3" y="20"', "text x=1e-3"),
        ('x="10" y="20"', 'x="10.123" y="20"', "text x=10.123"),
        ('id="a-desc"', 'id="a-title"', "ids repeat"),
        (">D<", "><", "no desc"),
        ('role="img"', 'role="x"', "screen reader"),
        ("</svg>", "<foreignObject/></svg>", "element foreignObject"),
        ("</svg>", '<rect x="0" y="0" width="400" height="5"/></svg>', "rect outside"),
        ("</svg>", '<path d="M1 2L391 5"/></svg>', "path outside"),
        ("</svg>", '<circle cx="1" cy="9" r="5"/></svg>', "circle outside"),
        ("</svg>", '<rect style="fill:red"/></svg>', "style"),
        ("</svg>", '<rect fill="url(#gone)"/></svg>', "which is not there"),
        ("0 0 390 60", "0 0 380 60", "view box"),
    ],
)
def test_each_fault_is_seen(old, new, seen):
    assert any(seen in problem for problem in problems(GOOD.replace(old, new)))
