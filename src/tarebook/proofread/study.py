"""What all checks of sense share: the rule set, its classes in full, and exact answers about its conditions."""

from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from typing import Any, TypeVar

from tarebook.judge.prepared import PreparedBook, PreparedClass
from tarebook.meaning.space import Space, TooMany
from tarebook.meaning.words import Units, condition_text, units_of
from tarebook.proofread.findings import Blemish, blemish, place_of
from tarebook.rules.classes import ClassInFull, Path, line_of_classes
from tarebook.rules.conditions import Node
from tarebook.rules.models import PartBounds
from tarebook.rules.reading import RuleSet

T = TypeVar("T")
MOST_WORK = 300_000  # for one question
PATIENCE = 10  # questions that may be too much work, before no more are asked
MOST_ASKED = 1_000_000  # in all, where a question costs 100 and the square of its conditions


class Study:
    """One edition under study."""

    def __init__(self, rules: RuleSet) -> None:
        self.rules = rules
        self.file = rules.file
        self._counted = frozenset(
            placed.fact for holder in (*self.file.group, *self.file.class_) for placed in holder.counts
        )
        self._patience = PATIENCE
        self._left = MOST_ASKED

    @cached_property
    def classes(self) -> list[ClassInFull]:
        return [self.rules.class_in_full(class_id) for class_id in self.rules.class_ids]

    @cached_property
    def prepared(self) -> list[PreparedClass]:
        book = PreparedBook(self.rules)
        return [book.prepare(class_id) for class_id in self.rules.class_ids]

    @cached_property
    def units(self) -> Units:
        return units_of(self.rules)

    def ask(
        self, nodes: Iterable[Node | None], bounds: Iterable[PartBounds | None], question: Callable[[Space], T]
    ) -> T | None:
        """The answer to a question about some conditions and part bounds; None where it would take too much work."""
        nodes, bounds = list(nodes), list(bounds)
        self._left -= 100 + (len(nodes) + len(bounds)) ** 2
        if not self._patience or self._left < 0:
            return None
        try:
            return question(Space(self.rules.facts, nodes, bounds, self._counted, MOST_WORK))
        except TooMany:
            self._patience -= 1
            return None

    def never_holds(self, node: Node | None, bounds: PartBounds | None = None) -> bool:
        """Whether a condition, or bounds on a part, can surely never hold."""
        if node is None and bounds is None:
            return False
        return self.ask([node], [bounds], lambda space: space.holds(node) == 0 or space.keeps(bounds) == 0) or False

    def node(self, path: Path, key: str = "if") -> Node | None:
        return self.rules.nodes.get((*path, key))

    def words(self, node: Node) -> str:
        return condition_text(node, self.rules.facts, self.rules.tree, self.units)

    @cached_property
    def lines(self) -> list[frozenset[int]]:
        """By place in the file, each class with all those that it is like."""
        return [frozenset(index for index, _ in line_of_classes(self.file, each.id)) for each in self.file.class_]

    def uses(self, class_id: str) -> Iterator[str]:
        """The groups that a class uses itself, or by what it is like."""
        for _, each in line_of_classes(self.file, class_id):
            yield from each.uses

    def clause_at(self, path: Path) -> str:
        """The clause under which something of the file stands: of the nearest table around it that states one."""
        here: Any = self.rules.source.data
        found = ""
        for step in path:
            here = here[step]
            if isinstance(here, dict):
                found = str(here.get("clause", found))
        return found

    def place(self, path: Path) -> str:
        return place_of(self.rules.source, path)

    def written_at(self, path: Path) -> tuple[bool, str, int, int]:
        """Sorts places as they are written: the book's own file first, then bulletins; by line and column."""
        source = self.rules.source
        file, line = source.where(path)
        return (file != source.name, file, line, source.place(path)[1])

    def cited(self, clause: str | None, path: Path) -> str:
        """A clause with its place: "7.4 (harrow-hills.toml:84)"."""
        return f"{clause} ({self.place(path)})" if clause else self.place(path)

    def blemish(
        self, path: Path, what: str, clause: str | None, sentence: str, beaten_by: str | None = None
    ) -> Blemish:
        return blemish(self.rules.source, path, what, clause, sentence, beaten_by)
