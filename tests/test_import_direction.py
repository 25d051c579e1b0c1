"""Imports point one way through the house (CONTRIBUTING.md), and quick sums start quickly."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "sparkout"
# Bottom up; a room may import only itself and rooms before it in this list.
ROOMS = ["core", "units", "glossary", "catalogue", "translation", "showing", "drawing"]
ROOMS += [
    "visit",
    "interchange",
    "recording",
    "demonstration",
    "reckoning",
    "season",
    "telling",
    "papers",
    "keeping",
    "records",
    "web",
    "server",
    "cli",
]
# Rooms that must not see each other although the order would allow it.
FORBIDDEN = {
    ("drawing", "catalogue"),
    ("interchange", "catalogue"),
    ("interchange", "drawing"),
    ("interchange", "showing"),
    ("papers", "demonstration"),
    ("reckoning", "demonstration"),
    ("reckoning", "drawing"),
    ("reckoning", "showing"),
    ("records", "catalogue"),
    ("records", "drawing"),
    ("records", "papers"),
    ("records", "showing"),
    ("records", "telling"),
    ("visit", "catalogue"),
    ("visit", "drawing"),
    ("visit", "showing"),
}
# The doors and what they open: only these may know Django.
WITH_DJANGO = {"records", "web", "server"}
CORE_MAY = {"numpy", "scipy", "sparkout.core"} | set(sys.stdlib_module_names)


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
    return names


def room_of(module: str) -> str | None:
    parts = module.split(".")
    return parts[1] if parts[0] == "sparkout" and len(parts) > 1 else None


FILES = [
    path for path in sorted(SOURCE.rglob("*.py")) if path.parent != SOURCE or path.stem not in ("__init__", "__main__")
]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_imports_point_up_the_list(path: Path) -> None:
    room = path.relative_to(SOURCE).parts[0].removesuffix(".py")
    assert room in ROOMS, f"{room} is not a room of the house (CONTRIBUTING.md)"
    for module in imported(path):
        assert room in WITH_DJANGO or not module.startswith("django"), f"{path} imports {module}"
        other = room_of(module)
        if other is None or other == room:
            continue
        assert ROOMS.index(other) < ROOMS.index(room), f"{path} imports {module}"
        assert (room, other) not in FORBIDDEN, f"{path} imports {module}"


@pytest.mark.parametrize(
    "path", sorted((SOURCE / "core").rglob("*.py")), ids=lambda path: str(path.relative_to(SOURCE))
)
def test_core_knows_no_door(path: Path) -> None:
    for module in imported(path):
        top = module.split(".")[0]
        assert top in CORE_MAY or module.startswith("sparkout.core"), f"{path} imports {module}"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    calls = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}
    assert not calls & {"print", "input"}, f"{path} talks to a person"


@pytest.mark.parametrize("name", ["clip", "cusp", "diameter-from-tape", "knife-on-reel", "removal", "conformity"])
def test_a_quick_sum_loads_nothing_heavy(name: str) -> None:
    from sparkout.catalogue.listing import CATALOGUE

    probe = (
        "import sys\nfrom sparkout.catalogue.listing import CATALOGUE\n"
        f"entry = CATALOGUE[{name!r}]\n"
        "try: entry.calculate(**{i.key: 2 if i.kind == 'count' else 0.5 for i in entry.inputs})\n"
        "except ValueError: pass\n"
        "print(sorted(set(sys.modules) & {'numpy', 'scipy', 'pydantic', 'rich', 'typst'}))"
    )
    assert CATALOGUE[name].name == name
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
