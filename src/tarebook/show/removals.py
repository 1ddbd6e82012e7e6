"""What may come out, for a terminal and as JSON."""

import math
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, Literal, NamedTuple

from tarebook.car.reading import Car
from tarebook.quantities import in_unit
from tarebook.route.letting_out import Unlisted
from tarebook.route.removals import Reason, Removal
from tarebook.route.taking_off import JobOff, currency_of
from tarebook.rules.reading import RuleSet
from tarebook.show.editions import edition_text
from tarebook.show.text import margin, mass, width, wrapped
from tarebook.toml_source import show_plain

SortKey = Literal["mass", "cost", "cost-per-mass", "name"]
SORT_KEYS: tuple[SortKey, ...] = ("mass", "cost", "cost-per-mass", "name")
HEADS = {
    "may": "May come out now",
    "may-with-duty": "May come out with a duty",
    "undecided": "Not decided yet",
    "put-back": "Already out, but forbidden: put back",
    "must-stay": "Must stay",
}
_UNKNOWN = math.inf  # sorts after all that is known


class ClassRemovals(NamedTuple):
    """The rows of one class of a book; `unlisted` are the kinds that it lets out and the ledger does not list."""

    rules: RuleSet
    class_id: str
    rows: list[Removal]
    unlisted: list[Unlisted]


def sort_removals(rows: Iterable[Removal], by: SortKey | None) -> list[Removal]:
    """By mass, the heaviest first; by cost or by cost per mass, the cheapest first, and last what is not known."""
    return list(rows) if by is None else sorted(rows, key=lambda row: _place(row, by))


def _place(row: Removal, by: SortKey) -> tuple[float, str]:
    if by == "name":
        return 0.0, row.title.casefold()
    known = {"mass": row.mass_kg, "cost": row.cost, "cost-per-mass": row.cost_per_kg}[by]
    return (_UNKNOWN if known is None else -known if by == "mass" else known), row.part


def removal_lines(found: ClassRemovals, build: str, car: Car, sort: SortKey | None = None) -> Iterator[str]:
    """The listing, group by group; a caution that several parts share is printed once, at the end."""
    full = found.rules.class_in_full(found.class_id)
    book = found.rules.file.book.title
    yield wrapped(f"{car.name}, build {build}, in {found.class_id}: {full.title} ({book}, {found.rules.edition})")
    yield from _Listing(found, car, sort).lines()
    yield ""
    yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")


