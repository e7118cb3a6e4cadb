"""What a reader without a kernel finds in the stored notebooks, and what keeps a cell short and honest."""

import ast
import re

import nbformat
import pytest
from notebooks.remake import KEPT_METADATA, WIDGET, every_notebook

SPINE = [
    "Cautions",
    "Your guess",
    "Predict",
    "Measure",
    "Compare",
    "Decide",
    "Record and share",
]
# The start page opens the others and measures nothing itself.
WITHOUT_SPINE = {"00_start_here"}
MOST_LINES = 8
FORBIDDEN_IN_CELLS = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda)
MEASURED_VALUE = re.compile(
    r"(?<![\w.])\d+(?:[.,]\d+)?\s?(?:mm|µm|um|rpm|s|ms|min|N|Nm|N m|A|V|W|J|Ω|ohm|%|ppm|tpi|Hz|kHz|in|thou)\b"
)

notebooks = pytest.mark.parametrize("path", every_notebook(), ids=lambda path: path.stem)


def stored(path):
    return nbformat.read(path, as_version=4)


def code_cells(path):
    return [cell for cell in stored(path).cells if cell.cell_type == "code"]


def prose(path):
    return "\n\n".join(cell.source for cell in stored(path).cells if cell.cell_type == "markdown")


def has_tag(cell, tag):
    return tag in cell.metadata.get("tags", [])


def has_picture(cell):
    return any("image/png" in output.get("data", {}) for output in cell.outputs)


def shows_something(cell):
    body = ast.parse(cell.source).body
    return bool(body) and isinstance(body[-1], ast.Expr)


def test_the_workbook_has_notebooks():
    assert every_notebook()


@notebooks
def test_the_file_is_a_valid_notebook(path):
    nbformat.validate(stored(path))


@notebooks
def test_no_widget_state_and_no_foreign_metadata_is_stored(path):
    assert dict(stored(path).metadata) == KEPT_METADATA
    assert WIDGET not in path.read_text(encoding="utf-8")


@notebooks
def test_every_static_cell_that_shows_something_has_its_output_stored(path):
    bare = [
        cell.id
        for cell in code_cells(path)
        if shows_something(cell) and not has_tag(cell, "live") and not cell.outputs
    ]
    assert bare == []


@notebooks
def test_live_cells_store_nothing(path):
    assert [cell.id for cell in code_cells(path) if has_tag(cell, "live") and cell.outputs] == []


@notebooks
def test_no_error_and_no_warning_is_stored(path):
    spoken = [output for cell in code_cells(path) for output in cell.outputs]
    assert not [output for output in spoken if output.output_type == "error"]
    assert not [output for output in spoken if output.get("name") == "stderr"]


@notebooks
def test_cells_were_run_once_from_top_to_bottom(path):
    cells = code_cells(path)
    assert [cell.execution_count for cell in cells] == list(range(1, len(cells) + 1))


@notebooks
def test_cells_are_short_and_define_nothing(path):
    for cell in code_cells(path):
        assert len(cell.source.splitlines()) <= MOST_LINES, cell.id
        found = [node for node in ast.walk(ast.parse(cell.source)) if isinstance(node, FORBIDDEN_IN_CELLS)]
        assert not found, cell.id


@notebooks
def test_code_is_folded_under_a_line_in_plain_words(path):
    for cell in code_cells(path):
        assert cell.metadata.get("jupyter", {}).get("source_hidden") is True, cell.id
        assert re.match(r"# [A-Z]\S*( \S+)+", cell.source), cell.id


@notebooks
def test_prose_never_repeats_a_number_that_the_code_computes(path):
    without_examples = re.sub(r"`[^`]*`", "", prose(path))
    assert MEASURED_VALUE.findall(without_examples) == []


@notebooks
def test_the_spine_stands_in_its_order(path):
    if path.stem in WITHOUT_SPINE:
        return
    headings = re.findall(r"^## (.+)$", prose(path), flags=re.MULTILINE)
    assert [heading for heading in headings if heading in SPINE] == SPINE


@notebooks
def test_the_title_is_a_question(path):
    if path.stem in WITHOUT_SPINE:
        return
    assert re.match(r"# .+\?\n", prose(path) + "\n")


@notebooks
def test_a_static_picture_stands_beside_every_live_cell(path):
    cells = code_cells(path)
    for place, cell in enumerate(cells):
        if has_tag(cell, "live") and has_tag(cell, "picture"):
            beside = cells[max(place - 1, 0) : place + 2]
            assert any(has_picture(neighbour) for neighbour in beside), cell.id


@notebooks
def test_the_last_cell_checks_the_page(path):
    last = code_cells(path)[-1]
    assert has_tag(last, "check")
    assert any(isinstance(node, ast.Assert) for node in ast.walk(ast.parse(last.source)))


@notebooks
def test_cell_ids_are_words_that_stay(path):
    names = [cell.id for cell in stored(path).cells]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z][a-z0-9-]*", name) for name in names)
