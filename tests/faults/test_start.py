"""The start script: builds once, rebuilds when it must, starts over after a kill, waits for another start."""

import importlib.util
import subprocess
import sys
import threading
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[2] / "start.py"


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    spec = importlib.util.spec_from_file_location("start_under_test", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    home = tmp_path / "a folder with spaces é"
    (home / "requirements").mkdir(parents=True)
    (home / "src").mkdir()
    monkeypatch.setattr(module, "HOME", home)
    monkeypatch.setattr(module, "ENV", home / ".venv")
    monkeypatch.setattr(module, "LOCKS", {which: home / "requirements" / f"{which}.txt" for which in ("run", "dev")})
    for lock in module.LOCKS.values():
        lock.write_text("")
    monkeypatch.setattr(module, "installed", [], raising=False)

    def install(which: str) -> None:  # what pip would do, without a network
        module.installed.append(which)
        (module.ENV / f"ready-{which}").write_text(module.fingerprint(which))

    monkeypatch.setattr(module, "install", install)
    return module


def test_builds_once_and_finds_the_sources(start: ModuleType) -> None:
    start.prepare("run")
    start.prepare("run")
    assert start.installed == ["run"]
    (start.HOME / "src" / "probe_of_start.py").write_text("print('found')")
    done = subprocess.run(
        [start.python_of(start.ENV), "-c", "import probe_of_start"], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "found"


def test_tests_add_their_set_and_keep_the_first(start: ModuleType) -> None:
    start.prepare("dev")
    start.prepare("run")
    assert start.installed == ["run", "dev"]


def test_a_changed_lock_rebuilds_everything(start: ModuleType) -> None:
    start.prepare("dev")
    start.LOCKS["run"].write_text("# another set")
    start.prepare("dev")
    assert start.installed == ["run", "dev", "run", "dev"]


def test_a_killed_set_up_starts_over(start: ModuleType) -> None:
    start.prepare("run")
    (start.ENV / "ready-run").unlink()
    (start.ENV / "half-installed").write_text("")
    start.prepare("run")
    assert start.installed == ["run", "run"]
    assert not (start.ENV / "half-installed").exists()


def test_two_starts_at_once_build_one_environment(start: ModuleType) -> None:
    threads = [threading.Thread(target=start.prepare, args=("run",)) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert start.installed == ["run"]


def test_a_failed_install_is_told_without_a_traceback(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(which: str) -> None:
        raise subprocess.CalledProcessError(1, ["pip"])

    monkeypatch.setattr(start, "install", refuse)
    assert start.main(["calc"]) == 1
    assert "network for the first start" in capsys.readouterr().err


def test_needs_only_the_standard_library() -> None:
    import ast

    tree = ast.parse(SCRIPT.read_text(encoding="utf-8"))
    names = {
        alias.name.split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names
    }
    names |= {(node.module or "").split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert names <= set(sys.stdlib_module_names)
