"""Coverage: which rules of a rule set no example exercises.

A rule is exercised only where it decided something. One that merely stood by, lost to another, or hung on something
unknown, is not. Every band and every case of a limit counts by itself.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.changes import Change
from tarebook.facts import Fact
from tarebook.judge.components import ChangeQuestion, questions
from tarebook.judge.deciding import STRICTNESS, Decision, decide_kind
from tarebook.judge.judging import CONFIDENCE
from tarebook.judge.limits import WHICH_NAMES, Affine, LimitQuestion, Value, evaluate, limit_questions
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.view import View
from tarebook.judge.wording import fact_text, listed
from tarebook.proofread.examples import ExampleResult
from tarebook.proofread.trying import Tried
from tarebook.rules.classes import Path, all_rules
from tarebook.rules.drafts import AmendedSource
from tarebook.rules.limits import Band, Banded, ByCase
from tarebook.rules.models import ACTIONS, Rules
from tarebook.rules.reading import RuleSet
from tarebook.toml_source import Source

Key = tuple[str | int, ...]  # the path of a rule; of a band or a case, with its place and what of it
WITHIN, LOW, HIGH, OTHERWISE = "within", "low", "high", "otherwise"


@dataclass(frozen=True, slots=True)
class Item:
    """A rule, band or case that no example exercises.

    Attributes:
        words: what it is; of a band, also where an example is wanting.
        whole: False for what shares its clause with the rule that it is a piece of.
    """

    clause: str
    words: str
    file: str
    line: int
    whole: bool = True

    @property
    def text(self) -> str:
        """The clause, with the words where the clause alone does not say which piece of it is meant."""
        return self.clause if self.whole else f"{self.clause}: {self.words}"


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many of a rule set's rules its examples exercise, and which they do not."""

    exercised: int
    total: int
    unexercised: tuple[Item, ...]

    @property
    def percent(self) -> Fraction:
        """100 where there is no rule at all."""
        return Fraction(100 * self.exercised, self.total) if self.total else Fraction(100)


class _Wanted(NamedTuple):
    """Something to be exercised: what must be seen for it, each with the words for its lack."""

    clause: str
    words: str
    path: Path
    needs: tuple[tuple[Key, str], ...]
    whole: bool = True


def coverage(rules: RuleSet, results: Iterable[ExampleResult]) -> Coverage:
    """What the examples exercise, whether they passed or not.

    An example that was judged by the text of another day counts for the rules that stand alike in both texts.
    """
    by_text: dict[RuleSet, set[Key]] = {}
    settled: dict[RuleSet, dict[object, tuple[Path, ...]]] = {}
    for result in results:
        if result.tried is not None:
            text = result.tried.text.rules
            by_text.setdefault(text, set()).update(_exercised(result.tried, settled.setdefault(text, {})))
    seen = by_text.pop(rules, set())
    elsewhere = {_as_written(text, key) for text, keys in by_text.items() for key in keys}
    own = (each for each in _wanted(rules) if rules.source.where(each.path)[0] in rules.files)
    wanted = sorted(own, key=lambda each: rules.source.where(each.path))
    lacking = []
    for each in wanted:
        missing = [words for key, words in each.needs if key not in seen and _as_written(rules, key) not in elsewhere]
        if missing:
            file, line = rules.source.where(each.path)
            where = f": no example {listed(missing, 'or')}".rstrip() if not each.whole else ""
            lacking.append(Item(each.clause, each.words + where, file, line, each.whole))
    return Coverage(len(wanted) - len(lacking), len(wanted), tuple(lacking))


def _as_written(rules: RuleSet, key: Key) -> tuple[Source, Key, frozenset[Source]]:
    """Where a piece of a text was written, and which bulletins wrote in it: the same for what stands alike in two."""
    if not isinstance(rules.source, AmendedSource):
        return rules.source, key, frozenset()
    source, place = rules.source.origin(key)
    return source, place, frozenset(rules.source.writers(key))


# --- What there is to exercise


def _wanted(rules: RuleSet) -> Iterator[_Wanted]:
    for form, rule, path in all_rules(rules.file):
        if form == "limit":
            yield from _limits(rules, path, rule.clause, rule)
        else:
            yield _Wanted(rule.clause, _words(form, rule), path, ((path, ""),))
    for name, holders in (("group", rules.file.group), ("class", rules.file.class_)):
        assert isinstance(holders, list)
        for index, holder in enumerate(holders):
            yield from _weight(rules, holder, (name, index, "weight"))
    silences = {}
    for class_id in rules.class_ids:
        full = rules.class_in_full(class_id)
        silences[full.silence_path] = full.silence_clause
    for path, clause in silences.items():
        yield _Wanted(clause, "what silence means", path, ((path, ""),))


