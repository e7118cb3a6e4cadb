"""A fresh machine: the house cloned, its environment built from nothing, the README's two commands run in it.

Run by hand with any Python from 3.11 on, since it fetches some hundred megabytes and takes a while; it needs
nothing but that Python and pip:

    python3 tests/fresh_machine.py             the versions that constraints.txt holds
    python3 tests/fresh_machine.py lowest      the lowest versions that pyproject.toml allows
    python3 tests/fresh_machine.py lowest all  the same with all tests in the place of the quick part

What was committed is tried, nothing else. The folder is left standing where something fails.
"""

import argparse
import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.error
import urllib.request
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[1]
START_PAGE = "00_start_here.ipynb"
# Fetching and installing on a slow line, then JupyterLab's own start.
BUILD_S, STOP_S = 1800, 60


def main() -> int:
    """Build the environment, open the workbook, run the tests; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("versions", nargs="?", choices=["settled", "lowest"], default="settled")
    parser.add_argument("part", nargs="?", choices=["quick", "all"], default="quick")
    chosen = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="fresh-"))
    house = cloned(folder / "machinelab")
    if chosen.versions == "lowest":
        (house / "constraints.txt").write_text("".join(f"{pin}\n" for pin in lowest(house)))
    settings = newcomer(folder / "home")
    print(f"{chosen.versions} versions in {house}", flush=True)
    open_the_workbook(house, settings)
    run_the_tests(house, settings, chosen.part)
    shutil.rmtree(folder)
    return 0


def cloned(folder: Path) -> Path:
    """Clone what was committed."""
    subprocess.run(["git", "clone", "--quiet", str(HOUSE), str(folder)], check=True)
    return folder


def lowest(house: Path) -> list[str]:
    """The lowest version of every package that the project names, one pin each."""
    project = tomllib.loads((house / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    assert all(one.count(">=") == 1 and "," not in one for one in asked), "a bound is one lowest version"
    return [one.replace(">=", "==") for one in asked]


def newcomer(home: Path) -> dict[str, str]:
    """The environment variables of a person with an empty home and no environment switched on."""
    home.mkdir()
    strange = ("JUPYTER", "IPYTHON", "PYTHON", "MPL", "XDG_", "MACHINELAB", "VIRTUAL_ENV", "CONDA")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(strange)}
    # The packages that were fetched once need not be fetched again.
    store = subprocess.run(
        [base_python(), "-m", "pip", "cache", "dir"], capture_output=True, text=True, check=False
    ).stdout.strip()
    return {**kept, "HOME": str(home), "USERPROFILE": str(home), "PIP_CACHE_DIR": store}


def base_python() -> str:
    """The Python that an environment would be built from, also when this runs inside of one."""
    return getattr(sys, "_base_executable", sys.executable)


def open_the_workbook(house: Path, settings: dict[str, str]) -> None:
    """Give the first command, wait for the start page and its kernel, stop JupyterLab; then run that page."""
    token, port, began = secrets.token_hex(16), free_port(), time.monotonic()
    options = ["--no-browser", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"]
    command = [base_python(), "-m", "machinelab", "open", *options, f"--IdentityProvider.token={token}"]
    with subprocess.Popen(command, cwd=house, env=settings) as running:
        try:
            ask = asker(f"http://127.0.0.1:{port}", token)
            wait(lambda: ask(f"/lab/tree/{START_PAGE}") is not None, running)
            print(f"the start page answers after {time.monotonic() - began:.0f} s", flush=True)
            notebook = {"path": START_PAGE, "name": START_PAGE, "type": "notebook"}
            assert ask("/api/sessions", {**notebook, "kernel": {"name": "python3"}}), "no kernel is started"
            print(f"its kernel is started after {time.monotonic() - began:.0f} s", flush=True)
            ask("/api/shutdown", {})
            assert running.wait(timeout=STOP_S) == 0
        finally:
            running.terminate()
    # What a kernel answers is only seen by who talks with it: the page is run as a whole.
    page = [base_python(), "-m", "machinelab", "page", START_PAGE[:2]]
    subprocess.run(page, cwd=house, env=settings, check=True)


def run_the_tests(house: Path, settings: dict[str, str], part: str) -> None:
    """Give the second command."""
    began = time.monotonic()
    subprocess.run([base_python(), "-m", "machinelab", "test", part], cwd=house, env=settings, check=True)
    print(f"the tests pass after {time.monotonic() - began:.0f} s", flush=True)


def asker(address: str, token: str):
    """Give a function that asks JupyterLab for a page, or hands it something; None for no answer."""

    def ask(path: str, handed: dict | None = None) -> bytes | None:
        body = None if handed is None else json.dumps(handed).encode()
        question = urllib.request.Request(
            address + path, data=body, headers={"Authorization": f"token {token}"}
        )
        try:
            with urllib.request.urlopen(question, timeout=30) as answer:
                return answer.read()
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            return None

    return ask


def wait(until, running: subprocess.Popen) -> None:
    """Wait until something is so; a program that has ended before is a failure."""
    deadline = time.monotonic() + BUILD_S
    while not until():
        assert running.poll() is None, "the workbook has ended by itself"
        assert time.monotonic() < deadline, "it took too long"
        time.sleep(0.5)


def free_port() -> int:
    """A port of this computer on which nothing listens."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


if __name__ == "__main__":
    sys.exit(main())
