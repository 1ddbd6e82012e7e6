"""Values in place of those that have mistakes, so that the rest of an entry can be looked at."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tarebook.car.spreadsheet.columns import Path, Which, column_at

ID = "in-row-"  # what the names begin with that stand in for others
_UNITS = {"mass": "kg", "length": "mm"}
_NEEDED = {"kind": "interior", "state": "maybe"}


def stand_in(data: dict[str, Any], which: Which, wrong: Iterable[Path], row: int) -> None:
    """Give what is wrong in an entry a value that nothing is wrong with, or leave it out where it need not be there."""
    for key in {path[0] for path in wrong if path}:
        if key == "id":
            data[key] = f"{ID}{row}"
        elif key in _NEEDED:
            data[key] = _NEEDED[key]
        elif key == "estimate":
            data[key] = {"mass": "0 kg", "within": "0 kg"}
        elif key == "count":
            data[key] = 2
        elif (column := column_at(which, (key,))) is not None and column.dimension in _UNITS:
            data[key] = f"0 {_UNITS[column.dimension]}"
        else:
            data.pop(key, None)
