"""What builds weigh and how sure that is, for a terminal and as JSON."""

import math
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.car.reading import Car
from tarebook.judge.findings import LimitAnswer, Row
from tarebook.judge.limits import WHICH_NAMES
from tarebook.judge.settling import Attempt, CloseLimit
from tarebook.quantities import Quantity, format_quantity, in_unit
from tarebook.show.text import mass, wrapped
from tarebook.weight.advice import Reweighing
from tarebook.weight.budget import Line
from tarebook.weight.build_mass import BuildMass
from tarebook.weight.combined import Combined
from tarebook.weight.measured import Measured
from tarebook.weight.terms import Weighed

_COUNTS = {3: "three", 5: "five", 10: "ten"}
_FORMS = {"total": "the whole car at once", "axles": "axle by axle", "corners": "corner by corner"}


class ClassLimit(NamedTuple):
    """A limit of a class that is too close to call, the row that it is of, and what would settle it.

    `close` is None where the limit is too close in every case of what is unknown: that is to find out first.
    """

    row: Row
    limit: LimitAnswer
    close: CloseLimit | None


class MassText:
    """Writes the answer as text, masses in `unit`."""

    def __init__(
        self, car: Car, masses: list[BuildMass], limits: list[ClassLimit], unit: str, *, explain: bool, judged: bool
    ) -> None:
        self.car = car
        self.masses = masses
        self.limits = limits
        self.unit = unit
        self.explain = explain
        self.judged = judged

    def lines(self) -> Iterator[str]:
        """The whole answer."""
        fuel = self.car.file.at_inspection.fuel
        there = "fuel not stated" if fuel is None else _fuel_text(fuel)
        yield wrapped(f"{self.car.name} ({self.car.source.name}), the car alone: nobody aboard, {there}")
        for each in self.masses:
            yield ""
            yield from self._build(each)
        if self.judged:
            yield ""
            yield from self._limits()
        elif self.explain:
            yield ""
            yield wrapped("No rule sets were found: name them with --rules to see what would settle a close limit.")

    def _build(self, each: BuildMass) -> Iterator[str]:
        known, interval = each.budget.mass, each.budget.interval
        if known is None or interval is None:
            reasons = "; ".join(missing.sentence for missing in each.budget.missing)
            yield wrapped(f"{each.build}: the mass is not known: {reasons}.", "", "  ")
        else:
            low, high = interval
            yield wrapped(
                f"{each.build}: {mass(float(known.value), self.unit, 2)}, u {self._u(known.u)}{_degrees(known)};"
                f" 95 % between {mass(low, self.unit, 2)} and {mass(high, self.unit, 2)}",
                "",
                "  ",
            )
        yield from self._balance(each)
        if each.combined is not None:
            yield wrapped(self._together(each.combined), "  ")
        if self.explain:
            yield from self._budget(each.budget.lines)

    def _balance(self, each: BuildMass) -> Iterator[str]:
        told = []
        balance = each.balance
        if balance.front_share is not None:
            told.append(f"front {_percent(balance.front_share)}")
        if balance.left_share is not None:
            told.append(f"left {_percent(balance.left_share)}")
        if balance.centre is not None:
            told.append(f"centre of gravity {float(balance.centre.value):.0f} mm behind the front axle")
        if told:
            yield wrapped(", ".join(told), "  ")

    def _together(self, combined: Combined) -> str:
        names = ", ".join(f"{name} ({_whole_percent(weight)})" for name, weight in combined.weights.items())
        apart = f" Left out, as they disagree: {', '.join(combined.apart)}." if combined.apart else ""
        return (
            f"All weighings that agree, together: {mass(float(combined.mass.value), self.unit, 2)},"
            f" u {self._u(combined.mass.u)}; weights {names}.{apart} Classes are judged by the newest alone."
        )

    def _budget(self, lines: Iterable[Line]) -> Iterator[str]:
        yield f"  {'mass':>13}  {'u':>9}  {'variance':>8}"
        for line in lines:
            known = line.mass
            amount = "not known" if known is None else mass(float(known.value), self.unit, 3)
            u = "" if known is None else self._u(known.u)
            share = "" if line.share is None else f"{round(100 * line.share, 1) + 0.0:.1f} %"
            yield wrapped(_line_name(line), f"  {amount:>13}  {u:>9}  {share:>8}  ", " " * 38)

    def _limits(self) -> Iterator[str]:
        if not self.limits:
            yield wrapped("No limit is too close to call.")
            return
        yield "Too close to call"
        for each in self.limits:
            yield from self._limit(each)

    def _limit(self, each: ClassLimit) -> Iterator[str]:
        row, limit, close = each
        head = f"{row.class_id}, {row.build}, clause {limit.clause}: "
        if close is None or limit.margin_kg is None or limit.limit_kg is None or limit.mass_u_kg is None:
            yield wrapped(
                f"{head}too close, whatever is still unknown. State what check asks for first.", "  ", "      "
            )
            return
        side = "over" if (limit.margin_kg >= 0) == _is_minimum(limit) else "under"
        name = WHICH_NAMES[limit.which].format(f" of {mass(limit.limit_kg, self.unit, 2)}")
        margin = f"{mass(abs(limit.margin_kg), self.unit, 2)} {side} the {name}"
        yield wrapped(f"{head}{margin}, u {self._u(limit.mass_u_kg)}", "  ", "      ")
        told = [
            f"{name} ({_whole_percent(share)} of the variance)"
            for index, (name, share) in enumerate(close.contributors[:3])
            if index == 0 or share >= 0.005
        ]
        yield wrapped(f"What makes it unsure: {', '.join(told)}.", "      ")
        yield wrapped(self._advice(close), "      ")

    def _advice(self, close: CloseLimit) -> str:
        advice = close.advice
        if advice is None:
            return "No weighing on a scale of the file would make it surer."
        assert close.limit.mass_u_kg is not None and advice.limit.mass_u_kg is not None
        falls = f"u falls from {self._u(close.limit.mass_u_kg)} to {self._u(advice.limit.mass_u_kg)}"
        what = self._what(advice.reweighing, close.weighed)
        if advice.settles:
            how = "kept" if advice.limit.verdict == "eligible" else "broken"
            return f"{what}: if the readings come out as before, {falls}, and the limit is surely {how}."
        reach = mass(advice.reach_kg, self.unit, 2)
        return f"No one weighing settles it. Best: {what[0].lower()}{what[1:]}: {falls}, and {reach} either way stays."

    def _what(self, again: Reweighing, weighed: Weighed | None) -> str:
        times = f"{_COUNTS[again.readings]} times on `{again.scale}`"
        if again.what == "car" and weighed is not None and again.form is not None:
            return f"Weigh the car again {times}, {_FORMS[again.form]}, {self._aboard(weighed)}"
        name = again.id.replace("_", "-") if again.what == "co_driver" else again.id
        after = "" if again.job is None else f", as it is after {again.job},"
        part = self.car.inventory.parts.get(again.id) if again.what == "part" else None
        together = ", all pieces together" if part is not None and (part.count or 1) > 1 else ""
        return f"Weigh `{name}`{after}{'' if self._estimated(again) else ' again'} {times}{together}"

    def _estimated(self, again: Reweighing) -> bool:
        """Whether it was never weighed before."""
        car = self.car.file
        if again.what == "part" and again.job is not None:
            return self.car.inventory.jobs[again.job].lightens[again.id].estimate is not None
        if again.what == "part":
            return self.car.inventory.parts[again.id].estimate is not None
        person = car.driver if again.what == "driver" else car.co_driver
        return person is not None and person.estimate is not None

    def _aboard(self, weighed: Weighed) -> str:
        fuel = self.car.file.at_inspection.fuel if weighed.fuel == "as-raced" else weighed.fuel
        people = [
            name
            for name, there in (
                ("driver", weighed.driver == "aboard" and weighed.driver_counts_as is None),
                ("co-driver", weighed.co_driver == "aboard"),
            )
            if there
        ]
        aboard = " and ".join(f"the {name}" for name in people) or "nobody"
        return f"with {'the fuel of the inspection' if fuel is None else _fuel_text(fuel)} and {aboard} aboard"

    def _u(self, kilograms: float) -> str:
        """An uncertainty with two significant digits, at most six decimals."""
        value = float(in_unit(Fraction(kilograms), self.unit, "mass"))
        decimals = min(6, max(0, 1 - math.floor(math.log10(value)))) if value > 0 else 0
        return mass(kilograms, self.unit, decimals)


