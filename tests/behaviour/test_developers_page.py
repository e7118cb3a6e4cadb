"""What DEVELOPERS.md says of the house is so."""

from nomenclature_page import BEGIN, END, PAGE, page_with_table


def test_the_nomenclature_table_is_that_of_the_library():
    text = PAGE.read_text(encoding="utf-8")
    assert text.count(BEGIN) == text.count(END) == 1
    assert page_with_table(text) == text, "run: python3 -m machinelab remake"