def _words(form: str, rule: object) -> str:
    kinds: list[str] = getattr(rule, "kinds", [])
    does: list[str] = getattr(rule, "does", [])
    changes = "anything" if len(set(does)) == len(ACTIONS) else ", ".join(does)
    named = [getattr(rule, "fact", ""), getattr(rule, "id", ""), changes]
    shown = ", ".join(kinds[:3]) + (", ..." if len(kinds) > 3 else "")
    return " ".join(each for each in (form, *named, shown) if each)


def _weight(rules: RuleSet, holder: Rules, path: Path) -> Iterator[_Wanted]:
    weight = holder.weight
    if weight is None:
        return
    yield from _limits(rules, path, weight.clause or "", weight)
    if weight.ballast is not None:
        where: Path = (*path, "ballast")
        yield _Wanted(weight.ballast.clause or weight.clause or "", "ballast", where, ((where, ""),))


def _limits(rules: RuleSet, path: Path, clause: str, terms: object) -> Iterator[_Wanted]:
    """The limits of a `weight` or a `limit`, with their bands and cases, and its corrections."""
    for key in ("minimum", "maximum"):
        yield from _limit(rules, (*path, key), clause, key)
    for axle in ("front_axle", "rear_axle"):
        own = getattr(getattr(terms, axle), "clause", None) or clause
        for word, which in (("least", axle), ("most", f"{axle}_most")):
            yield from _limit(rules, (*path, axle, word), own, WHICH_NAMES[which].format(""))
    for index, adjust in enumerate(getattr(terms, "adjust", None) or ()):
        where: Path = (*path, "adjust", index)
        of = WHICH_NAMES[adjust.of].format("")
        own = adjust.clause is not None
        yield _Wanted(adjust.clause or clause, f"correction of the {of}", where, ((where, ""),), whole=own)


def _limit(rules: RuleSet, path: Path, clause: str, words: str) -> Iterator[_Wanted]:
    spec = rules.limits.get(path)
    if spec is None:
        return
    form = spec.form
    if isinstance(form, Banded):
        fact = rules.facts[form.fact]
        for index, band in enumerate(form.bands):
            where: Path = (*path, "over_up_to", index)
            yield _Wanted(clause, _band_words(band, fact), where, tuple(_band_needs(band, fact, where)), whole=False)
    elif isinstance(form, ByCase):
        fact = rules.facts[form.fact]
        for (value, _), key in zip(form.cases, _case_keys(rules, path), strict=True):
            where = (*path, "cases", key)
            yield _Wanted(clause, f"case {fact_text(value, fact)}", where, ((where, ""),), whole=False)
    else:
        yield _Wanted(clause, words, path, ((path, ""),))
        return
    if form.otherwise is not None:
        where = (*path, OTHERWISE)
        yield _Wanted(clause, "otherwise", where, ((where, ""),), whole=False)


def _case_keys(rules: RuleSet, path: Path) -> list[str]:
    """The keys of the cases as the file writes them, in its order."""
    here = rules.source.data
    # Lists and tables by turns, as the path leads: the model was read from it, so that each step is there.
    for step in (*path, "cases"):
        here = here[step]  # type: ignore[index]
    return list(here)


def _band_words(band: Band, fact: Fact) -> str:
    low = fact_text(band.over, fact)
    if band.up_to is None:
        return f"band over {low}"
    number, _, unit = low.partition(" ")
    high = fact_text(band.up_to, fact)
    return f"band over {number if high.endswith(unit) else low} up to {high}"


def _band_needs(band: Band, fact: Fact, path: Path) -> Iterator[tuple[Key, str]]:
    """An end at zero, and an open end, need no example of their own."""
    yield (*path, WITHIN), "within it"
    if band.over:
        yield (*path, LOW), f"at {fact_text(band.over, fact)}"
    if band.up_to is not None:
        yield (*path, HIGH), f"at {fact_text(band.up_to, fact)}"


# --- What an example exercises


