"""A command that takes texts and paths as they are given.

typer loads a general validation library to look at every parameter, which takes longer than a whole check. A text
needs no looking at, and a path is looked at when the file is read.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args, get_origin

from typer.core import TyperCommand, TyperGroup


class _AsGiven:
    """Stands where typer keeps what it looks at a parameter with."""

    def __init__(self, kind: Callable[[str], object]) -> None:
        self._kind = kind

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        many = param.multiple or param.nargs == -1
        if value is None:
            return () if many else None
        return tuple(self._kind(each) for each in value) if many else self._kind(value)


def _quicken(param: Any) -> None:
    annotation = param.type_descriptor.annotation
    inner = get_args(annotation)[0] if get_origin(annotation) is list else annotation
    if inner in (str, Path, bool):
        param._runtime_param = _AsGiven(inner)


class _Quick:
    """What a command and a group of commands share: texts, paths and flags are taken as given."""

    def get_params(self, ctx: Any) -> list[Any]:
        """The parameters, each made ready."""
        # The class of typer that this one is mixed into has it; a mixin by itself cannot say so.
        params: list[Any] = super().get_params(ctx)  # type: ignore[misc]
        for param in params:
            _quicken(param)
        return params


class QuickCommand(_Quick, TyperCommand):
    """A command whose texts, paths and flags are taken as given; other parameters are left to typer."""


class QuickGroup(_Quick, TyperGroup):
    """A group of commands, likewise."""
