"""Random ledgers: each as a car file, and as a plain formula that knows nothing of the program.

The formula is written for whatever arithmetic its errors come in: arrays of random draws, or numbers that carry an
uncertainty. Every car is invented.
"""

import random
from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from support import car, decimal
from tarebook.car.reading import Car

# An error of mean zero, by the name of its source: half-width of an even spread, or standard uncertainty.
Errors = Callable[[str, str, float], Any]


class Scale(NamedTuple):
    name: str
    step: Fraction
    known: Fraction | None
    read: Fraction | None
    check_u: Fraction
    gain: Fraction


class Weighed(NamedTuple):
    """Readings of one thing, in kg; without a scale, with so many decimals."""

    name: str
    readings: list[Fraction]
    scale: Scale | None
    decimals: int = 3


class Estimated(NamedTuple):
    name: str
    mass: Fraction
    within: Fraction


class Part(NamedTuple):
    mass: Weighed | Estimated
    count: int  # pieces, each of that mass
    off: bool  # came off after the car was weighed; else went on


class RandomLedger(NamedTuple):
    scales: list[Scale]
    base: list[Weighed]  # one reading group, two or four
    parts: list[Part]
    fuel_then: tuple[Fraction, Fraction]  # litres, and how far off
    fuel_now: tuple[Fraction, Fraction]
    density: tuple[Fraction, Fraction]
    driver_aboard: bool  # when the car was weighed
    driver: Weighed


def random_ledger(seed: int) -> RandomLedger:
    draw = random.Random(seed)

    def kilograms(low: float, high: float, decimals: int = 3) -> Fraction:
        return Fraction(draw.randint(int(low * 10**decimals), int(high * 10**decimals)), 10**decimals)

    def scale(name: str, decimals: int) -> Scale:
        step = Fraction(draw.choice([1, 2, 5]), 10**decimals)
        checked = draw.random() < 0.6
        known = kilograms(1, 10) if checked else None
        read = max(step, known + draw.randint(-9, 9) * step) if known is not None else None
        check_u = step / draw.choice([1, 2, 4]) if checked else Fraction(0)
        return Scale(name, step, known, read, check_u, Fraction(draw.choice([0, 0, 1, 2, 5]), 1000))

    def weighed(name: str, low: float, high: float, on: Scale | None) -> Weighed:
        decimals = draw.choice([1, 2, 3])
        step = on.step if on else Fraction(1, 10**decimals)
        middle = kilograms(low, high) // step * step
        count = draw.choice([1, 1, 2, 3, 4, 6])
        return Weighed(
            name, [max(Fraction(0), middle + draw.randint(-3, 3) * step) for _ in range(count)], on, decimals
        )

    kitchen, luggage, pads = scale("kitchen", 3), scale("luggage", 2), scale("pads", 1)
    groups = draw.choice([["total"], ["front", "rear"], ["front_left", "front_right", "rear_left", "rear_right"]])
    base = [weighed(group, 700 / len(groups), 1000 / len(groups), pads) for group in groups]
    parts = []
    for index in range(draw.randint(1, 9)):
        name = f"p{index}"
        if draw.random() < 0.25:
            middle = kilograms(2, 9)
            mass: Weighed | Estimated = Estimated(name, middle, middle * Fraction(draw.randint(5, 40), 100))
        else:
            mass = weighed(name, 0.5, 9, draw.choice([kitchen, kitchen, luggage, pads, None]))
        count = draw.choice([1, 1, 1, 2, 4]) if isinstance(mass, Weighed) else 1
        parts.append(Part(mass, count, draw.random() < 0.6))
    litres = [Fraction(draw.randint(60, 400), 10) for _ in range(2)]
    within = [draw.choice([Fraction(0), Fraction(5, 10), Fraction(2)]) for _ in range(2)]
    density = kilograms(0.7, 0.9), draw.choice([Fraction(0), Fraction(1, 100), Fraction(3, 100)])
    return RandomLedger(
        [kitchen, luggage, pads],
        base,
        parts,
        (litres[0], within[0]),
        (litres[1], within[1]),
        density,
        draw.random() < 0.4,
        weighed("the driver", 60, 95, draw.choice([luggage, pads, None])),
    )


def mass_by_formula(ledger: RandomLedger, errors: Errors) -> Any:
    """The mass of the car alone with the fuel of the inspection, each source of error as `errors` gives it."""
    whole: Any = 0.0
    for group in ledger.base:
        whole = whole + _mean(group, errors)
    for part in ledger.parts:
        mass = _mean(part.mass, errors) if isinstance(part.mass, Weighed) else _judged(part.mass, errors)
        whole = whole + (-1 if part.off else 1) * part.count * mass
    density = float(ledger.density[0]) + errors("density", "even", float(ledger.density[1]))
    for (litres, within), sign, when in ((ledger.fuel_then, -1, "then"), (ledger.fuel_now, 1, "now")):
        whole = whole + sign * (float(litres) + errors(f"level {when}", "even", float(within))) * density
    if ledger.driver_aboard:
        whole = whole - _mean(ledger.driver, errors)
    return whole


