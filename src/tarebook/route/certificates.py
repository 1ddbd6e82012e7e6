"""Why a question comes out as it does: a few jobs, done and left, and events, that settle it whatever else is chosen.

Where a question hangs on too many jobs to try all their combinations, a combination is ruled out by such alone.
"""

from tarebook.judge.situation import Situation
from tarebook.route.atoms import Atoms
from tarebook.route.reads import Reads
from tarebook.route.touching import Touching

Literals = tuple[frozenset[str], frozenset[str]]  # names of jobs and events: chosen, left


class Certificates:
    """Finds such jobs, and events that have a column of their own, choice by choice."""

    def __init__(self, touching: Touching, atoms: Atoms) -> None:
        self._touching = touching
        self._atoms = atoms

    def literals(self, reads: Reads, situation: Situation) -> Literals:
        """Jobs and events which, as they are in the situation, keep all that is read as it is."""
        jobs = reads.jobs | self._touching.setting(reads.facts)
        chosen: set[str] = set()
        left: set[str] = set()
        for event, kind in sorted(reads.events):
            if event == "from_factory":
                continue
            name = self._atoms.name(event, kind)
            if name is None:
                jobs |= self._touching.of_kinds((kind,))
            else:
                (chosen if self._atoms.holds(event, kind, situation) else left).add(name)
        done = frozenset(situation.configuration.jobs)
        return frozenset(chosen | (jobs & done)), frozenset(left | (jobs - done))
