"""How builds stand on their wheels, what parts and jobs do to that, and what ballast would: as text and as JSON."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.car.reading import Car
from tarebook.quantities import in_unit
from tarebook.show.text import mass, wrapped
from tarebook.weight.balance import Balance
from tarebook.weight.ballasting import Ballast, Wish
from tarebook.weight.effects import Effect
from tarebook.weight.measured import Measured

ABOARD = {"out": "nobody aboard", "aboard": "driver aboard"}
_WAY = {"front": "forward", "rear": "back"}  # where ballast does more for an axle
_SHARES = (("front", "front_share"), ("left", "left_share"), ("cross", "cross_share"))
_GROUPS = (
    ("part", "off", "Parts on the car: what taking each off does", "Taking it off {}"),
    ("part", "on", "Parts off the car: what fitting each does", "Fitting it {}"),
    ("job", "did", "Jobs of this build: what each does", "It {}"),
    ("job", "would", "Other jobs: what each would do, once what it needs is done", "It {}"),
)


class Stand(NamedTuple):
    """One build as it stands, by who is aboard ("out", "aboard"); the effects on the car with nobody aboard."""

    build: str
    balances: dict[str, Balance]
    effects: list[Effect]


class BallastAnswer(NamedTuple):
    """What was wished for (a share, or a least load in kg, of an axle), and the ballast for it."""

    build: str
    aboard: str
    balance: Balance
    wish: Wish | None
    share: Fraction | None
    least: Fraction | None
    ballast: Ballast | None


def balance_lines(stands: Iterable[Stand], unit: str) -> Iterator[str]:
    """How builds stand on their wheels, masses in `unit`."""
    for number, stand in enumerate(stands):
        if number:
            yield ""
        for aboard, balance in stand.balances.items():
            yield from _balance(f"{stand.build}, {ABOARD[aboard]}", balance, unit)
        yield from _effects(stand.effects, unit)


def _balance(head: str, balance: Balance, unit: str) -> Iterator[str]:
    told = []
    if balance.front is not None and balance.rear is not None:
        loads = (mass(float(each.value), unit) for each in (balance.front, balance.rear))
        told.append("front axle {}, rear axle {}".format(*loads))
    for name, attribute in _SHARES:
        share: Measured | None = getattr(balance, attribute)
        if share is not None:
            told.append(f"{name} {100 * float(share.value):.2f} % (u {_small(100 * share.u)})")
    if balance.centre is not None:
        centre = f"{float(balance.centre.value):.0f} mm behind the front axle (u {balance.centre.u:.1f} mm)"
        told.append(f"centre of gravity {centre}")
    weighing = "" if balance.weighing is None else f" (from weighing {balance.weighing.id})"
    yield wrapped(f"{head}{weighing}: {', '.join(told) or 'the balance is not known'}", "", "  ")
    by_reason: dict[str, list[str]] = {}
    for name, reasons in balance.missing.items():
        by_reason.setdefault("; ".join(each.sentence for each in reasons), []).append(name)
    for reason, names in by_reason.items():
        yield wrapped(f"not known: {', '.join(names)}: {reason}", "  ", "    ")


def _small(u: float) -> str:
    """An uncertainty with two digits that count."""
    return f"{u:.2g}" if u >= 0.0001 else "0.0001"


def _effects(effects: list[Effect], unit: str) -> Iterator[str]:
    for what, does, head, sentence in _GROUPS:
        chosen = [each for each in effects if (each.what, each.does) == (what, does)]
        known = [each for each in chosen if each.front is not None]
        if chosen:
            yield f"  {head}"
        for each in sorted(known, key=lambda one: -abs(one.share_change or 0.0)):
            yield wrapped(f"{each.id}: {sentence.format(effect_words(each, unit))}{_points(each)}", "    ", "      ")
        for each in chosen:
            if each.front is None:
                reasons = "; ".join(missing.sentence for missing in each.missing)
                yield wrapped(f"{each.id}: not known: {reasons}", "    ", "      ")


def _points(effect: Effect) -> str:
    if effect.share_change is None:
        return "."
    return f"; front share {round(100 * effect.share_change, 2) + 0.0:+.2f} points."


def effect_words(effect: Effect, unit: str) -> str:
    """What it does to each axle: "takes 4.6 kg off the rear axle and puts 0.6 kg on the front"."""
    assert effect.front is not None and effect.rear is not None
    loads = {"front": effect.front.value, "rear": effect.rear.value}
    decimals = 1 if max(abs(in_unit(load, unit, "mass")) for load in loads.values()) >= 1 else 3
    more, less = sorted(loads, key=lambda axle: -abs(loads[axle]))  # of equal ones, the front first
    told = [_load_words(axle, loads[axle], unit, decimals) for axle in (more, less)]
    (verb, amount), (other_verb, other_amount) = told
    if not verb:
        return "leaves both axles as they are"
    side, other_side = ({"takes": "off", "puts": "on"}.get(each) for each in (verb, other_verb))
    if not other_verb:
        return f"{verb} {amount} {side} the {more} axle and leaves the {less} as it is"
    again = "" if other_verb == verb else f"{other_verb} "
    return f"{verb} {amount} {side} the {more} axle and {again}{other_amount} {other_side} the {less}"


def _load_words(axle: str, load: Fraction, unit: str, decimals: int) -> tuple[str, str]:
    """The verb, empty for what rounds to nothing, and the amount."""
    if not round(in_unit(load, unit, "mass") * 10**decimals):
        return "", ""
    return "takes" if load < 0 else "puts", mass(float(abs(load)), unit, decimals)


def ballast_lines(answers: Iterable[BallastAnswer], car: Car, unit: str) -> Iterator[str]:
    """What ballast each wish asks for, masses in `unit`."""
    for answer in answers:
        head = f"{answer.build}, {ABOARD[answer.aboard]}: "
        yield wrapped(head + _ballast_words(answer, car, unit), "", "  ")


def _ballast_words(answer: BallastAnswer, car: Car, unit: str) -> str:
    wish, ballast, balance = answer.wish, answer.ballast, answer.balance
    if wish is None or ballast is None or balance.front is None or balance.rear is None or balance.total is None:
        reasons = [each.sentence for name in ("total", "front", "centre") for each in balance.missing.get(name, ())]
        return f"no ballast can be worked out: {'; '.join(dict.fromkeys(reasons))}."
    if answer.share is not None:
        carries = f"{100 * float(balance.front.value / balance.total.value):.2f} %"
        wanted = f"{100 * float(answer.share):.2f} % on the front axle"
    else:
        load = balance.front if wish.axle == "front" else balance.rear
        carries = mass(float(load.value), unit)
        wanted = f"at least {mass(float(answer.least or 0), unit)} on the {wish.axle} axle"
    has = f"the {wish.axle} axle carries {carries}"
    if ballast.met:
        kept = ""
        if ballast.at is not None and ballast.mass is not None and ballast.mass.value:
            where = f"{_place(ballast.at.value)} or further {_WAY[wish.axle]}"
            kept = f"; {mass(float(ballast.mass.value), unit, 2)} {where} leaves it so"
        return f"{wanted} needs no ballast, as {has}{kept}."
    if ballast.trouble == "no-mass":
        return f"{wanted} cannot be had with no ballast: {has}."
    if ballast.trouble is not None:
        assert ballast.at is not None
        place = _place(ballast.at.value)
        if ballast.trouble == "no-effect":
            return f"no ballast {place} gives {wanted}: there it would change nothing of that; {has}."
        more = "less" if wish.lacking.value > 0 else "more"
        return f"no ballast {place} gives {wanted}: {has}, and would carry {more}: that is the wrong side."
    assert ballast.mass is not None and ballast.at is not None
    amount = mass(float(ballast.mass.value), unit, 2)
    spread = f" (u {mass(ballast.mass.u, unit, 2)})" if ballast.mass.u else ""
    off = f" (u {ballast.at.u:.0f} mm)" if ballast.at.u else ""
    limit = f" or further {_WAY[wish.axle]}" if answer.least is not None and off else ""
    weighs = mass(float(balance.total.value + ballast.mass.value), unit)
    return (
        f"{wanted} needs {amount} of ballast{spread} {_place(ballast.at.value)}{off}{limit}; {has}, and all would"
        f" weigh {weighs}.{_beyond(ballast.at.value, car)}"
    )


def _place(at: Fraction) -> str:
    """A place along the car: "at 300 mm behind the front axle"."""
    return f"at {abs(float(at)):.0f} mm {'ahead of' if at < 0 else 'behind'} the front axle"


def _beyond(at: Fraction, car: Car) -> str:
    zones = car.file.zone
    if not zones or min(zone.from_.value for zone in zones) <= at <= max(zone.to.value for zone in zones):
        return ""
    return " No zone of the car file reaches that far."


def balance_document(stand: Stand) -> dict[str, Any]:
    """How a build stands, as JSON: with nobody and with the driver aboard, and the effects of parts and jobs."""
    return {
        **{aboard: _balance_document(balance) for aboard, balance in stand.balances.items()},
        "effects": [
            {
                "what": each.what,
                "id": each.id,
                "does": each.does,
                "mass_kg": _value(each.mass),
                "front_kg": _value(each.front),
                "rear_kg": _value(each.rear),
                "front_share_change": each.share_change,
                "missing": [missing.sentence for missing in each.missing],
            }
            for each in stand.effects
        ],
    }


def _balance_document(balance: Balance) -> dict[str, Any]:
    figures = {
        "mass_kg": balance.total,
        "front_kg": balance.front,
        "rear_kg": balance.rear,
        "front_share": balance.front_share,
        "left_share": balance.left_share,
        "cross_share": balance.cross_share,
        "cg_mm": balance.centre,
    }
    document: dict[str, Any] = {"weighing": None if balance.weighing is None else balance.weighing.id}
    for name, figure in figures.items():
        stem, _, unit = name.rpartition("_")
        document[name] = _value(figure)
        document[f"{name}_u" if unit == "share" else f"{stem}_u_{unit}"] = None if figure is None else figure.u
    document["missing"] = {name: [each.sentence for each in reasons] for name, reasons in balance.missing.items()}
    return document


def ballast_document(answer: BallastAnswer) -> dict[str, Any]:
    """One wish and its ballast, as JSON."""
    ballast = answer.ballast
    return {
        "aboard": answer.aboard,
        "front_share": None if answer.share is None else float(answer.share),
        "axle": None if answer.wish is None else answer.wish.axle,
        "least_kg": None if answer.least is None else float(answer.least),
        "ballast_kg": None if ballast is None else _value(ballast.mass),
        "ballast_u_kg": None if ballast is None or ballast.mass is None else ballast.mass.u,
        "at_mm": None if ballast is None else _value(ballast.at),
        "at_u_mm": None if ballast is None or ballast.at is None else ballast.at.u,
        "met": ballast is not None and ballast.met,
        "trouble": None if ballast is None else ballast.trouble,
    }


def _value(known: Measured | None) -> float | None:
    return None if known is None else float(known.value)
