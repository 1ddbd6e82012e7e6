"""What may come out, as JSON."""

from collections.abc import Iterable
from typing import Any

from tarebook.car.reading import Car
from tarebook.route.letting_out import Unlisted
from tarebook.route.removals import Removal
from tarebook.route.taking_off import JobOff, currency_of
from tarebook.rules.reading import RuleSet
from tarebook.show.removals import ClassRemovals, SortKey, sort_removals


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
        "already_off": row.already_off,
        "mass_kg": row.mass_kg,
        "mass_u_kg": row.mass_u_kg,
        "margin_left_kg": row.margin_left_kg,
        "margin_clause": row.margin_clause,
        "cost": row.cost,
        "cost_per_kg": row.cost_per_kg,
        "hours": row.hours,
        "front_kg": row.front_kg,
        "rear_kg": row.rear_kg,
        "net_kg": row.net_kg,
        "net_u_kg": row.net_u_kg,
        "substitute": _substitute(row),
        "jobs": [_job(job) for job in row.jobs],
        "instead": list(row.instead),
        "put_back_by": list(row.put_back_by),
        "put_back_jobs": [_job(job) for job in row.put_back_jobs],
        "hindrances": list(row.hindrances),
        **_judged(row, rules),
        "kept": row.kept,
        "gone": row.gone,
    }


def _substitute(row: Removal) -> dict[str, Any] | None:
    if row.substitute is None:
        return None
    return {
        "part": row.substitute.part,
        "title": row.substitute.title,
        "mass_kg": row.substitute.mass_kg,
        "net_kg": row.net_kg,
        "kept": row.substitute.kept,
    }


def _job(job: JobOff) -> dict[str, Any]:
    return job._asdict() | {"cost_per_kg": job.cost_per_kg}


def _unlisted(each: Unlisted, rules: RuleSet) -> dict[str, Any]:
    low, high = each.range_kg or (None, None)
    row = each.removal
    return {
        "kind": row.kind,
        "title": row.title,
        "group": row.group,
        "by_silence": each.by_silence,
        "by_everything": each.by_everything,
        "plausible_low_kg": low,
        "plausible_high_kg": high,
        "plausible_from": "memory",
        "substitute": _substitute(row),
        "jobs": [_job(job) for job in row.jobs],
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
                "one_of": list(reason.one_of),
                "enough": reason.enough or None,
            }
            for reason in row.reasons
        ],
        "duties": row.duties,
        "facts_to_find": list(row.facts_to_find),
        "cautions": list(row.cautions),
    }
