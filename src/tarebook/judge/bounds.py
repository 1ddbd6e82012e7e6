"""Bounds on a part as it ends up: each bound tests a subject, and says where an unknown particular matters."""

from fractions import Fraction
from typing import Literal, NamedTuple, Protocol

from tarebook.car.changes import Change
from tarebook.fact_values import Value
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Cuts, Unknown
from tarebook.judge.view import Answer, View, both
from tarebook.kinds import covers
from tarebook.rules.models import LengthRange, MassRange, NumberRange, PartBounds

Measure = Literal["weighs", "weight_removed", "share_of_original", "share_removed"]
Range = tuple[tuple[tuple[Fraction, bool], ...], tuple[tuple[Fraction, bool], ...]]
DRIVER_AT = Unknown("part", "driver.seat_at")
WHEELBASE = Unknown("fact", "wheelbase")
MODEL_YEAR = Unknown("fact", "model_year")
ANY_YEAR = Fraction(2000)


class Subject(NamedTuple):
    """A part under bounds.

    Attributes:
        name: how its unknown particulars are called: the part's, or the kind where the ledger has no part.
        ends: the parts as it ends up; none where the ledger has no part.
        old: the part that was there before.
        came_off, added: whether it came off, or came to the car without taking a place.
    """

    name: str
    ends: tuple[str, ...]
    old: str | None
    came_off: bool = False
    added: bool = False


def subject_of(change: Change) -> Subject:
    if change.action == "remove":
        return Subject(change.old or change.kind, (change.old,) if change.old else (), change.old, came_off=True)
    return Subject(change.new[0], change.new, change.old, added=change.action == "fit")


class Bound(Protocol):
    """One bound of a `part` table."""

    def test(self, view: View, subject: Subject) -> Answer:
        """Whether the subject keeps it."""

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        """Note where an unknown particular of the subject makes a difference."""


def prepare_bounds(bounds: PartBounds | None) -> tuple[Bound, ...]:
    """The bounds of a rule, ready to test; none if the rule has none."""
    if bounds is None:
        return ()
    found: list[Bound] = []
    for measure in ("weighs", "weight_removed", "share_of_original", "share_removed"):
        limits = getattr(bounds, measure)
        if limits is not None:
            found.append(MassBound(measure, read_range(limits)))
    if bounds.origin is not None:
        found.append(OriginBound(bounds.origin))
    if bounds.material is not None:
        allowed = None if bounds.material == "as-original" else tuple(each.casefold() for each in bounds.material)
        found.append(MaterialBound(allowed, as_original=bounds.material == "as-original"))
    if bounds.material_not is not None:
        found.append(MaterialBound(tuple(each.casefold() for each in bounds.material_not), banned=True))
    if bounds.thickness is not None:
        found.append(LengthBound("thickness", read_range(bounds.thickness)))
    if bounds.at is not None:
        found.append(LengthBound("at", read_range(bounds.at)))
    if bounds.behind is not None:
        found.append(BehindDriver())
    if bounds.within is not None:
        found.append(WithinWheelbase())
    if bounds.years is not None:
        found.append(YearsBound())
    if bounds.approval is not None:
        found.append(ApprovalBound(tuple(bounds.approval)))
    if bounds.place is not None:
        found.append(PlaceBound(tuple(bounds.place)))
    return tuple(found)


def keeps(bounds: tuple[Bound, ...], view: View, subject: Subject) -> Answer:
    answer: Answer = True
    for bound in bounds:
        answer = both(answer, bound.test(view, subject))
        if answer is False:
            return False
    return answer


def read_range(limits: MassRange | LengthRange | NumberRange) -> Range:
    """Lower and upper bounds, each with whether the edge itself is left out."""

    def sides(*words: str) -> tuple[tuple[Fraction, bool], ...]:
        return tuple(
            (edge if isinstance(edge, Fraction) else edge.value, word in ("over", "under"))
            for word in words
            if (edge := getattr(limits, word)) is not None
        )

    return sides("least", "over"), sides("most", "under", "up_to")


def _inside(limits: Range, number: Fraction) -> bool:
    lower, upper = limits
    return all(number > edge or (number == edge and not strict) for edge, strict in lower) and all(
        number < edge or (number == edge and not strict) for edge, strict in upper
    )


