"""A real JupyterLab and a real browser for the tests: everything fresh, nothing outside 127.0.0.1."""

import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import quote, urlsplit

import nbformat
import pytest

HOUSE = Path(__file__).resolve().parents[2]
NOT_COPIED = shutil.ignore_patterns(".git", ".venv", ".*_cache", "__pycache__", ".hypothesis", ".chosen")
TEXT_BELOW = "This line stands below everything."
BROWSER_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
BROWSER_FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE_S = 40
# A kernel that starts and a whole page that computes take long beside other work; slow is not wrong.
RUN_PATIENCE_MS = 150_000
KERNEL_IS_READY = """() => {
  const context = window.jupyterapp?.shell?.currentWidget?.sessionContext;
  return context?.session?.kernel?.status === 'idle';
}"""
IN_FRONT = "name => window.jupyterapp?.shell?.currentWidget?.context?.path === name"
# The promise of the command is left alone: when a run is swallowed it never settles.
RUN_ALL = "() => { window.jupyterapp.commands.execute('notebook:run-all-cells'); }"
HAS_RUN = """() => {
  const content = window.jupyterapp.shell.currentWidget.content;
  const code = content.widgets.filter(cell => cell.model.type === 'code');
  const context = window.jupyterapp.shell.currentWidget.sessionContext;
  return context.session.kernel.status === 'idle' && code.every(cell => cell.model.executionCount > 0);
}"""
FAILED_CELLS = """() => window.jupyterapp.shell.currentWidget.content.widgets
  .filter(cell => cell.model.type === 'code').flatMap(cell => cell.model.sharedModel.outputs)
  .filter(output => output.output_type === 'error').map(output => output.ename + ': ' + output.evalue)"""


@dataclass
class Lab:
    """A running JupyterLab."""

    address: str
    token: str
    folder: Path
    ended_with: int | None = None

    def stop(self) -> None:
        """Ask the server to stop, as its own menu does."""
        order = urllib.request.Request(
            f"{self.address}/api/shutdown", data=b"", headers={"Authorization": f"token {self.token}"}
        )
        urllib.request.urlopen(order, timeout=PATIENCE_S).close()


@dataclass
class Visit:
    """One open notebook and every address that its page has asked for."""

    page: object
    hosts: set = field(default_factory=set)

    @classmethod
    def watching(cls, page) -> "Visit":
        """Begin to note every address that the page asks for."""
        visit = cls(page)
        for kind in ("request", "websocket"):
            page.on(kind, lambda asked: visit.hosts.add(urlsplit(asked.url).hostname))
        return visit

    def run_all(self) -> None:
        """Run all cells and wait until the kernel has gone through them."""
        self.page.wait_for_function(KERNEL_IS_READY, timeout=RUN_PATIENCE_MS)
        self.page.evaluate(RUN_ALL)
        self.wait_until_run()

    def wait_until_run(self) -> None:
        """Wait until the kernel has gone through all cells; none of them may have failed."""
        self.page.wait_for_function(HAS_RUN, timeout=RUN_PATIENCE_MS)
        assert self.page.evaluate(FAILED_CELLS) == []

    def picture(self, words: str):
        """Find the picture whose alt text holds the words, waiting until it is there."""
        found = self.page.locator(f"img[alt*={json.dumps(words, ensure_ascii=False)}]").first
        found.wait_for()
        return found


def browser_path() -> str:
    """Find a Chromium; without one the tests skip, but on the build machine that is a failure."""
    found = next(filter(None, map(shutil.which, BROWSER_NAMES)), None)
    if found:
        return found
    reason = f"no browser on PATH; looked for {', '.join(BROWSER_NAMES)}"
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


@contextmanager
def running_lab(folder: Path, scratch: Path, **environment: str) -> Iterator[Lab]:
    """Run JupyterLab on a folder with its settings, data and runtime files under ``scratch``."""
    token, port = secrets.token_hex(16), _free_port()
    homes = {
        name: str(scratch / name.lower())
        for name in (
            "JUPYTER_CONFIG_DIR",
            "JUPYTER_DATA_DIR",
            "JUPYTER_RUNTIME_DIR",
            "JUPYTERLAB_SETTINGS_DIR",
            "JUPYTERLAB_WORKSPACES_DIR",
            "IPYTHONDIR",
            "TMPDIR",
        )
    }
    Path(homes["TMPDIR"]).mkdir(exist_ok=True)
    lab = Lab(f"http://127.0.0.1:{port}", token, folder)
    command = [
        *(sys.executable, "-m", "jupyterlab", "--allow-root", f"--ServerApp.root_dir={folder}"),
        *_options(lab),
    ]
    with _serving(command, lab, scratch / "lab.log", env={**os.environ, **homes, **environment}):
        yield lab


