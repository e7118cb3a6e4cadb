"""The house keeps its plan: which rooms there are, who may import whom, and what stands at the top."""

import ast
import fnmatch
import re
import tomllib
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest
import yaml
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import machinelab

HOUSE = Path(__file__).resolve().parents[2]
PACKAGE = HOUSE / "machinelab"
LONGEST_MODULE = 400

BASE = ("errors", "units", "ranges", "estimate", "least_squares", "tables")
PHYSICS = ("spindle", "leadscrew", "threads", "accuracy", "work", "controls")
WORKING = ("worked",)
TOP = ("README.md", "DEVELOPERS.md", "LICENSE", "environment.yml", "pyproject.toml", "constraints.txt")
FOLDERS = ("machinelab", "notebooks", "tests")
TEST_ROOMS = ("outside", "properties", "behaviour", "notebooks", "browser", "bench")
MAY_IMPORT = {
    **dict.fromkeys(BASE, BASE),
    **{room: (*BASE, room) for room in PHYSICS},
    **dict.fromkeys(WORKING, (*BASE, *WORKING)),
    "workbook": (*BASE, *PHYSICS, *WORKING, "workbook"),
    "__main__": (),
    "": (),
}
# A threading pass is a spindle that stops while the screw follows it; a thread's lead is that of any screw.
MAY_IMPORT_AS_WELL = {
    **dict.fromkeys(
        (
            "machinelab.threads.shoulder",
            "machinelab.threads.shoulder_stop",
            "machinelab.threads.shoulder_heat",
        ),
        ("spindle", "leadscrew"),
    ),
    **dict.fromkeys(
        (
            *("machinelab.threads.basic_sizes", "machinelab.threads.inch_designation"),
            *("machinelab.threads.pipe_designation", "machinelab.threads.standard_sizes"),
            *("machinelab.threads.thread", "machinelab.threads.unified_limits"),
            *("machinelab.threads.whitworth_limits", "machinelab.threads.worm_designation"),
        ),
        ("leadscrew",),
    ),
}
NOT_FOR_PHYSICS = (
    *("pathlib", "os", "io", "csv", "json", "tomllib", "tomlkit", "pandas", "pint", "pydantic"),
    *("matplotlib", "ipywidgets", "IPython", "jupyterlab", "nbformat"),
)


def name_of(file):
    """The dotted name of a module of the package."""
    return ".".join(file.relative_to(HOUSE).with_suffix("").parts).removesuffix(".__init__")


MODULES = {name_of(file): file for file in sorted(PACKAGE.rglob("*.py"))}


def room_of(module):
    """The room that a module stands in: the first name after the package's."""
    return module.partition(".")[2].partition(".")[0]