def _edges(limits: Range) -> list[Fraction]:
    return [edge for side in limits for edge, _ in side]


class MassBound(NamedTuple):
    """A bound on the mass of the part, or on how it compares with the part that was there before."""

    measure: Measure
    limits: Range

    def test(self, view: View, subject: Subject) -> Answer:
        if self.measure in ("share_of_original", "share_removed") and subject.added:
            return False
        number = self._measured(view.situation, subject)
        if number is None:
            unknown, known = self._unknown(view.situation, subject)
            tried = view.ask(unknown)
            if tried is None:
                return None
            assert isinstance(tried, Fraction)
            number = self._from_trial(tried, known)
            if number is None:  # a share of nothing
                return False
        return _inside(self.limits, number)

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        if self._measured(situation, subject) is None:
            unknown, known = self._unknown(situation, subject)
            cuts.at(unknown, [cut for edge in _edges(self.limits) for cut in self._to_trial(edge, known)])

    def _measured(self, situation: Situation, subject: Subject) -> Fraction | None:
        new, old = _new_mass(situation, subject), _old_mass(situation, subject)
        if self.measure == "weighs":
            return new
        if subject.came_off:
            return {"share_of_original": Fraction(0), "share_removed": Fraction(1)}.get(self.measure, new)
        if subject.old is not None and subject.ends == (subject.old,) and not _is_lightened(situation, subject.old):
            return Fraction(1) if self.measure == "share_of_original" else Fraction(0)
        if new is None or old is None:
            return None
        if self.measure == "weight_removed":
            return old - new
        if not old:
            return None
        return new / old if self.measure == "share_of_original" else 1 - new / old

    def _unknown(self, situation: Situation, subject: Subject) -> tuple[Unknown, tuple[str, Fraction] | None]:
        """The unknown to try, and what is known beside it: ("new" or "old", its mass)."""
        new, old = _new_mass(situation, subject), _old_mass(situation, subject)
        single = len(subject.ends) <= 1
        if self.measure == "weighs" or subject.came_off:
            if single:
                return _mass_of(situation, subject), None
        elif new is None and old is not None and single:
            return _mass_of(situation, subject), ("old", old)
        elif old is None and new is not None and subject.old is not None:
            return Unknown("part", f"{subject.old}.mass"), ("new", new)
        return Unknown("part", f"{subject.name}.{self.measure}"), ("itself", Fraction(0))

    def _from_trial(self, tried: Fraction, known: tuple[str, Fraction] | None) -> Fraction | None:
        if known is None or known[0] == "itself":
            return tried
        new, old = (tried, known[1]) if known[0] == "old" else (known[1], tried)
        if self.measure == "weight_removed":
            return old - new
        if not old:
            return None
        return new / old if self.measure == "share_of_original" else 1 - new / old

    def _to_trial(self, edge: Fraction, known: tuple[str, Fraction] | None) -> list[Fraction]:
        if known is None or known[0] == "itself":
            return [edge]
        share = 1 - edge if self.measure == "share_removed" else edge
        if known[0] == "old":
            return [known[1] - edge if self.measure == "weight_removed" else share * known[1]]
        if self.measure == "weight_removed":
            return [known[1] + edge]
        return [known[1] / share] if share > 0 else []


def _is_lightened(situation: Situation, part_id: str) -> bool:
    return part_id in situation.configuration.lightened


def _new_mass(situation: Situation, subject: Subject) -> Fraction | None:
    lightened = situation.configuration.lightened
    masses = [situation.ledger.part_mass(part_id, lightened.get(part_id)) for part_id in subject.ends]
    if not masses or any(mass is None for mass in masses):
        return None
    return sum((mass.value for mass in masses if mass is not None), Fraction(0))


def _old_mass(situation: Situation, subject: Subject) -> Fraction | None:
    if subject.added:
        return Fraction(0)
    mass = situation.ledger.part_mass(subject.old) if subject.old is not None else None
    return mass.value if mass is not None else None


def _mass_of(situation: Situation, subject: Subject) -> Unknown:
    end = subject.ends[0] if subject.ends else subject.name
    lightened = situation.configuration.lightened.get(end)
    return Unknown("part", f"{end}.mass", lightened[0] if lightened else "")


