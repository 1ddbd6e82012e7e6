"""What all completions of the unknowns share: exact, by splitting only on what an answer turns out to hang on."""

from contextlib import suppress
from dataclasses import dataclass

from tarebook.fact_values import Value
from tarebook.facts import Fact
from tarebook.judge.components import Component, Outcome
from tarebook.judge.cutting import cut_conditions, cut_limit_forms
from tarebook.judge.decision_diagrams import Diagram, Diagrams, TooMany, results
from tarebook.judge.findings import BAD, OPEN
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Cuts, Unknown
from tarebook.judge.view import View

MOST_CASES = 100_000
MOST_WORK = 1_500_000  # readings of the situation, for one class and build: some seconds


@dataclass(slots=True)
class Answered:
    """A question with every outcome that some completion gives it, and how bad each completion is."""

    component: Component
    cases: list[tuple[Outcome, dict[Unknown, Value]]]  # each outcome, with a completion that gives it
    diagram: Diagram
    detailed: Diagram  # the same, where a mass that stated facts would settle is told apart: see `lacking`

    @property
    def outcomes(self) -> list[Outcome]:
        return [outcome for outcome, _ in self.cases]


class Completions:
    """Tries completions of what is unknown about one build, for one class."""

    def __init__(self, prepared: PreparedClass, situation: Situation) -> None:
        self._prepared = prepared
        self._situation = situation
        self._facts: dict[str, Fact] = prepared.facts
        self._cuts: Cuts | None = None
        self._too_many_cuts = False
        self._order: dict[Unknown, int] = {}
        self._left = MOST_CASES
        self._work = MOST_WORK
        self.diagrams = Diagrams(MOST_CASES)
        self._components: list[Component] = []
        self._lacking: list[frozenset[str]] = []  # sets of facts, each of which alone leaves some mass open
        self._plain = View(situation, prepared.counts, {})

    def answer_each(self, components: list[Component]) -> tuple[list[Answered], bool]:
        """The questions answered, as far as they can be; and whether some need more cases than may be tried."""
        self._components = components
        answered = []
        for component in components:
            with suppress(TooMany):
                answered.append(self._answer(component))
        return answered, len(answered) < len(components)

    def answer_all(self, components: list[Component]) -> list[Answered]:
        """Every question answered. Raises TooMany."""
        self._components = components
        return [self._answer(component) for component in components]

    def names(self, orders: set[int]) -> tuple[str, ...]:
        """The names of unknowns, by their places in the order, sorted."""
        return tuple(sorted({unknown.name for unknown, order in self._order.items() if order in orders}))

    def names_met(self) -> tuple[str, ...]:
        """The names of all unknowns that came up, sorted."""
        return tuple(sorted({unknown.name for unknown in self._order}))

    def _answer(self, component: Component) -> Answered:
        outcome = component.outcome(self._plain)
        if outcome is not None:
            label = self._label(outcome)
            return Answered(component, [(outcome, {})], outcome.bad, label)
        outcomes: dict[Outcome, dict[Unknown, Value]] = {}
        detailed = self._split(component, {}, outcomes)
        diagram = self.diagrams.relabelled(detailed, lambda label: OPEN if label > BAD else label)
        return Answered(component, list(outcomes.items()), diagram, detailed)

    def _label(self, outcome: Outcome) -> int:
        """How bad an outcome is; beyond that, a number for the facts that alone leave it open."""
        if not outcome.to_find:
            return outcome.bad
        facts = frozenset(outcome.to_find)
        if facts not in self._lacking:
            self._lacking.append(facts)
        return BAD + 1 + self._lacking.index(facts)

    def lacking(self, answered: list[Answered]) -> set[str]:
        """The facts behind masses that, in some completion, are all that leaves the class open."""
        return {fact for fact in frozenset().union(*self._lacking) if self._settles(fact, answered)}

    def _settles(self, fact: str, answered: list[Answered]) -> bool:
        wanted, further, shut = 1, 2, 3

        def label(each: int) -> int:
            if each > BAD:
                return wanted if fact in self._lacking[each - BAD - 1] else 0
            return {OPEN: further, BAD: shut}.get(each, 0)

        overall: Diagram = 0
        for each in answered:
            overall = self.diagrams.worst(overall, self.diagrams.relabelled(each.detailed, label))
        return wanted in results(overall)

    def _split(
        self, component: Component, trial: dict[Unknown, Value], outcomes: dict[Outcome, dict[Unknown, Value]]
    ) -> Diagram:
        self._left -= 1
        if self._left < 0:
            raise TooMany
        view = View(self._situation, self._prepared.counts, trial)
        outcome = component.outcome(view)
        self._work -= view.work
        if self._work < 0:
            raise TooMany
        if outcome is not None:
            outcomes.setdefault(outcome, trial)
            return self._label(outcome)
        unknown = next(iter(view.met))
        order = self._order.setdefault(unknown, len(self._order))
        values = self._all_cuts().values(unknown, self._facts)
        return self.diagrams.choice(
            order, [self._split(component, {**trial, unknown: value}, outcomes) for value in values]
        )

    def _all_cuts(self) -> Cuts:
        """Where the class cuts each unknown. Raises TooMany, every time, where that gives too many values."""
        if self._too_many_cuts:
            raise TooMany
        if self._cuts is None:
            self._too_many_cuts = True  # unless it comes to an end
            cuts = Cuts()
            cut_conditions(self._prepared, self._situation, cuts)
            cut_limit_forms(self._prepared, self._situation, cuts)
            for question in self._components:
                question.cut(self._situation, cuts)
            cuts.close(self._facts)
            for question in self._components:
                question.cut(self._situation, cuts)
            self._cuts = cuts
            self._too_many_cuts = False
        return self._cuts
