"""Conditions over the space of all cases: equal meanings are one object, and what can hold is exactly what may be."""

import datetime
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from support import car, rules, toml
from tarebook.facts import BUILTIN
from tarebook.judge.bounds import keeps, prepare_bounds, subject_of
from tarebook.judge.conditions import prepare
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.view import View
from tarebook.kinds import covers
from tarebook.meaning.space import Space, TooMany
from tarebook.quantities import Quantity
from tarebook.rules.conditions import (
    Aged,
    All,
    AnyOf,
    AsMade,
    Bounds,
    Happened,
    IsOneOf,
    Not,
    ReadAsMade,
    Within,
)
from tarebook.rules.models import LengthRange, MassRange, NumberRange, PartBounds

ON = datetime.date(2027, 5, 1)
OWN_FACT = '[[fact]]\nid = "marque"\ntype = "text"\ntitle = "Marque"\n'


def conditions(*written, before=OWN_FACT):
    """A book's facts, and its conditions as read."""
    entries = "\n".join(f'[[class.enter]]\nclause = "2.{index}"\nmust = {each}' for index, each in enumerate(written))
    read = rules(entries, before=before)
    return read.facts, [read.nodes[("class", 0, "enter", index, "must")] for index in range(len(written))]


def diagrams(*written):
    facts, nodes = conditions(*written)
    space = Space(facts, nodes)
    return [space.holds(node) for node in nodes]


SAME = [
    ("{ seats = 4 }", "{ seats = { least = 4, most = 4 } }"),
    ("{ seats = 4 }", "{ not = { not = { seats = 4 } } }"),
    ("{ seats = { over = 4 } }", "{ seats = { least = 5 } }"),
    ("{ seats = { over = 3, under = 6 } }", "{ seats = [5, 4] }"),
    ("{ displacement = { up_to = '1 L' } }", "{ displacement = { most = '1000 cm3' } }"),
    ("{ displacement = { over = '1 L' } }", "{ not = { displacement = { up_to = '1000 cm3' } } }"),
    ("{ seats = 4, doors = 3 }", "{ doors = 3, seats = 4 }"),
    ("{ any = [{ seats = 4 }, { doors = 3 }] }", "{ not = { not = { any = [{ doors = 3 }, { seats = 4 }] } } }"),
    ("{ not = { seats = 4, doors = 3 } }", "{ any = [{ not = { seats = 4 } }, { not = { doors = 3 } }] }"),
    ("{ all = [{ seats = 4 }, { seats = { most = 6 } }] }", "{ seats = 4 }"),
    ("{ driven_wheels = ['front', 'rear'] }", "{ not = { driven_wheels = 'all' } }"),
    ("{ driven_wheels = ['front', 'front'] }", "{ driven_wheels = 'front' }"),
    ("{ open_top = true }", "{ not = { open_top = false } }"),
    ("{ marque = ['Wren', 'Plover'] }", "{ any = [{ marque = 'Plover' }, { marque = 'Wren' }] }"),
    ("{ off = 'interior.dash' }", "{ any = [{ removed = 'interior.dash' }, { swapped = 'interior.dash' }] }"),
    ("{ removed = ['interior', 'interior.dash'] }", "{ removed = 'interior' }"),
    ("{ removed = 'interior.dash' }", "{ removed = 'interior.dash', all = [{ removed = 'everything' }] }"),
    (
        "{ fitted = ['safety.cage', 'safety.harness'] }",
        "{ any = [{ fitted = 'safety.harness' }, { fitted = 'safety.cage' }] }",
    ),
    ("{ as_made = { seats = 4 } }", "{ as_made = { seats = { over = 3, under = 5 } } }"),
    ("{ as_made = { not = { seats = 4 } } }", "{ not = { as_made = { seats = 4 } } }"),
    ("{ extinguisher_checked = { age = { over = 2 } } }", "{ extinguisher_checked = { age = { least = 3 } } }"),
    ("{ first_registered = { over = 1999-12-31 } }", "{ first_registered = { least = 2000-01-01 } }"),
    ("{ first_registered = 2000-01-01 }", "{ first_registered = { over = 1999-12-31, under = 2000-01-02 } }"),
    (
        "{ track_rear = { up_to = { as_made = 'track_rear', plus = '25.4 mm' } } }",
        "{ track_rear = { most = { as_made = 'track_rear', plus = '1 in' } } }",
    ),
    (
        "{ as_made = { track_rear = { least = { as_made = 'track_front', plus = '5 mm' } } } }",
        "{ as_made = { track_front = { most = { as_made = 'track_rear', plus = '-5 mm' } } } }",
    ),
    ("{ as_made = { bore = { most = { as_made = 'bore' } } } }", "{ any = [{ seats = 4 }, { not = { seats = 4 } }] }"),
]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_equal_meanings_are_one_object(one, other):
    first, second = diagrams(one, other)
    assert first is second


