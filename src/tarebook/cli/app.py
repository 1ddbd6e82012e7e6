"""The application: its commands, and what becomes of an error."""

import gc
import sys
from typing import Annotated

import typer

from tarebook.cli import answers, names, starters
from tarebook.cli.status import BROKEN, WRONG, Refused

app = typer.Typer(
    name="tarebook",
    help="Which competition classes may this car enter, now and as planned.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"]},
)
app.command("demo")(starters.demo)
app.command("check")(answers.check)
app.command("removals")(answers.removals)
app.command("why")(answers.why)
app.command("new")(starters.new)
app.command("kinds")(names.kinds)
app.command("facts")(names.facts)
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


def main() -> None:
    """Run the command line and leave with its exit status."""
    gc.disable()  # a command lives for a moment; collecting on the way only delays the answer
    sys.exit(run())


def run(arguments: list[str] | None = None) -> int:
    """Run the command line; the exit status comes back. Nothing is raised."""
    try:
        return _status(app(arguments, standalone_mode=True))
    except SystemExit as left:
        return _status(left.code)
    except Refused as refused:
        print(refused, file=sys.stderr)
        return WRONG
    except BrokenPipeError:
        # The reader of our output has left; that is no defect.
        sys.stderr.close()
        return BROKEN_PIPE
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        return _defect(error)


BROKEN_PIPE = 141
INTERRUPTED = 130


def _status(code: object) -> int:
    return code if isinstance(code, int) else 0


def _defect(error: Exception) -> int:
    from tarebook.toml_source import MistakesFound, render

    if isinstance(error, MistakesFound):
        print("\n".join(render(mistake) for mistake in error.mistakes), file=sys.stderr)
        return WRONG
    last = error.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    place = f"{last.tb_frame.f_globals.get('__name__', '?')}:{last.tb_lineno}" if last is not None else "?"
    print(
        f"tarebook: a defect of this program, not of your files: {type(error).__name__} at {place}. "
        "Please report it with the command that you gave.",
        file=sys.stderr,
    )
    return BROKEN
