"""Classes side by side, as one JSON document."""

import datetime
from fractions import Fraction
from typing import Any

from tarebook.car.reading import Car
from tarebook.facts import Fact
from tarebook.route.choosing import Choice, Move, places, standing
from tarebook.route.reaching import Reach
from tarebook.route.stretches import Edge, Stretch
from tarebook.route.taking_off import currency_of
from tarebook.route.worth import FactWorth
from tarebook.show.choose import Answer


def choose_document(answer: Answer, car: Car) -> dict[str, Any]:
    """The answer as plain data, masses in kg and money in the car's currency."""
    ranks = places(answer.choices, answer.order)
    return {
        "format": "tarebook-choose/1",
        "car": car.name,
        "on": {build: day.isoformat() for build, day in answer.days.items()},
        "currency": currency_of(car.inventory) or None,
        "order": list(answer.order),
        "rows": [{"place": ranks[choice.key], **_row(choice)} for choice in answer.choices],
        "worth": [_worth_document(worth) for worth in answer.worth],
        "proposed": list(answer.proposed),
        "moves": [_move_document(move) for move in answer.moves],
    }


def _row(choice: Choice) -> dict[str, Any]:
    at_minimum, reaches = choice.reaches.at_minimum, choice.reaches
    return {
        "book": choice.rules.id,
        "edition": choice.rules.edition,
        "class": choice.prepared.id,
        "title": choice.title,
        "now": choice.verdict("now"),
        "planned": choice.verdict("planned"),
        "builds": {build: row.verdict for build, row in choice.rows.items()},
        "standing": standing(choice),
        "lightest_kg": choice.lightest_kg,
        "over_minimum_kg": choice.over_minimum_kg,
        "ballast_kg": choice.ballast_kg,
        "cost": choice.cost,
        "hours": choice.hours,
        "beyond_budget": reaches.eligible is not None and reaches.eligible.beyond_budget,
        "cost_at_minimum": None if at_minimum is None else at_minimum.cost,
        "hours_at_minimum": None if at_minimum is None else at_minimum.hours,
        "facts_to_find": list(choice.facts_to_find),
        "not_known": list(choice.not_known),
        "left_aside": [{"job": job, "sentence": sentence} for job, sentence in reaches.left_aside],
        "to_ask": choice.rows["now"].to_ask,
        "in_time": reaches.in_time,
        "eligible": _reach(reaches.eligible),
        "at_minimum": _reach(reaches.at_minimum),
        "lightest": _reach(reaches.lightest),
        "barest": _reach(reaches.barest),
        "by_undoing": _reach(reaches.by_undoing),
    }


def _reach(reach: Reach | None) -> dict[str, Any] | None:
    return None if reach is None else reach._asdict()


def _worth_document(worth: FactWorth) -> dict[str, Any]:
    return {
        "what": worth.name,
        "classes": [{"book": book, "class": class_id} for book, class_id in worth.classes],
        "reorders": worth.reorders,
        "graded": worth.graded,
        "values": [
            {
                **_stretch_document(value.stretch, worth.fact),
                "classes": [
                    {
                        "book": then.choice.rules.id,
                        "class": then.choice.prepared.id,
                        "now": then.choice.verdict("now"),
                        "planned": then.choice.verdict("planned"),
                        "standing": None if worth.graded else standing(then.choice),
                        "cost": None if worth.graded else then.choice.cost,
                        "hours": None if worth.graded else then.choice.hours,
                        "place": None if worth.graded else then.place,
                    }
                    for then in value.classes
                ],
            }
            for value in worth.values
        ],
    }


def _stretch_document(stretch: Stretch, fact: Fact | None) -> dict[str, Any]:
    """Figures in base units: kg, mm, L, kW; days as dates."""

    def plain(value: Any) -> Any:
        return float(value) if isinstance(value, Fraction) else value.isoformat() if _is_day(value) else value

    def edge(one: Edge | None) -> Any:
        if one is None:
            return None
        return (
            str(datetime.date.fromordinal(int(one[0]))) if fact is not None and fact.type == "date" else float(one[0])
        )

    return {
        "is_one_of": [plain(value) for value in stretch.values],
        "or_anything_else": stretch.rest,
        "low": edge(stretch.low),
        "low_left_out": stretch.low is not None and stretch.low[1],
        "high": edge(stretch.high),
        "high_left_out": stretch.high is not None and stretch.high[1],
    }


def _is_day(value: Any) -> bool:
    return isinstance(value, datetime.date)


def _move_document(move: Move) -> dict[str, Any]:
    return {
        "book": move.key[0],
        "class": move.key[1],
        "place_was": move.was,
        "place_becomes": move.becomes,
        "was": None if move.before is None else _row(move.before),
        "becomes": None if move.after is None else _row(move.after),
    }
