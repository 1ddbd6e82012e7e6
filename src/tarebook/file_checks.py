"""What both file formats check alike: their units, the kinds of their own, and circles among their names."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from typing import TypeVar

from tarebook.fields import DEFAULT_UNITS, Units
from tarebook.kinds import Kind, KindTree
from tarebook.quantities import QuantityError, canonical_unit
from tarebook.tables import fields_of
from tarebook.toml_source import Mistake, Source

N = TypeVar("N", bound=Hashable)
_MOST_NAMED = 8  # of the names on a circle


def check_units(source: Source) -> tuple[dict[str, str | None], list[Mistake]]:
    """The units that a file's bare numbers are in, and what is wrong with its `[units]`.

    What is of the wrong type there is left for the reading of the file to refuse.
    """
    table = source.data.get("units", {})
    units: dict[str, str | None] = dict(DEFAULT_UNITS)
    known = {field.key for field in fields_of(Units)}
    mistakes = []
    for dimension, unit in table.items() if isinstance(table, dict) else ():
        if dimension not in known or not isinstance(unit, str):
            continue
        try:
            units[dimension] = canonical_unit(unit, dimension)
        except QuantityError as error:
            mistakes.append(source.mistake(("units", dimension), str(error)))
    return units, mistakes


def extend_tree(tree: KindTree, own: list[Kind], source: Source, mistakes: list[Mistake]) -> KindTree:
    """The tree with a file's own kinds; what is wrong with one of them is noted at its place."""
    if not own:
        return tree
    try:
        return tree.extended(own)
    except ValueError:
        for index, kind in sorted(enumerate(own), key=lambda each: each[1].path.count(".")):  # branches first
            try:
                tree = tree.extended([kind])
            except ValueError as error:
                mistakes.append(source.mistake(("kind", index, "id"), str(error)))
        return tree


def circles(names: Iterable[N], above: Callable[[N], Iterable[N]]) -> Iterator[list[N]]:
    """Circles among the names, none with a name of another; each in the order of `above`.

    Walks every way once, so that its time grows with the names and their links alone.
    """
    told: set[N] = set()
    done: set[N] = set()
    for start in names:
        if start in done:
            continue
        way, depth, waiting = [start], {start: 0}, [iter(above(start))]
        while way:
            name = next(waiting[-1], None)
            if name is None:
                waiting.pop()
                last = way.pop()
                del depth[last]
                done.add(last)
            elif name in depth and name not in told:
                circle = way[depth[name] :]
                if told.isdisjoint(circle):
                    yield circle
                told.update(circle)
            elif name not in depth and name not in done:
                depth[name] = len(way)
                way.append(name)
                waiting.append(iter(above(name)))


def way_round(names: Sequence[str], verb: str) -> str:
    """A circle in words; of a large one, how it begins."""
    shown = [*names[:_MOST_NAMED], "..."] if len(names) > _MOST_NAMED else names
    return f" {verb} ".join([*shown, names[0]])
