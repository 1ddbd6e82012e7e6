"""Amounts with their units: "13.4 lb" -> exact kilograms, and back.

Base units are kg, mm, L and kW; an amount of money stays in its own currency, and ratios are in kg/kW and
kg/L. Values are exact fractions: nothing here rounds but `format_quantity`, at its last step.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

_POUND = Fraction("0.45359237")
_INCH = Fraction("25.4")
_US_GALLON = Fraction("3.785411784")

# Base units in one of each unit. Pound, ounce, stone, inch and foot by the 1959 yard-and-pound agreement;
# gallons and horsepowers as in NIST SP 811 (PS is 75 kgf m/s).
_FACTORS: dict[str, dict[str, Fraction]] = {
    "mass": {
        "kg": Fraction(1),
        "g": Fraction(1, 1000),
        "mg": Fraction(1, 1_000_000),
        "lb": _POUND,
        "oz": _POUND / 16,
        "st": _POUND * 14,
        "t": Fraction(1000),
    },
    "length": {
        "mm": Fraction(1),
        "cm": Fraction(10),
        "m": Fraction(1000),
        "in": _INCH,
        "ft": _INCH * 12,
    },
    "volume": {
        "L": Fraction(1),
        "mL": Fraction(1, 1000),
        "cm3": Fraction(1, 1000),
        "m3": Fraction(1000),
        "in3": _US_GALLON / 231,
        "US gal": _US_GALLON,
        "imp gal": Fraction("4.54609"),
    },
    "power": {
        "kW": Fraction(1),
        "W": Fraction(1, 1000),
        "hp": Fraction("0.74569987158227022"),
        "PS": Fraction("0.73549875"),
    },
}
_ALIASES = {"cc": "cm3", "cm³": "cm3", "m³": "m3", "in³": "in3", "l": "L", "ml": "mL"}

# The ISO 4217 codes of national and regional money in use in 2026, from memory.
_CURRENCY_CODES = """
    AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF
    CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD
    HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL
    LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP
    PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT
    TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW
    ZWG
