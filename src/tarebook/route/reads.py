"""What a question looks at, beside the jobs that it is about: facts of the build, and events."""

from collections.abc import Iterable
from typing import NamedTuple

from tarebook.judge.prepared import fact_tests
from tarebook.route.touching import NO_JOBS, Jobs, Touching
from tarebook.rules.conditions import Happened, Node, walk


class Reads(NamedTuple):
    """What a question looks at: jobs themselves, facts of the build, and events as (event, kind)."""

    jobs: Jobs = NO_JOBS
    facts: frozenset[str] = frozenset()
    events: frozenset[tuple[str, str]] = frozenset()

    def and_also(self, other: "Reads") -> "Reads":
        return Reads(self.jobs | other.jobs, self.facts | other.facts, self.events | other.events)


def reads_of(touching: Touching, nodes: Iterable[Node], facts: Iterable[str] = ()) -> Reads:
    """What conditions look at, and what equivalences make of the facts."""
    found = Reads(facts=frozenset(facts))
    for node in nodes:
        found = found.and_also(_of_node(node))
    for fact in found.facts:
        for node in touching.counting.get(fact, ()):
            found = found.and_also(_of_node(node))
    return found


def _of_node(node: Node) -> Reads:
    facts = frozenset(fact for _, names in fact_tests(node) for fact in names)
    events = frozenset((each.event, kind) for each in walk(node) if isinstance(each, Happened) for kind in each.kinds)
    return Reads(facts=facts, events=events)
