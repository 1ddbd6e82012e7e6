"""What all completions of the unknowns share: exact, by splitting only on what an answer turns out to hang on."""

from dataclasses import dataclass

from tarebook.fact_values import Value
from tarebook.facts import Fact
from tarebook.judge.components import Component, Outcome
from tarebook.judge.cutting import cut_conditions, cut_limit_forms
from tarebook.judge.decision_diagrams import Diagram, Diagrams, TooMany
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
        self._order: dict[Unknown, int] = {}
        self._left = MOST_CASES
        self._work = MOST_WORK
        self.diagrams = Diagrams(MOST_CASES)
        self._components: list[Component] = []
        self._plain = View(situation, prepared.counts, {})

    def answer_all(self, components: list[Component]) -> list[Answered]:
        """Every question answered. Raises TooMany."""
        self._components = components
        return [self._answer(component) for component in components]

    def names(self, orders: set[int]) -> tuple[str, ...]:
        """The names of unknowns, by their places in the order, sorted."""
        return tuple(sorted({unknown.name for unknown, order in self._order.items() if order in orders}))

    def _answer(self, component: Component) -> Answered:
        outcome = component.outcome(self._plain)
        if outcome is not None:
            return Answered(component, [(outcome, {})], outcome.bad)
        outcomes: dict[Outcome, dict[Unknown, Value]] = {}
        diagram = self._split(component, {}, outcomes)
        return Answered(component, list(outcomes.items()), diagram)

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
            return outcome.bad
        unknown = next(iter(view.met))
        order = self._order.setdefault(unknown, len(self._order))
        values = self._all_cuts().values(unknown, self._facts)
        return self.diagrams.choice(
            order, [self._split(component, {**trial, unknown: value}, outcomes) for value in values]
        )

    def _all_cuts(self) -> Cuts:
        if self._cuts is None:
            self._cuts = cuts = Cuts()
            cut_conditions(self._prepared, self._situation, cuts)
            cut_limit_forms(self._prepared, self._situation, cuts)
            for question in self._components:
                question.cut(self._situation, cuts)
            cuts.close(self._facts)
            for question in self._components:
                question.cut(self._situation, cuts)
        return self._cuts
