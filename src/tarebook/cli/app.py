"""The application: its commands, and what becomes of an error."""

import sys
from contextlib import suppress
from importlib import import_module
from typing import Annotated, Any

import typer

from tarebook.cli.quick import QuickCommand, QuickGroup
from tarebook.cli.status import BROKEN, WRONG, Refused

# Each command by its name: the module that has a function of that name, and whether its parameters are taken as given.
_COMMANDS: dict[str, tuple[str, bool]] = {
    "demo": ("starters", True),
    "check": ("answers", True),
    "why": ("answers", True),
    "removals": ("removing", True),
    "route": ("routing", True),
    "choose": ("choosing", True),
    "mass": ("weights", True),
    "reconcile": ("reconciling", True),
    "tally": ("tallying", True),
    "weigh": ("logging_work", True),
    "revise": ("revising", True),
    "record": ("recording", True),
    "recheck": ("recording", True),
    "proofread": ("proofreading", True),
    "new": ("starters", False),
    "kinds": ("names", True),
    "facts": ("names", True),
    "schema": ("starters", False),
}
_GROUPS = {"log": "logging_work", "parts": "spreadsheets"}


def application(asked: str | None) -> typer.Typer:
    """The application with the one command that is asked for, where that is one; else with all of them.

    Making all of them ready takes as long as a check.
    """
    app = typer.Typer(
        name="tarebook",
        cls=QuickGroup,
        help="Which competition classes may this car enter, now and as planned.",
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["--help", "-h"]},
    )
    app.callback()(_options)
    one = asked in _COMMANDS or asked in _GROUPS
    for name, (module, as_given) in _COMMANDS.items():
        if not one or name == asked:
            app.command(name, cls=QuickCommand if as_given else None)(getattr(_module(module), name))
    for name, module in _GROUPS.items():
        if not one or name == asked:
            app.add_typer(getattr(_module(module), name), name=name)
    return app


def _module(name: str) -> Any:
    return import_module(f"tarebook.cli.{name}")


def _version(asked: bool) -> None:
    if asked:
        from tarebook.version import __version__

        typer.echo(f"tarebook {__version__}")
        raise typer.Exit


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
        given = sys.argv[1:] if arguments is None else arguments
        app = application(given[0] if given else None)
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