@contextmanager
def opened_workbook(house: Path, home: Path) -> Iterator[Lab]:
    """Open a house by the command of its README, for a person with an empty home of their own."""
    (home / "tmp").mkdir(parents=True, exist_ok=True)
    strange = ("JUPYTER", "IPYTHON", "MPL", "XDG_", "MACHINELAB")
    ours = {name: value for name, value in os.environ.items() if not name.startswith(strange)}
    person = {**ours, "HOME": str(home), "USERPROFILE": str(home), "TMPDIR": str(home / "tmp")}
    lab = Lab(f"http://127.0.0.1:{_free_port()}", secrets.token_hex(16), house / "notebooks")
    command = [sys.executable, "-m", "machinelab", "open", *_options(lab)]
    with _serving(command, lab, home / "lab.log", env=person, cwd=house):
        yield lab


def cloned_house(folder: Path) -> Path:
    """Clone the house, with what is not committed yet laid over it; copy it where there is no git."""
    if not (HOUSE / ".git").exists():
        return shutil.copytree(HOUSE, folder, ignore=NOT_COPIED)
    git = ("git", "-C", str(HOUSE))
    subprocess.run([*git, "clone", "--quiet", str(HOUSE), str(folder)], check=True)
    asked = ["ls-files", "--modified", "--others", "--exclude-standard", "-z"]
    changed = subprocess.run([*git, *asked], check=True, capture_output=True, text=True).stdout
    for name in filter(None, changed.split("\0")):
        if (HOUSE / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(HOUSE / name, folder / name)
    return folder


def shut_down(page) -> None:
    """Stop JupyterLab as a person does: File, then Shut Down, and yes."""
    page.get_by_role("menuitem", name="File", exact=True).click()
    page.get_by_role("menuitem", name="Shut Down", exact=True).click()
    page.locator(".jp-Dialog").get_by_role("button", name="Shut Down").click()


def _options(lab: Lab) -> list[str]:
    return [
        *("--no-browser", "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={urlsplit(lab.address).port}"),
        *("--ServerApp.port_retries=0", f"--IdentityProvider.token={lab.token}"),
        "--LabApp.expose_app_in_browser=True",
    ]


@contextmanager
def _serving(command: list[str], lab: Lab, log_path: Path, **how) -> Iterator[None]:
    """Keep a server running; it may have been shut down from within."""
    with log_path.open("w") as log:
        # A session of its own, so that the command and what it has started are ended together.
        server = subprocess.Popen(
            command, stdout=log, stderr=subprocess.STDOUT, start_new_session=True, **how
        )
        try:
            _wait_until_it_answers(lab, server, log_path)
            yield
            if command[1:3] == ["-m", "machinelab"]:
                lab.ended_with = server.wait(timeout=PATIENCE_S)
        finally:
            if server.poll() is None:
                os.killpg(server.pid, signal.SIGTERM)
            server.wait(timeout=30)


@contextmanager
def browser_page(**context_options) -> Iterator[object]:
    """Start the browser and give one empty page."""
    executable = browser_path()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable, args=BROWSER_FLAGS)
        try:
            with fresh_page(browser, **context_options) as page:
                yield page
        finally:
            browser.close()


@contextmanager
def fresh_page(browser, **context_options) -> Iterator[object]:
    """Give one empty page that shares nothing with other pages of a running browser."""
    context = browser.new_context(viewport={"width": 1280, "height": 1000}, **context_options)
    context.set_default_timeout(PATIENCE_S * 1000)
    try:
        yield context.new_page()
    finally:
        context.close()


def open_notebook(page, lab: Lab, name: str) -> Visit:
    """Open a notebook of the lab's folder in the page."""
    visit = Visit.watching(page)
    page.goto(f"{lab.address}/lab/tree/{quote(name)}?reset&token={lab.token}")
    page.wait_for_function(KERNEL_IS_READY, timeout=RUN_PATIENCE_MS)
    return visit


def write_notebook(path: Path, sources) -> None:
    """Write a notebook of code cells, ended by a line of text that must keep its place."""
    cells = [nbformat.v4.new_code_cell(source) for source in sources]
    notebook = nbformat.v4.new_notebook(cells=[*cells, nbformat.v4.new_markdown_cell(TEXT_BELOW)])
    notebook.metadata.kernelspec = {"display_name": "Python 3", "language": "python", "name": "python3"}
    nbformat.write(notebook, path)


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def _wait_until_it_answers(lab: Lab, server: subprocess.Popen, log: Path) -> None:
    question = urllib.request.Request(
        f"{lab.address}/api/status", headers={"Authorization": f"token {lab.token}"}
    )
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        if server.poll() is not None:
            break
        try:
            with urllib.request.urlopen(question, timeout=5):
                return
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.2)
    pytest.fail(f"JupyterLab did not start:\n{log.read_text()[-2000:]}")
