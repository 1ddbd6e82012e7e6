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
from tarebook.route.trial_wording import said_of

Group = Literal["may", "may-with-duty", "put-back", "must-stay", "undecided"]


@dataclass(slots=True)
class Reason:
    """A rule behind a row: its clause, what it comes to in one sentence, and where it stands.

    `silence` is True where no rule speaks of it, and the book's silence decides; `asks` where a person must agree.
    `in_short` is what is left to say where the row names the part; "" where that is the sentence.
    """

    clause: str
    sentence: str
    path: Path
    in_short: str = ""
    silence: bool = False
    asks: bool = False


@dataclass(frozen=True, slots=True)
class Substitute:
    """A part of the ledger, off the car, that must be fitted when another comes out.

    Attributes:
        mass_kg: None for a part that was never weighed; `mass_u_kg` is its standard uncertainty.
        taken_off_by: the job of the build that took it off; "" where none did.
    """

    part: str
    title: str
    mass_kg: float | None
    mass_u_kg: float | None
    kept: str
    taken_off_by: str


@dataclass(slots=True)
class Removal:
    """One part, and whether it may come out.

    Attributes:
        mass_kg: of the part alone; None for a part that was never weighed.
        net_kg: what the car gains in all, below zero for what it loses: the part comes off and its substitute goes
            on; a part already off goes back on, and what took its place comes off. None where a mass is not known.
        margin_left_kg: the least margin of the class's limits once it is out, with the substitute on; None where that
            cannot be computed. `margin_clause` is the clause of that limit; "" where there is none.
        front_kg: what that adds to the front axle, in kg; below zero for what leaves it. `rear_kg` likewise. None
            where mass, place or wheelbase is not known, or the part is gone.
        substitute: what must be fitted in its place.
        jobs: the jobs of the car file that take it off, or fit the substitute in its place, the cheapest first; of a
            part already off, the one that took it off.
        instead: of a part already off against the rules, the parts that took its place.
        put_back_by: the jobs that would fit a part already off, and `put_back_jobs` those of them that can be done
            from this build, the cheapest first; `hindrances` says why the others cannot.
    """

    part: str
    title: str
    kind: str
    group: Group
    mass_kg: float | None
    mass_u_kg: float | None
    margin_left_kg: float | None
    margin_clause: str = ""
    reasons: list[Reason] = field(default_factory=list)
    duties: list[str] = field(default_factory=list)
    facts_to_find: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    kept: str = ""
    gone: bool = False
    front_kg: float | None = None
    rear_kg: float | None = None
    net_kg: float | None = None
    net_u_kg: float | None = None
    substitute: Substitute | None = None
    jobs: tuple[JobOff, ...] = ()
    instead: tuple[str, ...] = ()
    put_back_by: tuple[str, ...] = ()
    put_back_jobs: tuple[JobOff, ...] = ()
    hindrances: tuple[str, ...] = ()

    @property
    def cost(self) -> float | None:
        """Of the cheapest job that does it, with what that needs; None where no job does. See `_to_do`."""
        return self._to_do[0].cost if self._to_do else None

    @property
    def hours(self) -> float | None:
        return self._to_do[0].hours if self._to_do else None

    @property
    def cost_per_kg(self) -> float | None:
        """The cost for each kg that leaves the car with that job."""
        return self._to_do[0].cost_per_kg if self._to_do else None

    @property
    def _to_do(self) -> tuple[JobOff, ...]:
        """The jobs that take it off or swap it; of a part that must be put back, those that put it back."""
        return self.put_back_jobs if self.group == "put-back" else self.jobs

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
        bad_before, hanging_before = self.now.bad(), self.now.hanging()
        for identity, answered in after.bad().items():
            if identity not in bad_before:
                self._weigh_up(row, answered, after, part_id)
        if row.group != "must-stay":
            for identity, answered in after.hanging().items():
                if identity not in hanging_before and identity not in bad_before:
                    self._leave_open(row, answered, after)
        if row.group == "must-stay":
            row.substitute, row.duties = None, []
        if row.substitute is not None:
            self._swap(row, row.substitute.part)
        if row.group == "may":
            before = self.now.situation.changes
            row.reasons = [
                self._reason(answered, after, part_id)
                for answered in after.answered
                if isinstance(answered.component, ChangeQuestion) and answered.component.change not in before
            ]
        return row

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
        for answered in self.now.answered:
            component = answered.component
            if isinstance(component, ChangeQuestion) and component.part == part_id and answered.diagram == BAD:
                return self._put_back(part_id, component, self._reason(answered, self.now, part_id))
        return None

    def _put_back(self, part_id: str, component: ChangeQuestion, reason: Reason) -> Removal:
        taking_off = self.trials.taking_off
        row = self._row(part_id, "put-back")
        row.reasons.append(reason)
        row.instead = component.change.new
        row.put_back_by = taking_off.put_back_by(part_id)
        row.put_back_jobs = taking_off.putting_back(part_id)
        row.hindrances = taking_off.hindrances(part_id)
        if row.instead:
            self._weigh(row, part_id, *row.instead)
        return row


def _concerns(component: Component, need: NeedQuestion) -> bool:
    return isinstance(component, NeedQuestion) and component.rule is need.rule and component.kinds == need.kinds
