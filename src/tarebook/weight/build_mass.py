"""Everything that the scales say of one build: its mass with the budget, its balance, and all weighings together."""

from dataclasses import dataclass

from tarebook.weight.balance import Balance, balance_of
from tarebook.weight.budget import CAR_ALONE, Budget, budget_of
from tarebook.weight.combined import Combined, combine
from tarebook.weight.ledger import Ledger


@dataclass(frozen=True, slots=True)
class BuildMass:
    """A build of the car alone, nobody aboard, with the fuel of the inspection.

    Attributes:
        budget: the mass from the newest weighing, and what it is made of.
        combined: the mass from all weighings that agree, where there are two or more; nothing is judged by it.
    """

    build: str
    budget: Budget
    balance: Balance
    combined: Combined | None


def build_mass(ledger: Ledger, build: str) -> BuildMass:
    """What the scales say of a build. Raises KeyError for a build that the car file does not have."""
    configuration = ledger.inventory.build(build)
    return BuildMass(
        build,
        budget_of(ledger, configuration),
        balance_of(ledger, configuration, CAR_ALONE),
        combine(ledger, configuration, CAR_ALONE),
    )
