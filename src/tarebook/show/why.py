"""Why a change is decided as it is, told to a stranger: every rule that was considered, and which one decided."""

from collections.abc import Iterator
from dataclasses import replace

from tarebook.fact_values import Value
from tarebook.judge.components import change_name
from tarebook.judge.deciding import Considered, Decision
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.judging import judge
from tarebook.judge.prepared import Cited, DecidingRule, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.tracing import ChangeTrace, KindTrace, OpenRule, trace_change
from tarebook.judge.wording import PAST, fact_text, facts_text, kind_title, listed
from tarebook.rules.classes import clause_covers
from tarebook.rules.reading import RuleSet
from tarebook.show.editions import edition_text
from tarebook.show.text import VERDICT_WORDS, wrapped

_RULINGS = {"violation": "against the rules", "ask": "allowed if a person agrees", "allowed": "allowed"}
_LOST = {
    "despite": "is out: clause {by} holds despite it",
    "prevails": "is out: clause {by} belongs to a section that prevails over all others",
    "longer kind": "loses to clause {by}, which names a kind nearer to the part",
    "nearer": "loses to clause {by}, which stands nearer to this class",
    "ban at a tie": "loses to clause {by}: at a tie a ban beats an allowance",
}


class WhyText:
    """Writes traces as text, for one class and one build."""

    def __init__(self, prepared: PreparedClass, situation: Situation) -> None:
        self.prepared = prepared
        self.situation = situation
        self.tree = situation.presence.tree

    def change(self, trace: ChangeTrace, *, supposed: bool) -> Iterator[str]:
        change = trace.change
        name = change_name(change, self.situation, change.kind)
        suppose = "suppose it were" if supposed else "in this build it is"
        yield wrapped(f"{name} ({change.kind}): {suppose} {PAST[change.action]}.")
        for each in trace.kinds:
            yield from self._kind(each, len(trace.kinds) > 1)
        yield ""
        if trace.unknown:
            yield wrapped(f"Not decided: it hangs on {listed(trace.unknown)}.")
            for case in trace.cases:
                values = ", ".join(f"{name}: {self._value(name, value)}" for name, value in case.values)
                clauses = listed(dict.fromkeys(cite.clause for cite in case.outcome.cited))
                yield wrapped(f"- with {values or 'anything'}: {case.sentence} (clause {clauses})", "  ", "    ")
        else:
            worst = max(trace.cases, key=lambda case: case.outcome.bad)
            clauses = listed(dict.fromkeys(cite.clause for case in trace.cases for cite in case.outcome.cited))
            yield wrapped(f"So: {worst.sentence} (clause {clauses})")
            if worst.outcome.duties:
                duties = ", ".join(sorted(worst.outcome.duties))
                yield wrapped(f"It obliges a finish: {duties}.", "    ")
        for caution in self.tree.get(change.kind).cautions if change.kind in self.tree else ():
            yield wrapped(f"Caution: {caution}", "    ")

    def _value(self, name: str, value: Value) -> str:
        if name in self.prepared.facts:
            return fact_text(value, self.prepared.facts[name])
        if isinstance(value, bool):
            return "present" if value and name in self.tree else "absent" if name in self.tree else str(value).lower()
        return "something else" if isinstance(value, str) and value.startswith("\0") else str(value)

    def _kind(self, trace: KindTrace, named: bool) -> Iterator[str]:
        yield ""
        about = f" for {trace.kind} ({kind_title(trace.kind, self.tree)})" if named else ""
        if trace.decision is not None:
            yield from self._decision(trace.decision, about)
            return
        yield f"Rules that speak of it{about}:"
        for each in trace.open_rules:
            yield from self._open_rule(each)

    def _decision(self, decision: Decision, about: str) -> Iterator[str]:
        ruling = _RULINGS[decision.ruling]
        if decision.deciding:
            yield f"Rules considered{about}, the deciding one first: {ruling}"
        else:
            meaning = "permits" if decision.ruling == "allowed" else "forbids"
            yield wrapped(
                f"No rule decides{about}, so the silence of the book does, and it {meaning}: {ruling} "
                f"(clause {self.prepared.silence.clause}) {self.place(self.prepared.silence)}"
            )
        for each in decision.considered:
            yield from self._considered(each)

    def _considered(self, each: Considered) -> Iterator[str]:
        if each.step == "decides":
            fate = "decides"
        elif each.step == "does not apply":
            fate = "does not apply: its condition does not hold"
        else:
            fate = _LOST[each.step].format(by=each.by.clause if each.by is not None else "")
        yield from self.rule(each.rule, fate, ban=each.ban)

    def _open_rule(self, each: OpenRule) -> Iterator[str]:
        if each.holds is None:
            fate = f"applies or not, depending on {listed(each.unknown)}"
        elif each.holds:
            fate = "applies"
        else:
            fate = "counts as a ban: its condition does not hold" if each.rule.only else "does not apply"
        yield from self.rule(each.rule, fate, ban=each.rule.ban)

    def rule(self, rule: DecidingRule, fate: str, *, ban: bool) -> Iterator[str]:
        word = "ban" if ban else "allowance"
        if rule.form not in ("allow", "ban"):
            word += f" by {rule.form}"
        kinds = listed(rule.kinds_named)
        yield wrapped(
            f"{rule.clause}: {word} on {kinds}, from {rule.origin}; {fate}. {self.place(rule)}", "  ", "      "
        )
        if rule.says:
            yield wrapped(f'"{rule.says}"', "      ", "       ")
        yield from self.conditions(rule)

    def conditions(self, cite: Cited) -> Iterator[str]:
        facts = facts_text(cite.facts, self.situation, self.prepared.facts)
        words = [
            f"{name} is {text}" if text != "not stated" else f"{name} is not stated" for name, text in facts.items()
        ]
        if words:
            yield wrapped(f"it looks at: {', '.join(words)}", "      ")
        if cite.kinds:
            yield wrapped(f"it looks at: {', '.join(cite.kinds)}", "      ")

    def place(self, cite: Cited) -> str:
        return place(self.prepared.rules, cite.path)


