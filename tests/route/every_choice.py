"""The best route by trying every choice of jobs, each judged as it stands."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from instances import ADDING, Instance

import support
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import LimitAnswer, Row
from tarebook.judge.judging import judge
from tarebook.judge.prepared import PreparedClass, prepare_class
from tarebook.route.workshop import as_weighed
from tarebook.weight.balance import balance_of


@dataclass(frozen=True)
class Choice:
    """One choice of jobs that is eligible, as the judge sees it."""

    chosen: frozenset[str]
    cost: Fraction
    hours: Fraction
    mass: float
    ballast: float
    near: bool
    within: bool  # the budget and the hours

    @property
    def total(self) -> float:
        return self.mass + self.ballast


class Exhaustive:
    """Every choice of the free jobs, judged; with `open_too`, those too against which nothing stands for sure."""

    def __init__(self, instance: Instance, *, open_too: bool = False) -> None:
        self.instance = instance
        self.open_too = open_too
        self.against = ("violation", "owed") if open_too else ("violation", "owed", "undecided")
        self.demands = instance.demands
        self.prepared: PreparedClass = prepare_class(instance.rules, "club")
        self.before = CarBeforeBook(instance.car_with_plate, instance.rules)
        self.inventory = self.before.car.inventory
        self.done = self.inventory.done
        self.free = [
            job for job in self.inventory.jobs if job != ADDING and (self.demands.undo or job not in self.done)
        ]
        self.choices = list(self._all())

    def _all(self) -> Iterator[Choice]:
        for picked in product((False, True), repeat=len(self.free)):
            chosen = frozenset(job for job, yes in zip(self.free, picked, strict=True) if yes)
            if not self.demands.must <= chosen or self.demands.forbid & chosen:
                continue
            jobs = chosen | (frozenset() if self.demands.undo else self.done)
            if self.inventory.configuration(jobs).problems:
                continue
            row = self._row(jobs)
            if self._is_against(row):
                continue  # no rule of these classes is about ballast, so that a plate would mend nothing
            found = self._weighed(row, jobs, 0.0)
            if found is None and self.instance.ballast_most is not None:
                loaded = self._row(jobs | {ADDING})
                if not self._is_against(loaded):
                    found = self._weighed(loaded, jobs, float(self.instance.ballast_most))
            if found is not None:
                yield found

    def _row(self, jobs: frozenset[str]) -> Row:
        situation = self.before.situation_of(self.inventory.configuration(jobs), support.DAY)
        return judge(self.prepared, situation, confidence=self.demands.confidence)

    def _is_against(self, row: Row) -> bool:
        """Whether something but a limit stands against the build."""
        return any(each.result in self.against and each.form != "limit" for each in row.urgent)

    def _weighed(self, row: Row, jobs: frozenset[str], most: float) -> Choice | None:
        """The choice with the least ballast, up to `most`, that keeps every limit; None where none does."""
        limits = [each for each in row.limits if each.margin_low_kg is not None]
        if len(limits) < len(row.limits) and not self.open_too:
            return None
        load = self._least(limits, jobs, most)
        if load is None:
            return None
        mass = self._weight(jobs)
        minima = [each for each in limits if each.which == "minimum"]
        near = any(each.margin_low_kg is not None and each.margin_low_kg <= 1e-9 for each in minima)
        new = jobs - self.done
        cost, hours = Fraction(0), Fraction(0)
        for job in new:
            entry = self.inventory.jobs[job]
            cost += (entry.cost.value if entry.cost else 0) - (entry.returns.value if entry.returns else 0)
            hours += entry.hours
        demands = self.demands
        within = (demands.budget is None or cost <= demands.budget) and (
            demands.hours is None or hours <= demands.hours
        )
        return Choice(jobs, cost, hours, mass, load, near, within)

    def _least(self, limits: list[LimitAnswer], jobs: frozenset[str], most: float) -> float | None:
        """The least ballast: every limit bounds the whole of it, or what the front or the rear axle gets of it."""
        low = {"all": 0.0, "front": 0.0, "rear": 0.0}
        high = {"all": most, "front": most, "rear": most}
        for limit in limits:
            assert limit.margin_low_kg is not None
            which = {"front_axle": "front", "rear_axle": "rear"}.get(limit.which, "all")
            if limit.which in ("minimum", "front_axle", "rear_axle"):
                low[which] = max(low[which], -limit.margin_low_kg)
            elif limit.which == "taken_off":
                if limit.margin_low_kg < -1e-9:
                    return None
            else:
                high[which] = min(high[which], limit.margin_low_kg)
        if high["all"] < -1e-9:
            return None
        share = self._share(jobs)
        least = max(low["all"], low["front"] + low["rear"])
        if share is None:
            if self.demands.wants_front_share and not self.open_too:
                return None
            return least if least <= high["all"] + 1e-9 else None
        front, whole = share
        candidates = sorted({least, *self._turns(front, whole, low)})
        for mass in candidates:
            if least - 1e-9 <= mass <= high["all"] + 1e-9 and self._fits(mass, front, whole, low, high):
                return mass
        return None

    def _turns(self, front: float, whole: float, low: dict[str, float]) -> list[float]:
        found = []
        for share in (self.demands.front_least, self.demands.front_most):
            if share is None:
                continue
            s = float(share)
            found.append((s * whole - front) / (1 - s))  # all of it in front
            found.append((front - s * whole) / s)  # all of it behind
            found.append((s * whole - front + low["rear"]) / (1 - s))
            found.append((front + low["front"] - s * whole) / s)
        return found

    def _fits(self, mass: float, front: float, whole: float, low: dict[str, float], high: dict[str, float]) -> bool:
        least, most = low["front"], min(mass - low["rear"], high["front"])
        if self.demands.front_least is not None:
            least = max(least, float(self.demands.front_least) * (whole + mass) - front)
        if self.demands.front_most is not None:
            most = min(most, float(self.demands.front_most) * (whole + mass) - front)
        return least <= most + 1e-9

    def _share(self, jobs: frozenset[str]) -> tuple[float, float] | None:
        if not self.demands.wants_front_share:
            return None
        weighed, kinds = as_weighed(self.prepared)
        configuration = self.inventory.configuration(jobs)
        out = frozenset(p for p in configuration.on if any(self.inventory.parts[p].kind.startswith(k) for k in kinds))
        balance = balance_of(self.before.ledger, configuration, weighed._replace(without=out))
        if balance.front is None or balance.total is None:
            return None
        return float(balance.front.value), float(balance.total.value)

    def _weight(self, jobs: frozenset[str]) -> float:
        weighed, kinds = as_weighed(self.prepared)
        configuration = self.inventory.configuration(jobs)
        out = frozenset(p for p in configuration.on if any(self.inventory.parts[p].kind.startswith(k) for k in kinds))
        mass = self.before.ledger.mass(configuration, weighed._replace(without=out)).mass
        if mass is None and self.open_too:
            return float("-inf")  # it may be anything
        assert mass is not None
        return float(mass.value)

    def trade_offs(self) -> list[Choice]:
        """Every choice within the budget that none beats in cost and mass, to the first that reaches the target."""
        demands = self.demands
        found: list[Choice] = []
        left = [each for each in self.choices if each.within]
        while left:
            point = min(left, key=lambda each: (each.cost, round(each.mass, 6), each.hours))
            found.append(point)
            if demands.target is not None and point.mass <= float(demands.target) + 1e-9:
                break
            if demands.target is None and not demands.just_eligible and point.near:
                break
            left = [each for each in left if each.mass < point.mass - 1e-6]
        return found

    def weighs(self, choice: Choice) -> float:
        """What is made least where no target is reached: against a target that was named, before ballast is added."""
        return choice.total if self.demands.target is None else choice.mass

    def best(self) -> tuple[str, Choice | None]:
        """How the route should come out, and the best choice: "reached", "lightest", "just" or "impossible"."""
        demands = self.demands
        inside = [each for each in self.choices if each.within]

        def cheapest(choices: list[Choice]) -> Choice | None:
            return min(choices, key=lambda each: (each.cost, each.hours, round(each.mass, 7)), default=None)

        if demands.just_eligible:
            best = cheapest(inside)
            return ("just", best) if best else ("impossible", None)
        if demands.target is not None:
            on = cheapest([each for each in inside if each.mass <= float(demands.target) + 1e-9])
            if on is None and demands.budget is None and demands.hours is None:
                return "impossible", None
        else:
            on = cheapest([each for each in inside if each.near]) if self.instance.ballast_most is not None else None
        if on is not None:
            return "reached", on
        lightest = min(inside, key=lambda each: (round(self.weighs(each), 5), each.cost, each.hours), default=None)
        return ("lightest", lightest) if lightest else ("impossible", None)
