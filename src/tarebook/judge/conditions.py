"""Conditions made ready to judge: each node of a condition becomes one small function of a view."""

import datetime
from collections.abc import Callable
from fractions import Fraction

from tarebook.fact_values import Value
from tarebook.judge.view import Answer, Test, View, both
from tarebook.rules.conditions import (
    Aged,
    All,
    AnyOf,
    AsMade,
    Bounds,
    Happened,
    IsOneOf,
    Node,
    Not,
    ReadAsMade,
    Within,
)

Reader = Callable[[View, str, bool], Value | None]


def always(view: View) -> Answer:
    return True


def prepare(node: Node | None, *, made: bool = False, counted: bool = True) -> Test:
    """A function that evaluates the condition. `made`: on the facts as the car was made; `counted`: on the figures
    as the class counts them, rather than as stated."""
    if node is None:
        return always
    if isinstance(node, All):
        return _all(tuple(prepare(part, made=made, counted=counted) for part in node.parts))
    if isinstance(node, AnyOf):
        return _any(tuple(prepare(part, made=made, counted=counted) for part in node.parts))
    if isinstance(node, Not):
        return _not(prepare(node.part, made=made, counted=counted))
    if isinstance(node, ReadAsMade):
        return prepare(node.part, made=True, counted=counted)
    if isinstance(node, Happened):
        return _happened(node)
    return _fact_test(node, made, counted)


def _all(tests: tuple[Test, ...]) -> Test:
    if len(tests) == 1:
        return tests[0]

    def test(view: View) -> Answer:
        answer: Answer = True
        for each in tests:
            holds = each(view)
            if holds is False:
                return False
            if holds is None:
                answer = None
        return answer

    return test


def _any(tests: tuple[Test, ...]) -> Test:
    def test(view: View) -> Answer:
        answer: Answer = False
        for each in tests:
            holds = each(view)
            if holds:
                return True
            if holds is None:
                answer = None
        return answer

    return test


def _not(inner: Test) -> Test:
    def test(view: View) -> Answer:
        holds = inner(view)
        return None if holds is None else not holds

    return test


def _happened(node: Happened) -> Test:
    event, kinds = node.event, node.kinds

    def test(view: View) -> Answer:
        if event not in ("fitted", "from_factory"):
            return any(view.situation.happened(event, kind) for kind in kinds)
        answer: Answer = False
        for kind in kinds:
            holds = view.fitted(kind) if event == "fitted" else view.from_factory(kind)
            if holds:
                return True
            if holds is None:
                answer = None
        return answer

    return test


def _fact_test(node: IsOneOf | Within | Aged, made: bool, counted: bool) -> Test:
    fact = node.fact

    def read(view: View, name: str, as_made: bool) -> Value | None:
        return view.figure(name, as_made) if counted else view.stated(name, as_made)

    if isinstance(node, IsOneOf):
        values = frozenset(node.values)

        def is_one_of(view: View) -> Answer:
            value = read(view, fact, made)
            return None if value is None else value in values

        return is_one_of

    bounds, aged = node.bounds, isinstance(node, Aged)

    def within(view: View) -> Answer:
        value = read(view, fact, made)
        if value is None:
            return _rest_known(view, bounds, read)
        if isinstance(value, datetime.date):
            number = view.age(value) if aged else Fraction(value.toordinal())
        else:
            assert isinstance(value, Fraction)
            number = value
        return _between(view, number, bounds, read)

    return within


def _between(view: View, number: Fraction, bounds: Bounds, read: Reader) -> Answer:
    answer: Answer = True
    for bound in bounds.lower:
        answer = both(answer, _kept(view, number, bound, read, low=True))
    for bound in bounds.upper:
        answer = both(answer, _kept(view, number, bound, read, low=False))
    return answer


def _kept(view: View, number: Fraction, bound: tuple[Fraction | AsMade, bool], read: Reader, *, low: bool) -> Answer:
    edge, strict = bound
    if isinstance(edge, AsMade):
        other = read(view, edge.fact, True)
        if other is None:
            return None
        assert isinstance(other, Fraction)
        edge = other + edge.plus
    if number == edge:
        return not strict
    return number > edge if low else number < edge


def _rest_known(view: View, bounds: Bounds, read: Reader) -> Answer:
    """The figure is unknown: note also the unknown bounds, so that all are tried."""
    for edge, _ in (*bounds.lower, *bounds.upper):
        if isinstance(edge, AsMade):
            read(view, edge.fact, True)
    return None
