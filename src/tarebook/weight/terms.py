"""What a mass is asked of, and what it is made of: the words that the weight ledger and its readers share."""

from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.car.models import Weighing
from tarebook.quantities import Quantity
from tarebook.weight.measured import Measured

Aboard = Literal["aboard", "out"]
Axle = Literal["front", "rear"]


class Weighed(NamedTuple):
    """What a class puts on the scale besides the car."""

    driver: Aboard = "out"
    driver_counts_as: Fraction | None = None
    co_driver: Aboard = "out"
    fuel: Quantity | Literal["full", "empty", "as-raced"] = "as-raced"
    without: frozenset[str] = frozenset()  # parts taken out before weighing
    fuel_within: Quantity | None = None  # how far off an amount of fuel may be; "as-raced" has the car file's own


class Missing(NamedTuple):
    """Why a mass is unknown; `fact` where stating that fact of the car would settle it."""

    sentence: str
    fact: str | None = None


class Place(NamedTuple):
    """Where something sits: mm behind the front axle, and mm right of the middle; None where it is not said."""

    at: Fraction | None
    right: Fraction | None


NEVER_WEIGHED = Missing("the car was never weighed")
NO_AXLES = Missing("no weighing has the axles apart")
NO_WHEELBASE = Missing("the wheelbase is not stated", "wheelbase")


class Group(NamedTuple):
    """One group of readings of a weighing: the mean of what was read at one place, or in all."""

    name: str  # "total", "front", "rear", "front_left", ..
    mass: Measured


class Term(NamedTuple):
    """Something that differs between the weighing and what is asked: its mass, with sign, and its place.

    Attributes:
        what: what it is; "kind" is one that was replaced without a part of its own in the ledger.
        id: the part or kind, or the same as `what`.
        sign: 1 for what is there and was not when the car was weighed, -1 for what was there and is not.
        mass: in kg, with that sign; None where it is unknown, which `missing` then explains.
        at: mm behind the front axle; None where it is not said.
        right: mm right of the middle; None where it is not said.
    """

    what: Literal["part", "kind", "fuel", "driver", "co_driver"]
    id: str
    sign: int
    mass: Measured | None
    at: Fraction | None = None
    right: Fraction | None = None
    missing: Missing | None = None

    @property
    def name(self) -> str:
        """What people call it: a part by its id."""
        return self.id.replace("_", "-") if self.what == "co_driver" else self.id


class Terms(NamedTuple):
    """What a mass is made of: the readings of one weighing, and everything that differs from what was weighed.

    Without a weighing, or with one that does not have the axle asked for, `base` is empty and `missing` says why.
    """

    weighing: Weighing | None
    base: tuple[Group, ...]
    differing: tuple[Term, ...]
    missing: tuple[Missing, ...] = ()


class MassAnswer(NamedTuple):
    """A mass, or why it cannot be said."""

    mass: Measured | None
    missing: tuple[Missing, ...] = ()
