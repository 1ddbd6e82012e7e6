"""`revise`: the command that compares two editions, and says what the new one does to a car."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import JsonOption, day_named, days_of, known_names, print_json, rules_nearby
from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, Refused

if TYPE_CHECKING:
    import datetime

    from tarebook.api import Car, RuleSet
    from tarebook.revise.effects import Days

SAME_OR_BETTER, WORSE = ELIGIBLE, NOT_ELIGIBLE
_SIDE = "A rule-set file, a folder (as it holds on the day of --on), or BOOK@EDITION out of the rule sets."


def revise(
    old: Annotated[str, typer.Argument(metavar="OLD", help=_SIDE, show_default=False)],
    new: Annotated[str, typer.Argument(metavar="NEW", help="Likewise, the later one.", show_default=False)],
    car: Annotated[
        Path | None, typer.Option("--car", metavar="CAR", help="A car file to judge by both.", show_default=False)
    ] = None,
    build: Annotated[
        list[str] | None,
        typer.Option(
            "--build", "-b", help="A build to judge; may be given again. [default: now and planned]", show_default=False
        ),
    ] = None,
    rules: Annotated[
        list[Path] | None,
        typer.Option(
            "--rules",
            "-r",
            help="Where BOOK@EDITION is looked up; may be given again. [default: rulesets beside the car or here]",
            show_default=False,
        ),
    ] = None,
    on: Annotated[
        list[str] | None,
        typer.Option(
            "--on",
            metavar="DATE",
            help="The day that counts, such as 2027-04-10; given twice, the first is for OLD, the second for NEW.",
            show_default=False,
        ),
    ] = None,
    proposed: Annotated[bool, typer.Option("--proposed", help="Count proposed bulletins too, in NEW.")] = False,
    as_json: JsonOption = False,
    as_markdown: Annotated[bool, typer.Option("--markdown", help="Print Markdown for a web page.")] = False,
) -> None:
    """What changed between two editions. Clause by clause, by meaning, and what it does to a car."""
    if as_json and as_markdown:
        raise Refused("Choose one of --json and --markdown.")
    if build and car is None:
        raise Refused("--build says which builds of a car to judge: name the car, --car CAR.")
    days = [day_named(each) for each in on or []]
    if len(days) > 2:
        raise Refused("--on is given once for both, or twice: first for OLD, then for NEW.")
    day_old, day_new = (days[0], days[-1]) if days else (None, None)
    from tarebook.api import revise as answer

    the_car, before, after = _read(car, old, new, rules, day_old, day_new, proposed)
    builds = list(build or ("now", "planned"))
    judged_on: tuple[Days, Days] | None = None
    if the_car is not None:
        builds = known_names("build", builds, the_car.inventory.build_names())
        own = days_of(the_car, builds, None)
        judged_on = (day_old or own, day_new or own)
    revision = answer(before, after, car=the_car, builds=builds, on=judged_on)
    if as_json:
        from tarebook.show.revise import revision_document

        print_json(revision_document(revision))
    elif as_markdown:
        from tarebook.show.revise_markdown import revision_markdown

        print("\n".join(revision_markdown(revision)))
    else:
        from tarebook.show.revise import revision_lines

        print("\n".join(revision_lines(revision)))
    raise typer.Exit(WORSE if any(effect.worse for effect in revision.effects) else SAME_OR_BETTER)


def _read(
    car: Path | None,
    old: str,
    new: str,
    rules: list[Path] | None,
    day_old: "datetime.date | None",
    day_new: "datetime.date | None",
    proposed: bool,
) -> "tuple[Car | None, list[RuleSet], list[RuleSet]]":
    """The car and both sides; all mistakes of all files come at once."""
    from tarebook.api import load_car
    from tarebook.toml_source import Mistake, MistakesFound

    mistakes: dict[Mistake, None] = {}
    the_car: Car | None = None
    sides: list[list[RuleSet]] = []
    if car is not None:
        try:
            the_car = load_car(car)
        except MistakesFound as found:
            mistakes.update(dict.fromkeys(found.mistakes))
    for named, day, with_proposals in ((old, day_old, False), (new, day_new, proposed)):
        try:
            sides.append(_side(named, rules, rules or rules_nearby(car or Path()), day, with_proposals))
        except MistakesFound as found:
            mistakes.update(dict.fromkeys(found.mistakes))
    if mistakes:
        raise MistakesFound(tuple(mistakes))
    before, after = sides
    return the_car, before, after


def _side(
    named: str, beside: list[Path] | None, rules: list[Path], day: "datetime.date | None", proposed: bool
) -> "list[RuleSet]":
    """The editions that OLD or NEW names, complete with what they have from the rule sets `beside` them.

    Raises Refused, NotInForce, MistakesFound.
    """
    from tarebook.api import load_rules

    path = Path(named)
    if path.is_dir():
        return _of_folder(path, day, proposed)
    if path.exists() or "@" not in named or named.endswith(".toml"):
        if proposed:
            raise Refused(f"{named} is one file, without bulletins: --proposed needs a folder, or BOOK@EDITION.")
        read = load_rules(path, *(beside or ()))
        return [_whole(each, read) for each in read if each.source.name == str(path)]
    if not rules:
        raise Refused(f"Where is {named}? Name a rule-set file or a folder of them: --rules PATH.")
    book, _, edition = named.rpartition("@")
    editions = load_rules(*rules)
    found = [each for each in editions if (each.id, each.edition) == (book, edition)]
    if not found:
        from tarebook.rules.folders import inner_folders

        # A folder of rule sets is read without the folders within it; an edition that is named by its book may
        # stand in one of those.
        within = inner_folders(rules)
        names = [f"{each.id}@{each.edition}" for each in editions]
        names += [f"{book_id}@{number}" for each in within for book_id, number in each.editions]
        known_names("edition", [named], names)
        editions = load_rules(*rules, *(each.path for each in within if (book, edition) in each.editions))
        found = [each for each in editions if (each.id, each.edition) == (book, edition)]
    if len(found) > 1:
        files = " and ".join(each.source.name for each in found)
        raise Refused(f"{named} is there more than once: {files}. Name the file that you mean.")
    if proposed and day is None:
        raise Refused("--proposed needs a day on which the bulletins are counted: --on DATE.")
    return [_whole(found[0] if day is None else found[0].amended(day, proposed=proposed), editions, day)]


def _whole(edition: "RuleSet", editions: "list[RuleSet]", day: "datetime.date | None" = None) -> "RuleSet":
    """An edition with what it has from other books, as these stand on a day; without one, on its own first day."""
    when = day or edition.file.book.in_force.from_
    return edition.complete(each.amended(when) for each in editions if each.covers(when))


def _of_folder(folder: Path, day: "datetime.date | None", proposed: bool) -> "list[RuleSet]":
    """A folder as it holds on a day; without a day, the one edition that it has of each book, as printed."""
    from tarebook.api import load_rules
    from tarebook.rules.editions import by_book, in_force

    editions = load_rules(folder)
    if day is not None:
        return in_force(editions, day, proposed=proposed)
    if proposed:
        raise Refused("--proposed needs a day on which the bulletins are counted: --on DATE.")
    several = [book for book, known in by_book(editions).items() if len(known) > 1]
    if several:
        raise Refused(f"{folder} has several editions of {several[0]}. Name the day that counts: --on DATE.")
    return [_whole(each, editions) for each in editions]
