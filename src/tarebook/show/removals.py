"""What may come out, for a terminal and as JSON."""

from collections.abc import Iterable, Iterator
from typing import Any

from tarebook.car.reading import Car
from tarebook.route.removals import Removal
from tarebook.rules.reading import RuleSet
from tarebook.show.text import margin, mass, wrapped

_HEADS = {
    "may": "May come out now",
    "may-with-duty": "May come out with a duty",
    "undecided": "Not decided yet",
    "put-back": "Already out, but forbidden: put back",
    "must-stay": "Must stay",
}


def removal_lines(rows: list[Removal], rules: RuleSet, class_id: str, build: str, car: Car) -> Iterator[str]:
    """The listing, group by group; a caution that several parts share is printed once, at the end."""
    unit = car.units.get("mass") or "kg"
    full = rules.class_in_full(class_id)
    yield wrapped(f"{car.name}, build {build}, in {class_id}: {full.title} ({rules.file.book.title}, {rules.edition})")
    cautions: dict[str, int] = {}
    for group, head in _HEADS.items():
        chosen = [row for row in rows if row.group == group]
        if not chosen:
            continue
        yield ""
        total = sum(row.mass_kg or 0.0 for row in chosen)
        yield f"{head} ({len(chosen)}, {mass(total, unit)} weighed)"
        for row in chosen:
            yield from _row(row, rules, unit, cautions, car)
    if cautions:
        yield ""
        yield "Cautions"
        for caution, number in cautions.items():
            yield wrapped(caution, f"  ({number}) ")
    yield ""
    yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")


def _row(row: Removal, rules: RuleSet, unit: str, cautions: dict[str, int], car: Car) -> Iterator[str]:
    weighed = "not weighed" if row.mass_kg is None else mass(row.mass_kg, unit, 2)
    marks = "".join(f" ({cautions.setdefault(each, len(cautions) + 1)})" for each in row.cautions)
    left = (
        "" if row.margin_left_kg is None or row.group == "put-back" else f", leaves {margin(row.margin_left_kg, unit)}"
    )
    kept = ""
    if row.group == "put-back":
        kept = " It is gone." if row.gone else f" It is kept: {row.kept}." if row.kept else ""
    zone = _zone(row.part, car)
    yield wrapped(f"{row.title} [{row.part}], {weighed}{left}{zone}{marks}.{kept}", "  ", "      ")
    if row.group == "may" and row.reasons:
        yield wrapped(f"clause {', '.join(row.clauses)}", "      ")
        return
    for reason in row.reasons:
        file, line = rules.source.where(reason.path)
        yield wrapped(f"clause {reason.clause}: {reason.sentence} [{file}:{line}]", "      ", "        ")
    if row.facts_to_find:
        yield wrapped(f"find out: {', '.join(row.facts_to_find)}", "      ")


def _zone(part_id: str, car: Car) -> str:
    at = car.inventory.parts[part_id].at
    if at is None:
        return ""
    for zone in car.file.zone:
        if zone.from_.value <= at.value < zone.to.value:
            return f", {zone.title or zone.id}"
    return ""


def removals_document(rows: Iterable[Removal], rules: RuleSet, class_id: str, build: str, on: str) -> dict[str, Any]:
    return {
        "format": "tarebook-removals/1",
        "book": rules.id,
        "edition": rules.edition,
        "class": class_id,
        "build": build,
        "on": on,
        "rows": [
            {
                "part": row.part,
                "title": row.title,
                "kind": row.kind,
                "group": row.group,
                "mass_kg": row.mass_kg,
                "mass_u_kg": row.mass_u_kg,
                "margin_left_kg": row.margin_left_kg,
                "clauses": list(row.clauses),
                "reasons": [
                    {
                        "clause": reason.clause,
                        "sentence": reason.sentence,
                        "source": dict(zip(("file", "line"), rules.source.where(reason.path), strict=True)),
                    }
                    for reason in row.reasons
                ],
                "duties": row.duties,
                "facts_to_find": list(row.facts_to_find),
                "cautions": list(row.cautions),
                "kept": row.kept,
                "gone": row.gone,
            }
            for row in rows
        ],
    }
