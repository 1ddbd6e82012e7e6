"""The application: its commands, and what becomes of an error."""

import sys
from contextlib import suppress
from typing import Annotated

import typer

from tarebook.cli import (
    answers,
    logging_work,
    names,
    proofreading,
    reconciling,
    recording,
    revising,
    spreadsheets,
    starters,
    tallying,
    weights,
)
from tarebook.cli.quick import QuickCommand, QuickGroup
from tarebook.cli.status import BROKEN, WRONG, Refused

app = typer.Typer(
    name="tarebook",
    cls=QuickGroup,
    help="Which competition classes may this car enter, now and as planned.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"]},
)
app.command("demo", cls=QuickCommand)(starters.demo)
app.command("check", cls=QuickCommand)(answers.check)
app.command("removals", cls=QuickCommand)(answers.removals)
app.command("why", cls=QuickCommand)(answers.why)
app.command("mass", cls=QuickCommand)(weights.mass)
app.command("reconcile", cls=QuickCommand)(reconciling.reconcile)
app.command("tally", cls=QuickCommand)(tallying.tally)
app.command("record", cls=QuickCommand)(recording.record)
app.command("recheck", cls=QuickCommand)(recording.recheck)
app.command("proofread", cls=QuickCommand)(proofreading.proofread)
app.command("revise", cls=QuickCommand)(revising.revise)
app.command("new")(starters.new)
app.command("weigh", cls=QuickCommand)(logging_work.weigh)
app.add_typer(logging_work.log, name="log")
app.add_typer(spreadsheets.parts, name="parts")
app.command("kinds", cls=QuickCommand)(names.kinds)
app.command("facts", cls=QuickCommand)(names.facts)
app.command("schema")(starters.schema)


def _version(asked: bool) -> None:
    if asked:
        from tarebook.version import __version__

        typer.echo(f"tarebook {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Which competition classes may this car enter, now and as planned."""


def run(arguments: list[str] | None = None) -> int:
    """Run the command line; the exit status comes back. Nothing is raised."""
    try:
        status = _command(arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        return BROKEN_PIPE  # the reader of our output has left; that is no defect
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        status, text = _explained(error)
        with suppress(OSError):
            print(text, file=sys.stderr)
    return status


def _command(arguments: list[str] | None) -> int:
    try:
        app(arguments, prog_name="tarebook", standalone_mode=True)
    except SystemExit as left:
        if isinstance(left.__context__, BrokenPipeError):
            raise left.__context__ from None  # else it would leave with 1, which means "not eligible"
        return left.code if isinstance(left.code, int) else 0
    return 0


MOST_MISTAKES = 50  # that are printed: beyond these, nobody reads on
BROKEN_PIPE = 141
INTERRUPTED = 130


def _explained(error: Exception) -> tuple[int, str]:
    """The exit status for an error, and what to say of it."""
    from tarebook.rules.editions import NotInForce
    from tarebook.toml_source import MistakesFound, render, show_plain

    if isinstance(error, (Refused, NotInForce)):
        return WRONG, show_plain(str(error))
    if isinstance(error, MistakesFound):
        shown = [render(mistake) for mistake in error.mistakes[:MOST_MISTAKES]]
        more = len(error.mistakes) - len(shown)
        return WRONG, "\n".join([*shown, f"... and {more:,} more"] if more else shown)
    if isinstance(error, OSError):
        what = error.filename if isinstance(error.filename, str) else "the output"
        return WRONG, show_plain(f"{what} cannot be used: {error.strerror}. Name another place.")
    last = error.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    place = f"{last.tb_frame.f_globals.get('__name__', '?')}:{last.tb_lineno}" if last is not None else "?"
    return (
        BROKEN,
        f"tarebook: a defect of this program, not of your files: {type(error).__name__} at {place}. "
        "Please report it with the command that you gave.",
    )
