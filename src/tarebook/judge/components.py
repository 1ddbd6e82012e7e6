"""The questions that make up a verdict, each with its own answer: one change, one need, one duty, one limit.

A question is put to a view. Its outcome is None while it hangs on something unknown that the view has no value for.
"""

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from tarebook.car.changes import Change
from tarebook.judge.bounds import Subject, keeps, subject_of
from tarebook.judge.deciding import Decided, decide_change, matching_rules
from tarebook.judge.findings import BAD, FINE, LimitAnswer, Result
from tarebook.judge.prepared import Cited, PreparedClass, WholeRule
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Cuts, Unknown
from tarebook.judge.view import Answer, View, both
from tarebook.judge.wording import GERUND, PAST, kind_title, listed, part_title
from tarebook.kinds import covers


class Outcome(NamedTuple):
    """How a question came out in one completion: how bad, and what decided. `result` is None where the rule does
    not come into play; its question puts the rest into words when somebody wants to read them."""

    bad: int
    result: Result | None
    cited: tuple[Cited, ...] = ()
    kind: str | None = None
    contested: tuple[Cited, ...] = ()
    duties: frozenset[str] = frozenset()
    limit: LimitAnswer | None = None
    reasons: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    to_find: tuple[str, ...] = ()


NOT_IN_PLAY = Outcome(FINE, None)


@dataclass(slots=True, eq=False, repr=False)
class Component(ABC):
    """One question.

    Attributes:
        form: the form of rule that asks it.
        cited: the rules that may come into it, for what it says while undecided.
    """

    form: str
    part: str | None = None
    kind: str | None = None
    does: str | None = None

    @abstractmethod
    def outcome(self, view: View) -> Outcome | None:
        """The outcome, or None while something unknown has no value."""

    @abstractmethod
    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        """The outcome in one plain sentence."""

    @abstractmethod
    def open_question(self, situation: Situation) -> str:
        """What is not known, as the start of a sentence: "Whether ... "."""

    @abstractmethod
    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        """The rules that come into it."""

    def about(self, outcome: Outcome, situation: Situation) -> str:
        """What a change is a change of, in words; "" for other questions."""
        return ""

    def cut(self, situation: Situation, cuts: Cuts) -> None:
        """Note values of unknowns at which the outcome may change, beyond those that conditions name."""
        return


@dataclass(slots=True, eq=False, repr=False)
class ChangeQuestion(Component):
    """May this change be made?"""

    form: str = "change"
    change: Change = field(kw_only=True)
    prepared: PreparedClass = field(kw_only=True)

    def outcome(self, view: View) -> Outcome | None:
        decided = decide_change(self.change, self.prepared, view)
        if decided is None:
            return None
        if decided.outcome is None:
            decided.outcome = self._outcome(decided)
        assert isinstance(decided.outcome, Outcome)
        return decided.outcome

    def _outcome(self, decided: Decided) -> Outcome:
        standing = decided.standing
        return Outcome(
            BAD if standing.ruling == "violation" else FINE,
            standing.ruling,
            standing.deciding or (self.prepared.silence,),
            standing.kind,
            standing.contested,
            decided.duties,
            questions=standing.questions,
        )

    def about(self, outcome: Outcome, situation: Situation) -> str:
        return change_name(self.change, situation, outcome.kind or self.change.kind)

    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        name = self.about(outcome, situation)
        verb = PAST[self.change.action]
        silent = outcome.cited == (self.prepared.silence,)
        if outcome.result == "ask":
            return f"{name} may be {verb} if a person agrees: {' '.join(outcome.questions)}"
        if outcome.result == "allowed":
            spoken = ": no clause speaks of it, and what this book does not forbid it permits" if silent else ""
            return f"{name} may be {verb}{spoken}."
        if silent:
            doing = f"{GERUND[self.change.action]} {inside(name)}"
            return f"No clause speaks of {doing}, and what this book does not allow it forbids."
        if outcome.contested:
            others = listed(dict.fromkeys(rule.clause for rule in outcome.contested))
            return f"{name} may not be {verb}. Clause {others} would allow it; at a tie the ban stands."
        return f"{name} may not be {verb}."

    def open_question(self, situation: Situation) -> str:
        return (
            f"Whether {inside(change_name(self.change, situation, self.change.kind))} may be {PAST[self.change.action]}"
        )

    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        return ()

    def cut(self, situation: Situation, cuts: Cuts) -> None:
        change = self.change
        if self.prepared.settled.get((change.action, change.kind, change.things, change.whole)) is not None:
            return
        view = View(situation, self.prepared.counts, {})
        subject = subject_of(self.change)
        for kind in self.prepared.decided_kinds(self.change):
            for rule, _ in matching_rules(self.change, kind, self.prepared, view):
                for bound in rule.bounds:
                    bound.cut(situation, subject, cuts)


