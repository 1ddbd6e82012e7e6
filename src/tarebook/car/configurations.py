"""Configurations: which parts are on the car once a set of jobs has been done, and in what state."""

import datetime
import heapq
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from tarebook.car.models import CarFile, FinishDone, Job, MassForm, Move, Part
from tarebook.toml_source import Source

NOW, PLANNED = "now", "planned"


class Problem(NamedTuple):
    """What makes a set of jobs impossible: said at `path` of the car file."""

    path: tuple[str | int, ...]
    sentence: str
    hint: str = ""


@dataclass(slots=True)
class Configuration:
    """The car after some jobs: parts on, parts lightened or moved, facts set, finishes done."""

    name: str
    jobs: tuple[str, ...]
    on: frozenset[str]
    lightened: dict[str, tuple[str, MassForm]] = field(default_factory=dict)  # by which job, to what
    moved: dict[str, Move] = field(default_factory=dict)
    sets: dict[str, Any] = field(default_factory=dict)
    finishes: list[FinishDone] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    masses: dict[object, Any] = field(default_factory=dict)  # kept by the weight ledger, once worked out


class Inventory:
    """A car file made ready for asking: parts and jobs by name, jobs in the order in which they act.

    Attributes:
        outset: parts on the car before any job.
        originals: those, and the parts that they had replaced before the ledger began.
    """

    def __init__(self, car: CarFile, source: Source | None = None) -> None:
        self.car = car
        self.source = source
        self.parts: dict[str, Part] = {part.id: part for part in car.part}
        self.jobs: dict[str, Job] = {job.id: job for job in car.job}
        self.part_index = {part.id: index for index, part in enumerate(car.part)}
        self.job_index = {job.id: index for index, job in enumerate(car.job)}
        self._builds: dict[str, Configuration] = {}
        self.order: tuple[str, ...] = _in_order(car.job)
        self.outset: frozenset[str] = self._outset()
        self.originals: frozenset[str] = self.outset | self._replaced_before()

    def _outset(self) -> frozenset[str]:
        fitted_first: set[str] = set()
        named: set[str] = set()
        for job_id in self.order:
            job = self.jobs[job_id]
            replaced = {self.parts[fit].replaces for fit in job.fit if fit in self.parts}
            fitted_first.update(fit for fit in job.fit if fit not in named)
            named.update(job.off, job.fit, (name for name in replaced if name))
        there = [part for part in self.car.part if part.id not in fitted_first]
        replaced_already = {part.replaces for part in there}
        return frozenset(part.id for part in there if part.id not in replaced_already)

    def _replaced_before(self) -> set[str]:
        found: set[str] = set()
        for part_id in self.outset:
            below = self.parts[part_id].replaces
            while below in self.parts and below not in found and below not in self.outset:
                found.add(below)
                below = self.parts[below].replaces
        return found

    @cached_property
    def done(self) -> frozenset[str]:
        return frozenset(job.id for job in self.car.job if job.state == "done")

    def build_names(self) -> tuple[str, ...]:
        return (NOW, PLANNED, *(build.id for build in self.car.build))

    def build_jobs(self, name: str) -> frozenset[str]:
        """The jobs of a build. Raises KeyError for a name that the car file does not have."""
        if name == NOW:
            return self.done
        if name == PLANNED:
            return self.done | {job.id for job in self.car.job if job.state == "planned"}
        for build in self.car.build:
            if build.id == name:
                return (self.done | set(build.jobs)) - set(build.undo)
        raise KeyError(name)

    def build(self, name: str) -> Configuration:
        """The car in one of its builds. Raises KeyError for a name that the car file does not have."""
        if name not in self._builds:
            self._builds[name] = self.configuration(self.build_jobs(name), name)
        return self._builds[name]

    def configuration(self, jobs: Iterable[str], name: str = "") -> Configuration:
        """The car after these jobs, done in their order; what does not fit together is in `problems`."""
        chosen = set(jobs)
        ordered = tuple(job for job in self.order if job in chosen)
        on = set(self.outset)
        made = Configuration(name, ordered, self.outset)
        for job_id in ordered:
            self._apply(self.jobs[job_id], chosen, on, made)
        made.on = frozenset(on)
        for part_id in [part for part in made.lightened if part not in on]:
            del made.lightened[part_id]
        for part_id in [part for part in made.moved if part not in on]:
            del made.moved[part_id]
        return made

    def replaced_kinds(self, configuration: Configuration) -> frozenset[str]:
        """Kinds without a part of their own that parts on the car have taken the place of."""
        found = (self._replaced_kind(part_id, configuration.on) for part_id in configuration.on)
        return frozenset(kind for kind in found if kind is not None)

    def _replaced_kind(self, part_id: str, on: frozenset[str]) -> str | None:
        below = self.parts[part_id].replaces
        seen = {part_id}
        while below in self.parts and below not in seen:
            if below in on:
                return None
            seen.add(below)
            below = self.parts[below].replaces
        return None if below in self.parts else below

    def _apply(self, job: Job, chosen: set[str], on: set[str], made: Configuration) -> None:
        at = ("job", self.job_index[job.id])
        for index, needed in enumerate(job.needs):
            if needed not in chosen and needed in self.jobs:
                made.problems.append(
                    Problem(
                        (*at, "needs", index),
                        f'job "{job.id}" needs job "{needed}", which is not in the build',
                    )
                )
        for index, other in enumerate(job.not_with):
            if other in chosen:
                made.problems.append(
                    Problem((*at, "not_with", index), f'job "{job.id}" cannot stand in one build with "{other}"')
                )
        for index, part_id in enumerate(job.off):
            if part_id not in on and part_id in self.parts:
                made.problems.append(
                    Problem((*at, "off", index), f'job "{job.id}" takes off "{part_id}", which is not on the car')
                )
            on.discard(part_id)
        for index, part_id in enumerate(job.fit):
            if part_id not in self.parts:
                continue
            if part_id in on:
                made.problems.append(
                    Problem((*at, "fit", index), f'job "{job.id}" fits "{part_id}", which is on the car already')
                )
            on.add(part_id)
            replaced = self.parts[part_id].replaces
            if replaced is not None:
                on.discard(replaced)
        for part_id, move in job.moves.items():
            made.moved[part_id] = _moved_on(made.moved.get(part_id), move)
        for part_id, form in job.lightens.items():
            made.lightened[part_id] = (job.id, form)
        made.sets.update(job.sets)
        made.finishes.extend(job.finishes)


