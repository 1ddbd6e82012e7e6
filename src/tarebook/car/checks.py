"""Cross-references of a car file: what the tables say of one another must fit. Every check notes mistakes."""

import datetime
from collections.abc import Callable, Iterable
from functools import cached_property

from tarebook.car.configurations import NOW, PLANNED, Inventory, Problem
from tarebook.car.models import CarFile, Estimate, Job, MassForm, Part, Person, Weighing
from tarebook.car.scale_checks import check_fuel_within, check_scale, check_tank
from tarebook.fact_values import FactError, read_value
from tarebook.facts import Fact
from tarebook.file_checks import circles, way_round
from tarebook.kinds import KindTree
from tarebook.names import did_you_mean
from tarebook.quantities import Quantity
from tarebook.tables import MOST_HINTS
from tarebook.toml_source import Mistake, Source

Path = tuple[str | int, ...]


class CarChecks:
    """Checks one car file.

    Names of kinds and facts that neither the built-in lists nor the file itself declare may belong to a rule
    set: they are left in `open_kinds` and `open_facts`, for `settle` once the rule sets are known.
    """

    def __init__(self, car: CarFile, source: Source, tree: KindTree, facts: dict[str, Fact]) -> None:
        self.car = car
        self.source = source
        self.tree = tree
        self.facts = facts
        self.inventory = Inventory(car, source)
        self.mistakes: list[Mistake] = []
        self._told: set[Mistake] = set()
        self.open_kinds: list[tuple[str, Path, bool]] = []
        self.open_facts: list[tuple[str, Path]] = []
        self._units: dict[str, str | None] = car.units.as_dict()

    def run(self) -> list[Mistake]:
        """All mistakes of the file."""
        before = len(self.mistakes)
        for table in ("part", "job", "scale", "weighing", "zone", "build"):
            self._no_duplicates(table)
        self._car_table()
        self._facts_table(self.car.facts, ("facts",))
        self._people()
        for index, part in enumerate(self.car.part):
            self._part(part, ("part", index))
        for index, zone in enumerate(self.car.zone):
            if zone.from_.value >= zone.to.value:
                self._note(("zone", index, "to"), f'zone "{zone.id}" ends where it begins, or before')
        for index, scale in enumerate(self.car.scale):
            check_scale(scale, ("scale", index), self._note)
        there = self.car.at_inspection
        check_fuel_within(there.fuel, there.fuel_within, ("at_inspection",), self._note)
        check_tank(self.car.tank, self._note)
        for index, job in enumerate(self.car.job):
            self._job(job, ("job", index))
        self._one_currency()
        self._all_circles()
        for index, weighing in enumerate(self.car.weighing):
            self._weighing(weighing, ("weighing", index))
        for index, build in enumerate(self.car.build):
            self._build_table(index, build.id, build.jobs, build.undo)
        if len(self.mistakes) == before:
            self._configurations()
        return self.mistakes

    def _note(self, path: Path, message: str, hint: str = "", *, key: bool = False) -> None:
        mistake = self.source.mistake(path, message, hint, key=key)
        if mistake not in self._told:
            self._told.add(mistake)
            self.mistakes.append(mistake)

    def _unknown(self, path: Path, what: str, name: str, known: Iterable[str], *, key: bool = False) -> None:
        listed = list(known)
        near = did_you_mean(name, listed) if len(self.mistakes) < MOST_HINTS else ""
        hint = near or (f"there are {', '.join(listed[:8])}" if listed else f"list the {what} first")
        self._note(path, f'there is no {what} "{name}"', hint, key=key)

    def _kind(self, kind: str, path: Path) -> None:
        if kind not in self.tree:
            self.open_kinds.append((kind, path, False))

    def _no_duplicates(self, table: str) -> None:
        seen: dict[str, int] = {}
        for index, entry in enumerate(getattr(self.car, table)):
            if table == "build" and entry.id in (NOW, PLANNED):
                self._note((table, index, "id"), f'"{entry.id}" is built in: choose another name for this build')
            if entry.id in seen:
                line = self.source.line((table, seen[entry.id], "id"))
                self._note((table, index, "id"), f'the {table} "{entry.id}" is listed twice, first on line {line}')
            seen.setdefault(entry.id, index)

    def _car_table(self) -> None:
        for word in ("absent", "present"):
            for index, kind in enumerate(getattr(self.car.car, word)):
                self._kind(kind, ("car", word, index))
        for index, kind in enumerate(self.car.car.present):
            if kind in self.car.car.absent:
                self._note(("car", "present", index), f'"{kind}" is both present and absent')

    def _facts_table(self, stated: dict[str, object], path: Path) -> None:
        for name, value in stated.items():
            if name == "model_year":
                self._note((*path, name), "the model year is stated once, as model_year under [car]", key=True)
                continue
            fact = self.facts.get(name)
            if fact is None:
                self.open_facts.append((name, (*path, name)))
                continue
            try:
                read_value(value, fact, self._units)
            except FactError as error:
                self._note((*path, name), str(error))

    def _people(self) -> None:
        for word in ("driver", "co_driver"):
            person: Person | None = getattr(self.car, word)
            if person is not None:
                self._mass_form(MassForm(mass=person.mass, scale=person.scale, estimate=person.estimate), (word,))

    def _mass_form(self, form: MassForm, path: Path) -> None:
        if form.mass is not None and form.estimate is not None:
            self._note((*path, "estimate"), "a mass is either weighed or estimated, not both", key=True)
        if form.scale is not None and form.mass is None:
            self._note((*path, "scale"), "a scale is named, but no reading", key=True)
        self._readings(form.mass, form.scale, (*path, "mass"), (*path, "scale"))
        self._estimate(form.estimate, (*path, "estimate"))

    def _estimate(self, estimate: Estimate | None, path: Path) -> None:
        if estimate is not None and estimate.within.value > estimate.mass.value:
            self._note((*path, "within"), "this is more than the mass itself, which cannot fall below zero")

    def _readings(self, readings: list[Quantity] | None, scale_id: str | None, path: Path, scale_path: Path) -> None:
        if readings is not None and not readings:
            self._note(path, "a list of readings may not be empty")
        if scale_id is None:
            return
        scale = next((each for each in self.car.scale if each.id == scale_id), None)
        if scale is None:
            self._unknown(scale_path, "scale", scale_id, (each.id for each in self.car.scale))
        elif scale.capacity is not None:
            for index, reading in enumerate(readings or ()):
                if reading.value > scale.capacity.value:
                    where = (*path, index) if len(readings or ()) > 1 else path
                    self._note(where, f'this is more than the scale "{scale.id}" can weigh')

    def _part(self, part: Part, path: Path) -> None:
        self._kind(part.kind, (*path, "kind"))
        forms = [form for form in ("mass", "mass_each", "mass_together", "estimate") if getattr(part, form) is not None]
        if len(forms) > 1:
            self._note(
                (*path, forms[1]),
                f'part "{part.id}" states its mass twice, as {forms[0]} and {forms[1]}',
                key=True,
            )
        if part.count is not None and part.mass is not None:
            self._note((*path, "mass"), "with a count, say mass_each or mass_together", key=True)
        if part.count is None and part.mass_each is not None:
            self._note((*path, "mass_each"), "mass_each needs a count", key=True)
        if part.scale is not None and not any(form in forms for form in ("mass", "mass_each", "mass_together")):
            self._note((*path, "scale"), "a scale is named, but no reading", key=True)
        weighed = next((form for form in ("mass", "mass_each", "mass_together") if form in forms), "mass")
        self._readings(getattr(part, weighed), part.scale, (*path, weighed), (*path, "scale"))
        self._estimate(part.estimate, (*path, "estimate"))
        if part.place is not None:
            self._kind(part.place, (*path, "place"))
        if part.belongs_to is not None:
            self._part_known(part.belongs_to, (*path, "belongs_to"))
        for index, year in enumerate(part.years or ()):
            if not 1880 <= year <= 2200:
                self._note((*path, "years", index), f"{year} is not a year")
        if part.replaces is not None:
            self._replaces(part, (*path, "replaces"))

    def _above(self, name: str, key: str) -> list[str]:
        part = self.inventory.parts.get(name)
        above = getattr(part, key) if part is not None else None
        return [above] if above is not None else []

    def _part_known(self, name: str, path: Path, *, key: bool = False) -> bool:
        if name in self.inventory.parts:
            return True
        self._unknown(path, "part", name, self.inventory.parts, key=key)
        return False

    def _replaces(self, part: Part, path: Path) -> None:
        replaced = part.replaces
        assert replaced is not None
        parts = self.inventory.parts
        if replaced in parts:
            return
        if replaced in self.tree:
            other = next((each for each in self._originals_by_kind.get(replaced, ()) if each != part.id), None)
            if other is not None:
                self._note(
                    path,
                    f'the ledger has a part of the kind "{replaced}": name that part',
                    f'replaces = "{other}"',
                )
        elif "." in replaced:
            self.open_kinds.append((replaced, path, True))
        else:
            hint = ""
            if len(self.mistakes) < MOST_HINTS:
                hint = did_you_mean(replaced, parts) or self.tree.suggest(replaced)
            self._note(path, f'"{replaced}" is neither a part of the ledger nor a kind', hint)

    @cached_property
    def _originals_by_kind(self) -> dict[str, list[str]]:
        """The parts that the car began with, less those that themselves replace what their kind names."""
        found: dict[str, list[str]] = {}
        for part in self.car.part:
            if part.id in self.inventory.originals and part.replaces != part.kind:
                found.setdefault(part.kind, []).append(part.id)
        return found

    def _all_circles(self) -> None:
        jobs = self.inventory.jobs
        self._circles("part", "belongs_to", "belongs to", lambda name: self._above(name, "belongs_to"))
        self._circles("part", "replaces", "replaces", lambda name: self._above(name, "replaces"))
        self._circles(
            "job",
            "needs",
            "needs",
            lambda name: [need for need in jobs[name].needs if need != name] if name in jobs else [],
        )

    def _job(self, job: Job, path: Path) -> None:
        for word in ("off", "fit"):
            listed = getattr(job, word)
            for index, part_id in enumerate(listed):
                if self._part_known(part_id, (*path, word, index)) and part_id in listed[:index]:
                    verb = "takes off" if word == "off" else "fits"
                    self._note((*path, word, index), f'job "{job.id}" {verb} "{part_id}" twice')
                if word == "fit" and part_id in job.off:
                    self._note((*path, word, index), f'job "{job.id}" takes "{part_id}" off and fits it')
        for word, named in (("moves", job.moves), ("lightens", job.lightens)):
            for part_id in named:
                self._part_known(part_id, (*path, word, part_id), key=True)
        for part_id, move in job.moves.items():
            if move.at is None and move.right is None and move.place is None:
                self._note((*path, "moves", part_id), f'it is not said where "{part_id}" goes: at, right or place')
            if move.place is not None:
                self._kind(move.place, (*path, "moves", part_id, "place"))
        for part_id, form in job.lightens.items():
            self._mass_form(form, (*path, "lightens", part_id))
        self._facts_table(job.sets, (*path, "sets"))
        for word in ("needs", "not_with"):
            for index, other in enumerate(getattr(job, word)):
                if other not in self.inventory.jobs:
                    self._unknown((*path, word, index), "job", other, self.inventory.jobs)
                elif other == job.id:
                    self._note((*path, word, index), f'job "{job.id}" names itself in {word}')
                elif word == "not_with" and other in job.needs:
                    self._note((*path, word, index), f'job "{job.id}" both needs "{other}" and cannot stand with it')
        for index, finish in enumerate(job.finishes):
            self._kind(finish.area, (*path, "finishes", index, "area"))
        if job.state != "done":
            for index, part_id in enumerate(job.fit):
                part = self.inventory.parts.get(part_id)
                if part is not None and part.gone:
                    self._note((*path, "fit", index), f'part "{part_id}" is gone, so it cannot be fitted')

    def _circles(self, table: str, key: str, verb: str, above: Callable[[str], list[str]]) -> None:
        """Name each circle once, at the first entry of the file that lies on it."""
        index = {entry.id: place for place, entry in enumerate(getattr(self.car, table))}
        for circle in circles(index, above):
            first = min(range(len(circle)), key=lambda place: index[circle[place]])
            names = [f'"{name}"' for name in (*circle[first:], *circle[:first])]
            where: Path = (table, index[circle[first]], key)
            if len(names) == 1:
                self._note(where, f"{names[0]} {verb} itself")
            else:
                self._note(where, f"these {table}s go round in a circle: {way_round(names, verb)}")

    def _one_currency(self) -> None:
        first: tuple[str, int] | None = None
        for index, job in enumerate(self.car.job):
            for word in ("cost", "returns"):
                money: Quantity | None = getattr(job, word)
                if money is None:
                    continue
                if first is None:
                    first = (money.unit, self.source.line(("job", index, word)))
                elif money.unit != first[0]:
                    self._note(
                        ("job", index, word),
                        f"money in one file is of one currency: line {first[1]} has {first[0]}",
                    )

    def _weighing(self, weighing: Weighing, path: Path) -> None:
        forms = [form for form in ("corners", "axles", "total") if getattr(weighing, form) is not None]
        if len(forms) != 1:
            where = (*path, forms[1]) if forms else path
            message = f'weighing "{weighing.id}" states corners, axles or total: just one of them'
            self._note(where, message, key=bool(forms))
        for form in forms:
            value = getattr(weighing, form)
            readings = {"": value} if form == "total" else {name: getattr(value, name) for name in value.as_dict()}
            for name, each in readings.items():
                where = (*path, form, name) if name else (*path, form)
                self._readings(each, weighing.scale, where, (*path, "scale"))
        check_fuel_within(weighing.fuel, weighing.fuel_within, path, self._note)
        if weighing.includes is not None:
            self._includes(weighing, (*path, "includes"))
            return
        for job in self.car.job:
            if job.state == "done" and (job.date is None or job.date == weighing.date):
                when = "has no date" if job.date is None else "is of the same day"
                self._note(
                    path,
                    f'it is not said whether weighing "{weighing.id}" saw job "{job.id}", which {when}',
                    "list the jobs that it saw: includes = [..]",
                )

    def _includes(self, weighing: Weighing, path: Path) -> None:
        assert weighing.includes is not None
        for index, name in enumerate(weighing.includes):
            job = self.inventory.jobs.get(name)
            if job is None:
                self._unknown((*path, index), "job", name, self.inventory.jobs)
            elif name in weighing.includes[:index]:
                self._note((*path, index), f'"{name}" is listed twice')
            elif job.state != "done":
                self._note((*path, index), f'weighing "{weighing.id}" includes job "{name}", which is not done')
            elif job.date is not None and job.date > weighing.date:
                self._note(
                    (*path, index),
                    f'weighing "{weighing.id}" includes job "{name}", which was done later, on {job.date}',
                )

    def _build_table(self, index: int, build_id: str, jobs: list[str], undo: list[str]) -> None:
        for word, names in (("jobs", jobs), ("undo", undo)):
            for place, name in enumerate(names):
                where: Path = ("build", index, word, place)
                job = self.inventory.jobs.get(name)
                if job is None:
                    self._unknown(where, "job", name, self.inventory.jobs)
                elif name in names[:place]:
                    self._note(where, f'"{name}" is listed twice')
                elif word == "undo" and job.state != "done":
                    self._note(where, f'build "{build_id}" undoes job "{name}", which is not done')
                elif word == "undo" and name in jobs:
                    self._note(where, f'build "{build_id}" both lists and undoes job "{name}"')

    def _configurations(self) -> None:
        """Every build and every weighing must be a state that the car can be in."""
        told: set[tuple[Path, str]] = set()

        def tell(problem: Problem, where: str) -> None:
            if (problem.path, problem.sentence) not in told:
                told.add((problem.path, problem.sentence))
                self._note(problem.path, f"{problem.sentence} ({where})", problem.hint)

        for name in self.inventory.build_names():
            for problem in self.inventory.build(name).problems:
                tell(problem, f"build {name}")
        for weighing in self.car.weighing:
            for problem in self.inventory.configuration(jobs_seen(weighing, self.car)).problems:
                tell(problem, f"weighing {weighing.id}")
        for part_id in self.inventory.build(NOW).on:
            if self.inventory.parts[part_id].gone:
                self._note(
                    ("part", self.inventory.part_index[part_id], "gone"),
                    f'part "{part_id}" is gone, yet on the car',
                )


def jobs_seen(weighing: Weighing, car: CarFile) -> frozenset[str]:
    """The jobs already done when the car was weighed."""
    if weighing.includes is not None:
        return frozenset(weighing.includes)
    day: datetime.date = weighing.date
    return frozenset(job.id for job in car.job if job.state == "done" and job.date is not None and job.date < day)
