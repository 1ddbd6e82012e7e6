"""What may be changed, and what that obliges to: each example of the page judges cars on either side of it."""

from requirements.cars import outcome, row, small_car
from requirements.registry import requirement
from support import by_clause, limit, ruling

ELIGIBLE = ("eligible",)
SILENCE = "1.1"  # the book is closed


def bad(*clauses: str) -> tuple[str, ...]:
    return ("not-eligible", *clauses)


def part(kind: str, more: str = "", *, id: str = "old") -> str:
    return f'id = "{id}", kind = "{kind}"' + (f", {more}" if more else "")


def another(kind: str, more: str = "", *, replaces: str = "old") -> str:
    """A part that takes the place of the old one."""
    return part(kind, f'origin = "aftermarket", replaces = "{replaces}"' + (f", {more}" if more else ""), id="new")


# ---- What comes off and stays


@requirement("may be removed")
def may_be_removed(example: str) -> None:
    answer = row(example, small_car(part("stowage.spare-wheel"), off=("old",)))
    assert (answer.verdict, ruling(answer, "old")) == ("eligible", ("allowed", ("5.1.2",)))
    answer = row(example, small_car(part("interior.floor.carpet"), off=("old",)))
    assert (answer.verdict, ruling(answer, "old")) == ("not-eligible", ("violation", (SILENCE,)))


@requirement("must be removed")
def must_be_removed(example: str) -> None:
    # `stowage.loose` is there by the tree; of wheel covers only the car knows.
    loose, cover = part("stowage.loose", id="loose"), part("wheels.cover", id="cover")
    answer = row(example, small_car(loose, cover, off=("loose", "cover")))
    assert (answer.verdict, ruling(answer, "cover")) == ("eligible", ("allowed", ("5.1.1",)))
    assert outcome(example, small_car(loose, cover, off=("loose",))) == bad("5.1.1")
    assert outcome(example, small_car(loose, off=("loose",), absent=("wheels.cover",))) == ELIGIBLE


@requirement("must be kept")
def must_be_kept(example: str) -> None:
    seat = part("interior.seat.front.passenger", 'mass = "12.0 kg"')
    assert outcome(example, small_car(seat)) == ELIGIBLE
    assert outcome(example, small_car(seat, off=("old",))) == bad(SILENCE, "7.3")
    assert outcome(example, small_car(seat, job='lightens = { old = "9.0 kg" }')) == bad("7.3.1")


@requirement("free")
def free(example: str) -> None:
    spring, arm = "chassis.suspension.springs", "chassis.suspension.front-arms"
    for kind, expected in ((spring, ELIGIBLE), (arm, bad(SILENCE))):
        old = part(kind, 'mass = "4.00 kg"')
        assert outcome(example, small_car(old, off=("old",))) == expected
        assert outcome(example, small_car(old, another(kind), fit=("new",))) == expected
        assert outcome(example, small_car(old, job='lightens = { old = "3.00 kg" }')) == expected
        assert outcome(example, small_car(old, job='moves = { old = { at = "100 mm" } }')) == expected


# ---- Duties of a removal


@requirement("a removal that obliges a finish")
def obliges_a_finish(example: str) -> None:
    carpet = part("interior.floor.carpet")

    def finished(by: str) -> tuple[str, ...]:
        done = f'finishes = [{{ area = "interior.floor.carpet", by = "{by}" }}]'
        return outcome(example, small_car(carpet, off=("old",), job=done))

    assert outcome(example, small_car(carpet)) == ELIGIBLE
    assert outcome(example, small_car(carpet, off=("old",))) == bad("8.6")
    assert by_clause(row(example, small_car(carpet, off=("old",))), "8.6") == ["owed"]
    assert finished("painted") == ELIGIBLE
    assert finished("welded") == bad("8.6")


@requirement("a removal that obliges a substitute")
def obliges_a_substitute(example: str) -> None:
    kind = "interior.seat.front.driver"
    assert outcome(example, small_car(part(kind))) == ELIGIBLE
    approved = another(kind, 'approval = ["seat-mark-two"]')
    assert outcome(example, small_car(part(kind), approved, fit=("new",))) == ELIGIBLE
    other = another(kind, 'approval = ["seat-mark-nine"]')
    assert outcome(example, small_car(part(kind), other, fit=("new",))) == bad("7.5.1")
    assert outcome(example, small_car(part(kind), off=("old",))) == bad("7.5.1")