def _moved_on(before: Move | None, move: Move) -> Move:
    if before is None:
        return move
    return Move(
        at=move.at if move.at is not None else before.at,
        right=move.right if move.right is not None else before.right,
        place=move.place if move.place is not None else before.place,
    )


def _in_order(jobs: list[Job]) -> tuple[str, ...]:
    """By date, undated ones last; then by `needs`; then as the file has them."""
    dated = sorted(range(len(jobs)), key=lambda index: (jobs[index].date or datetime.date.max, index))
    ordered: list[str] = []
    start = 0
    while start < len(dated):
        day = jobs[dated[start]].date
        end = start
        while end < len(dated) and jobs[dated[end]].date == day:
            end += 1
        ordered.extend(_by_needs([jobs[index] for index in dated[start:end]]))
        start = end
    return tuple(ordered)


def _by_needs(jobs: list[Job]) -> list[str]:
    """What others need first; beside that, as the file has them. Jobs on a circle, which are refused, come last."""
    place = {job.id: index for index, job in enumerate(jobs)}
    lacking = [sum(need in place and need != job.id for need in set(job.needs)) for job in jobs]
    needed_by: dict[str, list[int]] = {}
    for index, job in enumerate(jobs):
        for need in set(job.needs):
            needed_by.setdefault(need, []).append(index)
    ready = [index for index, count in enumerate(lacking) if not count]  # a heap: already in order
    ordered: list[str] = []
    while ready:
        index = heapq.heappop(ready)
        ordered.append(jobs[index].id)
        for other in needed_by.get(jobs[index].id, ()):
            lacking[other] -= 1
            if not lacking[other]:
                heapq.heappush(ready, other)
    left = set(place) - set(ordered)
    return [*ordered, *(job.id for job in jobs if job.id in left)]
