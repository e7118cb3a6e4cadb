"""The rung language: contact names joined by ``and``, ``or``, ``not`` and brackets, and nothing else.

A rung is read, never run: only these words, in turn, are let through to Python's own parser, which makes a
tree of them. Length and depth are capped, because even a parser can be choked by a small hostile text.
"""

import ast
import keyword
import re
from collections.abc import Collection
from dataclasses import dataclass
from difflib import get_close_matches

from machinelab.errors import PanelError

__all__: list[str] = []

LONGEST_RUNG = 500
DEEPEST_RUNG = 20
JOINING = ("and", "or", "not")
TOO_DEEP = (
    f"The brackets of this rung are nested more than {DEEPEST_RUNG} deep. "
    "Put a part of it on a relay of its own."
)

_TOKEN = re.compile(r"[A-Za-z_][A-Za-z_0-9]*|[()]|[^\sA-Za-z_()]+")
_NAME = re.compile(r"[A-Za-z_][A-Za-z_0-9]*")
_SIGNS = {"&": "and", "&&": "and", "*": "and", "|": "or", "||": "or", "+": "or", "!": "not", "~": "not"}
_EASILY_TAKEN = {"I": "1", "l": "1", "O": "0"}


@dataclass(frozen=True)
class Rung:
    """A rung: its text, the contacts it names, and its tree of and, or, not and names."""

    text: str
    names: frozenset[str]
    tree: tuple

    def carries(self, closed: Collection[str]) -> bool:
        """Whether current passes when exactly these contacts are closed."""
        return _carries(self.tree, closed)


def _carries(tree: tuple, closed: Collection[str]) -> bool:
    kind, *parts = tree
    if kind == "name":
        return parts[0] in closed
    if kind == "not":
        return not _carries(parts[0], closed)
    return (all if kind == "and" else any)(_carries(part, closed) for part in parts)


def read_rung(text: object, contacts: Collection[str]) -> Rung:
    """Read a rung, or say in words what is wrong with it.

    Raises
    ------
    PanelError
        Naming the column, what stands there and what to write.

    Examples
    --------
    >>> read_rung("MAINS and not (STOP or GUARD)", {"MAINS", "STOP", "GUARD"}).carries({"MAINS"})
    True
    """
    if not isinstance(text, str) or not text.strip():
        raise PanelError('A rung is text in quotes, for instance "S1 and (D_F or D_R)".')
    if len(text) > LONGEST_RUNG:
        raise PanelError(
            f"This rung has {len(text)} characters; {LONGEST_RUNG} are allowed. "
            "Put a part of it on a relay of its own."
        )
    _only_words_and_brackets(text)
    _in_turn(text)
    tree = _tree(_parsed(text), contacts)
    return Rung(text.strip(), frozenset(_names(tree)), tree)


def is_name(text: object) -> bool:
    """Whether a contact can be called so: letters, digits and underscores, no word of the language."""
    return isinstance(text, str) and bool(_NAME.fullmatch(text)) and not keyword.iskeyword(text)


def nearest(name: str, known: Collection[str]) -> str:
    """A hint at the known name that was probably meant; empty when none is like it."""
    for letter, figure in _EASILY_TAKEN.items():
        for one in sorted(known):
            if name.replace(letter, figure) == one.replace(letter, figure):
                return f" Nearest: {one} (letter {letter} or figure {figure}?)."
    found = get_close_matches(name, sorted(known), n=1, cutoff=0.5)
    return f" Nearest: {found[0]}." if found else ""


def _only_words_and_brackets(text: str) -> None:
    for token in _TOKEN.finditer(text):
        word, column = token.group(), token.start() + 1
        if word in _SIGNS:
            better = " ".join(f"{text[: token.start()]} {_SIGNS[word]} {text[token.end() :]}".split())
            raise PanelError(f"Column {column}: {word} is not read here. Write the word: {better}")
        if word.startswith("="):
            right = text[token.end() :].strip() or "S1 and S2"
            raise PanelError(f"Column {column}: write only what stands right of the equals sign: {right}")
        if word not in ("(", ")") and not _NAME.fullmatch(word):
            raise PanelError(
                f"Column {column}: {word[:20]} is not read here. A rung holds names of contacts, "
                "and, or, not, and round brackets."
            )
        if word.lower() in JOINING and word not in JOINING:
            raise PanelError(f"Column {column}: write {word.lower()} in small letters.")
        if keyword.iskeyword(word) and word not in JOINING:
            raise PanelError(f"Column {column}: {word} cannot be a contact; only and, or, not join contacts.")


def _in_turn(text: str) -> None:
    """Refuse what the parser would: names and joining words take turns, and brackets come in pairs."""
    opened: list[int] = []
    name_due = True
    for token in _TOKEN.finditer(text):
        word, column = token.group(), token.start() + 1
        if word == ")" and not opened:
            raise PanelError(
                f"Column {column}: this bracket closes none; open one before it, or leave it out."
            )
        if name_due and word in ("and", "or", ")"):
            raise PanelError(f"Column {column}: a name is missing before {word}, or it is one too many.")
        if not name_due and word not in ("and", "or", ")"):
            raise PanelError(
                f"Column {column}: two things stand side by side without and or or between them; "
                f"the second is {word}."
            )
        if word == "(":
            opened.append(column)
        if word == ")":
            opened.pop()
        name_due = word in ("and", "or", "not", "(")
        if len(opened) > DEEPEST_RUNG:
            raise PanelError(TOO_DEEP)
    if name_due:
        raise PanelError(f"Column {len(text.rstrip()) + 1}: a name is missing at the end.")
    if opened:
        raise PanelError(f"Column {opened[-1]}: this bracket is never closed; close it, or leave it out.")


def _parsed(text: str) -> ast.expr:
    # On one line every column counts from its beginning; the bracket before it shifts them by one.
    one_line = re.sub(r"\s", " ", text)
    return ast.parse(f"({one_line})", mode="eval").body


def _tree(node: ast.expr, contacts: Collection[str], depth: int = 1) -> tuple:
    if depth > DEEPEST_RUNG:
        raise PanelError(TOO_DEEP)
    if isinstance(node, ast.Name):
        name, column = node.id, node.col_offset
        if name not in contacts:
            raise PanelError(f"Column {column}: {name} is no contact of this panel.{nearest(name, contacts)}")
        return ("name", name)
    if isinstance(node, ast.UnaryOp):
        return ("not", _tree(node.operand, contacts, depth + 1))
    kind = "and" if isinstance(node.op, ast.And) else "or"
    return (kind, *(_tree(value, contacts, depth + 1) for value in node.values))


def _names(tree: tuple) -> set[str]:
    kind, *parts = tree
    return {parts[0]} if kind == "name" else set().union(*map(_names, parts))
