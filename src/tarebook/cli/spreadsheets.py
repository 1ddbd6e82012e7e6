"""`parts export` and `parts import`: parts and jobs as CSV, both ways."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import CarArgument
from tarebook.cli.quick import QuickCommand, QuickGroup
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tarebook.api import Car
    from tarebook.car.spreadsheet import Plan, Table
    from tarebook.car.spreadsheet.columns import Which

parts = typer.Typer(
    cls=QuickGroup,
    help="Parts and jobs as CSV. For spreadsheets: out of a car file and into one.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@parts.command("export", cls=QuickCommand)
def export(
    car: CarArgument,
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE]", help="Where to write it. [default: the output]", show_default=False),
    ] = None,
    jobs: Annotated[bool, typer.Option("--jobs", help="The jobs in place of the parts.")] = False,
    semicolon: Annotated[bool, typer.Option("--semicolon", help="A semicolon between cells, not a comma.")] = False,
    decimal_comma: Annotated[
        bool, typer.Option("--decimal-comma", help="Decimal commas, and so a semicolon between cells.")
    ] = False,
) -> None:
    """Write the parts or the jobs of a car as CSV."""
    from tarebook.api import load_car
    from tarebook.car.spreadsheet import SpreadsheetRefused, export_csv
    from tarebook.toml_source import show_plain

    the_car = load_car(car)
    which: Which = "job" if jobs else "part"
    try:
        text = export_csv(the_car, which, semicolon=semicolon, decimal_comma=decimal_comma)
    except SpreadsheetRefused as refused:
        raise Refused(str(refused)) from None
    if file is None:
        _print_csv(text)
        return
    try:
        with file.open("xb") as new:
            new.write(text.encode())
    except FileExistsError:
        raise Refused(f"{file} is there already, and nothing is overwritten: name another place.") from None
    except OSError as error:
        raise Refused(f"{file} cannot be written: {error.strerror}.") from None
    count = len(the_car.source.data.get(which, []))
    print(show_plain(f"Written: {file}, with {count} {which}{'s' * (count != 1)}."))


def _on_a_terminal() -> bool:
    return sys.stdout.isatty()


def _print_csv(text: str) -> None:
    """The text byte for byte; on a terminal, which would act on them, control characters are spelled out."""
    from tarebook.toml_source import show_plain

    if _on_a_terminal():
        print("\n".join(show_plain(line) for line in text.replace("\r\n", "\n").removesuffix("\n").split("\n")))
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode())


@parts.command("import", cls=QuickCommand)
def import_(
    car: CarArgument,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The CSV file.", show_default=False)],
    jobs: Annotated[bool, typer.Option("--jobs", help="The file holds jobs, not parts.")] = False,
    with_jobs: Annotated[
        Path | None,
        typer.Option(
            "--with-jobs",
            metavar="FILE",
            help="A CSV file of jobs to take in together with the parts.",
            show_default=False,
        ),
    ] = None,
    preview: Annotated[bool, typer.Option("--preview", help="Show what would be added, and write nothing.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Write it without a question, with the guessed kinds.")] = False,
    kinds_from_titles: Annotated[
        bool, typer.Option("--kinds-from-titles", help="Take guessed kinds without asking for each of them.")
    ] = False,
) -> None:
    """Add the parts or jobs of a CSV file to a car file. What is there already is never changed."""
    from tarebook.api import load_car
    from tarebook.cli.logbook.questions import agreed, say, terminal
    from tarebook.show.spreadsheet import preview_lines

    if jobs and with_jobs is not None:
        raise Refused("Either --jobs, where FILE holds jobs, or --with-jobs and a second file.")
    the_car = load_car(car)
    tables = _tables(file, "job" if jobs else "part", with_jobs)
    plan = _plan(the_car, tables)
    print("\n".join(preview_lines(plan)))
    if not plan.new:
        print("\nNothing to add.")
        return
    if preview:
        return
    if not yes:
        if not terminal():
            raise Refused("Nothing was written. Add --yes to write this, or --preview only to look at it.")
        if not kinds_from_titles and plan.guesses:
            chosen = _chosen_kinds(plan)
            plan = _plan(the_car, tables, chosen) if chosen else plan
        if not agreed("Write this?"):
            say("Nothing was written.")
            return
    _write(car, plan)


def _tables(file: Path, which: "Which", with_jobs: Path | None) -> "list[Table]":
    """The files taken apart; all mistakes of both come at once."""
    from tarebook.car.spreadsheet import read_csv, recognised
    from tarebook.toml_source import Mistake, MistakesFound

    tables: list[Table] = []
    mistakes: list[Mistake] = []
    files: list[tuple[Path, Which]] = [(file, which)]
    if with_jobs is not None:
        files.append((with_jobs, "job"))
    for path, holds in files:
        try:
            tables.append(recognised(read_csv(path), holds))
        except MistakesFound as found:
            mistakes += found.mistakes
    if mistakes:
        raise MistakesFound(mistakes)
    return tables


def _plan(car: "Car", tables: "list[Table]", kinds: "Mapping[int, str] | None" = None) -> "Plan":
    from tarebook.car.spreadsheet import SpreadsheetRefused, plan_import

    try:
        return plan_import(car, tables, kinds)
    except SpreadsheetRefused as refused:
        raise Refused(str(refused)) from None


def _chosen_kinds(plan: "Plan") -> dict[int, str]:
    """Ask for each guessed kind; those that were chosen instead come back, by row."""
    from tarebook.cli.logbook.questions import answer, say
    from tarebook.kinds import builtin

    tree = builtin().extended(plan.edited.car.own_kinds)
    chosen: dict[int, str] = {}
    for entry in plan.guesses:
        guess = str(entry.data["kind"])
        while True:
            word = answer(f'Row {entry.row}, "{entry.guessed_from}": {guess}? (Enter takes it, or write another kind)')
            if word.casefold() in ("", "y", "yes"):
                break
            if word in tree:
                chosen[entry.row] = word
                break
            found = ", ".join(kind.path for kind in tree.search(word)[:6])
            hint = f"There are: {found}." if found else tree.suggest(word) or "tarebook kinds lists them all."
            say(f"  {hint[0].upper()}{hint[1:]}")
    return chosen


def _write(car: Path, plan: "Plan") -> None:
    from tarebook.car.editing import EditRefused, write_edited
    from tarebook.show.spreadsheet import counted
    from tarebook.toml_source import show_plain

    try:
        write_edited(car, plan.edited)
    except EditRefused as refused:
        raise Refused(str(refused)) from None
    print()
    lines = iter(plan.edited.lines)
    for table in plan.tables:
        if new := [each for each in plan.new if each.table is table]:
            print(show_plain(f"Written: {car}:{next(lines)}: {counted(table, new)}."))
