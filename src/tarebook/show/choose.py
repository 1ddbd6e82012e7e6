"""Classes side by side, for a terminal: what each takes, what to find out, and what proposals would move."""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.car.reading import Car
from tarebook.facts import Fact
from tarebook.judge.wording import listed
from tarebook.meaning.words import figure_text, units_of
from tarebook.route.choosing import Choice, Key, Move, SortKey, Standing, places, standing, substance
from tarebook.route.reaching import Reach
from tarebook.route.stretches import Edge, Stretch
from tarebook.route.taking_off import currency_of
from tarebook.route.worth import FactWorth, Then, ValueWorth
from tarebook.rules.reading import RuleSet
from tarebook.show.editions import edition_text
from tarebook.show.text import VERDICT_WORDS, mass, mass_up, width, wrapped
from tarebook.toml_source import show_plain

ORDER_WORDS: dict[SortKey, str] = {
    "now": "eligible now first",
    "planned": "best verdict as planned",
    "cost": "least cost to be eligible",
    "hours": "least hours to be eligible",
    "over-minimum": "least weight over the minimum",
    "ballast": "least ballast owed",
    "lightest": "lightest legal build",
    "facts": "fewest facts to find",
    "name": "name",
}
FIGURES = f"{'to be eligible':>16}{'lightest':>10}{'over min.':>10}{'ballast':>9}{'find':>5}"
NOT_KNOWN = (
    "What this cannot know: how competitive a class is. It says nothing of who enters there, how quick they are and"
    " what they spend. Cost and hours are as the car file states them, and jobs that it does not list are left out."
)


class Answer(NamedTuple):
    """The classes in order, and what goes with them. `proposed` and `moves` are empty without proposals to count."""

    choices: Sequence[Choice]
    order: Sequence[SortKey]
    worth: Sequence[FactWorth]
    proposed: Sequence[str]
    moves: Sequence[Move]
    days: dict[str, datetime.date]


def choose_lines(answer: Answer, car: Car) -> Iterator[str]:
    """The whole answer for a terminal, masses in the car file's unit."""
    yield from _Text(answer, car).lines()