DIFFERENT = [
    ("{ seats = 4 }", "{ seats = { least = 4 } }"),
    ("{ seats = 4 }", "{ as_made = { seats = 4 } }"),
    ("{ displacement = { over = '1 L' } }", "{ displacement = { least = '1 L' } }"),
    ("{ displacement = { up_to = '1 L' } }", "{ displacement = { up_to = '1.001 L' } }"),
    ("{ driven_wheels = ['front', 'rear'] }", "{ not = { driven_wheels = 'front' } }"),
    ("{ marque = ['Wren', 'Plover'] }", "{ not = { marque = 'Lapwing' } }"),
    ("{ off = 'interior.dash' }", "{ removed = 'interior.dash' }"),
    ("{ removed = 'interior' }", "{ removed = 'interior.dash' }"),
    ("{ fitted = 'safety.cage' }", "{ from_factory = 'safety.cage' }"),
    ("{ lightened = 'body' }", "{ moved = 'body' }"),
    ("{ first_registered = { least = 2000-01-01 } }", "{ first_registered = { least = 2000-01-02 } }"),
    ("{ first_registered = { age = { over = 2 } } }", "{ first_registered = { age = { over = 3 } } }"),
    (
        "{ track_rear = { up_to = { as_made = 'track_rear' } } }",
        "{ track_rear = { up_to = { as_made = 'track_front' } } }",
    ),
]


@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_different_meanings_are_different_objects(one, other):
    first, second = diagrams(one, other)
    assert first is not second


@pytest.mark.parametrize(
    "written",
    [
        "{ seats = 4, not = { seats = { least = 2 } } }",
        "{ all = [{ seats = { over = 4 } }, { seats = { under = 5 } }] }",
        "{ all = [{ displacement = { over = '2 L' } }, { displacement = { up_to = '2000 cm3' } }] }",
        "{ driven_wheels = 'front', not = { driven_wheels = ['front', 'all'] } }",
        "{ removed = 'interior.dash', not = { removed = 'interior' } }",
        "{ swapped = 'interior.dash', not = { off = 'everything' } }",
        "{ fitted = 'safety.cage', not = { fitted = 'safety' } }",
        "{ all = [{ first_registered = { over = 1999-12-31 } }, { first_registered = { under = 2000-01-01 } }] }",
        "{ first_registered = { over = 9999-12-31 } }",
        "{ all = [{ first_registered = { age = { over = 4 } } }, { first_registered = { age = { under = 5 } } }] }",
        "{ displacement = { under = '0 L' } }",
        "{ not = { driven_wheels = ['front', 'rear', 'all'] } }",
    ],
)
def test_what_can_never_hold_is_nothing(written):
    assert diagrams(written) == [0]


@pytest.mark.parametrize(
    "written",
    [
        "{ all = [{ power = { over = '4 kW' } }, { power = { under = '5 kW' } }] }",
        "{ removed = 'interior', not = { removed = 'interior.dash' } }",
        "{ removed = 'interior.dash', not = { swapped = 'interior' } }",
        "{ seats = 4, as_made = { seats = 5 } }",
        "{ first_registered = { age = { under = 1 } } }",
        "{ not = { marque = ['Wren', ''] } }",
    ],
)
def test_what_may_hold_is_possible_and_not_certain(written):
    facts, (node,) = conditions(written)
    space = Space(facts, [node])
    assert space.possible(space.holds(node))
    assert not space.certain(space.holds(node))


