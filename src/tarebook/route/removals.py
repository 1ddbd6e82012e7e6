"""What may come out of a car, as a class sees it: each part on the car tried off, one at a time."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

from tarebook.car.configurations import Configuration
from tarebook.judge.completing import Answered, Completions
from tarebook.judge.components import ChangeQuestion, Component, FinishQuestion, NeedQuestion, questions
from tarebook.judge.decision_diagrams import TooMany, support
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import BAD, Path
from tarebook.judge.judging import CONFIDENCE
from tarebook.judge.limits import limit_questions
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import listed, part_title
from tarebook.kinds import covers
from tarebook.route.taking_off import JobOff, TakingOff

Group = Literal["may", "may-with-duty", "put-back", "must-stay", "undecided"]


@dataclass(slots=True)
class Reason:
    """A rule behind a row: its clause, what it comes to in one sentence, and where it stands.

    `silence` is True where no rule speaks of it, and the book's silence decides; `asks` where a person must agree.
    """

    clause: str
    sentence: str
    path: Path
    silence: bool = False
    asks: bool = False


@dataclass(slots=True)
class Removal:
    """One part, and whether it may come out.

    Attributes:
        mass_kg: None for a part that was never weighed.
        margin_left_kg: the least margin of the class's limits once it is out; None where that cannot be computed.
        front_kg: what taking it off, or putting it back on, adds to the front axle, in kg; below zero for what leaves
            it. `rear_kg` likewise. None where mass, place or wheelbase is not known, or the part is gone.
        jobs: the jobs of the car file that take it off, the cheapest first; of a part already off, the one that did.
        put_back_by: the jobs that would fit a part already off.
    """

    part: str
    title: str
    kind: str
    group: Group
    mass_kg: float | None
    mass_u_kg: float | None
    margin_left_kg: float | None
    reasons: list[Reason] = field(default_factory=list)
    duties: list[str] = field(default_factory=list)
    facts_to_find: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    kept: str = ""
    gone: bool = False
    front_kg: float | None = None
    rear_kg: float | None = None
    jobs: tuple[JobOff, ...] = ()
    put_back_by: tuple[str, ...] = ()

    @property
    def cost(self) -> float | None:
        """Of the cheapest job that takes it off, with what that needs; None where no job does."""
        return self.jobs[0].cost if self.jobs else None

    @property
    def hours(self) -> float | None:
        return self.jobs[0].hours if self.jobs else None

    @property
    def cost_per_kg(self) -> float | None:
        """The cost for each kg that leaves the car with that job."""
        return self.jobs[0].cost_per_kg if self.jobs else None

    @property
    def clauses(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(reason.clause for reason in self.reasons))


class Trials:
    """One build of a car with parts tried off it, as one book sees it: the same for all classes of the book.

    `situation_of` sets a configuration before the book.
    """

    def __init__(self, now: Situation, situation_of: Callable[[Configuration], Situation]) -> None:
        self.now = now
        self.taking_off = TakingOff(now.ledger, now.configuration)
        self._situation_of = situation_of
        self._tried: dict[tuple[str, str | None], Situation] = {}

    def without(self, part_id: str, instead: str | None = None) -> Situation:
        """The build with one part less, and with another one on in its place."""
        key = (part_id, instead)
        if key not in self._tried:
            on = self.now.configuration.on - {part_id}
            if instead is not None:
                on |= {instead}
            self._tried[key] = self._situation_of(with_parts(self.now.configuration, on))
        return self._tried[key]


def with_parts(configuration: Configuration, on: frozenset[str]) -> Configuration:
    """A configuration with other parts on, whatever jobs that would take."""
    return replace(
        configuration,
        on=on,
        lightened={name: form for name, form in configuration.lightened.items() if name in on},
        moved={name: move for name, move in configuration.moved.items() if name in on},
        masses={},
    )


def trials_of(before: CarBeforeBook, situation: Situation) -> Trials:
    """Trials of a build before its book."""
    return Trials(situation, lambda configuration: before.situation_of(configuration, situation.on))


def find_removals(
    before: CarBeforeBook, prepared: PreparedClass, situation: Situation, trials: Trials | None = None
) -> list[Removal]:
    """Every part on the car, in the ledger's order, and every part already off whose removal is a violation.

    `trials` may be shared between the classes of a book.
    """
    class_trials = ClassTrials(prepared, trials or trials_of(before, situation))
    return class_trials.of_parts(situation.inventory.parts)


@dataclass(slots=True)
class _State:
    situation: Situation
    answered: list[Answered]
    completions: Completions

    def bad(self) -> dict[tuple[object, ...], Answered]:
        return {_identity(each.component, each): each for each in self.answered if each.diagram == BAD}

    def hanging(self) -> dict[tuple[object, ...], Answered]:
        return {_identity(each.component, each): each for each in self.answered if not isinstance(each.diagram, int)}


def _identity(component: Component, answered: Answered) -> tuple[object, ...]:
    """Violations are the same if clause, part and action are; where no part is concerned, if the kind is."""
    worst = max(answered.outcomes, key=lambda outcome: outcome.bad)
    clause = worst.cited[0].clause if worst.cited else ""
    about = component.kind if component.part is None else component.part
    return (component.form, clause, about, component.does)


class ClassTrials:
    """Tries parts off a build, in one class."""

    def __init__(self, prepared: PreparedClass, trials: Trials) -> None:
        self.prepared = prepared
        self.trials = trials
        self.inventory = trials.now.inventory
        self.now = self._answer(trials.now)

    def of_parts(self, part_ids: Iterable[str]) -> list[Removal]:
        """A row for each of these parts that is on the car, or off it against the rules."""
        on = self.now.situation.configuration.on
        rows = (self._tried(each) if each in on else self._off_already(each) for each in part_ids)
        return [row for row in rows if row is not None]

    def _answer(self, situation: Situation) -> _State:
        completions = Completions(self.prepared, situation)
        return _State(situation, completions.answer_all(questions(self.prepared, situation)), completions)

    def _row(self, part_id: str, group: Group, margin: float | None) -> Removal:
        part = self.inventory.parts[part_id]
        situation = self.now.situation
        mass = situation.ledger.part_mass(part_id, situation.configuration.lightened.get(part_id))
        effect = self.trials.taking_off.effect(part_id)
        front, rear = (None, None) if effect is None else (effect.front, effect.rear)
        return Removal(
            part=part_id,
            title=part.title or part_id,
            kind=part.kind,
            group=group,
            mass_kg=None if mass is None else float(mass.value),
            mass_u_kg=None if mass is None else mass.u,
            margin_left_kg=margin,
            cautions=situation.presence.tree.get(part.kind).cautions,
            kept=part.kept,
            gone=part.gone,
            front_kg=None if front is None else float(front.value),
            rear_kg=None if rear is None else float(rear.value),
            jobs=self.trials.taking_off.jobs(part_id),
            put_back_by=() if part_id in situation.configuration.on else self.trials.taking_off.put_back_by(part_id),
        )

    def _tried(self, part_id: str) -> Removal:
        try:
            after = self._answer(self.trials.without(part_id))
        except TooMany:
            return self._row(part_id, "undecided", None)
        row = self._row(part_id, "may", self._margin(after.situation))
        bad_before, hanging_before = self.now.bad(), self.now.hanging()
        for identity, answered in after.bad().items():
            if identity not in bad_before:
                self._weigh_up(row, answered, after, part_id)
        if row.group != "must-stay":
            for identity, answered in after.hanging().items():
                if identity not in hanging_before and identity not in bad_before:
                    self._leave_open(row, answered, after)
        if row.group == "may":
            before = self.now.situation.changes
            row.reasons = [
                self._reason(answered, after)
                for answered in after.answered
                if isinstance(answered.component, ChangeQuestion) and answered.component.change not in before
            ]
        return row

    def _weigh_up(self, row: Removal, answered: Answered, after: _State, part_id: str) -> None:
        component = answered.component
        reason = self._reason(answered, after)
        if isinstance(component, FinishQuestion):
            self._add_duty(row, reason, reason.sentence)
            return
        if isinstance(component, NeedQuestion):
            if component.rule.test(View(self.now.situation, self.prepared.counts, {})) is False:
                self._add_duty(row, reason, reason.sentence)
                return
            substitute = self._substitute(component, part_id)
            if substitute is not None:
                title = part_title(substitute, self.inventory)
                self._add_duty(row, reason, f"{title} must be fitted in its place.")
                return
        row.group = "must-stay"
        row.reasons.append(reason)

    def _add_duty(self, row: Removal, reason: Reason, duty: str) -> None:
        row.reasons.append(reason)
        if row.group != "must-stay":
            row.group = "may-with-duty"
            row.duties.append(duty)

    def _substitute(self, need: NeedQuestion, part_id: str) -> str | None:
        """A part of the ledger, off the car and not gone, that may legally be fitted and would meet the need."""
        on = self.now.situation.configuration.on
        for other, part in self.inventory.parts.items():
            if other in on or part.gone or not any(covers(kind, part.kind) for kind in need.kinds):
                continue
            state = self._answer(self.trials.without(part_id, other))
            new = [answered for identity, answered in state.bad().items() if identity not in self.now.bad()]
            if not new and not any(_concerns(answered.component, need) for answered in state.hanging().values()):
                return other
        return None

    def _leave_open(self, row: Removal, answered: Answered, after: _State) -> None:
        row.group = "undecided"
        row.reasons.append(self._reason(answered, after))
        unknown = after.completions.names(support(answered.diagram))
        row.facts_to_find = tuple(sorted({*row.facts_to_find, *unknown}))

    def _reason(self, answered: Answered, state: _State) -> Reason:
        worst = max(answered.outcomes, key=lambda outcome: outcome.bad)
        sentence = answered.component.sentence(worst, state.situation)
        if not isinstance(answered.diagram, int):
            question = answered.component.open_question(state.situation)
            unknown = listed(state.completions.names(support(answered.diagram)))
            sentence = f"{question} hangs on {unknown}. At worst: {sentence}"
        cite = worst.cited[0]
        return Reason(
            cite.clause, sentence, cite.path, silence=cite is self.prepared.silence, asks=worst.result == "ask"
        )

    def _margin(self, situation: Situation) -> float | None:
        view = View(situation, self.prepared.counts, {})
        margins = []
        for question in limit_questions(self.prepared, situation, CONFIDENCE):
            outcome = question.outcome(view)
            if outcome is None:
                return None
            if outcome.limit is not None:
                if outcome.limit.margin_kg is None:
                    return None
                margins.append(outcome.limit.margin_kg)
        return min(margins, default=None)

    def _off_already(self, part_id: str) -> Removal | None:
        for answered in self.now.answered:
            component = answered.component
            if isinstance(component, ChangeQuestion) and component.part == part_id and answered.diagram == BAD:
                row = self._row(part_id, "put-back", None)
                row.reasons.append(self._reason(answered, self.now))
                return row
        return None


def _concerns(component: Component, need: NeedQuestion) -> bool:
    return isinstance(component, NeedQuestion) and component.rule is need.rule
