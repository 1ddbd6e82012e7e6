"""How values stand in cells. What is written here is read back exactly as it was."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import Any

from tarebook.car.spreadsheet.columns import Column, known_unit
from tarebook.car.spreadsheet.refusals import CellError, SpreadsheetRefused
from tarebook.quantities import QuantityError, canonical_unit

# A program that shows tables would take such a cell for a formula: it gets an apostrophe in front.
_FORMULA = re.compile(r"'*[=+\-@\t\r\0]")
_GUARDED = re.compile(r"'+[=+\-@\t\r\0]")
_NUMBER = re.compile(r"[+\-−]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_NUMBERISH = re.compile(r"[+\-−]?[.,]*[0-9][0-9.,]*(?:[eE][+-]?[0-9]+)?")
_PLAIN_QUANTITY = re.compile(r"([+\-−]?)([0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_WITH_UNIT = re.compile(r"([+\-−]?[0-9.,]+\s*)([^\s0-9.,].*)", re.DOTALL)
_ESCAPED = re.compile(r"\\([\s/\\])|(.)", re.DOTALL)
_YES_NO = {"true": True, "yes": True, "false": False, "no": False}
_MOST_DIGITS = 200  # of a number: beyond any that a file may hold
_BARE_BELOW = 2**53
EMPTY_TABLE = "{}"


def guarded(cell: str) -> str:
    """A text cell that nothing takes for a formula."""
    return f"'{cell}" if _FORMULA.match(cell) else cell


def unguarded(cell: str) -> str:
    """The cell without the apostrophe of `guarded`."""
    return cell[1:] if _GUARDED.match(cell) else cell


# --- Lists: "a / b", with a backslash before what would else be taken for a separator or for mere blanks


def _piece(text: str) -> str:
    text = _in_quotes(text)
    last = len(text) - 1

    def edge(place: int) -> bool:
        return not 0 <= place <= last or text[place].isspace()

    def escaped(place: int, character: str) -> bool:
        if character == "/":
            return edge(place - 1) and edge(place + 1)
        return character == "\\" or (character.isspace() and place in (0, last))

    return "".join(f"\\{each}" if escaped(place, each) else each for place, each in enumerate(text))


def _joined(texts: list[str], *, marked: bool = False) -> str:
    """Pieces in one cell; where a single one must be known for a list, a separator follows it."""
    if not texts:
        return "/"
    return " / ".join(map(_piece, texts)) + (" /" if marked and len(texts) == 1 else "")


def pieces(cell: str) -> tuple[list[str], bool]:
    """The pieces of a cell, and whether a separator stands in it."""
    found: list[tuple[str, bool]] = [(each[1] or each[2], bool(each[1])) for each in _ESCAPED.finditer(cell)]

    def blank(place: int) -> bool:
        return not 0 <= place < len(found) or (found[place][0].isspace() and not found[place][1])

    cuts = [
        place
        for place, (character, escaped) in enumerate(found)
        if character == "/" and not escaped and blank(place - 1) and blank(place + 1)
    ]
    texts = []
    for start, end in zip([-1, *cuts], [*cuts, len(found)], strict=True):
        first, last = start + 1, end
        while first < last and blank(first):
            first += 1
        while first < last and blank(last - 1):
            last -= 1
        if first < last:
            texts.append(_out_of_quotes("".join(character for character, _ in found[first:last])))
    return texts, bool(cuts)


def _in_quotes(text: str) -> str:
    """An empty text, which a cell could not tell from none, as two quotes; so quotes alone get two more."""
    return text + '""' if not text.strip('"') else text


def _out_of_quotes(text: str) -> str:
    return text[2:] if len(text) > 1 and not text.strip('"') else text


# --- Values to cells


def cell_of(value: Any, column: Column, *, decimal_comma: bool) -> str:
    """A value of a sound car file as a cell. Raises SpreadsheetRefused for what no cell can say."""
    if value == {}:
        return EMPTY_TABLE
    if _is_number(value) and column.form not in ("list", "finishes"):
        return _number_text(value, decimal_comma)
    return guarded(_text_of(value, column, decimal_comma))


def _text_of(value: Any, column: Column, decimal_comma: bool) -> str:
    match column.form:
        case "readings" | "quantity":
            listed = value if isinstance(value, list) else [value]
            return _joined([_amount(each, decimal_comma) for each in listed], marked=isinstance(value, list))
        case "years":
            return _joined([str(each) for each in value])
        case "list":
            return _joined(value)
        case "finishes":
            return _joined([f"{each['area']}: {each['by']}" for each in value])
        case "yes-no":
            return str(value).lower()
        case "date":
            return str(value.isoformat())
        case "fact":
            return _fact(value, column, decimal_comma)
    return _in_quotes(value)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, Decimal)) and not isinstance(value, bool)


def _number_text(value: int | Decimal, decimal_comma: bool) -> str:
    written = str(value)
    if isinstance(value, Decimal) and int(value.as_tuple().exponent) <= 0:
        written = format(value, "f")
    return written.replace(".", ",") if decimal_comma else written


def _amount(value: Any, decimal_comma: bool) -> str:
    if _is_number(value):
        return _number_text(value, decimal_comma)
    text = str(value)
    return text.replace(".", ",") if decimal_comma else text


def _fact(value: Any, column: Column, decimal_comma: bool) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if type(value) is datetime.date:
        return value.isoformat()
    if not isinstance(value, str):
        raise SpreadsheetRefused(f"{column.key} is given a value that no fact can have: put that right first.")
    if column.dimension is not None:
        return _joined([_amount(value, decimal_comma)])
    looks_otherwise = value.casefold() in _YES_NO or _DATE.fullmatch(value) or _NUMBERISH.fullmatch(value)
    blank = value != value.strip() or not value or value == EMPTY_TABLE
    return f'"{value}"' if looks_otherwise or blank or _quoted(value) else value


def _quoted(text: str) -> bool:
    return len(text) > 1 and text[0] == text[-1] == '"'


# --- Cells to values


def value_of(cell: str, column: Column, file_unit: str | None) -> Any:
    """The value that a cell says, as a car file has it; numbers must have their decimal point by now.

    `file_unit` is the unit of bare numbers in the car file. Raises CellError.
    """
    if cell.strip() == EMPTY_TABLE and (column.form in ("table", "fact") or column.path[0] == "lightens"):
        return {}
    match column.form:
        case "name":
            return cell.strip()
        case "word":
            return cell.strip().casefold()
        case "readings":
            return _read_readings(cell, column, file_unit)
        case "quantity":
            return _one_amount(cell, column, file_unit)
        case "count":
            return _whole(cell)
        case "years":
            return [_whole(each) for each in pieces(cell)[0]]
        case "yes-no":
            return _yes_or_no(cell)
        case "date":
            return _read_date(cell)
        case "number":
            return _read_number(cell)
        case "list":
            return pieces(cell)[0]
        case "finishes":
            return [_finish(each) for each in pieces(cell)[0]]
        case "fact":
            return _read_fact(cell, column, file_unit)
        case "table":
            known = f"{column.key}.PART.at" if column.key == "moves" else f"{column.key}.NAME"
            raise CellError(f'nothing can be said under "{column.key}" alone', f"name the column {known}")
    return _out_of_quotes(cell)


def _read_readings(cell: str, column: Column, file_unit: str | None) -> Any:
    texts, listed = pieces(cell)
    read = [_read_amount(each, column, file_unit) for each in texts]
    return read if listed else read[0]


def _one_amount(cell: str, column: Column, file_unit: str | None) -> Any:
    texts, listed = pieces(cell)
    if listed or not texts:
        raise CellError("one value is expected here, without a separate /")
    return _read_amount(texts[0], column, file_unit)


def _read_amount(text: str, column: Column, file_unit: str | None) -> Any:
    dimension = column.dimension or ""
    plain = _PLAIN_QUANTITY.fullmatch(text.strip())
    if plain is None:
        return _with_known_unit(text, dimension)
    number = f"{'-' if plain[1] in ('-', '−') else ''}{plain[2]}"
    if column.unit is None:
        unit = file_unit or "EUR"
        raise CellError(
            "a number without a unit could mean anything",
            f'write "{text.strip()} {unit}", for example, or name the unit in the header: {column.key} [{unit}]',
        )
    if file_unit == column.unit and len(plain[2]) <= _MOST_DIGITS:
        value: int | Decimal = Decimal(number) if "." in number else int(number)
        if -_BARE_BELOW < value < _BARE_BELOW:
            return value
    return f"{number} {column.unit}"


def _with_known_unit(text: str, dimension: str) -> str:
    """The text, with the unit's own name in place of a word that people use for it."""
    found = _WITH_UNIT.fullmatch(text)
    if found is None:
        return text
    try:
        canonical_unit(found[2].strip(), dimension)
    except QuantityError:
        try:
            return f"{found[1].strip()} {known_unit(found[2], dimension)}"
        except QuantityError:
            return text
    return text


