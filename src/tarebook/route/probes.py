"""The questions of a class, each with the jobs that can change its answer, and the answer after any choice of them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from tarebook.judge.completing import Answered, Completions
from tarebook.judge.components import (
    ChangeQuestion,
    Component,
    FinishQuestion,
    MustQuestion,
    NeedQuestion,
    Outcome,
    StripQuestion,
    questions,
)
from tarebook.judge.decision_diagrams import support
from tarebook.judge.findings import BAD, FINE, OPEN
from tarebook.judge.limits import LimitQuestion, without_parts
from tarebook.judge.prepared import Cited, PreparedClass, WholeRule
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import listed
from tarebook.kinds import covers
from tarebook.route.clauses import Breach
from tarebook.route.reads import Reads, reads_of
from tarebook.route.touching import NO_JOBS, Jobs, Touching
from tarebook.route.workshop import Workshop

__all__ = ["Breach", "Probe", "Probes", "breaches", "counts_ballast", "replaced_in", "without_missing"]


@dataclass(slots=True, eq=False)
class Probe:
    """One question. `answer` gives what is wrong in a situation: nothing where all is well.

    The answer is the same in any two situations that have the same of `jobs` done, and in any two in which all that it
    `reads` is the same.
    """

    name: str
    jobs: tuple[str, ...]
    answer: Callable[[Situation], frozenset[Breach]]
    reads: Reads


def breaches(
    components: Iterable[Component],
    prepared: PreparedClass,
    situation: Situation,
    beside: Iterable[Component] = (),
) -> frozenset[Breach]:
    """What some of these questions find wrong or leave open. Those `beside` know values of what is unknown to try."""
    found: set[Breach] = set()
    view = View(situation, prepared.counts, {})
    for component in components:
        outcome = component.outcome(view)
        if outcome is not None:
            if outcome.bad != FINE:
                found |= _against(component, [outcome], situation)
            continue
        completions = Completions(prepared, situation)
        answered, _ = completions.answer_each([component, *beside])
        mine = next((each for each in answered if each.component is component), None)
        if mine is None:
            found |= _too_many(component, situation)
        elif mine.diagram == BAD:
            found |= _against(component, mine.outcomes, situation)
        elif mine.diagram != FINE:
            found |= _open(mine, completions, situation)
    return frozenset(found)


def _against(component: Component, outcomes: Iterable[Outcome], situation: Situation) -> set[Breach]:
    """What is wrong for sure: whichever of these it comes to."""
    return {
        Breach(
            cite.clause,
            component.sentence(outcome, situation),
            cite.says,
            undecided=outcome.bad == OPEN,
            facts=outcome.to_find if outcome.bad == OPEN else (),
        )
        for outcome in outcomes
        for cite in outcome.cited
    }


def _open(answered: Answered, completions: Completions, situation: Situation) -> set[Breach]:
    """What is not known, and what is to be found out."""
    component = answered.component
    bad = [outcome for outcome in answered.outcomes if outcome.bad != FINE]
    facts = () if isinstance(answered.diagram, int) else completions.names(support(answered.diagram))
    question = component.open_question(situation)
    if facts:
        sentence = f"{question} hangs on {listed(facts)}, which the car file does not state."
    else:
        sentence = f"{question} cannot be decided: something that it hangs on is not stated."
    cited = [cite for outcome in bad for cite in outcome.cited] or _sources(component, situation)
    return {Breach(cite.clause, sentence, cite.says, undecided=True, facts=facts) for cite in cited}


def _too_many(component: Component, situation: Situation) -> set[Breach]:
    sentence = f"{component.open_question(situation)} hangs on too much that the car file does not state."
    return {Breach(cite.clause, sentence, cite.says, undecided=True) for cite in _sources(component, situation)}


def _sources(component: Component, situation: Situation) -> Sequence[Cited]:
    if isinstance(component, ChangeQuestion):
        return (component.prepared.silence,)
    return component.sources(situation)


class Probes:
    """All the questions of a class but its limits, as probes."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self.touching = Touching(workshop)
        self._prepared = workshop.prepared
        self._place = {job: index for index, job in enumerate(workshop.free)}

    def ordered(self, jobs: Jobs) -> tuple[str, ...]:
        return tuple(sorted(jobs, key=self._place.__getitem__))

    @cached_property
    def all(self) -> list[Probe]:
        return [*self._of_parts(), *self._of_changes(), *self._standing(), *self._finishes()]

    def is_barred(self) -> bool:
        """Whether something is wrong for sure that no job makes a difference to."""
        situation = self._workshop.situation(self._workshop.resting)
        return any(not breach.undecided for probe in self.all if not probe.jobs for breach in probe.answer(situation))

    def _of_parts(self) -> Iterator[Probe]:
        """Do the jobs fit together, and does nothing come back that is gone?"""
        for job in self._workshop.inventory.order:
            near = self._near(job)
            if near:
                yield self._plain(f"job {job}", near, self._together(job))
        for part_id, part in self._workshop.inventory.parts.items():
            if part.gone and self.touching.of_part[part_id]:
                yield self._plain(f"gone {part_id}", self.touching.of_part[part_id], self._gone(part_id))

    def _plain(self, name: str, jobs: Jobs, answer: Callable[[Situation], frozenset[Breach]]) -> Probe:
        return Probe(name, self.ordered(jobs), answer, Reads(jobs))

    def _near(self, job_id: str) -> Jobs:
        job = self._workshop.inventory.jobs[job_id]
        near = {job_id, *job.needs, *job.not_with} & set(self._workshop.free)
        for part in (*job.off, *job.fit):
            near |= self.touching.of_part.get(part, NO_JOBS)
        return frozenset(near)

    def _together(self, job_id: str) -> Callable[[Situation], frozenset[Breach]]:
        at = ("job", self._workshop.inventory.job_index[job_id])

        def answer(situation: Situation) -> frozenset[Breach]:
            problems = situation.configuration.problems
            return frozenset(Breach("", each.sentence) for each in problems if each.path[:2] == at)

        return answer

    def _gone(self, part_id: str) -> Callable[[Situation], frozenset[Breach]]:
        def answer(situation: Situation) -> frozenset[Breach]:
            if part_id not in situation.configuration.on:
                return frozenset()
            return frozenset((Breach("", f'part "{part_id}" is gone, so it cannot come back'),))

        return answer

    def _of_changes(self) -> Iterator[Probe]:
        for cluster in self.touching.clusters:
            jobs = self.ordered(self.touching.deciding_jobs(cluster))
            yield Probe(f"changes of {cluster[0]}", jobs, self._changes(frozenset(cluster)), self._deciding(cluster))

    def _deciding(self, cluster: tuple[str, ...]) -> Reads:
        """What the decisions on changes of a cluster look at."""
        rules = self.touching.deciding(cluster)
        found = Reads(self.touching.of_cluster(cluster) | self.touching.owners(cluster))
        for rule in rules:
            found = found.and_also(self._of_rule(rule, bounded=bool(rule.bounds)))
        return found

    def _of_rule(self, rule: Cited, *, bounded: bool) -> Reads:
        return reads_of(self.touching, rule.nodes, ("wheelbase", "model_year") if bounded else ())

    def _changes(self, parts: frozenset[str]) -> Callable[[Situation], frozenset[Breach]]:
        return lambda situation: breaches(self._asked(parts, situation), self._prepared, situation)

    def _asked(self, parts: frozenset[str], situation: Situation) -> list[ChangeQuestion]:
        return [
            ChangeQuestion(part=each.part, kind=each.kind, does=each.action, change=each, prepared=self._prepared)
            for each in situation.changes
            if each.part in parts
        ]

    def _standing(self) -> Iterator[Probe]:
        prepared, touching = self._prepared, self.touching
        situation = self._workshop.situation(self._workshop.resting)
        for component in questions(prepared, situation):
            if isinstance(component, (ChangeQuestion, FinishQuestion)):
                continue
            assert isinstance(component, (NeedQuestion, StripQuestion, MustQuestion))
            rule: WholeRule = component.rule
            kinds = getattr(rule.rule, "kinds", ())
            jobs = touching.of_rule(rule, bounded=bool(rule.bounds)) | touching.of_kinds(kinds)
            reads = self._of_rule(rule, bounded=bool(rule.bounds))
            if rule.bounds or getattr(rule.rule, "whole", False):
                reads = reads.and_also(Reads(touching.of_kinds(kinds)))
            else:
                reads = reads.and_also(Reads(events=frozenset(("fitted", kind) for kind in kinds)))
            yield Probe(f"{component.form} {rule.clause}", self.ordered(jobs), self._one(component), reads)

    def _one(self, component: Component) -> Callable[[Situation], frozenset[Breach]]:
        return lambda situation: breaches([component], self._prepared, situation)

    def _finishes(self) -> Iterator[Probe]:
        touching = self.touching
        for rule in self._prepared.whole["finish"]:
            duty = rule.rule
            doing = touching.finishing(duty.area, duty.by)
            if duty.if_ is not None:
                jobs = self.ordered(doing | touching.of_rule(rule, bounded=False))
                reads = Reads(doing).and_also(self._of_rule(rule, bounded=False))
                yield Probe(f"finish {duty.id}", jobs, self._duty(rule, frozenset()), reads)
                continue
            for cluster in touching.clusters:
                if any(duty.id in each.finish for each in touching.deciding(cluster)):
                    jobs = self.ordered(doing | touching.deciding_jobs(cluster))
                    reads = Reads(doing).and_also(self._deciding(cluster))
                    yield Probe(f"finish {duty.id} {cluster[0]}", jobs, self._duty(rule, frozenset(cluster)), reads)

    def _duty(self, rule: WholeRule, parts: frozenset[str]) -> Callable[[Situation], frozenset[Breach]]:
        prepared = self._prepared

        def answer(situation: Situation) -> frozenset[Breach]:
            referring = tuple(each for each in situation.changes if each.part in parts)
            asked = FinishQuestion(kind=rule.rule.area, rule=rule, referring=referring, prepared=prepared)
            return breaches([asked], prepared, situation, self._asked(parts, situation))

        return answer


def replaced_in(situation: Situation, parts: frozenset[str]) -> frozenset[str]:
    """The kinds without a part of their own whose place parts of the set have taken."""
    configuration = situation.configuration
    some = type(configuration)(configuration.name, configuration.jobs, configuration.on & parts)
    return situation.inventory.replaced_kinds(some)


def without_missing(question: LimitQuestion, situation: Situation) -> str:
    """What of that which comes out before weighing is no part of the ledger; "" where all is."""
    out = without_parts(question.without, View(situation, question.prepared.counts, {}))
    if out is None:
        return "it is not known whether what comes out before weighing is on the car"
    return "; ".join(missing.sentence for missing in out[1])


def counts_ballast(without: Iterable[str]) -> bool:
    """Whether added ballast stays in when the car is weighed."""
    return not any(covers(kind, "ballast") for kind in without)