def test_a_counted_count_may_be_a_fraction():
    facts, (node,) = conditions("{ all = [{ seats = { over = 4 } }, { seats = { under = 5 } }] }")
    assert not Space(facts, [node]).possible(Space(facts, [node]).holds(node))
    counted = Space(facts, [node], counted={"seats"})
    assert counted.possible(counted.holds(node))


def test_no_condition_and_no_bounds_always_hold():
    space = Space(BUILTIN, [None], [None])
    assert space.certain(space.holds(None))
    assert space.certain(space.keeps(None))
    assert space.certain(space.both())
    assert not space.possible(space.either())


def test_a_space_answers_only_for_what_it_was_made_for():
    facts, (seats, more) = conditions("{ seats = { least = 4 } }", "{ seats = { least = 5 } }")
    space = Space(facts, [seats])
    with pytest.raises(ValueError, match="is not cut here"):
        space.holds(more)
    facts, (removed, fitted) = conditions("{ removed = 'interior' }", "{ fitted = 'interior' }")
    with pytest.raises(ValueError, match="fitted interior is not among"):
        Space(facts, [removed]).holds(fitted)


def test_what_a_change_makes_sure_reaches_every_branch_above():
    facts, nodes = conditions("{ removed = 'interior' }", "{ removed = 'interior.dash' }", "{ removed = 'body' }")
    space = Space(facts, nodes)
    interior, dash, body = map(space.holds, nodes)
    sure = space.has_happened("removed", "interior.dash.top")
    assert not space.possible(space.both(sure, space.negated(dash)))
    assert not space.possible(space.both(sure, space.negated(interior)))
    assert space.possible(space.both(sure, space.negated(body)))
    assert space.has_happened("removed", "glass") == 1
    assert space.has_happened("lightened", "interior.dash") == 1


def test_the_variables_of_a_diagram():
    facts, nodes = conditions("{ seats = 4, as_made = { doors = 3 }, removed = 'interior' }")
    space = Space(facts, nodes)
    assert space.depends_on(space.holds(nodes[0])) == [
        ("fact", "doors", "as made"),
        ("fact", "seats", ""),
        ("event", "removed", "interior"),
    ]


def test_too_much_is_said_to_be_too_much():
    names = [f"interior.{letter}{index}" for letter in "ab" for index in range(300)]
    parity = Happened("removed", (names[0],))
    for name in names[1:]:
        other = Happened("removed", (name,))
        parity = AnyOf((All((parity, Not(other))), All((Not(parity), other))))
    space = Space(BUILTIN, [All(tuple(Happened("removed", (name,)) for name in names))])
    with pytest.raises(TooMany):
        space.holds(parity)


# --- Against direct evaluation

KINDS = ("interior", "interior.dash", "interior.seat", "interior.seat.rear", "body", "body.bonnet")
FIGURES = [Fraction(number, 2) for number in range(12)]
DATES = [datetime.date(2000, 1, 1), datetime.date(2000, 1, 2), datetime.date(2010, 6, 15), datetime.date(2026, 5, 2)]
EVENTS = ("removed", "swapped", "fitted")


def edges(values):
    return st.tuples(st.sampled_from(values), st.booleans())


def bounds(values):
    return st.builds(
        lambda low, high: Bounds(tuple(low), tuple(high)),
        st.lists(edges(values), max_size=2),
        st.lists(edges(values), max_size=1),
    )


def ordinals(dates):
    return [Fraction(date.toordinal()) for date in dates]


LEAVES = st.one_of(
    st.builds(Within, st.just("power"), bounds(FIGURES)),
    st.builds(Within, st.just("seats"), bounds(FIGURES)),
    st.builds(Within, st.just("first_registered"), bounds(ordinals(DATES))),
    st.builds(Aged, st.just("extinguisher_checked"), bounds([Fraction(number) for number in (0, 1, 2, 16, 17)])),
    st.builds(
        Within,
        st.sampled_from(["bore", "stroke"]),
        bounds([AsMade(name, Fraction(plus)) for name in ("bore", "stroke") for plus in (-1, 0, 1)]),
    ),
    st.builds(
        IsOneOf,
        st.just("power"),
        st.lists(st.sampled_from(FIGURES), min_size=1, max_size=3).map(tuple),
    ),
    st.builds(
        IsOneOf,
        st.just("driven_wheels"),
        st.lists(st.sampled_from(["front", "rear", "all"]), min_size=1, max_size=2).map(tuple),
    ),
    st.builds(IsOneOf, st.just("open_top"), st.booleans().map(lambda value: (value,))),
    st.builds(
        Happened,
        st.sampled_from([*EVENTS, "off"]),
        st.lists(st.sampled_from(KINDS), min_size=1, max_size=2).map(tuple),
    ),
)


