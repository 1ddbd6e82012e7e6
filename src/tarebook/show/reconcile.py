"""Whether later weighings agree with the ledger, and what may be wrong where not: as text and as JSON."""

from collections.abc import Iterator
from typing import Any

from tarebook.car.configurations import Inventory
from tarebook.car.reading import Car
from tarebook.judge.wording import part_title
from tarebook.show.text import mass, wrapped
from tarebook.weight.culprits import Culprit
from tarebook.weight.measured import Measured
from tarebook.weight.reconciling import Comparison, Reconciled, Reconciliation


def reconcile_lines(found: Reconciliation, car: Car, unit: str) -> Iterator[str]:
    """Each later weighing against the first, masses in `unit`."""
    yield wrapped(f"{car.name} ({car.source.name}): do the weighings agree with the ledger")
    if found.base is None or found.weighed is None:
        yield wrapped("The car was never weighed: tarebook weigh adds a weighing.")
        return
    yield wrapped(
        f"{found.base.id}, {found.base.date}: {mass(float(found.weighed.value), unit, 2)}, the base of all below"
    )
    if not found.later:
        yield wrapped("There is no other weighing to compare with it.")
    for each in found.later:
        yield ""
        yield from _weighing(each, car, unit)


def _weighing(each: Reconciled, car: Car, unit: str) -> Iterator[str]:
    head = f"{each.weighing.id}, {each.weighing.date}: "
    weighed = mass(float(each.weighed.value), unit, 2)
    if each.expected is None or each.compared is None:
        reasons = "; ".join(missing.sentence for missing in each.missing)
        yield wrapped(f"{head}weighed {weighed}; what the ledger expects is not known: {reasons}.", "", "  ")
        return
    expected, compared = mass(float(each.expected.value), unit, 2), each.compared
    verdict = "agrees" if compared.agrees else "does not agree"
    yield wrapped(f"{head}{verdict}: weighed {weighed}, expected {expected}", "", "  ")
    yield wrapped(f"in all: {_difference(compared, unit)}", "  ", "    ")
    for axle, by_axle in (("front axle", each.front), ("rear axle", each.rear)):
        if by_axle is not None:
            yield wrapped(f"{axle}: {_difference(by_axle, unit)}", "  ", "    ")
    if compared.agrees:
        return
    less = compared.difference.value > 0
    amount = mass(abs(float(compared.difference.value)), unit, 2)
    yield wrapped(
        f"Still to be explained: the car is {amount} {'lighter' if less else 'heavier'} than the ledger has it"
        f"{_where(each.where)}. Something came off, went on or was weighed wrong.",
        "  ",
    )
    if not each.culprits:
        yield wrapped("Nothing in the ledger looks like it: perhaps work was never written down.", "  ")
        return
    yield "  What to look at, the likeliest first:"
    for number, culprit in enumerate(each.culprits, 1):
        yield wrapped(culprit_sentence(culprit, car.inventory, unit), f"  {number:>2}. ", "      ")


def _difference(compared: Comparison, unit: str) -> str:
    sign = "" if compared.difference.value < 0 else "+"
    return (
        f"expected less weighed {sign}{mass(float(compared.difference.value), unit, 2)}, uncertain by"
        f" {mass(compared.reach, unit, 2)} (95 %): E_n {round(compared.e_n, 2) + 0.0:.2f}"
    )


def _where(where: Measured | None) -> str:
    if where is None:
        return ""
    at = float(where.value)
    side = "ahead of" if at < 0 else "behind"
    return f", about {abs(at):.0f} mm {side} the front axle (u {where.u:.0f} mm)"


def culprit_sentence(culprit: Culprit, inventory: Inventory, unit: str) -> str:
    """One suspect, what speaks against it, and what would follow."""
    if culprit.what == "job":
        job = inventory.jobs[culprit.id]
        counted = "counts as done by then" if culprit.change == "seen" else "counts as not done by then"
        really = "was it done later" if culprit.change == "seen" else "was it done before"
        explains = ""
        if culprit.explains_kg is not None:
            explains = f" That would explain {mass(abs(culprit.explains_kg), unit, 2)}."
        return (
            f'job "{culprit.id}" ({job.title or job.id}), of {job.date}, is near weighing "{culprit.weighing}", and'
            f" {counted}: {really}?{explains}"
        )
    name = f'part "{culprit.id}" ({part_title(culprit.id, inventory)})'
    would = ""
    if culprit.would_weigh_kg is not None:
        would = f" It explains all if it weighs {mass(culprit.would_weigh_kg, unit, 2)}."
    if culprit.why == "implausible" and culprit.usual_kg is not None:
        low, high = (mass(each, unit) for each in culprit.usual_kg)
        changed = {"off": "came off", "on": "went on", "lightened": "was lightened"}[culprit.change]
        return f"{name} {changed}, and its mass is not what its kind mostly weighs, {low} to {high}.{would}"
    if culprit.why == "estimated":
        return f"{name} was only estimated: weigh it.{would}"
    if culprit.why == "same-place":
        return f"{name} was changed and sits where the difference is: weigh it again.{would}"
    state = "on" if culprit.change == "on" else "off"
    other = "off" if state == "on" else "on"
    amount = mass(abs(culprit.explains_kg or 0.0), unit, 2)
    return f"{name} weighs {amount} and is {state} by the ledger: was it {other} when the car was weighed?"


def reconcile_document(found: Reconciliation) -> dict[str, Any]:
    """The answer as JSON: every weighing after the first, which is the base."""
    base = None
    if found.base is not None and found.weighed is not None:
        base = {"id": found.base.id, "date": found.base.date.isoformat(), "weighed_kg": float(found.weighed.value)}
    return {
        "format": "tarebook-reconcile/1",
        "base": base,
        "agrees": found.agrees,
        "weighings": [_weighing_document(each) for each in found.later],
    }


def _weighing_document(each: Reconciled) -> dict[str, Any]:
    compared = each.compared
    return {
        "id": each.weighing.id,
        "date": each.weighing.date.isoformat(),
        "weighed_kg": float(each.weighed.value),
        "expected_kg": None if each.expected is None else float(each.expected.value),
        "unexplained_kg": None if compared is None else float(compared.difference.value),
        "expanded_kg": None if compared is None else compared.reach,
        "e_n": None if compared is None else compared.e_n,
        "agrees": None if compared is None else compared.agrees,
        "front_unexplained_kg": None if each.front is None else float(each.front.difference.value),
        "rear_unexplained_kg": None if each.rear is None else float(each.rear.difference.value),
        "at_mm": None if each.where is None else float(each.where.value),
        "at_u_mm": None if each.where is None else each.where.u,
        "missing": [missing.sentence for missing in each.missing],
        "culprits": [
            {
                "what": culprit.what,
                "id": culprit.id,
                "why": culprit.why,
                "change": culprit.change,
                "explains_kg": culprit.explains_kg,
                "would_weigh_kg": culprit.would_weigh_kg,
            }
            for culprit in each.culprits
        ],
    }
