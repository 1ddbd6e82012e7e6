"""What makes a build ineligible, and the combination of jobs that brings it about."""

from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True, order=True)
class Breach:
    """Why a build is not eligible: the clause, and what it comes to in one sentence."""

    clause: str
    sentence: str


class Clause(NamedTuple):
    """A combination of jobs, or events, that are chosen and others that are left, and that is out whatever else is."""

    chosen: frozenset[str]
    left: frozenset[str]
    breach: Breach