def _exercised(tried: Tried, settled: dict[object, tuple[Path, ...]]) -> Iterator[Key]:
    """`settled` keeps what decided changes that every build of a class decides alike."""
    prepared, situation = tried.prepared, tried.situation
    view = View(situation, prepared.counts, {})
    for question in questions(prepared, situation):
        if isinstance(question, ChangeQuestion):
            yield from _decided(question.change, prepared, view, settled)
        else:
            outcome = question.outcome(view)
            if outcome is not None and outcome.result is not None:
                yield from (cited.path for cited in outcome.cited)
    for rule in prepared.whole["ask"]:
        if rule.test(view):
            yield rule.path
    yield from _counts(prepared, view)
    for limit in limit_questions(prepared, situation, CONFIDENCE):
        if limit.test(view):
            yield from _computed(limit, view)


def _decided(
    change: Change, prepared: PreparedClass, view: View, settled: dict[object, tuple[Path, ...]]
) -> tuple[Path, ...]:
    sort = (change.action, change.kind, change.things, change.whole)
    if prepared.has_fixings or prepared.settled.get(sort) is None:
        return _deciding(change, prepared, view)
    key = (prepared.id, sort)
    if key not in settled:
        settled[key] = _deciding(change, prepared, view)
    return settled[key]


def _deciding(change: Change, prepared: PreparedClass, view: View) -> tuple[Path, ...]:
    """The rules, or the silence, that decided a change as it came out; laxer decisions on other kinds did not."""
    decisions: list[Decision] = []
    for kind in prepared.decided_kinds(change):
        decision = decide_kind(change, kind, prepared, view)
        if decision is None:
            return ()
        decisions.append(decision)
    strictest = max(STRICTNESS[decision.ruling] for decision in decisions)
    standing = [decision for decision in decisions if STRICTNESS[decision.ruling] == strictest]
    return tuple(rule.path for decision in standing for rule in decision.deciding or (prepared.silence,))


def _counts(prepared: PreparedClass, view: View) -> Iterator[Key]:
    for placed in prepared.full.rules["counts"]:
        figure = view.situation.facts.get(placed.rule.fact)
        moved = bool(figure) and placed.rule.times != 1
        if moved and prepared.book.test(placed.path, counted=False)(view):
            yield placed.path


def _computed(question: LimitQuestion, view: View) -> Iterator[Key]:
    """A limit that comes into play: itself, or the band or case that gave it, and what corrected it."""
    limit = evaluate(question.value, view)
    if limit is None:
        return
    path, form = question.cite.path, question.value.spec.form
    if isinstance(form, (Banded, ByCase)):
        yield from _figure(question, view, isinstance(limit, Affine))
    elif isinstance(limit, Affine):
        yield path
    if isinstance(limit, Affine):
        for index, where in enumerate(_adjusts(question)):
            without = evaluate(_without(question.value, index), view)
            if not isinstance(without, Affine) or without.known != limit.known:
                yield where


def _without(value: Value, index: int) -> Value:
    return replace(value, adjusts=(*value.adjusts[:index], *value.adjusts[index + 1 :]))


def _adjusts(question: LimitQuestion) -> list[Path]:
    """Where the corrections of a limit stand, in the order in which it has them."""
    path, full = question.cite.path, question.prepared.full
    if path[2] == "weight":
        stated = full.weight["adjust"].value if "adjust" in full.weight else []
        return [where for adjust, where in stated if adjust.of == path[3]]
    (rule,) = (placed.rule for placed in full.rules["limit"] if placed.path == path[:4])
    return [(*path[:4], "adjust", index) for index, adjust in enumerate(rule.adjust or ()) if adjust.of == path[4]]


def _figure(question: LimitQuestion, view: View, computed: bool) -> Iterator[Key]:
    """The band or the case of a figure, and the ends of bands that it stands at.

    A figure that stands at the lower end of the lowest band shows that end, though no band covers it.
    """
    path, form = question.cite.path, question.value.spec.form
    covered = False
    if isinstance(form, Banded):
        figure = view.figure(form.fact, False)
        assert isinstance(figure, Fraction)
        for index, band in enumerate(form.bands):
            where: Path = (*path, "over_up_to", index)
            if band.over < figure and (band.up_to is None or figure <= band.up_to):
                covered = True
                yield (*where, WITHIN)
            if figure == band.over:
                yield (*where, LOW)
            if figure == band.up_to:
                yield (*where, HIGH)
    elif isinstance(form, ByCase):
        figure = view.figure(form.fact, False)
        for (value, _), key in zip(form.cases, _case_keys(question.prepared.rules, path), strict=True):
            if figure == value:
                covered = True
                yield (*path, "cases", key)
    if computed and not covered:
        yield (*path, OTHERWISE)
