"""Rows as columns, with pandas and without."""

import sys

import pytest
from pandas import DataFrame

from gaiter.api.table import as_table

ROWS = [{"site": "gaiter", "mmhg": 40.0}, {"site": "calf", "mmhg": None}]


def test_with_pandas_columns_and_rows_keep_their_order() -> None:
    table = as_table(ROWS)
    assert isinstance(table, DataFrame)
    assert list(table) == ["site", "mmhg"]
    assert list(table["site"]) == ["gaiter", "calf"]
    assert table["mmhg"][0] == 40.0
    assert table["mmhg"].isna().tolist() == [False, True]


@pytest.mark.parametrize(
    ("rows", "columns"),
    [(ROWS, {"site": ["gaiter", "calf"], "mmhg": [40.0, None]}), ([], {})],
)
def test_without_pandas_it_is_a_dict_of_the_same_columns(monkeypatch, rows, columns) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    table = as_table(iter(rows))
    assert type(table) is dict
    assert table == columns
    assert list(table) == list(columns)
