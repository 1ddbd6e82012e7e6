"""The rule-set file: a club's book, its groups of rules and its classes, as written.

Conditions (`if`, `must`) stay plain tables here; `tarebook.rules.conditions` reads them, because what a
condition may say depends on the facts and kinds that the book itself declares.
"""

import datetime
from fractions import Fraction
from typing import Annotated, Any, Literal

from tarebook.fields import (
    QUANTITY_FORMS,
    ClassFuel,
    Clause,
    Identifier,
    Mass,
    Number,
    SignedLength,
    SignedMass,
    Units,
    read_number,
    read_quantity,
)
from tarebook.quantities import Quantity, QuantityError
from tarebook.tables import Between, FieldError, NotEmpty, Read, Table, Written

Action = Literal["remove", "swap", "fit", "lighten", "move"]
ACTIONS: tuple[Action, ...] = ("remove", "swap", "fit", "lighten", "move")
Silence = Literal["forbids", "permits"]


class InForce(Table):
    """The days an edition holds, both ends included; without `until`, until further notice."""

    from_: datetime.date
    until: datetime.date | None = None


class SilenceByAction(Table):
    """What silence means, action by action; each is named, so that none is forgotten."""

    remove: Silence
    swap: Silence
    fit: Silence
    lighten: Silence
    move: Silence


def _silence(value: object) -> object:
    if isinstance(value, str):
        if value not in ("forbids", "permits"):
            raise FieldError(f'silence is "forbids" or "permits", or a table that names each action, not "{value}"')
        return dict.fromkeys(ACTIONS, value)
    return value


SilenceTable = Annotated[
    SilenceByAction,
    Written(_silence, {"enum": ["forbids", "permits"]}, description="what the book's silence on a change means"),
]


class Book(Table):
    id: Identifier
    title: str
    edition: str
    clause: Clause = "silence"
    in_force: InForce
    silence: SilenceTable
    note: str = ""


class OwnFact(Table):
    """A fact of this book's own."""

    id: str
    type: Literal["yes-no", "number", "count", "choice", "text", "mass", "length", "volume", "power", "money", "date"]
    title: str
    choices: list[str] = []
    default: Any = None
    note: str = ""


class OwnKind(Table):
    """A kind of this book's own, under a branch of the tree."""

    id: str
    title: str
    from_factory: Literal["always", "sometimes", "never"]
    note: str = ""


Condition = dict[str, Any]


class NumberRange(Table):
    least: Number | None = None
    most: Number | None = None
    over: Number | None = None
    under: Number | None = None
    up_to: Number | None = None


class MassRange(Table):
    least: Mass | None = None
    most: Mass | None = None
    over: Mass | None = None
    under: Mass | None = None
    up_to: Mass | None = None


class LengthRange(Table):
    least: SignedLength | None = None
    most: SignedLength | None = None
    over: SignedLength | None = None
    under: SignedLength | None = None
    up_to: SignedLength | None = None


