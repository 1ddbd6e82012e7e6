"""What an import would add to the car file, in plain text, before it is written."""

from collections.abc import Iterator

from tarebook.car.spreadsheet.exporting import leaves
from tarebook.car.spreadsheet.importing import NewEntry, Plan
from tarebook.car.spreadsheet.recognising import Table
from tarebook.car.spreadsheet.sameness import shown
from tarebook.show.text import wrapped

_SEPARATORS = {",": "a comma", ";": "a semicolon"}
_MOST_NAMED = 12  # entries that are there already
_IN_FRONT = {"part": ("id", "kind"), "job": ("id", "state")}


def preview_lines(plan: Plan) -> list[str]:
    """How each file was read, what is new, and what is there already."""
    car = plan.edited.before.name
    lines: list[str] = []
    for table in plan.tables:
        new = [each for each in plan.new if each.table is table]
        there = [each for each in plan.there if each.table is table]
        lines += [*recognised_lines(table), ""]
        if new:
            lines.append(wrapped(f"New in {car}: {counted(table, new)}."))
            lines += [line for each in new for line in _entry(each)]
        if there:
            named = ", ".join(each.id for each in there[:_MOST_NAMED]) + ", ..." * (len(there) > _MOST_NAMED)
            lines.append(wrapped(f"In {car} already, and left alone: {counted(table, there)} ({named}).", "", "  "))
        if not (new or there):
            lines.append("There is nothing below the header.")
        lines.append("")
    lines += _doubts(plan)
    return lines[:-1] if not lines[-1] else lines


def recognised_lines(table: Table) -> list[str]:
    """What was recognised: the separator, the decimal mark, the columns, and those that are left out."""
    rows = f"{len(table.rows)} row{'s' * (len(table.rows) != 1)}"
    mark = "commas" if table.decimal_comma else "points"
    between = _SEPARATORS[table.separator]
    columns = "; ".join(_column(table, place) for place in sorted(table.columns))
    lines = [
        wrapped(f"{table.text.name}: {rows} below the header, {between} between cells, decimal {mark}."),
        wrapped(f"Columns: {columns}.", "", "  "),
    ]
    if table.left:
        left = ", ".join(f'"{each}"' for each in table.left)
        lines.append(wrapped(f"Left out, as it is not known what they mean: {left}.", "", "  "))
    return lines


def counted(table: Table, entries: list[NewEntry]) -> str:
    """How many parts or jobs."""
    return f"{len(entries)} {table.which}{'s' * (len(entries) != 1)}"


def _column(table: Table, place: int) -> str:
    column, header = table.columns[place], table.headers[place]
    unit = f", in {column.unit}" if column.unit else ""
    return header if header == column.header else f'"{header}" as {column.key}{unit}'


def _entry(entry: NewEntry) -> Iterator[str]:
    which = entry.table.which
    second = str(entry.data.get(_IN_FRONT[which][1], ""))
    if entry.guessed_from:
        second += f' (guessed from "{entry.guessed_from}")'
    elif entry.open_kind:
        second += " (not in the tree of kinds: a rule set must declare it)"
    yield wrapped(f"{entry.id}: {second}", f"  row {entry.row:<4} ", " " * 11)
    stated = [(".".join(path), value) for path, value in leaves(entry.data, which) if path[0] not in _IN_FRONT[which]]
    units = {column.key: column.unit for column in entry.table.columns.values()}
    if stated:
        yield wrapped("; ".join(f"{key} {shown(value, units.get(key))}" for key, value in stated), " " * 11)


def _doubts(plan: Plan) -> list[str]:
    doubts = plan.doubts()
    lines = [wrapped(f"{each.id}: {question}", f"  row {each.row:<4} ", " " * 11) for each, question in doubts]
    return ["Please look at these masses again:", *lines, ""] if lines else []
