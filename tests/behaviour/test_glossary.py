"""The words used here: every term explained once, found by its word, sign or meaning, with its pages."""

import pytest

from machinelab.tables import nomenclature, read
from machinelab.workbook.glossary import looked_up, page_text, terms
from machinelab.workbook.panels.word_list import NOT_FOUND, WordList
from machinelab.workbook.steps import step, steps

WORDS = read("trade_words")


def term(word):
    (found,) = [one for one in terms() if one.word == word]
    return found


def numbers(one):
    return [page.number for page in one.pages]


def test_every_word_is_explained_once_in_sentences_of_its_own():
    assert len({row["word"].lower() for row in WORDS}) == len(WORDS)
    for row in WORDS:
        assert row["meaning"].endswith("."), row["word"]
        assert row["meaning"][0].isupper(), row["word"]
        assert len(row["meaning"].split()) <= 45, row["word"]


def test_every_word_stands_on_a_page_and_every_quantity_behind_one_is_known():
    unused = {row["word"] for row in WORDS} - {one.word for one in terms()}
    assert unused == set(), "no page uses these words any more: take them out of trade_words.csv"
    assert {row["quantity"] for row in WORDS} <= {"", *nomenclature()}


def test_a_word_is_listed_with_the_pages_that_use_it():
    assert "04" in numbers(term("index pulse"))
    assert "07" not in numbers(term("index pulse"))
    assert "14" in numbers(term("overhang"))
    for page in term("half nut").pages:
        assert "half nut" in page_text(page).lower()


def test_a_sign_of_a_formula_is_listed_with_the_pages_that_work_it_out():
    (found,) = [one for one in looked_up("N_s") if one.symbol == "N_s" and "leadscrew" in one.meaning]
    assert "07" in numbers(found)
    assert "N_s = " in page_text(step("07"))
    assert "N_s = " not in page_text(step("05"))


def test_a_verdict_is_a_word_only_in_capitals():
    assert {one for one in steps() if "MET" in page_text(one)} >= set(term("MET").pages) != set()


@pytest.mark.parametrize(
    ("asked", "first"), [("back", "back EMF"), ("Backlash", "backlash"), ("skipping rope", "critical speed")]
)
def test_a_word_is_found_by_its_beginning_and_by_what_it_means(asked, first):
    assert looked_up(asked)[0].word == first


def test_a_sign_finds_what_it_stands_for_before_what_only_mentions_it():
    assert looked_up("τ")[0].symbol == "τ"


def test_what_is_typed_is_looked_up_and_what_is_not_there_is_told():
    words = WordList()
    assert words.table.value.count("<tr>") == len(WORDS) + 1
    words.box.value = "backlash"
    assert "<b>backlash</b>" in words.table.value
    assert "<b>ramp</b>" not in words.table.value
    words.box.value = "<b>flux</b>"
    assert NOT_FOUND in words.notice.value
    assert "flux" not in words.table.value
    words.box.value = ""
    assert NOT_FOUND not in words.notice.value
    assert words.table.value.count("<tr>") == len(WORDS) + 1
