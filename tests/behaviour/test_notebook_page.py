"""A whole notebook as one page: nothing to run, to ask for or to hide, and hostile words are only words."""

import getpass
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from machinelab import __main__ as launcher
from machinelab.errors import MachinelabError, RangeError
from machinelab.workbook import machine as machines
from machinelab.workbook import notebook_page
from machinelab.workbook.notebook_html import CONTROL, PASSED, PICTURE_DATA, caption, page_of
from machinelab.workbook.notebook_page import main, make_page, notebook_file, page_in_steps
from machinelab.workbook.pages.coast_down import CoastDownPage

HOUSE = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted((HOUSE / "notebooks").glob("*.ipynb"))
METRIC = HOUSE / "tests" / "machines" / "metric"
HOSTILE = (
    '<script>alert(1)</script><img src="http://example.org/x.png" onerror="alert(2)"> '
    "![p](http://example.org/p.png) [q](http://example.org) /home/someone/lathe/notes.txt"
)
DOT = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="


class Reading(HTMLParser):
    """Every element of a page with what it has, and the words that are shown."""

    def __init__(self, page):
        super().__init__()
        self.elements, self.said, self.open = [], [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in ("meta", "img", "br", "hr"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, "every element is closed in its turn"

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.said.append(data)

    @property
    def words(self):
        return " ".join("".join(self.said).split())

    def all(self, tag):
        return [has for name, has in self.elements if name == tag]


def assert_stands_alone(page):
    reading = Reading(page)
    tags = {tag for tag, _ in reading.elements}
    assert not tags & {"script", "a", "link", "iframe", "object", "embed", "form", "base", "svg", "video"}
    for tag, has in reading.elements:
        assert not [name for name in has if name.startswith("on") or name in ("href", "style", "srcset")], tag
        assert "://" not in " ".join(value or "" for name, value in has.items() if name != "alt"), tag
    for picture in reading.all("img"):
        assert picture["src"].startswith(PICTURE_DATA)
        assert picture["alt"].strip()
    assert reading.all("html") == [{"lang": "en"}]
    assert {"name": "viewport", "content": "width=device-width, initial-scale=1"} in reading.all("meta")
    (style,) = re.findall(r"<style>(.*?)</style>", page, flags=re.DOTALL)
    assert "url(" not in style
    assert "@import" not in style
    return reading


def code(source, *outputs, tags=()):
    cell = new_code_cell(source, outputs=list(outputs))
    cell.metadata["tags"] = list(tags)
    return cell


def result(**forms):
    kinds = {"html": "text/html", "markdown": "text/markdown", "png": "image/png", "plain": "text/plain"}
    return new_output("execute_result", data={kinds.get(kind, kind): data for kind, data in forms.items()})


def made_of(*cells, title="05 coast-down: a lathe", made="Machine: a lathe."):
    return page_of(new_notebook(cells=list(cells)), title=title, made=made)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_page_of_every_notebook_stands_alone_and_says_all_of_its_prose(path):
    notebook = nbformat.read(path, as_version=4)
    page = page_of(notebook, title=path.stem, made="today")
    reading = assert_stands_alone(page)
    pictures = [
        cell
        for cell in notebook.cells
        if any("image/png" in output.get("data", {}) for output in cell.get("outputs", []))
    ]
    assert len(reading.all("img")) == len(pictures)
    headings = re.findall(
        r"^#+ (.+)$", "\n\n".join(c.source for c in notebook.cells if c.cell_type == "markdown"), re.M
    )
    assert all(heading.replace("*", "") in reading.words for heading in headings)
    assert "Run All" not in reading.words
    assert "$$" not in reading.words


@pytest.mark.parametrize("kind", ["html", "markdown", "plain"])
def test_hostile_words_are_words_in_whatever_form_they_come(kind):
    page = made_of(code("# A result\nx", result(**{kind: HOSTILE})))
    reading = assert_stands_alone(page)
    assert "/home/someone" not in page
    assert reading.all("img") == []
    # In HTML of our own making a person's words are escaped already, and what still acts is thrown out.
    assert ("<script>alert(1)</script>" in reading.words) is (kind != "html")
    assert ("alert(1)" in reading.words) is (kind != "html")


def test_only_pictures_that_are_carried_along_are_shown_and_each_has_words():
    svg = "data:image/svg+xml;base64,PHN2Zy8+"
    shown = (
        f'<style>td {{width: 3em}}</style><img src="{svg}" alt="drawn"><img alt="nothing">'
        f'<img src="{PICTURE_DATA}{DOT}"><img src="{PICTURE_DATA}{DOT}" alt="from /home/someone/x/nose.png">'
    )
    reading = assert_stands_alone(made_of(code("# Pictures\nx", result(html=shown))))
    assert [picture["alt"] for picture in reading.all("img")] == ["picture", "from nose.png"]
    assert "3em" not in reading.words


def test_hostile_words_are_words_in_titles_prose_code_and_the_words_of_a_picture():
    page = made_of(
        new_markdown_cell(f"# A title {HOSTILE}\n\n{HOSTILE}"),
        code(f"# {HOSTILE}\nx = {HOSTILE!r}", result(png=DOT, plain=f"Picture: {HOSTILE}")),
        code("# Printed\nprint(x)", new_output("stream", name="stdout", text=HOSTILE)),
        title=HOSTILE,
        made=HOSTILE,
    )
    reading = assert_stands_alone(page)
    assert "/home/someone" not in page
    assert len(reading.all("img")) == 1
    assert "<script>alert(1)</script>" in reading.words


def test_what_an_output_leaves_open_ends_with_it():
    page = made_of(
        code("# One\nx", result(html="<div><table><tr><td>cut off <b>here")),
        code("# Two\nx", result(html="</main></div></body>after")),
    )
    assert_stands_alone(page)


def test_live_cells_controls_warnings_and_cells_that_show_nothing_are_left_out():
    page = made_of(
        code("# Move the slider\npanel", result(html="<p>slider</p>"), tags=["live"]),
        code("# A control\nx", result(plain="Box()", **{CONTROL: {"model_id": "7"}})),
        code("# Warned\nx", new_output("stream", name="stderr", text="/tmp/x.py:1: UserWarning: old")),
        code("# Only sets a name\nx = 1"),
    )
    words = Reading(page).words
    for unwanted in ("slider", "Box()", "UserWarning", "Only sets a name", "A control"):
        assert unwanted not in words


def test_code_is_folded_under_its_plain_words():
    page = made_of(code("# The verdict\npage.judged", result(markdown="**NOT MET** by far")))
    assert "<details><summary>The verdict</summary><pre># The verdict\npage.judged</pre></details>" in page
    assert "<strong>NOT MET</strong> by far" in page
    assert caption("x = 1") == "code"


def test_the_check_that_passed_is_told():
    assert PASSED in made_of(code("# Three known cases\nassert 1 + 1 == 2", tags=["check"]))


def test_blanks_between_words_stay_and_folders_and_names_go():
    here, there = f"/home/{getpass.getuser()}-and-more/lathe/run.csv", "C:\\Users\\Eva Beispiel\\a.csv"
    where = f"a\n&lt;\n<b>b</b>\nc from {here} <i>and</i> {there}"
    words = Reading(made_of(code("# Where\nx", result(html=f"<p>{where}</p>")))).words
    assert "a < b c from run.csv and a.csv" in words


@pytest.mark.parametrize("kind", ["html", "markdown", "plain"])
def test_neither_letter_address_nor_folder_leaves_in_any_form(kind):
    private = r"ask somebody@example.org of C:\Users\somebody\run.csv or /home/somebody/run.csv"
    page = made_of(
        new_markdown_cell(private),
        code(
            f"# {private}\nx = 1",
            result(**{kind: private}),
            new_output("stream", name="stdout", text=private),
        ),
        code("# A picture\nx", result(png=DOT, plain=private)),
        title=private,
        made=private,
    )
    assert "run.csv" in page
    assert "somebody" not in page


def test_tables_can_be_moved_sideways_on_a_phone():
    page = made_of(code("# A table\nx", result(markdown="| a | b |\n| --- | --- |\n| 1 | 2 |")))
    assert '<div class="wide"><table>' in page


@pytest.fixture
def own(tmp_path, monkeypatch):
    """A folder of notebooks with the demo and a person's own machine, named to do harm."""
    monkeypatch.delenv("MACHINELAB_MACHINE", raising=False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    for name in ("demo", "old-lathe"):
        shutil.copytree(HOUSE / "notebooks" / "machines" / "demo", tmp_path / "machines" / name)
    file = tmp_path / "machines" / "old-lathe" / "machine.toml"
    text = file.read_text(encoding="utf-8")
    name = re.search(r'^name = "(.*)"$', text, flags=re.MULTILINE)
    file.write_text(text.replace(name[0], f"name = '{HOSTILE}'", 1), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def small_notebook(folder, *sources, name="05_coast_down.ipynb"):
    path = folder / name
    notebook = new_notebook(cells=[new_code_cell(source) for source in sources])
    nbformat.write(notebook, path)
    return path


def test_a_page_of_the_workbook_itself_shows_a_hostile_name_as_words(own):
    shown = repr(CoastDownPage(machines.load("old-lathe")))
    assert "<script" not in shown
    assert "<img" not in shown
    assert "](" not in shown.replace("\\](", "")


SHOWS_THE_MACHINE = """
# The machine, and whose computer it is on
from pathlib import Path
from machinelab.workbook.pages.coast_down import CoastDownPage
print(Path.home(), Path.cwd())
CoastDownPage.open()
"""


@pytest.mark.slow
def test_a_notebook_is_run_on_the_machine_and_lies_beside_its_files(own):
    path = small_notebook(own, SHOWS_THE_MACHINE, "# Two and two\n2 + 2")
    before = path.read_bytes()
    told = []
    made = make_page("5", "old-lathe", tell=lambda share, words: told.append((share, words)))
    assert made.file == own / "machines" / "old-lathe" / "out" / "05_coast_down.html"
    assert made.file.read_text(encoding="utf-8") == made.html
    assert str(made) == "Written: 05_coast_down.html, in old-lathe/out."
    assert told[-1] == (0.5, "05_coast_down.ipynb: Two and two")
    assert path.read_bytes() == before, "the notebook itself is left as it was"
    reading = assert_stands_alone(made.html)
    assert "05 coast-down: <script>alert(1)</script>" in reading.words
    for private in (str(own), str(Path.home()) + "/", "/home/someone"):
        assert private not in made.html


@pytest.mark.slow
def test_the_page_of_the_demo_lies_among_the_temporary_files(own):
    small_notebook(own, "# Two and two\n2 + 2")
    before = sorted((own / "machines").rglob("*"))
    made = make_page("05", "demo")
    assert made.file.is_relative_to(own / "temporary")
    assert "among the temporary files" in str(made)
    assert sorted((own / "machines").rglob("*")) == before


@pytest.mark.slow
def test_a_notebook_that_stops_is_told_with_its_cell_and_nothing_is_written(own, capsys):
    path = small_notebook(own, "# A cell that fails\n1 / 0", name="mine.ipynb")
    assert main([str(path), "old-lathe"]) == 1
    said = capsys.readouterr().err
    assert "mine.ipynb stopped at “A cell that fails”: ZeroDivisionError" in said
    assert "Traceback" not in said
    assert not (own / "machines" / "old-lathe" / "out").exists()


@pytest.mark.slow
def test_whoever_stops_half_way_leaves_no_kernel_and_no_file(own, monkeypatch):
    from nbclient import NotebookClient

    ended = []

    def cleaned_up(client):
        clean_up(client)
        ended.append(client)

    clean_up = NotebookClient._cleanup_kernel
    monkeypatch.setattr(NotebookClient, "_cleanup_kernel", cleaned_up)
    small_notebook(own, "# One\n1", "# Two\n2")
    making = page_in_steps("05", "old-lathe")
    assert [next(making)[1] for _ in range(3)][-1] == "05_coast_down.ipynb: Two"
    making.close()
    assert len(ended) == 1
    assert not (own / "machines" / "old-lathe" / "out").exists()


@pytest.mark.parametrize(
    ("named", "words"),
    [
        ("99", "no step '99'"),
        ("06", "not written yet"),
        ("nosuch.ipynb", "no notebook nosuch.ipynb"),
        ("machines", "no notebook machines"),
        ("", "no notebook"),
    ],
)
def test_what_is_no_notebook_is_refused_in_words(own, named, words):
    small_notebook(own, "1")
    with pytest.raises(RangeError, match=words):
        notebook_file(named)


def test_a_file_that_is_no_notebook_is_told(own):
    (own / "broken.ipynb").write_text("no notebook", encoding="utf-8")
    with pytest.raises(MachinelabError, match="cannot be read as a notebook"):
        make_page("broken.ipynb", "demo")


def test_a_page_that_cannot_be_written_is_told(own, monkeypatch):
    (own / "machines" / "old-lathe" / "out").write_text("in the way", encoding="utf-8")
    monkeypatch.setattr(notebook_page, "_run_in_steps", lambda *_: iter(()))
    small_notebook(own, "1")
    with pytest.raises(MachinelabError, match="was not written"):
        make_page("05", "old-lathe")


def test_the_command_hands_on_what_was_asked_for(monkeypatch, own):
    commands = []
    monkeypatch.setattr(launcher, "_run", lambda *command, cwd=None: commands.append(command) or 0)
    monkeypatch.setattr(launcher, "_python_with", lambda packages, extra: "python")
    path = small_notebook(own, "1", name="mine.ipynb")
    assert launcher.main(["page", "05"]) == 0
    assert launcher.main(["page", "mine.ipynb", "old-lathe"]) == 0
    assert [command[2:] for command in commands] == [
        ("machinelab.workbook.notebook_page", "05"),
        ("machinelab.workbook.notebook_page", str(path), "old-lathe"),
    ]


def test_too_few_words_are_answered_with_how_to_say_it(capsys):
    assert main([]) == 2
    assert "Say: page 05" in capsys.readouterr().err
