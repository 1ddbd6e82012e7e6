"""What the outside checks and the worked cases share: small cars and rule sets, and short ways to read an answer.

Every car, book and class here is invented.
"""

import datetime
from fractions import Fraction

from tarebook.api import check
from tarebook.car.reading import Car, parse_car
from tarebook.fact_values import read_value
from tarebook.facts import BUILTIN
from tarebook.judge.findings import Finding, LimitAnswer, Row
from tarebook.rules.reading import RuleSet, parse_rules
from tarebook.weight.ledger import Ledger, Weighed

DAY = datetime.date(2027, 5, 1)
POUND = Fraction("0.45359237")  # kg, by the 1959 yard-and-pound agreement
INCH = Fraction("25.4")  # mm


def toml(value: object) -> str:
    """A plain value as TOML, tables and lists inline; a Fraction must have a finite decimal form."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{key}" = {toml(each)}' for key, each in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, Fraction):
        return decimal(value)
    return str(value)


def decimal(value: Fraction) -> str:
    """A fraction written out in full: no rounding, or ValueError."""
    for places in range(30):
        scaled = value * 10**places
        if scaled.denominator == 1:
            digits = str(abs(scaled.numerator)).rjust(places + 1, "0")
            whole, rest = digits[: len(digits) - places], digits[len(digits) - places :]
            return ("-" if value < 0 else "") + whole + (f".{rest}" if rest else "")
    raise ValueError(f"{value} has no finite decimal form")


def car(
    body: str = "",
    *,
    absent: tuple[str, ...] = (),
    present: tuple[str, ...] = (),
    model_year: int | None = None,
    **facts: object,
) -> Car:
    """A car: `body` has its top-level keys (part = [..], job = [..]) and then its tables; facts by name."""
    year = {} if model_year is None else {"model_year": model_year}
    table = toml({"name": "Plover", "absent": absent, "present": present, **year})
    head = f'format = "tarebook-car/1"\ncar = {table}\n'
    stated = f"facts = {toml(facts)}\n" if facts else ""
    return parse_car(head + stated + body)


def book(text: str, *, silence: object = "forbids", clause: str = "1.1", book_id: str = "made-up") -> RuleSet:
    """A book, whole but for its head."""
    return parse_rules(
        'format = "tarebook-rules/1"\n'
        f'[book]\nid = "{book_id}"\ntitle = "Made-Up Motor Circle"\nedition = "2027"\n'
        f'clause = "{clause}"\nin_force = {{ from = 2027-01-01 }}\nsilence = {toml(silence)}\n{text}'
    )


def rules(body: str = "", *, before: str = "", after: str = "", silence: object = "forbids") -> RuleSet:
    """A book with one class, "club": `body` has the keys of the class; `before` and `after` are whole tables."""
    return book(f'{before}\n[[class]]\nid = "club"\ntitle = "Club"\n{body}\n{after}', silence=silence)


def judged(
    judged_car: Car,
    by: RuleSet,
    build: str = "now",
    *,
    class_id: str = "club",
    on: datetime.date = DAY,
    confidence: float = 0.975,
) -> Row:
    """The row for one class and one build."""
    report = check(judged_car, by, on=on, build=build, classes=[class_id], confidence=confidence)
    assert len(report.rows) == 1
    return report.rows[0]


def change(row: Row, part: str, does: str | None = None) -> Finding:
    """The finding about the one change of that part (and that action)."""
    found = [
        finding
        for finding in row.findings
        if finding.part == part and finding.does is not None and does in (None, finding.does)
    ]
    assert len(found) == 1, [(each.part, each.does, each.result) for each in row.findings]
    return found[0]


def ruling(row: Row, part: str, does: str | None = None) -> tuple[str, tuple[str, ...]]:
    """How the change of a part came out, and every clause cited for it, sorted."""
    finding = change(row, part, does)
    return finding.result, tuple(sorted(finding.clauses))


def by_clause(row: Row, clause: str) -> list[str]:
    """The results of all findings that cite a clause, sorted."""
    return sorted(finding.result for finding in row.findings if clause in (finding.clause, *finding.clauses))


def result(row: Row, clause: str) -> str:
    """The result of the one finding that cites a clause."""
    (only,) = by_clause(row, clause)
    return only


def limit(row: Row, which: str = "minimum", clause: str | None = None) -> LimitAnswer:
    """The one limit of that sort (and clause)."""
    (only,) = [each for each in row.limits if each.which == which and clause in (None, each.clause)]
    return only


class OnScales:
    """Masses of one build of a car, driver out, with the fuel of [at_inspection]; in kg, or in pounds and inches."""

    def __init__(self, weighed_car: Car, build: str = "now", weighed: Weighed | None = None) -> None:
        self.ledger = Ledger(weighed_car.inventory)
        self.configuration = weighed_car.inventory.build(build)
        self.weighed = weighed or Weighed()
        made = weighed_car.file.facts | self.configuration.sets
        self.facts = {name: read_value(value, BUILTIN[name], weighed_car.units) for name, value in made.items()}

    @property
    def total(self) -> Fraction:
        answer = self.ledger.mass(self.configuration, self.weighed)
        assert answer.mass is not None, answer.missing
        return answer.mass.value

    def axle(self, which: str) -> Fraction:
        answer = self.ledger.axle_mass(which, self.configuration, self.weighed)
        assert answer.mass is not None, answer.missing
        return answer.mass.value

    @property
    def pounds(self) -> float:
        assert self.axle("front") + self.axle("rear") == self.total
        return float(self.total / POUND)

    @property
    def behind_front_axle(self) -> float:
        """The centre of gravity behind the front axle, in mm: rear load times wheelbase over the total."""
        wheelbase = self.facts["wheelbase"]
        assert isinstance(wheelbase, Fraction)
        return float(self.axle("rear") * wheelbase / self.total)

    @property
    def inches(self) -> float:
        return self.behind_front_axle / float(INCH)