class _Text:
    def __init__(self, answer: Answer, car: Car) -> None:
        self.answer = answer
        self.car = car
        self.unit = car.units.get("mass") or "kg"
        self.money = currency_of(car.inventory)
        self.names = class_names(answer.choices)
        self.places = places(answer.choices, answer.order)

    def lines(self) -> Iterator[str]:
        days = dict.fromkeys(day.isoformat() for day in self.answer.days.values())
        yield wrapped(f"{self.car.name} ({self.car.source.name}), every class side by side, on {', '.join(days)}")
        words = ", then ".join(ORDER_WORDS[key] for key in self.answer.order)
        yield wrapped(f"Ranked by: {words}; --sort changes it.")
        yield ""
        yield from self._table()
        reached = [reach for choice in self.answer.choices if (reach := choice.reaches.eligible) is not None]
        if any(reach.unpriced for reach in reached):
            yield "+: some of these jobs state no cost, and count nothing."
        if any(reach.beyond_budget for reach in reached):
            yield "*: over the budget."
        aside = dict(each for choice in self.answer.choices for each in choice.reaches.left_aside)
        for job, sentence in aside.items():
            yield wrapped(f"Left out of the lightest builds: {job}. {sentence}", "", "  ")
        yield ""
        for rules in dict.fromkeys(choice.rules for choice in self.answer.choices):
            names = [self.names[choice.key] for choice in self.answer.choices if choice.rules is rules]
            yield wrapped(f"{edition_text(rules)} ({rules.source.name}): {', '.join(names)}", "", "  ")
        yield ""
        for choice in self.answer.choices:
            yield from self._class(choice)
        yield from self._worth()
        yield from self._proposals()
        yield ""
        yield wrapped(NOT_KNOWN)
        yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")

    # --- The table

    def _table(self) -> Iterator[str]:
        """Verdicts and figures in one line for each class, or in two tables where there is no room for that."""
        builds = list(self.answer.days)
        names = [self.names[choice.key] for choice in self.answer.choices]
        label = max((len(show_plain(name)) for name in names), default=0) + 6
        heads = ["".join(f"{show_plain(build):14}" for build in builds), FIGURES]
        halves = [
            ("".join(f"{self._verdict(each, build):14}" for build in builds), self._figures(each))
            for each in self.answer.choices
        ]
        rows = [f"{self.places[each.key]:>2}  {show_plain(self.names[each.key])}" for each in self.answer.choices]
        if label + len(heads[0]) + len(heads[1]) <= width():
            tables = [("".join(heads), ["".join(half) for half in halves])]
        else:
            tables = [(head, [half[index] for half in halves]) for index, head in enumerate(heads)]
        for number, (head, lines) in enumerate(tables):
            if number:
                yield ""
            yield f"{'':{label}}{head}".rstrip()
            for row, line in zip(rows, lines, strict=True):
                yield f"{row:{label}}{line}".rstrip()

    def _figures(self, choice: Choice) -> str:
        return (
            f"{self._price(choice):>16}{self._mass(choice.lightest_kg):>10}{self._mass(choice.over_minimum_kg):>10}"
            f"{self._ballast(choice):>9}{choice.to_find or '':>5}"
        )

    def _verdict(self, choice: Choice, build: str) -> str:
        verdict = choice.verdict(build)
        return "no such class" if verdict is None else VERDICT_WORDS[verdict]

    def _price(self, choice: Choice) -> str:
        reach = choice.reaches.eligible
        if reach is None:
            return _NO_WAY[standing(choice)] if choice.reaches.in_time else "not found"
        if not reach.jobs:
            return f"{'ballast alone' if reach.ballast_kg else 'nothing to do'}{'*' if reach.beyond_budget else ''}"
        return f"{self._cost(reach)}, {reach.hours:g} h{'*' if reach.beyond_budget else ''}"

    def _cost(self, reach: Reach) -> str:
        return f"{f'{reach.cost:.0f} {self.money}'.rstrip()}{'+' * bool(reach.unpriced)}"

    def _mass(self, kilograms: float | None) -> str:
        return "" if kilograms is None else mass(kilograms, self.unit)

    def _ballast(self, choice: Choice) -> str:
        return mass(choice.ballast_kg, self.unit, _decimals(choice.ballast_kg, 1)) if choice.ballast_kg else ""

    # --- What each class would take

    def _class(self, choice: Choice) -> Iterator[str]:
        reaches = choice.reaches
        yield wrapped(f"{self.names[choice.key]}: {choice.title}")
        if reaches.eligible is None:
            yield wrapped(self._shut(choice), "  ", "    ")
        elif reaches.eligible.jobs or reaches.eligible.ballast_kg:
            over = ", which is over the budget" if reaches.eligible.beyond_budget else ""
            yield wrapped(f"to be eligible: {self._way(reaches.eligible)}{over}", "  ", "    ")
        if reaches.at_minimum is not None:
            yield wrapped(f"to be at the minimum: {self._weighs(choice, reaches.at_minimum)}", "  ", "    ")
        if reaches.lightest is not None and reaches.lightest != reaches.at_minimum:
            yield wrapped(f"lightest legal build: {self._weighs(choice, reaches.lightest)}", "  ", "    ")
        elif reaches.lightest is None and reaches.eligible is not None and reaches.in_time:
            why = "; ".join(choice.not_known) or "none within the budget"
            yield wrapped(f"lightest legal build: {why}", "  ", "    ")
        barest = reaches.barest
        if barest is not None and barest.mass_kg is not None and barest.ballast_kg:
            bare = mass(barest.mass_kg - barest.ballast_kg, self.unit)
            yield wrapped(f"least car that the jobs leave: {bare}, by {self._way(barest)}", "  ", "    ")
        if choice.verdict("now") == "too-close":
            again = f"tarebook mass {self.car.source.name} --class {choice.prepared.id}"
            yield wrapped(f"too close to call now; what to weigh again: {again}", "  ", "    ")
        if choice.facts_to_find:
            yield wrapped(f"find out: {', '.join((*choice.facts_to_find, *choice.not_known))}", "  ", "    ")

    def _shut(self, choice: Choice) -> str:
        if not choice.reaches.in_time:
            return "no set of jobs was found in the time that the search has"
        if choice.not_known and not choice.facts_to_find:
            return f"not known: {'; '.join(choice.not_known)}"
        undone = choice.reaches.by_undoing
        if undone is not None:
            return f"only by undoing {self._undoing(undone)}"
        urgent = [each for each in choice.rows["now"].urgent if each.result in ("violation", "owed")]
        clauses = list(dict.fromkeys(finding.clause for finding in urgent))
        against = f" Now it stands against clause {listed(clauses[:4])}" if clauses else ""
        against += f" and {len(clauses) - 4} more" if len(clauses) > 4 else ""
        known = "as far as is known, " if choice.facts_to_find else ""
        told = f"{known}no set of the car file's jobs, done ones undone or not, surely opens it.{against}"
        return told.rstrip(".") + "."

    def _undoing(self, reach: Reach) -> str:
        price = f"({self._cost(reach)}, {reach.hours:g} h)"
        more = f", and doing {', '.join(reach.jobs)} {price}" if reach.jobs else ""
        return f"{', '.join(reach.undo)}{more}{self._owed(reach)}"

    def _way(self, reach: Reach) -> str:
        told = f"{', '.join(reach.jobs)} ({self._cost(reach)}, {reach.hours:g} h)" if reach.jobs else ""
        told = f"{told or 'no job'}{self._owed(reach)}"
        if reach.unpriced:
            told += f"; no cost stated for {listed(reach.unpriced)}"
        return told if reach.proven else f"{told}; it is not proven that nothing better is left"

    def _owed(self, reach: Reach) -> str:
        if not reach.ballast_kg:
            return ""
        return f" and {mass_up(Fraction(reach.ballast_kg).limit_denominator(10**6), self.unit)} of ballast"

    def _weighs(self, choice: Choice, reach: Reach) -> str:
        if reach.mass_kg is None:
            return f"its mass is not known: {self._way(reach)}"
        if reach.over_minimum_kg is not None:
            over = mass(reach.over_minimum_kg, self.unit)
            unsure = reach is choice.reaches.at_minimum
            tail = f"{over} over the minimum"
            if reach.hangs_on:
                tail += f" at its worst (it hangs on {listed(reach.hangs_on)})"
            elif unsure:
                tail += ", for what the scales leave unsure"
        else:
            tail = "no minimum"
        return f"{mass(reach.mass_kg, self.unit)}, {tail}: {self._way(reach)}"

    # --- Facts and proposals

    def _worth(self) -> Iterator[str]:
        if not self.answer.worth:
            return
        yield ""
        yield "What it is worth to find out"
        for worth in self.answer.worth:
            names = listed(self.names[key] for key in worth.classes)
            head = f"{worth.name}{_meaning(worth.fact)}: {names} hang{'s' * (len(worth.classes) == 1)} on it"
            if not worth.values:
                yield wrapped(f"{head}; what its values would come to cannot be told here.", "  ", "    ")
                continue
            tail = ", and so does the ranking" if worth.reorders and not worth.graded else ""
            yield wrapped(f"{head}{tail}", "  ", "    ")
            for value in worth.values:
                yield wrapped(self._value(worth, value), "    ", "      ")

    def _value(self, worth: FactWorth, value: ValueWorth) -> str:
        choices = {choice.key: choice for choice in self.answer.choices}
        told = self._verdicts if worth.graded else self._becomes
        words = "; ".join(told(choices[then.choice.key], then) for then in value.classes)
        return f"{stretch_text(value.stretch, worth.fact, choices[worth.classes[0]].rules)}: {words}"

    def _verdicts(self, before: Choice, then: Then) -> str:
        verdicts = ", ".join(f"{build} {self._verdict(then.choice, build)}" for build in before.rows)
        return f"{self.names[before.key]} is {verdicts}"

    def _becomes(self, before: Choice, then: Then) -> str:
        name, was, becomes = self.names[before.key], standing(before), standing(then.choice)
        told = _STAYS[becomes] if was == becomes else _BECOMES[becomes]
        undoing = then.choice.reaches.by_undoing
        if becomes == "by-undoing" and undoing is not None:
            told += f" ({self._undoing(undoing)})"
        here = self.places[before.key]
        place = "" if then.place == here else f", place {then.place} instead of {here}"
        changes = "".join(self._changes(before, then.choice, shut=False))
        return f"{told.format(name)}{changes}{place}"

    def _proposals(self) -> Iterator[str]:
        if not self.answer.proposed:
            return
        yield ""
        yield wrapped(f"Proposed, and not counted above: {'; '.join(self.answer.proposed)}")
        if not self.answer.moves:
            yield "  They would change nothing here."
        aside = [move for move in self.answer.moves if self._is_pushed(move)]
        for move in self.answer.moves:
            if move not in aside:
                yield wrapped(self._move(move), "  ", "    ")
        if aside:
            pushed = listed(f"{self.names[move.key]} (to place {move.becomes})" for move in aside)
            yield wrapped(f"moved by that alone: {pushed}", "  ", "    ")

    def _is_pushed(self, move: Move) -> bool:
        """Whether only its place is another."""
        return move.before is not None and move.after is not None and substance(move.before) == substance(move.after)

    def _move(self, move: Move) -> str:
        name = self.names.get(move.key) or move.key[1]
        if move.after is None or move.becomes is None:
            return f"{name}: there would be no such class"
        if move.before is None or move.was is None:
            return f"{name}: would be new, at place {move.becomes}"
        place = f"place {move.becomes} instead of {move.was}" if move.was != move.becomes else "at the same place"
        return f"{name}: {place}{''.join(self._changes(move.before, move.after))}"

    def _changes(self, before: Choice, after: Choice, *, shut: bool = True) -> Iterator[str]:
        """Figures that would be others; `shut` to tell that nothing would make the car eligible any more."""
        for build in before.rows:
            if before.verdict(build) != after.verdict(build):
                yield f", {build} {self._verdict(after, build)} instead of {self._verdict(before, build)}"
        for word, one, other in (
            ("to be eligible", self._price(before), self._price(after)),
            ("lightest", self._mass(before.lightest_kg) or "not known", self._mass(after.lightest_kg) or "not known"),
            ("over the minimum", self._mass(before.over_minimum_kg), self._mass(after.over_minimum_kg)),
        ):
            if one != other and (shut or other not in _NO_WAY.values()):
                yield f", {word} {other or 'not known'} instead of {one or 'not known'}"


