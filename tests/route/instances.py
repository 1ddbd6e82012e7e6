"""Random cars and classes for the tests of the route.

Every car, book and class here is invented.
"""

import random
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction

import support
from tarebook.api import Car, RuleSet
from tarebook.judge.prepared import prepare_class
from tarebook.route.demands import Demands
from tarebook.route.workshop import Workshop
from tarebook.toml_source import MistakesFound

KINDS = (
    "interior.floor.carpet",
    "interior.floor.underlay",
    "interior.headliner",
    "interior.console",
    "interior.audio",
    "interior.door-card",
    "interior.seat.front.passenger",
    "interior.seat.front.driver",
    "interior.seat.rear",
    "stowage.spare-wheel",
    "stowage.jack",
    "exhaust.silencer",
    "electrical.battery",
    "climate.air-conditioning",
    "body.bonnet",
    "safety.extinguisher",
)
WHEELBASE = 2400
PLATE, ADDING = "oracle-plate", "oracle-adding"


@dataclass(frozen=True)
class Instance:
    """A car, a class and what is asked for; `ballast_most` is None where the class has no ballast."""

    car_text: str
    rules_text: str
    demands: Demands
    ballast_most: Fraction | None

    @property
    def car(self) -> Car:
        return support.car(
            self.car_text, displacement="1500 cm3", wheelbase=f"{WHEELBASE} mm", aspiration="natural", fuel="petrol"
        )

    @property
    def car_with_plate(self) -> Car:
        part = (
            f'\n[[part]]\nid = "{PLATE}"\nkind = "ballast"\norigin = "aftermarket"\nat = "1200 mm"\n'
            'place = "interior.floor"\nestimate = { mass = "0 kg", within = "0 kg" }\n'
            f'[[job]]\nid = "{ADDING}"\nstate = "maybe"\nfit = ["{PLATE}"]\n'
        )
        text = self.car_text + part
        return support.car(
            text, displacement="1500 cm3", wheelbase=f"{WHEELBASE} mm", aspiration="natural", fuel="petrol"
        )

    @property
    def rules(self) -> RuleSet:
        return support.rules(self.rules_text)


def workshop_of(given: Instance) -> Workshop:
    """What the route starts from."""
    return Workshop(given.car, prepare_class(given.rules, "club"), (), support.DAY, given.demands)


def sound_instances(first: int, count: int, *, most_jobs: int, unknown: bool = False) -> Iterator[tuple[int, Instance]]:
    """So many instances whose files have no mistake, with their seeds, from a seed on.

    With `unknown`, classes also ask for facts that the car file does not state.
    """
    seed = first
    while count:
        made = instance(seed, most_jobs=most_jobs)
        if unknown:
            made = replace(made, rules_text=made.rules_text + _unknown_rules(random.Random(f"unknown {seed}")))
        with suppress(MistakesFound):
            _ = made.car, made.rules
            count -= 1
            yield seed, made
        seed += 1


def instance(seed: int, *, most_jobs: int = 9) -> Instance:
    """A small car and class, the same for the same seed."""
    return _Maker(random.Random(seed), most_jobs).make()


def _unknown_rules(rng: random.Random) -> str:
    """Rules on facts that no instance states, some of which jobs bring into play or meet whatever the fact."""
    made = ""
    for number in range(rng.randint(1, 3)):
        kind = rng.choice((*KINDS, "interior", "safety"))
        event = rng.choice(("fitted", "removed", "swapped"))
        asked = rng.choice(("noise = { most = 98 }", "open_top = false", "seats = { least = 2 }"))
        when = rng.choice(("", f'if = {{ {event} = "{kind}" }}\n', f'if = {{ not = {{ {event} = "{kind}" }} }}\n'))
        must = asked if rng.random() < 0.6 else f'any = [{{ {asked} }}, {{ {event} = "{kind}" }}]'
        made += f'[[class.require]]\nclause = "20.{number}"\n{when}must = {{ {must} }}\n'
    return made


