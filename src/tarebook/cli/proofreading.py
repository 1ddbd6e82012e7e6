"""`proofread`: the command that reads a rule set for mistakes and runs its own examples."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import JsonOption, day_named, print_json
from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, Refused

if TYPE_CHECKING:
    from fractions import Fraction

SOUND, FLAWED = ELIGIBLE, NOT_ELIGIBLE


def proofread(
    rules: Annotated[
        list[Path],
        typer.Argument(metavar="RULES...", help="Rule-set files, or folders of them.", show_default=False),
    ],
    on: Annotated[
        str | None,
        typer.Option(
            "--on",
            metavar="DATE",
            help="Of each book only the edition in force on that day, as amended. [default: every edition, as printed]",
            show_default=False,
        ),
    ] = None,
    proposed: Annotated[
        bool, typer.Option("--proposed", help="Count proposed bulletins too, on the day of --on or else today.")
    ] = False,
    require_coverage: Annotated[
        str | None,
        typer.Option(
            "--require-coverage",
            metavar="PERCENT",
            help="How many percent of the rules of each edition its examples must exercise.",
            show_default=False,
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Mistakes in a rule set, and its own examples. Also which rules no example exercises."""
    import datetime

    day = day_named(on) if on is not None else datetime.date.today() if proposed else None
    wanted = _percent(require_coverage)
    from tarebook.proofread.proofs import proofread as read_proofs

    proofs = read_proofs(rules, on=day, proposed=proposed)
    _tell_unread(rules)
    if as_json:
        from tarebook.show.proofread import proof_document

        print_json(proof_document(proofs))
    else:
        from tarebook.show.proofread import proof_lines

        print("\n".join(proof_lines(proofs, wanted)))
    coverages = [proof.coverage for proof in proofs.editions]
    covered = wanted is None or all(each is not None and each.percent >= wanted for each in coverages)
    raise typer.Exit(SOUND if proofs.sound and covered else FLAWED)


def _tell_unread(rules: list[Path]) -> None:
    """Say which folders within those that were named hold rule sets, too: they were not read."""
    from tarebook.rules.folders import inner_folders
    from tarebook.toml_source import show_plain

    for each in inner_folders(rules):
        if not any(path.resolve() == each.path.resolve() for path in rules):
            said = f"{each.path} holds rule sets, too, which were not read: name that folder to proofread them."
            print(show_plain(said), file=sys.stderr)


def _percent(text: str | None) -> "Fraction | None":
    from fractions import Fraction

    if text is None:
        return None
    number = text.removesuffix("%").strip()
    if not number.replace(".", "", 1).isdecimal() or not number.isascii() or len(number) > 20:
        raise Refused(f'"{text}" is not a percentage: write a number from 0 to 100, such as 80.')
    if Fraction(number) > 100:
        raise Refused(f"{text} is more than all: write a percentage from 0 to 100.")
    return Fraction(number)
