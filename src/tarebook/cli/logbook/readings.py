"""More readings of a part that the file has."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tarebook.cli.logbook.adding import changed, finish
from tarebook.cli.logbook.doubts import masses
from tarebook.cli.logbook.questions import (
    Asking,
    Question,
    Values,
    agreed,
    known_entry,
    questioned,
    say,
    sentence,
    terminal,
    tree_of,
)
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car
    from tarebook.car.editing import Change
    from tarebook.car.models import Part

_QUESTIONS = (
    Question(("id",), "Which part", "the name of a part", needed=True, names="part", option="PART"),
    Question(
        ("mass",),
        "What did the scale show",
        'a mass such as "1.66 kg"',
        needed=True,
        many=True,
        readings=True,
        option="MASS",
    ),
)
_FORMS = ("mass", "mass_each", "mass_together")


def add_readings(
    path: Path,
    car: "Car",
    name: str | None,
    readings: list[str],
    scale: str | None,
    form: str | None,
    *,
    preview: bool,
    sure: bool,
) -> None:
    """Add readings to a part, where it states its mass; an estimate gives way to them. Raises Refused."""
    from tarebook.car.editing.answers import Unfit

    interactive = terminal() and (name is None or not readings)
    if not interactive and (name is None or not readings):
        raise Refused("Needed as well: the part and what the scale showed: tarebook log CAR reading PART MASS.")
    asking = Asking(car, "part", _QUESTIONS, sure=sure)
    values: Values = asking.from_options({"part": name, "mass": readings})
    for question in asking.missing(values):
        asking.ask(question, values)
    index = known_entry(car, "part", values[("id",)])
    part: Part = car.file.part[index]
    stated = next((each for each in _FORMS if getattr(part, each) is not None), None)
    form = _form(part, stated, form, interactive=interactive)
    _check_scale(part, scale, stated)
    try:
        if scale is not None:
            known_entry(car, "scale", scale)
    except Unfit as unfit:
        raise Refused(f"--scale: {sentence(str(unfit))}") from None

    def doubts() -> list[str]:
        from tarebook.car.plausible import questions

        pieces = (part.count or 1) if form == "mass_each" else 1
        every = [*(getattr(part, form) or []), *masses(values[("mass",)])]
        return questions(part.kind, every, tree_of(car), pieces=pieces)

    while not questioned(doubts(), interactive=interactive, sure=sure):
        asking.ask_masses_again(values)
    changes = _changes(part, index, form, stated, values[("mass",)], scale)
    after = changed(car, changes)
    count = len(getattr(after.car.file.part[index], form))
    on = after.car.file.part[index].scale
    told = f'part "{part.id}" has {count} reading{"s" * (count != 1)}' + (f' on scale "{on}"' if on else "")
    finish(path, after, told, preview=preview, interactive=interactive)


def _form(part: "Part", stated: str | None, asked: str | None, *, interactive: bool) -> str:
    """The key that the readings go to. Raises Refused."""
    if stated is not None:
        if asked is not None and asked != stated:
            raise Refused(f'Part "{part.id}" states its readings as {stated}: leave the option out.')
        return stated
    if part.count is None:
        if asked == "mass_each":
            raise Refused(f'Part "{part.id}" has no count, so it is one piece: leave --each out.')
        return asked or "mass"
    if asked is not None:
        return asked
    if not interactive:
        raise Refused(f'Part "{part.id}" is {part.count} pieces: is a reading of one, --each, or of all, --together?')
    say(f'Part "{part.id}" is {part.count} pieces.')
    return "mass_together" if agreed("Were they weighed all together?") else "mass_each"


def _check_scale(part: "Part", scale: str | None, stated: str | None) -> None:
    """Refuses a scale that the part's other readings were not taken on."""
    if scale is None or scale == part.scale or stated is None:
        return
    others = f'were taken on scale "{part.scale}"' if part.scale else "name no scale"
    raise Refused(f'The readings of part "{part.id}" {others}, and the readings of a part are all of one scale.')


def _changes(
    part: "Part", index: int, form: str, stated: str | None, readings: list[str], scale: str | None
) -> "list[Change]":
    from tarebook.car.editing import AddToList, ReplaceKey, SetKey

    path = ("part", index)
    if stated is not None:
        return [AddToList((*path, form), readings)]
    value: Any = readings[0] if len(readings) == 1 else readings
    changes: list[Change] = (
        [SetKey((*path, form), value)] if part.estimate is None else [ReplaceKey((*path, "estimate"), form, value)]
    )
    if scale is not None:
        changes.append(SetKey((*path, "scale"), scale))
    return changes
