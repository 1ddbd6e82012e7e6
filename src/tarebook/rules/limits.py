"""Limits that depend on the car: bands, cases, weight per power, a share of a listed figure."""

from bisect import bisect
from fractions import Fraction
from typing import NamedTuple

from tarebook.fact_values import NUMERIC_TYPES, FactError, Value, read_value
from tarebook.fields import read_quantity
from tarebook.quantities import QuantityError
from tarebook.rules.conditions import ConditionReader
from tarebook.rules.models import LimitForm
from tarebook.toml_source import Mistake, Source

Path = tuple[str | int, ...]


class Amount(NamedTuple):
    """The same for every car, in kg."""

    value: Fraction


class Band(NamedTuple):
    over: Fraction
    up_to: Fraction | None
    value: Fraction


class Banded(NamedTuple):
    """By the band in which a figure falls: over one end, up to and with the other."""

    fact: str
    bands: tuple[Band, ...]
    otherwise: Fraction | None


class ByCase(NamedTuple):
    fact: str
    cases: tuple[tuple[Value, Fraction], ...]
    otherwise: Fraction | None


class Linear(NamedTuple):
    """A rate times a figure, plus something: kg per kW of power or per litre, or a share of a listed mass."""

    fact: str
    rate: Fraction
    plus: Fraction
    rate_of: str = ""  # the dimension in which changes of the rate are written; "" where it cannot be changed


class SumOfAxles(NamedTuple):
    """The two axle limits together."""


Form = Amount | Banded | ByCase | Linear | SumOfAxles


class LimitSpec(NamedTuple):
    form: Form
    least: Fraction | None


