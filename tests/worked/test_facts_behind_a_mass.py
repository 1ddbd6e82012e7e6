"""A tank or a fuel that is not stated is to find wherever it alone leaves a class open, in whatever else is unknown."""

from support import DAY, toml
from tarebook.api import check
from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules


def answer(*limits: dict[str, object], **facts: object):
    stated = f"facts = {toml(facts)}\n" if facts else ""
    car = (
        f'format = "tarebook-car/1"\n{stated}car = {{ name = "Plover" }}\nat_inspection = {{ fuel = "5 L" }}\n'
        '[[weighing]]\nid = "w"\ndate = 2027-01-01\ntotal = "910 kg"\nfuel = "20 L"\n'
    )
    rules = (
        'format = "tarebook-rules/1"\n[book]\nid = "b"\ntitle = "Invented"\nedition = "1"\nsilence = "permits"\n'
        f'in_force = {{ from = 2020-01-01 }}\n[[class]]\nid = "c"\ntitle = "C"\nlimit = {toml(limits)}\n'
    )
    (row,) = check(parse_car(car), parse_rules(rules), on=DAY).rows
    return row.verdict, row.facts_to_find


# Front or all: the fuel settles it. Rear: the book does not say what the limit is, whatever the fuel.
def test_where_the_book_is_silent_in_one_case_the_fuel_is_to_find_for_the_others():
    maximum = {"by": "driven_wheels", "cases": {"front": "950 kg", "all": "950 kg"}}
    limit = {"clause": "1", "driver": "out", "maximum": maximum}
    assert answer(limit) == ("undecided", ("fuel",))
    assert answer(limit, driven_wheels="front") == ("undecided", ("fuel",))
    assert answer(limit, driven_wheels="rear") == ("undecided", ())


# The limit needs the fuel only where four or more seats make it hold, and there the class is shut anyway.
def test_a_fuel_that_matters_only_where_the_class_is_shut_is_not_asked_for():
    many = {"seats": {"least": 4}}
    weighed = {"clause": "1", "driver": "out", "if": many, "maximum": "950 kg"}
    shut = {"clause": "2", "driver": "out", "fuel": "20 L", "if": many, "maximum": "800 kg"}
    assert answer(weighed, shut) == ("undecided", ("seats",))


# An axle load with a full tank: its size settles it only where the car says where the tank is.
def test_a_tank_without_a_place_leaves_an_axle_open_whatever_its_size():
    def found(tank: str) -> tuple[str, ...]:
        car = parse_car(
            'format = "tarebook-car/1"\ncar = { name = "Plover" }\nat_inspection = { fuel = "full" }\n'
            'facts = { fuel = "petrol", wheelbase = "2400 mm" }\n'
            f"tank = {tank}\n"
            '[[weighing]]\nid = "w"\ndate = 2027-01-01\naxles = { front = "520 kg", rear = "390 kg" }\nfuel = "empty"\n'
        )
        rules = parse_rules(
            'format = "tarebook-rules/1"\n[book]\nid = "b"\ntitle = "Invented"\nedition = "1"\nsilence = "permits"\n'
            'in_force = { from = 2020-01-01 }\n[[class]]\nid = "c"\ntitle = "C"\n'
            'limit = [{ clause = "1", driver = "out", rear_axle = { least = "400 kg" } }]\n'
        )
        (row,) = check(car, rules, on=DAY).rows
        assert row.verdict == "undecided"
        return row.facts_to_find

    assert found('{ at = "2000 mm" }') == ("tank_capacity",)
    assert found("{}") == ()
