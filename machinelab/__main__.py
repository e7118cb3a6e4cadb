"""The commands: open the workbook, run the tests, remake the notebooks, measure.

Only the standard library is imported here, because the first thing this file may have to do,
on a machine with nothing but Python and pip, is to build the environment that everything else needs.
A Python that is too old never comes here: the package itself, which is read first, tells it so.
"""

import argparse
import hashlib
import importlib.util
import os
import signal
import subprocess
import sys
import venv
from pathlib import Path

HOUSE = Path(__file__).resolve().parent.parent
ENVIRONMENT = HOUSE / ".venv"
START_PAGE = HOUSE / "notebooks" / "00_start_here.ipynb"

NEEDED_TO_OPEN = (
    "numpy",
    "scipy",
    "matplotlib",
    "pandas",
    "filelock",
    "pint",
    "pydantic",
    "tomlkit",
    "sympy",
    "jupyterlab",
    "nbformat",
    "nbclient",
    "mistune",
    "bleach",
)
NEEDED_TO_TEST = (
    *NEEDED_TO_OPEN,
    *("pytest", "xdist", "pytest_rerunfailures", "hypothesis", "nbval", "playwright", "yaml", "ruff"),
    *("markdown_it", "bbcode", "html5lib", "axe_playwright_python"),
)

# What pip writes where it cannot reach the place that packages come from.
SIGNS_OF_NO_NETWORK = (
    *("NewConnectionError", "NameResolutionError", "ConnectTimeoutError", "ReadTimeoutError"),
    *("ProxyError", "Connection aborted", "Network is unreachable", "Temporary failure in name resolution"),
)
NO_NETWORK = (
    "the packages that the workbook needs could not be fetched, because there is no way to the network. "
    "Only the first start needs one: connect this computer and give the same command again."
)
NO_PIP = (
    "this Python came without pip. On Debian or Ubuntu `sudo apt install python3-venv` brings it; "
    "elsewhere install Python from python.org. Then give the same command again."
)
NOT_FETCHED = "the packages that the workbook needs could not be set up; what pip said stands in {file}."
NO_ROOM = "cannot write in {house}: {why}. Put the folder where you may write, on a disk that has room."


