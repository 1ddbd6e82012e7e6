"""`choose`: every class of every book side by side."""

from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import (
    CarArgument,
    ConfidenceOption,
    DayOption,
    JsonOption,
    ProposedOption,
    RulesOption,
    confidence_named,
    days_of,
    known_names,
    money_named,
    print_json,
    read_car_and_rules,
)
from tarebook.cli.status import of_verdicts

if TYPE_CHECKING:
    from tarebook.judge.findings import Verdict
    from tarebook.route.choosing import Choice, Move, Setting, SortKey


def choose(
    car: CarArgument,
    rules: RulesOption = None,
    build: Annotated[
        list[str] | None,
        typer.Option(
            "--build", "-b", help="A further build whose verdicts to show; may be given again.", show_default=False
        ),
    ] = None,
    on: DayOption = None,
    proposed: ProposedOption = False,
    sort: Annotated[
        list[str] | None,
        typer.Option(
            "--sort",
            metavar="KEY",
            help="What to rank by: now, planned, cost, hours, over-minimum, ballast, lightest, facts or name; may be"
            " given again. [default: now, cost, over-minimum, facts]",
            show_default=False,
        ),
    ] = None,
    budget: Annotated[
        str | None,
        typer.Option(
            "--budget",
            metavar="MONEY",
            help="What the work may cost at most, less what it brings in.",
            show_default=False,
        ),
    ] = None,
    confidence: ConfidenceOption = None,
    as_json: JsonOption = False,
) -> None:
    """Every class side by side, to choose one. What each would take, what it gives away, what to find out first."""
    from tarebook import api
    from tarebook.judge.judging import CONFIDENCE
    from tarebook.route.choosing import SORT_KEYS, Setting, choose, ranked, whole_order
    from tarebook.route.worth import find_worth
    from tarebook.show.choose import Answer

    the_car, editions = read_car_and_rules(car, rules)
    known_names("order", sort or [], SORT_KEYS)
    order = whole_order([key for asked in sort or [] for key in SORT_KEYS if key == asked])
    builds = known_names("build", ["now", "planned", *(build or [])], the_car.inventory.build_names())
    days = days_of(the_car, builds, on)
    sure = CONFIDENCE if confidence is None else confidence_named(confidence)
    most = None if budget is None else money_named("--budget", budget, the_car)

    def setting(*, proposed: bool) -> Setting:
        in_force = {day: api.editions_on(editions, day, proposed=proposed) for day in dict.fromkeys(days.values())}
        adopted = api.settle(the_car, dict.fromkeys(each for chosen in in_force.values() for each in chosen))
        return Setting(the_car, in_force, adopted, days, sure, most)

    asked = setting(proposed=proposed)
    choices = choose(asked)
    worth = find_worth(asked, choices, order)
    names, moved = ([], []) if proposed else _proposals(asked, setting(proposed=True), choices, order)
    answer = Answer(ranked(choices, order), order, worth, names, moved, days)
    if as_json:
        from tarebook.show.choose_json import choose_document

        print_json(choose_document(answer, the_car))
    else:
        from tarebook.show.choose import choose_lines

        print("\n".join(choose_lines(answer, the_car)))
    raise typer.Exit(of_verdicts([_best(choices)]))


def _best(choices: "list[Choice]") -> "Verdict":
    """The verdict on the car as it stands in the class that is most open to it: one class is enough to enter."""
    verdicts = [choice.rows["now"].verdict for choice in choices]
    best: tuple[Verdict, ...] = ("eligible", "too-close", "undecided", "not-eligible")
    return next(each for each in best if each in verdicts)


def _proposals(
    counted: "Setting", proposed: "Setting", choices: "list[Choice]", order: "tuple[SortKey, ...]"
) -> "tuple[list[str], list[Move]]":
    """The proposals of the books, and what they would move."""
    from tarebook.route.choosing import choose, moves
    from tarebook.route.worth import find_worth

    names = [
        f"{rules.file.book.title}, bulletin {bulletin.number}"
        for rules in dict.fromkeys(each for chosen in proposed.editions.values() for each in chosen)
        for bulletin in rules.bulletins
        if bulletin.proposed
    ]
    if not names:
        return [], []
    then = choose(proposed)
    find_worth(proposed, then, order)
    return list(dict.fromkeys(names)), moves(choices, then, order)