class _Maker:
    def __init__(self, rng: random.Random, most_jobs: int) -> None:
        self.rng = rng
        self.most_jobs = most_jobs
        self.parts: list[str] = []
        self.jobs: list[dict[str, object]] = []
        self.names: dict[str, str] = {}  # part by kind
        self.masses: dict[str, float] = {}

    def make(self) -> Instance:
        rng = self.rng
        kinds = rng.sample(KINDS, rng.randint(5, 9))
        for kind in kinds:
            self._part(kind)
        for number in range(rng.randint(4, self.most_jobs)):
            self._job(number)
        self._links()
        axles = rng.random() < 0.4
        total = 950.0
        scale = rng.choice((0.02, 0.2, 0.8))
        lines = [self._weighing(total, axles, scale)]
        if rng.random() < 0.5:
            lines.append('[driver]\nmass = ["78.2 kg", "77.9 kg"]\nseat_at = "1300 mm"\n')
        lines.append('[at_inspection]\nfuel = "5 L"\n')
        car = "\n".join([*lines, *self.parts, *(_toml_job(job) for job in self.jobs)])
        rules, most = self._rules(total, axles, "[driver]" in car)
        return Instance(car, rules, self._demands(total, axles), most)

    def _weighing(self, total: float, axles: bool, scale: float) -> str:
        rng = self.rng

        def readings(mean: float) -> str:
            count = rng.choice((1, 1, 2, 4))
            return "[" + ", ".join(f'"{mean + rng.uniform(-scale, scale):.2f} kg"' for _ in range(count)) + "]"

        done = '"before"' if any(job["id"] == "before" for job in self.jobs) else ""
        if axles:
            front = total * rng.uniform(0.5, 0.6)
            form = f"axles = {{ front = {readings(front)}, rear = {readings(total - front)} }}"
        else:
            form = f"total = {readings(total)}"
        fuel = f'fuel = "{rng.choice((5, 20))} L"'
        return f'[[weighing]]\nid = "w"\ndate = 2026-04-01\n{form}\n{fuel}\nincludes = [{done}]\n'

    def _mass(self, mean: float) -> str:
        rng = self.rng
        sort = rng.random()
        if sort < 0.3:
            return f'estimate = {{ mass = "{mean:.1f} kg", within = "{rng.choice((0.1, 0.5, 1.5))} kg" }}'
        if sort < 0.6:
            spread = rng.choice((0.01, 0.3))
            return "mass = [" + ", ".join(f'"{mean + rng.uniform(-spread, spread):.2f} kg"' for _ in range(3)) + "]"
        if sort < 0.62 and rng.random() < 0.3:
            return ""
        return f'mass = "{mean:.1f} kg"'

    def _part(self, kind: str, replaces: str | None = None, mean: float | None = None) -> str:
        rng = self.rng
        name = f"p{len(self.parts)}"
        mean = rng.uniform(1.0, 14.0) if mean is None else mean
        material = rng.choice(("", 'material = "composite"\n', 'material = "steel"\n'))
        swap = "" if replaces is None else f'replaces = "{replaces}"\norigin = "aftermarket"\n'
        owner = (
            rng.choice(list(self.names.values())) if self.names and rng.random() < 0.1 and replaces is None else None
        )
        belongs = "" if owner is None else f'belongs_to = "{owner}"\n'
        self.parts.append(
            f'[[part]]\nid = "{name}"\nkind = "{kind}"\nat = "{rng.randrange(-600, 3200, 50)} mm"\n'
            f"{self._mass(mean)}\n{material}{swap}{belongs}"
        )
        self.masses[name] = mean
        if replaces is None:
            self.names[kind] = name
        return name

    def _job(self, number: int) -> None:
        rng = self.rng
        job: dict[str, object] = {"id": f"j{number}", "state": "maybe"}  # so that jobs of one file may clash
        sort = rng.random()
        parts = list(self.names.values())
        if number == 0 and rng.random() < 0.4:
            job |= {"id": "before", "state": "done", "date": "2026-01-05", "off": [rng.choice(parts)]}
        elif sort < 0.45:
            job["off"] = rng.sample(parts, rng.choice((1, 1, 2)))
        elif sort < 0.65:
            kind, old = rng.choice(list(self.names.items()))
            job["fit"] = [self._part(kind, old, self.masses[old] * rng.uniform(0.3, 0.9))]
        elif sort < 0.75:
            old = rng.choice(parts)
            job["lightens"] = {old: f"{self.masses[old] * rng.uniform(0.4, 0.95):.2f} kg"}
        elif sort < 0.82:
            job["moves"] = {rng.choice(parts): {"at": f"{rng.randrange(0, 3000, 100)} mm"}}
        elif sort < 0.9:
            job["fit"] = [self._part(rng.choice(("safety.cage", "safety.harness", "ballast")), None, 9.0)]
        else:
            job["sets"] = rng.choice(
                ({"displacement": "1800 cm3"}, {"aspiration": "turbo"}, {"displacement": "1200 cm3"})
            )
        if rng.random() < 0.3:
            area = rng.choice(("interior.floor", "interior", "body"))
            job["finishes"] = [{"area": area, "by": rng.choice(("painted", "covered"))}]
        job["cost"] = f"{rng.choice((0, 10, 20, 30, 45, 80, 120))} EUR"
        if rng.random() < 0.3:
            job["returns"] = f"{rng.choice((5, 15, 40))} EUR"
        job["hours"] = rng.choice((0, 1, 1.5, 2, 4))
        self.jobs.append(job)

    def _links(self) -> None:
        rng = self.rng
        for index, job in enumerate(self.jobs):
            others = [other["id"] for other in self.jobs[:index]]
            if others and rng.random() < 0.2 and job["state"] != "done":
                job["needs"] = [rng.choice(others)]
            elif others and rng.random() < 0.15 and job["state"] != "done":
                other = rng.choice(others)
                job["not_with"] = [other]

    def _rules(self, total: float, axles: bool, driver: bool) -> tuple[str, Fraction | None]:
        rng = self.rng
        aboard = driver and rng.random() < 0.4
        weighs = total + (78.0 if aboard else 0.0)
        edge = weighs - rng.uniform(-4.0, 45.0)
        minimum = f'"{edge:.1f} kg"'
        if rng.random() < 0.3:
            low, high = f"{edge - rng.uniform(2, 15):.1f} kg", f"{edge + rng.uniform(2, 15):.1f} kg"
            minimum = (
                f'{{ by = "displacement", over_up_to = [["0 cm3", "1300 cm3", "{low}"], '
                f'["1300 cm3", "1600 cm3", "{edge:.1f} kg"], ["1600 cm3", "{high}"]] }}'
            )
        lines = [f'weight = {{ clause = "7", driver = "{"aboard" if aboard else "out"}", minimum = {minimum}']
        if rng.random() < 0.3:
            lines.append(f', maximum = "{edge + rng.uniform(5, 60):.1f} kg"')
        if rng.random() < (0.5 if "stowage.spare-wheel" in self.names else 0.03):
            lines.append(f', without = ["{rng.choice(("stowage.spare-wheel", "stowage.spare-wheel", "stowage"))}"]')
        if rng.random() < 0.35:
            test = rng.choice(('aspiration = "turbo"', 'fitted = "safety.cage"', 'removed = "interior.seat"'))
            lines.append(f', adjust = [{{ add = "{rng.uniform(-9, 9):.1f} kg", if = {{ {test} }} }}]')
        most: Fraction | None = None
        if rng.random() < 0.6:
            most = Fraction(rng.choice((8, 20, 60)))
            lines.append(f', ballast = {{ allowed = true, most = "{most} kg", clause = "7.5" }}')
        else:
            lines.append(', ballast = { allowed = false, clause = "7.5" }')
        if axles and rng.random() < 0.6:
            least = weighs * rng.uniform(0.44, 0.53)
            lines.append(f', front_axle = {{ least = "{least:.1f} kg", clause = "7.6" }}')
        lines.append(" }\n")
        text = "".join(lines)
        if rng.random() < 0.25 and driver:
            further = total + 78.0 - rng.uniform(-5.0, 40.0)
            text += f'[[class.limit]]\nclause = "7.8"\ndriver = "aboard"\nminimum = "{further:.1f} kg"\n'
            if rng.random() < 0.5:
                text += 'if = { fitted = "safety.cage" }\n'
        if rng.random() < 0.15:
            text += (
                f'[[class.limit]]\nclause = "7.9"\ntaken_off = ["interior"]\nmaximum = "{rng.uniform(5, 25):.1f} kg"\n'
            )
        if rng.random() < 0.85:
            text += '[[class.allow]]\nclause = "8"\nkinds = ["everything"]\ndoes = "anything"\n'
        return text + "".join(self._rule(number) for number in range(rng.randint(2, 6))), most

    def _condition(self) -> str:
        rng = self.rng
        kind = rng.choice((*KINDS, "interior", "interior.floor", "safety.cage", "safety"))
        event = rng.choice(("fitted", "removed", "swapped", "off", "lightened"))
        test = rng.choice((f'{event} = "{kind}"', 'aspiration = "turbo"', "displacement = { up_to = 1600 }"))
        if "up_to" in test:
            test = 'displacement = { up_to = "1600 cm3" }'
        return f"not = {{ {test} }}" if rng.random() < 0.3 else test

    def _rule(self, number: int) -> str:
        rng = self.rng
        clause = f'clause = "8.{number}"\n'
        when = f"if = {{ {self._condition()} }}\n" if rng.random() < 0.5 else ""
        sort = rng.random()
        kinds = toml_list(rng.sample((*self.names, "interior", "stowage", "body", "safety"), rng.choice((1, 2))))
        if sort < 0.03:
            return f"[[class.strip]]\n{clause}{when}kinds = {kinds}\n"
        if sort < 0.14:
            whole = "whole = true\n" if rng.random() < 0.3 else ""
            return f"[[class.need]]\n{clause}{when}kinds = {kinds}\n{whole}"
        if sort < 0.24:
            return f'[[class.ban]]\n{clause}{when}kinds = {kinds}\ndoes = "anything"\n'
        if sort < 0.32:
            when = when or 'if = { removed = "interior.floor" }\n'
            return (
                f'[[class.finish]]\n{clause}id = "f{number}"\narea = "interior.floor.carpet"\n'
                f'by = ["painted", "sealed"]\n{when}'
            )
        duty = ""
        before = ""
        if rng.random() < 0.35:
            by = rng.choice(('["painted"]', '["covered", "painted"]'))
            before = f'[[class.finish]]\nclause = "9.{number}"\nid = "d{number}"\narea = "interior.floor"\nby = {by}\n'
            duty = f'finish = ["d{number}"]\n'
        bound = rng.choice(
            ("", "", "part = { share_of_original = { least = 0.5 } }\n", 'part = { material_not = ["composite"] }\n')
        )
        fixings = "fixings = true\n" if rng.random() < 0.3 else ""
        wide = rng.random() < 0.75
        named = '["everything"]' if wide else kinds
        return f'{before}[[class.allow]]\n{clause}{when}kinds = {named}\ndoes = "anything"\n{bound}{duty}{fixings}'

    def _demands(self, total: float, axles: bool) -> Demands:
        rng = self.rng
        budget = Fraction(rng.choice((10, 40, 90, 200))) if rng.random() < 0.3 else None
        hours = Fraction(rng.choice((2, 5, 9))) if rng.random() < 0.25 else None
        target = Fraction(round(total - rng.uniform(0, 40))) if rng.random() < 0.25 else None
        share: tuple[Fraction | None, Fraction | None] = (None, None)
        if axles and rng.random() < 0.35:
            share = (Fraction(rng.randint(48, 54), 100), Fraction(rng.randint(55, 60), 100))
        names = [str(job["id"]) for job in self.jobs if job["state"] != "done"]
        must = frozenset(rng.sample(names, 1)) if names and rng.random() < 0.15 else frozenset()
        forbid = frozenset(rng.sample(names, 1)) - must if names and rng.random() < 0.15 else frozenset()
        return Demands(
            target=target,
            just_eligible=target is None and rng.random() < 0.25,
            budget=budget,
            hours=hours,
            front_least=share[0],
            front_most=share[1],
            must=must,
            forbid=forbid,
            undo=rng.random() < 0.3,
        )


def toml_list(names: list[str]) -> str:
    return support.toml(names)


def _toml_job(job: dict[str, object]) -> str:
    lines = [f"{key} = {value if key == 'date' else support.toml(value)}" for key, value in job.items()]
    return "[[job]]\n" + "\n".join(lines) + "\n"
