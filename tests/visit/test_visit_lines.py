from __future__ import annotations

from sparkout.visit.lines import line_finder

TOML = """\
# comment [not] = a table
a.b = 1
"quoted key" = '''
[x]
y = 1'''   # tail
[s]
  list = [
    1, # one
    "], [", [2,
      3],
  ]
  t = {k = 1, "m" = [
  4]}
[[many]]
v = \"\"\"three \\"\"\" quotes\"\"\"\"
[[many]]
[many.sub]
w = 'x'
end = 2026-11-25 10:00:00"""


def test_every_toml_form_is_followed() -> None:
    find = line_finder(TOML, "toml")
    lines = {
        ("a", "b"): 2,
        ("quoted key",): 3,
        ("s",): 6,
        ("s", "list", 0): 8,
        ("s", "list", 1): 9,
        ("s", "list", 2, 1): 10,
        ("s", "t", "k"): 12,
        ("s", "t", "m", 0): 13,
        ("many", 0, "v"): 15,
        ("many", 1): 16,
        ("many", 1, "sub", "w"): 18,
        ("many", 1, "sub", "end"): 19,
    }
    assert {path: find(path) for path in lines} == lines


def test_a_missing_entry_has_its_tables_line() -> None:
    find = line_finder(TOML, "toml")
    assert find(("many", 1, "sub", "absent")) == 17
    assert find(("absent",)) is None
    assert find(()) is None


def test_json_is_followed_too() -> None:
    text = '{"a": {"b\\u0041": [1,\n {"c": "}"}]},\n"d": "\\"]"}'
    find = line_finder(text, "json")
    assert [find(("a", "bA", 0)), find(("a", "bA", 1, "c")), find(("d",))] == [1, 2, 3]


def test_a_text_that_ends_early_gives_the_lines_it_can() -> None:
    assert line_finder("a = 1\nb = [", "toml")(("a",)) == 1
    assert line_finder('"bad\\q" = 1', "toml")(("bad\\q",)) == 1


def test_depth_beyond_the_stack_gives_no_line_and_no_error() -> None:
    find = line_finder("a = 1\nb = " + "[" * 100_000, "toml")
    assert find(("a",)) == 1
