"""Masses as sums over what the jobs touch: a constant, and for each flow what the end that is reached brings."""

import copy
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.configurations import Configuration
from tarebook.judge.limits import mass_taken_off
from tarebook.kinds import covers
from tarebook.route.flows import Flow, flow_of
from tarebook.route.touching import Touching
from tarebook.route.workshop import Workshop
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured, total
from tarebook.weight.terms import Axle, Weighed

ZERO = Measured(Fraction(0), {})
MOST_TANGLED = 8  # jobs on parts that replace one another: all their combinations are tried


class TooTangled(Exception):
    """More jobs touch parts that hang together than can be tried in all combinations."""


class Fate(NamedTuple):
    """What became of a part: on or off; by which job lightened; which jobs moved it; which set the facts watched."""

    on: bool
    lightened: str | None = None
    moved: tuple[str, ...] = ()
    facts: tuple[str | None, ...] = ()


class Event(NamedTuple):
    """What one job does to a part, or to the facts watched."""

    job: str
    on: bool | None
    lightens: bool
    moves: bool
    facts: tuple[bool, ...]

    def after(self, fate: Fate) -> Fate:
        return Fate(
            fate.on if self.on is None else self.on,
            self.job if self.lightens else fate.lightened,
            (*fate.moved, self.job) if self.moves else fate.moved,
            tuple(self.job if sets else was for sets, was in zip(self.facts, fate.facts, strict=True)),
        )


@dataclass(slots=True, eq=False)
class Block:
    """What the ends of one flow bring to a quantity. `lacking` says of an end why that is unknown."""

    flow: Flow[Fate] | Flow[frozenset[str]]
    brings: dict[int, Measured]
    lacking: dict[int, str] = field(default_factory=dict)


@dataclass(slots=True, eq=False)
class Amount:
    """A mass in kg as a sum; `lacking` says why it is unknown whatever is chosen."""

    constant: Measured
    blocks: list[Block]
    lacking: str | None = None

    def at(self, chosen: frozenset[str]) -> Measured:
        """The mass after a choice of jobs; only where nothing is lacking."""
        return total((self.constant, *(block.brings[block.flow.end(chosen)] for block in self.blocks)))

    @property
    def first(self) -> Fraction:
        """The mass where every flow ends at its first end: the others count from there, see `Program.in_grains`."""
        firsts = (next(iter(block.brings.values())).value for block in self.blocks)
        return self.constant.value + sum(firsts, Fraction(0))

    def saved_by(self, jobs: frozenset[str], done: frozenset[str]) -> Fraction | None:
        """What the mass falls by when more jobs are done; None where that is unknown."""
        saved = Fraction(0)
        for block in self.blocks:
            if not jobs.isdisjoint(block.flow.jobs):
                before, after = block.flow.end(done), block.flow.end(done | jobs)
                if before in block.lacking or after in block.lacking:
                    return None
                saved += block.brings[before].value - block.brings[after].value
        return saved

    def lacks(self, chosen: frozenset[str]) -> bool:
        """Whether the mass is unknown after a choice of jobs."""
        return self.lacking is not None or any(block.flow.end(chosen) in block.lacking for block in self.blocks)

    def span(self) -> tuple[Fraction, Fraction]:
        """Between which values it lies, whatever is chosen."""
        low = high = self.constant.value
        for block in self.blocks:
            values = [each.value for each in block.brings.values()]
            low += min(values)
            high += max(values)
        return low, high


