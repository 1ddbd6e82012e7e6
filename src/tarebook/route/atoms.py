"""Events as columns: one that is 1 where something of a kind is on the car, or something happened to it.

An event comes about through any of several sources: a part that is on, a cluster of parts that a change is of. Each
hangs on few jobs, whose states are all tried; the column is 1 where one of the sources is at work.
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from tarebook.judge.situation import EVENT_ACTIONS, Situation
from tarebook.kinds import covers
from tarebook.route.program import Form, Program, combined, plain
from tarebook.route.states import State, cover, states_of
from tarebook.route.touching import Jobs, Touching
from tarebook.route.workshop import Workshop

MOST_JOBS = 6  # of one source


class Source(NamedTuple):
    """One way in which an event may come about, and the jobs that it hangs on."""

    jobs: Jobs
    at_work: Callable[[Situation], bool]


class Atoms:
    """The columns of the events of one class, made when first asked for."""

    def __init__(self, workshop: Workshop, touching: Touching, program: Program) -> None:
        self._workshop = workshop
        self._touching = touching
        self._program = program
        self._names: dict[tuple[str, str], str | None] = {}

    def name(self, event: str, kind: str) -> str | None:
        """The name of an event's column; None where it cannot have one."""
        key = (event, kind)
        if key not in self._names:
            self._names[key] = self._make(event, kind)
        return self._names[key]

    def holds(self, event: str, kind: str, situation: Situation) -> bool:
        """Whether the event came about."""
        if event == "fitted":
            return situation.fitted(kind) == ((),)
        return situation.happened(event, kind)

    def _make(self, event: str, kind: str) -> str | None:
        if event == "fitted" and not self._known(kind):
            return None
        sources = list(self._parts_on(kind) if event == "fitted" else self._changes(event, kind))
        if any(len(source.jobs) > MOST_JOBS for source in sources):
            return None
        name = f"{event} {kind}"
        column = self._program.column_of[name] = self._program.column(0.0, 1.0, whole=True)
        at_work: list[Form] = []
        for source in sources:
            for cube in self._cubes(source):
                missed = self._program.missed(*cube)
                # The column is 1 where no job of the cube is otherwise.
                self._program.row(combined((1, self._program.only(column)), (1, missed)), low=1.0)
                at_work.append(self._all_of(cube))
        self._program.row(combined((-1, self._program.only(column)), *((1, each) for each in at_work)), low=0.0)
        return name

    def _all_of(self, cube: tuple[frozenset[str], frozenset[str]]) -> Form:
        """1 where all jobs are as the cube has them; of several jobs, a column that is no more than that."""
        literals = [self._program.missed((job,), ()) for job in sorted(cube[0])]
        literals += [self._program.missed((), (job,)) for job in sorted(cube[1])]
        if not literals:
            return plain(1.0)
        if len(literals) == 1:
            return combined((1, plain(1.0)), (-1, literals[0]))
        column = self._program.column(0.0, 1.0)
        for literal in literals:
            self._program.row(combined((1, self._program.only(column)), (1, literal)), high=1.0)
        return self._program.only(column)

    def _cubes(self, source: Source) -> list[tuple[frozenset[str], frozenset[str]]]:
        jobs = [job for job in self._workshop.free if job in source.jobs]
        rest = self._workshop.resting - source.jobs
        states = states_of(jobs, self._workshop.inventory.jobs)
        answers: dict[State, bool] = {}
        for state in states:
            chosen = {job for job, done in zip(jobs, state, strict=True) if done}
            answers[state] = source.at_work(self._workshop.situation(rest | chosen))
        cubes = cover((each for each, yes in answers.items() if yes), lambda state: answers.get(state, True))
        return [
            (
                frozenset(job for job, wanted in zip(jobs, cube, strict=True) if wanted is True),
                frozenset(job for job, wanted in zip(jobs, cube, strict=True) if wanted is False),
            )
            for cube in cubes
        ]

    def _known(self, kind: str) -> bool:
        """Whether nothing under the kind is only perhaps there."""
        presence = self._workshop.before.presence
        return not any(presence.word(thing) for thing in presence.tree.things_under(kind))

    def _parts_on(self, kind: str) -> Iterator[Source]:
        inventory, touching = self._workshop.inventory, self._touching
        for part_id, part in inventory.parts.items():
            if covers(kind, part.kind):
                yield Source(touching.of_part[part_id], _is_on(part_id))
        for thing in self._workshop.before.presence.tree.things_under(kind):
            yield Source(touching.of_thing(thing), _is_there(thing))

    def _changes(self, event: str, kind: str) -> Iterator[Source]:
        touching = self._touching
        for cluster in touching.clusters:
            yield Source(touching.of_cluster(cluster), _happened(frozenset(cluster), event, kind))


def _is_on(part_id: str) -> Callable[[Situation], bool]:
    return lambda situation: part_id in situation.configuration.on


def _is_there(thing: str) -> Callable[[Situation], bool]:
    return lambda situation: situation.thing_on(thing) == ()


def _happened(parts: frozenset[str], event: str, kind: str) -> Callable[[Situation], bool]:
    actions = EVENT_ACTIONS[event]
    return lambda situation: any(
        change.part in parts and change.action in actions and change.concerns(kind) for change in situation.changes
    )
