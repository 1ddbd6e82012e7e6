"""One build of a car with parts tried off it, or back on: as one book sees it, the same for all its classes."""

from collections.abc import Callable
from dataclasses import replace

from tarebook.car.configurations import Configuration
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.situation import Situation
from tarebook.route.taking_off import TakingOff
from tarebook.route.trial_wording import places


class Trials:
    """`situation_of` sets a configuration before the book."""

    def __init__(self, now: Situation, situation_of: Callable[[Configuration], Situation]) -> None:
        self.now = now
        self.taking_off = TakingOff(now.ledger, now.configuration)
        self._situation_of = situation_of
        self._tried: dict[frozenset[str], Situation] = {}

    def without(self, part_id: str, instead: str | None = None) -> Situation:
        """The build with one part less, and with another one on in its place."""
        fitted = frozenset() if instead is None else frozenset((instead,))
        return self._with((self.now.configuration.on - {part_id}) | fitted)

    def with_back(self, part_id: str) -> Situation:
        """The build with a part back on, and without those that took its place."""
        return self._with((self.now.configuration.on - set(self.instead_of(part_id))) | {part_id})

    def instead_of(self, part_id: str) -> tuple[str, ...]:
        """The parts on the car that took the place of another, in the order of the ledger."""
        now = self.now
        return tuple(
            each
            for each in now.inventory.parts
            if each in now.configuration.on and part_id in places(each, now.inventory)
        )

    def _with(self, on: frozenset[str]) -> Situation:
        if on not in self._tried:
            self._tried[on] = self._situation_of(with_parts(self.now.configuration, on))
        return self._tried[on]


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