def imports(tree):
    """Every module that a piece of code imports, as written; names taken from a package count as modules."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name their module in full"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in MODULES else node.module


def at_the_top(tree):
    """The code that runs when a module is imported: all but what stands inside functions."""
    kept = [node for node in tree.body if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    for node in kept:
        if isinstance(node, ast.ClassDef):
            node.body = [inner for inner in node.body if not isinstance(inner, ast.FunctionDef)]
    return ast.Module(body=kept, type_ignores=[])


def parsed(module):
    return ast.parse(MODULES[module].read_text(encoding="utf-8"))


def test_every_room_of_the_plan_is_there():
    missing = [
        room for room in (*PHYSICS, "tables", "workbook") if not (PACKAGE / room / "__init__.py").is_file()
    ]
    missing += [f"tests/{room}" for room in TEST_ROOMS if not (HOUSE / "tests" / room).is_dir()]
    missing += [name for name in FOLDERS if not (HOUSE / name).is_dir()]
    assert missing == []
    strangers = {room_of(module) for module in MODULES} - set(MAY_IMPORT)
    assert strangers == set(), "a new room needs its place in the import rule"


def against_the_rule(module, tree):
    """What a module imports from rooms that it may not know."""
    allowed = (*MAY_IMPORT[room_of(module)], *MAY_IMPORT_AS_WELL.get(module, ()), "")
    ours = [name for name in imports(tree) if name.split(".")[0] == "machinelab"]
    return [name for name in ours if room_of(name) not in allowed]


@pytest.mark.parametrize("module", MODULES)
def test_imports_run_one_way(module):
    assert against_the_rule(module, parsed(module)) == []


@pytest.mark.parametrize(
    ("module", "code"),
    [
        ("machinelab.spindle.encoder", "from machinelab.workbook import machine"),
        ("machinelab.spindle.encoder", "def f():\n    import machinelab.leadscrew.gearing"),
        ("machinelab.units", "from machinelab.spindle.encoder import edge_rate_hz"),
        ("machinelab.threads.form", "from machinelab.spindle import encoder"),
    ],
)
def test_the_rule_notices_an_import_against_the_stream(module, code):
    assert len(against_the_rule(module, ast.parse(code))) == 1


@pytest.mark.parametrize("module", [module for module in MODULES if room_of(module) in PHYSICS])
def test_physics_knows_no_file_no_picture_and_no_form(module):
    tree = parsed(module)
    assert [name for name in imports(tree) if name.split(".")[0] in NOT_FOR_PHYSICS] == []
    called = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert called & {"open", "print", "input"} == set()


def test_no_module_imports_itself_by_a_detour():
    with pytest.raises(CycleError):
        TopologicalSorter({"a": {"b"}, "b": {"a"}}).prepare()
    graph = {
        module: {name for name in imports(at_the_top(parsed(module))) if name in MODULES and name != module}
        for module in MODULES
    }
    assert len(list(TopologicalSorter(graph).static_order())) >= len(MODULES)


def test_no_module_has_grown_too_long():
    lengths = {module: len(file.read_text(encoding="utf-8").splitlines()) for module, file in MODULES.items()}
    assert {module: lines for module, lines in lengths.items() if lines > LONGEST_MODULE} == {}


def test_no_name_of_a_module_is_used_up_by_star_imports():
    starred = [
        module
        for module in MODULES
        for node in ast.walk(parsed(module))
        if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names)
    ]
    assert starred == []


def test_only_what_belongs_at_the_top_stands_there():
    ignored = [
        line.strip("/") for line in (HOUSE / ".gitignore").read_text(encoding="utf-8").splitlines() if line
    ]
    found = [entry.name for entry in HOUSE.iterdir() if not entry.name.startswith(".")]
    strangers = [
        name
        for name in found
        if name not in (*TOP, *FOLDERS) and not any(fnmatch.fnmatch(name, pattern) for pattern in ignored)
    ]
    assert strangers == []


def package_and_bound(requirement):
    """A package's name and what is asked of its version, conda's name for matplotlib put right."""
    name, bound = re.fullmatch(r"([A-Za-z0-9_.-]+)\s*(.*)", requirement).groups()
    return name.lower().replace("matplotlib-base", "matplotlib"), bound.replace(" ", "")


def test_conda_and_pip_are_asked_for_the_same_packages():
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    environment = yaml.safe_load((HOUSE / "environment.yml").read_text(encoding="utf-8"))
    listed = environment["dependencies"]
    conda = dict(package_and_bound(entry) for entry in listed if isinstance(entry, str))
    oldest = ".".join(map(str, machinelab.OLDEST_PYTHON))
    assert project["requires-python"].replace(" ", "") == f">={oldest}"
    assert conda.pop("python") == f"={oldest}"
    assert conda.pop("pip") == ""
    assert conda == dict(map(package_and_bound, project["dependencies"]))
    assert environment["channels"] == ["conda-forge"]
    assert [entry["pip"] for entry in listed if isinstance(entry, dict)] == [["-e ."]]


def test_every_bound_is_one_lowest_version_that_the_settled_versions_keep():
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = list(map(Requirement, (*project["dependencies"], *project["optional-dependencies"]["test"])))
    assert [str(one) for one in asked if [bound.operator for bound in one.specifier] != [">="]] == []
    lines = (HOUSE / "constraints.txt").read_text(encoding="utf-8").split()
    settled = {canonicalize_name(name): version for name, version in (line.split("==") for line in lines)}
    assert [str(one) for one in asked if settled[canonicalize_name(one.name)] not in one.specifier] == []


def test_the_constraints_hold_a_version_for_every_package_and_no_address():
    text = (HOUSE / "constraints.txt").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.strip()]
    assert [line for line in lines if not re.fullmatch(r"[A-Za-z0-9_.-]+==[A-Za-z0-9.+!]+", line)] == []
    pinned = {line.split("==")[0].lower().replace("_", "-") for line in lines}
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = {package_and_bound(entry)[0] for entry in project["dependencies"]}
    assert wanted - pinned == set()