class _Listing:
    def __init__(self, found: ClassRemovals, car: Car, sort: SortKey | None) -> None:
        self.found = found
        self.car = car
        self.sort = sort
        self.unit = car.units.get("mass") or "kg"
        self.money = currency_of(car.inventory)
        self.cautions: dict[str, int] = {}

    def lines(self) -> Iterator[str]:
        for group, head in HEADS.items():
            chosen = sort_removals([row for row in self.found.rows if row.group == group], self.sort)
            if chosen:
                total = sum(row.mass_kg or 0.0 for row in chosen)
                yield ""
                what = "comes back" if group == "put-back" else "weighed"
                yield f"{head} ({len(chosen)}, {mass(total, self.unit)} {what})"
                for row in chosen:
                    yield from self._row(row)
        yield from self._unlisted()
        if self.cautions:
            yield ""
            yield "Cautions"
            for caution, number in self.cautions.items():
                yield wrapped(caution, f"  ({number}) ")

    def _row(self, row: Removal) -> Iterator[str]:
        told = [f"{row.title} [{row.part}]", self._weighed(row), *self._axles(row)]
        if row.margin_left_kg is not None and row.group != "put-back":
            told.append(f"leaves {margin(row.margin_left_kg, self.unit)}")
        zone = _zone(row.part, self.car)
        told += [zone] if zone else []
        yield wrapped(f"{', '.join(told)}{self._marks(row)}.{self._kept(row)}", "  ", "      ")
        yield from self._reasons(row)
        for job in row.jobs:
            yield wrapped(self._job(job), "      ", "        ")

    def _weighed(self, row: Removal) -> str:
        if row.mass_kg is None or row.mass_u_kg is None:
            return "not weighed"
        return f"{mass(row.mass_kg, self.unit, 2)} (u {_uncertainty(row.mass_u_kg, self.unit)})"

    def _axles(self, row: Removal) -> list[str]:
        if row.front_kg is None or row.rear_kg is None:
            return []
        return [f"front {self._signed(row.front_kg)} and rear {self._signed(row.rear_kg)}"]

    def _signed(self, kilograms: float) -> str:
        text = mass(kilograms, self.unit, 2)
        return text if text.startswith("-") else f"+{text}"

    def _marks(self, row: Removal) -> str:
        return "".join(f" ({self.cautions.setdefault(each, len(self.cautions) + 1)})" for each in row.cautions)

    def _kept(self, row: Removal) -> str:
        if row.group != "put-back":
            return ""
        back = f" Job {' or '.join(row.put_back_by)} fits it." if row.put_back_by else ""
        if row.gone:
            return " It is gone: another is needed."
        return (f" It is kept: {row.kept}." if row.kept else "") + back

    def _reasons(self, row: Removal) -> Iterator[str]:
        if row.group == "may":
            what = f"clause {', '.join(row.clauses)}" if row.reasons else _NO_CHANGE
            yield wrapped(what, "      ")
            for reason in row.reasons:
                if reason.asks:
                    yield wrapped(reason.sentence, "      ", "        ")
            return
        for reason in row.reasons:
            yield wrapped(f"clause {reason.clause}: {reason.sentence} {self._where(reason)}", "      ", "        ")
        if row.facts_to_find:
            yield wrapped(f"find out: {', '.join(row.facts_to_find)}", "      ")

    def _where(self, reason: Reason) -> str:
        file, line = self.found.rules.source.where(reason.path)
        return f"[{file}:{line}]"

    def _job(self, job: JobOff) -> str:
        told = []
        if len(job.unpriced) <= len(job.first):
            told.append(f"{job.cost:.2f} {self.money}")
            if job.cost_per_kg is not None:
                per = Fraction(job.cost_per_kg) / in_unit(Fraction(1), self.unit, "mass")
                told.append(f"{float(per):.2f} {self.money}/{self.unit}")
        if job.unpriced:
            told.append(f"no cost stated for {', '.join(job.unpriced)}")
        if job.hours:
            told.append(f"{job.hours:g} h")
        text = f"job {job.id} ({job.state}): {', '.join(told)}"
        if job.first:
            text += f", with {', '.join(job.first)} first"
        if job.others:
            text += f"; also off with it: {', '.join(job.others)}"
        return text

    def _unlisted(self) -> Iterator[str]:
        named = [each for each in self.found.unlisted if not each.by_silence]
        silent = len(self.found.unlisted) - len(named)
        if not named and not silent:
            return
        yield ""
        yield wrapped("Also on the car, but not in the ledger, which has no part of these kinds")
        for each in named:
            row = each.removal
            yield wrapped(
                f"{row.title} [{row.kind}], {self._range(each)}{self._marks(row)}: {_UNLISTED[row.group]}",
                "  ",
                "      ",
            )
            yield from self._reasons(row)
        if silent:
            clause = self.found.rules.class_in_full(self.found.class_id).silence_clause
            more = "more kinds" if named else "kinds"
            yield wrapped(
                f"{silent} {more} that no clause speaks of, and that clause {clause} therefore lets out: --json lists"
                " them.",
                "  ",
                "      ",
            )

    def _range(self, each: Unlisted) -> str:
        if each.range_kg is None:
            return "no mass known"
        low, high = (mass(kilograms, self.unit) for kilograms in each.range_kg)
        return f"perhaps {low} to {high} (from memory)"


