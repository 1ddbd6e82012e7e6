"""A route as JSON. Masses are in kg, places in mm, money in the car file's own currency."""

from fractions import Fraction
from typing import Any

from tarebook.route.answering import Answer, Route
from tarebook.route.explaining import Step
from tarebook.route.figures import Room
from tarebook.route.planning import Plan, least_margin
from tarebook.route.search import Search
from tarebook.route.taking_off import currency_of
from tarebook.show.route import conflict_sentences, demand_text, facts_to_find

FORMAT = "tarebook-route/1"


def route_document(answer: Answer, *, frontier: bool) -> dict[str, Any]:
    """The whole answer; with `frontier` the points in place of one route."""
    search = answer.search
    rules = search.workshop.prepared.rules
    document: dict[str, Any] = {
        "format": FORMAT,
        "book": rules.id,
        "edition": rules.edition,
        "class": search.workshop.prepared.id,
        "on": search.workshop.on.isoformat(),
        "currency": currency_of(search.workshop.inventory),
        "outcome": answer.outcome,
    }
    conflict = [
        {
            "demand": each.demand,
            "sentence": each.sentence,
            "undecided": each.undecided,
            "facts_to_find": list(each.facts),
        }
        for each in conflict_sentences(answer)
    ]
    document["smallest_conflict"] = answer.conflict.smallest if answer.conflict is not None else None
    if frontier:
        points = [{"outcome": _outcome(each), **_route(each, search), "conflict": []} for each in answer.points]
        document |= {"points": points, "conflict": conflict}
    else:
        document |= {**_route(answer.route, search), "conflict": conflict}
    document["facts_to_find"] = facts_to_find(answer)
    document["left_aside"] = [{"job": job, "sentence": sentence} for job, sentence in answer.left_aside]
    document["ballast_left_aside"] = search.workshop.wants_heavier_pieces
    document["least_cost"] = _float(answer.least_cost)
    document["undoing_helps"] = answer.undoing == "helps"
    nearest = answer.nearest
    document["nearest"] = None if nearest is None else _plan(nearest.plan, search) | {"aside": list(nearest.aside)}
    return document


def _outcome(route: Route) -> str:
    return "proven" if route.plan.proven else "not-proven"


def _route(route: Route | None, search: Search) -> dict[str, Any]:
    if route is None:
        empty = dict.fromkeys(
            (
                "cost",
                "hours",
                "mass_kg",
                "margin_kg",
                "ballast_kg",
                "ballast_at_mm",
                "ballast_pieces",
                "mass_without_ballast_kg",
                "over_target_kg",
                "reached",
                "at_worst",
                "to_ask",
            )
        )
        return {"jobs": [], "undo": [], **empty, "unpriced": [], "steps": [], "binds": []}
    done = [step.job for step in route.steps if not step.undo]
    return {
        "jobs": done,
        **{key: value for key, value in _plan(route.plan, search).items() if key != "jobs"},
        "unpriced": [step.job for step in route.steps if step.unpriced],
        "steps": [_step(step) for step in route.steps],
        "binds": [{"demand": demand, "sentence": demand_text(demand, search)} for demand in route.binds],
    }


def _plan(plan: Plan, search: Search) -> dict[str, Any]:
    closest = least_margin(plan)
    return {
        "jobs": list(plan.chosen),
        "undo": list(plan.undone),
        "cost": float(plan.cost),
        "hours": float(plan.hours),
        "mass_kg": _float(plan.total),
        "margin_kg": None if closest is None else closest[2],
        "ballast_kg": float(plan.load.mass),
        "ballast_at_mm": _float(plan.at),
        "ballast_pieces": plan.pieces if plan.load.mass else 0,
        "mass_without_ballast_kg": _float(plan.mass),
        "over_target_kg": _float(search.over_target(plan.jobs)),
        "reached": plan.reached,
        "at_worst": [
            {
                "clause": each.clause,
                "which": each.which,
                "limit_kg": float(each.limit),
                "margin_kg": float(each.margin),
                "facts_to_find": list(each.facts),
            }
            for each in plan.at_worst
        ],
        "to_ask": plan.row.to_ask,
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "job": step.job,
        "title": step.title,
        "undo": step.undo,
        "cost": float(step.cost),
        "hours": float(step.hours),
        "saves_kg": _float(step.saves),
        "mass_kg": _float(step.mass),
        "margin_kg": _float(step.margin),
        "closest": None if step.closest is None else _room(step.closest),
        "reason": step.reason,
        "cautions": list(step.cautions),
    }


def _room(room: Room) -> dict[str, Any]:
    return {"clause": room.clause, "which": room.which, "margin_kg": float(room.margin)}


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)
