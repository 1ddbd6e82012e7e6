"""Questions turned into clauses: which combinations of jobs are out, each as small as it can be said."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace

from tarebook.car.models import Job
from tarebook.route.certificates import Certificates
from tarebook.route.clauses import Breach, Clause, demand_under
from tarebook.route.probes import Probe
from tarebook.route.states import Cube, State, cover, is_within, literals_of, states_of
from tarebook.route.workshop import Workshop


class Tables:
    """Asks probes about states of their jobs, and says what it learnt as clauses."""

    def __init__(self, workshop: Workshop, certificates: Certificates) -> None:
        self._workshop = workshop
        self._certificates = certificates
        self._jobs: Mapping[str, Job] = workshop.inventory.jobs
        self._answers: dict[tuple[Probe, State], frozenset[Breach]] = {}

    def ask(self, probe: Probe, state: State) -> frozenset[Breach]:
        key = (probe, state)
        if key not in self._answers:
            chosen = {job for job, done in zip(probe.jobs, state, strict=True) if done}
            rest = self._workshop.resting - set(probe.jobs)
            self._answers[key] = probe.answer(self._workshop.situation(rest | chosen))
        return self._answers[key]

    def states(self, jobs: Sequence[str]) -> list[State]:
        """All states of some jobs that their own `needs` and `not_with` allow, as far as these are among them."""
        return states_of(jobs, self._jobs)

    def all_clauses(self, probe: Probe) -> list[Clause]:
        """Every state of its jobs asked, and all that are out covered by clauses."""
        states = self.states(probe.jobs)
        allowed = set(states)
        answers = {state: self.ask(probe, state) for state in states}
        found: list[Clause] = []
        demands = {demand_under(breach, None) for answer in answers.values() for breach in answer}
        for demand in sorted(demands):
            out: dict[State, Breach] = {}
            for state, answer in answers.items():
                mine = [breach for breach in sorted(answer) if demand_under(breach, None) == demand]
                if mine:
                    out[state] = replace(mine[0], facts=tuple(sorted({fact for each in mine for fact in each.facts})))
            for cube in cover(out, _out_or_not_allowed(out, allowed)):
                mine = [breach for state, breach in out.items() if is_within(state, cube)]
                breach = replace(mine[0], facts=tuple(sorted({fact for each in mine for fact in each.facts})))
                found.append(_clause(probe.jobs, cube, breach))
        return found

    def some_clauses(self, probe: Probe, chosen: frozenset[str]) -> list[Clause]:
        """For a probe with many jobs: a choice is out, by those jobs that settle all that the question looks at."""
        situation = self._workshop.situation(chosen)
        chosen_names, left_names = self._certificates.literals(probe.reads, situation)
        state = tuple(job in chosen for job in probe.jobs)
        return [Clause(chosen_names, left_names, breach) for breach in sorted(self.ask(probe, state))]


def _out_or_not_allowed(out: Collection[State], allowed: Collection[State]) -> Callable[[State], bool]:
    return lambda state: state in out or state not in allowed


def _clause(jobs: Sequence[str], cube: Cube, breach: Breach) -> Clause:
    return Clause(*literals_of(jobs, cube), breach)
