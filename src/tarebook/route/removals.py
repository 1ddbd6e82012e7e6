"""What may come out of a car, as a class sees it: each part on the car tried off, one at a time."""

from collections.abc import Iterable
from dataclasses import dataclass

from tarebook.judge.completing import Answered, Completions
from tarebook.judge.components import ChangeQuestion, Component, FinishQuestion, NeedQuestion, questions
from tarebook.judge.decision_diagrams import TooMany, support
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import BAD
from tarebook.judge.judging import CONFIDENCE
from tarebook.judge.limits import limit_questions
from tarebook.judge.prepared import DecidingRule, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import listed, part_title
from tarebook.kinds import EVERYTHING, covers
from tarebook.route.needed_back import NeededBack
from tarebook.route.removal_rows import Group, Reason, Removal, Substitute
from tarebook.route.trial_wording import said_of
from tarebook.route.trials import Trials, trials_of

__all__ = ["ClassTrials", "Removal", "find_removals"]


def find_removals(
    before: CarBeforeBook, prepared: PreparedClass, situation: Situation, trials: Trials | None = None
) -> list[Removal]:
    """Every part on the car, and every part already off that must go back on, or perhaps must: in the ledger's order.

    That is a part whose removal is a violation, or one from the factory that a `need` wants on. `trials` may be shared
    between the classes of a book.
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
        self._needed_back = NeededBack(prepared, trials, self.now.answered, self._may_go_back)

    def of_parts(self, part_ids: Iterable[str]) -> list[Removal]:
        """A row for each of these parts that is on the car, or off it against the rules, or perhaps against them."""
        on = self.now.situation.configuration.on
        rows = (self._tried(each) if each in on else self._off_already(each) for each in part_ids)
        return [row for row in rows if row is not None]

    def _answer(self, situation: Situation) -> _State:
        completions = Completions(self.prepared, situation)
        return _State(situation, completions.answer_all(questions(self.prepared, situation)), completions)

    def _row(self, part_id: str, group: Group) -> Removal:
        part = self.inventory.parts[part_id]
        situation = self.now.situation
        mass = self.trials.taking_off.mass(part_id)
        row = Removal(
            part=part_id,
            title=part.title or part_id,
            kind=part.kind,
            group=group,
            mass_kg=None if mass is None else float(mass.value),
            mass_u_kg=None if mass is None else mass.u,
            margin_left_kg=None,
            cautions=situation.presence.tree.get(part.kind).cautions,
            kept=part.kept,
            gone=part.gone,
            jobs=self.trials.taking_off.jobs(part_id),
        )
        self._weigh(row, part_id)
        return row

    def _weigh(self, row: Removal, *part_ids: str) -> None:
        """Note what the car and its axles gain where each of these parts changes over, from on to off or back."""
        net, front, rear = self.trials.taking_off.exchange(part_ids)
        row.net_kg, row.net_u_kg = (None, None) if net is None else (float(net.value), net.u)
        row.front_kg = None if front is None else float(front.value)
        row.rear_kg = None if rear is None else float(rear.value)

    def _tried(self, part_id: str) -> Removal:
        try:
            after = self._answer(self.trials.without(part_id))
        except TooMany:
            return self._row(part_id, "undecided")
        row = self._row(part_id, "may")
        self._note_margin(row, after.situation)
        self._note_who_decides(row, after)
        bad_before, hanging_before = self.now.bad(), self.now.hanging()
        for identity, answered in after.bad().items():
            if identity not in bad_before:
                self._weigh_up(row, answered, after, part_id)
                row.unnamed = row.unnamed and _comes_with_the_ruling(answered.component)
        if row.group != "must-stay":
            for identity, answered in after.hanging().items():
                if identity not in hanging_before and identity not in bad_before:
                    self._leave_open(row, answered, after)
                    row.unnamed = row.unnamed and _comes_with_the_ruling(answered.component)
        if row.group == "must-stay":
            row.substitute, row.duties = None, []
        if row.substitute is not None:
            self._swap(row, row.substitute.part)
        if row.group == "may":
            row.reasons = [self._reason(answered, after, part_id) for answered in self._new_changes(after)]
        return row

    def _new_changes(self, after: _State) -> list[Answered]:
        before = self.now.situation.changes
        return [
            answered
            for answered in after.answered
            if isinstance(answered.component, ChangeQuestion) and answered.component.change not in before
        ]

    def _note_who_decides(self, row: Removal, after: _State) -> None:
        changes = self._new_changes(after)
        cited = [cite for each in changes for outcome in each.outcomes for cite in outcome.cited]
        rules = [cite for cite in cited if isinstance(cite, DecidingRule)]
        row.decided_by = tuple(dict.fromkeys(cite.clause for cite in rules or cited))
        row.unnamed = bool(cited) and all(set(rule.kinds_named) == {EVERYTHING} for rule in rules)

    def _weigh_up(self, row: Removal, answered: Answered, after: _State, part_id: str) -> None:
        component = answered.component
        if isinstance(component, NeedQuestion):
            brought = component.rule.test(View(self.now.situation, self.prepared.counts, {})) is False
            reason = self._reason(answered, after, part_id, brought=brought)
            if brought:
                self._add_duty(row, reason, reason.sentence)
                return
            substitute = row.substitute or self._substitute(component, part_id)
            if substitute is not None:
                row.substitute = substitute
                self._add_duty(row, reason, f"{substitute.title} must be fitted in its place.")
                return
        else:
            reason = self._reason(answered, after, part_id)
            if isinstance(component, FinishQuestion):
                self._add_duty(row, reason, reason.sentence)
                return
        row.group = "must-stay"
        row.reasons.append(reason)

    def _add_duty(self, row: Removal, reason: Reason, duty: str) -> None:
        row.reasons.append(reason)
        if row.group != "must-stay":
            row.group = "may-with-duty"
            if duty not in row.duties:
                row.duties.append(duty)

    def _substitute(self, need: NeedQuestion, part_id: str) -> Substitute | None:
        """A part of the ledger, off the car and not gone, that may legally be fitted and would meet the need.

        Of several, the one that costs the least to swap; after those, one that no job fits.
        """
        on, taking_off = self.now.situation.configuration.on, self.trials.taking_off
        for other in taking_off.cheapest_swap_first(
            part_id,
            [
                other
                for other, part in self.inventory.parts.items()
                if other not in on and not part.gone and any(covers(kind, part.kind) for kind in need.kinds)
            ],
        ):
            state = self._answer(self.trials.without(part_id, other))
            new = [answered for identity, answered in state.bad().items() if identity not in self.now.bad()]
            if not new and not any(_concerns(answered.component, need) for answered in state.hanging().values()):
                mass = taking_off.mass(other)
                return Substitute(
                    part=other,
                    title=part_title(other, self.inventory),
                    mass_kg=None if mass is None else float(mass.value),
                    mass_u_kg=None if mass is None else mass.u,
                    kept=self.inventory.parts[other].kept,
                    taken_off_by="".join(job.id for job in taking_off.jobs(other)),
                )
        return None

    def _swap(self, row: Removal, substitute: str) -> None:
        self._note_margin(row, self.trials.without(row.part, substitute))
        row.jobs = self.trials.taking_off.swaps(row.part, substitute)
        self._weigh(row, row.part, substitute)

    def _leave_open(self, row: Removal, answered: Answered, after: _State) -> None:
        row.group = "undecided"
        row.reasons.append(self._reason(answered, after, row.part))
        unknown = after.completions.names(support(answered.diagram))
        row.facts_to_find = tuple(sorted({*row.facts_to_find, *unknown}))

    def _reason(self, answered: Answered, state: _State, part_id: str, *, brought: bool = False) -> Reason:
        worst = max(answered.outcomes, key=lambda outcome: outcome.bad)
        sentence, in_short = said_of(part_id, answered.component, worst, state.situation, brought=brought)
        if not isinstance(answered.diagram, int):
            question = answered.component.open_question(state.situation)
            unknown = listed(state.completions.names(support(answered.diagram)))
            sentence, in_short = f"{question} hangs on {unknown}. At worst: {sentence}", ""
        cite = worst.cited[0]
        silence = cite is self.prepared.silence
        return Reason(cite.clause, sentence, cite.path, in_short, silence, asks=worst.result == "ask")

    def _note_margin(self, row: Removal, situation: Situation) -> None:
        """Note what is left to the limit that leaves the least; nothing where one of them cannot be computed."""
        row.margin_left_kg, row.margin_clause = None, ""
        view = View(situation, self.prepared.counts, {})
        margins = []
        for question in limit_questions(self.prepared, situation, CONFIDENCE):
            outcome = question.outcome(view)
            if outcome is None:
                return
            if outcome.limit is not None:
                if outcome.limit.margin_kg is None:
                    return
                margins.append((outcome.limit.margin_kg, outcome.limit.clause))
        if margins:
            row.margin_left_kg, row.margin_clause = min(margins, key=lambda each: each[0])

    def _off_already(self, part_id: str) -> Removal | None:
        wanted = self._needed_back.of(part_id)
        against = [
            each
            for each in self.now.answered
            if isinstance(each.component, ChangeQuestion) and each.component.part == part_id and each.diagram == BAD
        ]
        if not wanted and not against:
            return None
        row = self._back(part_id)
        for answered in against:
            row.group = "put-back"
            row.reasons.append(self._reason(answered, self.now, part_id))
        for each in wanted:
            if each.sure:
                row.group = "put-back"
                reason = self._reason(each.need, self.now, part_id)
                reason.one_of, reason.enough = each.one_of, each.enough
                row.reasons.append(reason)
        if row.group != "put-back":
            for each in wanted:
                self._leave_open_whether_back(row, each.need)
        if row.instead:
            self._weigh(row, part_id, *row.instead)
        return row

    def _back(self, part_id: str) -> Removal:
        """A row for a part off the car, not yet known to be against the rules, with what puts it back."""
        taking_off = self.trials.taking_off
        row = self._row(part_id, "undecided")
        row.already_off = True
        row.instead = self.trials.instead_of(part_id)
        row.put_back_by = taking_off.put_back_by(part_id)
        row.put_back_jobs = taking_off.putting_back(part_id)
        row.hindrances = taking_off.hindrances(part_id)
        return row

    def _leave_open_whether_back(self, row: Removal, answered: Answered) -> None:
        """Where the need is open now, say what it hangs on; else what it would hang on with the part back."""
        if answered.diagram != BAD:
            self._leave_open(row, answered, self.now)
            return
        need, then = answered.component, self._answer(self.trials.with_back(row.part))
        for each in then.answered:
            if isinstance(need, NeedQuestion) and _concerns(each.component, need):
                self._leave_open(row, each, then)

    def _may_go_back(self, part_id: str) -> bool:
        """Whether the build with a part back on has no violation that the build lacked; a finish can be made."""
        try:
            then = self._answer(self.trials.with_back(part_id))
        except TooMany:
            return True
        known = self.now.bad()
        return all(
            identity in known or isinstance(each.component, FinishQuestion) for identity, each in then.bad().items()
        )


def _concerns(component: Component, need: NeedQuestion) -> bool:
    return isinstance(component, NeedQuestion) and component.rule is need.rule and component.kinds == need.kinds


def _comes_with_the_ruling(component: Component) -> bool:
    """Whether a question is put by the very rule that decides a change: the change, or a finish it refers to."""
    if isinstance(component, FinishQuestion):
        return component.rule.rule.if_ is None
    return isinstance(component, ChangeQuestion)
