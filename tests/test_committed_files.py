"""What may not stand in any committed file: registry hosts, paths of somebody's machine; locks carry hashes."""

import re
import subprocess
from pathlib import Path

import pytest

HOME = Path(__file__).parents[1]


def committed() -> list[Path]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=HOME, capture_output=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    return [HOME / name for name in listed.stdout.decode().split("\0") if name and (HOME / name).is_file()]


def test_no_registry_host_and_no_path_of_a_machine() -> None:
    hosts = re.compile(
        rb"(pypi|pythonhosted|npmjs|debian)\.(org|com)|https?://[^\s\"'<>)]*(simple|registry)|/home/\w+/|/wor" rb"k/"
    )
    found = {
        path.name: match.group(0)
        for path in committed()
        if (match := hosts.search(path.read_bytes())) and path.name != Path(__file__).name
    }
    assert not found


@pytest.mark.parametrize("name", ["run.txt", "dev.txt"])
def test_locks_pin_with_hashes_and_without_addresses(name: str) -> None:
    text = (HOME / "requirements" / name).read_text()
    assert "://" not in text
    blocks = re.split(r"\n(?=[a-z0-9])", text.strip())
    assert blocks
    for block in blocks:
        assert "==" in block.splitlines()[0]
        assert "--hash=sha256:" in block, block.splitlines()[0]


def test_every_locked_run_package_is_the_same_in_dev() -> None:
    pins = {
        name: set(re.findall(r"^([a-z0-9._-]+==\S+)", (HOME / "requirements" / name).read_text(), re.M))
        for name in ("run.txt", "dev.txt")
    }
    assert pins["run.txt"] <= pins["dev.txt"]