def _whole(cell: str) -> int:
    text = cell.strip()
    if not re.fullmatch(r"[+-]?[0-9]{1,9}", text):
        raise CellError("a whole number is expected here, such as 4")
    return int(text)


def _yes_or_no(cell: str) -> bool:
    try:
        return _YES_NO[cell.strip().casefold()]
    except KeyError:
        raise CellError("yes or no is expected here, or true or false") from None


def _read_date(cell: str) -> datetime.date:
    text = cell.strip()
    try:
        if _DATE.fullmatch(text):
            return datetime.date.fromisoformat(text)
    except ValueError:
        pass
    raise CellError("a date such as 2026-04-05 is expected here: year, month, day")


def _read_number(cell: str) -> int | Decimal:
    text = cell.strip().replace("−", "-")
    if len(text) <= _MOST_DIGITS and _NUMBER.fullmatch(text):
        try:
            return Decimal(text) if re.search(r"[.eE]", text) else int(text)
        except InvalidOperation:
            pass  # an exponent beyond all bounds
    raise CellError("a plain number is expected here, such as 1.5")


def _finish(text: str) -> dict[str, str]:
    area, colon, by = text.rpartition(":")
    if not colon:
        raise CellError('an area and how it is finished are expected here, such as "interior.floor: painted"')
    return {"area": area.strip(), "by": by.strip()}


