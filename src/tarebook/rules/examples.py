"""A rule set's own examples, as they are read: what they name must exist, and what they say must fit together."""

from collections.abc import Collection, Iterator

from tarebook.fact_values import FactError, read_value
from tarebook.kinds import EVERYTHING
from tarebook.names import did_you_mean
from tarebook.rules.classes import references
from tarebook.rules.conditions import ConditionReader
from tarebook.rules.models import Example, RulesFile
from tarebook.tables import MOST_HINTS
from tarebook.toml_source import Mistake, Source

Path = tuple[str | int, ...]
VERDICT_WORDS = ("eligible", "not-eligible", "too-close", "undecided")
RESULT_WORDS = ("violation", "owed", "allowed", "met", "ask", "undecided", "too-close", "not-in-play")
EVENT_KEYS = ("removed", "swapped", "fitted", "lightened", "moved")
_OF_A_BULLETIN = "If a bulletin adds it, state a day on which it holds: on = 2027-06-01"
_CAR_KEYS = ("facts", "present", "absent", *EVENT_KEYS, "finishes", "mass")  # what a car file says in their place


class ExampleChecks:
    """Checks the examples of one rule-set file. The car file of an example is left to its running.

    `conditions` knows the kinds and facts of the book, and notes those that are unknown; `covering` holds every
    clause of the book, and every clause that another one stands under.
    """

    def __init__(
        self,
        file: RulesFile,
        source: Source,
        conditions: ConditionReader,
        units: dict[str, str | None],
        covering: Collection[str],
    ) -> None:
        self._file = file
        self._source = source
        self._conditions = conditions
        self._units = units
        self._covering = covering
        self._classes = [each.id for each in file.class_]
        self._mistakes: list[Mistake] = []

    def run(self) -> list[Mistake]:
        """All mistakes of the examples, but for the names that `conditions` has noted."""
        for index, example in enumerate(self._file.example):
            path: Path = ("example", index)
            if example.class_ not in self._classes:
                self._unknown((*path, "class"), "class", example.class_, self._classes)
            if example.car is not None:
                self._with_car_file(example, example.car, path)
            else:
                self._described(example, path)
            self._day(example, path)
            self._expected(example, path)
        return self._mistakes

    def _note(self, path: Path, message: str, hint: str = "", *, key: bool = False, what: str = "wrong-value") -> None:
        self._mistakes.append(self._source.mistake(path, message, hint, key=key, what=what))

    def _unknown(self, path: Path, what: str, name: str, known: Collection[str], also: str = "") -> None:
        near = did_you_mean(name, known) if len(self._mistakes) < MOST_HINTS else ""
        hint = near or f"there are {', '.join(list(known)[:8])}{'.' * bool(also)}"
        self._note(path, f'there is no {what} "{name}"', f"{hint} {also}".rstrip(), what=f"unknown-{what}")

    def _with_car_file(self, example: Example, car: str, path: Path) -> None:
        for key in _CAR_KEYS:
            if key in example.stated:
                self._note((*path, key), f'"{key}" does not go with car: the car file says it', key=True)
        problem = name_problem(car)
        if problem:
            hint = 'write its name within the folder of the rule set, such as car = "heron.toml"'
            self._note((*path, "car"), f"the car file of an example stands beside the rule set: {problem}", hint)

    def _described(self, example: Example, path: Path) -> None:
        if "build" in example.stated:
            self._note((*path, "build"), "a build is one of a car file, and no car is named", key=True)
        for name, value in example.facts.items():
            fact = self._conditions.fact_known(name, (*path, "facts", name), key=True)
            if fact is not None:
                try:
                    read_value(value, fact, self._units)
                except FactError as error:
                    self._note((*path, "facts", name), str(error))
        seen: dict[str, str] = {}
        for key, where, kind in self._kinds(example, EVENT_KEYS, path):
            before = seen.setdefault(kind, key)
            if before != key and {before, key} != {"lightened", "moved"}:
                self._note(where, f'"{kind}" is both {before} and {key}: say what became of it in the end')
        present = {kind for _, _, kind in self._kinds(example, ("present",), path)}
        for _, where, kind in self._kinds(example, ("absent",), path):
            if kind in present:
                self._note(where, f'"{kind}" is both present and absent')
        for index, finish in enumerate(example.finishes):
            self._kind(finish.area, (*path, "finishes", index, "area"))

    def _kinds(self, example: Example, keys: tuple[str, ...], path: Path) -> Iterator[tuple[str, Path, str]]:
        """The known kinds of some lists, each with its list and its place; what is wrong with others is noted."""
        for key in keys:
            kinds: list[str] = getattr(example, key)
            for index, kind in enumerate(kinds):
                where: Path = (*path, key, index)
                if kind in kinds[:index]:
                    self._note(where, f'"{kind}" is listed twice')
                elif self._kind(kind, where):
                    yield key, where, kind

    def _kind(self, kind: str, path: Path) -> bool:
        if kind == EVERYTHING:
            self._note(path, '"everything" is the root of the tree: name a kind under it')
            return False
        return self._conditions.kind_known(kind, path)

    def _day(self, example: Example, path: Path) -> None:
        days = self._file.book.in_force
        if example.on is not None and (example.on < days.from_ or (days.until is not None and days.until < example.on)):
            self._note((*path, "on"), "this edition is not in force on that day")

    def _expected(self, example: Example, path: Path) -> None:
        if example.clause is None:
            if example.expect not in VERDICT_WORDS:
                self._note(
                    (*path, "expect"),
                    f'"{example.expect}" is the result of a clause, and none is named',
                    f'add clause = "...", or expect a verdict: {", ".join(VERDICT_WORDS)}',
                )
        else:
            if example.expect not in RESULT_WORDS:
                self._note(
                    (*path, "expect"),
                    f'"{example.expect}" is a verdict, and a clause has a result',
                    f"results are {', '.join(RESULT_WORDS)}",
                )
            self._clause_known(example, example.clause, (*path, "clause"))
            if "because" in example.stated:
                self._note((*path, "because"), "because goes with a verdict, not with a clause of its own", key=True)
        for index, clause in enumerate(example.because):
            self._clause_known(example, clause, (*path, "because", index))

    def _clause_known(self, example: Example, clause: str, path: Path) -> None:
        """On the day that an example states, its clause may be one of a bulletin's: that shows when it is run."""
        elsewhere = any(clause.startswith(f"{book}.") for book, _ in references(self._file).values())
        if example.on is None and clause not in self._covering and not elsewhere:
            self._unknown(path, "clause", clause, sorted(self._covering), _OF_A_BULLETIN)


def name_problem(name: str) -> str:
    """Why a text may not name a file within a folder; "" if it may.

    Of a name that passes, links may still lead out of the folder: that shows when the file is looked for.
    """
    if not name or not name.isprintable():
        return "this is not the name of a file"
    if "\\" in name or ":" in name:
        return "its name has no backslash and no colon, and it is no address"
    if name.startswith("/"):
        return "its name does not begin at the root of the disk"
    if ".." in name.split("/"):
        return "its name does not lead out of the folder"
    return ""