def _is_minimum(limit: LimitAnswer) -> bool:
    return limit.which in ("minimum", "front_axle", "rear_axle")


def _fuel_text(fuel: Quantity | str) -> str:
    if isinstance(fuel, Quantity):
        text = format_quantity(fuel.value, fuel.unit, "volume", 1)
        number, _, unit = text.partition(" ")
        return f"{number.removesuffix('.0')} {unit} of fuel"
    return f"{'no' if fuel == 'empty' else 'a tank full of'} fuel"


def _degrees(known: Measured) -> str:
    degrees = known.degrees
    return "" if math.isinf(degrees) else f" with {degrees:.{1 if degrees < 10 else 0}f} degrees of freedom"


def _whole_percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _percent(share: Measured) -> str:
    return f"{100 * float(share.value):.2f} % (u {100 * share.u:.2f})"


def _line_name(line: Line) -> str:
    if line.what == "weighing":
        return f"weighing {line.id}, {(line.group or '').replace('_', ' ')}"
    if line.mass is not None and line.what == "fuel":
        return "fuel that was in when it was weighed" if line.mass.value < 0 else "fuel at the inspection"
    return line.id.replace("_", "-") if line.what == "co_driver" else line.id


def mass_document(masses: Iterable[BuildMass], limits: list[ClassLimit] | None) -> dict[str, Any]:
    """The answer as JSON; `limits` is None where no rules were asked."""
    builds = []
    for each in masses:
        document = _build_document(each)
        if limits is not None:
            document["limits"] = [_limit_document(one) for one in limits if one.row.build == each.build]
        builds.append(document)
    return {"format": "tarebook-mass/1", "builds": builds}


