import pytest

from machinelab import tables
from machinelab.errors import RangeError

DATA_TABLES = [name for name in tables.names() if name != "nomenclature"]


@pytest.mark.parametrize("name", DATA_TABLES)
def test_every_row_of_a_data_table_says_where_it_comes_from(name):
    rows = tables.read(name)
    assert rows, "a table without rows says nothing"
    assert [number for number, row in enumerate(rows, start=2) if not (row.get("source") or "").strip()] == []


@pytest.mark.parametrize("name", tables.names())
def test_every_row_of_a_table_has_as_many_cells_as_the_heading(name):
    for row in tables.read(name):
        assert None not in row
        assert None not in row.values()


def test_an_unknown_table_is_refused_with_the_names_of_those_there_are():
    with pytest.raises(RangeError, match="leadscrews"):
        tables.read("leadscrew")


def test_a_lathe_leadscrew_is_133_ppm_and_the_best_ballscrew_40():
    errors = {
        row["screw"]: 1000 * float(row["travel_error_um"]) / float(row["over_mm"])
        for row in tables.read("leadscrews")
    }
    assert round(errors["general lathe leadscrew"]) == 133
    assert round(errors["ballscrew grade 3"]) == 40