def _decimals(kilograms: float, least: int) -> int:
    """As many decimals as it takes to show that there is some."""
    return least if kilograms >= 0.05 else 3


_NO_WAY: dict[Standing, str] = {"not-known": "not known", "by-undoing": "by undoing", "shut": "none found"}
_BECOMES: dict[Standing, str] = {
    "eligible": "opens {} as the car stands",
    "within-reach": "brings {} within reach",
    "not-known": "leaves {} not known",
    "by-undoing": "opens {} only by undoing jobs",
    "shut": "shuts {}",
}
_STAYS: dict[Standing, str] = {
    "eligible": "{} stays open",
    "within-reach": "{} stays within reach",
    "not-known": "{} stays not known",
    "by-undoing": "{} still opens only by undoing jobs",
    "shut": "{} stays shut",
}


def _meaning(fact: Fact | None) -> str:
    return "" if fact is None or fact.title.casefold() == fact.id else f" ({fact.title})"


def class_names(choices: Iterable[Choice]) -> dict[Key, str]:
    """What each class is called: its id, with the book where several books have one of that name."""
    keys = [choice.key for choice in choices]
    ids = [class_id for _, class_id in keys]
    return {key: key[1] if ids.count(key[1]) == 1 else f"{key[0]}/{key[1]}" for key in keys}