class OriginBound(NamedTuple):
    origin: str

    def test(self, view: View, subject: Subject) -> Answer:
        parts = view.situation.inventory.parts
        return (
            all(parts[part_id].origin == self.origin for part_id in subject.ends)
            if subject.ends
            else (self.origin == "factory")
        )

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        """The origin is never unknown."""


class MaterialBound(NamedTuple):
    names: tuple[str, ...] | None
    banned: bool = False
    as_original: bool = False

    def test(self, view: View, subject: Subject) -> Answer:
        if self.as_original:
            return self._as_original(view, subject)
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            material = self._material(view, part_id)
            assert self.names is not None
            answer = both(answer, None if material is None else (material in self.names) != self.banned)
        return answer

    def _as_original(self, view: View, subject: Subject) -> Answer:
        if subject.added:
            return False
        if subject.ends == (subject.old,) or (not subject.ends and subject.came_off):
            return True
        original = self._material(view, subject.old or f"original {subject.name}")
        answer: Answer = True
        for part_id in subject.ends:
            material = self._material(view, part_id)
            answer = both(answer, None if material is None or original is None else material == original)
        return answer

    def _material(self, view: View, part_id: str) -> Value | None:
        part = view.situation.inventory.parts.get(part_id)
        if part is not None and part.material is not None:
            return part.material.casefold()
        return view.ask(Unknown("part", f"{part_id}.material"))

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        old = (subject.old or f"original {subject.name}",) if self.as_original else ()
        everyone = (*(subject.ends or (subject.name,)), *old)
        parts = situation.inventory.parts
        known = [
            material.casefold()
            for part_id in everyone
            if part_id in parts and (material := parts[part_id].material) is not None
        ]
        for part_id in everyone:
            if part_id not in parts or parts[part_id].material is None:
                unknown = Unknown("part", f"{part_id}.material")
                cuts.text(unknown, (*(self.names or ()), *known))
                for other in old:
                    if other != part_id and (other not in parts or parts[other].material is None):
                        cuts.alike(unknown, Unknown("part", f"{other}.material"))


def _place_along(situation: Situation, part_id: str) -> Fraction | None:
    move = situation.configuration.moved.get(part_id)
    if move is not None and move.at is not None:
        return move.at.value
    part = situation.inventory.parts.get(part_id)
    return part.at.value if part is not None and part.at is not None else None


class LengthBound(NamedTuple):
    """A bound on the thickness, or on the distance behind the front axle."""

    what: Literal["thickness", "at"]
    limits: Range

    def test(self, view: View, subject: Subject) -> Answer:
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            length = self._known(view.situation, part_id)
            if length is None:
                length = _as_number(view.ask(Unknown("part", f"{part_id}.{self.what}")))
            answer = both(answer, None if length is None else _inside(self.limits, length))
        return answer

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        for part_id in subject.ends or (subject.name,):
            if self._known(situation, part_id) is None:
                cuts.at(Unknown("part", f"{part_id}.{self.what}"), _edges(self.limits))

    def _known(self, situation: Situation, part_id: str) -> Fraction | None:
        if self.what == "at":
            return _place_along(situation, part_id)
        part = situation.inventory.parts.get(part_id)
        return part.thickness.value if part is not None and part.thickness is not None else None


def _as_number(value: Value | None) -> Fraction | None:
    assert value is None or isinstance(value, Fraction)
    return value


class BehindDriver(NamedTuple):
    def test(self, view: View, subject: Subject) -> Answer:
        seat = _seat(view.situation)
        if seat is None:
            seat = _as_number(view.ask(DRIVER_AT))
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            at = _place_along(view.situation, part_id)
            if at is None:
                at = _as_number(view.ask(Unknown("part", f"{part_id}.at")))
            answer = both(answer, None if at is None or seat is None else at > seat)
        return answer

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        _cut_against(situation, subject, cuts, DRIVER_AT, _seat(situation))


def _seat(situation: Situation) -> Fraction | None:
    driver = situation.inventory.car.driver
    return driver.seat_at.value if driver is not None and driver.seat_at is not None else None


