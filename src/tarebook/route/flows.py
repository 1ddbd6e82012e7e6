"""What becomes of a part, job by job: the ways through its jobs as a small graph, one path for each choice of them.

A unit of flow through the graph says which way was chosen. What the part brings to a mass hangs on where the flow ends,
so masses are linear in the flow, however many jobs touch the part.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

S = TypeVar("S", bound=Hashable)


class Arc(NamedTuple):
    """At one job, from one state to the next; `done` where the job is chosen."""

    job: int
    before: int
    after: int
    done: bool


@dataclass(slots=True, eq=False)
class Flow(Generic[S]):
    """The graph of one part, or of several that fare alike.

    Attributes:
        jobs: the free jobs that touch it, in the order in which they act.
        arcs: nodes are numbered from 0, the start.
        ends: the nodes where paths end, each with its state.
        ways: for each end, one choice of the jobs that leads there.
    """

    jobs: tuple[str, ...]
    arcs: tuple[Arc, ...]
    ends: dict[int, S]
    ways: dict[int, frozenset[str]]
    next: dict[tuple[int, bool], int]

    def end(self, chosen: frozenset[str]) -> int:
        """The node where a choice of jobs ends."""
        node = 0
        for job in self.jobs:
            node = self.next[(node, job in chosen)]
        return node


def flow_of(jobs: Sequence[str], start: S, step: Callable[[S, str, bool], S]) -> Flow[S]:
    """The graph of all choices of some jobs, where `step` gives the state after each job, chosen or not."""
    layer: dict[S, int] = {start: 0}
    ways: dict[int, frozenset[str]] = {0: frozenset()}
    arcs: list[Arc] = []
    following: dict[tuple[int, bool], int] = {}
    count = 1
    for index, job in enumerate(jobs):
        after: dict[S, int] = {}
        for state, node in layer.items():
            for done in (False, True):
                reached = step(state, job, done)
                if reached not in after:
                    after[reached] = count
                    ways[count] = ways[node] | {job} if done else ways[node]
                    count += 1
                arcs.append(Arc(index, node, after[reached], done))
                following[(node, done)] = after[reached]
        layer = after
    ends = {node: state for state, node in layer.items()}
    return Flow(tuple(jobs), tuple(arcs), ends, {node: ways[node] for node in ends}, following)
