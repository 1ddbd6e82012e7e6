"""Random car files and rule sets, small but nasty, for comparing two implementations.

Everything is invented. A case is drawn, mended where that is easy (limits are laid near the mass of the car),
and thrown away if it is not a valid file, if the specification leaves open what it means, or if it would take
too long to try. The same seed always gives the same case.
"""

import datetime
import itertools
import json
import random
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

import tomli

from oracle.naive import (
    Answer,
    Asked,
    Judge,
    Mass,
    Mistake,
    TooMany,
    Unspecified,
    Values,
    after,
    clause_covers,
    covers,
    jobs_in_order,
    related,
)
from tarebook.car.models import CarFile
from tarebook.file_checks import check_units
from tarebook.kinds import builtin
from tarebook.rules.models import RulesFile
from tarebook.tables import Table, read_file
from tarebook.toml_source import parse_source

T = TypeVar("T", bound=Table)

ON = datetime.date(2027, 5, 8)
MOST_COMPLETIONS = 1500  # of one class in one build: a few cases may have more
RARELY_AS_MANY_AS = 5_000


@dataclass(frozen=True)
class Case:
    """Two files, and what to ask of them."""

    car_toml: str
    rules_toml: str
    classes: tuple[str, ...]
    builds: tuple[str, ...]
    on: datetime.date


def _replaced_kinds_have_no_part(car_toml: str) -> bool:
    """A part may replace a kind only where the ledger lists no other part of it: the reader refuses the rest."""
    parts = tomli.loads(car_toml).get("part", [])
    kinds = [part["kind"] for part in parts]
    return not any(
        part.get("replaces") in [kind for kind, other in zip(kinds, parts, strict=True) if other is not part]
        for part in parts
    )


def _book_stands_alone(found: Case) -> bool:
    """A rule set may not name a kind that only the car declares."""
    own = {kind["id"] for kind in tomli.loads(found.car_toml).get("kind", [])}
    declared = {kind["id"] for kind in tomli.loads(found.rules_toml).get("kind", [])}
    return not any(json.dumps(kind) in found.rules_toml for kind in own - declared)


def case(seed: int) -> Case:
    """The case of that number."""
    for attempt in itertools.count():
        found = _Draft(random.Random(f"{seed}/{attempt}")).case()
        if found is not None and _replaced_kinds_have_no_part(found.car_toml) and _book_stands_alone(found):
            return found
    raise AssertionError


def read_car(text: str) -> CarFile:
    return _read(CarFile, text)


def read_rules(text: str) -> RulesFile:
    return _read(RulesFile, text)


def _read(table: type[T], text: str) -> T:
    """The tables of a file as written; what their names refer to is not checked."""
    source = parse_source(text.encode(), "case")
    units, mistakes = check_units(source)
    found, more = read_file(table, source, units)
    assert found is not None, [str(mistake) for mistake in (*mistakes, *more)]
    return found


# --- TOML


def toml(value: Any) -> str:
    """One value, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml(one) for one in value) + "]"
    if isinstance(value, dict):
        inside = ", ".join(f"{_key(key)} = {toml(one)}" for key, one in value.items())
        return "{ " + inside + " }" if inside else "{}"
    assert isinstance(value, int | Decimal), value
    return str(value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)


def document(data: dict[str, Any]) -> str:
    """A whole file: plain keys first, then a table or a list of tables for each of the others."""
    lines = [f"{key} = {toml(one)}" for key, one in data.items() if not isinstance(one, dict | list)]
    for key, value in data.items():
        tables = [value] if isinstance(value, dict) else value if isinstance(value, list) else []
        for table in tables:
            lines += ["", f"[{key}]" if isinstance(value, dict) else f"[[{key}]]"]
            lines += [f"{_key(name)} = {toml(one)}" for name, one in table.items()]
    return "\n".join(lines) + "\n"


# --- What cases are made of


AREAS: dict[str, list[str]] = {
    "interior.seat.rear": ["base", "back", "belts", "head-restraints", "latches"],
    "interior.seat.front": ["driver", "passenger", "runners", "belts", "heating"],
    "interior.floor": ["carpet", "underlay", "boot-carpet", "boot-board", "foot-plate"],
    "interior.audio": ["head-unit", "speakers", "amplifier"],
    "interior.trim": ["pillars", "sills", "boot-lid", "ashtray"],
    "interior.dash": ["clock", "tray"],  # own kinds under a thing
    "climate.air-conditioning": ["compressor", "condenser", "pipes"],
    "stowage": ["spare-wheel", "jack", "loose", "tools"],
    "body.bumper": ["front", "rear", "front-beam"],
    "body.aero": ["front-lip", "splitter", "rear-spoiler"],
    "wheels": ["rim", "cover", "spacer"],
    "electrical": ["battery", "cruise-control", "camera"],
    "body.roof": ["sunroof", "rails", "skin"],
}
ADDITIONS = ("safety.cage", "safety.harness", "safety.extinguisher", "body.strut-brace", "interior.extra-gauges")
OWN_KINDS = {"interior.dash.clock": "always", "interior.dash.tray": "sometimes"}
MATERIALS = ("steel", "composite", "magnesium", "aluminium")
MARKS = ("mark-a", "mark-b")
PLACES = ("interior.floor", "interior.floor.carpet", "body.shell", "interior.seat.rear")
FINISHES = ("painted", "covered", "sealed", "capped", "welded")
ACTIONS = ("remove", "swap", "fit", "lighten", "move")

QUANTITIES: dict[str, tuple[str, list[int], list[int]]] = {  # unit, values, thresholds
    "displacement": ("cm3", [998, 1242, 1598, 1781], [1000, 1300, 1400, 1600, 1800]),
    "power": ("kW", [55, 68, 85, 103], [60, 75, 90, 100]),
    "tyre_width": ("mm", [175, 185, 205], [180, 185, 195, 205]),
    "track_front": ("mm", [1400, 1432], [1390, 1420]),
    "track_rear": ("mm", [1395, 1428], [1390, 1420]),
    "kerb_mass": ("kg", [870, 905, 940], [860, 900, 950]),
    "success_mass": ("kg", [5, 15, 40], [10, 20]),
    "own_mass": ("kg", [3, 12], [5, 10]),
}
NUMBERS = {"noise": ([91, 96, 99], [90, 95, 98]), "own_index": ([3, 7], [2, 5, 8])}
COUNTS = {"seats": ([2, 4, 5], [2, 4]), "doors": ([2, 3, 5], [3, 4]), "cylinders": ([3, 4, 6], [4, 5])}
CHOICES = {
    "aspiration": ["natural", "turbo", "supercharged", "twin-charged"],
    "driven_wheels": ["front", "rear", "all"],
    "gearbox": ["manual", "sequential", "automatic"],
    "own_grade": ["a", "b", "c"],
}
YES_NO = ("abs", "road_registered", "power_steering", "own_yes")
DATES = ("first_registered", "harness_valid_until")
TEXTS = {"model": ["Heron 1.6", "Heron S", "Plover"], "engine_code": ["H16", "H20"]}
OWN_FACTS: dict[str, dict[str, Any]] = {
    "own_mass": {"type": "mass"},
    "own_index": {"type": "number"},
    "own_grade": {"type": "choice", "choices": ["a", "b", "c"]},
    "own_yes": {"type": "yes-no"},
}
ALL_FACTS = (*QUANTITIES, *NUMBERS, *COUNTS, *CHOICES, *YES_NO, *DATES, *TEXTS)


class _Typical(dict[Any, Any]):
    """A completion that has some value for every unknown: what a limit is laid near."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__()
        self.rng = rng

    def __contains__(self, name: object) -> bool:
        return True

    def __missing__(self, name: tuple[str, ...]) -> Any:
        self[name] = self._draw(name)
        return self[name]

    def _draw(self, name: tuple[str, ...]) -> Any:
        what = name[1]
        if name[0] == "kind" or what in YES_NO:
            return self.rng.random() < 0.5
        for pool in (QUANTITIES, NUMBERS, COUNTS):
            if what in pool:
                return Fraction(self.rng.choice(pool[what][-2])) / (1000 if what == "displacement" else 1)
        if what in CHOICES or what in TEXTS:
            return self.rng.choice({**CHOICES, **TEXTS}[what])
        if what in DATES:
            return datetime.date(2010, 3, 4)
        return {"years": [2000], "approval": [], "material": "steel", "place": "body.shell"}.get(
            name[-1], Fraction(900)
        )