def change_name(change: Change, situation: Situation, kind: str) -> str:
    """The part or kind that a change is of, for a sentence."""
    inventory, tree = situation.inventory, situation.presence.tree
    if change.old is None and change.action != "fit":
        name = kind_title(change.kind, tree)
    else:
        name = part_title(change.old or change.part, inventory)
    if kind != change.kind:
        name += f" (with {inside(kind_title(kind, tree))})"
    if change.action == "swap":
        name += f" for {inside(listed(part_title(part_id, inventory) for part_id in change.new))}"
    return name


def inside(name: str) -> str:
    """The name inside a sentence: a capital that only begins a sentence goes."""
    return name[0].lower() + name[1:] if name[:1].isupper() and name[1:2].islower() else name


@dataclass(slots=True, eq=False, repr=False)
class NeedQuestion(Component):
    """Is what must be on the car there?"""

    form: str = "need"
    rule: WholeRule = field(kw_only=True)
    kinds: tuple[str, ...] = field(kw_only=True)
    at_least: int = field(kw_only=True)
    prepared: PreparedClass = field(kw_only=True)

    def outcome(self, view: View) -> Outcome | None:
        applies = self.rule.test(view)
        if applies is False:
            return NOT_IN_PLAY
        answers = [meets_need(self.rule, kind, view) for kind in self.kinds]
        met, perhaps = answers.count(True), answers.count(None)
        if applies is None or met < self.at_least <= met + perhaps:
            return None
        if met >= self.at_least:
            return Outcome(FINE, "met", (self.rule,), self.kind)
        return Outcome(BAD, "violation", (self.rule,), self.kind)

    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        tree = situation.presence.tree
        if len(self.kinds) > 1:
            if outcome.result == "met":
                names = listed(kind_title(kind, tree) for kind in self.kinds)
                return f"At least {self.at_least} of these are on the car, as they must be: {names}."
            names = listed((kind_title(kind, tree) for kind in self.kinds), "or")
            return f"Fewer than {self.at_least} of these are on the car, and at least so many must be: {names}."
        name = kind_title(self.kinds[0], tree)
        if outcome.result == "met":
            return f"On the car, as it must be: {inside(name)}."
        if self.rule.rule.whole:
            return f"Not complete, as the factory gave it and as it must be: {inside(name)}."
        if self.rule.bounds:
            return f"Not on the car as the clause describes it, and must be: {inside(name)}."
        return f"Not on the car, and must be: {inside(name)}."

    def open_question(self, situation: Situation) -> str:
        names = listed(kind_title(kind, situation.presence.tree) for kind in self.kinds)
        return f"Whether the car has what it must, {inside(names)},"

    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        return (self.rule,)

    def cut(self, situation: Situation, cuts: Cuts) -> None:
        if not self.rule.bounds:
            return
        for kind in self.kinds:
            for part_id in situation.inventory.parts:
                if part_id in situation.configuration.on and covers(kind, situation.inventory.parts[part_id].kind):
                    for bound in self.rule.bounds:
                        bound.cut(situation, need_subject(part_id, situation), cuts)