def _cut_against(situation: Situation, subject: Subject, cuts: Cuts, other: Unknown, known: Fraction | None) -> None:
    for part_id in subject.ends or (subject.name,):
        at = _place_along(situation, part_id)
        unknown = Unknown("part", f"{part_id}.at")
        if at is None:
            cuts.at(unknown, [known] if known is not None else [])
        if known is None:
            cuts.at(other, [at] if at is not None else [])
        if at is None and known is None:
            cuts.pair(unknown, other, Fraction(1), Fraction(0))


class WithinWheelbase(NamedTuple):
    def test(self, view: View, subject: Subject) -> Answer:
        wheelbase = _as_number(view.stated("wheelbase", False))
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            at = _place_along(view.situation, part_id)
            if at is None:
                at = _as_number(view.ask(Unknown("part", f"{part_id}.at")))
            if at is not None and at < 0:
                return False
            answer = both(answer, None if at is None or wheelbase is None else at <= wheelbase)
        return answer

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        _cut_against(situation, subject, cuts, WHEELBASE, _as_number(situation.facts.get("wheelbase")))


class YearsBound(NamedTuple):
    """The part was made or homologated for the car's model year; two years are the first and the last."""

    def test(self, view: View, subject: Subject) -> Answer:
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            years = _years(view.situation, part_id)
            if years is None:
                listed = _as_number(view.ask(Unknown("part", f"{part_id}.years")))
                years = None if listed is None else frozenset((listed,))
            year = _as_number(view.stated("model_year", False))
            if years is None:
                answer = both(answer, None)
                continue
            answer = both(answer, None if year is None else year in years)
        return answer

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        known = _as_number(situation.facts.get("model_year"))
        for part_id in subject.ends or (subject.name,):
            years = _years(situation, part_id)
            if years is not None:
                cuts.at(MODEL_YEAR, years)
                continue
            # One year, tried at every value of the model year, stands for all lists of years.
            unknown = Unknown("part", f"{part_id}.years")
            cuts.at(unknown, [ANY_YEAR if known is None else known])
            if known is None:
                cuts.at(MODEL_YEAR, [ANY_YEAR])
                cuts.pair(unknown, MODEL_YEAR, Fraction(1), Fraction(0))


def _years(situation: Situation, part_id: str) -> frozenset[Fraction] | None:
    part = situation.inventory.parts.get(part_id)
    if part is None or part.years is None:
        return None
    if len(part.years) == 2:
        return frozenset(map(Fraction, range(min(part.years), max(part.years) + 1)))
    return frozenset(map(Fraction, part.years))


class ApprovalBound(NamedTuple):
    """The part has one of these approvals."""

    names: tuple[str, ...]

    def test(self, view: View, subject: Subject) -> Answer:
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            part = view.situation.inventory.parts.get(part_id)
            if part is not None and part.approval is not None:
                has: Answer = any(name in part.approval for name in self.names)
            else:
                asked = [view.ask(Unknown("part", f"{part_id}.approval", name)) for name in self.names]
                has = True if True in asked else (None if None in asked else False)
            answer = both(answer, has)
        return answer

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        """Each approval is had or not."""


class PlaceBound(NamedTuple):
    """The part sits in one of these places, each a kind."""

    kinds: tuple[str, ...]

    def test(self, view: View, subject: Subject) -> Answer:
        answer: Answer = True
        for part_id in subject.ends or (subject.name,):
            place = _place(view.situation, part_id)
            if place is None:
                asked = view.ask(Unknown("part", f"{part_id}.place"))
                assert asked is None or isinstance(asked, str)
                place = asked
            answer = both(answer, None if place is None else any(covers(kind, place) for kind in self.kinds))
        return answer

    def cut(self, situation: Situation, subject: Subject, cuts: Cuts) -> None:
        for part_id in subject.ends or (subject.name,):
            if _place(situation, part_id) is None:
                cuts.text(Unknown("part", f"{part_id}.place"), self.kinds)


def _place(situation: Situation, part_id: str) -> str | None:
    move = situation.configuration.moved.get(part_id)
    if move is not None and move.place is not None:
        return move.place
    part = situation.inventory.parts.get(part_id)
    return part.place if part is not None else None