class SetUpError(Exception):
    """What stands in the way of the environment, in a sentence or two."""


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit status."""
    parser = _parser()
    chosen, for_jupyter = parser.parse_known_args(arguments)
    if for_jupyter and chosen.command is not open_workbook:
        parser.error(f"not understood: {' '.join(for_jupyter)}")
    chosen.for_jupyter = for_jupyter
    try:
        return chosen.command(chosen)
    except SetUpError as trouble:
        print(f"machinelab: {trouble}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="machinelab", description="A workbook for commissioning a lathe/mill."
    )
    verbs = parser.add_subparsers(metavar="COMMAND")
    parser.set_defaults(command=open_workbook)

    opening = verbs.add_parser("open", help="open the workbook; further options are passed on to JupyterLab")
    opening.set_defaults(command=open_workbook)

    testing = verbs.add_parser("test", help="run all the tests")
    testing.add_argument(
        "part", nargs="?", choices=["all", "quick"], default="all", help="quick: under a minute"
    )
    testing.set_defaults(command=run_tests)

    packing = verbs.add_parser("pack", help="write a machine into one zip, to hand over")
    packing.add_argument("machine", nargs="?", help="its name; left out, the one chosen on the start page")
    packing.set_defaults(command=hand_over)
    unpacking = verbs.add_parser("unpack", help="open a machine that someone else has packed")
    unpacking.add_argument("file", help="the zip")
    unpacking.add_argument("name", nargs="?", help="what to call it here")
    unpacking.set_defaults(command=hand_over)
    paging = verbs.add_parser("page", help="run one notebook and write it as one page to print or to show")
    paging.add_argument("notebook", help="number of its step, such as 05, or its file")
    paging.add_argument("machine", nargs="?", help="on which; left out, the one chosen on the start page")
    paging.set_defaults(command=make_page)

    verbs.add_parser("bench", help="measure speed against the usual way and print both").set_defaults(
        command=run_bench
    )
    checking = verbs.add_parser("checks", help="run the outside checks and write them anew as one page")
    checking.add_argument("files", nargs="*", help="only these files of tests; the other rows stay")
    checking.set_defaults(command=write_checks)
    verbs.add_parser("remake", help="run all notebooks and store their outputs").set_defaults(
        command=remake_notebooks
    )
    return parser


def open_workbook(chosen: argparse.Namespace) -> int:
    """Open JupyterLab at the start page, building the environment first if need be."""
    python = _python_with(NEEDED_TO_OPEN, extra="")
    # JupyterLab does not start for the administrator unless told that this is meant.
    as_root = ["--allow-root"] if getattr(os, "geteuid", lambda: 1)() == 0 else []
    # Named as the address, so that the link printed in the terminal leads there too.
    start_page = f"--LabApp.default_url=/lab/tree/{START_PAGE.name}"
    lab = ["-m", "jupyter", "lab", start_page, *as_root, *chosen.for_jupyter]
    return _run(python, *lab, cwd=START_PAGE.parent)


def run_tests(chosen: argparse.Namespace) -> int:
    """Run the quick part or all of the tests; the first failing part ends the run."""
    python = _python_with(NEEDED_TO_TEST, extra="[test]")
    in_parallel = ["-n", str(min(os.cpu_count() or 1, 8)), "--dist", "loadfile"]
    parts = [[python, "-m", "ruff", "check", "."], [python, "-m", "ruff", "format", "--check", "."]]
    if chosen.part == "quick":
        parts.append([python, "-m", "pytest", *in_parallel, "-m", "not slow and not browser and not bench"])
    else:
        notebooks = ["--nbval-lax", "--nbval-current-env", "--nbval-cell-timeout=60", "notebooks"]
        parts += [
            [python, "-m", "pytest", *in_parallel, "-m", "not bench", "tests", "machinelab", *notebooks],
            [python, "-m", "pytest", "-s", "-m", "bench", "tests"],
        ]
    for part in parts:
        print("machinelab:", *part[2:], flush=True)
        status = _run(*part)
        if status:
            return status
    return 0


def hand_over(chosen: argparse.Namespace) -> int:
    """Pack the machine that is named, or unpack one that someone else has packed."""
    python = _python_with(NEEDED_TO_OPEN, extra="")
    packing = "machine" in chosen
    asked = ["pack", chosen.machine] if packing else ["unpack", Path(chosen.file).resolve(), chosen.name]
    return _run(python, "-m", "machinelab.workbook.handover", *(str(one) for one in asked if one))


def make_page(chosen: argparse.Namespace) -> int:
    """Turn a notebook, run on a machine, into one page beside the machine's files."""
    python = _python_with(NEEDED_TO_OPEN, extra="")
    # The command runs at the top of the house, and a file is named from where the person is.
    notebook = Path(chosen.notebook).resolve() if Path(chosen.notebook).is_file() else chosen.notebook
    asked = [notebook, chosen.machine] if chosen.machine else [notebook]
    return _run(python, "-m", "machinelab.workbook.notebook_page", *map(str, asked))


def run_bench(chosen: argparse.Namespace) -> int:
    """Print what each calculation costs beside what a person would write instead."""
    return _run(
        _python_with(NEEDED_TO_TEST, extra="[test]"), "-m", "pytest", "-s", "-q", "-m", "bench", "tests"
    )


def write_checks(chosen: argparse.Namespace) -> int:
    """Run every outside check and write what was compared with what: a page to read and a CSV file."""
    files = [str(Path(file).resolve()) for file in chosen.files]
    maker = str(HOUSE / "tests/inspection/remake.py")
    return _run(_python_with(NEEDED_TO_TEST, extra="[test]"), maker, *files)


def remake_notebooks(chosen: argparse.Namespace) -> int:
    """Run every notebook on the demo machine, store its static outputs, and rewrite the table of names."""
    python = _python_with(NEEDED_TO_TEST, extra="[test]")
    makers = ("tests/nomenclature_page.py", "tests/notebooks/remake.py")
    return max(_run(python, str(HOUSE / maker)) for maker in makers)