def _one_or_many(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _materials(value: object, units: object) -> object:
    if value == "as-original" or (isinstance(value, list) and all(isinstance(each, str) for each in value)):
        return value
    shown = value if isinstance(value, str) else "steel"
    raise FieldError(f'material is a list such as ["{shown}"], or "as-original"')


Materials = Annotated[
    list[str] | Literal["as-original"],
    Read(_materials, {"oneOf": [{"type": "array", "items": {"type": "string"}}, {"const": "as-original"}]}),
]
Names = Annotated[list[str], Written(_one_or_many, {"type": "string"}, description="one name, or a list")]


class PartBounds(Table):
    """Bounds on a part as it ends up; what the part does not say is unknown."""

    weighs: MassRange | None = None
    share_of_original: NumberRange | None = None
    weight_removed: MassRange | None = None
    share_removed: NumberRange | None = None
    origin: Literal["factory", "aftermarket"] | None = None
    material: Materials | None = None
    material_not: list[str] | None = None
    thickness: LengthRange | None = None
    years: Literal["model_year"] | None = None
    approval: Names | None = None
    at: LengthRange | None = None
    behind: Literal["driver"] | None = None
    within: Literal["wheelbase"] | None = None
    place: Names | None = None


def _amount(value: object, units: dict[str, str | None]) -> Quantity:
    rate = isinstance(value, str) and "/" in value
    problem = ""
    for dimension in ("mass/volume", "mass/power") if rate else ("mass",):
        try:
            return read_quantity(value, dimension, units, signed=True)
        except QuantityError as error:
            problem = str(error)
    raise FieldError(problem)


Amount = Annotated[Quantity, Read(_amount, {"oneOf": list(QUANTITY_FORMS)})]


class AddForm(Table):
    """An amount, a change of the rate, or what a fact of the car states, such as a success mass, capped by `most`."""

    amount: Amount | None = None
    fact: str | None = None
    most: Mass | None = None


def _add(value: object) -> object:
    return value if isinstance(value, dict) else {"amount": value}


Added = Annotated[
    AddForm,
    Written(
        _add,
        *QUANTITY_FORMS,
        description='an amount such as "25 kg", a change of the rate such as "0.5 kg/kW", or a fact with its cap',
    ),
]


class Adjust(Table):
    """Moves a limit: an amount, or a change of the rate (`"0.5 kg/kW"`), or what a fact states."""

    add: Added
    of: Literal["minimum", "maximum", "front_axle", "rear_axle"] = "minimum"
    clause: Clause | None = None
    if_: Condition | None = None
    says: str = ""


class LimitForm(Table):
    """A limit that depends on the car; exactly one of the forms of `LIMIT_FORMS`."""

    amount: Mass | None = None
    by: str | None = None
    over_up_to: list[list[Any]] | None = None
    cases: dict[str, Mass] | None = None
    otherwise: Mass | None = None
    per: str | None = None
    rate: Any = None
    fact: str | None = None
    times: Number | None = None
    plus: SignedMass | None = None
    axles: Literal[True] | None = None
    least: Mass | None = None


def _limit(value: object) -> object:
    return value if isinstance(value, dict) else {"amount": value}


Limit = Annotated[
    LimitForm,
    Written(_limit, *QUANTITY_FORMS, description="an amount, or a table that says how it depends on the car"),
]


class Ballast(Table):
    allowed: bool
    most: Mass | None = None
    places: list[str] | None = None
    clause: Clause | None = None


class AxleLimit(Table):
    least: Limit | None = None
    most: Limit | None = None
    clause: Clause | None = None


class WeightTerms(Table):
    """What is weighed: the keys that `weight` and a further `limit` share."""

    driver: Literal["aboard", "out"] | None = None
    driver_counts_as: Mass | None = None
    co_driver: Literal["aboard", "out"] | None = None
    fuel: ClassFuel | None = None
    without: list[str] | None = None
    allowance: Mass | None = None
    scale_u: Mass | None = None
    minimum: Limit | None = None
    maximum: Limit | None = None
    front_axle: AxleLimit | None = None
    rear_axle: AxleLimit | None = None
    adjust: list[Adjust] | None = None
    says: str = ""


class Weight(WeightTerms):
    clause: Clause | None = None
    ballast: Ballast | None = None


class FurtherLimit(WeightTerms):
    clause: Clause
    if_: Condition | None = None
    taken_off: list[str] | None = None


def _factor(value: object, units: object) -> Fraction:
    factor = read_number(value)
    if factor <= 0:
        raise FieldError("a factor is more than zero")
    return factor


Factor = Annotated[Fraction, Read(_factor, {"type": "number", "exclusiveMinimum": 0})]


class Counts(Table):
    """Equivalence: the figure that a class reads for a fact is so many times the stated one."""

    clause: Clause
    fact: str
    times: Factor
    if_: Condition | None = None
    says: str = ""


class Rule(Table):
    clause: Clause
    if_: Condition | None = None
    says: str = ""


class Must(Rule):
    """Who may enter (`enter`) and what the car must be like (`require`)."""

    must: Condition


def _actions(value: object) -> object:
    if value == "anything":
        return list(ACTIONS)
    if isinstance(value, str):
        raise FieldError(f'does is a list such as ["{value}"], or "anything"')
    return value


class Change(Rule):
    """What allowances and bans share: which changes of which kinds they speak of."""

    kinds: Annotated[list[str], NotEmpty()]
    does: Annotated[
        list[Action],
        NotEmpty(),
        Written(_actions, {"const": "anything"}, description="the changes that the rule speaks of"),
    ]
    part: PartBounds | None = None
    fixings: bool = False
    despite: list[Clause] = []


class Allow(Change):
    only: bool = False
    ask: str | None = None
    finish: list[str] = []


class Ban(Change):
    pass


class Need(Rule):
    kinds: Annotated[list[str], NotEmpty()]
    at_least: Annotated[int, Between(1)] | None = None
    whole: bool = False
    part: PartBounds | None = None
    despite: list[Clause] = []


class Strip(Rule):
    kinds: Annotated[list[str], NotEmpty()]
    despite: list[Clause] = []


class FinishDuty(Rule):
    id: Identifier
    area: str
    by: Annotated[list[Literal["painted", "covered", "sealed", "capped", "welded"]], NotEmpty()]


class Ask(Rule):
    """A clause that only a person can judge."""

    says: Annotated[str, NotEmpty()]


class Rules(Table):
    """The forms of rule that a group or a class holds."""

    weight: Weight | None = None
    limit: list[FurtherLimit] = []
    counts: list[Counts] = []
    enter: list[Must] = []
    require: list[Must] = []
    allow: list[Allow] = []
    ban: list[Ban] = []
    need: list[Need] = []
    strip: list[Strip] = []
    finish: list[FinishDuty] = []
    ask: list[Ask] = []


class Group(Rules):
    id: Identifier
    title: str = ""
    clause: Clause | None = None
    everywhere: bool = False
    prevails: bool = False
    note: str = ""


class Class(Rules):
    id: Identifier
    title: str
    clause: Clause | None = None
    like: str | None = None
    uses: list[str] = []
    drops: list[Clause] = []
    silence: SilenceTable | None = None
    note: str = ""


class FinishShown(Table):
    """A finish that is done on the car of an example."""

    area: str
    by: Literal["painted", "covered", "sealed", "capped", "welded"]


class Example(Table):
    """A case that a book decides about itself: a car in a few words, or a car file, and how it comes out."""

    title: Annotated[str, NotEmpty()]
    class_: str
    facts: dict[str, Any] = {}
    present: list[str] = []
    absent: list[str] = []
    removed: list[str] = []
    swapped: list[str] = []
    fitted: list[str] = []
    lightened: list[str] = []
    moved: list[str] = []
    finishes: list[FinishShown] = []
    mass: Mass | None = None
    car: str | None = None
    build: str = "now"
    on: datetime.date | None = None
    expect: Literal[
        "eligible",
        "not-eligible",
        "too-close",
        "undecided",
        "violation",
        "owed",
        "allowed",
        "met",
        "ask",
        "not-in-play",
    ]
    because: list[Clause] = []
    clause: Clause | None = None


class RulesFile(Table):
    """The whole rule-set file, as read; cross-references are checked in `tarebook.rules.checks`."""

    format: Literal["tarebook-rules/1"]
    book: Book
    units: Units = Units()
    fact: list[OwnFact] = []
    kind: list[OwnKind] = []
    group: list[Group] = []
    class_: list[Class] = []
    example: list[Example] = []
