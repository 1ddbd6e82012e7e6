"""Classes that no car can enter: what they ask for cannot all be true of one car."""

from collections.abc import Iterator
from typing import NamedTuple

from tarebook.judge.decision_diagrams import Diagram
from tarebook.judge.wording import listed
from tarebook.meaning.space import Space
from tarebook.proofread.findings import Blemish
from tarebook.proofread.study import Study
from tarebook.rules.classes import ClassInFull, Path
from tarebook.rules.conditions import AnyOf, Happened, Node, Not

MOST_NAMED = 30  # demands of one conflict; of more, nothing is said


class Demand(NamedTuple):
    """Something that a class asks of every car, while `only_if` holds."""

    form: str
    clause: str
    path: Path
    only_if: Node | None
    must: Node

    @property
    def nodes(self) -> tuple[Node | None, Node]:
        return self.only_if, self.must


def demands(study: Study, full: ClassInFull) -> Iterator[Demand]:
    """What a class asks of every car, as far as it is a matter of conditions and of what is on the car."""
    for form in ("enter", "require"):
        for placed in full.rules[form]:
            must = study.node(placed.path, "must")
            if must is not None:
                yield Demand(form, placed.rule.clause, placed.path, study.node(placed.path), must)
    for placed in full.rules["need"]:
        rule = placed.rule
        fitted = [Happened("fitted", (kind,)) for kind in dict.fromkeys(rule.kinds)]
        wanted = rule.at_least or len(rule.kinds)
        if rule.whole or wanted not in (1, len(fitted)):
            continue
        each_alone: list[Node] = [AnyOf(tuple(fitted))] if wanted == 1 else list(fitted)
        for node in each_alone:
            yield Demand("need", rule.clause, placed.path, study.node(placed.path), node)
    for placed in full.rules["strip"]:
        gone = Not(Happened("fitted", tuple(placed.rule.kinds)))
        yield Demand("strip", placed.rule.clause, placed.path, study.node(placed.path), gone)


def together(space: Space, wanted: list[Demand]) -> Diagram:
    """Where all of the demands are met."""
    return space.both(*(_met(space, each) for each in wanted))


def _met(space: Space, demand: Demand) -> Diagram:
    return space.either(space.negated(space.holds(demand.only_if)), space.holds(demand.must))


def classes_that_nobody_can_enter(study: Study) -> Iterator[Blemish]:
    told: set[frozenset[Path]] = set()
    for full in study.classes:
        wanted = list(demands(study, full))

        def question(space: Space, wanted: list[Demand] = wanted) -> list[Demand]:
            return _in_conflict(space, wanted)

        conflict = study.ask([node for each in wanted for node in each.nodes], (), question) or []
        paths = frozenset(each.path for each in conflict)
        # A demand that nothing can meet is told as a condition that can never hold.
        if len(paths) > 1 and paths not in told:
            told.add(paths)
            yield _told(study, full, conflict)


def _in_conflict(space: Space, wanted: list[Demand]) -> list[Demand]:
    """Demands that cannot be met together, though without any one of them they could; none where all can be."""
    if together(space, wanted) != 0:
        return []
    needed: list[Demand] = []
    rest = list(wanted)
    while rest:
        if len(needed) > MOST_NAMED:
            return []
        # The demand at which the growing set becomes impossible belongs to the conflict; those after it do not.
        found = together(space, needed)
        if found == 0:
            break
        for index, each in enumerate(rest):
            found = space.both(found, _met(space, each))
            if found == 0:
                needed.append(each)
                rest = rest[:index]
                break
    return needed


def _told(study: Study, full: ClassInFull, conflict: list[Demand]) -> Blemish:
    ranks = {placed.path: placed.rank.order for form in full.rules.values() for placed in form}
    by_place = sorted({each.path: each for each in conflict}.values(), key=lambda each: study.written_at(each.path))
    # Told at the class's own rule, and of several at the last: it is the one that closes the class.
    nearest = min(ranks[each.path] for each in by_place)
    first = [each for each in by_place if ranks[each.path] == nearest][-1]
    others = [each for each in by_place if each is not first]
    names = listed(study.cited(each.clause, each.path) for each in others)
    word = "clause" if len(others) == 1 else "clauses"
    sentence = f'No car can enter class "{full.id}": clause {first.clause} cannot be met together with {word} {names}.'
    return study.blemish(first.path, "nobody-can-enter", first.clause, sentence, others[0].clause)
