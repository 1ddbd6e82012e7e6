"""The dictionary of car facts."""

import re

import pytest

from tarebook.facts import BUILTIN, TYPES, search, suggest

# What rule books commonly ask, and the type each must have.
EXPECTED = {
    "displacement": "volume",
    "aspiration": "choice",
    "engine_type": "choice",
    "engine_position": "choice",
    "cylinders": "count",
    "valves_per_cylinder": "count",
    "driven_wheels": "choice",
    "power": "power",
    "fuel": "choice",
    "tank_capacity": "volume",
    "seats": "count",
    "doors": "count",
    "wheelbase": "length",
    "length": "length",
    "width": "length",
    "height": "length",
    "track_front": "length",
    "track_rear": "length",
    "front_overhang": "length",
    "rear_overhang": "length",
    "ride_height": "length",
    "tyre_width": "length",
    "tyre_treadwear": "count",
    "tyre_road_legal": "yes-no",
    "rim_width": "length",
    "rim_diameter": "length",
    "kerb_mass": "mass",
    "success_mass": "mass",
    "model_year": "count",
    "gearbox": "choice",
    "gears": "count",
    "limited_slip": "choice",
    "body": "choice",
    "open_top": "yes-no",
    "steering_side": "choice",
    "front_suspension": "choice",
    "rear_suspension": "choice",
    "negative_camber": "number",
    "noise": "number",
    "abs": "yes-no",
    "traction_control": "yes-no",
    "road_registered": "yes-no",
    "first_registered": "date",
    "production_from": "date",
    "production_until": "date",
    "production_count": "count",
    "price_new": "money",
}


def test_there_are_enough_facts_and_each_is_filed_under_its_own_id() -> None:
    assert len(BUILTIN) >= 60
    assert [fact.id for fact in BUILTIN.values()] == list(BUILTIN)


@pytest.mark.parametrize(("name", "type_"), EXPECTED.items())
def test_a_fact_that_books_ask_for_is_there(name: str, type_: str) -> None:
    assert BUILTIN[name].type == type_


@pytest.mark.parametrize(
    ("name", "choices"),
    [
        ("aspiration", {"natural", "turbo", "supercharged", "twin-charged"}),
        ("engine_type", {"piston", "rotary", "electric"}),
        ("driven_wheels", {"front", "rear", "all"}),
        ("fuel", {"petrol", "diesel"}),
        ("gearbox", {"manual", "sequential", "automatic"}),
        ("body", {"saloon", "hatchback", "estate", "coupe", "convertible"}),
        ("engine_position", {"front", "mid", "rear"}),
    ],
)
def test_choices(name: str, choices: set[str]) -> None:
    assert choices <= set(BUILTIN[name].choices)


def test_no_id_is_given_twice() -> None:
    # A second fact of the same id would silently hide the first in the table.
    from tarebook import facts

    assert len(facts._FACTS) == len(BUILTIN)


@pytest.mark.parametrize("fact", BUILTIN.values(), ids=lambda fact: fact.id)
def test_a_fact_is_complete(fact) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", fact.id)
    assert fact.type in TYPES
    assert fact.title[0].isupper()
    assert re.fullmatch(r"[A-Z][^\n]{14,}\.", fact.meaning)
    assert fact.default is None


@pytest.mark.parametrize("fact", BUILTIN.values(), ids=lambda fact: fact.id)
def test_choices_stand_where_the_type_is_choice_and_only_there(fact) -> None:
    if fact.type == "choice":
        assert len(fact.choices) >= 2
        assert len(set(fact.choices)) == len(fact.choices)
        assert [name for name in fact.choices if not re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", name)] == []
    else:
        assert fact.choices == ()


@pytest.mark.parametrize(
    "fact",
    [fact for fact in BUILTIN.values() if fact.type in ("mass", "length", "volume", "power")],
    ids=lambda fact: fact.id,
)
def test_the_unit_of_a_quantity_is_one_of_its_dimension(fact) -> None:
    from tarebook.quantities import canonical_unit

    assert canonical_unit(fact.unit, fact.type) == fact.unit


@pytest.mark.parametrize(
    "fact",
    [fact for fact in BUILTIN.values() if fact.type not in ("mass", "length", "volume", "power", "number")],
    ids=lambda fact: fact.id,
)
def test_what_is_no_quantity_has_no_unit(fact) -> None:
    assert fact.unit == ""


def test_every_type_is_used() -> None:
    assert {fact.type for fact in BUILTIN.values()} == set(TYPES)


@pytest.mark.parametrize(
    ("name", "question"),
    [
        ("displacment", 'did you mean "displacement"?'),
        ("tire_width", 'did you mean "tyre_width" or "rim_width"?'),
        ("Wheelbase", 'did you mean "wheelbase"?'),
        ("zzzz", ""),
    ],
)
def test_suggestions(name: str, question: str) -> None:
    assert suggest(name, BUILTIN) == question


def test_a_book_may_suggest_from_names_of_its_own() -> None:
    assert suggest("tyre_lst", ["tyre_list"]) == 'did you mean "tyre_list"?'


def found(word: str) -> list[str]:
    return [fact.id for fact in search(word)]


def test_a_search_puts_the_best_answer_first() -> None:
    assert found("fuel")[0] == "fuel"
    assert found("tyre width")[0] == "tyre_width"
    assert found("tyre_width")[0] == "tyre_width"
    assert found("Noise") == ["noise"]
    assert found("track")[:2] == ["track_front", "track_rear"]


def test_a_search_matches_title_meaning_and_choices() -> None:
    assert found("sequential") == ["gearbox"]
    assert found("treadwear") == ["tyre_treadwear"]
    assert "kerb_mass" in found("registration paper")


def test_every_word_of_a_search_must_be_there() -> None:
    assert found("width zzzz") == []
    assert found("tyre zzzz") == []
    assert found("wall first number") == ["tyre_width"]


@pytest.mark.parametrize("word", ["", "  ", "zzzz"])
def test_a_search_that_finds_nothing(word: str) -> None:
    assert found(word) == []


@pytest.mark.parametrize("name", list(BUILTIN))
def test_every_fact_is_found_first_by_its_id(name: str) -> None:
    assert found(name)[0] == name