def _build_document(each: BuildMass) -> dict[str, Any]:
    known, balance = each.budget.mass, each.balance
    low, high = each.budget.interval or (None, None)
    return {
        "build": each.build,
        "mass_kg": _value(known),
        "u_kg": _u_of(known),
        "nu_eff": None if known is None else _finite(known.degrees),
        "low_kg": low,
        "high_kg": high,
        "front_share": _value(balance.front_share),
        "front_share_u": _u_of(balance.front_share),
        "cg_mm": _value(balance.centre),
        "cg_u_mm": _u_of(balance.centre),
        "left_share": _value(balance.left_share),
        "left_share_u": _u_of(balance.left_share),
        "missing": [missing.sentence for missing in each.budget.missing],
        "terms": [
            {
                "what": line.what,
                "id": line.id,
                "group": line.group,
                "mass_kg": _value(line.mass),
                "u_kg": _u_of(line.mass),
                "share_of_variance": line.share,
            }
            for line in each.budget.lines
        ],
        "sources": [
            {
                "source": source.source,
                "u_kg": source.u,
                "nu": _finite(source.degrees),
                "share_of_variance": source.share,
            }
            for source in each.budget.sources
        ],
        "combined": None if each.combined is None else _combined_document(each.combined),
    }


def _combined_document(combined: Combined) -> dict[str, Any]:
    return {
        "mass_kg": _value(combined.mass),
        "u_kg": combined.mass.u,
        "nu_eff": _finite(combined.mass.degrees),
        "weights": combined.weights,
        "apart": list(combined.apart),
    }


def _limit_document(each: ClassLimit) -> dict[str, Any]:
    limit, close = each.limit, each.close
    return {
        "book": each.row.book,
        "class": each.row.class_id,
        "clause": limit.clause,
        "which": limit.which,
        "limit_kg": limit.limit_kg,
        "mass_kg": limit.mass_kg,
        "mass_u_kg": limit.mass_u_kg,
        "margin_kg": limit.margin_kg,
        "verdict": limit.verdict,
        "contributors": []
        if close is None
        else [{"of": name, "share_of_variance": share} for name, share in close.contributors],
        "advice": None if close is None or close.advice is None else _advice_document(close.advice),
    }


def _advice_document(advice: Attempt) -> dict[str, Any]:
    again = advice.reweighing
    return {
        "weigh": again.what,
        "id": again.id,
        "job": again.job,
        "scale": again.scale,
        "readings": again.readings,
        "form": again.form,
        "mass_u_kg": advice.limit.mass_u_kg,
        "margin_low_kg": advice.limit.margin_low_kg,
        "margin_high_kg": advice.limit.margin_high_kg,
        "verdict": advice.limit.verdict,
        "settles": advice.settles,
    }


def _value(known: Measured | None) -> float | None:
    return None if known is None else float(known.value)


def _u_of(known: Measured | None) -> float | None:
    return None if known is None else known.u


def _finite(degrees: float) -> float | None:
    return None if math.isinf(degrees) else degrees
