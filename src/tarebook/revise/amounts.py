"""Limits compared by what they come to: bands are laid over one another, and only where they differ is spoken of."""

from collections.abc import Hashable, Iterator
from fractions import Fraction
from typing import NamedTuple

from tarebook.fact_values import Value
from tarebook.facts import Fact
from tarebook.meaning.words import Units, amount_text, figure_text, inside
from tarebook.rules.limits import Amount, Banded, ByCase, LimitSpec, Linear

Facts = dict[str, Fact]


class Stretch(NamedTuple):
    """Figures over one end, up to and with the other, and the mass for them in kg.

    `over` is None from zero on, zero with it; `up_to` is None without an end; `value` None where the book is silent.
    """

    over: Fraction | None
    up_to: Fraction | None
    value: Fraction | None


def meaning_of(spec: LimitSpec, facts: Facts) -> Hashable:
    """What a limit means: equal for two limits that come to the same for every car."""
    form = spec.form
    least = None if spec.least is None else ("least", spec.least)
    if isinstance(form, Banded):
        pieces = stretches(form)
        if len(pieces) == 1 and pieces[0].value is not None:
            return ("amount", pieces[0].value, least)
        return ("bands", form.fact, pieces, least)
    if isinstance(form, ByCase):
        cases, rest = cases_of(form, facts[form.fact])
        if rest is not None and not cases:
            return ("amount", rest, least)
        return ("cases", form.fact, frozenset(cases.items()), rest, least)
    if isinstance(form, Linear):
        return ("linear", form.fact, form.rate, form.plus, least)
    if isinstance(form, Amount):
        return ("amount", form.value, least)
    return ("axles", least)


def stretches(form: Banded) -> tuple[Stretch, ...]:
    """The bands from zero on, gaps filled, neighbours with one value merged."""
    pieces: list[Stretch] = []

    def put(over: Fraction | None, up_to: Fraction | None, value: Fraction | None) -> None:
        if pieces and pieces[-1].value == value:
            pieces[-1] = pieces[-1]._replace(up_to=up_to)
        else:
            pieces.append(Stretch(over, up_to, value))

    at: Fraction | None = None
    for band in sorted(form.bands):
        if at is None or at < band.over:
            put(at, band.over, form.otherwise)
        put(band.over, band.up_to, band.value)
        at = band.up_to
        if at is None:
            break
    else:
        put(at, None, form.otherwise)
    return tuple(pieces)


def cases_of(form: ByCase, fact: Fact) -> tuple[dict[Value, Fraction], Fraction | None]:
    """The mass for each case, and for the rest; where all cases are named no rest is left."""
    cases = dict(form.cases)
    every: tuple[Value, ...] = (True, False) if fact.type == "yes-no" else fact.choices if fact.type == "choice" else ()
    rest = form.otherwise
    if every:
        if rest is not None:
            cases = {value: cases.get(value, rest) for value in every}
        if set(cases) == set(every) and len(set(cases.values())) == 1:
            return {}, next(iter(cases.values()))
        return cases, None
    return {value: mass for value, mass in cases.items() if mass != rest}, rest


def limit_sentences(name: str, old: LimitSpec, new: LimitSpec, facts: Facts, units: Units) -> list[str]:
    """How a limit differs from what it was, one sentence for each stretch or case; none if that cannot be told so."""
    if old.least != new.least:
        return []
    if isinstance(old.form, Amount) and isinstance(new.form, Amount):
        return [moved(name, "", old.form.value, new.form.value, units)]
    told: Iterator[str] = iter(())
    if isinstance(old.form, Banded | Amount) and isinstance(new.form, Banded | Amount):
        fact = _one_fact(old.form, new.form)
        if fact is not None:
            told = _by_bands(name, _laid_out(old.form), _laid_out(new.form), facts[fact], units)
    elif isinstance(old.form, ByCase | Amount) and isinstance(new.form, ByCase | Amount):
        fact = _one_fact(old.form, new.form)
        if fact is not None:
            told = _by_cases(name, old.form, new.form, facts[fact], units)
    return list(told)


def moved(name: str, where: str, old: Fraction | None, new: Fraction | None, units: Units) -> str:
    """One figure that is another now: "The minimum for ... falls from 970 kg to 965 kg."."""
    head = f"The {name}{where}"
    was, now = (None if each is None else amount_text(each, "mass", units.get("mass")) for each in (old, new))
    if old is None or new is None:
        if new is None:
            return f"{head} is no longer stated; before, it was {was}."
        return f"{head} is now {now}; before, the book did not state it."
    return f"{head} {'rises' if new > old else 'falls'} from {was} to {now}."


def _one_fact(*forms: object) -> str | None:
    """The fact that the forms ask about, if it is one."""
    found = {form.fact for form in forms if isinstance(form, Banded | ByCase)}
    return found.pop() if len(found) == 1 else None


def _laid_out(form: Banded | Amount) -> tuple[Stretch, ...]:
    return (Stretch(None, None, form.value),) if isinstance(form, Amount) else stretches(form)


def _by_bands(name: str, old: tuple[Stretch, ...], new: tuple[Stretch, ...], fact: Fact, units: Units) -> Iterator[str]:
    ends = sorted({each.up_to for each in (*old, *new) if each.up_to is not None})
    found: list[tuple[Fraction | None, Fraction | None, Fraction | None, Fraction | None]] = []
    over: Fraction | None = None
    for up_to in (*ends, None):
        was, now = _at(old, up_to), _at(new, up_to)
        if found and found[-1][2:] == (was, now):
            found[-1] = (found[-1][0], up_to, was, now)
        else:
            found.append((over, up_to, was, now))
        over = up_to
    for low, high, was, now in found:
        if was != now and high != 0:
            yield moved(name, f" for {inside(fact.title)} {stretch_text(low, high, fact, units)}", was, now, units)


def _at(pieces: tuple[Stretch, ...], figure: Fraction | None) -> Fraction | None:
    """The value for a figure; for None, beyond all ends."""
    for each in pieces:
        if each.up_to is None or (figure is not None and figure <= each.up_to):
            return each.value
    raise AssertionError("the last stretch has no end")


def stretch_text(over: Fraction | None, up_to: Fraction | None, fact: Fact, units: Units) -> str:
    """ "over 1400 up to 1600 cm3", "up to 1400 cm3", "over 1600 cm3", or "of any size"."""
    high = "" if up_to is None else figure_text(up_to, fact, units)
    if not over:
        return f"up to {high}" if high else "of any size"
    low = figure_text(over, fact, units)
    number, _, unit = low.partition(" ")
    return f"over {number if high.endswith(f' {unit}') else low} up to {high}" if high else f"over {low}"


def _by_cases(name: str, old: ByCase | Amount, new: ByCase | Amount, fact: Fact, units: Units) -> Iterator[str]:
    (was, was_rest), (now, now_rest) = (
        (({}, each.value) if isinstance(each, Amount) else cases_of(each, fact)) for each in (old, new)
    )
    named = dict.fromkeys((*was, *now))
    for value in named:
        before, after = was.get(value, was_rest), now.get(value, now_rest)
        if before != after:
            yield moved(name, f" for {inside(fact.title)} {figure_text(value, fact, units)}", before, after, units)
    rest_counts = fact.type not in ("choice", "yes-no") or set(named) != set(fact.choices or (True, False))
    if was_rest != now_rest and rest_counts:
        other = f" for any other {inside(fact.title)}" if named else ""
        yield moved(name, other, was_rest, now_rest, units)
