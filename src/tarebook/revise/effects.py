"""What a new edition does to one car: verdicts, margins, work that must be undone, parts, and finish duties."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from tarebook.car.changes import Change
from tarebook.car.reading import Car
from tarebook.checking import settle
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import Finding, Row, Verdict
from tarebook.judge.judging import judge
from tarebook.judge.prepared import PreparedBook, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.kinds import Kind
from tarebook.route.removals import Removal, find_removals
from tarebook.rules.reading import RuleSet
from tarebook.weight.ledger import Ledger

Turn = Literal["newly-illegal", "newly-legal"]
Days = datetime.date | Mapping[str, datetime.date]
WORSE: tuple[Verdict, ...] = ("eligible", "too-close", "undecided", "not-eligible")
_MAY, _MAY_NOT = ("may", "may-with-duty"), ("must-stay",)


@dataclass(frozen=True, slots=True)
class PartEffect:
    """A change of a part that may no longer be made, or may now.

    Attributes:
        does: the change: "remove", "swap", "fit", "lighten" or "move".
        already_done: whether the build has that change; if it is newly illegal, it must be undone.
        clause, sentence: of the new edition.
        mass_kg: the mass of the part; None if it was never weighed.
        gains_kg: what the car gains by undoing the change; of a change not made, None, as where it is unknown.
    """

    part: str
    title: str
    kind: str
    turn: Turn
    does: str
    already_done: bool
    clause: str
    sentence: str
    place: tuple[str, int]
    mass_kg: float | None
    gains_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Duty:
    """A finish that is owed: the id that the edition gives it, its clause and where it stands."""

    id: str
    clause: str
    sentence: str
    place: tuple[str, int]


@dataclass(frozen=True, slots=True)
class Effect:
    """What a new edition does to one build in one class; masses in kg, margins positive on the legal side.

    `was` and `now` are None where the class is not in that edition; `was_class` is its name there if that differs.
    """

    book: str
    class_id: str
    build: str
    was: Verdict | None
    now: Verdict | None
    margin_was_kg: float | None
    margin_now_kg: float | None
    parts: tuple[PartEffect, ...] = ()
    newly_owed: tuple[Duty, ...] = ()
    no_longer_owed: tuple[Duty, ...] = ()
    facts_to_find_was: tuple[str, ...] = ()
    facts_to_find_now: tuple[str, ...] = ()
    was_class: str | None = None

    @property
    def worse(self) -> bool:
        """Whether the verdict is worse than it was: eligible, too close, undecided, not eligible, in that order."""
        return self.was is not None and self.now is not None and WORSE.index(self.now) > WORSE.index(self.was)

    def turned(self, turn: Turn) -> tuple[str, ...]:
        """The parts of that turn, each once."""
        return tuple(dict.fromkeys(each.part for each in self.parts if each.turn == turn))

    @property
    def undone(self) -> tuple[PartEffect, ...]:
        """The work that must be undone."""
        return tuple(each for each in self.parts if each.turn == "newly-illegal" and each.already_done)

    @property
    def undone_kg(self) -> float | None:
        """What the car gains by undoing that work; None where it cannot be told."""
        gains = [each.gains_kg for each in self.undone]
        known = [each for each in gains if each is not None]
        return sum(known) if len(known) == len(gains) else None


def effects(
    car: Car,
    old: RuleSet | None,
    new: RuleSet | None,
    builds: Sequence[str],
    on_old: Days,
    on_new: Days,
    renamed: Mapping[str, str] | None = None,
    adopted: tuple[Kind, ...] | None = None,
) -> list[Effect]:
    """What a new edition of one book does to builds of a car, class by class; None for an edition that is not there.

    The editions hold whatever their own days are: `on_old` and `on_new` only say how old things are. `renamed` has
    the old names of classes that only changed their names; `adopted` the kinds that the car takes from other books.

    Raises MistakesFound where the car does not fit the editions, KeyError for a build that it does not have.
    """
    sides = [each for each in (old, new) if each is not None]
    kinds = settle(car, sides) if adopted is None else adopted
    ledger = Ledger(car.inventory)
    before = _Side(car, old, kinds, ledger, on_old) if old is not None else None
    after = _Side(car, new, kinds, ledger, on_new) if new is not None else None
    names = dict(renamed or {})
    class_ids = list(new.class_ids) if new is not None else []
    if old is not None:
        class_ids += [each for each in old.class_ids if each not in class_ids and each not in names.values()]
    return [
        _effect(class_id, names.get(class_id, class_id), build, before, after)
        for class_id in class_ids
        for build in builds
    ]


class _Side:
    """One edition, and the car before it."""

    def __init__(self, car: Car, rules: RuleSet, kinds: tuple[Kind, ...], ledger: Ledger, on: Days) -> None:
        self.rules = rules
        self._before = CarBeforeBook(car, rules, kinds, ledger)
        self._book = PreparedBook(rules)
        self._on = on
        self._prepared: dict[str, PreparedClass] = {}
        self._situations: dict[str, Situation] = {}

    def judged(self, class_id: str, build: str) -> "_Judged | None":
        if class_id not in self.rules.class_ids:
            return None
        if class_id not in self._prepared:
            self._prepared[class_id] = self._book.prepare(class_id)
        if build not in self._situations:
            day = self._on[build] if isinstance(self._on, Mapping) else self._on
            self._situations[build] = self._before.situation(build, day)
        return _Judged(self.rules, self._before, self._prepared[class_id], self._situations[build])


@dataclass(slots=True)
class _Judged:
    """One build before one class of one edition."""

    rules: RuleSet
    before: CarBeforeBook
    prepared: PreparedClass
    situation: Situation
    row: Row = field(init=False)

    def __post_init__(self) -> None:
        self.row = judge(self.prepared, self.situation)

    def changes(self) -> dict[tuple[str, str], Finding]:
        """The findings about changes, by part and action."""
        found = {}
        for finding in self.row.findings:
            if finding.part is not None and finding.does is not None:
                found[finding.part, finding.does] = finding
        return found

    def removals(self) -> dict[str, Removal]:
        """What may come out; of what is off already only what must be put back."""
        return {row.part: row for row in find_removals(self.before, self.prepared, self.situation)}

    def duties(self) -> dict[object, Duty]:
        """The finishes that are owed, by what they ask."""
        rules = {placed.path: placed.rule for placed in self.prepared.full.rules["finish"]}
        found: dict[object, Duty] = {}
        for finding in self.row.findings:
            if finding.result == "owed" and finding.path in rules:
                rule = rules[finding.path]
                duty = Duty(rule.id, finding.clause, finding.sentence, self.place(finding.path))
                found[rule.area, frozenset(rule.by)] = duty
        return found

    def place(self, path: tuple[str | int, ...]) -> tuple[str, int]:
        return self.rules.source.where(path)


def _effect(class_id: str, was_id: str, build: str, before: _Side | None, after: _Side | None) -> Effect:
    old = before.judged(was_id, build) if before is not None else None
    new = after.judged(class_id, build) if after is not None else None
    either = new or old
    assert either is not None
    owed_was, owed_now = (each.duties() if each is not None else {} for each in (old, new))
    both = old is not None and new is not None
    return Effect(
        book=either.rules.id,
        class_id=class_id,
        build=build,
        was=old.row.verdict if old is not None else None,
        now=new.row.verdict if new is not None else None,
        margin_was_kg=old.row.margin_kg if old is not None else None,
        margin_now_kg=new.row.margin_kg if new is not None else None,
        parts=tuple(_parts(old, new)) if old is not None and new is not None else (),
        newly_owed=tuple(duty for what, duty in owed_now.items() if what not in owed_was) if both else (),
        no_longer_owed=tuple(duty for what, duty in owed_was.items() if what not in owed_now) if both else (),
        facts_to_find_was=old.row.facts_to_find if old is not None else (),
        facts_to_find_now=new.row.facts_to_find if new is not None else (),
        was_class=was_id if was_id != class_id and old is not None else None,
    )


def _parts(old: _Judged, new: _Judged) -> Iterator[PartEffect]:
    was, now = old.changes(), new.changes()
    made = {(change.part, change.action): change for change in new.situation.changes}
    for key, finding in now.items():
        turn = _turn(was[key].result if key in was else None, finding.result)
        if turn is not None and key in made:
            yield _done(new, made[key], finding, turn)
    could, can = old.removals(), new.removals()
    for part, row in can.items():
        if part in could and could[part].group in _MAY and row.group in _MAY_NOT:
            yield _still_on(new, row, "newly-illegal")
        elif part in could and could[part].group in _MAY_NOT and row.group in _MAY:
            yield _still_on(new, row, "newly-legal")


def _turn(was: str | None, now: str) -> Turn | None:
    """How a ruling on a change turned. One that was undecided was not legal for sure, and is not counted."""
    fine = ("allowed", "ask")
    if was in fine and now == "violation":
        return "newly-illegal"
    return "newly-legal" if was == "violation" and now in fine else None


def _done(new: _Judged, change: Change, finding: Finding, turn: Turn) -> PartEffect:
    inventory = new.situation.inventory
    part = inventory.parts[change.part]
    return PartEffect(
        part=change.part,
        title=part.title or change.part,
        kind=change.kind,
        turn=turn,
        does=change.action,
        already_done=True,
        clause=finding.clause,
        sentence=finding.sentence,
        place=new.place(finding.path),
        mass_kg=_mass(new.situation, change.part, change.part in new.situation.configuration.on),
        gains_kg=_gain(new.situation, change),
    )


def _still_on(new: _Judged, row: Removal, turn: Turn) -> PartEffect:
    reason = row.reasons[0] if row.reasons else None
    said = " ".join(dict.fromkeys(each.sentence for each in row.reasons))
    return PartEffect(
        part=row.part,
        title=row.title,
        kind=row.kind,
        turn=turn,
        does="remove",
        already_done=False,
        clause=reason.clause if reason is not None else "",
        sentence=said or f"{row.title} may be removed.",
        place=new.place(reason.path if reason is not None else new.prepared.full.path),
        mass_kg=row.mass_kg,
    )


def _mass(situation: Situation, part: str, as_it_is: bool = True) -> float | None:
    """The mass of a part, as the build has it or as it was."""
    lightened = situation.configuration.lightened.get(part) if as_it_is else None
    mass = situation.ledger.part_mass(part, lightened)
    return None if mass is None else float(mass.value)


def _gain(situation: Situation, change: Change) -> float | None:
    """What the car gains in mass by undoing a change."""
    if change.action == "move":
        return 0.0
    if change.action == "lighten":
        terms = [_mass(situation, change.part, False), _minus(_mass(situation, change.part))]
    else:
        terms = [_minus(_mass(situation, part)) for part in change.new]
        if change.action != "fit":
            terms.append(None if change.old is None else _mass(situation, change.old, False))
    known = [each for each in terms if each is not None]
    return sum(known) if len(known) == len(terms) else None


def _minus(mass: float | None) -> float | None:
    return None if mass is None else -mass
