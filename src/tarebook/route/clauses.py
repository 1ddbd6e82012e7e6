"""What makes a build ineligible, and the combination of jobs that brings it about."""

from dataclasses import dataclass
from typing import NamedTuple

OPEN = "open"
APART = "\n"


@dataclass(frozen=True, slots=True, order=True)
class Breach:
    """Why a build is not eligible, or not known to be.

    Attributes:
        clause: of the book; "" where jobs do not fit together, or what was asked for cannot be kept.
        sentence: what it comes to.
        says: the clause in the words of its book.
        undecided: whether it is not known to be against the build: something that it hangs on is not known.
        facts: what is to be found out then, in the names that files use; none where it is something else, such as a
            mass.
    """

    clause: str
    sentence: str
    says: str = ""
    undecided: bool = False
    facts: tuple[str, ...] = ()


class Clause(NamedTuple):
    """A combination of jobs, or events, that are chosen and others that are left, and that is out whatever else is."""

    chosen: frozenset[str]
    left: frozenset[str]
    breach: Breach


def demand_under(breach: Breach, demand: str | None) -> str:
    """What rules a combination out: a clause for sure, one that is not decided, or the demand that is named."""
    if breach.undecided:
        return open_demand(breach.clause)
    if demand is not None:
        return demand
    return f"rule {breach.clause}{APART}{breach.sentence}" if breach.clause else ""


def without_sentence(demand: str) -> str:
    """A demand as it is named to people: "rule 8.3". In the program each thing that a clause asks is a demand."""
    return demand.partition(APART)[0]


def open_demand(clause: str) -> str:
    """That a clause comes out well which is not decided; with "", that a mass is known which was asked about."""
    return f"{OPEN} {clause}"


def is_open(demand: str) -> bool:
    """Whether a demand is a clause that is not decided: what it hangs on once known, it is kept, or it is not."""
    return demand.startswith(f"{OPEN} ")
