"""How much ballast, or where: for a wanted share on the front axle, or a least load of an axle.

As one computes it on paper (FAA-H-8083-30B, chapter 6): ballast = weight x distance to shift the centre of gravity,
over the distance from the ballast to where the centre shall be. Solved exactly; what the loads leave unsure goes along.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.weight.measured import Measured, total
from tarebook.weight.terms import Axle


class Wish(NamedTuple):
    """What ballast is to bring about.

    Attributes:
        lacking: what must come to the axle, in kg; below zero where it has too much.
        over_front: what a kilogram over the front axle brings of it.
        wheelbase_back: what that kilogram brings more if it sits a whole wheelbase further back.
        least: enough is enough: more than is lacking does no harm.
        axle: which axle it is about.
    """

    lacking: Measured
    over_front: Fraction
    wheelbase_back: Fraction
    least: bool
    axle: Axle


def for_share(front: Measured, whole: Measured, share: Fraction) -> Wish:
    """The front axle is to carry that share of everything, ballast included."""
    return Wish(total([whole.times(share), front.times(-1)]), 1 - share, Fraction(-1), False, "front")


def for_axle(axle: Axle, load: Measured, least: Fraction) -> Wish:
    """An axle is to carry at least so many kg."""
    lacking = total([Measured(least, {}), load.times(-1)])
    return Wish(lacking, Fraction(int(axle == "front")), Fraction(-1 if axle == "front" else 1), True, axle)


Trouble = Literal["wrong-side", "no-effect", "no-mass"]


@dataclass(frozen=True, slots=True)
class Ballast:
    """Ballast of so many kg at a place, in mm behind the front axle; one of the two was given.

    `met` is True where the wish is met without any. `trouble` says why there is no answer: at that place ballast works
    the other way ("wrong-side") or changes nothing ("no-effect"); or there is no ballast to place ("no-mass").
    """

    mass: Measured | None
    at: Measured | None
    met: bool = False
    trouble: Trouble | None = None


def ballast_at(wish: Wish, at: Fraction, wheelbase: Fraction) -> Ballast:
    """How much, at a place `at` mm behind the front axle."""
    place = Measured(at, {})
    lacking = wish.lacking.value
    if lacking == 0 or (wish.least and lacking < 0):
        return Ballast(Measured(Fraction(0), {}), place, met=True)
    brings = wish.over_front + wish.wheelbase_back * at / wheelbase
    if not brings:
        return Ballast(None, place, trouble="no-effect")
    if (lacking > 0) != (brings > 0):
        return Ballast(None, place, trouble="wrong-side")
    return Ballast(wish.lacking.times(1 / brings), place)


def place_for(wish: Wish, mass: Fraction, wheelbase: Fraction) -> Ballast:
    """Where, for so many kg: the place itself for a share, the furthest place that is enough for a least load."""
    ballast = Measured(mass, {})
    if wish.least and wish.lacking.value <= 0 and not mass:
        return Ballast(ballast, None, met=True)
    if mass <= 0:
        return Ballast(ballast, None, trouble="no-mass")
    back = wheelbase / wish.wheelbase_back
    at = total([wish.lacking.times(back / mass), Measured(-wish.over_front * back, {})])
    return Ballast(ballast, at, met=wish.least and wish.lacking.value <= 0)
