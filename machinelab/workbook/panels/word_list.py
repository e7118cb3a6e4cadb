"""Looking up a word or a sign: a box to type in, and below it what it means and where it occurs."""

import html

from ipywidgets import HTML, Layout

from machinelab.workbook.glossary import Term, looked_up
from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.look import notice
from machinelab.workbook.panels.words_box import words_box
from machinelab.worked.lettering import HTML as HTML_LETTERING

HEADINGS = ("word", "sign", "unit", "what it means", "pages")
CELL = 'style="padding:2px 12px 2px 0;line-height:1.4;text-align:left;vertical-align:top"'
NOT_FOUND = "No such word here. Try a part of it, or a sign such as τ."


class WordList(Framed):
    """Every word of the trade at first; while a person types, the words and signs that they may mean."""

    def __init__(self):
        self.box = words_box("Look for a word or a sign", example="for instance backlash")
        # A search answers while it is typed; there is nothing to be judged half-written.
        self.box.continuous_update = True
        self.notice = HTML(notice(""))
        self.table = HTML(layout=Layout(max_height="420px", overflow="auto"))
        self.box.observe(self._typed, "value")
        self.look_up("")
        self.frame(self.box, self.notice, self.table)

    def look_up(self, asked: str) -> None:
        """Show what somebody who asks for this may mean."""
        found = looked_up(asked)
        self.notice.value = notice("" if found else NOT_FOUND)
        self.table.value = word_table(found)

    def _typed(self, change) -> None:
        self.look_up(change["new"])


def word_table(terms: tuple[Term, ...]) -> str:
    """The terms as a table; a page's number tells its name when it is pointed at."""
    head = "".join(f'<th scope="col" {CELL}>{heading}</th>' for heading in HEADINGS)
    rows = "".join(
        f"<tr>{''.join(f'<td {CELL}>{cell}</td>' for cell in _cells(term))}</tr>" for term in terms
    )
    return f'<table class="machinelab-words"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'


def _cells(term: Term) -> tuple[str, ...]:
    pages = ", ".join(
        f'<abbr title="{html.escape(page.title, quote=True)}">{page.number}</abbr>' for page in term.pages
    )
    sign = HTML_LETTERING.letter(term.symbol) if term.symbol else ""
    return f"<b>{html.escape(term.word)}</b>", sign, html.escape(term.unit), html.escape(term.meaning), pages
