"""The car file: what a builder writes down about one car, its parts and the work on it."""

import datetime
from fractions import Fraction
from typing import Annotated, Any, Literal

from tarebook.fields import (
    READINGS_FORMS,
    Density,
    Fuel,
    Identifier,
    Length,
    Mass,
    Money,
    Number,
    Readings,
    SignedLength,
    Units,
    quantity,
    read_number,
)
from tarebook.quantities import Quantity
from tarebook.tables import Between, FieldError, NotEmpty, Read, Table, Written

Volume = Annotated[Quantity, quantity("volume", "2 L")]

Factory = Literal["always", "sometimes", "never"]


class Goal(Table):
    """The builder's own target."""

    mass: Mass


class CarTable(Table):
    name: str
    model_year: Annotated[int, Between(1880, 2200)] | None = None
    goal: Goal | None = None
    absent: list[str] = []
    present: list[str] = []
    note: str = ""


class Estimate(Table):
    """A mass that was judged, not weighed: anywhere within `mass` plus or minus `within`, evenly."""

    mass: Mass
    within: Mass


class Person(Table):
    """Who sits in the car, with helmet and suit."""

    mass: Readings | None = None
    scale: str | None = None
    estimate: Estimate | None = None
    seat_at: SignedLength | None = None
    seat_right: SignedLength | None = None


class Tank(Table):
    at: SignedLength | None = None
    right: SignedLength | None = None
    density: Density | None = None
    density_within: Density | None = None


class AtInspection(Table):
    """The lightest state in which the car may be weighed, and the scale that weighs it there.

    `official_scale` is the standard uncertainty of the official's scale.
    """

    fuel: Fuel | None = None
    fuel_within: Volume | None = None
    official_scale: Mass | None = None


class ScaleCheck(Table):
    """What a known mass read on the scale; `u` is the standard uncertainty of that comparison."""

    known: Mass
    read: Mass
    u: Mass


class ScaleGain(Table):
    """How far every reading of the scale may be off, as a share of what it reads, evenly: 0.002 is 0.2 %."""

    within: Number


class Scale(Table):
    id: Identifier
    resolution: Mass
    capacity: Mass | None = None
    check: ScaleCheck | None = None
    gain: ScaleGain | None = None
    title: str = ""
    note: str = ""


class Corners(Table):
    front_left: Readings
    front_right: Readings
    rear_left: Readings
    rear_right: Readings


class Axles(Table):
    front: Readings
    rear: Readings


class Weighing(Table):
    id: Identifier
    date: datetime.date
    scale: str | None = None
    corners: Corners | None = None
    axles: Axles | None = None
    total: Readings | None = None
    fuel: Fuel | None = None
    fuel_within: Volume | None = None
    driver_aboard: bool = False
    co_driver_aboard: bool = False
    includes: list[str] | None = None
    note: str = ""


class Zone(Table):
    id: Identifier
    title: str = ""
    from_: SignedLength
    to: SignedLength
    note: str = ""


class Part(Table):
    id: Identifier
    kind: str
    title: str = ""
    mass: Readings | None = None
    mass_each: Readings | None = None
    mass_together: Readings | None = None
    count: Annotated[int, Between(1, 10_000)] | None = None
    scale: str | None = None
    estimate: Estimate | None = None
    at: SignedLength | None = None
    right: SignedLength | None = None
    origin: Literal["factory", "aftermarket"] = "factory"
    replaces: str | None = None
    material: str | None = None
    thickness: Length | None = None
    belongs_to: str | None = None
    years: Annotated[list[int], NotEmpty()] | None = None
    approval: list[str] | None = None
    place: str | None = None
    kept: str = ""
    gone: bool = False
    note: str = ""


class Move(Table):
    """Where a part goes to."""

    at: SignedLength | None = None
    right: SignedLength | None = None
    place: str | None = None


def _mass_form(value: object) -> object:
    return value if isinstance(value, dict) else {"mass": value}


class MassForm(Table):
    """A mass in any form in which a part may state it."""

    mass: Readings | None = None
    scale: str | None = None
    estimate: Estimate | None = None


Lightened = Annotated[
    MassForm,
    Written(
        _mass_form,
        *READINGS_FORMS,
        description="the mass afterwards: one reading, several, or a table with scale or estimate",
    ),
]


def _hours(value: object, units: object) -> Fraction:
    hours = read_number(value)
    if hours < 0:
        raise FieldError("hours are zero or more")
    return hours


Hours = Annotated[Fraction, Read(_hours, {"type": "number", "minimum": 0})]
Finish = Literal["painted", "covered", "sealed", "capped", "welded"]


class FinishDone(Table):
    area: str
    by: Finish


class Job(Table):
    id: Identifier
    title: str = ""
    state: Literal["done", "planned", "maybe"]
    date: datetime.date | None = None
    off: list[str] = []
    fit: list[str] = []
    moves: dict[str, Move] = {}
    lightens: dict[str, Lightened] = {}
    sets: dict[str, Any] = {}
    cost: Money | None = None
    returns: Money | None = None
    hours: Hours = Fraction(0)
    needs: list[str] = []
    not_with: list[str] = []
    tools: list[str] = []
    finishes: list[FinishDone] = []
    note: str = ""


class Build(Table):
    id: Identifier
    title: str = ""
    jobs: list[str] = []
    undo: list[str] = []
    date: datetime.date | None = None
    note: str = ""


class OwnKind(Table):
    """A kind that the tree lacks, put under one of its branches."""

    id: str
    title: str
    from_factory: Factory
    note: str = ""


class CarFile(Table):
    """The whole car file, as read; cross-references are checked in `tarebook.car.checks`."""

    format: Literal["tarebook-car/1"]
    car: CarTable
    units: Units = Units()
    facts: dict[str, Any] = {}
    driver: Person | None = None
    co_driver: Person | None = None
    at_inspection: AtInspection = AtInspection()
    tank: Tank = Tank()
    kind: list[OwnKind] = []
    scale: list[Scale] = []
    weighing: list[Weighing] = []
    zone: list[Zone] = []
    part: list[Part] = []
    job: list[Job] = []
    build: list[Build] = []
