"""Small cars, and how they come out by an example of the page. Every car here is invented."""

from support import car, judged, rules
from tarebook.car.reading import Car
from tarebook.judge.findings import Row

AGAINST = ("violation", "owed", "undecided", "too-close")


def small_car(
    *parts: str,
    total: str | None = "900 kg",
    weighing: str = "",
    tank: str = "empty",
    driver: str = "",
    off: tuple[str, ...] = (),
    fit: tuple[str, ...] = (),
    job: str = "",
    present: tuple[str, ...] = (),
    absent: tuple[str, ...] = (),
    **facts: object,
) -> Car:
    """A car that was weighed dry, in steps of a gram, after its one job was done; parts and job as inline tables.

    `weighing` stands in place of the total; `tank` is the fuel in it at inspection.
    """
    lines = ['scale = [{ id = "fine", resolution = "1 g" }]', f'at_inspection = {{ fuel = "{tank}" }}']
    shown = weighing or (f'total = "{total}"' if total else "")
    if shown:
        lines.append(f'weighing = [{{ id = "w", date = 2027-04-01, scale = "fine", fuel = "empty", {shown} }}]')
    if driver:
        lines.append(f'driver = {{ mass = "{driver}" }}')
    if parts:
        lines.append(f"part = [{', '.join(f'{{ {each} }}' for each in parts)}]")
    if off or fit or job:
        done = f'id = "work", state = "done", date = 2027-03-01, off = {list(off)}, fit = {list(fit)}'
        lines.append(f"job = [{{ {', '.join(filter(None, (done, job)))} }}]")
    return car("\n".join(lines) + "\n", present=present, absent=absent, **facts)


def row(example: str, judged_car: Car, class_id: str = "club") -> Row:
    """How the car comes out by a closed book (clause 1.1) that says nothing but the example."""
    return judged(judged_car, rules(after=example), class_id=class_id)


def outcome(example: str, judged_car: Car, class_id: str = "club") -> tuple[str, ...]:
    """The verdict, and then the clauses that speak against the car, sorted."""
    return told(row(example, judged_car, class_id))


def told(answer: Row) -> tuple[str, ...]:
    against = {finding.clause for finding in answer.findings if finding.result in AGAINST}
    return (answer.verdict, *sorted(against))
