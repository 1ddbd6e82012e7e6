"""A change to the car file from start to end: looked over, previewed, agreed to, written, and told."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tarebook.cli.logbook.questions import Asking, Values, agreed, ask_again, questioned, say, terminal
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tarebook.api import Car
    from tarebook.car.editing import Change, Edited


def add_entry(
    car: Path,
    asking: Asking,
    options: dict[str, Any],
    *,
    preview: bool,
    optional: frozenset[str] = frozenset(),
    complete: Callable[[Values, bool], None] = lambda values, interactive: None,
    doubts: Callable[[Values], list[str]] = lambda values: [],
) -> None:
    """Add an entry to the table that the questions are about.

    Where no option answers a question and somebody is there, all are asked, save those whose key begins with one of
    `optional`; where some do, only what is needed yet. `complete` adds what follows from the values, and is told
    whether it may ask. `doubts` are questions about masses; where one is not kept, the masses are asked for again.
    """
    from tarebook.car.editing import AddEntries
    from tarebook.toml_source import MistakesFound, render

    values = asking.from_options(options)
    bare = not values
    interactive = terminal() and (bare or bool(asking.missing(values)))
    if not interactive:
        asking.refuse_missing(values)
    for question in asking.questions if interactive else ():
        wanted = bare and question.key[0] not in optional and question.when(values)
        if question.key not in values and (wanted or question.needed):
            asking.ask(question, values)
    while True:
        complete(values, interactive)
        if not questioned(doubts(values), interactive=interactive, sure=asking.sure):
            asking.ask_masses_again(values)
            continue
        entry = asking.entry(values)
        try:
            after = changed(asking.car, [AddEntries(asking.table, [entry])], quiet=interactive)
        except MistakesFound as found:
            if not interactive:
                raise
            for mistake in found.mistakes:
                say(render(mistake))
            if not ask_again(asking, [mistake.path for mistake in found.mistakes], values):
                raise Refused("Nothing was written.") from None
            continue
        break
    finish(car, after, f'{asking.table} "{entry["id"]}"', preview=preview, interactive=interactive)


def changed(car: "Car", changes: "Sequence[Change]", *, quiet: bool = False) -> "Edited":
    """The file with these changes. Raises Refused, or MistakesFound with a word before it unless `quiet`."""
    from tarebook.car.editing import EditRefused, edited
    from tarebook.toml_source import MistakesFound

    try:
        return edited(car.source, changes)
    except EditRefused as refused:
        raise Refused(str(refused)) from None
    except MistakesFound:
        if not quiet:
            say("Nothing was written, as the file would then have mistakes:")
        raise


def finish(car: Path, after: "Edited", what: str, *, preview: bool, interactive: bool) -> None:
    """Show the change, or write it and say where it stands. `what` is what has been added, in a few words."""
    from tarebook.car.editing import EditRefused, write_edited
    from tarebook.show.preview import diff_lines
    from tarebook.toml_source import show_plain

    if preview:
        print("\n".join(diff_lines(after)))
        return
    if interactive:
        say("\n".join(diff_lines(after)))
        if not agreed("Write this?"):
            say("Nothing was written.")
            return
    try:
        write_edited(car, after)
    except EditRefused as refused:
        raise Refused(str(refused)) from None
    print(show_plain(f"Written: {car}:{after.lines[0]}: {what}."))
