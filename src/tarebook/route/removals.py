"""What may come out of a car, as a class sees it: each part on the car tried off, one at a time."""

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

Group = Literal["may", "may-with-duty", "put-back", "must-stay", "undecided"]


@dataclass(slots=True)
class Reason:
    """A rule behind a row: its clause, what it comes to in one sentence, and where it stands."""

    clause: str
    sentence: str
    path: Path


@dataclass(slots=True)
class Removal:
    """One part, and whether it may come out.

    `mass_kg` is None for a part that was never weighed. `margin_left_kg` is the least margin of the class's limits
    once it is out, None where that cannot be computed.
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

    @property
    def clauses(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(reason.clause for reason in self.reasons))


def find_removals(before: CarBeforeBook, prepared: PreparedClass, situation: Situation) -> list[Removal]:
    """Every part on the car, in the ledger's order, and every part already off whose removal is a violation."""
    return _Trials(before, prepared, situation).run()


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


class _Trials:
    def __init__(self, before: CarBeforeBook, prepared: PreparedClass, situation: Situation) -> None:
        self.before = before
        self.prepared = prepared
        self.inventory = situation.inventory
        self.now = self._answer(situation)

    def _answer(self, situation: Situation) -> _State:
        completions = Completions(self.prepared, situation)
        return _State(situation, completions.answer_all(questions(self.prepared, situation)), completions)

    def run(self) -> list[Removal]:
        rows = []
        for part_id in self.inventory.parts:
            if part_id in self.now.situation.configuration.on:
                rows.append(self._tried(part_id))
            else:
                row = self._off_already(part_id)
                if row is not None:
                    rows.append(row)
        return rows

    def _row(self, part_id: str, group: Group, margin: float | None) -> Removal:
        part = self.inventory.parts[part_id]
        situation = self.now.situation
        mass = situation.ledger.part_mass(part_id, situation.configuration.lightened.get(part_id))
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
        )

    def _without(self, part_id: str, instead: str | None = None) -> Situation:
        configuration = self.now.situation.configuration
        on = configuration.on - {part_id}
        if instead is not None:
            on |= {instead}
        tried: Configuration = replace(
            configuration,
            on=on,
            lightened={name: form for name, form in configuration.lightened.items() if name in on},
            moved={name: move for name, move in configuration.moved.items() if name in on},
            masses={},
        )
        return self.before.situation_of(tried, self.now.situation.on)

    def _tried(self, part_id: str) -> Removal:
        try:
            after = self._answer(self._without(part_id))
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
            state = self._answer(self._without(part_id, other))
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
        return Reason(worst.cited[0].clause, sentence, worst.cited[0].path)

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
