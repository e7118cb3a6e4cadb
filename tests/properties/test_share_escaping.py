"""Whatever a person types into a post is read as those words and does nothing else, wherever it is pasted."""

import re
from html.parser import HTMLParser

import mistune
from hypothesis import example, given, settings
from hypothesis import strategies as st

from machinelab.workbook.share import Calculation, Notes, Paragraph, Post, Table
from machinelab.workbook.share.private import without_private

TRICKS = st.sampled_from(
    [
        *(
            "[/code]",
            "[url=x]",
            "[*]",
            "</pre><script>",
            "&lt;",
            "&amp;",
            "`",
            "``",
            "| a |",
            "1.",
            "- ",
            "# ",
        ),
        *(
            "> ",
            "***",
            "<!--",
            "![x](y)",
            "[x](javascript:y)",
            "\\",
            "$x$",
            "~~x~~",
            "_x_",
            "    x",
            "---",
            "===",
        ),
        *("&#91;", "http://x.org", "https://x.org/a_b?c=d&e", "www.x.org"),
    ]
)
TYPED = st.lists(TRICKS | st.text(max_size=12), max_size=6).map("".join)
ELEMENTS = {
    "h1",
    "h2",
    "h3",
    "p",
    "code",
    "strong",
    "em",
    "ul",
    "li",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "br",
    "div",
}
TAG = re.compile(r"\[(?:/?(?:b|i|code|list)|\*)\]")


def post_of(text):
    block = Calculation(text, (text,), (text,), text, text, f"MET: {text}", text, (text,))
    table = Table(("a", text), ((text, "b"),), text)
    return Post(text, (Paragraph(text), block, table, Notes((text, text), text)))


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.elements, self.attributes, self.pieces = [], [], []
        self.comments = 0

    def handle_starttag(self, tag, attrs):
        self.elements.append(tag)
        self.attributes += [name for name, _ in attrs]

    def handle_data(self, data):
        self.pieces.append(data)

    def handle_comment(self, data):
        self.comments += 1

    @property
    def words(self):
        return "".join("".join(self.pieces).split())


def read(text):
    page = Page()
    page.feed(text)
    page.close()
    return page


def words_of(text):
    return "".join(without_private(text).split())


@settings(max_examples=300, deadline=None)
@given(TYPED)
@example("[code][/b]")
def test_a_forum_sees_no_mark_but_our_own(text):
    bbcode = post_of(text).bbcode()
    assert set("[]") & set(TAG.sub("", bbcode)) == set()
    open_marks = []
    for mark in TAG.findall(bbcode):
        if mark.startswith("[/"):
            assert open_marks.pop() == mark.replace("/", "")
        elif mark != "[*]":
            open_marks.append(mark)
    assert open_marks == []


@settings(max_examples=300, deadline=None)
@given(TYPED)
@example("</style><script>alert(1)</script>")
def test_a_page_shows_the_words_and_no_element_of_theirs(text):
    page = read(post_of(text).html())
    allowed = ELEMENTS | {"html", "head", "body", "meta", "title", "style", "pre"}
    assert set(page.elements) <= allowed
    assert set(page.attributes) <= {
        *("lang", "charset", "name", "content", "class", "style", "role", "tabindex", "aria-label"),
    }
    assert page.comments == 0
    assert words_of(text) in page.words


@settings(max_examples=300, deadline=None)
@given(TYPED)
@example("a\n===\nb")
def test_markdown_shows_the_words_and_no_mark_of_theirs(text):
    render = mistune.create_markdown(escape=False, plugins=["table", "strikethrough", "url"])
    blocks = (Paragraph(text), Notes((text,), "n"), Table(("a", "b"), ((text, "c"),)))
    page = read(render(Post("t", blocks).markdown()))
    in_one_line = words_of(" ".join(text.split()))
    assert set(page.elements) <= ELEMENTS | {"a"}
    assert page.comments == 0
    assert page.elements.count("table") == 1
    assert page.elements.count("li") == (1 if in_one_line else 0)
    assert page.words.count(in_one_line) >= 2
    assert all(words_of(line) in page.words for line in text.splitlines())
