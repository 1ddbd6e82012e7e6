"""Where conditions and limits cut the values of an unknown: every bound that a class puts on a fact."""

import datetime
from collections.abc import Iterable
from fractions import Fraction
from itertools import combinations

from tarebook.fact_values import Value
from tarebook.judge.decision_diagrams import TooMany
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Cuts, Unknown
from tarebook.rules.conditions import Aged, AsMade, Bounds, IsOneOf, Within
from tarebook.rules.limits import Banded, ByCase

MOST_FACTORS = 6


def cut_conditions(prepared: PreparedClass, situation: Situation, cuts: Cuts) -> None:
    """Note every value at which a condition of the class changes its answer, of facts that are unknown."""
    for fact, tests in prepared.fact_tests.items():
        if _is_known(fact, situation):
            continue
        for test, counted in tests:
            if isinstance(test, IsOneOf):
                _cut_values(fact, test.values, counted, prepared, cuts)
            elif isinstance(test, Aged):
                _cut_ages(test, situation, cuts)
            elif prepared.facts[test.fact].type == "date":
                edges = [edge for edge, _ in _edges(test.bounds)]
                _cut_days(fact, (int(edge) for edge in edges if isinstance(edge, Fraction)), cuts)
            else:
                _cut_bounds(test, counted, prepared, situation, cuts)


def _is_known(fact: str, situation: Situation) -> bool:
    return fact in situation.facts and fact in situation.made


def cut_limit_forms(prepared: PreparedClass, situation: Situation, cuts: Cuts) -> None:
    """Note the ends of bands and the cases of every limit of the book, for facts that are unknown."""
    for spec in prepared.rules.limits.values():
        form = spec.form
        if isinstance(form, (Banded, ByCase)) and _is_known(form.fact, situation):
            continue
        if isinstance(form, Banded):
            ends = [end for band in form.bands for end in (band.over, band.up_to) if end is not None]
            cuts.at(Unknown("fact", form.fact), _scaled(ends, form.fact, True, prepared))
        elif isinstance(form, ByCase):
            _cut_values(form.fact, (case for case, _ in form.cases), True, prepared, cuts)


def factors(fact: str, counted: bool, prepared: PreparedClass) -> tuple[Fraction, ...]:
    """Every factor by which the class may count a fact. Raises TooMany."""
    applied = [times for times, _, _ in prepared.counts.get(fact, ())] if counted else []
    if len(applied) > MOST_FACTORS:
        raise TooMany
    found = {Fraction(1)}
    for size in range(1, len(applied) + 1):
        for chosen in combinations(applied, size):
            product = Fraction(1)
            for times in chosen:
                product *= times
            found.add(product)
    return tuple(sorted(found))


def _scaled(values: Iterable[Fraction], fact: str, counted: bool, prepared: PreparedClass) -> list[Fraction]:
    return [value / factor for value in values for factor in factors(fact, counted, prepared)]


def _edges(bounds: Bounds) -> tuple[tuple[Fraction | AsMade, bool], ...]:
    return (*bounds.lower, *bounds.upper)


def _cut_values(fact: str, values: Iterable[Value], counted: bool, prepared: PreparedClass, cuts: Cuts) -> None:
    unknown = Unknown("fact", fact)
    texts, days, numbers = [], [], []
    for value in values:
        if isinstance(value, str):
            texts.append(value)
        elif isinstance(value, datetime.date):
            days.append(value.toordinal())
        elif isinstance(value, Fraction):
            numbers.append(value)
    if prepared.facts[fact].type == "text":
        cuts.text(unknown, texts)
    if days:
        _cut_days(fact, days, cuts)
    if numbers:
        cuts.at(unknown, _scaled(numbers, fact, counted, prepared))


def _cut_days(fact: str, ordinals: Iterable[int], cuts: Cuts) -> None:
    first, last = datetime.date.min.toordinal(), datetime.date.max.toordinal()
    days = {min(max(ordinal + step, first), last) for ordinal in ordinals for step in (-1, 0, 1)}
    cuts.day(Unknown("fact", fact), (datetime.date.fromordinal(day) for day in days))


def _cut_ages(node: Aged, situation: Situation, cuts: Cuts) -> None:
    on = situation.on
    birthdays = []
    for edge, _ in _edges(node.bounds):
        assert isinstance(edge, Fraction)
        for years in (int(edge), int(edge) + 1):
            year = min(max(on.year - years, datetime.MINYEAR), datetime.MAXYEAR)
            day = min(on.day, 28) if on.month == 2 else on.day
            birthdays.append(datetime.date(year, on.month, day).toordinal())
            if on.month == 2 and on.day == 29:
                birthdays.append(datetime.date(year, 3, 1).toordinal())
    _cut_days(node.fact, birthdays, cuts)


def _cut_bounds(node: Within, counted: bool, prepared: PreparedClass, situation: Situation, cuts: Cuts) -> None:
    fact = node.fact
    unknown = Unknown("fact", fact)
    mine = factors(fact, counted, prepared)
    for edge, _ in _edges(node.bounds):
        if isinstance(edge, Fraction):
            cuts.at(unknown, (edge / factor for factor in mine))
            continue
        other = Unknown("fact", edge.fact)
        here, there = situation.facts.get(fact), situation.made.get(edge.fact)
        for factor in mine:
            for its in factors(edge.fact, counted, prepared):
                if isinstance(there, Fraction):
                    cuts.at(unknown, [(its * there + edge.plus) / factor])
                if isinstance(here, Fraction):
                    cuts.at(other, [(factor * here - edge.plus) / its])
                if other == unknown and factor != its:
                    cuts.at(unknown, [edge.plus / (factor - its)])
                elif other != unknown:
                    cuts.pair(unknown, other, its / factor, edge.plus / factor)
