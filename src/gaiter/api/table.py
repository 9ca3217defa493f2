"""Columns as a table."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any


def as_table(rows: Iterable[Mapping[str, Any]]) -> Any:
    """Rows turned into columns: a pandas ``DataFrame`` if pandas is installed, else a dict.

    Both are indexed by the column's name, iterate over the names and have ``keys``.

    Parameters
    ----------
    rows : iterable of mapping
        All with the same keys.

    Returns
    -------
    pandas.DataFrame or dict of str to list
    """
    columns: dict[str, list[Any]] = {}
    for row in rows:
        for name, value in row.items():
            columns.setdefault(name, []).append(value)
    return _framed(columns)


def _framed(columns: Mapping[str, Sequence[Any]]) -> Any:
    try:
        from pandas import DataFrame  # noqa: PLC0415 - only who has it waits for it
    except ImportError:
        return columns
    return DataFrame(columns)
