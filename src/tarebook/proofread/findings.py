"""What proofreading finds: one blemish, with its clause and its exact place."""

from dataclasses import dataclass
from pathlib import PurePath

from tarebook.rules.classes import Path
from tarebook.toml_source import Source


@dataclass(frozen=True, slots=True)
class Blemish:
    """One mistake of sense.

    Attributes:
        what: the sort of mistake in short hyphenated words, such as "never-decides".
        clause: of the rule, class or group that it is about; "" where that states none.
        sentence: one plain sentence; where another rule is the cause, it names that rule's clause and place.
        file, line, column: where it stands; line and column count from 1.
        beaten_by: the clause of the rule that is the cause, or None.
    """

    what: str
    clause: str
    sentence: str
    file: str
    line: int
    column: int
    beaten_by: str | None = None


def blemish(
    source: Source, path: Path, what: str, clause: str | None, sentence: str, beaten_by: str | None = None
) -> Blemish:
    """A blemish at the value at a path of the rule set."""
    at = source.mistake(path, sentence)
    return Blemish(what, clause or "", sentence, at.file, at.line, at.column, beaten_by)


def place_of(source: Source, path: Path) -> str:
    """Where a rule stands, as sentences tell it: "harrow-hills.toml:84"."""
    file, line = source.where(path)
    return f"{PurePath(file).name}:{line}"
