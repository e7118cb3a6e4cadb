"""Which mutants change only words for people: a message, a sentence, a quantity's name in a refusal."""

import ast
import re
from collections import Counter
from functools import cache
from pathlib import Path

# What may stand between a message and the text in it; anything else might look something up by the text.
_ONLY_TEXT = {"join", "format"}
# Where a text steers: it is compared, it is a key, or it says how a number is written.
_STEERING = (ast.Compare, ast.Dict, ast.Subscript, ast.Slice, ast.Set)
_SENTENCE = re.compile(r"[^\W\d_]{2,}[,;:]? +[^\W\d_]{2,}")


def words_only(tree: Path, mutant: str) -> bool:
    """Whether the mutant and its original differ in one text only, and in one that only people read.

    A text counts when it is the message of an exception, the name that a check of `machinelab.ranges` puts
    into its refusal, or a sentence: at least two words in a row, not compared, no key, and written nowhere
    else in the house, so that nothing can look it up.
    """
    original, changed = _both(tree, mutant)
    found = _difference(original, changed, ())
    if found is None:
        return False
    old, new, above = found
    text = old.value if isinstance(old, ast.Constant) and isinstance(old.value, str) else None
    replaced = isinstance(new, ast.Constant) and (new.value is None or isinstance(new.value, str))
    if not replaced or not (text is not None or isinstance(old, ast.JoinedStr)):
        return False
    if _in_a_refusal(above) or _names_a_quantity(old, above, _range_checks(tree)):
        return True
    if text is None or new.value is None or any(isinstance(node, _STEERING) for node in above):
        return False
    return bool(_SENTENCE.search(text)) and _written(tree)[text] <= 1


def _both(tree: Path, mutant: str) -> tuple[ast.FunctionDef, ast.FunctionDef]:
    module, _, name = mutant.rpartition(".")
    functions = _functions(tree / "mutants" / (module.replace(".", "/") + ".py"))
    return functions[re.sub(r"__mutmut_\d+$", "__mutmut_orig", name)], functions[name]


@cache
def _functions(file: Path) -> dict[str, ast.FunctionDef]:
    nodes = ast.walk(ast.parse(file.read_text(encoding="utf-8")))
    return {node.name: node for node in nodes if isinstance(node, ast.FunctionDef)}


def _difference(old, new, above: tuple) -> tuple[ast.AST, ast.AST, tuple] | None:
    """Return the one pair of nodes that differ, with all nodes above them; None where more differs."""
    if (
        isinstance(old, ast.Constant | ast.JoinedStr)
        and isinstance(new, ast.Constant)
        and not _same(old, new)
    ):
        return old, new, above
    if type(old) is not type(new):
        return None
    differing = [
        pair
        for field in old._fields
        if not (isinstance(old, ast.FunctionDef) and field == "name")
        for pair in _pairs(getattr(old, field, None), getattr(new, field, None))
    ]
    if len(differing) != 1 or not all(isinstance(one, ast.AST) for one in differing[0]):
        return None
    return _difference(*differing[0], (*above, old))


def _pairs(old, new) -> list[tuple]:
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        return [pair for pair in zip(old, new, strict=True) if not _same(*pair)]
    return [] if _same(old, new) else [(old, new)]


def _same(old, new) -> bool:
    if isinstance(old, ast.AST) and isinstance(new, ast.AST):
        return ast.dump(old) == ast.dump(new)
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(map(_same, old, new))
    return old == new


def _in_a_refusal(above: tuple) -> bool:
    places = [place for place, node in enumerate(above) if isinstance(node, ast.Raise)]
    if not places:
        return False
    exception, *between = above[places[-1] + 1 :] or [None]
    calls = [node.func for node in between if isinstance(node, ast.Call)]
    return (
        isinstance(exception, ast.Call)
        and not any(isinstance(node, _STEERING) for node in between)
        and all(isinstance(call, ast.Attribute) and call.attr in _ONLY_TEXT for call in calls)
    )


def _names_a_quantity(old: ast.AST, above: tuple, checks: set[str]) -> bool:
    for place, node in enumerate(above):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in checks:
            return bool(node.args) and node.args[0] in (old, *above[place + 1 :])
    return False


@cache
def _range_checks(tree: Path) -> set[str]:
    """Return the functions of `machinelab.ranges` whose first argument is the name for the refusal."""
    functions = _functions(tree / "machinelab" / "ranges.py").values()
    return {one.name for one in functions if one.args.args and one.args.args[0].arg == "name"}


@cache
def _written(tree: Path) -> Counter:
    """Return how often each text stands in the house, in its code or as a field of a table."""
    found = Counter()
    for file in sorted((tree / "machinelab").rglob("*.py")):
        nodes = ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        found.update(
            one.value for one in nodes if isinstance(one, ast.Constant) and isinstance(one.value, str)
        )
    for file in sorted((tree / "machinelab").rglob("*.csv")):
        found.update(re.split(r"[,;|\n]", file.read_text(encoding="utf-8")))
    return found