def _run(*command: str, cwd: Path = HOUSE) -> int:
    """Run a command on this house, whichever copy of it the Python was set up for, and wait for its end."""
    settings = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(filter(None, (str(HOUSE), os.environ.get("PYTHONPATH")))),
        # Another Python's kernel in the person's own folders must not come before this one's.
        "JUPYTER_PREFER_ENV_PATH": "1",
    }
    with subprocess.Popen(command, cwd=cwd, env=settings) as running:
        # Whoever ends this ends the command, which would else run on with nobody to stop it.
        before = signal.signal(signal.SIGTERM, lambda _signal, _frame: running.terminate())
        try:
            return _until_it_ends(running)
        finally:
            signal.signal(signal.SIGTERM, before)


def _until_it_ends(running: subprocess.Popen) -> int:
    """Wait for a command; a break reaches it as well, and it asks or tidies up before it ends."""
    while True:
        try:
            return running.wait()
        except KeyboardInterrupt:
            continue


def _python_with(packages: tuple[str, ...], *, extra: str) -> str:
    """Return a Python that has the packages: this one if it can serve, else the project's own environment."""
    if sys.prefix == sys.base_prefix and "CONDA_PREFIX" not in os.environ:
        return _own_environment(packages, extra)
    lacking = [name for name in packages if importlib.util.find_spec(name) is None]
    if not lacking:
        return sys.executable
    print(f"machinelab: this Python lacks {', '.join(lacking)}.", flush=True)
    return _own_environment(packages, extra)


def _own_environment(packages: tuple[str, ...], extra: str) -> str:
    """Build or refresh ``.venv`` beside the README; nothing outside the folder is touched."""
    python = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    recipe = b"".join((HOUSE / name).read_bytes() for name in ("pyproject.toml", "constraints.txt"))
    wanted = hashlib.sha256(recipe).hexdigest() + extra
    stamp = ENVIRONMENT / "machinelab-installed.txt"
    installed = stamp.read_text().splitlines() if stamp.exists() else []
    if wanted in installed and _has(python, packages):
        return str(python)
    print(f"machinelab: setting up {ENVIRONMENT}; this takes a minute or two the first time.", flush=True)
    if importlib.util.find_spec("ensurepip") is None:
        raise SetUpError(NO_PIP)
    try:
        _fill(python, extra)
        # The test extra holds everything that opening needs, so either stamp serves for opening.
        stamp.write_text("\n".join({wanted, wanted.removesuffix("[test]")}))
    except (OSError, subprocess.CalledProcessError) as trouble:
        why = getattr(trouble, "strerror", None) or "pip could not be put into it"
        raise SetUpError(NO_ROOM.format(house=HOUSE, why=why)) from None
    return str(python)


def _has(python: Path, packages: tuple[str, ...]) -> bool:
    """Whether a Python runs and finds the packages; none of them is loaded for that."""
    question = "import importlib.util, sys; sys.exit(not all(map(importlib.util.find_spec, sys.argv[1:])))"
    try:
        asked = subprocess.run([str(python), "-c", question, *packages], capture_output=True, check=False)
    except OSError:
        return False
    return asked.returncode == 0


def _fill(python: Path, extra: str) -> None:
    """Put Python and the packages into the project's own environment."""
    if not _has(python, ("pip",)):
        # Half an environment, or one whose Python is gone, is begun anew.
        venv.create(ENVIRONMENT, with_pip=True, clear=True)
    quietly = ("--quiet", "--disable-pip-version-check", "--constraint", "constraints.txt")
    install = (str(python), "-m", "pip", "install", *quietly, "--editable", f".{extra}")
    said = subprocess.run(install, cwd=HOUSE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    if said.returncode == 0:
        return
    words = said.stdout.decode(errors="replace")
    if any(sign in words for sign in SIGNS_OF_NO_NETWORK):
        raise SetUpError(NO_NETWORK)
    kept = ENVIRONMENT / "what-pip-said.txt"
    kept.write_bytes(said.stdout)
    raise SetUpError(NOT_FETCHED.format(file=kept))


if __name__ == "__main__":
    sys.exit(main())
