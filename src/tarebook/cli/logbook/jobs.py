"""A job that the file has is done."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tarebook.cli.logbook.adding import changed, finish
from tarebook.cli.logbook.questions import answer, known_entry, say, sentence, terminal
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car


def mark_done(path: Path, car: "Car", name: str | None, date: str | None, *, preview: bool) -> None:
    """Set a job to done, on a day (today, if none is given). Raises Refused."""
    from tarebook.car.editing import SetKey
    from tarebook.car.editing.answers import Unfit, typed

    interactive = name is None
    if name is None:
        if not terminal():
            raise Refused("Needed as well: the job: tarebook log CAR done JOB.")
        name = _asked(car)
    try:
        index = known_entry(car, "job", name)
        day = datetime.date.today() if date is None else typed("job", ("date",), date, car.units, "date")
    except Unfit as unfit:
        raise Refused(sentence(str(unfit))) from None
    job = car.file.job[index]
    if job.state == "done":
        when = f", on {job.date}" if job.date else ""
        raise Refused(f'Job "{name}" is done already{when}.')
    after = changed(car, [SetKey(("job", index, "state"), "done"), SetKey(("job", index, "date"), day)])
    finish(path, after, f'job "{name}" is done, on {day}', preview=preview, interactive=interactive)


def _asked(car: "Car") -> str:
    waiting = [job.id for job in car.file.job if job.state != "done"]
    if not waiting:
        raise Refused("Every job of the file is done.")
    while True:
        name = answer(f"Which job is done? {', '.join(waiting)} (needed):")
        if name in waiting:
            return name
        say("  Write one of these names.")