@requirement("a removal that obliges a compensating part")
def obliges_a_compensating_part(example: str) -> None:
    cards, cage = part("interior.door-card"), part("safety.cage", id="cage")
    assert outcome(example, small_car(cards)) == ELIGIBLE
    assert outcome(example, small_car(cards, off=("old",))) == bad("9.3.1")
    assert outcome(example, small_car(cards, cage, off=("old",), fit=("cage",))) == ELIGIBLE
    # The clause that asks for the cage also allows it; with the door cards in, the closed book speaks.
    assert outcome(example, small_car(cards, cage, fit=("cage",))) == bad(SILENCE)


@requirement("a change allowed only with another")
def only_with_another(example: str) -> None:
    seat, runners = "interior.seat.front.driver", "interior.seat.front.runners"
    parts = (
        part(seat, id="seat"),
        part(runners, id="runners"),
        part(seat, 'origin = "aftermarket", replaces = "seat"', id="new-seat"),
        part(runners, 'origin = "aftermarket", replaces = "runners"', id="new-runners"),
    )
    assert outcome(example, small_car(*parts, fit=("new-seat", "new-runners"))) == ELIGIBLE
    assert outcome(example, small_car(*parts, fit=("new-seat",))) == ELIGIBLE
    answer = row(example, small_car(*parts[:2], parts[3], fit=("new-runners",)))
    assert (answer.verdict, ruling(answer, "runners")) == ("not-eligible", ("violation", ("7.5.1",)))


# ---- Swaps and lightening


def bonnet(more: str) -> tuple[str, ...]:
    return part("body.bonnet", 'mass = "15.00 kg", material = "steel"'), another("body.bonnet", more)


@requirement("a swap that is no lighter")
def no_lighter(example: str) -> None:
    for mass, expected in (("15.00 kg", ELIGIBLE), ("15.01 kg", ELIGIBLE), ("14.99 kg", bad("6.3"))):
        assert outcome(example, small_car(*bonnet(f'mass = "{mass}"'), fit=("new",))) == expected
    unweighed = row(example, small_car(*bonnet('note = "never weighed"'), fit=("new",)))
    assert (unweighed.verdict, unweighed.facts_to_find) == ("undecided", ("new.mass",))


@requirement("a swap of no such material")
def no_such_material(example: str) -> None:
    for material, expected in (
        ("steel", ELIGIBLE),
        ("aluminium", ELIGIBLE),
        ("composite", bad("6.3")),
        ("magnesium", bad("6.3")),
    ):
        assert outcome(example, small_car(*bonnet(f'material = "{material}"'), fit=("new",))) == expected


@requirement("a quota of lightening for a part")
def quota_of_a_part(example: str) -> None:
    # 0.15 x 20 kg = 3 kg may go: 17 kg must be left.
    lid = part("body.boot-lid", 'mass = "20.00 kg"')
    for left, expected in (("17.00 kg", ELIGIBLE), ("16.99 kg", bad("6.4"))):
        assert outcome(example, small_car(lid, job=f'lightens = {{ old = "{left}" }}')) == expected
    # The same three kilograms are too much of a lid of 19 kg: 3 / 19 = 0.158.
    lid = part("body.boot-lid", 'mass = "19.00 kg"')
    assert outcome(example, small_car(lid, job='lightens = { old = "16.00 kg" }')) == bad("6.4")


@requirement("a quota of lightening for the car")
def quota_of_the_car(example: str) -> None:
    # Seats 60.0 off, and the spare wheel: 69.9 makes 129.9, 70.1 makes 130.1, against 130.
    for wheel, verdict, off in (("69.9", "eligible", 129.9), ("70.1", "not-eligible", 130.1)):
        seats = part("interior.seat.rear", 'mass = "60.00 kg"', id="seats")
        spare = part("stowage.spare-wheel", f'mass = "{wheel}0 kg"', id="spare")
        bare = ("interior.seat.rear.head-restraints", "interior.seat.rear.latches")
        answer = row(example, small_car(seats, spare, off=("seats", "spare"), absent=bare))
        assert (answer.verdict, round(limit(answer, "taken_off").mass_kg or 0, 3)) == (verdict, off)
    # What was made lighter counts too: 60 kg of seats off, and a dashboard from 90 kg to 19.9 kg: 70.1 more.
    dash = part("interior.dash", 'mass = "90.00 kg"', id="dash")
    lighter = small_car(seats, dash, off=("seats",), job='lightens = { dash = "19.90 kg" }', absent=bare)
    assert outcome(example, lighter) == bad("6.5.1")