def _judged(mass: Estimated, errors: Errors) -> Any:
    return float(mass.mass) + errors(f"judged {mass.name}", "even", float(mass.within))


def _mean(weighed: Weighed, errors: Errors) -> Any:
    count = len(weighed.readings)
    mean = sum(weighed.readings) / count
    spread = sum((each - mean) ** 2 for each in weighed.readings) / (count - 1) if count > 1 else Fraction(0)
    scale = weighed.scale
    step = scale.step if scale else Fraction(1, 10**weighed.decimals)
    value: Any = float(mean)
    value = value + errors(f"spread {weighed.name} {count - 1}", "normal", float(spread / count) ** 0.5)
    value = value + errors(f"step {weighed.name}", "even", float(step) / 2)
    if scale is not None:
        value = value + float(mean) * errors(f"gain {scale.name}", "even", float(scale.gain))
        if scale.known is not None and scale.read is not None:
            value = value + float(scale.known - scale.read)
            value = value + errors(f"check {scale.name}", "normal", float(scale.check_u))
    return value


def car_of(ledger: RandomLedger) -> Car:
    """The same as a car file."""
    return car(text_of(ledger), fuel="petrol", wheelbase="2400 mm")


def text_of(ledger: RandomLedger) -> str:
    lines = []
    for scale in ledger.scales:
        lines += ["[[scale]]", f'id = "{scale.name}"', f'resolution = "{decimal(scale.step)} kg"']
        if scale.known is not None and scale.read is not None:
            known, read, u = (decimal(each) for each in (scale.known, scale.read, scale.check_u))
            lines.append(f'check = {{ known = "{known} kg", read = "{read} kg", u = "{u} kg" }}')
        if scale.gain:
            lines.append(f"gain = {{ within = {decimal(scale.gain)} }}")
    for part in ledger.parts:
        lines += ["[[part]]", f'id = "{part.mass.name}"', 'kind = "stowage.loose"']
        if isinstance(part.mass, Estimated):
            mass, within = decimal(part.mass.mass), decimal(part.mass.within)
            lines.append(f'estimate = {{ mass = "{mass} kg", within = "{within} kg" }}')
        else:
            key = "mass" if part.count == 1 else "mass_each"
            lines += [] if part.count == 1 else [f"count = {part.count}"]
            lines += _weighed(key, part.mass)
    for word, off in (("off", True), ("fit", False)):
        names = [f'"{part.mass.name}"' for part in ledger.parts if part.off == off]
        lines += ["[[job]]", f'id = "{word}"', 'state = "done"', "date = 2027-04-01"]
        lines.append(f"{word} = [{', '.join(names)}]")
    lines += ["[driver]", *_weighed("mass", ledger.driver)]
    lines += ["[tank]", *_with("density", *ledger.density, "kg/L")]
    lines += ["[at_inspection]", *_with("fuel", *ledger.fuel_now, "L")]
    lines += ["[[weighing]]", 'id = "w"', "date = 2027-03-01", 'scale = "pads"', *_with("fuel", *ledger.fuel_then, "L")]
    lines.append(f"driver_aboard = {str(ledger.driver_aboard).lower()}")
    if len(ledger.base) == 1:
        lines += _weighed("total", ledger.base[0])[:1]
    else:
        lines.append("[weighing.axles]" if len(ledger.base) == 2 else "[weighing.corners]")
        for group in ledger.base:
            lines += _weighed(group.name, group)[:1]
    return "\n".join(lines) + "\n"


def _with(key: str, value: Fraction, within: Fraction, unit: str) -> list[str]:
    stated = [f'{key} = "{decimal(value)} {unit}"']
    return [*stated, f'{key}_within = "{decimal(within)} {unit}"'] if within else stated


def _weighed(key: str, weighed: Weighed) -> list[str]:
    places = None if weighed.scale else weighed.decimals
    readings = ", ".join(f'"{_written(each, places)} kg"' for each in weighed.readings)
    return [f"{key} = [{readings}]", *([f'scale = "{weighed.scale.name}"'] if weighed.scale else [])]


def _written(value: Fraction, places: int | None) -> str:
    """With just so many decimals, where these say how fine the reading is."""
    return decimal(value) if places is None else f"{float(value):.{places}f}"
