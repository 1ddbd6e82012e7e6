"""Parts that the car left the factory with, that are off now, and that a `need` of the class wants back on."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from tarebook.judge.completing import Answered
from tarebook.judge.components import NeedQuestion, meets_need
from tarebook.judge.decision_diagrams import results
from tarebook.judge.findings import BAD
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.view import View
from tarebook.kinds import covers
from tarebook.route.trials import Trials


@dataclass(frozen=True, slots=True)
class Wanted:
    """A need that is not met, or perhaps not, and that a part off the car would help to meet.

    Attributes:
        sure: whether it is certain both that the need is broken now and that the part would help.
        one_of: where there is a choice, the parts among which it is, this one too; `enough` is how many of them will
            do. Empty where there is none.
    """

    need: Answered
    sure: bool
    one_of: tuple[str, ...] = ()
    enough: int = 0


class _Helped(NamedTuple):
    """Kinds and things of a need that a part would surely meet, and that it would perhaps."""

    surely: frozenset[str]
    perhaps: frozenset[str]


class NeededBack:
    """The needs of one class that parts off one build would help to meet.

    `is_sound` says of a part whether the class lets it stand on the car again.
    """

    def __init__(
        self, prepared: PreparedClass, trials: Trials, answered: list[Answered], is_sound: Callable[[str], bool]
    ) -> None:
        self._prepared = prepared
        self._trials = trials
        self._is_sound = is_sound
        self._now = View(trials.now, prepared.counts, {})
        inventory, on = trials.now.inventory, trials.now.configuration.on
        off = [
            each
            for each, part in inventory.parts.items()
            if each in inventory.originals and part.origin == "factory" and each not in on
        ]
        self._wanted: dict[str, list[Wanted]] = {}
        for each in answered:
            if off and isinstance(each.component, NeedQuestion) and BAD in results(each.diagram):
                self._look_for(each, each.component, off)

    def of(self, part_id: str) -> list[Wanted]:
        """The needs that the part would help to meet, in the order of the class."""
        return self._wanted.get(part_id, [])

    def _look_for(self, answered: Answered, need: NeedQuestion, off: list[str]) -> None:
        helps: dict[str, frozenset[str]] = {}
        perhaps: list[str] = []
        for part_id in off:
            if not self._is_of(part_id, need):
                continue
            found = self._helped(need, part_id)
            if (found.surely or found.perhaps) and self._is_sound(part_id):
                if found.surely:
                    helps[part_id] = found.surely
                else:
                    perhaps.append(part_id)
        one_of, enough = self._choice(need, helps)
        for part_id in helps:
            self._wanted.setdefault(part_id, []).append(Wanted(answered, answered.diagram == BAD, one_of, enough))
        for part_id in perhaps:
            self._wanted.setdefault(part_id, []).append(Wanted(answered, sure=False))

    def _is_of(self, part_id: str, need: NeedQuestion) -> bool:
        now = self._trials.now
        stands = (now.inventory.parts[part_id].kind, *now.presence.stands(part_id))
        return any(covers(kind, each) for kind in need.kinds for each in stands)

    def _helped(self, need: NeedQuestion, part_id: str) -> _Helped:
        """What of the need is not met now, and would be with the part back on."""
        then = View(self._trials.with_back(part_id), self._prepared.counts, {})
        surely: set[str] = set()
        perhaps: set[str] = set()
        for each, before, after in self._compared(need, then):
            if before is not True and after is not before and after is not False:
                (surely if after else perhaps).add(each)
        return _Helped(frozenset(surely), frozenset(perhaps))

    def _compared(self, need: NeedQuestion, then: View) -> Iterator[tuple[str, bool | None, bool | None]]:
        """Each kind that the need asks for, or each thing that it wants complete: met now, and met then."""
        now = self._now
        for kind in need.kinds:
            yield kind, meets_need(need.rule, kind, now), meets_need(need.rule, kind, then)
            if need.rule.rule.whole:
                for thing in now.situation.presence.tree.things_under(kind):
                    if now.from_factory(thing):
                        was, will = now.situation.thing_on(thing), then.situation.thing_on(thing)
                        yield thing, was is not None and now.present(was), will is not None and then.present(will)

    def _choice(self, need: NeedQuestion, helps: dict[str, frozenset[str]]) -> tuple[tuple[str, ...], int]:
        """The parts among which there is a choice, and how many of them meet the need."""
        if need.rule.rule.whole or len(helps) < 2:
            return (), 0
        lacking = need.at_least - [meets_need(need.rule, kind, self._now) for kind in need.kinds].count(True)
        kinds = [kind for helped in helps.values() for kind in helped]
        each_its_own = len(set(kinds)) == len(kinds) == len(helps)
        if lacking == 1 or (each_its_own and lacking < len(helps)):
            return tuple(helps), lacking
        return (), 0