def need_subject(part_id: str, situation: Situation) -> Subject:
    """A part on the car, as the bounds of a need see it: against the part whose place it took, if it took one."""
    for change in situation.changes:
        if part_id in change.new and change.action in ("swap", "fit"):
            return Subject(part_id, (part_id,), change.old, added=change.action == "fit")
    return Subject(part_id, (part_id,), part_id)


def meets_need(rule: WholeRule, kind: str, view: View) -> Answer:
    """Whether one kind of a need is on the car as the need wants it."""
    situation = view.situation
    if rule.rule.whole:
        answer: Answer = True
        for thing in situation.presence.tree.things_under(kind):
            was = view.from_factory(thing)
            if was is False:
                continue
            on = situation.thing_on(thing)
            there = False if on is None else view.present(on)
            # A thing that is perhaps there from the factory is missing only where it was and is not.
            if was is None and on is not None and there is None:
                continue
            answer = both(answer, True if there else (None if was is None or there is None else False))
        if not rule.bounds or answer is False:
            return answer
        return both(answer, _bounded(rule, kind, view))
    return _bounded(rule, kind, view) if rule.bounds else view.fitted(kind)


def _bounded(rule: WholeRule, kind: str, view: View) -> Answer:
    situation = view.situation
    parts = situation.inventory.parts
    answer: Answer = False
    covered: set[str] = set()
    for part_id in parts:
        if part_id in situation.configuration.on and covers(kind, parts[part_id].kind):
            covered |= {parts[part_id].kind, *situation.presence.stands(part_id)}
            holds = keeps(rule.bounds, view, need_subject(part_id, situation))
            if holds:
                return True
            if holds is None:
                answer = None
    for thing in situation.presence.tree.things_under(kind):
        on = situation.thing_on(thing)
        if on is None or thing in covered:
            continue
        there = view.present(on)
        if there is not False:
            tried = view.ask(Unknown("part", f"{thing}.particulars"))
            if there and tried:
                return True
            if tried is None or (there is None and tried):
                answer = None
    return answer


@dataclass(slots=True, eq=False, repr=False)
class StripQuestion(Component):
    """Is what must not be on the car gone?"""

    form: str = "strip"
    rule: WholeRule = field(kw_only=True)

    def outcome(self, view: View) -> Outcome | None:
        assert self.kind is not None
        applies = self.rule.test(view)
        if applies is False:
            return NOT_IN_PLAY
        there = view.fitted(self.kind)
        if applies is None or there is None:
            # Nothing to strip is fine whether or not the rule applies.
            return NOT_IN_PLAY if there is False else None
        if there:
            return Outcome(BAD, "violation", (self.rule,), self.kind)
        return Outcome(FINE, "met", (self.rule,), self.kind)

    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        assert self.kind is not None
        name = kind_title(self.kind, situation.presence.tree)
        return f"{'Not on' if outcome.result == 'met' else 'On'} the car, and must not be: {inside(name)}."

    def open_question(self, situation: Situation) -> str:
        assert self.kind is not None
        return f"Whether the car has what it must not, {inside(kind_title(self.kind, situation.presence.tree))},"

    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        return (self.rule,)


@dataclass(slots=True, eq=False, repr=False)
class MustQuestion(Component):
    """`enter` and `require`: is the car as the clause wants it?"""

    rule: WholeRule = field(kw_only=True)

    def outcome(self, view: View) -> Outcome | None:
        applies, holds = self.rule.test(view), self.rule.must(view)
        if applies is False:
            return NOT_IN_PLAY
        if applies is None:
            return NOT_IN_PLAY if holds else None
        if holds is None:
            return None
        return Outcome(FINE, "met", (self.rule,)) if holds else Outcome(BAD, "violation", (self.rule,))

    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        if outcome.result == "met":
            what = "may enter by" if self.form == "enter" else "is as it must be by"
        else:
            what = "may not enter by" if self.form == "enter" else "is not as it must be by"
        return f"The car {what} clause {self.rule.clause}."

    def open_question(self, situation: Situation) -> str:
        what = "may enter by" if self.form == "enter" else "is as it must be by"
        return f"Whether the car {what} clause {self.rule.clause}"

    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        return (self.rule,)


