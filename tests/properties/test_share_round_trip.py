"""Whatever the owner typed, other people's parsers find in a post what was put into it, piece by piece.

The parsers are general libraries that know nothing of this workbook: markdown-it-py for CommonMark with
tables, bbcode for BBCode, html5lib for HTML as a browser reads it.
"""

import bbcode
import html5lib
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from properties.test_share_escaping import TYPED

from machinelab.workbook.share import Calculation, Notes, Paragraph, Picture, Post, Table
from machinelab.workbook.share.private import without_private

HTML = "{http://www.w3.org/1999/xhtml}"
MARKDOWN = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
FORUM = bbcode.Parser(newline="\n", replace_links=False, replace_cosmetic=False)
# A board may turn "--" into a dash; what is asked here is whether the marks hold.
for _, options in FORUM.recognized_tags.values():
    options.replace_cosmetic = options.replace_links = False
# Around what was typed, so that an empty text leaves a piece as well.
BEFORE, AFTER = "a", "z"


def post_of(text):
    said = f"{BEFORE}{text}{AFTER}"
    block = Calculation(said, (said,), ("t = 1 s",), "t = 1 s", said, f"MET: {said}", said, (said,))
    table = Table(("check", said), ((said, "b"), ("c", said)), said)
    picture = Picture(said, b"\x89PNG\r\n\x1a\n")
    return Post(said, (Paragraph(said), block, table, Notes((said, said, said), said), picture))


def whole_words(text):
    return "".join(without_private(f"{BEFORE}{text}{AFTER}").split())


def in_one_line(text):
    """The same of a place that holds one line: what looks like a folder may then be another piece of it."""
    return whole_words(" ".join(f"{BEFORE}{text}{AFTER}".split())[len(BEFORE) : -len(AFTER)])


def tree_of(text):
    return html5lib.parse(text, namespaceHTMLElements=False)


def texts(tree, path):
    return ["".join("".join(node.itertext()).split()) for node in tree.iterfind(f".//{path}")]


@settings(max_examples=200)
@given(TYPED)
@example("</td></tr></table><table>")
@example("</style></body></html>")
def test_a_page_read_as_a_browser_reads_it_has_every_piece_once_and_nothing_else(text):
    tree, said = tree_of(post_of(text).html()), whole_words(text)
    assert texts(tree, "h1") == [said]
    assert texts(tree, "h2") == [said, said]
    line = in_one_line(text)
    assert texts(tree, "th") == ["check", line]
    assert texts(tree, "td") == [line, "b", "c", line]
    assert texts(tree, "li") == [said] * 4
    assert texts(tree, "strong") == ["MET"]
    (picture,) = tree.iterfind(".//img")
    assert "".join(picture.get("alt").split()) == said
    assert not {node.tag for node in tree.iter() if isinstance(node.tag, str)} & {"script", "a", "iframe"}


@settings(max_examples=200)
@given(TYPED)
@example("| a |\n|---|\n| b |")
@example("a\n\n# b\n- c")
def test_markdown_read_by_another_parser_has_every_piece_once_and_nothing_else(text):
    tree, said = tree_of(MARKDOWN.render(post_of(text).markdown())), in_one_line(text)
    assert texts(tree, "h2") == [said]
    assert texts(tree, "h3") == [said]
    assert len(list(tree.iterfind(".//table"))) == 1
    assert texts(tree, "th") == ["check", said]
    assert texts(tree, "td") == [said, "b", "c", said]
    assert texts(tree, "li") == [said] * 4
    assert texts(tree, "strong") == ["MET", said]
    assert len(list(tree.iterfind(".//code"))) == 2
    assert not {node.tag for node in tree.iter() if isinstance(node.tag, str)} & {
        "script",
        "img",
        "del",
        "hr",
    }


def forum_words(text, words):
    return words(text).translate(str.maketrans("[]", "()"))


@settings(max_examples=200)
@given(TYPED)
@example("[/code][b]x")
@example("[*]")
def test_bbcode_read_by_another_parser_has_every_piece_once_and_nothing_else(text):
    tree, said = tree_of(FORUM.format(post_of(text).bbcode())), forum_words(text, whole_words)
    assert texts(tree, "strong") == [said, said, "MET", said]
    assert texts(tree, "li") == [forum_words(text, in_one_line)] * 4
    assert len(list(tree.iterfind(".//code"))) == 2
    assert len(list(tree.iterfind(".//ul"))) == 2
    assert texts(tree, "em") == [f"Source:{said}", said]
    assert not {node.tag for node in tree.iter() if isinstance(node.tag, str)} & {"a", "img", "script"}


@pytest.mark.parametrize("written", [Post.bbcode, Post.markdown, Post.text, Post.html])
@given(name=st.text(alphabet="abcdefgh", min_size=3, max_size=8))
@settings(max_examples=30)
def test_no_way_of_writing_tells_whose_computer_it_was(written, name):
    said = rf"see C:\Users\{name}\lathe\run.csv or /home/{name}/run.csv, ask {name}@{name}.org"
    text = written(post_of(said))
    assert "run.csv" in text
    assert f"Users\\{name}" not in text
    assert f"home/{name}" not in text
    assert f"{name}@{name}" not in text
