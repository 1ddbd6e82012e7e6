"""Limits that say nothing for some cars that may enter, and limits that contradict one another."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.facts import Fact
from tarebook.judge.wording import listed
from tarebook.meaning.space import Space
from tarebook.meaning.words import amount_text, band_text, figure_text, inside
from tarebook.proofread.entering import Demand, demands, together
from tarebook.proofread.findings import Blemish
from tarebook.proofread.study import Study
from tarebook.rules.classes import ClassInFull, Path
from tarebook.rules.conditions import AsMade, Bounds, IsOneOf, Node, Not, Within
from tarebook.rules.limits import Amount, Banded, ByCase, LimitSpec

MOST_CLASSES = 3
Edges = tuple[tuple[Fraction | AsMade, bool], ...]


class LimitHere(NamedTuple):
    """A limit of a class: which it is, where its form stands, and the condition under which it holds."""

    which: str
    clause: str
    path: Path
    spec: LimitSpec
    only_if: Node | None


class Gap(NamedTuple):
    """Figures of a fact for which a limit says nothing, as a condition and in words; and the place to tell it at."""

    what: str
    node: Node
    title: str
    figures: str
    path: Path


def limits_of(study: Study, full: ClassInFull) -> Iterator[LimitHere]:
    """Every limit of a class."""
    limits = study.rules.limits
    for key in ("minimum", "maximum", "front_axle", "rear_axle"):
        if key in full.weight:
            weight = full.weight[key]
            for name, path in _forms(key, weight.path):
                if path in limits:
                    yield LimitHere(name, weight.clause or "", path, limits[path], None)
    for placed in full.rules["limit"]:
        for key in ("minimum", "maximum", "front_axle", "rear_axle"):
            for name, path in _forms(key, (*placed.path, key)):
                if path in limits:
                    yield LimitHere(name, placed.rule.clause, path, limits[path], study.node(placed.path))


def _forms(key: str, path: Path) -> list[tuple[str, Path]]:
    if not key.endswith("axle"):
        return [(key, path)]
    name = key.replace("_", "-")
    return [(f"{name} minimum", (*path, "least")), (f"{name} maximum", (*path, "most"))]


# --- Figures for which the book does not say the limit


def limits_with_gaps(study: Study) -> Iterator[Blemish]:
    classes: dict[tuple[LimitHere, str, Path, str], list[str]] = {}
    gaps: dict[Path, list[Gap]] = {}
    for full in study.classes:
        entering = [each for each in demands(study, full) if each.form in ("enter", "require")]
        for limit in limits_of(study, full):
            open_gaps: dict[tuple[str, Path, str], list[str]] = {}
            if limit.path not in gaps:
                gaps[limit.path] = list(_gaps(study, limit))
            for gap in gaps[limit.path]:
                if _lets_in(study, entering, limit, gap):
                    open_gaps.setdefault((gap.what, gap.path, gap.title), []).append(gap.figures)
            for (what, path, title), figures in open_gaps.items():
                words = f"{title} {listed(figures, 'or')}"
                classes.setdefault((limit, what, path, words), []).append(f'"{full.id}"')
    for (limit, what, path, words), ids in classes.items():
        names = ids[:MOST_CLASSES] + ([f"{len(ids) - MOST_CLASSES} more"] if ids[MOST_CLASSES:] else [])
        word, verb = ("class", "lets") if len(ids) == 1 else ("classes", "let")
        sentence = (
            f"The {limit.which} of clause {limit.clause} does not say what holds for {words},"
            f" and {word} {listed(names)} {verb} such a car enter."
        )
        yield study.blemish(path, what, limit.clause, sentence)


def _lets_in(study: Study, entering: list[Demand], limit: LimitHere, gap: Gap) -> bool:
    nodes = [node for each in entering for node in each.nodes]

    def question(space: Space) -> bool:
        cases = space.both(space.holds(gap.node), space.holds(limit.only_if))
        return space.possible(space.both(cases, together(space, entering)))

    return study.ask([*nodes, gap.node, limit.only_if], (), question) or False


def _gaps(study: Study, limit: LimitHere) -> Iterator[Gap]:
    form = limit.spec.form
    if not isinstance(form, (Banded, ByCase)) or form.otherwise is not None:
        return
    fact = study.rules.facts[form.fact]
    if isinstance(form, Banded):
        yield from _between_bands(study, form, fact, limit.path)
    else:
        yield from _missing_cases(study, form, fact, limit.path)


def _between_bands(study: Study, form: Banded, fact: Fact, path: Path) -> Iterator[Gap]:
    rows = sorted(enumerate(form.bands), key=lambda row: row[1].over)
    end: Fraction | None = Fraction(0)
    for index, band in rows:
        assert end is not None  # only the last band may be open, and bands do not overlap
        if band.over > end:
            lower: Edges = ((end, True),) if end else ()
            yield _stretch(study, fact, lower, band.over, (*path, "over_up_to", index))
        end = band.up_to
    if end is not None:
        yield _stretch(study, fact, ((end, True),), None, (*path, "over_up_to", rows[-1][0]))


def _stretch(study: Study, fact: Fact, lower: Edges, up_to: Fraction | None, path: Path) -> Gap:
    node = Within(fact.id, Bounds(lower, () if up_to is None else ((up_to, False),)))
    over = lower[0][0] if lower else None
    assert not isinstance(over, AsMade)
    return Gap("gap-in-bands", node, inside(fact.title), band_text(over, up_to, fact, study.units), path)


def _missing_cases(study: Study, form: ByCase, fact: Fact, path: Path) -> Iterator[Gap]:
    known = {value for value, _ in form.cases}
    at: Path = (*path, "cases")
    title = inside(fact.title) + (":" if fact.type == "yes-no" else "")
    if fact.type == "choice" or fact.type == "yes-no":
        for value in fact.choices if fact.type == "choice" else (True, False):
            if value not in known:
                figure = figure_text(value, fact, study.units)
                yield Gap("missing-case", IsOneOf(fact.id, (value,)), title, figure, at)
    else:
        yield Gap("missing-case", Not(IsOneOf(fact.id, tuple(known))), title, "of any other value", at)


# --- A minimum over the maximum


def minima_over_maxima(study: Study) -> Iterator[Blemish]:
    told: set[tuple[Path, Path]] = set()
    for full in study.classes:
        adjusted = _moving(full.weight["adjust"].value if "adjust" in full.weight else ())
        weight = {key: (full.weight[key].path, full.weight[key].clause or "") for key in full.weight}
        sets = [(weight, adjusted)]
        for placed in full.rules["limit"]:
            own = {key: ((*placed.path, key), placed.rule.clause) for key in placed.rule.stated}
            sets.append((own, _moving((adjust, ()) for adjust in placed.rule.adjust or ())))
        for places, moved in sets:
            for least, most, name in _pairs(places):
                low, high = _plain(study, least[0]), _plain(study, most[0])
                if (
                    low is None
                    or high is None
                    or low <= high
                    or moved & {name, "maximum"}
                    or (least[0], most[0]) in told
                ):
                    continue
                told.add((least[0], most[0]))
                yield _over(study, least, most, low, high)


def _pairs(places: dict[str, tuple[Path, str]]) -> Iterator[tuple[tuple[Path, str], tuple[Path, str], str]]:
    if "minimum" in places and "maximum" in places:
        yield places["minimum"], places["maximum"], "minimum"
    for axle in ("front_axle", "rear_axle"):
        if axle in places:
            path, clause = places[axle]
            yield ((*path, "least"), clause), ((*path, "most"), clause), axle


def _moving(adjusts: Any) -> set[str]:
    """The limits that some adjustment may move so that the two no longer contradict one another."""
    return {
        adjust.of
        for adjust, _ in adjusts
        if adjust.add.amount is None or (adjust.add.amount.value > 0) == (adjust.of == "maximum")
    }


def _plain(study: Study, path: Path) -> Fraction | None:
    spec = study.rules.limits.get(path)
    return spec.form.value if spec is not None and isinstance(spec.form, Amount) else None


def _over(study: Study, least: tuple[Path, str], most: tuple[Path, str], low: Fraction, high: Fraction) -> Blemish:
    unit = study.units.get("mass")
    sentence = (
        f"The minimum of clause {least[1]}, {amount_text(low, 'mass', unit)}, is over the maximum of clause"
        f" {study.cited(most[1], most[0])}, {amount_text(high, 'mass', unit)}: no car can keep both."
    )
    return study.blemish(least[0], "minimum-over-maximum", least[1], sentence, most[1])
