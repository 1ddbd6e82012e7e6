"""Open and closed books, and classes that are like others: each example judges cars on either side of it."""

from requirements.cars import outcome, row, small_car, told
from requirements.registry import requirement
from support import DAY, book, judged, ruling
from tarebook.car.reading import Car
from tarebook.rules.editions import in_force
from tarebook.rules.reading import rules_of
from tarebook.toml_source import parse_source

ELIGIBLE = ("eligible",)
OTHER_BOOK = """\
[[class]]
id = "catalogue"
title = "Catalogue"
clause = "4"

[class.weight]
clause = "4.1"
driver = "out"
minimum = "850 kg"
maximum = "1000 kg"

[[class.limit]]
clause = "4.2"
taken_off = ["interior"]
maximum = "30 kg"

[[class.ban]]
clause = "4.4"
kinds = ["interior.seat.rear.back", "interior.floor.carpet"]
does = ["remove"]

[[class.need]]
clause = "4.6"
kinds = ["exhaust.silencer"]
"""


def off(kind: str, mass: str = "5.00 kg", total: str = "900 kg") -> Car:
    return small_car(f'id = "it", kind = "{kind}", mass = "{mass}"', off=("it",), total=total)


def bad(*clauses: str) -> tuple[str, ...]:
    return ("not-eligible", *clauses)


@requirement("a closed book")
def closed_book(example: str) -> None:
    assert outcome(example, off("interior.floor.carpet"), "by-the-list") == ELIGIBLE
    assert outcome(example, off("interior.dash"), "by-the-list") == bad("9")


@requirement("an open book")
def open_book(example: str) -> None:
    answer = row(example, off("interior.floor.carpet"), "free-hand")
    assert (answer.verdict, ruling(answer, "it")) == ("eligible", ("allowed", ("10",)))
    assert outcome(example, off("interior.dash"), "free-hand") == bad("10.1")


@requirement("as another class, with local exceptions")
def as_another_class(example: str) -> None:
    belts, seat = off("interior.seat.rear.belts"), off("interior.seat.front.passenger")
    assert outcome(example, belts, "bare-cabin") == bad("9.4")
    assert outcome(example, belts, "open-bench") == ELIGIBLE
    assert ruling(row(example, belts, "open-bench"), "it") == ("allowed", ("10.1",))
    assert outcome(example, seat, "bare-cabin") == bad("1.1", "9.1")
    assert outcome(example, seat, "open-bench") == ELIGIBLE
    # What is neither dropped nor beaten holds in both, and so does the silence of the book.
    headliner = off("interior.headliner")
    assert ruling(row(example, headliner, "bare-cabin"), "it") == ("allowed", ("9.2",))
    assert ruling(row(example, headliner, "open-bench"), "it") == ("allowed", ("9.2",))
    assert outcome(example, off("interior.dash"), "open-bench") == bad("1.1")


@requirement("as another book's class, with local exceptions")
def as_another_books_class(example: str) -> None:
    # Both books are closed ones: the other by its clause 1.9, our own by 1.1.
    theirs = book(OTHER_BOOK, book_id="quarry-lane", clause="1.9")
    mine = book(example)
    read = rules_of([parse_source(each.source.content, f"{each.id}.toml") for each in (theirs, mine)])
    books = {each.id: each for each in in_force(read, DAY)}

    def there(judged_car: Car) -> tuple[str, ...]:
        return told(judged(judged_car, books["quarry-lane"], class_id="catalogue"))

    def here(judged_car: Car) -> tuple[str, ...]:
        return told(judged(judged_car, books["made-up"], class_id="guests"))

    # Its own minimum of 800 in place of 850; the maximum of 1000 stays.
    for total, by_theirs, by_mine in (
        ("850.1 kg", ELIGIBLE, ELIGIBLE),
        ("849.9 kg", bad("4.1"), ELIGIBLE),
        ("800.1 kg", bad("4.1"), ELIGIBLE),
        ("799.9 kg", bad("4.1"), bad("11.1")),
        ("999.9 kg", ELIGIBLE, ELIGIBLE),
        ("1000.1 kg", bad("4.1"), bad("quarry-lane.4.1")),
    ):
        assert (there(small_car(total=total)), here(small_car(total=total))) == (by_theirs, by_mine), total
    # Their ban is beaten, and their limit of 30 on what came out of the cabin dropped.
    assert (there(off("interior.floor.carpet")), here(off("interior.floor.carpet"))) == (bad("4.4"), ELIGIBLE)
    back = off("interior.seat.rear.back", "31.0 kg")
    assert (there(back), here(back)) == (bad("4.2", "4.4"), ELIGIBLE)
    # The rest holds here as there: what must be on the car, and what silence means.
    silencer, bonnet = off("exhaust.silencer"), off("body.bonnet")
    assert (there(silencer), here(silencer)) == (bad("1.9", "4.6"), bad("quarry-lane.1.9", "quarry-lane.4.6"))
    assert (there(bonnet), here(bonnet)) == (bad("1.9"), bad("quarry-lane.1.9"))