def has_happened(node):
    if isinstance(node, (All, AnyOf)):
        return any(map(has_happened, node.parts))
    return has_happened(node.part) if isinstance(node, (Not, ReadAsMade)) else isinstance(node, Happened)


def grown(nodes):
    several = st.lists(nodes, min_size=1, max_size=3).map(tuple)
    as_made = nodes.filter(lambda node: not has_happened(node))
    return st.one_of(
        st.builds(All, several), st.builds(AnyOf, several), st.builds(Not, nodes), st.builds(ReadAsMade, as_made)
    )


NODES = st.recursive(LEAVES, grown, max_leaves=8)


class Seen:
    """A car as conditions see it: `things` are what happened to which kind."""

    def __init__(self, facts, made, things):
        self.facts = facts
        self.made = made
        self.things = things
        self.situation = self

    def figure(self, fact, made):
        return (self.made if made else self.facts)[fact]

    def age(self, born):
        return View.age(self, born)

    @property
    def on(self):
        return ON

    def happened(self, event, kind):
        events = ("removed", "swapped") if event == "off" else (event,)
        return any(what in events and covers(kind, thing) for what, thing in self.things)

    def fitted(self, kind):
        return self.happened("fitted", kind)


FACTS = st.fixed_dictionaries(
    {
        "power": st.sampled_from(FIGURES),
        "seats": st.integers(0, 6).map(Fraction),
        "bore": st.sampled_from(FIGURES),
        "stroke": st.sampled_from(FIGURES),
        "first_registered": st.sampled_from(DATES),
        "extinguisher_checked": st.sampled_from(DATES),
        "driven_wheels": st.sampled_from(["front", "rear", "all"]),
        "open_top": st.booleans(),
    }
)
SEEN = st.builds(
    Seen,
    FACTS,
    FACTS,
    st.frozensets(st.tuples(st.sampled_from(EVENTS), st.sampled_from([*KINDS, "interior.dash.top"]))),
)


def exactly(edge):
    return Bounds(((edge, False),), ((edge, False),))


def pinned(seen):
    """The condition that holds of this very car and, as far as conditions can tell, of no other."""
    parts = []
    for made, facts in ((False, seen.facts), (True, seen.made)):
        for name, value in facts.items():
            pin = Aged(name, exactly(seen.age(value))) if name == "extinguisher_checked" else IsOneOf(name, (value,))
            parts.append(ReadAsMade(pin) if made else pin)
        for name in ("bore", "stroke"):
            for other in ("bore", "stroke"):
                apart = Within(name, exactly(AsMade(other, facts[name] - seen.made[other])))
                parts.append(ReadAsMade(apart) if made else apart)
    for event in EVENTS:
        for kind in KINDS:
            happened = Happened(event, (kind,))
            parts.append(happened if seen.happened(event, kind) else Not(happened))
    return All(tuple(parts))


@settings(max_examples=300, deadline=None)
@given(NODES, SEEN)
def test_diagrams_agree_with_direct_evaluation(node, seen):
    pin = pinned(seen)
    space = Space(BUILTIN, [node, pin])
    here, holds = space.holds(pin), space.holds(node)
    assert space.possible(here)
    expected = prepare(node)(seen)
    assert space.possible(space.both(here, holds)) is expected
    assert space.possible(space.both(here, space.negated(holds))) is not expected


