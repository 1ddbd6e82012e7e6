"""What a trial found, said of a car that still has the part on: what must be on it, what would then be owed."""

from typing import NamedTuple

from tarebook.car.configurations import Inventory
from tarebook.judge.components import (
    ChangeQuestion,
    Component,
    FinishQuestion,
    MustQuestion,
    NeedQuestion,
    Outcome,
    StripQuestion,
    inside,
)
from tarebook.judge.situation import Situation
from tarebook.judge.wording import kind_title, listed, part_title


class Said(NamedTuple):
    """One sentence, and what is left of it in a row that names part and action; "" where that is the sentence."""

    sentence: str
    in_short: str = ""


def said_of(part_id: str, component: Component, outcome: Outcome, after: Situation, *, brought: bool = False) -> Said:
    """The outcome of a trial without a part, in words that hold before it comes off.

    `brought` is True where it is the removal that makes the rule apply.
    """
    if isinstance(component, ChangeQuestion):
        return _of_change(part_id, component, outcome, after)
    if outcome.result == "violation":
        if isinstance(component, NeedQuestion):
            return Said(_need(component, after, "Must then be" if brought else "Must be"))
        if isinstance(component, StripQuestion) and component.kind is not None:
            return Said(f"Must then not be on the car: {_kind(component.kind, after)}.")
        if isinstance(component, MustQuestion):
            what = "could not then enter" if component.form == "enter" else "would not then be as it must be"
            return Said(f"The car {what} by clause {component.rule.clause}.")
    if isinstance(component, FinishQuestion) and outcome.result == "owed":
        duty = component.rule.rule
        return Said(f"A finish is then owed at {duty.area} ({_kind(duty.area, after)}): {listed(duty.by, 'or')}.")
    return Said(component.sentence(outcome, after))


def _of_change(part_id: str, component: ChangeQuestion, outcome: Outcome, after: Situation) -> Said:
    change = component.change
    sentence = component.sentence(outcome, after)
    silent = outcome.result == "violation" and outcome.cited == (component.prepared.silence,)
    in_short = "no clause lets it out" if silent and change.action == "remove" else ""
    if part_id in (change.part, change.old):
        return Said(sentence, in_short)
    if change.action == "remove" and change.old in places(part_id, after.inventory):
        of_this = ChangeQuestion(
            part=part_id,
            kind=change.kind,
            does=change.action,
            change=change._replace(old=part_id),
            prepared=component.prepared,
        )
        place = f"t took the place of {inside(part_title(change.old or '', after.inventory))}"
        return Said(f"{of_this.sentence(outcome, after)} I{place}.", f"{in_short}; i{place}" if in_short else "")
    return Said(f"Without it, {inside(sentence)}")


def places(part_id: str, inventory: Inventory) -> set[str]:
    """The parts whose place a part has taken, one after another."""
    parts = inventory.parts
    found: set[str] = set()
    below = parts[part_id].replaces
    while below in parts and below not in found:
        found.add(below)
        below = parts[below].replaces
    return found


def _need(need: NeedQuestion, situation: Situation, must_be: str) -> str:
    names = [_kind(kind, situation) for kind in need.kinds]
    if len(names) > 1:
        return f"{must_be} on the car, at least {need.at_least} of these: {listed(names)}."
    if need.rule.rule.whole:
        return f"{must_be} complete, as the factory gave it: {names[0]}."
    described = " as the clause describes it" if need.rule.bounds else ""
    return f"{must_be} on the car{described}: {names[0]}."


def _kind(kind: str, situation: Situation) -> str:
    return inside(kind_title(kind, situation.presence.tree))