def _read_fact(cell: str, column: Column, file_unit: str | None) -> Any:
    text = cell.strip()
    if column.dimension is not None:
        return _one_amount(cell, column, file_unit)
    match column.fact_type:
        case "yes-no":
            return _yes_or_no(cell)
        case "date":
            return _read_date(cell)
        case "number" | "count":
            return _read_number(cell)
        case None if text.casefold() in _YES_NO:
            return _yes_or_no(cell)
        case None if _DATE.fullmatch(text):
            return _read_date(cell)
        case None if _NUMBERISH.fullmatch(text):
            return _read_number(cell)
    return text[1:-1] if _quoted(text) else text


def numbers_in(cell: str, column: Column) -> Iterable[str]:
    """The parts of a cell that are numbers with a decimal point or comma, as written."""
    if column.form in ("readings", "quantity") or column.dimension is not None:
        found = [re.match(r"\s*[+\-−]?\s*([0-9.,]+)", each) for each in pieces(cell)[0]]
        yield from (each[1] for each in found if each)
    elif _may_be_number(column) and _NUMBERISH.fullmatch(cell.strip()):
        yield re.sub(r"[eE].*|[^0-9.,]", "", cell.strip())


def _may_be_number(column: Column) -> bool:
    return column.form == "number" or (column.form == "fact" and column.fact_type in (None, "number", "count"))


def with_points(cell: str, column: Column) -> str:
    """The cell with decimal points in place of the decimal commas of its numbers."""
    if column.form in ("readings", "quantity") or column.dimension is not None:
        return re.sub(r"((?:\A|\s/|\\)\s*[+\-−]?\s*[0-9]*),([0-9]+)", r"\1.\2", cell)
    return re.sub(r"([0-9]),([0-9])", r"\1.\2", cell) if list(numbers_in(cell, column)) else cell
