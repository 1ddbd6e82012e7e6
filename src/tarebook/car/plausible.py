"""Questions about a mass that looks like a slip: a wrong decimal point, pounds for kilograms, grams for kilograms.

The ranges of the tree of kinds are rough and serve for nothing but these questions.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from tarebook.kinds import Kind, KindTree
from tarebook.quantities import Quantity, factor, format_quantity, in_unit

_BESIDE = 2  # times beyond its kind's range: what is nearer is not questioned
_CAR_BESIDE = Fraction(3, 2)  # times beyond what the car weighed before
_APART = 2  # times between two readings of one thing
_NEARLY = Fraction(1, 10)  # how far off a tenfold may be and still be one
_POUND = factor("lb", "mass")
# By the unit written: the unit that may have been meant.
_MIXED_UP = {"kg": ("lb", "g"), "lb": ("kg",), "g": ("kg",)}
_SLIPS = (Fraction(1, 10), Fraction(10), Fraction(1, 100), Fraction(100))
_MOST_GUESSES = 2


def questions(kind: str, readings: Sequence[Quantity], tree: KindTree, *, pieces: int = 1) -> list[str]:
    """What to ask about the readings of one thing, each a whole question; mostly nothing.

    `pieces` is of how many pieces each reading is one. A kind that the tree does not know, or of which it knows no
    range, brings no question about the range.
    """
    known = tree.get(kind) if kind in tree else None
    asked = list(_apart(readings))
    if known is not None and known.mass_range is not None:
        low, high = known.mass_range
        for reading in readings:
            mass = reading.value * pieces
            if not low / _BESIDE <= mass <= high * _BESIDE:
                return [*asked, _outside(reading, known, low, high, pieces)]
    return asked


def against_earlier(mass: Fraction, earlier: Sequence[Fraction]) -> list[str]:
    """What to ask about a whole car's mass (kg), given what it weighed before; mostly nothing."""
    if not earlier or min(earlier) / _CAR_BESIDE <= mass <= max(earlier) * _CAR_BESIDE:
        return []
    now, before = (format_quantity(each, "kg", "mass", 1) for each in (mass, earlier[-1]))
    return [f"the car would weigh {now} in all, and weighed {before} before: is it right?"]


def _outside(reading: Quantity, kind: Kind, low: Fraction, high: Fraction, pieces: int) -> str:
    guesses = [
        f'"{text}" ({why})' for scale, text, why in _causes(reading) if low <= reading.value * pieces * scale <= high
    ]
    usual = f"{_plain(low)} to {_plain(high)} kg"
    much = "much" if reading.value * pieces > high else "little"
    each = " for each of them" if pieces > 1 else ""
    said = f'"{_as_written(reading)}"{each} is {much} for {kind.path}, which as a whole mostly weighs {usual}'
    return f"{said}: did you mean {' or '.join(guesses[:_MOST_GUESSES])}?" if guesses else f"{said}: is it right?"


def _apart(readings: Sequence[Quantity]) -> Iterator[str]:
    """Whether two readings of one thing are too far apart to be of one thing."""
    if len(readings) < 2:
        return
    least = min(readings, key=lambda each: each.value)
    most = max(readings, key=lambda each: each.value)
    if most.value <= least.value * _APART:
        return
    why = ""
    if least.value > 0:
        ratio = most.value / least.value
        for times, cause in (
            (Fraction(10), "tenfold, as if a decimal point had slipped"),
            (Fraction(100), "a hundredfold, as if a decimal point had slipped"),
            (Fraction(1000), "a thousandfold, as grams and kilograms do"),
            (1 / _POUND, "as pounds and kilograms do"),
        ):
            if abs(ratio / times - 1) <= _NEARLY:
                why = f" {cause}"
                break
    yield f'"{_as_written(least)}" and "{_as_written(most)}" differ{why or " a great deal"}: are both right?'


def _causes(reading: Quantity) -> Iterator[tuple[Fraction, str, str]]:
    """How a reading may have gone wrong: what the mass is to be multiplied by, how it would be written, and why."""
    number = in_unit(reading.value, reading.unit, "mass")
    for unit in _MIXED_UP.get(reading.unit, ()):
        digits = _as_written(reading).removesuffix(reading.unit).strip()
        yield factor(unit, "mass") / factor(reading.unit, "mass"), f"{digits} {unit}", "another unit"
    for slip in _SLIPS:
        yield slip, f"{_plain(number * slip)} {reading.unit}", "a decimal point slipped"


def _as_written(reading: Quantity) -> str:
    step, decimals = in_unit(reading.step, reading.unit, "mass"), 0
    while step * 10**decimals < 1:
        decimals += 1
    return format_quantity(reading.value, reading.unit, "mass", decimals)


def _plain(number: Fraction) -> str:
    """A number that has few decimals, without zeros at its end."""
    text = f"{float(number):.6f}"
    return text.rstrip("0").rstrip(".")
