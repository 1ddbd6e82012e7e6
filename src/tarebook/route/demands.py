"""What a builder asks of a route: which jobs, how light, for how much, and how sure."""

from dataclasses import dataclass
from fractions import Fraction

from tarebook.judge.judging import CONFIDENCE


@dataclass(frozen=True, slots=True)
class Demands:
    """What a route must keep.

    Attributes:
        target: the expected mass in kg, as the class weighs the car, that the build without added ballast may have at
            most; None for the class's minimum with its guard margin.
        just_eligible: ask for no target at all.
        budget: what all chosen jobs may cost at most, cost less returns, in the car file's money.
        hours: what they may take at most.
        front_least, front_most: bounds on the share of the load on the front axle, as the class weighs the car.
        must, forbid: jobs that the route has, and has not.
        undo: whether done jobs may be undone.
        confidence: the chance of keeping each limit that "eligible" asks for.
    """

    target: Fraction | None = None
    just_eligible: bool = False
    budget: Fraction | None = None
    hours: Fraction | None = None
    front_least: Fraction | None = None
    front_most: Fraction | None = None
    must: frozenset[str] = frozenset()
    forbid: frozenset[str] = frozenset()
    undo: bool = False
    confidence: float = CONFIDENCE

    @property
    def wants_front_share(self) -> bool:
        return self.front_least is not None or self.front_most is not None
