"""`weigh` and `log`: add a weighing, a scale, a part, a job or a reading to the car file, and change nothing else."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from tarebook.cli.asking import CarArgument
from tarebook.cli.quick import QuickCommand, QuickGroup
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.cli.logbook.questions import Values

Text = str | None
Texts = list[str] | None


def _one(flag: str, words: str, metavar: str = "TEXT") -> Any:
    return typer.Option(flag, metavar=metavar, help=words, show_default=False)


def _many(flag: str, words: str, metavar: str = "MASS") -> Any:
    return typer.Option(flag, metavar=metavar, help=f"{words}; may be given again.", show_default=False)


PreviewOption = Annotated[
    bool, typer.Option("--preview", help="Print what would change in the file, and write nothing.")
]
SureOption = Annotated[bool, typer.Option("--sure", help="Ask nothing about what looks like a slip.")]
IdOption = Annotated[Text, _one("--id", "Its name in the file.", "ID")]
TitleOption = Annotated[Text, _one("--title", "What you call it.")]
NoteOption = Annotated[Text, _one("--note", "A note.")]
DateOption = Annotated[Text, _one("--date", "The day, such as 2027-04-10. [default: today]", "DATE")]

# The questions take the options out of the context, each by its own name; `Question.flag` says which.


def weigh(
    context: typer.Context,
    car: CarArgument,
    id: Annotated[Text, _one("--id", "Its name in the file. [default: the day]", "ID")] = None,
    date: DateOption = None,
    scale: Annotated[Text, _one("--scale", "The scale, or the set of pads, that was used.", "ID")] = None,
    total: Annotated[Texts, _many("--total", "A reading of the whole car at once")] = None,
    front: Annotated[Texts, _many("--front", "A reading of the front axle")] = None,
    rear: Annotated[Texts, _many("--rear", "A reading of the rear axle")] = None,
    front_left: Annotated[Texts, _many("--front-left", "A reading of that wheel")] = None,
    front_right: Annotated[Texts, _many("--front-right", "A reading of that wheel")] = None,
    rear_left: Annotated[Texts, _many("--rear-left", "A reading of that wheel")] = None,
    rear_right: Annotated[Texts, _many("--rear-right", "A reading of that wheel")] = None,
    fuel: Annotated[Text, _one("--fuel", 'What was in the tank: "12 L", full or empty.', "FUEL")] = None,
    fuel_within: Annotated[Text, _one("--fuel-within", "How far off that may be.", "VOLUME")] = None,
    driver_aboard: Annotated[bool, typer.Option("--driver-aboard", help="The driver sat in it.")] = False,
    co_driver_aboard: Annotated[bool, typer.Option("--co-driver-aboard", help="The co-driver sat in it.")] = False,
    includes: Annotated[Texts, _many("--includes", "A job done by then; name them all", "JOB")] = None,
    includes_none: Annotated[bool, typer.Option("--includes-none", help="No job had been done by then.")] = False,
    note: NoteOption = None,
    preview: PreviewOption = False,
    sure: SureOption = False,
) -> None:
    """Add a weighing of the whole car to its file. On a terminal, and with nothing given, you are asked."""
    import datetime

    from tarebook.api import load_car
    from tarebook.cli.logbook.adding import add_entry
    from tarebook.cli.logbook.doubts import doubts_of_weighing
    from tarebook.cli.logbook.entries import weighing_questions
    from tarebook.cli.logbook.questions import Asking
    from tarebook.cli.logbook.weighings import free_name, jobs_seen, weighed_form

    the_car = load_car(car)
    today = datetime.date.today()
    form = weighed_form(context.params)
    asking = Asking(the_car, "weighing", weighing_questions(form), sure=sure)

    def complete(values: "Values", interactive: bool) -> None:
        day = values.setdefault(("date",), today)
        if ("id",) not in values:
            values[("id",)] = free_name(the_car, day.isoformat())
        if includes_none:
            values[("includes",)] = []
        elif ("includes",) not in values:
            seen = jobs_seen(the_car, day, interactive=interactive)
            if seen is not None:
                values[("includes",)] = seen

    add_entry(
        car,
        asking,
        context.params,
        preview=preview,
        optional=frozenset({"includes", "fuel_within", "co_driver_aboard"}),
        complete=complete,
        doubts=lambda values: doubts_of_weighing(the_car, values),
    )


log = typer.Typer(
    cls=QuickGroup,
    help="Add a part, job, scale or reading to the car file. Or mark a job as done.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@log.callback()
def _log(context: typer.Context, car: CarArgument) -> None:
    """Keep the car file for the command that follows it."""
    context.obj = car


@log.command("part", cls=QuickCommand)
def log_part(
    context: typer.Context,
    id: IdOption = None,
    kind: Annotated[Text, _one("--kind", "Its kind: tarebook kinds WORD finds it.", "KIND")] = None,
    title: TitleOption = None,
    count: Annotated[Text, _one("--count", "How many pieces come off together.", "NUMBER")] = None,
    mass: Annotated[Texts, _many("--mass", "A reading of its mass")] = None,
    mass_each: Annotated[Texts, _many("--mass-each", "With --count: a reading of a single piece")] = None,
    mass_together: Annotated[Texts, _many("--mass-together", "A reading of all pieces at once")] = None,
    estimate: Annotated[Text, _one("--estimate", "A judged mass, if it was never weighed.", "MASS")] = None,
    within: Annotated[Text, _one("--within", "How far off the judged mass may be.", "MASS")] = None,
    scale: Annotated[Text, _one("--scale", "The scale that it was weighed on.", "ID")] = None,
    at: Annotated[Text, _one("--at", "How far behind the front axle its middle is.", "LENGTH")] = None,
    right: Annotated[Text, _one("--right", "How far right of the car's middle; left is below zero.", "LENGTH")] = None,
    zone: Annotated[Text, _one("--zone", "Without --at: the middle of this zone is its place.", "ID")] = None,
    origin: Annotated[Text, _one("--origin", "Who made it: factory or aftermarket.", "WORD")] = None,
    replaces: Annotated[Text, _one("--replaces", "The part, or kind, that it takes the place of.", "PART")] = None,
    belongs_to: Annotated[Text, _one("--belongs-to", "The part that it is a bracket or cable of.", "PART")] = None,
    material: Annotated[Text, _one("--material", "Its material.")] = None,
    thickness: Annotated[Text, _one("--thickness", "Of a pane or a sheet.", "LENGTH")] = None,
    years: Annotated[Texts, _many("--years", "A model year that it was sold for", "YEAR")] = None,
    approval: Annotated[Texts, _many("--approval", "An approval mark", "TEXT")] = None,
    place: Annotated[Text, _one("--place", "The kind that it sits on.", "KIND")] = None,
    kept: Annotated[Text, _one("--kept", "Where you keep it.")] = None,
    gone: Annotated[bool, typer.Option("--gone", help="It is sold or scrapped.")] = False,
    note: NoteOption = None,
    preview: PreviewOption = False,
    sure: SureOption = False,
) -> None:
    """Add a part. On a terminal, and with nothing given, you are asked."""
    from tarebook.api import load_car
    from tarebook.cli.logbook.adding import add_entry
    from tarebook.cli.logbook.doubts import doubts_of_part, place_in_zone
    from tarebook.cli.logbook.entries import ASKED_OF_A_PART, PART_QUESTIONS
    from tarebook.cli.logbook.questions import Asking

    the_car = load_car(context.obj)
    asking = Asking(the_car, "part", PART_QUESTIONS, sure=sure)

    def complete(values: "Values", interactive: bool) -> None:
        if zone is not None:
            place_in_zone(the_car, values, zone)
        if ("estimate", "mass") in values and ("estimate", "within") not in values:
            if not interactive:
                raise Refused("Needed as well: --within, how far off the judged mass may be.")
            asking.ask_key(("estimate", "within"), values)

    add_entry(
        context.obj,
        asking,
        context.params,
        preview=preview,
        optional=frozenset(each.key[0] for each in PART_QUESTIONS) - ASKED_OF_A_PART,
        complete=complete,
        doubts=lambda values: doubts_of_part(the_car, values),
    )


@log.command("job", cls=QuickCommand)
def log_job(
    context: typer.Context,
    id: IdOption = None,
    title: TitleOption = None,
    state: Annotated[Text, _one("--state", "How far it is: done, planned or maybe.", "WORD")] = None,
    date: Annotated[Text, _one("--date", "The day that it was done. [default, if done: today]", "DATE")] = None,
    off: Annotated[Texts, _many("--off", "A part that it takes off", "PART")] = None,
    fit: Annotated[Texts, _many("--fit", "A part that it fits", "PART")] = None,
    cost: Annotated[Text, _one("--cost", 'What it costs, such as "140 EUR".', "MONEY")] = None,
    returns: Annotated[Text, _one("--returns", "What the parts that came off fetch.", "MONEY")] = None,
    hours: Annotated[Text, _one("--hours", "Working time, a plain number.", "HOURS")] = None,
    needs: Annotated[Texts, _many("--needs", "A job that it needs", "JOB")] = None,
    not_with: Annotated[Texts, _many("--not-with", "A job that it cannot stand with", "JOB")] = None,
    tool: Annotated[Texts, _many("--tool", "What you need for it", "TEXT")] = None,
    note: NoteOption = None,
    preview: PreviewOption = False,
) -> None:
    """Add a job. On a terminal, and with nothing given, you are asked."""
    import datetime

    from tarebook.api import load_car
    from tarebook.cli.logbook.adding import add_entry
    from tarebook.cli.logbook.entries import JOB_QUESTIONS
    from tarebook.cli.logbook.questions import Asking

    def complete(values: "Values", interactive: bool) -> None:
        if values.get(("state",)) == "done":
            values.setdefault(("date",), datetime.date.today())

    asking = Asking(load_car(context.obj), "job", JOB_QUESTIONS, sure=False)
    add_entry(context.obj, asking, context.params, preview=preview, complete=complete)


@log.command("scale", cls=QuickCommand)
def log_scale(
    context: typer.Context,
    id: IdOption = None,
    title: TitleOption = None,
    resolution: Annotated[Text, _one("--resolution", "The smallest step that it shows.", "MASS")] = None,
    capacity: Annotated[Text, _one("--capacity", "The most that it can weigh.", "MASS")] = None,
    known: Annotated[Text, _one("--known", "A known mass that was put on it.", "MASS")] = None,
    read: Annotated[Text, _one("--read", "What it showed then.", "MASS")] = None,
    u: Annotated[Text, _one("--u", "The standard uncertainty of that comparison.", "MASS")] = None,
    note: NoteOption = None,
    preview: PreviewOption = False,
) -> None:
    """Add a scale. On a terminal, and with nothing given, you are asked."""
    from tarebook.api import load_car
    from tarebook.cli.logbook.adding import add_entry
    from tarebook.cli.logbook.entries import SCALE_QUESTIONS
    from tarebook.cli.logbook.questions import Asking

    asking = Asking(load_car(context.obj), "scale", SCALE_QUESTIONS, sure=False)

    def complete(values: "Values", interactive: bool) -> None:
        stated = {key[1] for key in values if key[0] == "check"}
        missing = [each for each in ("known", "read", "u") if each not in stated] if stated else []
        if missing and not interactive:
            raise Refused(f"A check is three figures. Needed as well: {', '.join(f'--{each}' for each in missing)}.")
        for each in missing:
            asking.ask_key(("check", each), values)

    add_entry(context.obj, asking, context.params, preview=preview, complete=complete)


@log.command("reading", cls=QuickCommand)
def log_reading(
    context: typer.Context,
    part: Annotated[Text, typer.Argument(metavar="PART", help="The part.", show_default=False)] = None,
    readings: Annotated[
        Texts, typer.Argument(metavar="MASS...", help='What the scale showed, such as "1.66 kg".', show_default=False)
    ] = None,
    scale: Annotated[Text, _one("--scale", "The scale, if the part has no reading yet.", "ID")] = None,
    each: Annotated[bool, typer.Option("--each", help="Of several pieces: each reading is of one.")] = False,
    together: Annotated[bool, typer.Option("--together", help="Of several pieces: each is of all of them.")] = False,
    preview: PreviewOption = False,
    sure: SureOption = False,
) -> None:
    """Add readings to a part. On a terminal, you are asked for what is not given."""
    from tarebook.api import load_car
    from tarebook.cli.logbook.readings import add_readings

    form = "mass_each" if each else "mass_together" if together else None
    if each and together:
        raise Refused("Either --each or --together: a reading is of one piece or of all.")
    add_readings(context.obj, load_car(context.obj), part, readings or [], scale, form, preview=preview, sure=sure)


@log.command("done", cls=QuickCommand)
def log_done(
    context: typer.Context,
    job: Annotated[Text, typer.Argument(metavar="JOB", help="The job.", show_default=False)] = None,
    date: DateOption = None,
    preview: PreviewOption = False,
) -> None:
    """Mark a planned job as done. On a terminal, you are asked for what is not given."""
    from tarebook.api import load_car
    from tarebook.cli.logbook.jobs import mark_done

    mark_done(context.obj, load_car(context.obj), job, date, preview=preview)