class LimitReader:
    """Reads limit forms of one file, and collects what is wrong in them."""

    def __init__(self, source: Source, conditions: ConditionReader, units: dict[str, str | None]) -> None:
        self._source = source
        self._conditions = conditions
        self._units = units
        self.mistakes: list[Mistake] = []

    def read(self, limit: LimitForm, path: Path) -> LimitSpec | None:
        form = self._form(limit, path)
        if form is None:
            return None
        if isinstance(form, Amount) and limit.least is not None:
            self._mistake((*path, "least"), "an amount that is the same for every car needs no least")
        return LimitSpec(form, limit.least.value if limit.least is not None else None)

    def _mistake(self, path: Path, message: str, hint: str = "", *, key: bool = False) -> None:
        self.mistakes.append(self._source.mistake(path, message, hint, key=key))

    def _form(self, limit: LimitForm, path: Path) -> Form | None:
        stated = {name for name in limit.stated if getattr(limit, name) is not None}
        forms: dict[str, set[str]] = {
            "amount": {"amount"},
            "over_up_to": {"by", "over_up_to", "otherwise"},
            "cases": {"by", "cases", "otherwise"},
            "per": {"per", "rate"},
            "fact": {"fact", "times", "plus"},
            "axles": {"axles"},
        }
        chosen = [name for name in forms if name in stated]
        if len(chosen) != 1:
            self._mistake(
                path,
                "a limit is an amount, or one table of these: by with over_up_to, by with cases, per with rate, "
                "fact with times or plus, axles",
            )
            return None
        extra = sorted(stated - forms[chosen[0]] - {"least"})
        if extra:
            self._mistake((*path, extra[0]), f'"{extra[0]}" does not go with "{chosen[0]}" in a limit')
            return None
        if limit.amount is not None:
            return Amount(limit.amount.value)
        if limit.axles:
            return SumOfAxles()
        if limit.per is not None:
            return self._per(limit, path)
        if limit.fact is not None:
            return self._of_fact(limit, path)
        if limit.by is None:
            self._mistake(
                path,
                f'a limit by {"bands" if limit.over_up_to is not None else "cases"} names its fact: by = "..."',
            )
            return None
        return self._bands(limit, path) if limit.over_up_to is not None else self._cases(limit, path)

    def _per(self, limit: LimitForm, path: Path) -> Form | None:
        assert limit.per is not None
        fact = self._conditions.fact_known(limit.per, (*path, "per"))
        if fact is None:
            return None
        if fact.type not in ("power", "volume"):
            self._mistake(
                (*path, "per"), f'{fact.id} is neither a power nor a volume: per takes one, such as per = "power"'
            )
            return None
        if limit.rate is None:
            self._mistake(path, 'a limit per something names its rate: rate = "..."')
            return None
        rate_of = f"mass/{fact.type}"
        try:
            rate = read_quantity(limit.rate, rate_of, {})
        except QuantityError as error:
            self._mistake((*path, "rate"), str(error))
            return None
        return Linear(fact.id, rate.value, Fraction(0), rate_of)

    def _of_fact(self, limit: LimitForm, path: Path) -> Form | None:
        assert limit.fact is not None
        fact = self._conditions.fact_known(limit.fact, (*path, "fact"))
        if fact is None:
            return None
        if fact.type != "mass":
            self._mistake((*path, "fact"), f'{fact.id} is not a mass: fact takes a mass, such as "kerb_mass"')
            return None
        times = limit.times if limit.times is not None else Fraction(1)
        if times < 0:
            self._mistake((*path, "times"), "times is zero or more")
            return None
        return Linear(fact.id, times, limit.plus.value if limit.plus is not None else Fraction(0))

    def _bands(self, limit: LimitForm, path: Path) -> Form | None:
        assert limit.by is not None and limit.over_up_to is not None
        fact = self._conditions.fact_known(limit.by, (*path, "by"))
        if fact is None:
            return None
        if fact.type not in NUMERIC_TYPES:
            self._mistake((*path, "by"), f"{fact.id} has no size, so it cannot be banded: use cases")
            return None
        bands: list[Band] = []
        begins: list[tuple[Fraction, Fraction | None]] = []  # of the bands so far, in order
        rows = limit.over_up_to
        for index, row in enumerate(rows):
            where: Path = (*path, "over_up_to", index)
            last = index == len(rows) - 1
            if len(row) not in ((2, 3) if last else (3,)):
                self._mistake(where, "a band is [over, up to, mass]; the last may be [over, mass]")
                return None
            place = 0
            try:
                over = Fraction(_number(read_value(row[0], fact, self._units)))
                place = 1
                up_to = Fraction(_number(read_value(row[1], fact, self._units))) if len(row) == 3 else None
                place = len(row) - 1
                value = read_quantity(row[-1], "mass", self._units).value
            except (FactError, QuantityError) as error:
                self._mistake((*where, place), str(error))
                return None
            if up_to is not None and up_to <= over:
                self._mistake(where, "this band ends where it begins or before: write [over, up to, mass]")
                return None
            at = bisect(begins, over, key=lambda band: band[0])  # it may touch the band before it and the one after
            before, after = begins[at - 1] if at else None, begins[at] if at < len(begins) else None
            if (before and (before[1] is None or before[1] > over)) or (after and (up_to is None or up_to > after[0])):
                self._mistake(where, "this band overlaps another one")
                return None
            begins.insert(at, (over, up_to))
            bands.append(Band(over, up_to, value))
        if not bands:
            self._mistake((*path, "over_up_to"), "over_up_to lists no band")
            return None
        return Banded(fact.id, tuple(bands), limit.otherwise.value if limit.otherwise is not None else None)

    def _cases(self, limit: LimitForm, path: Path) -> Form | None:
        assert limit.by is not None and limit.cases is not None
        fact = self._conditions.fact_known(limit.by, (*path, "by"))
        if fact is None:
            return None
        cases: list[tuple[Value, Fraction]] = []
        seen: set[Value] = set()
        before = len(self.mistakes)
        for key, mass in limit.cases.items():
            written: object = key
            if fact.type == "yes-no":
                written = {"true": True, "false": False}.get(key, key)
            elif fact.type in ("number", "count") and key.isdecimal():
                written = int(key)
            try:
                value = read_value(written, fact, self._units)
            except FactError as error:
                self._mistake((*path, "cases", key), str(error), key=True)
                continue
            if value in seen:
                self._mistake((*path, "cases", key), "this case is written twice", key=True)
            seen.add(value)
            cases.append((value, mass.value))
        if len(self.mistakes) > before:
            return None
        return ByCase(fact.id, tuple(cases), limit.otherwise.value if limit.otherwise is not None else None)


def _number(value: Value) -> Fraction:
    assert isinstance(value, Fraction)
    return value