@dataclass
class _Draft:
    """One attempt at a case."""

    rng: random.Random
    car: dict[str, Any] = field(default_factory=dict)
    rules: dict[str, Any] = field(default_factory=dict)

    # --- Drawing lots

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def pick(self, among: Sequence[Any]) -> Any:
        return self.rng.choice(list(among))

    def some(self, among: Sequence[Any], least: int, most: int) -> list[Any]:
        among = list(among)
        return self.rng.sample(among, min(len(among), self.rng.randint(least, most)))

    # --- The whole

    def case(self) -> Case | None:
        self.areas = self.some(AREAS, 2, 4)
        self.in_play = self.some(ALL_FACTS, 3, 5)
        if self.chance(0.4):
            self.in_play += ["displacement", "aspiration", "displacement"]
        self.unknown = set(self.some(self.in_play, 0, self.pick([0, 0, 1, 1, 2, 3])))
        try:
            self.draw_car()
            self.car_file = read_car(document(self.car))
            self.draw_rules()
        except (Mistake, Unspecified, TooMany, Asked):
            return None
        car_toml, rules_toml = document(self.car), document(self.rules)
        return self.worth_asking(car_toml, rules_toml)

    def worth_asking(self, car_toml: str, rules_toml: str) -> Case | None:
        """The case with those classes and builds that have an answer, unless the answers are dull."""
        car, rules = read_car(car_toml), read_rules(rules_toml)
        classes, builds = [one.id for one in rules.class_], self.builds
        answers: dict[tuple[str, str], Answer] = {}
        most = RARELY_AS_MANY_AS if self.chance(0.05) else MOST_COMPLETIONS
        for class_id, build in itertools.product(classes, builds):
            try:
                judge = Judge(car, rules, class_id, build, ON)
                judge.most_completions = most
                answers[class_id, build] = judge.answer()
            except (Unspecified, TooMany):
                continue
        good = [build for build in builds if any((one, build) in answers for one in classes)]
        kept = [one for one in classes if good and all((one, build) in answers for build in good)]
        if not kept:
            best = max(builds, key=lambda build: sum((one, build) in answers for one in classes))
            good, kept = [best], [one for one in classes if (one, best) in answers]
        if not kept or self.dull([answers[one, build] for one in kept for build in good]):
            return None
        return Case(car_toml, rules_toml, tuple(kept), tuple(good), ON)

    def dull(self, answers: list[Answer]) -> bool:
        """Whether to throw a case away because too many of its answers are of the commonest sorts."""
        bad = sum(answer.verdict == "not-eligible" for answer in answers) / len(answers)
        lost = sum(answer.verdict == "undecided" and not answer.facts_to_find for answer in answers) / len(answers)
        return self.chance(0.55 * bad + 0.75 * lost)

    # --- The car

    def draw_car(self) -> None:
        self.kinds = [*self.areas]
        for area in self.areas:
            self.kinds += [f"{area}.{below}" for below in AREAS[area]]
        self.car = {"format": "tarebook-car/1", "car": {"name": "Case"}, "facts": {}}
        if self.chance(0.7):
            self.car["car"]["model_year"] = self.pick([1996, 2000, 2004])
        self.own_kinds = [kind for kind in OWN_KINDS if "interior.dash" in self.areas and kind in self.kinds]
        self.own_kinds_in_car = self.chance(0.5)
        if self.own_kinds and self.own_kinds_in_car:
            self.car["kind"] = self.own_kind_tables()
        self.draw_scales()
        self.draw_presence()
        self.draw_facts()
        self.draw_parts()
        self.draw_newcomers()
        self.draw_jobs()
        self.draw_weighings()
        self.draw_builds()

    def own_kind_tables(self) -> list[dict[str, Any]]:
        return [{"id": kind, "title": "Own", "from_factory": OWN_KINDS[kind]} for kind in self.own_kinds]

    def factory_label(self, kind: str) -> str:
        return OWN_KINDS[kind] if kind in OWN_KINDS else builtin().get(kind).factory

    def draw_scales(self) -> None:
        self.scales = [{"id": "pads", "resolution": self.pick(["0.5 kg", "1 kg", "0.2 kg"])}]
        self.scales.append({"id": "bench", "resolution": self.pick(["1 g", "10 g"])})
        if self.chance(0.4):
            read = self.pick(["499 kg", "500.5 kg", "500 kg"])
            self.scales[0]["check"] = {"known": "500 kg", "read": read, "u": self.pick(["0.1 kg", "0.4 kg"])}
        if self.chance(0.3):
            self.scales[1]["check"] = {"known": "5.000 kg", "read": "5.050 kg", "u": "20 g"}
        self.car["scale"] = self.scales

    def draw_presence(self) -> None:
        present, absent = [], []
        for kind in self.kinds:
            if self.factory_label(kind) == "sometimes" and self.chance(0.55):
                (present if self.chance(0.6) else absent).append(kind)
            elif self.factory_label(kind) == "always" and self.chance(0.05):
                absent.append(kind)
        self.car["car"] |= {"present": present, "absent": absent}

    def draw_fact(self, fact: str) -> Any:
        if fact in QUANTITIES:
            unit, values, _ = QUANTITIES[fact]
            return f"{self.pick(values)} {unit}" if self.chance(0.9) or unit == "cm3" else self.pick(values)
        for pool in (NUMBERS, COUNTS):
            if fact in pool:
                return self.pick(pool[fact][0])
        if fact in YES_NO:
            return self.chance(0.5)
        if fact in DATES:
            return datetime.date(self.pick([1996, 2001, 2002, 2017, 2028]), 5, self.pick([7, 8, 9]))
        return self.pick({**CHOICES, **TEXTS}[fact])

    def draw_facts(self) -> None:
        for fact in self.in_play:
            if fact not in self.unknown:
                self.car["facts"][fact] = self.draw_fact(fact)
        if self.chance(0.9):
            self.car["facts"]["wheelbase"] = "2440 mm"
        if self.chance(0.96):
            self.car["facts"]["fuel"] = self.pick([*["petrol", "diesel"] * 10, "ethanol"])
        if self.chance(0.88):
            self.car["facts"]["tank_capacity"] = "45 L"
        if self.chance(0.2):
            self.car["tank"] = {"density": "745 kg/m3"}
        if self.chance(0.7):
            self.car.setdefault("tank", {})["at"] = "2500 mm"
        if self.chance(0.96):
            self.car["driver"] = {"seat_at": "1300 mm"} if self.chance(0.95) else {}
            if self.chance(0.95):
                self.car["driver"] |= self.draw_mass(78, "pads")
        if self.chance(0.2):
            self.car["co_driver"] = {"seat_at": "1300 mm", "mass": "70 kg"} if self.chance(0.9) else {}
        if self.chance(0.96):
            self.car["at_inspection"] = {"fuel": self.pick(["5 L", "empty", "full", "full", "10 L"])}

    def draw_mass(self, about: float, scale: str) -> dict[str, Any]:
        """A mass in one of the forms of a part: readings, on a scale or not, or an estimate."""
        if self.chance(0.15):
            return {"estimate": {"mass": f"{about:.1f} kg", "within": f"{about / 10:.2f} kg"}}
        spread = 0.3 if scale == "pads" else 0.02
        readings = [f"{about + self.rng.uniform(-spread, spread):.2f} kg" for _ in range(self.pick([1, 1, 2, 3]))]
        found: dict[str, Any] = {"mass": readings[0] if len(readings) == 1 else readings}
        if self.chance(0.6):
            found["scale"] = scale
        return found

    def part(self, kind: str, origin: str, about: float | None = None) -> dict[str, Any]:
        """A part with a new id; its particulars are stated now and then."""
        about = self.rng.uniform(1, 12) if about is None else about
        found: dict[str, Any] = {"id": f"p{len(self.parts) + 1}", "kind": kind, "origin": origin}
        if self.chance(0.06):
            pass
        elif self.chance(0.1):
            found |= {"count": 3, self.pick(["mass_each", "mass_together"]): f"{about / 2:.2f} kg"}
            if self.chance(0.5):
                found["scale"] = "bench"
        else:
            found |= self.draw_mass(about, "bench")
        if self.chance(0.75):
            found["at"] = f"{self.pick([-300, 600, 1500, 2300, 2900])} mm"
        if self.chance(0.6):
            found["material"] = self.pick(MATERIALS)
        if self.chance(0.6):
            found["thickness"] = self.pick(["2 mm", "4 mm"])
        if self.chance(0.6):
            found["years"] = self.pick([[1996], [2000], [1999, 2000], [2004]])
        if self.chance(0.6):
            found["approval"] = self.pick([["mark-a"], ["mark-a", "mark-b"], ["mark-c"]])
        if self.chance(0.5):
            found["place"] = self.pick(PLACES)
        self.parts[found["id"]] = found
        return found

    def draw_parts(self) -> None:
        """What the factory gave, as far as the ledger lists it."""
        self.parts: dict[str, dict[str, Any]] = {}
        for area in self.areas:
            below = [f"{area}.{one}" for one in AREAS[area]]
            given = [kind for kind in below if self.factory_label(kind) != "never" or self.chance(0.03)]
            if self.chance(0.45) and area not in ("stowage", "wheels", "electrical"):
                self.part(area, "factory", self.rng.uniform(6, 20))
                chosen = self.some(given, 0, 2)
            else:
                chosen = self.some(given, 1, 3)
            for kind in chosen:
                self.part(kind, "factory")
        if self.chance(0.2):
            self.part("electrical.battery", "factory")
        for one in self.parts.values():
            if self.chance(0.3):
                owners = [other["id"] for other in self.parts.values() if "belongs_to" not in other]
                owner = self.pick([*owners, None])
                if owner not in (None, one["id"]) and not self.owns(one["id"]):
                    one["belongs_to"] = owner

    def owns(self, part: str) -> bool:
        return any(other.get("belongs_to") == part for other in self.parts.values())

    def draw_newcomers(self) -> None:
        """Aftermarket parts: some there from the outset, the others for jobs to fit."""
        factory = list(self.parts)
        self.outset_newcomers: list[str] = []
        self.waiting: list[str] = []
        for _ in range(self.pick([0, 1, 2, 2, 3, 4])):
            one = self.draw_newcomer(factory)
            taken = [self.parts[other].get("replaces") for other in self.outset_newcomers]
            fresh = one.get("replaces") not in (*self.waiting, *taken, *self.outset_newcomers) or "replaces" not in one
            if self.chance(0.25) and one["origin"] == "aftermarket" and fresh:
                self.outset_newcomers.append(one["id"])
            else:
                self.waiting.append(one["id"])

    def draw_newcomer(self, factory: list[str]) -> dict[str, Any]:
        origin = "aftermarket" if self.chance(0.93) else "factory"
        how = self.pick(
            ["same", "same", "under", "under", "above", "other", "kind", "kind", "kind", "chain", "chain", "add", "add"]
        )
        listed = {one["kind"] for one in self.parts.values()}
        branches = [part for part in factory if self.parts[part]["kind"] in self.areas]
        if how == "chain" and self.waiting + self.outset_newcomers:
            old = self.pick(self.waiting + self.outset_newcomers)
            one = self.part(self.pick([self.parts[old]["kind"], self.pick(self.kinds)]), origin)
            return one | self.replacing(one, old)
        if how == "under" and branches:
            old = self.pick(branches)
            kind = self.parts[old]["kind"]
            one = self.part(f"{kind}.{self.pick(AREAS[kind])}", origin)
            return one | self.replacing(one, old)
        if how in ("same", "above", "other") and factory:
            old = self.pick(factory)
            kind = self.parts[old]["kind"]
            above = kind.rpartition(".")[0]
            if how == "above" and above in self.kinds:
                kind = above
            elif how == "other":
                kind = self.pick([one for one in (*self.kinds, *ADDITIONS) if not related(one, kind)])
            one = self.part(kind, origin, self.rng.uniform(1, 9))
            return one | self.replacing(one, old)
        free = [kind for kind in self.kinds if kind not in listed and self.factory_label(kind) != "never"]
        if how == "kind" and free:
            groupings = [kind for kind in free if kind in self.areas]
            kind = self.pick(groupings) if groupings and self.chance(0.5) else self.pick(free)
            below = [other for other in self.kinds if covers(kind, other)]
            one = self.part(self.pick([kind, self.pick(below), self.pick(self.kinds)]), origin)
            if one["kind"] != kind or kind not in listed:
                return one | self.replacing(one, kind)
        ballast = self.chance(0.35)
        perhaps = [kind for kind in self.kinds if self.factory_label(kind) == "sometimes"]
        other = self.pick(perhaps) if perhaps and self.chance(0.6) else self.pick(self.kinds)
        kind = "ballast" if ballast else self.pick([*ADDITIONS[:3], other, other])
        one = self.part(kind, "aftermarket")
        if ballast and self.chance(0.4):
            for key in ("mass", "estimate", "mass_together"):
                one.pop(key, None)
            one |= {"count": 4, "mass_each": "1.250 kg", "scale": "bench"}
        if self.owned_additions() and self.chance(0.3):
            one["belongs_to"] = self.pick(self.owned_additions())
        return one

    def owned_additions(self) -> list[str]:
        return [part for part in self.waiting if not {"replaces", "belongs_to"} & set(self.parts[part])]

    def replacing(self, one: dict[str, Any], old: str) -> dict[str, Any]:
        one["replaces"] = old
        return one

    # --- Work on the car

    def draw_jobs(self) -> None:
        """Each job is drawn on the car as the jobs before it leave it; the third state is on top of the second."""
        replaced = {self.parts[part].get("replaces") for part in self.outset_newcomers}
        self.on = {part for part in self.parts if part not in self.waiting} - replaced
        self.named = set()  # by a job so far
        self.fitted_once: set[str] = set()
        self.back_again = [part for part in replaced if part in self.parts]
        self.jobs: list[dict[str, Any]] = []
        day = datetime.date(2026, 3, 1)
        for state, count in (
            ("done", self.pick([0, 1, 2, 3])),
            ("planned", self.pick([0, 1, 2])),
            ("maybe", self.pick([0, 0, 1])),
        ):
            for _ in range(count):
                job: dict[str, Any] = {"id": f"j{len(self.jobs) + 1}", "state": state}
                if state == "done":
                    day += datetime.timedelta(days=self.pick([0, 10, 30]))
                    job["date"] = day
                for _ in range(self.pick([1, 1, 2, 3])):
                    self.draw_work(job)
                earlier = [one["id"] for one in self.jobs]
                if earlier and self.chance(0.15):
                    job["needs"] = [self.pick(earlier)]
                if state == "maybe" and self.chance(0.2):
                    self.jobs.append({"id": f"j{len(self.jobs) + 1}", "state": "maybe", "not_with": [job["id"]]})
                    job["id"] = f"j{len(self.jobs) + 1}"
                    self.jobs[-1]["not_with"] = [job["id"]]
                self.jobs.append(job)
        if len(self.jobs) > 1 and self.chance(0.15) and self.jobs[-1]["id"] not in str(self.jobs[-2].get("needs")):
            self.jobs[-2:] = reversed(self.jobs[-2:])
        self.car["part"] = list(self.parts.values())
        self.car["job"] = self.jobs

    def draw_work(self, job: dict[str, Any]) -> None:
        how = self.pick(["off", "off", "fit", "fit", "fit", "back", "lighten", "move", "sets", "finish"])
        changed = {*job.get("off", []), *job.get("fit", []), *job.get("lightens", {}), *job.get("moves", {})}
        changed |= {self.parts[part].get("replaces") for part in job.get("fit", [])}
        free = sorted(self.on - changed)
        if how == "off" and free:
            part = self.pick(free)
            together = [part] + [one for one in free if self.parts[one].get("belongs_to") == part]
            for one in together if self.chance(0.7) else [part]:
                job.setdefault("off", []).append(one)
                self.on.discard(one)
                self.named.add(one)
        elif how == "fit":
            self.draw_fitting(job, changed)
        elif how == "back":
            self.draw_putting_back(job, changed)
        elif how == "lighten":
            weighed = [part for part in free if isinstance(self.parts[part].get("mass"), str)]
            if weighed:
                part = self.pick(weighed)
                now = float(self.parts[part]["mass"].split()[0]) * self.rng.uniform(0.4, 0.9)
                mass = self.draw_mass(now, "bench")
                job.setdefault("lightens", {})[part] = mass["mass"] if set(mass) == {"mass"} else mass
        elif how == "move":
            movable = [part for part in free if "at" in self.parts[part]]
            if movable:
                to: dict[str, Any] = {"at": f"{self.pick([700, 1600, 2400])} mm"}
                if self.chance(0.3):
                    to["place"] = self.pick(PLACES)
                job.setdefault("moves", {})[self.pick(movable)] = to
        elif how == "sets":
            facts = [fact for fact in self.in_play if fact not in job.get("sets", {})]
            if facts:
                fact = self.pick(facts)
                job.setdefault("sets", {})[fact] = self.draw_fact(fact)
        elif how == "finish":
            area = self.pick([*self.kinds, "interior", "everything"])
            job.setdefault("finishes", []).append(
                {"area": area if area in builtin() else "interior", "by": self.pick(FINISHES)}
            )

    def draw_fitting(self, job: dict[str, Any], changed: set[Any]) -> None:
        ready = []
        for part in self.waiting:
            old = self.parts[part].get("replaces")
            # A part that no job has fitted yet would be there from the outset if it is replaced first.
            if (
                part not in self.fitted_once
                and old not in changed
                and (old not in self.waiting or old in self.fitted_once)
            ):
                ready.append(part)
        if ready:
            part = self.pick(ready)
            job.setdefault("fit", []).append(part)
            self.fitted_once.add(part)
            self.named.add(part)
            self.on.add(part)
            self.on.discard(self.parts[part].get("replaces"))

    def draw_putting_back(self, job: dict[str, Any], changed: set[Any]) -> None:
        off = [part for part in (*self.back_again, *self.named) if part not in self.on and part not in changed]
        if not off:
            return
        part = self.pick(sorted(off))
        newer = [other for other in sorted(self.on) if self.parts[other].get("replaces") == part]
        if any(other in changed for other in newer):
            return
        for other in newer:
            job.setdefault("off", []).append(other)
            self.on.discard(other)
            self.named.add(other)
        job.setdefault("fit", []).append(part)
        self.on.add(part)
        self.named.add(part)

    def draw_weighings(self) -> None:
        done = [job for job in self.jobs if job["state"] == "done"]
        self.car["weighing"] = []
        for number in range(self.pick([0, *[1] * 14, *[2] * 8])):
            day = datetime.date(2026, 2, 20) + datetime.timedelta(days=5 + self.pick([0, 20, 45, 90]) + number)
            while any(job["date"] == day for job in done):
                day += datetime.timedelta(days=1)
            one: dict[str, Any] = {"id": f"w{number + 1}", "date": day}
            about = self.rng.uniform(860, 940)
            form = self.pick(["total", "axles", "corners"])
            if form == "total":
                one["total"] = self.draw_readings(about)
            elif form == "axles":
                one["axles"] = {"front": self.draw_readings(about * 0.6), "rear": self.draw_readings(about * 0.4)}
            else:
                names = ["front_left", "front_right", "rear_left", "rear_right"]
                one["corners"] = {
                    name: self.draw_readings(about * share)
                    for name, share in zip(names, [0.31, 0.29, 0.21, 0.19], strict=True)
                }
            if self.chance(0.7):
                one["scale"] = "pads"
            if self.chance(0.96):
                one["fuel"] = self.pick(["5 L", "22 L", "full", "full", "empty"])
            one["driver_aboard"] = self.chance(0.25)
            if self.chance(0.1) and "co_driver" in self.car:
                one["co_driver_aboard"] = True
            if self.chance(0.25):
                before = [job["id"] for job in done if job["date"] <= day]
                one["includes"] = before if self.chance(0.6) else before[: len(before) // 2]
            self.car["weighing"].append(one)
        days = [one["date"] for one in self.car["weighing"]]
        if len(set(days)) < len(days):
            raise Mistake("two weighings of one day")

    def draw_readings(self, about: float) -> Any:
        readings = [f"{about + self.rng.uniform(-0.8, 0.8):.1f} kg" for _ in range(self.pick([1, 1, 2, 4]))]
        return readings[0] if len(readings) == 1 else readings

    def draw_builds(self) -> None:
        self.builds = ["now", "planned"]
        if self.chance(0.5):
            later = [job["id"] for job in self.jobs if job["state"] != "done"]
            done = [job["id"] for job in self.jobs if job["state"] == "done"]
            build = {"id": "winter", "jobs": self.some(later, 0, 3), "undo": self.some(done, 0, 1)}
            self.car["build"] = [build]
            self.builds.append("winter")
        self.check_car()

    def check_car(self) -> None:
        """Raises Mistake where the file is not valid; a named build that is not valid is left out."""
        car = read_car(document(self.car))
        order = [job.id for job in jobs_in_order(car)]
        if order != self.order_by_depth():
            raise Mistake("two ways to put the jobs in order")
        for one in car.weighing:
            if one.includes is not None:
                after(car, [job for job in jobs_in_order(car) if job.id in one.includes])
        nothing = read_rules(document(self.plain_rules()))
        self.judges: dict[str, Judge] = {}
        for build in list(self.builds):
            try:
                judge = Judge(car, nothing, "c", build, ON)
                judge.violated({})
                for one in car.weighing:
                    judge.jobs_seen(one)
                self.check_state(judge)
            except Mistake:
                if build != "winter":
                    raise
                self.builds.remove(build)
                del self.car["build"]
            else:
                self.judges[build] = judge

    def plain_rules(self) -> dict[str, Any]:
        """A book with one class that asks nothing."""
        book = {"id": "book", "title": "Invented", "edition": "2027", "silence": self.draw_silence()}
        book["in_force"] = {"from": datetime.date(2027, 1, 1), "until": datetime.date(2027, 12, 31)}
        rules = {"format": "tarebook-rules/1", "book": book, "class": [{"id": "c", "title": "Class"}]}
        if self.own_kinds and not self.own_kinds_in_car:
            rules["kind"] = self.own_kind_tables()
        return rules

    def order_by_depth(self) -> list[str]:
        """The order of jobs if what a job needs is put right before it: another way to read the rule."""
        placed: list[str] = []
        by_day = sorted(self.jobs, key=lambda job: job.get("date", datetime.date.max))

        def place(job: dict[str, Any]) -> None:
            for other in by_day:
                same_day = other.get("date") == job.get("date")
                if other["id"] in job.get("needs", []) and same_day and other["id"] not in placed:
                    place(other)
            if job["id"] not in placed:
                placed.append(job["id"])

        for job in by_day:
            place(job)
        return placed

    def check_state(self, judge: Judge) -> None:
        """Work on a part that is not on, or that changes nothing, would be odd rather than nasty."""
        for job in judge.jobs:
            for part in (*job.lightens, *job.moves):
                if part not in judge.state.on and part not in judge.outset:
                    raise Mistake("work on a part that is not on")
            for part in job.moves:
                if not judge.moved(part):
                    raise Mistake("a move to where the part was")

    # --- Rules

    def draw_rules(self) -> None:
        self.rules = self.plain_rules() | {"fact": []}
        for fact, table in OWN_FACTS.items():
            if fact in self.in_play:
                self.rules["fact"].append({"id": fact, "title": "Own", **table})
                if self.chance(0.3):
                    self.rules["fact"][-1]["default"] = self.draw_fact(fact)
        self.changes = [change for judge in self.judges.values() for change in judge.changes]
        self.judge = self.pick(list(self.judges.values()))
        self.clause_numbers: dict[str, int] = {}
        groups = [self.draw_group(number) for number in range(self.pick([0, 1, 1, 2]))]
        classes: list[dict[str, Any]] = []
        for number in range(self.pick([1, 2, 2, 3])):
            classes.append(self.draw_class(number, classes, groups))
        self.rules |= {"group": groups, "class": classes}
        self.soften(groups, classes)
        self.draw_despites(groups, classes)
        for one in classes:
            self.draw_weight(one, classes)

    def draw_silence(self) -> Any:
        if self.chance(0.25):
            return {action: self.pick(["forbids", "permits"]) for action in ACTIONS}
        return self.pick(["forbids", "forbids", "permits"])

    def clause(self, chapter: str) -> str:
        """The next clause of a chapter; now and then one under the last."""
        number = self.clause_numbers.get(chapter, 0)
        if number and self.chance(0.2):
            self.clause_numbers[f"{chapter}.{number}"] = self.clause_numbers.get(f"{chapter}.{number}", 0) + 1
            return f"{chapter}.{number}.{self.clause_numbers[f'{chapter}.{number}']}"
        self.clause_numbers[chapter] = number + 1 if number != 1 or self.chance(0.7) else 10
        return f"{chapter}.{self.clause_numbers[chapter]}"

    def draw_group(self, number: int) -> dict[str, Any]:
        chapter = self.pick(["2", "8"]) + ("" if number == 0 else "0")
        group: dict[str, Any] = {"id": f"g{number + 1}"}
        if self.chance(0.3):
            group["everywhere"] = True
        if self.chance(0.3):
            group["prevails"] = True
        self.draw_forms(group, chapter, self.pick([1, 2, 3]))
        return group

    def draw_class(self, number: int, classes: list[Any], groups: list[Any]) -> dict[str, Any]:
        one: dict[str, Any] = {"id": f"c{number + 1}", "title": "Class", "clause": str(4 + number)}
        if classes and self.chance(0.6):
            one["like"] = self.pick(classes)["id"]
        free = [group["id"] for group in groups if "everywhere" not in group]
        if free and self.chance(0.6):
            one["uses"] = self.some(free, 1, 2)
        if self.chance(0.2):
            one["silence"] = self.draw_silence()
        self.draw_forms(one, str(4 + number), self.pick([1, 2, 3, 4]))
        # A class of its own has an allowance for most of what was done.
        if "like" not in one or self.chance(0.2):
            for change in dict.fromkeys(self.changes):
                if self.chance(0.85):
                    self.carry(one, str(4 + number), change)
        borrowed = self.borrowed_clauses(one, classes, groups)
        if borrowed and self.chance(0.35):
            one["drops"] = [self.pick(borrowed)]
        return one

    def borrowed_clauses(self, one: dict[str, Any], classes: list[Any], groups: list[Any]) -> list[str]:
        """Clauses that the class could drop: a finish must stay, as allowances refer to it."""
        sources = [group for group in groups if group["id"] in one.get("uses", [])]
        sources += [other for other in classes if other["id"] == one.get("like")]
        forms = ("allow", "ban", "need", "strip", "enter", "require", "counts", "limit")
        found = [entry["clause"] for source in sources for form in forms for entry in source.get(form, [])]
        kept = [entry["clause"] for source in (*classes, *groups) for entry in source.get("finish", [])]
        kept += [
            entry["clause"]
            for group in groups
            if "everywhere" in group
            for form in forms
            for entry in group.get(form, [])
        ]
        return [clause for clause in found if not any(clause_covers(clause, other) for other in kept)]

    def add(self, where: dict[str, Any], form: str, chapter: str, entry: dict[str, Any]) -> None:
        where.setdefault(form, []).append({"clause": self.clause(chapter), **entry})

    def draw_forms(self, where: dict[str, Any], chapter: str, count: int) -> None:
        if self.chance(0.4):
            self.add(where, "finish", chapter, self.draw_duty())
        forms = ["allow", "allow", "ban", "ban", "need", "need", "strip", "enter", "require", "pair", "pair", "ask"]
        for _ in range(count):
            form = self.pick(forms)
            if form == "allow":
                self.add(where, form, chapter, self.draw_allow(where))
            elif form == "ban":
                self.add(where, form, chapter, self.draw_ban())
            elif form == "need":
                self.add(where, form, chapter, self.draw_need())
            elif form == "strip":
                self.add(where, form, chapter, self.draw_strip())
            elif form in ("enter", "require"):
                entry = {"must": self.mostly(True)}
                if self.chance(0.3):
                    entry["if"] = self.condition()
                self.add(where, form, chapter, entry)
            elif form == "ask":
                self.add(where, form, chapter, {"says": "Is it tidy?", "if": self.condition()})
            else:
                self.draw_pair(where, chapter)
        for fact in ("displacement", "power"):
            if fact in self.in_play and self.chance(0.6):
                entry = {"fact": fact, "times": self.pick([Decimal("1.7"), 2, Decimal("1.4")])}
                if self.chance(0.8):
                    entry["if"] = {"aspiration": "turbo"} if "aspiration" in self.in_play else self.condition()
                self.add(where, "counts", chapter, entry)

    def draw_pair(self, where: dict[str, Any], chapter: str) -> None:
        """Two rules that ask about the same unknown from both sides."""
        condition = self.fact_condition(self.pick(sorted(self.unknown) or self.in_play))
        change = self.pick(self.changes) if self.changes else None
        for asked in (condition, {"not": condition}):
            form = self.pick(["allow", "ban", "require"])
            if form == "require" or change is None:
                self.add(where, "require", chapter, {"if": asked, "must": self.mostly(True)})
            elif form == "allow":
                self.add(where, "allow", chapter, {**self.allowance_for(change), "if": asked})
            else:
                entry = {**self.draw_ban(), "if": asked}
                entry.pop("part", None)
                self.add(where, "ban", chapter, entry)

    def draw_duty(self) -> dict[str, Any]:
        self.duties = [*getattr(self, "duties", []), f"f{len(getattr(self, 'duties', [])) + 1}"]
        done = [finish for job in self.jobs for finish in job.get("finishes", [])]
        duty = {
            "id": self.duties[-1],
            "area": self.pick([kind for kind in self.kinds if kind in builtin()]),
            "by": self.some(FINISHES, 1, 3),
        }
        if done and self.chance(0.6):
            finish = self.pick(done)
            duty |= {
                "area": finish["area"] if finish["area"] in builtin() else "interior.floor",
                "by": [finish["by"], "sealed"],
            }
            duty["by"] = list(dict.fromkeys(duty["by"]))
            below = [kind for kind in self.kinds if covers(duty["area"], kind) and kind in builtin()]
            if below and self.chance(0.5):
                duty["area"] = self.pick(below)
        if self.chance(0.25):
            duty["if"] = self.condition()
        return duty

    def kind_near(self, kind: str) -> str:
        """A kind that has to do with one: itself, above it, under it, or everything."""
        above = [kind.rsplit(".", n)[0] for n in range(1, kind.count(".") + 1)]
        below = [other for other in self.kinds if covers(kind, other)]
        return str(self.pick([kind, kind, kind, *above, self.pick([*below, kind]), self.pick(["everything", kind])]))

    def carry(self, where: dict[str, Any], chapter: str, change: Any) -> None:
        """Something that allows a change: by its own kind, or in a roundabout way."""
        owner = self.parts.get(self.parts.get(change.subject or "", {}).get("belongs_to", ""))
        if owner and self.chance(0.7):
            entry = {"kinds": [owner["kind"]], "does": [change.action], "fixings": True}
            self.add(where, self.pick(["allow"] * 5 + ["ban"]), chapter, entry)
        elif change.action == "fit" and self.chance(0.35):
            need: dict[str, Any] = {"kinds": [change.kind]}
            if self.chance(0.4):
                need["part"] = self.draw_bound(self.pick(["weighs", "origin", "material_not", "thickness", "at"]))
            if self.chance(0.6):
                need["if"] = self.pick([self.condition(), {"fitted": change.kind}])
            self.add(where, "need", chapter, need)
        elif change.action == "remove" and self.chance(0.25):
            condition = self.pick([self.mostly(True), {"removed": change.kind}, {"not": {"fitted": change.kind}}])
            self.add(where, "strip", chapter, {"kinds": [change.kind], "if": condition})
        else:
            self.add(where, "allow", chapter, self.allowance_for(change))
        below = [kind for kind in sorted(change.things) if kind != change.kind]
        if below and self.chance(0.5):
            # Only the thing under it is in question.
            entry = self.allowance_for(change) | {"kinds": [self.pick(below)], "if": self.mostly(False)}
            self.add(where, self.pick(["ban", "ban", "allow"]), chapter, entry)
            if where.get("ban"):
                where["ban"][-1].pop("only", None)

    def allowance_for(self, change: Any) -> dict[str, Any]:
        kind = self.pick([change.kind, change.kind, self.kind_near(change.kind)])
        does = list(dict.fromkeys([change.action, self.pick(ACTIONS)]))
        entry: dict[str, Any] = {"kinds": [kind], "does": "anything" if self.chance(0.2) else does}
        if self.chance(0.35):
            entry["part"] = self.draw_bounds(change)
            if self.chance(0.3):
                entry["only"] = True
        return entry

    def draw_allow(self, where: dict[str, Any]) -> dict[str, Any]:
        entry = self.draw_change()
        if self.chance(0.25) and ("if" in entry or "part" in entry):
            entry["only"] = True
        if self.chance(0.1):
            entry["ask"] = "Is it alike?"
        if where.get("finish") and self.chance(0.5):
            entry["finish"] = [self.pick(where["finish"])["id"]]
        return entry

    def draw_ban(self) -> dict[str, Any]:
        entry = self.draw_change()
        # Mostly of something that was not done, or under a condition: else few cars would be eligible.
        if "if" not in entry and self.chance(0.6):
            entry["if"] = self.mostly(False)
        return entry

    def draw_change(self) -> dict[str, Any]:
        if self.changes and self.chance(0.85):
            change = self.pick(self.changes)
            entry = {"kinds": [self.kind_near(change.kind)], "does": [change.action]}
            if self.chance(0.3):
                entry["kinds"].append(self.pick(self.kinds))
            if self.chance(0.3):
                entry["does"] = "anything"
        else:
            change = None
            entry = {"kinds": self.some(self.kinds, 1, 2), "does": self.some(ACTIONS, 1, 3)}
        entry["kinds"] = list(dict.fromkeys(entry["kinds"]))
        if self.chance(0.35):
            entry["if"] = self.condition()
        if self.chance(0.5):
            entry["part"] = self.draw_bounds(change)
        if self.chance(0.25):
            entry["fixings"] = True
        return entry

    def draw_bounds(self, change: Any) -> dict[str, Any]:
        """One or two bounds, that the part of the change may well keep."""
        found: dict[str, Any] = {}
        names = ["weighs", "origin", "material", "material_not", "thickness", "years", "approval", "at", "place"]
        names += ["behind", "within", "as-original", "share_of_original", "share_removed", "weight_removed"]
        for name in self.some(names, 1, 2):
            compares = name in ("as-original", "share_of_original", "share_removed", "weight_removed")
            if compares and (change is None or change.action not in ("swap", "lighten", "remove")):
                continue
            found |= self.draw_bound(name)
        return found or {"origin": self.pick(["factory", "aftermarket"])}

    def draw_bound(self, name: str) -> dict[str, Any]:
        bounds: dict[str, Callable[[], Any]] = {
            "weighs": lambda: {self.pick(["least", "most", "under"]): f"{self.pick([2, 5, 8])} kg"},
            "origin": lambda: self.pick(["factory", "aftermarket"]),
            "material": lambda: self.some(MATERIALS, 1, 2),
            "material_not": lambda: self.some(MATERIALS, 1, 2),
            "thickness": lambda: {self.pick(["least", "over", "most"]): self.pick(["2 mm", "3 mm", "4 mm"])},
            "years": lambda: "model_year",
            "approval": lambda: self.pick(MARKS) if self.chance(0.5) else [self.pick(MARKS)],
            "at": lambda: {self.pick(["least", "under", "over"]): f"{self.pick([0, 600, 1700, 2350])} mm"},
            "place": lambda: self.some(PLACES, 1, 2),
            "behind": lambda: "driver",
            "within": lambda: "wheelbase",
            "share_of_original": lambda: {self.pick(["least", "most"]): Decimal(self.pick(["0.5", "0.8", "1"]))},
            "share_removed": lambda: {self.pick(["least", "most"]): Decimal(self.pick(["0.2", "0.5"]))},
            "weight_removed": lambda: {self.pick(["least", "most"]): f"{self.pick([1, 3, 6])} kg"},
        }
        if name == "as-original":
            return {"material": "as-original"}
        return {name: bounds[name]()}

    def draw_need(self) -> dict[str, Any]:
        kinds = self.some([*self.kinds, *ADDITIONS[:2]], 1, 3)
        on = [kind for kind in kinds if self.seems_fitted(kind)]
        at_least = bool(on) and len(kinds) > 1 and self.chance(0.5)
        if self.chance(0.8) and on and not at_least:
            kinds = on
        entry: dict[str, Any] = {"kinds": kinds}
        if at_least:
            entry["at_least"] = self.rng.randint(1, len(on) if self.chance(0.8) else len(kinds))
        how = self.pick(["plain", "plain", "whole", "part"])
        if how == "whole":
            entry["whole"] = True
            branches = [area for area in self.areas if self.factory_label(area) == "always"]
            if branches and self.chance(0.7):
                entry = {"kinds": [self.pick(branches)], "whole": True}
        elif how == "part":
            bound = self.pick(["weighs", "origin", "material", "material_not", "thickness", "approval", "at"])
            entry["part"] = self.draw_bound(bound)
            fitted = [self.parts[part]["kind"] for part in sorted(self.judge.state.on)]
            if fitted and self.chance(0.8):
                entry |= {"kinds": [self.pick(fitted)]}
                entry.pop("at_least", None)
        if self.chance(0.4):
            entry["if"] = self.condition()
        return entry

    def draw_strip(self) -> dict[str, Any]:
        kinds = self.some([kind for kind in (*self.kinds, *ADDITIONS) if kind not in self.areas], 1, 2)
        off = [kind for kind in kinds if not self.seems_fitted(kind)]
        entry: dict[str, Any] = {"kinds": off if off and self.chance(0.85) else kinds}
        if self.chance(0.4) or not off:
            entry["if"] = self.condition()
        return entry

    def seems_fitted(self, kind: str) -> bool:
        return self.judge.fitted(_Typical(self.rng), kind)

    # --- Fewer plain violations: they would hide everything else

    def soften(self, groups: list[Any], classes: list[Any]) -> None:
        """Take out most of the entries that a build is against whatever is unknown."""
        for one, build in itertools.product(classes, self.builds):
            judge = Judge(self.car_file, read_rules(document(self.rules)), one["id"], build, ON)
            try:
                self.soften_class(one, judge, (*groups, *classes))
            except Unspecified:
                continue
        left = [
            entry["clause"]
            for where in (*groups, *classes)
            for entries in where.values()
            if isinstance(entries, list)
            for entry in entries
            if isinstance(entry, dict)
        ]
        for one in classes:
            drops = [drop for drop in one.pop("drops", []) if any(clause_covers(drop, clause) for clause in left)]
            one |= {"drops": drops} if drops else {}

    def soften_class(self, one: dict[str, Any], judge: Judge, sources: Sequence[dict[str, Any]]) -> None:
        always = set.intersection(*(self.against(judge, _Typical(self.rng)) for _ in range(3)))
        for clause in sorted(always):
            if self.chance(0.7):
                for where in sources:
                    self.take_out(where, clause)
        for change in judge.changes:
            if not judge.decide_change(_Typical(self.rng), change)[0] and self.chance(0.6):
                self.add(one, "allow", one["clause"], self.allowance_for(change))

    def against(self, judge: Judge, w: Values) -> set[str]:
        """The clauses that the build is against in one completion."""
        found: set[str] = set()
        referred: set[str] = set()
        for change in judge.changes:
            allowed, duties = judge.decide_change(w, change)
            referred |= duties
            if not allowed:
                for kind in (change.kind, *change.things):
                    found |= {str(rule.clause) for rule, _, allows in judge.applying(w, change, kind) if not allows}
        for must in (*judge.form("enter"), *judge.form("require")):
            if judge.holds(w, must.if_) and not judge.holds(w, must.must):
                found.add(must.clause)
        for need in judge.form("need"):
            if judge.holds(w, need.if_) and not judge.need_met(w, need):
                found.add(need.clause)
        for strip in judge.form("strip"):
            if judge.holds(w, strip.if_) and any(judge.fitted(w, kind) for kind in strip.kinds):
                found.add(strip.clause)
        done = {(finish.area, finish.by) for job in judge.jobs for finish in job.finishes}
        for duty in judge.form("finish"):
            if judge.holds(w, duty.if_) if duty.if_ is not None else duty.id in referred:  # noqa: SIM102
                if not any(covers(area, duty.area) and by in duty.by for area, by in done):
                    found.add(duty.clause)
        return found

    def take_out(self, where: dict[str, Any], clause: str) -> None:
        for form in ("allow", "ban", "need", "strip", "enter", "require"):
            if form in where:
                where[form] = [entry for entry in where[form] if entry["clause"] != clause]
        for duty in where.get("finish", []):
            if duty["clause"] == clause:
                duty.pop("if", None)
                for entry in where.get("allow", []):
                    if duty["id"] in entry.get("finish", []):
                        del entry["finish"]

    # --- Conditions

    def mostly(self, wanted: bool) -> dict[str, Any]:
        """A condition that the car mostly meets, or mostly does not, as far as that is known."""
        found: dict[str, Any] = {}
        for _ in range(3 if self.chance(0.9) else 1):
            found = self.condition()
            try:
                if self.scratch_judge().holds({}, found) == wanted:
                    break
            except Asked:
                break
        return found

    def scratch_judge(self) -> Judge:
        judge = self.judge
        own = read_rules(document({**self.rules, "class": [{"id": "c", "title": "C"}], "group": []}))
        judge.rules = own
        judge.facts |= {one.id: one for one in own.fact}
        return judge

    def condition(self, depth: int = 0) -> dict[str, Any]:
        how = self.rng.random()
        if depth < 2 and how < 0.2:
            some = [self.condition(depth + 1) for _ in range(2)]
            return self.pick([{"any": some}, {"all": some}, {"not": some[0]}, {"not": some[0]}])
        if how < 0.3:
            return {"fitted": self.kinds_asked()}
        if how < 0.36:
            return {"from_factory": self.kinds_asked()}
        if how < 0.46:
            return {self.pick(["removed", "swapped", "off", "lightened", "moved"]): self.kinds_asked()}
        fact = self.pick(sorted(self.unknown)) if self.unknown and self.chance(0.6) else self.pick(self.in_play)
        condition = self.fact_condition(fact)
        changed = [one for job in self.jobs for one in job.get("sets", {})]
        if changed and self.chance(0.4):
            fact = self.pick(changed)
            condition = self.fact_condition(fact)
        if self.chance(0.35 if fact in changed else 0.05):
            return {"as_made": condition}
        if self.chance(0.15):
            other = self.pick(self.in_play)
            condition = {**self.fact_condition(other), **condition}
        return condition

    def kinds_asked(self) -> Any:
        one, other = self.pick(self.kinds), self.pick([*self.kinds, *ADDITIONS])
        touched = [kind for change in self.changes for kind in (change.kind, *sorted(change.things))]
        touched += [self.parts[part]["kind"] for change in self.changes for part in change.new]
        if touched and self.chance(0.4):
            return self.pick(touched)
        perhaps = [kind for kind in self.kinds if self.judge.word(kind)]
        if perhaps and self.chance(0.5):
            one = self.pick(perhaps)
            return self.pick([one, one, [one, other]])
        return [one, other] if self.chance(0.2) else self.pick([one, other, one.rpartition(".")[0] or one])

    def fact_condition(self, fact: str) -> dict[str, Any]:
        if fact in QUANTITIES or fact in NUMBERS or fact in COUNTS:
            return {fact: self.number_condition(fact)}
        if fact in YES_NO:
            return {fact: self.chance(0.5)}
        if fact in DATES:
            if self.chance(0.5):
                return {fact: {"age": {self.pick(["over", "least", "under"]): self.pick([10, 25])}}}
            return {fact: {self.pick(["least", "under", "over"]): datetime.date(self.pick([2001, 2017]), 5, 8)}}
        values = {**CHOICES, **TEXTS}[fact]
        return {fact: self.pick(values) if self.chance(0.7) else self.some(values, 2, 2)}

    def number_condition(self, fact: str) -> Any:
        if fact in QUANTITIES:
            unit, _, thresholds = QUANTITIES[fact]
            points = [f"{point} {unit}" for point in thresholds]
        else:
            points = {**NUMBERS, **COUNTS}[fact][1]
        changed = any(fact in job.get("sets", {}) for job in self.jobs)
        other = "track_rear" if fact == "track_front" else fact
        if other in self.in_play and fact in QUANTITIES and self.chance(0.5 if changed or other != fact else 0.05):
            bound: dict[str, Any] = {"as_made": other}
            if self.chance(0.7):
                bound["plus"] = f"{self.pick([10, -5, 25])} {QUANTITIES[fact][0]}"
            return {self.pick(["most", "over", "least"]): bound}
        low, high = sorted(self.rng.sample(range(len(points)), 2))
        how = self.pick(["least", "most", "over", "under", "up_to", "both", "both", "equal", "list"])
        if how == "both":
            return {self.pick(["over", "least"]): points[low], self.pick(["up_to", "under"]): points[high]}
        if how == "equal":
            return points[low]
        if how == "list":
            return [points[low], points[high]]
        return {how: points[low]}

    def draw_despites(self, groups: list[Any], classes: list[Any]) -> None:
        """Only ever of a lower chapter or number, so that there are no circles."""
        entries = [
            entry
            for one in (*groups, *classes)
            for form in ("allow", "ban", "need", "strip")
            for entry in one.get(form, [])
        ]
        for entry in entries:
            place = [int(level) for level in entry["clause"].split(".")][:2]
            lower = [
                other["clause"] for other in entries if [int(level) for level in other["clause"].split(".")][:2] < place
            ]
            if lower and self.chance(0.25):
                named = self.pick(lower)
                cut = ".".join(named.split(".")[:2]) if self.chance(0.4) else named
                entry["despite"] = [cut]

    # --- Weight

    def draw_weight(self, one: dict[str, Any], classes: list[Any]) -> None:
        weight: dict[str, Any] = {"clause": "1.1"}
        if "like" not in one or self.chance(0.4):
            weight["driver"] = self.pick(["aboard", "out", "out"])
        if weight.get("driver") == "aboard" and self.chance(0.35):
            weight["driver_counts_as"] = "75 kg"
        if self.chance(0.1) and "co_driver" in self.car:
            weight["co_driver"] = "aboard"
        if self.chance(0.5):
            weight["fuel"] = self.pick(["as-raced", "empty", "full", "10 L"])
        if self.chance(0.2):
            listed = [one["kind"] for one in self.parts.values()]
            weight["without"] = [self.pick(listed) if listed and self.chance(0.75) else self.pick(self.kinds)]
        if self.chance(0.2):
            weight["allowance"] = self.pick(["1 kg", "0.5 kg"])
        if self.chance(0.6) or any(part["kind"] == "ballast" for part in self.parts.values()):
            weight["ballast"] = self.draw_ballast()
        one["weight"] = weight
        bare = set(weight) <= {"clause", "ballast"} and "like" in one
        if self.chance(0.8):
            shape = self.draw_shape("minimum", weight)
            if self.chance(0.8 if shape({"probe": True}) else 0.4):
                weight["adjust"] = self.draw_adjusts("minimum", shape)
            elif "/" in toml(self.inherited_adjusts(one, classes)):
                weight["adjust"] = []  # a change of the rate of another form
            self.lay_limit(one, weight, "minimum", "total", shape)
        if self.chance(0.2):
            self.lay_limit(one, weight, "maximum", "total", self.draw_shape("maximum", weight))
        axles_weighed = any("total" not in weighing for weighing in self.car["weighing"])
        if self.chance(0.2 if axles_weighed else 0.02) and "allowance" not in weight:
            self.draw_axles(one, weight)
        if bare and self.chance(0.5):
            del one["weight"]
        for _ in range(self.pick([0, 0, 1, 1, 2])):
            self.draw_limit(one)

    def inherited_adjusts(self, one: dict[str, Any], classes: list[Any]) -> list[dict[str, Any]]:
        while "like" in one:
            one = next(other for other in classes if other["id"] == one["like"])
            if "adjust" in one.get("weight", {}):
                return list(one["weight"]["adjust"])
        return []

    def draw_ballast(self) -> dict[str, Any]:
        if self.chance(0.2):
            return {"allowed": False, "clause": "1.2"}
        found: dict[str, Any] = {"allowed": True, "clause": "1.2"}
        if self.chance(0.4):
            carried = [part for part in sorted(self.judge.state.on) if self.parts[part]["kind"] == "ballast"]
            mass = self.judge._sum_of([(Fraction(1), part, None) for part in carried])
            found["most"] = self.just_about(mass) or self.pick(["5 kg", "10 kg", "40 kg"])
        if self.chance(0.4):
            found["places"] = self.some(PLACES, 1, 2)
        return found

    def just_about(self, mass: Mass) -> str | None:
        """A maximum which that mass mostly keeps; now and then it is too close to call."""
        if mass.unknown or not mass.mean or self.chance(0.2):
            return None
        away = self.pick([self.rng.uniform(-1.5, 1.5), self.rng.uniform(3, 30), -5])
        return f"{max(0.0, float(mass.mean) + away * mass.u):.4f} kg"

    def draw_limit(self, one: dict[str, Any]) -> None:
        number = len(one.get("limit", [])) + 1
        limit: dict[str, Any] = {"clause": f"{one['id'].removeprefix('c')}9.{number}"}
        if self.chance(0.4):
            limit["if"] = self.condition()
        one.setdefault("limit", []).append(limit)
        if self.chance(0.4):
            gone = [self.parts[part]["kind"] for part in sorted(self.judge.came_off)]
            below = sorted({thing for change in self.judge.changes for thing in change.things})
            if below and self.chance(0.3):
                gone = below
            kind = self.kind_near(self.pick(gone)) if gone else self.pick(["interior", "everything", *self.kinds])
            limit["taken_off"] = [kind]
            limit["maximum"] = self.just_about(self.judge._taken_off([kind])) or f"{self.pick([3, 8, 20, 45])} kg"
            return
        if self.chance(0.6):
            limit["driver"] = self.pick(["aboard", "out"])
        if self.chance(0.3):
            limit["fuel"] = self.pick(["empty", "full", "5 L"])
        if self.chance(0.2):
            limit["allowance"] = "2 kg"
        which = self.pick(["minimum", "minimum", "maximum"])
        shape = self.draw_shape(which, limit)
        if self.chance(0.3):
            limit["adjust"] = self.draw_adjusts(which, shape)
        self.lay_limit(one, limit, which, "total", shape)

    def draw_axles(self, one: dict[str, Any], weight: dict[str, Any]) -> None:
        for axle, which in (("front_axle", "front"), ("rear_axle", "rear")):
            weight[axle] = {"clause": "1.4"}
            self.lay_limit(one, weight[axle], "least", which, lambda amount: f"{float(amount):.3f} kg")
            if self.chance(0.2):
                weight.setdefault("adjust", []).append({"add": "2 kg", "of": axle})
        if self.chance(0.4):
            weight["minimum"] = {"axles": True}
            if "adjust" not in weight:
                weight["adjust"] = []
            else:
                weight["adjust"] = [entry for entry in weight["adjust"] if "/" not in str(entry["add"])]

    def draw_adjusts(self, of: str, shape: Any) -> list[dict[str, Any]]:
        found = []
        for _ in range(self.pick([1, 1, 2])):
            entry: dict[str, Any] = {"add": self.pick(["10 kg", "-15 kg", "25 kg", "2 kg"])}
            rated = shape({"probe": True})
            if rated == "power" and self.chance(0.7):
                entry["add"] = self.pick(["0.2 kg/kW", "-0.1 kg/kW"])
            elif rated == "displacement" and self.chance(0.5):
                entry["add"] = self.pick(["5 kg/L", "-0.01 kg/cm3"])
            for fact in ("success_mass", "own_mass"):
                if fact in self.in_play and self.chance(0.4):
                    entry["add"] = {"fact": fact, "most": "12 kg"} if self.chance(0.5) else {"fact": fact}
            if self.chance(0.7):
                entry["if"] = self.condition()
            if of != "minimum":
                entry["of"] = of
            found.append(entry)
        return found

    def draw_shape(self, of: str, terms: dict[str, Any]) -> Callable[[Any], Any]:
        """How a limit depends on the car: a function from the amount that it should come to."""
        forms = ["amount"] * 4
        facts = [
            fact
            for fact in self.in_play
            if fact in ("displacement", "power", "seats", "cylinders", "own_index", "noise")
        ]
        choices = [fact for fact in self.in_play if fact in CHOICES]
        forms += ["bands"] * 3 * bool(facts) + ["cases"] * 2 * bool(choices)
        forms += ["per"] * 4 * ("power" in self.in_play or "displacement" in self.in_play) + ["fact"] * 2 * (
            "kerb_mass" in self.in_play
        )
        form = self.pick(forms)
        if form == "bands":
            return self.bands(self.pick(facts))
        if form == "cases":
            return self.cases(self.pick(choices))
        if form == "per":
            fact = "power" if "power" in self.in_play else "displacement"
            typical = Fraction(self.pick(QUANTITIES[fact][1])) / (1000 if fact == "displacement" else 1)
            if fact in self.car["facts"]:
                typical = self.judge.stated(fact, False) or typical
            least = self.chance(0.6)
            unit = "kg/kW" if fact == "power" else "kg/L"
            above = self.pick([-20, -1, 0, 1])

            def per(amount: Any) -> Any:
                if isinstance(amount, dict):
                    return fact
                found = {"per": fact, "rate": f"{float(amount / typical):.4f} {unit}"}
                return found | ({"least": f"{float(amount) + above:.2f} kg"} if least else {})

            return per
        if form == "fact":
            times = self.pick([Decimal("0.95"), Decimal("0.9"), None])

            def listed(amount: Any) -> Any:
                if isinstance(amount, dict):
                    return None
                kerb = self.judge.stated("kerb_mass", False) or Fraction(905)
                found: dict[str, Any] = {"fact": "kerb_mass"} | ({"times": times} if times else {})
                return found | {"plus": f"{float(amount - kerb * Fraction(times or 1)):.3f} kg"}

            return listed
        return lambda amount: None if isinstance(amount, dict) else f"{float(amount):.3f} kg"

    def bands(self, fact: str) -> Callable[[Any], Any]:
        if fact in QUANTITIES:
            unit, _, points = QUANTITIES[fact]
            ends: list[Any] = [f"{point} {unit}" for point in sorted(self.rng.sample(points, 2))]
            zero: Any = f"0 {unit}"
        else:
            ends, zero = sorted(self.rng.sample({**NUMBERS, **COUNTS}[fact][1], 2)), 0
        steps = [self.pick([0, 0, 5, -5, 30, -30]) for _ in range(4)]
        gap, otherwise, open_end = self.chance(0.2), self.chance(0.4), self.chance(0.7)

        def shape(amount: Any) -> Any:
            if isinstance(amount, dict):
                return None
            masses = [f"{float(amount) + step:.3f} kg" for step in steps]
            rows = [[zero, ends[0], masses[0]], [ends[0], ends[1], masses[1]]]
            rows = rows[1:] if gap else rows
            rows += [[ends[1], masses[2]]] if open_end else []
            return {"by": fact, "over_up_to": rows} | ({"otherwise": masses[3]} if otherwise else {})

        return shape

    def cases(self, fact: str) -> Callable[[Any], Any]:
        values = self.some(CHOICES[fact], 1, 3)
        steps = [self.pick([0, 0, 8, -8, 40]) for _ in range(4)]
        otherwise = self.chance(0.6)

        def shape(amount: Any) -> Any:
            if isinstance(amount, dict):
                return None
            masses = [f"{float(amount) + step:.3f} kg" for step in steps]
            found: dict[str, Any] = {"by": fact, "cases": dict(zip(values, masses, strict=False))}
            return found | ({"otherwise": masses[3]} if otherwise else {})

        return shape

    def lay_limit(
        self, one: dict[str, Any], terms: dict[str, Any], key: str, which: str, shape: Callable[[Any], Any]
    ) -> None:
        """Put the limit where the car just keeps it, just fails it, is too close to call, or well away."""
        terms[key] = shape(Fraction(900))
        rules = read_rules(document(self.rules))
        judge = Judge(self.car_file, rules, one["id"], self.pick(self.builds), ON)
        w: Values = _Typical(self.rng)
        used = dict(judge.weight)
        model = next((limit for limit in judge.form("limit") if limit.clause == terms.get("clause")), None)
        if model is not None:
            for name in ("driver", "driver_counts_as", "co_driver", "fuel", "without", "allowance"):
                if getattr(model, name) is not None:
                    used[name] = getattr(model, name)
            used |= {"adjust": model.adjust, "minimum": model.minimum, "maximum": model.maximum}
        mass = judge.mass(w, used, which)
        if mass.unknown:
            return
        sign = -1 if key == "maximum" else 1
        how = self.rng.random()
        if how < 0.45:
            away = self.rng.uniform(2.5, 25)
        elif how < 0.87:
            away = self.rng.uniform(-1.6, 1.6)
        else:
            away = -self.rng.uniform(2.5, 20)
        wanted = mass.mean - sign * Fraction(away * mass.u)
        if which == "total":
            form = used[key]
            shifted = judge.amount(w, form, key, used)
            if shifted is not None and self.chance(0.85):
                wanted -= shifted - 900
        terms[key] = shape(max(Fraction(60), Fraction(round(wanted * 1000), 1000)))
