"""Where a limit lies after a choice of jobs, whatever it is that the mass comes to."""

from dataclasses import fields
from fractions import Fraction

from tarebook.judge.completing import Completions
from tarebook.judge.decision_diagrams import support
from tarebook.judge.findings import FINE
from tarebook.judge.limits import Affine, LimitQuestion, evaluate
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import listed
from tarebook.route.clauses import Breach
from tarebook.weight.measured import Measured
from tarebook.weight.terms import MassAnswer

FAR = Fraction(10**9)  # kg: a mass that keeps any limit


class _AtMass(LimitQuestion):
    """The same limit for a mass that is given."""

    __slots__ = ("given",)
    given: Fraction

    def mass(self, view: View) -> MassAnswer | None:
        return MassAnswer(Measured(self.given, {}))


def edge_of(question: LimitQuestion, situation: Situation, *, strict: bool = True) -> Fraction | Breach | None:
    """The limit in kg, allowance counted; None where it does not apply, a breach where it cannot be said.

    Where it hangs on what is unknown, the strictest that it could be; if not `strict`, what it asks for sure: the
    loosest, and nothing where it might not apply or cannot be said.
    """
    view = View(situation, question.prepared.counts, {})
    applies = question.test(view)
    if applies is False:
        return None
    shift = -question.allowance if question.lower else question.allowance
    if applies:
        limit = evaluate(question.value, view)
        if isinstance(limit, Affine):
            return limit.known + shift
        if limit is not None and not strict:
            return None
        if limit is not None:
            sentence = "The book does not say what the limit is for this car."
            return Breach(question.cite.clause, sentence, question.cite.says, undecided=True)
    return _strictest(question, situation) if strict else _loosest(question, situation)


def hangs_on(question: LimitQuestion, situation: Situation) -> tuple[str, ...]:
    """What is not known on which it hangs where the limit lies; nothing where it lies in one place whatever that is."""
    view = View(situation, question.prepared.counts, {})
    applies = question.test(view)
    if applies is False or (applies and evaluate(question.value, view) is not None):
        return ()
    completions = Completions(question.prepared, situation)
    answered, _ = completions.answer_each([_at_a_kind_mass(question)])
    limits = {outcome.limit and outcome.limit.limit_kg for each in answered for outcome in each.outcomes}
    return completions.names_met() if len(limits) > 1 else ()


def _at_a_kind_mass(question: LimitQuestion) -> _AtMass:
    """The limit for a mass that keeps it wherever it lies."""
    trial = _AtMass(**{each.name: getattr(question, each.name) for each in fields(question)})
    trial.given = FAR if question.lower else -FAR
    return trial


def _loosest(question: LimitQuestion, situation: Situation) -> Fraction | None:
    answered, too_many = Completions(question.prepared, situation).answer_each([_at_a_kind_mass(question)])
    if too_many or answered[0].diagram != FINE:
        return None
    limits = [outcome.limit and outcome.limit.limit_kg for outcome in answered[0].outcomes]
    edges = [Fraction(limit) for limit in limits if limit is not None]
    if not edges or len(edges) < len(limits):
        return None
    return min(edges) if question.lower else max(edges)


def _strictest(question: LimitQuestion, situation: Situation) -> Fraction | Breach | None:
    completions = Completions(question.prepared, situation)
    answered, too_many = completions.answer_each([_at_a_kind_mass(question)])
    if too_many or answered[0].diagram != FINE:
        diagram = 0 if too_many else answered[0].diagram
        facts = () if isinstance(diagram, int) else completions.names(support(diagram))
        hangs = f"hangs on {listed(facts)}, which the car file does not state"
        told = hangs if facts else "cannot be decided: what the limit hangs on is not stated"
        sentence = f"{question.open_question(situation)} {told}."
        return Breach(question.cite.clause, sentence, question.cite.says, undecided=True, facts=facts)
    edges = [
        Fraction(outcome.limit.limit_kg)
        for outcome in answered[0].outcomes
        if outcome.limit is not None and outcome.limit.limit_kg is not None
    ]
    if not edges:
        return None
    return max(edges) if question.lower else min(edges)