class Amounts:
    """Makes amounts; flows that are alike are one."""

    def __init__(self, workshop: Workshop, touching: Touching) -> None:
        self._workshop = workshop
        self._touching = touching
        self._inventory = workshop.inventory
        self.ledger: Ledger = workshop.before.ledger
        self._flows: dict[object, Flow[Fate]] = {}
        self._cluster_flows: dict[tuple[str, ...], Flow[frozenset[str]]] = {}
        self._made: dict[object, Amount] = {}

    def weighed(self, weighed: Weighed, without: Sequence[str], axle: Axle | None, *, with_axles: bool) -> Amount:
        """What is on the scale, or on one axle; `with_axles`: from the newest weighing that has the axles apart."""
        key = (weighed, tuple(without), axle, with_axles)
        if key not in self._made:
            self._made[key] = self._make(weighed, without, axle, with_axles)
        return self._made[key]

    def _make(self, weighed: Weighed, without: Sequence[str], axle: Axle | None, with_axles: bool) -> Amount:
        ledger = self.ledger
        weighing = ledger.newest_with_axles if with_axles else ledger.newest
        if weighing is None:
            return Amount(ZERO, [], "no weighing has the axles apart" if with_axles else "the car was never weighed")
        groups = ledger.weighed_groups(weighing)
        base = total(group.mass for group in groups if axle is None or group.name.startswith(axle))
        watched = ("wheelbase",) if axle is not None and self._touching.setting(("wheelbase",)) else ()
        seen = ledger.seen(weighing)

        def others(configuration: Configuration) -> Measured | str:
            terms = ledger.terms(configuration, weighed, weighing=weighing, axle=axle)
            wheelbase = ledger.wheelbase(configuration)
            found: list[Measured] = []
            for term in terms.differing:
                if term.what in ("part", "kind"):
                    continue
                if term.missing is not None or term.mass is None:
                    return term.missing.sentence if term.missing is not None else "its mass is unknown"
                carried = _carried(term.mass, term.at, axle, wheelbase)
                if isinstance(carried, str):
                    return carried.format(term.name)
                found.append(carried)
            return total(found)

        def part(part_id: str) -> Callable[[Configuration], Measured | str]:
            out = any(covers(kind, self._inventory.parts[part_id].kind) for kind in without)
            return lambda configuration: self._part(part_id, seen, configuration, axle, out=out)

        made = Amount(base, [])
        self._add(made, self._flow(None, ("fuel", "tank_capacity", *watched)), others)
        for part_id in self._inventory.parts:
            self._add(made, self._flow(part_id, watched), part(part_id))
        return made

    def ballast_on(self) -> Amount:
        """The parts of the kind `ballast` that are on, but for what the route adds."""
        made = Amount(ZERO, [])
        for part_id, part in self._inventory.parts.items():
            if covers("ballast", part.kind):

                def brings(configuration: Configuration, part_id: str = part_id) -> Measured | str:
                    if part_id not in configuration.on:
                        return ZERO
                    mass = self.ledger.part_mass(part_id, configuration.lightened.get(part_id))
                    return f'part "{part_id}" was never weighed' if mass is None else mass

                self._add(made, self._flow(part_id, ()), brings)
        return made

    def taken_off(self, kinds: tuple[str, ...]) -> Amount:
        """What came off of these kinds. Raises TooTangled."""
        made = Amount(ZERO, [])
        for cluster in self._touching.clusters:
            flow = self._cluster_flow(cluster)
            parts = frozenset(cluster)

            def brings(configuration: Configuration, parts: frozenset[str] = parts) -> Measured | str:
                situation = copy.copy(self._workshop.situation(configuration.jobs))
                situation.changes = [change for change in situation.changes if change.part in parts]
                answer = mass_taken_off(kinds, situation)
                return answer.mass if answer.mass is not None else answer.missing[0].sentence

            self._add(made, flow, brings)
        return made

    def _add(
        self,
        made: Amount,
        flow: Flow[Fate] | Flow[frozenset[str]],
        brings: Callable[[Configuration], Measured | str],
    ) -> None:
        """Add what something brings: to the constant if no job changes it, else to the block of its flow."""
        found: dict[int, Measured] = {}
        lacking: dict[int, str] = {}
        rest = self._workshop.resting - set(flow.jobs)
        for node, way in flow.ways.items():
            brought = brings(self._workshop.configuration(rest | way))
            found[node] = ZERO if isinstance(brought, str) else brought
            if isinstance(brought, str):
                lacking[node] = brought
        if len(lacking) == len(found):
            made.lacking = next(iter(lacking.values()))
        first = next(iter(found.values()))
        if not lacking and all(each.value == first.value and each.shares == first.shares for each in found.values()):
            made.constant = total((made.constant, first))
            return
        block = next((each for each in made.blocks if each.flow is flow), None)
        if block is None:
            made.blocks.append(Block(flow, found, lacking))
        else:
            block.brings = {node: total((mass, found[node])) for node, mass in block.brings.items()}
            block.lacking = {**lacking, **block.lacking}

    def _part(
        self, part_id: str, seen: Configuration, asked: Configuration, axle: Axle | None, *, out: bool
    ) -> Measured | str:
        """What a part brings beyond what was weighed: see `Ledger.terms`."""
        ledger = self.ledger
        was, there = part_id in seen.on, part_id in asked.on and not out
        before, after = seen.lightened.get(part_id), asked.lightened.get(part_id)
        places = ledger.place(part_id, seen), ledger.place(part_id, asked)
        same = was and there and (before and before[0]) == (after and after[0])
        if same and (axle is None or places[0].at == places[1].at):
            return ZERO
        wheelbase = ledger.wheelbase(asked)
        found: list[Measured] = []
        for on, form, place, sign in ((was, before, places[0], -1), (there, after, places[1], 1)):
            if not on:
                continue
            mass = ledger.part_mass(part_id, form)
            if mass is None:
                return f'part "{part_id}" was never weighed'
            carried = _carried(mass.times(sign), place.at, axle, wheelbase)
            if isinstance(carried, str):
                return carried.format(part_id)
            found.append(carried)
        return total(found)

    def _cluster_flow(self, cluster: tuple[str, ...]) -> Flow[frozenset[str]]:
        if cluster not in self._cluster_flows:
            wanted = self._touching.of_cluster(cluster)
            jobs = [job for job in self._workshop.free if job in wanted]
            if len(jobs) > MOST_TANGLED:
                raise TooTangled
            nothing: frozenset[str] = frozenset()
            self._cluster_flows[cluster] = flow_of(
                jobs, nothing, lambda state, job, done: state | {job} if done else state
            )
        return self._cluster_flows[cluster]

    def _flow(self, part_id: str | None, facts: tuple[str, ...]) -> Flow[Fate]:
        """The flow of a part, or of nothing but the facts watched."""
        start, events = self._fate(part_id, facts)
        key = (start, tuple(events))
        if key not in self._flows:
            free = set(self._workshop.free)
            by_job = {event.job: event for event in events}
            jobs = [event.job for event in events if event.job in free]
            following: dict[str, list[Event]] = {}
            last = ""
            for event in events:
                if event.job in free:
                    last = event.job
                else:
                    following.setdefault(last, []).append(event)

            def step(fate: Fate, job: str, done: bool) -> Fate:
                return _all(following.get(job, ()), by_job[job].after(fate) if done else fate)

            self._flows[key] = flow_of(jobs, _all(following.get("", ()), start), step)
        return self._flows[key]

    def _fate(self, part_id: str | None, facts: tuple[str, ...]) -> tuple[Fate, list[Event]]:
        inventory = self._inventory
        possible = self._workshop.stay | set(self._workshop.free)
        events: list[Event] = []
        for job_id in inventory.order:
            job = inventory.jobs[job_id]
            on: bool | None = False if part_id in job.off else None
            for fit in job.fit:
                if fit == part_id:
                    on = True
                elif part_id is not None and inventory.parts[fit].replaces == part_id:
                    on = False
            lightens, moves = part_id in job.lightens, part_id in job.moves
            sets = tuple(fact in job.sets for fact in facts)
            if job_id in possible and (on is not None or lightens or moves or any(sets)):
                events.append(Event(job_id, on, lightens, moves, sets))
        return Fate(part_id in inventory.outset, facts=(None,) * len(facts)), events


def _all(events: Iterable[Event], fate: Fate) -> Fate:
    for event in events:
        fate = event.after(fate)
    return fate


def _carried(mass: Measured, at: Fraction | None, axle: Axle | None, wheelbase: Fraction | None) -> Measured | str:
    """What of a mass the axle carries; all of it where no axle is asked for; a str says why that is unknown."""
    if axle is None:
        return mass
    if wheelbase is None:
        return "the wheelbase is not stated"
    if at is None:
        return "it is not said where {} sits"
    rear = at / wheelbase
    return mass.times(rear if axle == "rear" else 1 - rear)
