"""Overrides that change nothing: keys and rules that a class repeats, and drops with nothing to drop."""

from collections.abc import Hashable, Iterator
from copy import copy
from typing import Any

from tarebook.kinds import covers
from tarebook.meaning.space import Space
from tarebook.proofread.findings import Blemish
from tarebook.proofread.sameness import Sameness, likeness
from tarebook.proofread.study import Study
from tarebook.rules.classes import ClassInFull, Path, Placed, clause_covers, in_full
from tarebook.rules.models import Class

MOST_COMPARED = 10
MOST_RULES = 1000  # that decide in one class; of more, nothing is said
NO_TERMS = ("clause", "says")
DECIDING = ("allow", "ban", "need", "strip")
COMPARED = (*DECIDING, "limit", "enter", "require", "finish", "ask")  # each further `counts` multiplies once more
DOES = {"need": ("fit",), "strip": ("remove",)}


def overrides_that_change_nothing(study: Study) -> Iterator[Blemish]:
    for place, each in enumerate(study.file.class_):
        full = study.rules.class_in_full(each.id)
        inherited = _inherited(study, place, each.drops)
        yield from _silence(study, place, each, inherited)
        yield from _weight(study, full, inherited)
        yield from _rules(study, full, inherited)
        if each.drops:
            yield from _drops(study, place, each, _inherited(study, place, []))


def _inherited(study: Study, place: int, drops: list[str]) -> ClassInFull:
    """What a class would have if it said nothing of its own."""
    each = study.file.class_[place]
    bare = Class(id=each.id, title=each.title, clause=each.clause, like=each.like, uses=each.uses, drops=drops)
    file = copy(study.file)
    file.class_ = [*study.file.class_]
    file.class_[place] = bare
    return in_full(file, each.id)


def _silence(study: Study, place: int, each: Class, inherited: ClassInFull) -> Iterator[Blemish]:
    if each.silence is not None and each.silence.as_dict() == inherited.silence.as_dict():
        sentence = (
            f'The silence of class "{each.id}" is the one that it has anyway'
            f" ({study.place(inherited.silence_path)}): it can be left out."
        )
        yield study.blemish(("class", place, "silence"), "repeats-inherited", each.clause, sentence)


def _weight(study: Study, full: ClassInFull, inherited: ClassInFull) -> Iterator[Blemish]:
    pairs = [
        (key, own, inherited.weight[key])
        for key, own in full.weight.items()
        if own.path[:2] == full.path and key in inherited.weight and key not in NO_TERMS
    ]
    adjusts = [path for key, own, other in pairs if key == "adjust" for _, path in (*own.value, *other.value)]

    def question(space: Space) -> list[str]:
        same = Sameness(study.rules, space)
        return [
            key
            for key, own, other in pairs
            if same.of_term(key, own.value, own.path) == same.of_term(key, other.value, other.path)
        ]

    repeated = study.ask([study.node(path) for path in adjusts], (), question) or ()
    for key, own, other in pairs:
        if key in repeated:
            sentence = (
                f'The "{key}" of class "{full.id}" is the same as what it has anyway by clause'
                f" {study.cited(other.clause, other.path)}: it can be left out."
            )
            yield study.blemish(own.path, "repeats-inherited", own.clause, sentence, other.clause)


def _rules(study: Study, full: ClassInFull, without_own: ClassInFull) -> Iterator[Blemish]:
    others: dict[Hashable, list[Placed[Any]]] = {}
    for form in COMPARED:
        for placed in without_own.rules[form]:
            others.setdefault(likeness(placed), []).append(placed)
    own = [
        placed
        for form in COMPARED
        for placed in full.rules[form]
        if placed.path[:2] == full.path and likeness(placed) in others
    ]
    involved = [*own, *(placed for each in own for placed in others[likeness(each)])]
    adjusts = [
        study.node((*placed.path, "adjust", index))
        for placed in involved
        for index in range(len(getattr(placed.rule, "adjust", None) or ()))
    ]
    nodes = [study.node(placed.path, key) for placed in involved for key in ("if", "must")]

    def question(space: Space) -> list[tuple[Placed[Any], Placed[Any]]]:
        same = Sameness(study.rules, space)
        equal: dict[Hashable, list[Placed[Any]]] = {}
        for alike in dict.fromkeys(map(likeness, own)):
            for inherited in others[alike]:
                equal.setdefault(same.of_rule(inherited), []).append(inherited)
        found = []
        for each in own:
            candidates = equal.get(same.of_rule(each), [])[:MOST_COMPARED]
            other = next((other for other in candidates if not _nearness_matters(each, other, full)), None)
            if other is not None:
                found.append((each, other))
        return found

    parts = [getattr(placed.rule, "part", None) for placed in involved]
    for each, other in study.ask([*nodes, *adjusts], parts, question) or ():
        sentence = (
            f"Clause {each.rule.clause} says the same as clause {study.cited(other.rule.clause, other.path)},"
            f' which class "{full.id}" has anyway: it can be left out.'
        )
        yield study.blemish(each.path, "repeats-inherited", each.rule.clause, sentence, other.rule.clause)


def _nearness_matters(own: Placed[Any], other: Placed[Any], full: ClassInFull) -> bool:
    """Whether some rule may lose to the class's own rule and not to the inherited one, or the other way round."""
    if own.form not in DECIDING:
        return False
    if sum(len(full.rules[form]) for form in DECIDING) > MOST_RULES:
        return True
    for form in DECIDING:
        for placed in full.rules[form]:
            if placed.path in (own.path, other.path):
                continue
            if _names(placed, own) != _names(placed, other):
                return True
            if placed.rank.order <= other.rank.order and _meet(placed, own) and not _same_answer(placed, own):
                return True
    return False


def _names(placed: Placed[Any], other: Placed[Any]) -> bool:
    return any(clause_covers(clause, other.rule.clause) for clause in placed.rule.despite)


def _meet(one: Placed[Any], other: Placed[Any]) -> bool:
    """Whether both may speak of one change."""
    if getattr(one.rule, "fixings", False) or getattr(other.rule, "fixings", False):
        return True
    if not set(_does(one)) & set(_does(other)):
        return False
    return any(covers(kind, each) or covers(each, kind) for kind in one.rule.kinds for each in other.rule.kinds)


def _does(placed: Placed[Any]) -> tuple[str, ...]:
    return DOES.get(placed.form) or tuple(placed.rule.does)


def _same_answer(one: Placed[Any], other: Placed[Any]) -> bool:
    """Whether two rules, where both apply, always give the same answer and the same duties."""
    if "ban" in (one.form, other.form):
        return one.form == other.form
    answers = [
        (getattr(each.rule, "only", False), getattr(each.rule, "ask", None), set(getattr(each.rule, "finish", ())))
        for each in (one, other)
    ]
    return answers[0] == answers[1] and not answers[0][0]


def _drops(study: Study, place: int, each: Class, whole: ClassInFull) -> Iterator[Blemish]:
    known = [placed.rule.clause for form in whole.rules.values() for placed in form]
    known += [key.clause for key in whole.weight.values() if key.clause]
    if "adjust" in whole.weight:
        known += [adjust.clause for adjust, _ in whole.weight["adjust"].value if adjust.clause]
    for index, clause in enumerate(each.drops):
        if not any(clause_covers(clause, other) for other in known):
            path: Path = ("class", place, "drops", index)
            sentence = f'Class "{each.id}" drops clause {clause}, but has nothing of that clause to drop.'
            yield study.blemish(path, "drops-nothing", each.clause, sentence)