def rewritten(node, draw):
    """The same condition in other words."""
    if isinstance(node, (All, AnyOf)):
        parts = tuple(draw(st.permutations([rewritten(part, draw) for part in node.parts])))
        if draw(st.booleans()):
            other = AnyOf if isinstance(node, All) else All
            return Not(other(tuple(Not(part) for part in parts)))
        return type(node)((*parts, parts[0]))
    if isinstance(node, (Not, ReadAsMade)):
        return type(node)(rewritten(node.part, draw))
    if isinstance(node, (IsOneOf, Happened)) and draw(st.booleans()):
        return AnyOf(tuple(node._replace(**{node._fields[1]: (each,)}) for each in node[1]))
    return Not(Not(node))


@settings(max_examples=200, deadline=None)
@given(NODES, st.data())
def test_other_words_are_the_same_object(node, data):
    other = rewritten(node, data.draw)
    space = Space(BUILTIN, [node, other])
    assert space.holds(node) is space.holds(other)


@settings(max_examples=200, deadline=None)
@given(NODES, NODES, st.lists(SEEN, min_size=1, max_size=12))
def test_one_object_never_stands_for_two_meanings(one, other, cars):
    space = Space(BUILTIN, [one, other])
    if space.holds(one) is space.holds(other):
        assert all(prepare(one)(seen) is prepare(other)(seen) for seen in cars)


# --- Bounds on a part


def kg(value):
    return Quantity("mass", Fraction(value), "kg", Fraction(1))


def mm(value):
    return Quantity("length", Fraction(value), "mm", Fraction(1))


def ranges(table, values, wrap):
    words = ("least", "most", "over", "under", "up_to")
    return st.dictionaries(st.sampled_from(words), st.sampled_from(values).map(wrap), min_size=1, max_size=2).map(
        lambda given: table(**given)
    )


MASSES = (1, 2, 3, 4)
SHARES = [Fraction(number, 4) for number in range(6)]
PLACES = (-100, 0, 100, 200)
PARTS = st.fixed_dictionaries(
    {},
    optional={
        "weighs": ranges(MassRange, MASSES, kg),
        "weight_removed": ranges(MassRange, (-1, 0, 1, 2), kg),
        "share_of_original": ranges(NumberRange, SHARES, Fraction),
        "share_removed": ranges(NumberRange, SHARES, Fraction),
        "thickness": ranges(LengthRange, (1, 2, 3), mm),
        "at": ranges(LengthRange, PLACES, mm),
        "origin": st.sampled_from(["factory", "aftermarket"]),
        "material": st.one_of(
            st.just("as-original"), st.lists(st.sampled_from(["Steel", "glass"]), min_size=1, max_size=2)
        ),
        "material_not": st.lists(st.sampled_from(["steel", "GLASS"]), min_size=1, max_size=2),
        "approval": st.lists(st.sampled_from(["one", "two"]), min_size=1, max_size=2),
        "place": st.lists(st.sampled_from(["stowage", "interior", "interior.floor"]), min_size=1, max_size=2),
    },
).map(lambda given: PartBounds(**given))
EMPTY_BOOK = rules()


@settings(max_examples=200, deadline=None)
@given(
    PARTS,
    st.sampled_from(MASSES),
    st.sampled_from(MASSES),
    st.sampled_from((1, 2, 3)),
    st.sampled_from(PLACES),
    st.sampled_from(["steel", "Glass", "cork"]),
    st.sampled_from(["steel", "glass"]),
    st.sampled_from(["interior.floor.carpet", "stowage.jack", "body.bonnet"]),
    st.frozensets(st.sampled_from(["one", "two", "three"])),
)
def test_part_bounds_agree_with_direct_evaluation(bounds, old, new, thick, at, material, was, place, approvals):
    bonnet = "body.bonnet"
    parts = [
        {"id": "old", "kind": bonnet, "mass": f"{old} kg", "origin": "factory", "material": was},
        {"id": "new", "kind": bonnet, "mass": f"{new} kg", "origin": "aftermarket", "material": material}
        | {"thickness": f"{thick} mm", "at": f"{at} mm", "place": place, "approval": sorted(approvals)}
        | {"replaces": "old"},
    ]
    swapped = car(
        f"part = {toml(parts)}\njob = {toml([{'id': 'swap', 'title': 'Swap', 'state': 'done', 'fit': ['new']}])}"
    )
    situation = CarBeforeBook(swapped, EMPTY_BOOK).situation("now", ON)
    (change,) = situation.changes
    expected = keeps(prepare_bounds(bounds), View(situation, {}, {}), subject_of(change))

    def just(table, value):
        return table(least=value, most=value)

    pins = [
        PartBounds(
            weighs=just(MassRange, kg(new)),
            weight_removed=just(MassRange, kg(old - new)),
            share_of_original=just(NumberRange, Fraction(new, old)),
            share_removed=just(NumberRange, 1 - Fraction(new, old)),
            thickness=just(LengthRange, mm(thick)),
            at=just(LengthRange, mm(at)),
            origin="aftermarket",
            material=[material],
            place=[place],
        ),
        PartBounds(material="as-original"),
        *(PartBounds(approval=[name]) for name in ("one", "two")),
    ]
    holds = [True, material.casefold() == was.casefold(), "one" in approvals, "two" in approvals]
    space = Space(EMPTY_BOOK.facts, [], [bounds, *pins])
    here = space.both(
        *(space.keeps(pin) if held else space.negated(space.keeps(pin)) for pin, held in zip(pins, holds, strict=True))
    )
    assert space.possible(here)
    assert space.possible(space.both(here, space.keeps(bounds))) is expected
    assert space.possible(space.both(here, space.negated(space.keeps(bounds)))) is not expected


