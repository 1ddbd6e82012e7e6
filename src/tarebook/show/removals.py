"""What may come out, for a terminal and as JSON."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.car.configurations import NOW
from tarebook.car.reading import Car
from tarebook.judge.components import inside
from tarebook.judge.wording import listed
from tarebook.quantities import in_unit
from tarebook.route.letting_out import Unlisted
from tarebook.route.removal_rows import Reason, Removal, Substitute
from tarebook.route.taking_off import JobOff, currency_of
from tarebook.rules.reading import RuleSet
from tarebook.show.editions import edition_text
from tarebook.show.text import margin, mass, wrapped

SortKey = Literal["mass", "cost", "cost-per-mass", "name"]
SORT_KEYS: tuple[SortKey, ...] = ("mass", "cost", "cost-per-mass", "name")
HEADS = {
    "may": "May come out now",
    "may-with-duty": "May come out with a duty",
    "undecided": "Not decided yet",
    "put-back": "Already out, but forbidden: put back",
    "must-stay": "Must stay",
}
_UNKNOWN = math.inf  # sorts after all that is known


class ClassRemovals(NamedTuple):
    """The rows of one class of a book; `unlisted` are the kinds that it lets out and the ledger does not list."""

    rules: RuleSet
    class_id: str
    rows: list[Removal]
    unlisted: list[Unlisted]


def sort_removals(rows: Iterable[Removal], by: SortKey | None) -> list[Removal]:
    """By mass, the heaviest first; by cost or by cost per mass, the cheapest first, and last what is not known."""
    return list(rows) if by is None else sorted(rows, key=lambda row: _place(row, by))


def _place(row: Removal, by: SortKey) -> tuple[float, str]:
    if by == "name":
        return 0.0, row.title.casefold()
    known = {"mass": row.mass_kg, "cost": row.cost, "cost-per-mass": row.cost_per_kg}[by]
    return (_UNKNOWN if known is None else -known if by == "mass" else known), row.part


def removal_lines(found: ClassRemovals, build: str, car: Car, sort: SortKey | None = None) -> Iterator[str]:
    """The listing, group by group; a caution that several parts share is printed once, at the end."""
    full = found.rules.class_in_full(found.class_id)
    yield wrapped(f"{car.name}, build {build}, in {found.class_id}: {full.title} ({edition_text(found.rules)})")
    yield from _Listing(found, build, car, sort).lines()
    yield ""
    yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")


class _Listing:
    def __init__(self, found: ClassRemovals, build: str, car: Car, sort: SortKey | None) -> None:
        self.found = found
        self.build = build
        self.car = car
        self.sort = sort
        self.unit = car.units.get("mass") or "kg"
        self.money = currency_of(car.inventory)
        self.cautions: dict[str, int] = {}
        self.limits = list(dict.fromkeys(row.margin_clause for row in found.rows if row.margin_clause))

    def lines(self) -> Iterator[str]:
        if self.found.rows:
            yield wrapped(self._key())
        for group, head in HEADS.items():
            chosen = sort_removals([row for row in self.found.rows if row.group == group], self.sort)
            if chosen:
                yield ""
                if group == "put-back" and self.build != NOW:
                    head = _OUT_IN_BUILD
                yield f"{head} ({self._total(chosen)})"
                for row in chosen:
                    yield from self._row(row)
        yield from self._unlisted()
        if self.cautions:
            yield ""
            yield "Cautions"
            for caution, number in self.cautions.items():
                yield wrapped(caution, f"  ({number}) ")

    def _key(self) -> str:
        told = ["Each part is tried alone. u: standard uncertainty"]
        if any(row.front_kg is not None for row in self.found.rows):
            told.append("front, rear: what that axle then gains or loses")
        if self.limits:
            which = f" (clause {self.limits[0]})" if len(self.limits) == 1 else ""
            told.append(f"margin: what is then left to the nearest limit of the class{which}, below zero if missed")
        return f"{'; '.join(told)}."

    def _total(self, rows: list[Removal]) -> str:
        told = ["1 part" if len(rows) == 1 else f"{len(rows)} parts"]
        on = [row.mass_kg for row in rows if not row.already_off]
        back = [row.net_kg for row in rows if row.already_off]
        comes = " comes back" if rows[0].group == "put-back" else " would come back"
        choice = any(reason.enough for row in rows for reason in row.reasons)  # not all of them need come back
        for masses, before, after in ((on, "", ""), (back, "at most " * choice, comes)):
            known = [each for each in masses if each is not None]
            if known:
                told.append(f"{before}{mass(sum(known), self.unit)}{after}")
        unknown = [*on, *back].count(None)
        if unknown:
            told.append(f"{unknown} never weighed" if unknown < len(rows) else "never weighed")
        return ", ".join(told)

    def _row(self, row: Removal) -> Iterator[str]:
        weighed = self._weighed(row.mass_kg, row.mass_u_kg)
        told = [f"{row.title} [{row.part}]", _zone(row.part, self.car)]
        if row.group == "must-stay":
            told.insert(1, weighed)
        if row.already_off and row.group != "put-back":
            told.append("already off the car")
        yield wrapped(f"{', '.join(filter(None, told))}{self._marks(row)}", "  ", "      ")
        if row.group != "must-stay":
            exchange = row.substitute is not None or row.instead
            yield wrapped("; ".join([weighed, *([] if exchange else self._effects(row))]), "      ", "        ")
        yield from self._reasons(row)
        if row.already_off:
            yield from self._back(row)
        else:
            yield from self._off(row)

    def _weighed(self, kilograms: float | None, u_kg: float | None) -> str:
        if kilograms is None or u_kg is None:
            return "never weighed"
        return f"{mass(kilograms, self.unit, 2)} (u {_uncertainty(u_kg, self.unit)})"

    def _effects(self, row: Removal) -> list[str]:
        told = []
        if row.front_kg is not None and row.rear_kg is not None:
            told.append(f"front {self._signed(row.front_kg)}, rear {self._signed(row.rear_kg)}")
        if row.margin_left_kg is not None:
            clause = f" (clause {row.margin_clause})" if len(self.limits) > 1 else ""
            told.append(f"margin then {margin(row.margin_left_kg, self.unit)}{clause}")
        return told

    def _signed(self, kilograms: float) -> str:
        text = mass(kilograms, self.unit, 2)
        return text if text.startswith("-") else f"+{text}"

    def _marks(self, row: Removal) -> str:
        numbers = sorted(self.cautions.setdefault(each, len(self.cautions) + 1) for each in row.cautions)
        if not numbers:
            return ""
        return f" (caution{'s' if len(numbers) > 1 else ''} {listed(map(str, numbers))})"

    def _reasons(self, row: Removal) -> Iterator[str]:
        if row.group == "may":
            yield from self._let_out(row)
            return
        for reason in row.reasons:
            said = f"clause {reason.clause}: {reason.in_short or reason.sentence} {self._where(reason)}"
            yield wrapped(said, "      ", "        ")
            if reason.one_of:
                number = "one of these is" if reason.enough == 1 else f"{reason.enough} of these are"
                parts = ", ".join(self._part(each) for each in reason.one_of)
                yield wrapped(f"{number} enough: {parts}", "      ", "        ")
        if row.facts_to_find:
            yield wrapped(f"find out: {', '.join(row.facts_to_find)}", "      ", "        ")

    def _let_out(self, row: Removal) -> Iterator[str]:
        for reason in row.reasons:
            if reason.asks:
                yield wrapped(f"clause {reason.clause}: {reason.sentence}", "      ", "        ")
        named = dict.fromkeys(each.clause for each in row.reasons if not each.silence and not each.asks)
        silent = dict.fromkeys(each.clause for each in row.reasons if each.silence)
        if named:
            yield wrapped(f"allowed by clause {listed(named)}", "      ")
        elif silent:
            yield wrapped(f"no clause forbids it (clause {listed(silent)})", "      ")
        elif not row.reasons:
            yield wrapped(_NO_CHANGE, "      ")

    def _where(self, reason: Reason) -> str:
        file, line = self.found.rules.source.where(reason.path)
        return f"[{file}:{line}]"

    def _off(self, row: Removal) -> Iterator[str]:
        """What goes on in its place, and the jobs that take it off."""
        if row.group == "must-stay":
            for job in row.jobs:
                yield wrapped(f"{self._named(row, job)} would take it off", "      ", "        ")
            return
        if row.substitute is not None:
            yield from self._substitute(row, row.substitute)
        for job in row.jobs:
            said = f"{self._named(row, job)}: {self._work(job)}"
            if not job.takes_off:
                said += f"; it does not take off {inside(row.title)}"
            yield wrapped(said, "      ", "        ")

    def _substitute(self, row: Removal, substitute: Substitute) -> Iterator[str]:
        known = "never weighed" if substitute.mass_kg is None else mass(substitute.mass_kg, self.unit, 2)
        kept = f"; kept: {substitute.kept}" if substitute.kept else ""
        said = f"{substitute.title} [{substitute.part}] must be fitted in its place: {known}{kept}"
        yield wrapped(said, "      ", "        ")
        yield self._in_all(row)
        if not row.jobs:
            said = "no job of the car file fits it"
            if substitute.taken_off_by:
                said += f"; job {substitute.taken_off_by} took it off"
            yield wrapped(said, "        ", "          ")

    def _in_all(self, row: Removal) -> str:
        """What an exchange of parts comes to."""
        net = "mass not known, as not all of it was weighed"
        if row.net_kg is not None and row.net_u_kg is not None:
            more = f"{mass(abs(row.net_kg), self.unit, 2)} {'heavier' if row.net_kg > 0 else 'lighter'}"
            net = f"{more if row.net_kg else 'the same mass'} (u {_uncertainty(row.net_u_kg, self.unit)})"
        return wrapped("; ".join([f"in all {net}", *self._effects(row)]), "        ", "          ")

    def _back(self, row: Removal) -> Iterator[str]:
        """Where a part that must be put back is, what comes off for it, and the jobs to do or to leave undone."""
        if row.instead:
            parts = listed(self._part(each) for each in row.instead)
            yield wrapped(f"{parts} must come off for it", "      ", "        ")
            yield self._in_all(row)
        if row.gone:
            yield "      it is gone: another is needed"
        elif row.kept:
            yield wrapped(f"kept: {row.kept}", "      ", "        ")
        for job in row.jobs:
            if job.state != "done":
                yield wrapped(f"leave out job {job.id} ({job.state}), which takes it off", "      ", "        ")
                return
            more = len(job.others)
            others = f", with {listed(job.others) if more <= _FEW else f'{more} other parts'}" if more else ""
            yield wrapped(f"job {job.id} took it off{others}", "      ", "        ")
        for job in row.put_back_jobs:
            yield wrapped(f"{self._named(row, job)} puts it back: {self._work(job)}", "      ", "        ")
        for hindrance in row.hindrances:
            yield wrapped(f"not to be put back in this build: {hindrance}", "      ", "        ")
        if not row.put_back_by and not row.gone:
            yield "      no job of the car file puts it back"

    def _part(self, part_id: str) -> str:
        return f"{self.car.inventory.parts[part_id].title or part_id} [{part_id}]"

    def _named(self, row: Removal, job: JobOff) -> str:
        undone = job.state == "done" and not row.already_off
        return f"job {job.id} ({'done, but undone in this build' if undone else job.state})"

    def _work(self, job: JobOff) -> str:
        """Cost and hours of a job, what is done first, and what else it takes off or fits."""
        told = self._money(job)
        if job.hours:
            told.append(f"{job.hours:g} h")
        if job.first:
            told.append(f"with {listed(job.first)} first")
        text = ", ".join(told)
        if job.others:
            text += f"; also off: {', '.join(job.others)}"
        if job.fitted:
            text += f"; also on: {', '.join(job.fitted)}"
        return text

    def _money(self, job: JobOff) -> list[str]:
        if job.unpriced == (*job.first, job.id):
            return ["no cost stated"]
        told = ["costs nothing"]
        if job.cost:
            told = [f"{'brings in' if job.cost < 0 else 'costs'} {self._amount(job.cost)}"]
            if job.cost_per_kg is not None:
                per = Fraction(job.cost_per_kg) / in_unit(Fraction(1), self.unit, "mass")
                told.append(f"{self._amount(float(per))} for each {self.unit}")
        if job.unpriced:
            told.append(f"no cost stated for {listed(job.unpriced)}")
        return told

    def _amount(self, money: float) -> str:
        """An amount without its sign; the words about it tell whether it goes or comes."""
        return f"{f'{abs(money):.2f}'.removesuffix('.00')} {self.money}".rstrip()

    def _unlisted(self) -> Iterator[str]:
        if not self.found.unlisted:
            return
        named = [each for each in self.found.unlisted if not (each.by_silence or each.by_everything)]
        yield ""
        yield wrapped("Also on the car, as far as the tree of kinds knows, but not listed in the car file")
        for each in named:
            row = each.removal
            yield wrapped(f"{row.title} [{row.kind}]{self._marks(row)}", "  ", "      ")
            yield f"      {_UNLISTED[row.group]}; {self._range(each)}"
            yield from self._reasons(row)
            yield from self._off(row)
        alike = Counter(_why_alike(each) for each in self.found.unlisted if each.by_silence or each.by_everything)
        for why, number in alike.items():
            kinds, them = ("kind", "it") if number == 1 else ("kinds", "them")
            said = f"{number} {'more ' if named else ''}{kinds} {why}: --json lists {them}."
            yield wrapped(said, "  ", "      ")

    def _range(self, each: Unlisted) -> str:
        if each.range_kg is None:
            return "no mass known"
        low, high = (mass(kilograms, self.unit) for kilograms in each.range_kg)
        return f"perhaps {low} to {high} (from memory)"


_NO_CHANGE = "it was added: no clause is asked about taking it off again"
_UNLISTED = {"may": "may come out", "may-with-duty": "may come out with a duty", "undecided": "not decided yet"}
_FEW = 3  # names of parts, where more would only repeat a long list
_OUT_IN_BUILD = "Out in this build, but forbidden: put back"


def _why_alike(each: Unlisted) -> str:
    """What lets a kind out that nothing names: of such kinds only the number is told."""
    row = each.removal
    clauses = f"clause {listed(row.decided_by)}"
    if each.by_silence:
        return f"that no clause speaks of, and that {clauses} therefore lets out"
    if row.group == "undecided":
        return f"that {clauses} perhaps lets out with everything else, which hangs on {listed(row.facts_to_find)}"
    duty = ", each with a duty" if row.group == "may-with-duty" else ""
    return f"that {clauses} lets out with everything else{duty}"


def _uncertainty(kilograms: float, unit: str) -> str:
    """With two significant digits, at most six decimals."""
    value = float(in_unit(Fraction(kilograms), unit, "mass"))
    decimals = min(6, max(0, 1 - math.floor(math.log10(value)))) if value > 0 else 0
    return mass(kilograms, unit, decimals)


def _zone(part_id: str, car: Car) -> str:
    at = car.inventory.parts[part_id].at
    if at is None:
        return ""
    for zone in car.file.zone:
        if zone.from_.value <= at.value < zone.to.value:
            return zone.title or zone.id
    return ""