def place(rules: RuleSet, path: tuple[str | int, ...]) -> str:
    """Where a piece of a rule set is written."""
    file, line = rules.source.where(path)
    return f"[{file}:{line}]"


def explain(
    prepared: PreparedClass, before: CarBeforeBook, situation: Situation, about: str | None
) -> list[str] | None:
    """The whole story of a part, of a clause, or, with neither named, of everything that is not in order.

    None where `about` is neither a part of the ledger nor a clause of the class.
    """
    text = WhyText(prepared, situation)
    head = [
        wrapped(
            f"{before.car.name}, build {situation.configuration.name}, in {prepared.id}: {prepared.full.title} "
            f"({edition_text(prepared.rules)}), on {situation.on}"
        ),
        "",
    ]
    if about is None:
        return [*head, *_everything(text)]
    if about in situation.inventory.parts:
        return [*head, *_of_part(text, before, about)]
    lines = list(_of_clause(text, about))
    return [*head, *lines] if lines else None


def spoken(prepared: PreparedClass) -> Iterator[Cited]:
    """Every rule of a class that has a clause, the corrections of its limits and its silence included."""
    yield from prepared.deciding
    for rules in prepared.whole.values():
        yield from rules
    yield from prepared.counts_cited
    full, nodes = prepared.full, prepared.rules.nodes

    def cited(clause: str, form: str, path: tuple[str | int, ...], origin: str, says: str) -> Cited:
        node = nodes.get((*path, "if"))
        return Cited(clause, form, path, origin, says, (node,) if node is not None else ())

    if "adjust" in full.weight:
        for adjust, path in full.weight["adjust"].value:
            if adjust.clause:
                yield cited(adjust.clause, "correction", path, full.weight["adjust"].origin, adjust.says)
    for placed in full.rules["limit"]:
        yield cited(placed.rule.clause, "limit", placed.path, placed.origin, placed.rule.says)
        for index, adjust in enumerate(placed.rule.adjust or ()):
            if adjust.clause:
                path = (*placed.path, "adjust", index)
                yield cited(adjust.clause, "correction", path, placed.origin, adjust.says)
    yield replace(prepared.silence, origin="the book, where no clause speaks of a change")


def _everything(text: WhyText) -> Iterator[str]:
    row = judge(text.prepared, text.situation)
    yield wrapped(f"Verdict: {VERDICT_WORDS[row.verdict]}.")
    if row.facts_to_find:
        yield wrapped(f"It hangs on: {', '.join(row.facts_to_find)}.")
    shown = [finding for finding in row.urgent if finding.result != "ask"]
    for finding in shown:
        yield ""
        where = place(text.prepared.rules, finding.path)
        yield wrapped(f"{finding.result}, clause {finding.clause}: {finding.sentence} {where}", "", "  ")
        if finding.says:
            yield wrapped(f'"{finding.says}"', "  ")
        if finding.facts:
            facts = ", ".join(f"{name} is {value}" for name, value in finding.facts.items())
            yield wrapped(f"it looks at: {facts}", "  ")
        if finding.part is not None:
            yield wrapped(f"(name the part {finding.part} to see every rule that was considered)", "  ")
    if not shown:
        yield "Nothing stands against it. Name a part or a clause to see the rules that decide it."


def _of_part(text: WhyText, before: CarBeforeBook, part_id: str) -> Iterator[str]:
    situation = text.situation
    mine = [change for change in situation.changes if part_id in (change.part, change.old) or part_id in change.new]
    supposed = not mine
    if supposed:
        configuration = situation.configuration
        on = configuration.on ^ {part_id}
        situation = before.situation_of(replace(configuration, on=on, masses={}), situation.on)
        mine = [change for change in situation.changes if part_id in (change.part, change.old) or part_id in change.new]
        text = WhyText(text.prepared, situation)
    if not mine:
        yield wrapped(f'Neither taking off nor fitting "{part_id}" would be a change.')
    for number, change in enumerate(mine):
        if number:
            yield ""
        yield from text.change(trace_change(change, text.prepared, situation), supposed=supposed)


def _of_clause(text: WhyText, clause: str) -> Iterator[str]:
    prepared, situation = text.prepared, text.situation
    row = judge(prepared, situation)
    told: set[tuple[object, ...]] = set()
    for cite in spoken(prepared):
        if not clause_covers(clause, cite.clause) or cite.path in told:
            continue
        told.add(cite.path)
        yield wrapped(f"{cite.clause}: {cite.form}, from {cite.origin}. {text.place(cite)}")
        if cite.says:
            yield wrapped(f'"{cite.says}"', "  ")
        yield from text.conditions(cite)
    for finding in row.findings:
        if any(clause_covers(clause, each) for each in (finding.clause, *finding.clauses)):
            yield wrapped(f"- {finding.result}: {finding.sentence} {place(prepared.rules, finding.path)}", "  ", "    ")
    for change in situation.changes:
        trace = trace_change(change, prepared, situation)
        for kind in trace.kinds:
            for each in kind.decision.considered if kind.decision is not None else ():
                if clause_covers(clause, each.rule.clause) and each.step != "decides":
                    name = change_name(change, situation, change.kind)
                    fate = "did not apply" if each.by is None else f"lost to clause {each.by.clause}"
                    yield wrapped(
                        f"- {each.rule.clause} {fate} ({each.step}): {name}, {PAST[change.action]}", "  ", "    "
                    )
