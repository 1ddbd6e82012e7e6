"""Sets a car in front of a book: its facts typed as the book understands them, its kinds as the book names them."""

import datetime

from tarebook.car.configurations import Configuration
from tarebook.car.presence import Presence
from tarebook.car.reading import Car
from tarebook.fact_values import FactError, Value, read_value
from tarebook.facts import Fact
from tarebook.judge.situation import Situation
from tarebook.kinds import Kind
from tarebook.quantities import parse_quantity
from tarebook.rules.reading import RuleSet
from tarebook.toml_source import Mistake, MistakesFound
from tarebook.weight.ledger import Ledger


class CarBeforeBook:
    """A car as one book sees it; ask it for the situation of each build.

    Raises MistakesFound if a fact that the book declares is stated with a value that does not fit it, or a kind of
    the car's own is not one that can be added to the book's. `adopted` are kinds that other books declare; a
    `ledger` may be shared between books.
    """

    def __init__(self, car: Car, rules: RuleSet, adopted: tuple[Kind, ...] = (), ledger: Ledger | None = None) -> None:
        self.car = car
        self.rules = rules
        tree = rules.tree
        new = {kind.path: kind for kind in (*car.own_kinds, *adopted) if kind.path not in tree}
        if new:
            tree = tree.extended(new.values())
        self.presence = Presence(car.inventory, tree)
        self.ledger = ledger or Ledger(car.inventory)
        self._mistakes: list[Mistake] = []
        stated = self._typed(car.file.facts, ("facts",))
        if car.file.car.model_year is not None:
            stated["model_year"] = _whole(car.file.car.model_year)
        defaults = {
            name: fact.default for name, fact in rules.facts.items() if fact.default is not None and name not in stated
        }
        self.assumed = frozenset(defaults)
        # A default is a value of the fact's type, as `read_value` made it: `Fact` cannot say so.
        self.made: dict[str, Value] = {**stated, **defaults}  # type: ignore[dict-item]
        self._sets = {
            job.id: self._typed(job.sets, ("job", index, "sets")) for index, job in enumerate(car.file.job) if job.sets
        }
        if self._mistakes:
            raise MistakesFound(tuple(self._mistakes))

    def situation(self, build: str, on: datetime.date) -> Situation:
        """The situation of a build by its name. Raises KeyError for a build that the car file does not have."""
        return self.situation_of(self.car.inventory.build(build), on)

    def situation_of(self, configuration: Configuration, on: datetime.date) -> Situation:
        """The situation of any configuration of the car."""
        facts = dict(self.made)
        assumed = set(self.assumed)
        for job in configuration.jobs:
            for name, value in self._sets.get(job, {}).items():
                facts[name] = value
                assumed.discard(name)
        return Situation(configuration, self.presence, self.ledger, self.made, facts, frozenset(assumed), on)

    def _typed(self, stated: dict[str, object], path: tuple[str | int, ...]) -> dict[str, Value]:
        found: dict[str, Value] = {}
        for name, value in stated.items():
            fact = self.rules.facts.get(name)
            if fact is None or (fact.type == "money" and not self._same_money(fact, value)):
                continue
            try:
                found[name] = read_value(value, fact, self.car.units)
            except FactError as error:
                hint = f"that is how the rule set {self.rules.source.name} declares it"
                self._mistakes.append(self.car.source.mistake((*path, name), str(error), hint))
        return found

    def _same_money(self, fact: Fact, value: object) -> bool:
        """Money in another currency than the book compares it with says nothing to the book."""
        currency = self.rules.currencies.get(fact.id)
        mine = parse_quantity(value, "money").unit if isinstance(value, str) else self.car.units.get("money")
        return currency is None or currency == mine


def _whole(number: int) -> Value:
    return read_value(number, Fact("model_year", "count", "", ""), {})
