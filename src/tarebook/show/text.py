"""Plain text for a terminal: columns, wrapping, masses in the reader's unit. Nothing unprintable gets through."""

import shutil
from fractions import Fraction
from functools import cache

from tarebook.quantities import format_quantity, parse_quantity
from tarebook.toml_source import show_plain

VERDICT_WORDS = {
    "eligible": "eligible",
    "not-eligible": "not eligible",
    "too-close": "too close",
    "undecided": "undecided",
}


@cache
def width() -> int:
    """The columns to fill: the terminal's, within reason; 100 where the output goes elsewhere."""
    return max(60, min(shutil.get_terminal_size((100, 24)).columns, 140))


def mass(kilograms: float, unit: str, decimals: int = 1) -> str:
    """A mass in kg, shown in a unit: "13.4 lb"."""
    return format_quantity(kilograms, unit, "mass", decimals)


def mass_up(kilograms: Fraction, unit: str) -> str:
    """A mass that is enough, so rounded up to a thousandth of the unit: ballast to add."""
    thousandth = Fraction(parse_quantity(f"0.001 {unit}", "mass").value)
    return mass(float(-(-kilograms // thousandth) * thousandth), unit, 3)


def margin(kilograms: float, unit: str) -> str:
    """A margin with its sign: "+16.2 kg"."""
    text = mass(kilograms, unit)
    return text if text.startswith("-") else f"+{text}"


def wrapped(text: str, first: str = "", rest: str | None = None, columns: int | None = None) -> str:
    """Text made printable and broken at spaces, `first` before the first line and `rest` before the others."""
    most = columns or width()
    following = " " * len(first) if rest is None else rest
    words = show_plain(text).split(" ")
    lines = []
    line = first + words[0]
    for word in words[1:]:
        if len(line) + 1 + len(word) > most:
            lines.append(line.rstrip())
            line = following + word
        else:
            line += " " + word
    return "\n".join([*lines, line.rstrip()])
