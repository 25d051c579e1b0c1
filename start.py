"""Set Sparkout up and run it, with nothing but Python 3.11 and pip.

python3 start.py                 set up, then run the main job on the demonstration unit
python3 start.py test [ARGS]     set up what the tests need, then run every check (ARGS go to pytest)
python3 start.py bench [ARGS]    measure speed as ratios in one run
python3 start.py COMMAND ...     any sparkout command, in the same environment

Works the same on Windows (`py -3.11 start.py`). The environment is `.venv` beside this file; it is
rebuilt when the locked dependencies or the Python version change, and left alone otherwise.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterator
from pathlib import Path

HOME = Path(__file__).resolve().parent
ENV = HOME / ".venv"
LOCKS = {"run": HOME / "requirements" / "run.txt", "dev": HOME / "requirements" / "dev.txt"}
CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("pytest", "-n", "auto"),
)


def python_of(env: Path) -> Path:
    """Return the interpreter inside a virtual environment."""
    return env / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def fingerprint(which: str) -> str:
    """Return what the environment depends on: this Python and the locked set, as one digest."""
    digest = hashlib.sha256(f"{sys.version}\n{sys.base_prefix}\n".encode())
    digest.update(LOCKS[which].read_bytes())
    return digest.hexdigest()


def is_ready(which: str) -> bool:
    """Tell whether the environment already holds exactly the locked set."""
    stamp = ENV / f"ready-{which}"
    return stamp.is_file() and stamp.read_text() == fingerprint(which) and python_of(ENV).exists()


@contextlib.contextmanager
def one_at_a_time() -> Iterator[None]:
    """Hold the set-up lock, so that two starts at once do not build over each other."""
    with (HOME / ".venv.lock").open("a+b") as handle:
        if os.name == "nt":
            import msvcrt

            handle.seek(0)
            msvcrt.locking(handle.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def install(which: str) -> None:
    """Install one locked set, hashes checked; the stamp is written last, so a killed run starts over."""
    print(f"Setting up ({LOCKS[which].name}) ...", file=sys.stderr, flush=True)
    command = [sys.executable, "-m", "pip", "--python", str(python_of(ENV)), "install", "--quiet"]
    command += ["--disable-pip-version-check", "--require-hashes", "--no-deps", "--only-binary=:all:"]
    command += ["-r", str(LOCKS[which])]
    subprocess.run(command, check=True, env={**os.environ, "PIP_ROOT_USER_ACTION": "ignore"})
    (ENV / f"ready-{which}").write_text(fingerprint(which))


def prepare(which: str) -> None:
    """Bring the environment to the locked set; a second start does nothing."""
    if is_ready("run") and is_ready(which):
        return
    with one_at_a_time():
        if not is_ready("run"):
            venv.EnvBuilder(with_pip=False, clear=True, symlinks=os.name != "nt").create(ENV)
            packages = next(ENV.glob("lib/python*/site-packages"), ENV / "Lib" / "site-packages")
            # Relative, so that the folder may be moved and may have any name.
            (packages / "sparkout.pth").write_text(os.path.relpath(HOME / "src", packages) + "\n")
            install("run")
        if not is_ready(which):
            install(which)


def fetch_browser() -> None:
    """Install Debian's chromium for the browser tests where that can be done; elsewhere they say they are skipped."""
    if any(map(shutil.which, ("chromium", "chromium-browser"))) or not shutil.which("apt-get") or os.name == "nt":
        return
    if os.geteuid() != 0:
        return
    print("Fetching a browser for the browser tests ...", file=sys.stderr, flush=True)
    for command in (["apt-get", "update", "-q"], ["apt-get", "install", "-y", "-q", "chromium"]):
        subprocess.call(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL)


def main(arguments: list[str]) -> int:
    """Prepare the environment, then hand over to it."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this script is what tells the user so
        print(f"Sparkout needs Python 3.11 or newer; this is {sys.version.split()[0]}.", file=sys.stderr)
        return 2
    testing = arguments[:1] == ["test"]
    try:
        prepare("dev" if testing else "run")
    except subprocess.CalledProcessError as failure:
        print(
            f"The locked dependencies could not be installed (pip ended with {failure.returncode}).",
            file=sys.stderr,
        )
        print("Is there a network for the first start, and is pip 22.3 or newer?", file=sys.stderr)
        return 1
    python = str(python_of(ENV))
    if testing:
        fetch_browser()
        # Every check runs even after one failed, so that one look shows all there is to mend.
        results = [
            subprocess.call([python, "-m", *check, *(arguments[1:] if check[0] == "pytest" else [])], cwd=HOME)
            for check in CHECKS
        ]
        return max(results)
    if arguments[:1] == ["bench"]:
        return subprocess.call([python, str(HOME / "bench" / "run.py"), *arguments[1:]], cwd=HOME)
    return subprocess.call([python, "-m", "sparkout", *(arguments or ["demo"])])


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
