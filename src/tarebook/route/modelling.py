"""One class in front of one car as a program: columns for jobs and ballast, rows for rules, limits and demands."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from tarebook.judge.limits import OFFICIAL_SCALE, LimitQuestion, limit_questions
from tarebook.judge.situation import Situation
from tarebook.route.atoms import Atoms
from tarebook.route.ballast import GRAM
from tarebook.route.certificates import Certificates
from tarebook.route.clauses import Clause, demand_under
from tarebook.route.figures import Figures
from tarebook.route.guard import Guard
from tarebook.route.masses import ZERO, Amount, Amounts, Block, TooTangled
from tarebook.route.probes import (
    Breach,
    Probe,
    Probes,
    counts_ballast,
    replaced_in,
    without_missing,
)
from tarebook.route.program import LOOSE, Form, Program, combined, plain
from tarebook.route.reads import Reads, reads_of
from tarebook.route.states import cover, literals_of
from tarebook.route.tables import Tables
from tarebook.route.touching import NO_JOBS, Jobs
from tarebook.route.watching import BallastColumns, Watch
from tarebook.route.workshop import Workshop, as_weighed
from tarebook.weight.measured import Measured, Share
from tarebook.weight.terms import Axle

EAGER = 5  # jobs of a question whose states are all asked before the first solve
MOST_BALLAST = Fraction(1000)  # kg, where the class names no most: more than any car takes


class Model(Figures):
    """The program of one workshop's class: its columns and rows, and what they mean."""

    def __init__(self, workshop: Workshop, probes: Probes | None = None) -> None:
        """`probes` are the workshop's, where they are at hand."""
        self.workshop = workshop
        self.demands = workshop.demands
        self._probing = probes or Probes(workshop)
        self.touching = self._probing.touching
        self.program = Program(workshop.free)
        self.certificates = Certificates(self.touching, Atoms(workshop, self.touching, self.program))
        self.tables = Tables(workshop, self.certificates)
        self.amounts = Amounts(workshop, self.touching)
        self.waiting: list[tuple[Probe, str | None]] = []  # questions not all of whose clauses are in the program
        self.told: dict[str, list[Breach]] = {}  # what the engine said, by the demand that rules it out
        self.links: list[Clause] = []  # what jobs ask of one another
        self.weighings: list[Probe] = []  # whether masses are known
        self.asked: list[tuple[Probe, str | None]] = []  # every question
        self._jobs = workshop.inventory.jobs
        self.new = [job for job in workshop.free if job not in workshop.resting and job != workshop.ballast_job]
        self.ballast = self._ballast_columns()
        self.watches = self._watches()
        weighed, without = as_weighed(workshop.prepared)
        self.weight = self.amounts.weighed(weighed, without, None, with_axles=False)
        self.ballast_counts = int(counts_ballast(without))
        self.front_demands = self._front_share() if self.demands.wants_front_share else None
        if not self.demands.just_eligible:
            self._know_of(self.weight, "The mass of the build")
        self.near = self._near_columns()
        self._links()
        for probe in self._probing.all:
            self._take_in(probe, None)
        self._bounds()
        self.forms = self._forms()

    def rule_out(self, clause: Clause, demand: str) -> None:
        """Rule a combination out on behalf of a demand, and keep what the engine said of it."""
        told = self.told.setdefault(demand, [])
        if clause.breach not in told:
            told.append(clause.breach)
        self.program.clause(clause, demand)

    def _links(self) -> None:
        """What jobs say of one another."""
        for job_id in self.workshop.free:
            job = self._jobs[job_id]
            for need in job.needs:
                if need in self.program.column_of:
                    breach = Breach("", f'job "{job_id}" needs job "{need}"')
                    self.links.append(Clause(frozenset((job_id,)), frozenset((need,)), breach))
            for other in job.not_with:
                if other in self.program.column_of:
                    breach = Breach("", f'job "{job_id}" cannot stand in one build with "{other}"')
                    self.links.append(Clause(frozenset((job_id, other)), frozenset(), breach))
        for clause in self.links:
            self.program.clause(clause, "")

    def _ballast_columns(self) -> BallastColumns:
        stated = self.workshop.prepared.full.weight.get("ballast")
        most = MOST_BALLAST
        if stated is not None and stated.value.most is not None:
            most = min(most, stated.value.most.value)
        program = self.program
        mass, rear = (program.column(0.0, float(MOST_BALLAST)) for _ in range(2))
        job = program.column_of[self.workshop.ballast_job]
        program.row(combined((1, program.only(mass)), (-float(MOST_BALLAST), program.only(job))), high=0.0)
        if stated is not None and most < MOST_BALLAST:
            demand = f"limit {stated.clause or ''} ballast"
            program.row(combined((1, program.only(mass)), (-float(most), program.only(job))), high=0.0, demand=demand)
        program.row(combined((1, program.only(mass)), (-float(GRAM), program.only(job))), low=0.0)
        program.row(combined((1, program.only(rear)), (-1, program.only(mass))), high=0.0)
        return BallastColumns(job, mass, rear, float(MOST_BALLAST))

    def _watches(self) -> list[Watch]:
        workshop = self.workshop
        situation = workshop.situation(workshop.resting | {workshop.ballast_job})
        found = []
        for question in limit_questions(workshop.prepared, situation, self.demands.confidence):
            watch = self._watch(question, situation)
            found.append(watch)
            sure = replace(watch, for_sure=True, _edges={})
            if not watch.blind and self._differ(watch, sure):
                watch.of_worst = True
                found.append(sure)
        for watch in found:
            self._add_rows(watch)
        return found

    def _differ(self, watch: Watch, sure: Watch) -> bool:
        """Whether a limit may lie elsewhere than at its worst, after some choice."""
        if len(watch.jobs) <= EAGER:
            return any(watch.edge(state) != sure.edge(state) for state in self.tables.states(watch.jobs))
        known = self.workshop.situation(self.workshop.resting).made
        return bool(watch.reads.events) or any(fact not in known for fact in watch.reads.facts)

    def _watch(self, question: LimitQuestion, situation: Situation) -> Watch:
        touching = self.touching
        nodes = list(question.cite.nodes)
        if question.value.axles:
            nodes += [node for path, node in self.workshop.prepared.rules.nodes.items() if "adjust" in path]
        hangs = touching.of_nodes(nodes) | touching.of_figures(question.value.facts)
        reads = reads_of(touching, nodes, question.value.facts)
        by_ballast, by_rear = 0, 0
        loose: Jobs = NO_JOBS
        blind = False
        if question.which == "taken_off":
            try:
                amount = self.amounts.taken_off(question.kinds)
            except TooTangled:
                amount, blind = Amount(ZERO, []), True
                loose = NO_JOBS.union(*(touching.of_cluster(cluster) for cluster in touching.clusters))
        elif question.which == "ballast":
            amount, by_ballast = self.amounts.ballast_on(), 1
        else:
            side = question.which.partition("_")[0]
            axle: Axle | None = "front" if side == "front" else "rear" if side == "rear" else None
            amount = self.amounts.weighed(question.weighed, question.without, axle, with_axles=axle is not None)
            if counts_ballast(question.without):
                by_ballast = 0 if axle == "rear" else 1
                by_rear = {None: 0, "front": -1, "rear": 1}[axle]
        scale = float(question.official_scale(situation))
        extra = Measured(Fraction(0), {OFFICIAL_SCALE: Share(scale)}) if scale else ZERO
        return Watch(
            question,
            amount,
            Guard(amount, extra, self.demands.confidence),
            self._probing.ordered(hangs | loose),
            self.workshop,
            by_ballast,
            by_rear,
            self.demands.confidence,
            reads.and_also(Reads(loose)),
            self.certificates,
            blind,
        )

    def _add_rows(self, watch: Watch) -> None:
        if not watch.for_sure:
            self._know(watch)
        if not watch.blind:
            for edge, chosen, left in watch.values(self.tables):
                watch.add_row(self.program, self.ballast, edge, (chosen, left))

    def _know(self, watch: Watch) -> None:
        """Rule out choices after which the limit, or the mass that it is about, cannot be said."""
        demand = watch.demand
        clause, says = watch.question.cite.clause, watch.question.cite.says
        self._take_in(Probe(f"value of {demand}", watch.jobs, watch.breach, watch.reads), demand)

        def while_it_applies(jobs: Jobs, unknown: Callable[[Situation], str]) -> Probe:
            def answer(situation: Situation) -> frozenset[Breach]:
                state = watch.state(frozenset(situation.configuration.jobs))
                reason = unknown(situation)
                if not reason or watch.edge(state) is None:
                    return frozenset()
                return frozenset((Breach(clause, f"The mass is not known: {reason}.", says, undecided=True),))

            reads = watch.reads.and_also(Reads(jobs))
            together = self._probing.ordered(jobs | set(watch.jobs))
            probe = Probe(f"mass of {demand}", together, answer, reads)
            self._know_mass(probe)
            return probe

        amount = watch.amount
        if amount.lacking is not None:
            lacking = amount.lacking
            while_it_applies(NO_JOBS, lambda situation: lacking)
        for block in amount.blocks:
            if block.lacking:
                while_it_applies(frozenset(block.flow.jobs), _lacking_in(block))
        if watch.question.which in ("taken_off", "ballast"):
            return
        if watch.question.without:
            out = while_it_applies(
                self.touching.of_kinds(watch.question.without),
                lambda situation: without_missing(watch.question, situation),
            )
            watch.unknown.append(self._finds_something(out))
        axles = watch.question.which.endswith(("axle", "axle_most"))
        weighing = self.amounts.ledger.newest_with_axles if axles else self.amounts.ledger.newest
        if weighing is None:
            return
        seen = copy_of(self.workshop, self.amounts.ledger.seen(weighing).jobs)
        for cluster in self.touching.clusters:
            parts = frozenset(cluster)
            kinds = [self.workshop.inventory.parts[part].replaces for part in cluster]
            if not any(kind is not None and kind not in self.workshop.inventory.parts for kind in kinds):
                continue
            then = replaced_in(seen, parts)
            replaced = while_it_applies(self.touching.of_cluster(cluster), _replaced(parts, then))
            watch.unknown.append(self._finds_something(replaced))

    def _finds_something(self, probe: Probe) -> Form:
        """1 where a question that hangs on few jobs finds something, as far as the solver wants it so; else 0."""
        program = self.program
        if len(probe.jobs) > EAGER:
            return plain(0.0)
        states = self.tables.states(probe.jobs)
        nothing = [state for state in states if not self.tables.ask(probe, state)]
        if not nothing or len(nothing) == len(states):
            return plain(0.0 if nothing else 1.0)
        column = program.column(0.0, 1.0)
        for cube in cover(nothing, lambda state: state in nothing or state not in states):
            program.row(
                combined((1, program.only(column)), (-1, program.missed(*literals_of(probe.jobs, cube)))), high=0.0
            )
        return program.only(column)

    def _know_mass(self, probe: Probe) -> None:
        self.weighings.append(probe)
        self._take_in(probe, None)

    def _know_of(self, amount: Amount, about: str) -> None:
        """Rule out choices after which a mass that was asked about cannot be said, by no clause of the book."""
        if amount.lacking is not None:
            unknown = frozenset((Breach("", f"{about} is not known: {amount.lacking}.", undecided=True),))
            self._know_mass(Probe(about, (), lambda situation: unknown, Reads()))
        for block in amount.blocks:
            if block.lacking:

                def answer(situation: Situation, block: Block = block) -> frozenset[Breach]:
                    reason = _lacking_in(block)(situation)
                    told = f"{about} is not known: {reason}."
                    return frozenset((Breach("", told, undecided=True),)) if reason else frozenset()

                self._know_mass(Probe(about, block.flow.jobs, answer, Reads(frozenset(block.flow.jobs))))

    def breaches(self, chosen: frozenset[str], demand: str) -> list[Breach]:
        """What questions find wrong with a choice on behalf of a demand."""
        found: set[Breach] = set()
        for probe, under in self.asked:
            answer = self.tables.ask(probe, tuple(job in chosen for job in probe.jobs))
            found |= {breach for breach in answer if demand_under(breach, under) == demand}
        found |= {breach for watch in self.watches if watch.demand == demand for breach in watch.against(chosen)}
        return sorted(found)

    def _take_in(self, probe: Probe, demand: str | None) -> None:
        self.asked.append((probe, demand))
        if len(probe.jobs) <= EAGER:
            for clause in self.tables.all_clauses(probe):
                self.rule_out(clause, demand_under(clause.breach, demand))
        else:
            self.waiting.append((probe, demand))

    def _front_share(self) -> list[tuple[Amount, Amount, int, Fraction]]:
        """Bounds on the front share, as (front, whole, sign, share): sign (front - share whole) >= 0."""
        weighed, without = as_weighed(self.workshop.prepared)
        whole = self.amounts.weighed(weighed, without, None, with_axles=True)
        front = self.amounts.weighed(weighed, without, "front", with_axles=True)
        found = []
        for share, sign in ((self.demands.front_least, 1), (self.demands.front_most, -1)):
            if share is not None:
                found.append((front, whole, sign, share))
        for amount in (front, whole):
            self._know_of(amount, "The load on the front axle")
        counts = self.ballast_counts
        for front, whole, sign, share in found:
            away = sum(float(max(abs(end) for end in amount.span())) for amount in (front, whole)) + self.ballast.most
            form = combined(
                (sign, self.program.amount(front)),
                (-sign * float(share), self.program.amount(whole)),
                (sign * counts * (1 - float(share)), self.program.only(self.ballast.mass)),
                (-sign * counts, self.program.only(self.ballast.rear)),
                (away, self.program.unknown(front)),
                (away, self.program.unknown(whole)),
            )
            self.program.row(form, low=-LOOSE, demand="front-share")
        return found

    def _near_columns(self) -> dict[int, int]:
        """By minimum (its place among the watches), the column that is 1 where the build is near enough to it."""
        if self.demands.target is not None or self.demands.just_eligible:
            return {}
        found = {}
        for index, watch in enumerate(self.watches):
            if watch.question.which != "minimum" or watch.for_sure:
                continue
            column = self.program.column(0.0, 1.0, whole=True)
            found[index] = column
            for edge, chosen, left in watch.values(self.tables, looser=True):
                watch.add_near_row(self.program, column, edge, (chosen, left))
            for literals in watch.silent(self.tables):
                watch.not_near(self.program, column, literals)
        if found:
            self.program.row(Form(0.0, dict.fromkeys(found.values(), 1.0)), low=1.0, demand="target")
        return found

    def _bounds(self) -> None:
        demands, program = self.demands, self.program
        for job in sorted(demands.must):
            program.row(program.only(program.column_of[job]), low=1.0, demand=f"must {job}")
        for job in sorted(demands.forbid):
            program.row(program.only(program.column_of[job]), high=0.0, demand=f"forbid {job}")
        if demands.budget is not None:
            form, factor = program.scaled(self.costs)
            program.row(form, high=float(demands.budget * factor) + 1e-3, demand="budget")
        if demands.hours is not None:
            form, factor = program.scaled(self.hours)
            program.row(form, high=float(demands.hours * factor) + 1e-3, demand="hours")
        if demands.target is not None:
            away = max(0.0, float(self.weight.span()[1] - demands.target))
            form = combined((1, program.amount(self.weight)), (-away, program.unknown(self.weight)))
            program.row(form, high=float(demands.target) + LOOSE, demand="target")

    @property
    def has_minimum(self) -> bool:
        return any(watch.question.which == "minimum" for watch in self.watches)

    @property
    def ballast_banned(self) -> bool:
        """Whether ballast may not be added, whatever else is chosen."""
        return self.program.is_out(self.workshop.ballast_job)


def _lacking_in(block: Block) -> Callable[[Situation], str]:
    """Why what a block brings is unknown in a situation; "" where it is known."""
    return lambda situation: block.lacking.get(block.flow.end(frozenset(situation.configuration.jobs)), "")


def _replaced(parts: frozenset[str], then: frozenset[str]) -> Callable[[Situation], str]:
    """Why the mass is unknown, if parts of a cluster took the place of other kinds than when the car was weighed."""

    def unknown(situation: Situation) -> str:
        kinds = sorted(replaced_in(situation, parts) ^ then)
        return f"{', '.join(kinds)} was replaced, but the ledger has no part with its mass" if kinds else ""

    return unknown


def copy_of(workshop: Workshop, jobs: tuple[str, ...]) -> Situation:
    """The car with exactly these jobs done, whether or not they may be chosen."""
    return workshop.before.situation_of(workshop.inventory.configuration(jobs), workshop.on)
