"""What a new weighing says besides its readings: how the car stood on the scales, and which jobs had been done."""

import datetime
from typing import TYPE_CHECKING, Any

from tarebook.cli.logbook.entries import LOADS
from tarebook.cli.logbook.questions import agreed, answer, say, terminal
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car

_ONE_OF = "--total; or --front and --rear; or --front-left, --front-right, --rear-left and --rear-right"


def weighed_form(options: dict[str, Any]) -> str:
    """Whether corners, axles or the total were weighed: by the options given, or else asked for. Raises Refused."""
    given = [form for form, loads in LOADS.items() if any(options.get(each) for each in loads or (form,))]
    if len(given) > 1:
        raise Refused(f"Give one of these alone: {_ONE_OF}.")
    if given:
        return given[0]
    if not terminal():
        raise Refused(f"What did it weigh? {_ONE_OF}. (On a terminal, you are asked.)")
    while True:
        word = answer("What was weighed? corners, axles or total (needed):").casefold()
        if word in LOADS:
            return word
        say("  Write corners (each wheel), axles (front and rear) or total (the whole car at once).")


def free_name(car: "Car", day: str) -> str:
    """A name for the weighing of a day that no other has."""
    taken = {weighing.id for weighing in car.file.weighing}
    name, count = day, 1
    while name in taken:
        count += 1
        name = f"{day}-{count}"
    return name


def jobs_seen(car: "Car", day: datetime.date, *, interactive: bool) -> list[str] | None:
    """The jobs that the weighing of a day saw, or None where their dates say it.

    A done job of the same day, or without a date, is asked about. Raises Refused if there is one and nobody to ask.
    """
    done = [job for job in car.file.job if job.state == "done"]
    earlier = [job.id for job in done if job.date is not None and job.date < day]
    unsure = [job for job in done if job.date is None or job.date == day]
    if not unsure:
        return None
    if not interactive:
        named = ", ".join(f'"{job.id}"' for job in unsure)
        every = " ".join(f"--includes {name}" for name in (*earlier, *(job.id for job in unsure)))
        raise Refused(
            f"Had these jobs, done on that day or on a day not said, been done when the car was weighed: {named}? "
            f"Name every job that had been done by then, of these: {every} (or --includes-none)."
        )
    for job in unsure:
        when = "has no date" if job.date is None else "is of the same day"
        if agreed(f'Job "{job.id}" {when}: had it been done when the car was weighed?'):
            earlier.append(job.id)
    return earlier
