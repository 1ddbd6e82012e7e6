"""What may come out in every class: one row for each part, one column for each class."""

from collections.abc import Iterator

from tarebook.car.reading import Car
from tarebook.route.removals import Removal
from tarebook.show.editions import edition_text
from tarebook.show.removals import ClassRemovals, SortKey, sort_removals
from tarebook.show.text import mass, width, wrapped
from tarebook.toml_source import show_plain

_CELLS = {"may": "may", "may-with-duty": "duty", "undecided": "open", "put-back": "put back", "must-stay": "stays"}
_CELL_MEANINGS = (
    "may: may come out now; duty: may come out with a duty; open: not decided yet; put back: already out, but"
    " forbidden; stays: must stay; -: not on the car, which breaks no clause. Name one class to read the reasons."
)


def table_lines(found: list[ClassRemovals], build: str, car: Car, sort: SortKey | None = None) -> Iterator[str]:
    """One row for each part, one column for each class; the classes of each book below one another."""
    unit = car.units.get("mass") or "kg"
    first: dict[str, Removal] = {}
    for each in found:
        for row in each.rows:
            first.setdefault(row.part, row)
    in_order = [first[part] for part in car.inventory.parts if part in first]
    parts = sort_removals(in_order, sort)
    label = max((len(row.part) for row in parts), default=0) + 2
    yield wrapped(f"{car.name} ({car.source.name}), build {build}: what may come out, in every class")
    for rules in dict.fromkeys(each.rules for each in found):
        classes = [each for each in found if each.rules is rules]
        column = max((len(each.class_id) for each in classes), default=0)
        column = max(column, *map(len, _CELLS.values())) + 2
        per_block = max(1, (width() - label - _MASS_COLUMN) // column)
        for start in range(0, len(classes), per_block):
            block = classes[start : start + per_block]
            cells = [{row.part: _CELLS[row.group] for row in each.rows} for each in block]
            more = ", more classes" if start else ""
            yield ""
            yield wrapped(f"{edition_text(rules)} ({rules.source.name}){more}")
            heads = "".join(f"{show_plain(each.class_id):{column}}" for each in block)
            yield f"{'':{label + _MASS_COLUMN}}{heads}".rstrip()
            for row in parts:
                if not any(row.part in each for each in cells):
                    continue
                weighed = "" if row.mass_kg is None else mass(row.mass_kg, unit, 2)
                line = "".join(f"{each.get(row.part, '-'):{column}}" for each in cells)
                yield f"{show_plain(row.part):{label}}{weighed:>{_MASS_COLUMN - 2}}  {line}".rstrip()
    yield ""
    yield wrapped(_CELL_MEANINGS)
    yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")


_MASS_COLUMN = 12
