"""What is found out about one part that might come out: may it, why, at what cost, and what then."""

from dataclasses import dataclass, field
from typing import Literal

from tarebook.judge.findings import Path
from tarebook.route.taking_off import JobOff

Group = Literal["may", "may-with-duty", "put-back", "must-stay", "undecided"]


@dataclass(slots=True)
class Reason:
    """A rule behind a row: its clause, what it comes to in one sentence, and where it stands.

    `silence` is True where no rule speaks of it, and the book's silence decides; `asks` where a person must agree.
    `in_short` is what is left to say where the row names the part; "" where that is the sentence. Of parts off the
    car that would meet one need, `one_of` names those among which there is a choice, and `enough` how many will do.
    """

    clause: str
    sentence: str
    path: Path
    in_short: str = ""
    silence: bool = False
    asks: bool = False
    one_of: tuple[str, ...] = ()
    enough: int = 0


@dataclass(frozen=True, slots=True)
class Substitute:
    """A part of the ledger, off the car, that must be fitted when another comes out.

    Attributes:
        mass_kg: None for a part that was never weighed; `mass_u_kg` is its standard uncertainty.
        taken_off_by: the job of the build that took it off; "" where none did.
    """

    part: str
    title: str
    mass_kg: float | None
    mass_u_kg: float | None
    kept: str
    taken_off_by: str


@dataclass(slots=True)
class Removal:
    """One part, and whether it may come out; or, where it is off already, whether it must go back on.

    Attributes:
        already_off: whether it is off the car in this build.
        mass_kg: of the part alone; None for a part that was never weighed.
        net_kg: what the car gains in all, below zero for what it loses: the part comes off and its substitute goes
            on; a part already off goes back on, and what took its place comes off. None where a mass is not known.
        margin_left_kg: the least margin of the class's limits once it is out, with the substitute on; None where that
            cannot be computed. `margin_clause` is the clause of that limit; "" where there is none.
        front_kg: what that adds to the front axle, in kg; below zero for what leaves it. `rear_kg` likewise. None
            where mass, place or wheelbase is not known, or the part is gone.
        decided_by: the clauses of the rules that decide on taking it off; of the book's silence where none does.
        unnamed: whether it is only silence, or rules on "everything", with what these oblige to, that decide.
        substitute: what must be fitted in its place.
        jobs: the jobs of the car file that take it off, or fit the substitute in its place, the cheapest first; of a
            part already off, the one that took it off.
        instead: of a part already off, the parts that took its place and come off for it.
        put_back_by: the jobs that would fit a part already off, and `put_back_jobs` those of them that can be done
            from this build, the cheapest first; `hindrances` says why the others cannot.
    """

    part: str
    title: str
    kind: str
    group: Group
    mass_kg: float | None
    mass_u_kg: float | None
    margin_left_kg: float | None
    margin_clause: str = ""
    reasons: list[Reason] = field(default_factory=list)
    duties: list[str] = field(default_factory=list)
    facts_to_find: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    kept: str = ""
    gone: bool = False
    already_off: bool = False
    decided_by: tuple[str, ...] = ()
    unnamed: bool = False
    front_kg: float | None = None
    rear_kg: float | None = None
    net_kg: float | None = None
    net_u_kg: float | None = None
    substitute: Substitute | None = None
    jobs: tuple[JobOff, ...] = ()
    instead: tuple[str, ...] = ()
    put_back_by: tuple[str, ...] = ()
    put_back_jobs: tuple[JobOff, ...] = ()
    hindrances: tuple[str, ...] = ()

    @property
    def cost(self) -> float | None:
        """Of the cheapest job that does it, with what that needs; None where no job does. See `_to_do`."""
        return self._to_do[0].cost if self._to_do else None

    @property
    def hours(self) -> float | None:
        return self._to_do[0].hours if self._to_do else None

    @property
    def cost_per_kg(self) -> float | None:
        """The cost for each kg that leaves the car with that job."""
        return self._to_do[0].cost_per_kg if self._to_do else None

    @property
    def _to_do(self) -> tuple[JobOff, ...]:
        """The jobs that take it off or swap it; of a part already off, those that put it back."""
        return self.put_back_jobs if self.already_off else self.jobs

    @property
    def clauses(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(reason.clause for reason in self.reasons))