def stretch_text(stretch: Stretch, fact: Fact | None, rules: RuleSet) -> str:
    """A stretch of values in words: "at most 98 dB(A)", "over 98 dB(A)", "a or b", "anything else"."""
    if stretch.values or stretch.rest:
        if fact is None:
            words = [_PRESENT.get(value, str(value)) for value in stretch.values]
        else:
            words = [figure_text(value, fact, units_of(rules)) for value in stretch.values]
        return listed([*words, *(["anything else"] if stretch.rest else [])], "or")
    assert fact is not None
    if stretch.low is not None and stretch.low == stretch.high:
        return _edge_text(stretch.low, fact, rules)
    told = []
    if stretch.low is not None:
        told.append(
            f"{'over' if stretch.low[1] else _FROM[fact.type == 'date']} {_edge_text(stretch.low, fact, rules)}"
        )
    if stretch.high is not None:
        told.append(
            f"{'under' if stretch.high[1] else _TO[fact.type == 'date']} {_edge_text(stretch.high, fact, rules)}"
        )
    return listed(told) if told else "whatever it is"


_PRESENT: dict[Any, str] = {True: "if the car has it", False: "if it has not"}
_FROM = {False: "at least", True: "from"}
_TO = {False: "at most", True: "up to"}


def _edge_text(edge: Edge, fact: Fact, rules: RuleSet) -> str:
    if fact.type == "date":
        return str(datetime.date.fromordinal(int(edge[0])))
    figure, about = edge[0], ""
    if (figure * 10_000).denominator != 1:  # where a verdict turns on a mass, not at a figure of the book
        figure, about = Fraction(round(figure * 100), 100), "about "
    return f"{about}{figure_text(figure, fact, units_of(rules))}"