"""
_CURRENCIES = tuple(_CURRENCY_CODES.split())

# What a person would call each dimension, and the example that its errors show.
_CALLED = {
    "mass": ("a mass", "12.5 kg"),
    "length": ("a length", "2100 mm"),
    "volume": ("a volume", "12 L"),
    "power": ("a power", "85 kW"),
    "money": ("an amount of money", "140 EUR"),
    "mass/power": ("a mass per power", "11 kg/kW"),
    "mass/volume": ("a mass per volume", "0.745 kg/L"),
}

_MOST_CHARACTERS = 40
_MOST_DIGITS = 25

# Sign, whole digits, decimals, unit.
_TEXT = re.compile(r"([+\-−]?)([0-9]*)(?:\.([0-9]+))? *([^ 0-9.].*)")


class QuantityError(ValueError):
    """What was written is no amount of the dimension expected; its str is one sentence that says so."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact amount.

    `value` and `step` are in the base unit of `dimension`; `unit` is the canonical name of the unit written;
    `step` is one unit in the last digit written: 1/1000 for "1.660 kg", 0.45359237 for "5 lb".
    """

    dimension: str
    value: Fraction
    unit: str
    step: Fraction


def parse_quantity(text: str, dimension: str) -> Quantity:
    """Read `text`, such as "13.4 lb", as an amount of `dimension`; raises QuantityError."""
    found = _TEXT.fullmatch(text) if len(text) <= _MOST_CHARACTERS else None
    if found:
        sign, whole, decimals, written = found.groups("")
        digits = whole + decimals
        if digits and len(digits) <= _MOST_DIGITS:
            try:
                unit, step = _unit_and_step(written, dimension, len(decimals))
            except KeyError:
                pass
            else:
                count = int(digits) if sign in ("", "+") else -int(digits)
                return Quantity(dimension, Fraction(count * step.numerator, step.denominator), unit, step)
    # Spaces around it, doubled ones, and the no-break and thin ones of typesetting do no harm.
    spaced = " ".join(text.split())
    if spaced != text and len(text) <= _MOST_CHARACTERS:
        return parse_quantity(spaced, dimension)
    raise _text_error(text, dimension)


def from_number(number: int | Decimal, unit: str, dimension: str) -> Quantity:
    """A bare number in a file's own unit, as exact as text; raises QuantityError.

    A binary float has lost what was written, so it is a TypeError.
    """
    if isinstance(number, bool) or not isinstance(number, int | Decimal):
        raise TypeError(f"an int or a Decimal is expected, not {type(number).__name__}")
    canonical, example = canonical_unit(unit, dimension), _CALLED[dimension][1]
    decimals = 0
    if isinstance(number, Decimal):
        exponent = number.as_tuple().exponent
        if not isinstance(exponent, int):
            raise QuantityError(f'a finite number is expected, such as "{example}"')
        if exponent > 0:
            raise QuantityError(f"a number without an exponent is expected: write {number} out in digits")
        decimals = -exponent
        if max(len(number.as_tuple().digits), decimals + 1) > _MOST_DIGITS:
            raise QuantityError(f"a number of at most {_MOST_DIGITS} digits is expected")
    elif abs(number) >= 10**_MOST_DIGITS:
        raise QuantityError(f"a number of at most {_MOST_DIGITS} digits is expected")
    step = _unit_and_step(canonical, dimension, decimals)[1]
    return Quantity(dimension, Fraction(number) * factor(canonical, dimension), canonical, step)


def canonical_unit(unit: str, dimension: str) -> str:
    """The one name that tarebook uses for `unit` ("cc" -> "cm3").

    Raises QuantityError, with the nearest known unit, where `unit` is none of that dimension.
    """
    try:
        return _resolve(unit, dimension)[0]
    except KeyError:
        raise _unit_error(unit, dimension) from None


def units(dimension: str) -> tuple[str, ...]:
    """The canonical names of every unit of `dimension`."""
    _require_dimension(dimension)
    if dimension == "money":
        return _CURRENCIES
    upper, _, lower = dimension.partition("/")
    if lower:
        return tuple(f"{one}/{other}" for one in _FACTORS[upper] for other in _FACTORS[lower])
    return tuple(_FACTORS[dimension])


def factor(unit: str, dimension: str) -> Fraction:
    """How many base units of `dimension` there are in one `unit`, exactly; raises QuantityError."""
    try:
        return _resolve(unit, dimension)[1]
    except KeyError:
        raise _unit_error(unit, dimension) from None


def in_unit(value: Fraction, unit: str, dimension: str) -> Fraction:
    """`value`, in base units of `dimension`, counted in `unit` instead; raises QuantityError."""
    return value / factor(unit, dimension)


def format_quantity(value: Fraction | float, unit: str, dimension: str, decimals: int) -> str:
    """`value`, in base units of `dimension`, as people read it: "13.4 lb".

    Rounds half to even, once, to `decimals` (zero or more) digits after the point. Raises QuantityError for
    an unknown unit or a value that is not finite.
    """
    if decimals < 0:
        raise ValueError("decimals: zero or more is expected")
    try:
        exact = Fraction(value)
    except (ValueError, OverflowError):
        raise QuantityError(f"a finite number of {unit} is expected, not {value}") from None
    count = round(in_unit(exact, unit, dimension) * 10**decimals)
    digits = str(abs(count)).rjust(decimals + 1, "0")
    number = f"{digits[:-decimals]}.{digits[-decimals:]}" if decimals else digits
    return f"{'-' if count < 0 else ''}{number} {canonical_unit(unit, dimension)}"


# The caches below stay small: only units that exist get into them, an unknown one raises each time.


@cache
def _resolve(unit: str, dimension: str) -> tuple[str, Fraction]:
    """The canonical name and the factor of `unit`; KeyError where the dimension has no such unit."""
    _require_dimension(dimension)
    if dimension == "money":
        if unit not in _CURRENCIES:
            raise KeyError(unit)
        return unit, Fraction(1)
    upper, _, lower = dimension.partition("/")
    if lower:
        above, _, below = unit.partition("/")
        (one, one_factor), (other, other_factor) = _resolve(above, upper), _resolve(below, lower)
        return f"{one}/{other}", one_factor / other_factor
    canonical = _ALIASES.get(unit, unit)
    return canonical, _FACTORS[dimension][canonical]


@cache
def _unit_and_step(unit: str, dimension: str, decimals: int) -> tuple[str, Fraction]:
    canonical, size = _resolve(unit, dimension)
    return canonical, size / 10**decimals


def _require_dimension(dimension: str) -> None:
    if dimension not in _CALLED:
        raise ValueError(f'there is no dimension "{dimension}": use {_either(_CALLED)}')


# From here on: what to say when something is wrong. Nothing below runs for a good file.


def _text_error(text: str, dimension: str) -> QuantityError:
    """The sentence for a text that is no amount of `dimension`: the most particular one that fits."""
    _require_dimension(dimension)
    called, example = _CALLED[dimension]
    if len(text) > _MOST_CHARACTERS:
        return QuantityError(
            f'{called} of at most {_MOST_CHARACTERS} characters is expected, such as "{example}",'
            f" not {len(text)} characters"
        )
    if not text:
        return QuantityError(f'{called} is expected, such as "{example}"')
    for character in text:
        if not character.isascii() and character.isnumeric() and character not in "²³":
            return QuantityError(f'the digits 0 to 9 are expected, such as "{example}", not "{character}"')
    if re.match(r"[+\-−]? ?(nan|inf|infinity|∞)(?![a-z])", text, re.IGNORECASE):
        return QuantityError(f'a finite number is expected, such as "{example}"')
    if re.match(r"[+\-−]?[0-9.,]+ ?([eE][+\-−]?[0-9]|[x×*] ?10)", text):
        return QuantityError(f'a number without an exponent is expected: write "{text}" out in digits')
    return (
        _separator_error(text)
        or _order_error(text, dimension)
        or _unit_error_after_number(text, dimension)
        or QuantityError(f'a number and then a unit are expected, such as "{example}"')
    )


def _separator_error(text: str) -> QuantityError | None:
    """Commas, thousands separators and a decimal point with nothing after it."""
    found = re.fullmatch(r"([+\-−]?)([0-9](?:[0-9.,'’_ ]*[0-9])?)([.,]?)( ?)(.*)", text)
    if found is None:
        return None
    sign, number, after, space, rest = found.groups()

    def rewritten(digits: str) -> str:
        return f'"{sign}{digits}{space}{rest}"'

    if re.fullmatch(r"[0-9]+", number) and after:
        return QuantityError(
            f"digits are expected after the decimal point: write {rewritten(number)} or {rewritten(number + '.0')}"
        )
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", number):
        thousands, decimal = number.replace(",", ""), number.replace(",", ".")
        return QuantityError(
            "a number without a comma is expected, as it could mean thousands or decimals:"
            f" write {rewritten(thousands)} or {rewritten(decimal)}"
        )
    if re.fullmatch(r"[0-9]+,[0-9]+", number):
        return QuantityError(f"a decimal point is expected, not a comma: write {rewritten(number.replace(',', '.'))}")
    grouped = re.fullmatch(r"([0-9]{1,3}(?:([.,'’_ ])[0-9]{3})(?:\2[0-9]{3})*)(?:([.,])([0-9]+))?", number)
    if grouped and (grouped[2] != "." or grouped[3] or number.count(".") > 1) and grouped[2] != grouped[3]:
        digits = re.sub(r"[^0-9]", "", grouped[1]) + (f".{grouped[4]}" if grouped[4] else "")
        return QuantityError(f"a number without thousands separators is expected: write {rewritten(digits)}")
    return None


def _order_error(text: str, dimension: str) -> QuantityError | None:
    """A number without a unit, a unit without a number, and a unit before its number."""
    called, example = _CALLED[dimension]
    unit = example.partition(" ")[2]
    if re.fullmatch(r"[+\-−]?([0-9]+(\.[0-9]+)?|\.[0-9]+)", text):
        return QuantityError(f'a unit is expected after the number: write "{text} {unit}", for example')
    leading = re.fullmatch(r"([^0-9.+\-−]+?) ?([+\-−]?[0-9]+(?:\.[0-9]+)?)", text)
    if leading and _is_unit(leading[1], dimension):
        return QuantityError(f'the number is expected before its unit: write "{leading[2]} {leading[1]}"')
    if _is_unit(text.lstrip("+-− "), dimension):
        return QuantityError(f'a number is expected before the unit: write "{example}", for example')
    if not re.search(r"[0-9]", text):
        return QuantityError(f'{called} is expected, such as "{example}", not "{text}"')
    return None


def _unit_error_after_number(text: str, dimension: str) -> QuantityError | None:
    """One number stands in front: too many digits, words after the unit, or no such unit."""
    found = re.fullmatch(r"([+\-−]?[0-9]*(?:\.[0-9]+)?) ?([^ 0-9.].*)", text)
    if found is None or not re.search(r"[0-9]", found[1]):
        return None
    number, rest = found.groups()
    digits = sum(character.isdigit() for character in number)
    if digits > _MOST_DIGITS:
        return QuantityError(f"a number of at most {_MOST_DIGITS} digits is expected, not {digits} digits")
    words = rest.split(" ")
    for cut in range(1, len(words)):
        unit, further = " ".join(words[:cut]), " ".join(words[cut:])
        if _is_unit(unit, dimension):
            return QuantityError(f'one number with one unit is expected, but "{further}" follows "{number} {unit}"')
    if re.search(r"(?<![A-Za-z^])[0-9]", rest):
        return None
    return _unit_error(rest, dimension)


def _unit_error(unit: str, dimension: str) -> QuantityError:
    called = _CALLED[dimension][0]
    for other, (other_called, _) in _CALLED.items():
        if _is_unit(unit, other):
            return QuantityError(f"{called} is expected, but {unit} is {other_called}")
    upper, _, lower = dimension.partition("/")
    above, slash, below = unit.partition("/")
    if lower and slash:
        return _unit_error(below, lower) if _is_unit(above, upper) else _unit_error(above, upper)
    if dimension == "volume" and unit.casefold().rstrip(".") in ("gal", "gals", "gallon", "gallons"):
        return QuantityError(f'"{unit}" could be either gallon: write "US gal" or "imp gal"')

    from tarebook.names import did_you_mean

    kind = "currency code" if dimension == "money" else f"unit of {called.removeprefix('a ')}"
    hint = did_you_mean(unit, units(dimension))
    if not hint:
        hint = {
            "money": "use the three letters of ISO 4217, such as EUR or GBP",
            "mass/power": "use one such as kg/kW or lb/hp",
            "mass/volume": "use one such as kg/L or kg/m3",
        }.get(dimension) or f"use {_either(units(dimension))}"
    return QuantityError(f'"{unit}" is no {kind}: {hint}')


def _is_unit(unit: str, dimension: str) -> bool:
    try:
        _resolve(unit, dimension)
    except KeyError:
        return False
    return True


def _either(names: Iterable[str]) -> str:
    *others, last = names
    return f"{', '.join(others)} or {last}"