def part_diagrams(*written):
    entries = [
        f'[[class.allow]]\nclause = "2.{index}"\nkinds = ["body.bonnet"]\ndoes = ["swap"]\npart = {each}'
        for index, each in enumerate(written)
    ]
    bounds = [rule.part for rule in rules("\n".join(entries)).file.class_[0].allow]
    space = Space(BUILTIN, [], bounds)
    return space, [space.keeps(each) for each in bounds]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("{ weighs = { least = '5 kg' } }", "{ weighs = { least = '5000 g' } }"),
        ("{ material = ['Steel', 'glass'] }", "{ material = ['GLASS', 'steel', 'steel'] }"),
        ("{ material = ['steel'] }", "{ material = ['steel'], material_not = ['glass'] }"),
        ("{ place = ['interior', 'interior.floor'] }", "{ place = 'interior' }"),
        ("{ approval = ['one', 'two'] }", "{ approval = ['two', 'one'] }"),
        ("{ thickness = { least = '1 in' } }", "{ thickness = { least = '25.4 mm' } }"),
    ],
)
def test_equal_bounds_are_one_object(one, other):
    _, (first, second) = part_diagrams(one, other)
    assert first is second


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("{ weighs = { least = '5 kg' } }", "{ weighs = { over = '5 kg' } }"),
        ("{ material_not = ['steel'] }", "{ material = ['glass'] }"),
        ("{ place = ['interior', 'stowage'] }", "{ place = 'interior' }"),
        ("{ approval = ['one', 'two'] }", "{ approval = ['two'] }"),
        ("{ behind = 'driver' }", "{ within = 'wheelbase' }"),
        ("{ years = 'model_year' }", "{ origin = 'factory' }"),
        ("{ weighs = { most = '1 kg' } }", "{ weight_removed = { most = '1 kg' } }"),
    ],
)
def test_different_bounds_are_different_objects(one, other):
    _, (first, second) = part_diagrams(one, other)
    assert first is not second


def test_a_part_is_in_one_place_and_of_one_material():
    space, (floor, stowage) = part_diagrams("{ place = 'interior.floor' }", "{ place = 'stowage' }")
    assert not space.possible(space.both(floor, stowage))
    assert space.possible(space.negated(space.either(floor, stowage)))
    space, (steel, glass) = part_diagrams("{ material = ['steel'] }", "{ material = ['glass'] }")
    assert not space.possible(space.both(steel, glass))


def test_an_addition_has_no_share_of_an_original():
    space, (share, original) = part_diagrams("{ share_of_original = { least = 0 } }", "{ material = 'as-original' }")
    assert space.possible(space.is_added(True))
    assert not space.possible(space.both(space.is_added(True), share))
    assert not space.possible(space.both(space.is_added(True), original))
    assert not space.possible(space.both(space.is_added(False), space.negated(share)))
    assert space.possible(space.both(space.is_added(False), original))