_NO_CHANGE = "no clause is asked, as it is an addition: without it the car is as it was at the outset"
_UNLISTED = {"may": "may come out", "may-with-duty": "may come out with a duty", "undecided": "not decided yet"}


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
            yield ""
            yield wrapped(f"{edition_text(rules)} ({rules.source.name})")
            heads = "".join(f"{show_plain(each.class_id):{column}}" for each in block)
            yield f"{'':{label + _MASS_COLUMN}}{heads}".rstrip()
            for row in parts:
                weighed = "" if row.mass_kg is None else mass(row.mass_kg, unit, 2)
                line = "".join(f"{each.get(row.part, '-'):{column}}" for each in cells)
                yield f"{show_plain(row.part):{label}}{weighed:>{_MASS_COLUMN - 2}}  {line}".rstrip()
    yield ""
    yield wrapped(_CELL_MEANINGS)
    yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")


_MASS_COLUMN = 12


def _uncertainty(kilograms: float, unit: str) -> str:
    """With two significant digits, at most six decimals."""
    value = float(in_unit(Fraction(kilograms), unit, "mass"))
    decimals = min(6, max(0, 1 - math.floor(math.log10(value)))) if value > 0 else 0
    return mass(kilograms, unit, decimals)


def _zone(part_id: str, car: Car) -> str:
    at = car.inventory.parts[part_id].at
    if at is None:
        return ""
    for zone in car.file.zone:
        if zone.from_.value <= at.value < zone.to.value:
            return zone.title or zone.id
    return ""


def removals_document(
    found: Iterable[ClassRemovals], build: str, on: str, car: Car, sort: SortKey | None = None
) -> dict[str, Any]:
    """The answer as plain data, masses in kg and money in the car's currency: rows of one class, or of several."""
    classes = list(found)
    alone = classes[0] if len(classes) == 1 else None
    return {
        "format": "tarebook-removals/1",
        "book": None if alone is None else alone.rules.id,
        "edition": None if alone is None else alone.rules.edition,
        "class": None if alone is None else alone.class_id,
        "build": build,
        "on": on,
        "currency": currency_of(car.inventory) or None,
        "rows": [
            {"book": each.rules.id, "edition": each.rules.edition, "class": each.class_id, **_row(row, each.rules)}
            for each in classes
            for row in sort_removals(each.rows, sort)
        ],
        "unlisted": [
            {
                "book": each.rules.id,
                "edition": each.rules.edition,
                "class": each.class_id,
                **_unlisted(kind, each.rules),
            }
            for each in classes
            for kind in each.unlisted
        ],
    }


def _row(row: Removal, rules: RuleSet) -> dict[str, Any]:
    return {
        "part": row.part,
        "title": row.title,
        "kind": row.kind,
        "group": row.group,
        "mass_kg": row.mass_kg,
        "mass_u_kg": row.mass_u_kg,
        "margin_left_kg": row.margin_left_kg,
        "cost": row.cost,
        "cost_per_kg": row.cost_per_kg,
        "hours": row.hours,
        "front_kg": row.front_kg,
        "rear_kg": row.rear_kg,
        "jobs": [job._asdict() | {"cost_per_kg": job.cost_per_kg} for job in row.jobs],
        "put_back_by": list(row.put_back_by),
        **_judged(row, rules),
        "kept": row.kept,
        "gone": row.gone,
    }


def _unlisted(each: Unlisted, rules: RuleSet) -> dict[str, Any]:
    low, high = each.range_kg or (None, None)
    row = each.removal
    return {
        "kind": row.kind,
        "title": row.title,
        "group": row.group,
        "by_silence": each.by_silence,
        "plausible_low_kg": low,
        "plausible_high_kg": high,
        "plausible_from": "memory",
        **_judged(row, rules),
    }


def _judged(row: Removal, rules: RuleSet) -> dict[str, Any]:
    return {
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
    }
