"""Who may enter, dimensions, and what only a person can judge: each example judges cars on either side of it."""

from datetime import date

from requirements.cars import outcome, row, small_car
from requirements.registry import requirement
from support import by_clause

ELIGIBLE = ("eligible",)


def bad(*clauses: str) -> tuple[str, ...]:
    return ("not-eligible", *clauses)


@requirement("capacity equivalence")
def capacity_equivalence(example: str) -> None:
    # 1.7 x 1176 = 1999.2 and 1.7 x 1177 = 2000.9, against 2000; 1.7 x 823 = 1399.1 and 1.7 x 824 = 1400.8.
    for displacement, aspiration, expected in (
        ("1176 cm3", "turbo", ELIGIBLE),
        ("1177 cm3", "turbo", bad("4.2")),
        ("824 cm3", "turbo", ELIGIBLE),
        ("823 cm3", "turbo", bad("4.2")),
        ("1177 cm3", "natural", bad("4.2")),
        ("1401 cm3", "natural", ELIGIBLE),
    ):
        assert outcome(example, small_car(displacement=displacement, aspiration=aspiration)) == expected


@requirement("classing by a declared index")
def declared_index(example: str) -> None:
    for index, expected in ((0.89, bad("4.2")), (0.9, ELIGIBLE), (1.09, ELIGIBLE), (1.1, bad("4.2"))):
        assert outcome(example, small_car(performance_index=index)) == expected
    answer = row(example, small_car())
    assert (answer.verdict, answer.facts_to_find) == ("undecided", ("performance_index",))


@requirement("production date and number made")
def production(example: str) -> None:
    for first, made, expected in (
        (date(1999, 12, 31), 5000, ELIGIBLE),
        (date(2000, 1, 1), 5000, bad("4.3")),
        (date(1999, 12, 31), 4999, bad("4.4")),
        (date(2000, 1, 1), 4999, bad("4.3", "4.4")),
    ):
        assert outcome(example, small_car(production_from=first, production_count=made)) == expected


@requirement("ranges of dimensions")
def ranges(example: str) -> None:
    for wheelbase, expected in (
        ("2099 mm", bad("5.5")),
        ("2100 mm", ELIGIBLE),
        ("2650 mm", ELIGIBLE),
        ("2651 mm", bad("5.5")),
    ):
        assert outcome(example, small_car(wheelbase=wheelbase)) == expected


@requirement("a dimension bounded by the car as it was made")
def against_the_car_as_made(example: str) -> None:
    # 175 + 40 = 215: the job fits tyres of that width, or wider ones.
    for now, expected in (("215 mm", ELIGIBLE), ("216 mm", bad("5.6"))):
        job = f'sets = {{ tyre_width = "{now}" }}'
        assert outcome(example, small_car(job=job, tyre_width="175 mm")) == expected


@requirement("a thin class that is merged with another")
def thin_class(example: str) -> None:
    # Never computed, and never passed over: whatever the car, the clause is there for a person.
    for judged in (small_car(), small_car('id = "radio", kind = "interior.audio"', off=("radio",))):
        answer = row(example, judged)
        assert (answer.to_ask, by_clause(answer, "1.9")) == (1, ["ask"])
    assert row(example, small_car()).verdict == "eligible"


@requirement("what only a person can judge")
def for_a_person(example: str) -> None:
    answer = row(example, small_car())
    assert (answer.verdict, answer.to_ask, by_clause(answer, "4.8")) == ("eligible", 0, [])
    carpet = 'id = "carpet", kind = "interior.floor.carpet"'
    answer = row(example, small_car(carpet, off=("carpet",)))
    assert (answer.to_ask, by_clause(answer, "4.8")) == (1, ["ask"])
