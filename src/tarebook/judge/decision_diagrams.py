"""What a verdict depends on: a function of unknowns, kept as a reduced ordered decision diagram.

A diagram is a number at its leaves (how bad the result is), and at each node one unknown with a branch for each of
its values. Equal diagrams are one object, and a node whose branches are all equal is left out; so a function
depends on an unknown exactly if that unknown stands in its diagram (R. E. Bryant, 1986, for yes-or-no unknowns).
"""

from collections.abc import Callable, Sequence
from typing import Union

Diagram = Union[int, "Node"]


class TooMany(Exception):
    """More cases than may be tried for one class."""


class Node:
    """A choice: `order` says which unknown, `branches` has one diagram for each of its values."""

    __slots__ = ("branches", "order")

    def __init__(self, order: int, branches: tuple[Diagram, ...]) -> None:
        self.order = order
        self.branches = branches


class Diagrams:
    """Makes diagrams over one fixed order of unknowns. Raises TooMany once it has made more than `most` nodes."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._made: dict[tuple[int, tuple[int, ...]], Node] = {}
        self._worst: dict[tuple[int, int], Diagram] = {}

    def choice(self, order: int, branches: Sequence[Diagram]) -> Diagram:
        """`branches[i]` where unknown `order` has its value i; the branches may speak of any unknowns."""
        top = min([order, *(branch.order for branch in branches if isinstance(branch, Node))])
        if top == order:
            return self._node(order, [_at(branch, order, index) for index, branch in enumerate(branches)])
        widths = {len(branch.branches) for branch in branches if isinstance(branch, Node) and branch.order == top}
        return self._node(
            top,
            [self.choice(order, [_at(branch, top, index) for branch in branches]) for index in range(widths.pop())],
        )

    def worst(self, one: Diagram, other: Diagram) -> Diagram:
        """The worse of two at each completion."""
        if isinstance(one, int) and isinstance(other, int):
            return max(one, other)
        key = (id(one), id(other)) if id(one) < id(other) else (id(other), id(one))
        known = self._worst.get(key)
        if known is None:
            top = min(each.order for each in (one, other) if isinstance(each, Node))
            width = next(len(each.branches) for each in (one, other) if isinstance(each, Node) and each.order == top)
            known = self._node(
                top, [self.worst(_at(one, top, index), _at(other, top, index)) for index in range(width)]
            )
            self._worst[key] = known
        return known

    def relabelled(self, diagram: Diagram, label: Callable[[int], int]) -> Diagram:
        """The same function with other numbers at its leaves; small ones, as equal leaves are one object."""
        made: dict[int, Diagram] = {}

        def again(each: Diagram) -> Diagram:
            if isinstance(each, int):
                return label(each)
            if id(each) not in made:
                made[id(each)] = self._node(each.order, [again(branch) for branch in each.branches])
            return made[id(each)]

        return again(diagram)

    def _node(self, order: int, branches: list[Diagram]) -> Diagram:
        first = branches[0]
        if all(branch is first for branch in branches):
            return first
        key = (order, tuple(id(branch) for branch in branches))
        node = self._made.get(key)
        if node is None:
            if len(self._made) >= self._most:
                raise TooMany
            node = self._made[key] = Node(order, tuple(branches))
        return node


def _at(diagram: Diagram, order: int, index: int) -> Diagram:
    return diagram.branches[index] if isinstance(diagram, Node) and diagram.order == order else diagram


def results(diagram: Diagram) -> set[int]:
    """The results that some completion has."""
    return {each for each in _walk(diagram) if isinstance(each, int)}


def support(diagram: Diagram) -> set[int]:
    """The unknowns on which the result depends."""
    return {each.order for each in _walk(diagram) if isinstance(each, Node)}


def _walk(diagram: Diagram) -> list[Diagram]:
    found: dict[int, Diagram] = {}
    waiting = [diagram]
    while waiting:
        each = waiting.pop()
        if id(each) not in found:
            found[id(each)] = each
            if isinstance(each, Node):
                waiting.extend(each.branches)
    return list(found.values())
