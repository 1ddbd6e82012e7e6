"""What would settle a limit that is too close to call: which one thing to weigh again, and on which scale.

Each re-weighing that is possible is tried, and the limit judged anew with the ledger as it would then be.
"""

from dataclasses import dataclass, replace

from tarebook.judge.findings import LimitAnswer
from tarebook.judge.limits import LimitQuestion, limit_questions
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.weight.advice import READINGS_TRIED, Reweighing, Reweighings
from tarebook.weight.budget import contributors
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured
from tarebook.weight.terms import Axle, Weighed


@dataclass(frozen=True, slots=True)
class Attempt:
    """A re-weighing, and the limit as it would then be judged."""

    reweighing: Reweighing
    limit: LimitAnswer

    @property
    def settles(self) -> bool:
        """Whether the limit would no longer be too close to call."""
        return self.limit.verdict != "too-close"

    @property
    def reach_kg(self) -> float:
        """Half the width of the margin's 95 % interval."""
        return reach_of(self.limit)


@dataclass(frozen=True, slots=True)
class CloseLimit:
    """A limit that is too close to call.

    Attributes:
        limit: as it stands.
        contributors: what makes the mass unsure, with its share of the variance, the largest first.
        advice: the smallest re-weighing that settles it by itself; else the one that leaves the least unsure; None
            where none makes the mass any surer.
        weighed: what is on the scale; None for a limit on parts alone.
    """

    limit: LimitAnswer
    contributors: list[tuple[str, float]]
    advice: Attempt | None
    weighed: Weighed | None


def close_limits(prepared: PreparedClass, situation: Situation, confidence: float) -> list[CloseLimit]:
    """The limits of a class that are too close to call for a build, with what would settle each."""
    found = []
    for question in limit_questions(prepared, situation, confidence):
        judged = _judged(question, situation)
        if judged is None or judged[0].verdict != "too-close":
            continue
        limit, mass = judged
        weighed = None if question.which in ("taken_off", "ballast") else question.weighed
        advice = _best(question, situation, mass, reach_of(limit))
        found.append(CloseLimit(limit, contributors(mass), advice, weighed))
    return found


def reach_of(limit: LimitAnswer) -> float:
    """Half the width of the 95 % interval of a known margin, in kg."""
    assert limit.margin_high_kg is not None and limit.margin_kg is not None
    return limit.margin_high_kg - limit.margin_kg


def _judged(question: LimitQuestion, situation: Situation) -> tuple[LimitAnswer, Measured] | None:
    """The limit and the mass that it was compared with; None while they hang on what is unknown."""
    view = View(situation, question.prepared.counts, {})
    outcome, answer = question.outcome(view), question.mass(view)
    if outcome is None or outcome.limit is None or answer is None or answer.mass is None:
        return None
    return outcome.limit, answer.mass


def _best(question: LimitQuestion, situation: Situation, mass: Measured, reach: float) -> Attempt | None:
    """The smallest that settles: few readings before many, a part before the whole car, then the surest."""
    parts_alone = question.which in ("taken_off", "ballast")
    side = question.which.partition("_")[0]
    axle: Axle | None = "front" if side == "front" else "rear" if side == "rear" else None
    trial = Reweighings(
        situation.ledger, mass, situation.configuration, None if parts_alone else question.weighed, axle
    )
    surer: list[Attempt] = []
    for readings in READINGS_TRIED:
        tried = [
            Attempt(reweighing, again[0])
            for reweighing, ledger in trial.of(readings)
            if (again := _judged(question, _with(situation, ledger))) is not None
        ]
        settling = [each for each in tried if each.settles]
        if settling:
            return min(settling, key=lambda each: (each.reweighing.what == "car", each.reach_kg))
        surer += [each for each in tried if each.reach_kg < reach]
    return min(surer, key=lambda each: each.reach_kg, default=None)


def _with(situation: Situation, ledger: Ledger) -> Situation:
    return replace(situation, ledger=ledger, configuration=replace(situation.configuration, masses={}))