@dataclass(slots=True, eq=False, repr=False)
class FinishQuestion(Component):
    """Is a finish owed, and done?"""

    form: str = "finish"
    rule: WholeRule = field(kw_only=True)
    referring: tuple[Change, ...] = field(kw_only=True)
    prepared: PreparedClass = field(kw_only=True)

    def outcome(self, view: View) -> Outcome | None:
        if self.rule.rule.if_ is not None:
            holds = self.rule.test(view)
        else:
            decided = [decide_change(change, self.prepared, view) for change in self.referring]
            holds = any(each is not None and self.rule.rule.id in each.duties for each in decided)
            if not holds and None in decided:
                holds = None
        if holds is False:
            return NOT_IN_PLAY
        done = self._done(view.situation)
        if holds is None:
            return NOT_IN_PLAY if done else None
        return Outcome(FINE, "met", (self.rule,), self.kind) if done else Outcome(BAD, "owed", (self.rule,), self.kind)

    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        area = self.rule.rule.area
        where = f"{area} ({inside(kind_title(area, situation.presence.tree))})"
        ways = listed(self.rule.rule.by, "or")
        if outcome.result == "met":
            return f"The finish at {where} is done: {ways}."
        return f"A finish is still owed at {where}: {ways}."

    def _done(self, situation: Situation) -> bool:
        duty = self.rule.rule
        return any(covers(done.area, duty.area) and done.by in duty.by for done in situation.configuration.finishes)

    def open_question(self, situation: Situation) -> str:
        return f"Whether a finish is owed on {inside(kind_title(self.rule.rule.area, situation.presence.tree))}"

    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        return (self.rule,)


def questions(prepared: PreparedClass, situation: Situation) -> list[Component]:
    """All questions of a class about a build, but for its limits."""
    found: list[Component] = [
        ChangeQuestion(part=change.part, kind=change.kind, does=change.action, change=change, prepared=prepared)
        for change in situation.changes
    ]
    if "questions" not in prepared.standing:
        prepared.standing["questions"] = list(_standing_questions(prepared))
    standing = prepared.standing["questions"]
    assert isinstance(standing, list)
    found.extend(standing)
    if prepared.whole["finish"]:
        referring = _referring(prepared, situation)
        for rule in prepared.whole["finish"]:
            changes = tuple(referring.get(rule.rule.id, ()))
            found.append(FinishQuestion(kind=rule.rule.area, rule=rule, referring=changes, prepared=prepared))
    return found


def _standing_questions(prepared: PreparedClass) -> Iterator[Component]:
    for form in ("enter", "require"):
        for rule in prepared.whole[form]:
            yield MustQuestion(form, rule=rule)
    for rule in prepared.whole["need"]:
        if rule.rule.at_least is None:
            for kind in rule.rule.kinds:
                yield NeedQuestion(kind=kind, rule=rule, kinds=(kind,), at_least=1, prepared=prepared)
        else:
            kinds = tuple(rule.rule.kinds)
            yield NeedQuestion(rule=rule, kinds=kinds, at_least=rule.rule.at_least, prepared=prepared)
    for rule in prepared.whole["strip"]:
        for kind in rule.rule.kinds:
            yield StripQuestion(kind=kind, rule=rule)


def _referring(prepared: PreparedClass, situation: Situation) -> dict[str, list[Change]]:
    """By finish, the changes that a rule which refers to it may decide."""
    view = View(situation, prepared.counts, {})
    found: dict[str, list[Change]] = {}
    for change in situation.changes:
        named = {
            finish
            for kind in prepared.decided_kinds(change)
            for rule, _ in matching_rules(change, kind, prepared, view)
            for finish in rule.finish
        }
        for finish in named:
            found.setdefault(finish, []).append(change)
    return found
