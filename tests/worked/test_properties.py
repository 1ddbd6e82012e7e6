"""What must hold of every car and every book, tried on many invented ones."""

import copy
import datetime
import itertools
import random
from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from support import DAY, INCH, POUND, book, car, decimal, judged, limit, rules, toml
from tarebook.api import check

RANK = {"not-eligible": 0, "too-close": 1, "eligible": 2}
quickly = settings(deadline=None, max_examples=60)

# ---- Invented books and cars, as plain data

KINDS = [
    "everything",
    "interior",
    "interior.floor",
    "interior.floor.carpet",
    "interior.seat",
    "interior.seat.rear",
    "interior.seat.rear.base",
    "interior.seat.front.driver",
    "interior.headliner",
    "stowage",
    "stowage.jack",
    "safety.cage",
    "body.roof.sunroof",
]
THINGS = ["interior.floor.carpet", "interior.seat.rear.base", "interior.seat.rear", "stowage.jack", "safety.cage"]
# Of what some cars have under these kinds, only the sunroof may be unknown here.
NEVER_HAD = ("interior.seat.rear.head-restraints", "interior.seat.rear.latches", "interior.seat.front.heating")
FACTS = {
    "road_registered": [True, False],
    "aspiration": ["natural", "turbo", "supercharged", "twin-charged"],
    "seats": [0, 1, 2, 3, 4, 5, 6],
    "displacement": ["0 cm3", "1399 cm3", "1400 cm3", "1500 cm3", "1600 cm3", "1601 cm3"],
}


def bounded(*values):
    """One bound, or two that leave something between them."""
    one = st.builds(
        lambda word, edge: {word: edge}, st.sampled_from(["least", "most", "over", "under"]), st.sampled_from(values)
    )
    two = st.builds(
        lambda low, high, index: {low: values[index], high: values[index + 1]},
        st.sampled_from(["least", "over"]),
        st.sampled_from(["most", "up_to"]),
        st.integers(0, len(values) - 2),
    )
    return st.one_of(one, two)


leaves = st.one_of(
    st.fixed_dictionaries({"road_registered": st.booleans()}),
    st.fixed_dictionaries(
        {"aspiration": st.lists(st.sampled_from(FACTS["aspiration"]), min_size=1, max_size=3, unique=True)}
    ),
    st.fixed_dictionaries({"seats": bounded(1, 2, 4, 5)}),
    st.fixed_dictionaries({"displacement": bounded("1400 cm3", "1600 cm3")}),
    st.fixed_dictionaries({"fitted": st.sampled_from(KINDS[1:])}),
    st.fixed_dictionaries({"removed": st.sampled_from(KINDS[1:])}),
)
conditions = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.fixed_dictionaries({"any": st.lists(inner, min_size=1, max_size=3)}),
        st.fixed_dictionaries({"all": st.lists(inner, min_size=1, max_size=3)}),
        st.fixed_dictionaries({"not": inner}),
    ),
    max_leaves=4,
)
some_kinds = st.lists(st.sampled_from(KINDS), min_size=1, max_size=2, unique=True)
perhaps_if = st.one_of(st.none(), conditions)


@st.composite
def deciding_rules(draw, chapter, most):
    """Allowances and bans with clauses CHAPTER.1, .2 and so on; each may have `despite` for earlier ones."""
    found = {"allow": [], "ban": []}
    for number in range(1, draw(st.integers(0, most)) + 1):
        form = draw(st.sampled_from(["allow", "ban"]))
        rule = {
            "clause": f"{chapter}.{number}",
            "kinds": draw(some_kinds),
            "does": draw(st.lists(st.sampled_from(["remove", "swap", "fit"]), min_size=1, max_size=3, unique=True)),
        }
        condition = draw(perhaps_if)
        if condition is not None:
            rule["if"] = condition
        if form == "allow" and condition is not None and draw(st.booleans()):
            rule["only"] = True
        if number > 1 and draw(st.integers(0, 3)) == 0:
            rule["despite"] = [f"{chapter}.{draw(st.integers(1, number - 1))}"]
        found[form].append(rule)
    return found


@st.composite
def books(draw):
    body = draw(deciding_rules(2, 5))
    for form, chapter in (("need", 5), ("strip", 6)):
        body[form] = []
        for number in range(1, draw(st.integers(0, 2)) + 1):
            rule = {"clause": f"{chapter}.{number}", "kinds": [draw(st.sampled_from([*THINGS, "body.roof.sunroof"]))]}
            condition = draw(perhaps_if)
            if condition is not None:
                rule["if"] = condition
            body[form].append(rule)
    body["require"] = [
        {"clause": f"7.{number}", "must": condition}
        for number, condition in enumerate(draw(st.lists(conditions, max_size=1)), start=1)
    ]
    groups = []
    for name, chapter in (("one", 8), ("two", 9)):
        group = {"id": name, "prevails": draw(st.booleans()), **draw(deciding_rules(chapter, 2))}
        groups.append(group)
    body["uses"] = ["one", "two"]
    return {"group": groups, "class": body, "silence": draw(st.sampled_from(["forbids", "permits"]))}


def read_book(data, book_id="made-up"):
    tables = [("group", each) for each in data["group"]]
    tables.append(("class", {"id": "club", "title": "Club", **data["class"]}))
    text = "".join(f"[[{name}]]\n{_keys(table)}\n" for name, table in tables)
    return book(text, silence=data["silence"], book_id=book_id)


def _keys(table):
    return "\n".join(f'"{key}" = {toml(value)}' for key, value in table.items())


@st.composite
def cars(draw, most_unknown=4):
    """A car with a few parts, some off, swapped or added by jobs of different days."""
    parts = [
        {"id": "carpet", "kind": "interior.floor.carpet"},
        {"id": "bench", "kind": "interior.seat.rear"},
        {"id": "base", "kind": "interior.seat.rear.base", "origin": "aftermarket", "replaces": "bench"},
        {"id": "seat", "kind": "interior.seat.front.driver"},
        {"id": "bucket", "kind": "interior.seat.front.driver", "origin": "aftermarket", "replaces": "seat"},
        {"id": "cage", "kind": "safety.cage", "origin": "aftermarket"},
        {"id": "jack", "kind": "stowage.jack"},
    ]
    work = {
        "carpet-out": {"off": ["carpet"]},
        "bench-out": {"off": ["bench"]},
        "base-in": {"fit": ["base"]},
        "bucket-in": {"fit": ["bucket"]},
        "cage-in": {"fit": ["cage"]},
        "jack-out": {"off": ["jack"]},
    }
    done = draw(st.sets(st.sampled_from(sorted(work))))
    done -= {"base-in"} if "bench-out" in done else set()
    jobs = [
        {"id": name, "date": datetime.date(2027, 1, day), "state": "done" if name in done else "maybe", **each}
        for day, (name, each) in enumerate(work.items(), start=1)
    ]
    facts = {name: draw(st.sampled_from(values)) for name, values in FACTS.items()}
    for name in draw(st.sets(st.sampled_from(sorted(FACTS)), max_size=most_unknown)):
        del facts[name]
    return {"part": parts, "job": jobs, "facts": facts, "absent": draw(st.sampled_from([(), ("body.roof.sunroof",)]))}


def read_car(data):
    present = ("body.roof.sunroof",) if data.get("present") else ()
    body = f"part = {toml(data['part'])}\njob = {toml(data['job'])}\n"
    return car(body, absent=(*NEVER_HAD, *data["absent"]), present=present, **data["facts"])


def told(row):
    """Everything a row says, but for the order in which it says it."""
    return (
        row.verdict,
        row.facts_to_find,
        row.to_ask,
        sorted((each.result, each.part or "", each.does or "", sorted(each.clauses)) for each in row.findings),
        sorted(
            (each.which, each.clause, each.limit_kg, each.mass_kg, each.chance, each.verdict) for each in row.limits
        ),
    )


# ---- The order in which things are written does not matter


def shuffled(data, seed):
    """The same data with everything in another order: keys, tables of a list, names in a list."""
    chance = random.Random(seed)

    def mix(value):
        if isinstance(value, dict):
            return {key: mix(each) for key, each in chance.sample(list(value.items()), len(value))}
        if isinstance(value, list):
            return [mix(each) for each in chance.sample(value, len(value))]
        return value

    return mix(data)


@quickly
@given(books(), cars(), st.integers(0, 2**32))
def test_the_order_of_rules_parts_and_jobs_does_not_matter(book_data, car_data, seed):
    one = judged(read_car(car_data), read_book(book_data))
    other = judged(read_car(shuffled(car_data, seed)), read_book(shuffled(book_data, seed)))
    assert told(one) == told(other)


@quickly
@given(books(), books(), cars())
def test_the_order_of_books_does_not_matter(first, second, car_data):
    pair = [read_book(first), read_book(second, book_id="another-book")]
    plover = read_car(car_data)
    forward, backward = (check(plover, order, on=DAY).rows for order in (pair, pair[::-1]))
    assert [told(row) for row in forward] == [told(row) for row in reversed(backward)]


# ---- Finding something out


@quickly
@given(books(), cars(), cars(most_unknown=0))
def test_stating_what_was_unknown_never_contradicts_a_verdict(book_data, car_data, full):
    by = read_book(book_data)
    before = judged(read_car(car_data), by)
    completed = {**car_data, "facts": {**full["facts"], **car_data["facts"]}, "absent": ("body.roof.sunroof",)}
    after = judged(read_car(completed), by)
    assert after.verdict in ("eligible", "not-eligible")  # everything that these books ask is stated
    if before.verdict != "undecided":
        assert after.verdict == before.verdict


@quickly
@given(books(), cars(), cars(most_unknown=0))
def test_stating_a_fact_never_raises_a_new_question(book_data, car_data, full):
    by = read_book(book_data)
    before = judged(read_car(car_data), by)
    idle = {name: value for name, value in full["facts"].items() if name not in before.facts_to_find}
    after = judged(read_car({**car_data, "facts": {**idle, **car_data["facts"]}}), by)
    assert set(after.facts_to_find) <= set(before.facts_to_find)
    if before.verdict != "undecided":
        assert after.verdict == before.verdict


@quickly
@given(books(), cars())
def test_only_an_undecided_verdict_asks_for_facts(book_data, car_data):
    row = judged(read_car(car_data), read_book(book_data))
    assert (row.verdict == "undecided") == bool(row.facts_to_find)
    assert not set(car_data["facts"]) & set(row.facts_to_find)


@settings(deadline=None, max_examples=30)
@given(books(), cars(most_unknown=2))
def test_exactly_what_can_tip_the_verdict(book_data, car_data):
    """Two completions that differ only there: tried over every value that the invented rules tell apart."""
    by = read_book(book_data)
    row = judged(read_car(car_data), by)
    unknown = [name for name in FACTS if name not in car_data["facts"]]
    presences = [car_data["absent"]] if car_data["absent"] else [("body.roof.sunroof",), ()]
    verdicts = {}
    for values in itertools.product(*(FACTS[name] for name in unknown)):
        for absent in presences:
            facts = {**car_data["facts"], **dict(zip(unknown, values, strict=True))}
            completed = read_car({**car_data, "facts": facts, "absent": absent, "present": not absent})
            verdicts[(*values, bool(absent))] = judged(completed, by).verdict
    names = [*unknown, "body.roof.sunroof"]
    tipping = {
        name
        for index, name in enumerate(names)
        for one, verdict in verdicts.items()
        for other, its in verdicts.items()
        if verdict != its and all(one[each] == other[each] for each in range(len(names)) if each != index)
    }
    assert set(row.facts_to_find) == tipping


# ---- Rules taken away


def legal(row):
    """The changes that a row surely allows."""
    return {(each.part, each.does) for each in row.findings if each.does and each.result in ("allowed", "ask")}


@quickly
@given(books(), cars(most_unknown=0), st.data())
def test_without_one_ban_no_change_becomes_illegal(book_data, car_data, data):
    """A ban without `despite` and that no `despite` names: it can only have forbidden."""
    book_data = {**book_data, "silence": "forbids"}
    named = {
        clause
        for rule in (*book_data["class"]["allow"], *book_data["class"]["ban"])
        for clause in rule.get("despite", ())
    }
    bans = [rule for rule in book_data["class"]["ban"] if "despite" not in rule and rule["clause"] not in named]
    assume(bans)
    gone = data.draw(st.sampled_from(bans))
    fewer = copy.deepcopy(book_data)
    fewer["class"]["ban"].remove(gone)
    plover = read_car({**car_data, "absent": ("body.roof.sunroof",)})
    assert legal(judged(plover, read_book(book_data))) <= legal(judged(plover, read_book(fewer)))


# ---- Mass


def on_scales(total, lump, resolution):
    return car(
        f"""scale = [{{ id = "s", resolution = "{resolution} kg" }}]
        part = [{{ id = "lump", kind = "ballast", mass = "{lump} kg", scale = "s", origin = "aftermarket" }}]
        job = [{{ id = "load", state = "planned", fit = ["lump"] }}]
        weighing = [{{ id = "w", date = 2027-01-01, scale = "s", fuel = "empty", total = "{total} kg" }}]
        at_inspection = {{ fuel = "empty" }}"""
    )


def weight(word, kilograms):
    return rules(f'weight = {{ clause = "7.1", driver = "out", {word} = "{kilograms} kg" }}', silence="permits")


# Around a limit of 900 kg, in steps of a twentieth of the scale's resolution.
near_the_limit = st.integers(-60, 60)
resolutions = st.sampled_from([Fraction("0.01"), Fraction("0.2"), Fraction(1)])


@quickly
@given(near_the_limit, st.integers(10, 5000), resolutions)
def test_adding_mass_never_makes_a_minimum_fail(steps, added, resolution):
    """A lump of at least ten steps of the scale, weighed once: its own doubt is far less than what it brings."""
    scales = on_scales(decimal(900 + steps * resolution / 20), decimal(added * resolution), decimal(resolution))
    before, after = judged(scales, weight("minimum", 900)), judged(scales, weight("minimum", 900), "planned")
    assert RANK[after.verdict] >= RANK[before.verdict]
    assert limit(after).margin_kg > limit(before).margin_kg
    # And the other way about for a maximum.
    before, after = judged(scales, weight("maximum", 900)), judged(scales, weight("maximum", 900), "planned")
    assert RANK[after.verdict] <= RANK[before.verdict]


@quickly
@given(near_the_limit, st.integers(0, 40), resolutions)
def test_a_higher_minimum_is_never_easier(steps, raised, resolution):
    scales = on_scales(decimal(900 + steps * resolution / 20), 1, decimal(resolution))
    low, high = (judged(scales, weight("minimum", decimal(900 + up * resolution / 20))) for up in (0, raised))
    assert RANK[high.verdict] <= RANK[low.verdict]
    assert limit(high).chance <= limit(low).chance


# ---- Limits that hang on what is unknown

FIGURES = {
    "displacement": [f"{size} cm3" for size in (0, 600, 824, 940, 1000, 1399, 1400, 1500, 1600, 1601, 2400, 2720)],
    "power": [f"{power} kW" for power in (0, 10, 70, 79, 80, 85, 89, 90, 91, 95, 100, 120, 400)],
    "success_mass": [f"{mass} kg" for mass in (0, 5, 10, 20, 25, 29, 30, 31, 60, 500)],
    "aspiration": FACTS["aspiration"],
    "driven_wheels": ["front", "rear", "all"],
    "insured": [True, False],
}
kilograms = st.sampled_from([f"{mass} kg" for mass in (860, 880, 899, 901, 920, 940)])
limit_forms = st.one_of(
    kilograms,
    st.builds(
        lambda low, high, rest: {
            "by": "displacement",
            "over_up_to": [["0 cm3", "1400 cm3", low], ["1400 cm3", "1600 cm3", high]],
            **rest,
        },
        kilograms,
        kilograms,
        st.one_of(st.just({}), st.fixed_dictionaries({"otherwise": kilograms})),
    ),
    st.builds(
        lambda front, rest: {"by": "driven_wheels", "cases": {"front": front}, **rest},
        kilograms,
        st.one_of(st.just({}), st.fixed_dictionaries({"otherwise": kilograms})),
    ),
    st.builds(
        lambda rate, least: {"per": "power", "rate": f"{rate} kg/kW", **least},
        st.integers(9, 11),
        st.one_of(st.just({}), st.fixed_dictionaries({"least": kilograms})),
    ),
)
figure_tests = st.one_of(
    st.fixed_dictionaries({"insured": st.booleans()}),
    st.fixed_dictionaries({"aspiration": st.sampled_from(FIGURES["aspiration"])}),
    st.fixed_dictionaries({"power": bounded("80 kW", "90 kW")}),
)
amounts = st.sampled_from(["20 kg", "-20 kg", {"fact": "success_mass"}, {"fact": "success_mass", "most": "30 kg"}])


@st.composite
def weight_rules(draw):
    word = draw(st.sampled_from(["minimum", "maximum"]))
    adjusts = [
        {"add": amount, "of": word, **({} if test is None else {"if": test})}
        for amount, test in draw(st.lists(st.tuples(amounts, st.one_of(st.none(), figure_tests)), max_size=2))
    ]
    body = {"weight": {"clause": "7.1", "driver": "out", word: draw(limit_forms), "adjust": adjusts}}
    if draw(st.booleans()):
        counted = draw(st.sampled_from(["displacement", "power"]))
        test = draw(st.sampled_from([{"aspiration": "turbo"}, {"insured": True}]))
        body["counts"] = [
            {"clause": "2.1", "fact": counted, "times": draw(st.sampled_from([Fraction("1.7"), 2])), "if": test}
        ]
    if draw(st.booleans()):
        body["enter"] = [{"clause": "3.1", "must": draw(figure_tests)}]
    return body


@st.composite
def figures(draw):
    """Some of the facts that these limits read, stated."""
    stated = draw(st.sets(st.sampled_from(sorted(FIGURES))))
    return {name: draw(st.sampled_from(FIGURES[name])) for name in sorted(stated)}


every_figure = st.fixed_dictionaries({name: st.sampled_from(values) for name, values in FIGURES.items()})


def of_900_kg(facts):
    return car(
        """weighing = [{ id = "w", date = 2027-01-01, fuel = "empty", total = "900.00 kg" }]
        at_inspection = { fuel = "empty" }""",
        **facts,
    )


@quickly
@given(weight_rules(), figures(), st.lists(every_figure, min_size=3, max_size=8))
def test_stating_a_figure_never_contradicts_a_verdict_on_a_limit(body, stated, completions):
    by = rules(_keys(body), silence="permits")
    before = judged(of_900_kg(stated), by)
    assert not set(stated) & set(before.facts_to_find)
    for full in completions:
        after = judged(of_900_kg({**full, **stated}), by)
        if before.verdict != "undecided":
            assert after.verdict == before.verdict
        # What is not asked for may be stated either way: the same facts stay open, and the verdict with them.
        idle = {name: value for name, value in full.items() if name not in before.facts_to_find}
        assert set(judged(of_900_kg({**idle, **stated}), by).facts_to_find) <= set(before.facts_to_find)


# ---- Units


class InUnits:
    """Writes amounts given in pounds, inches, US gallons, cubic inches and horsepower: so, or exactly metric."""

    METRIC = {
        "lb": ("kg", POUND),
        "in": ("mm", INCH),
        "US gal": ("L", Fraction("3.785411784")),
        "in3": ("cm3", Fraction("16.387064")),
        "hp": ("kW", Fraction("0.74569987158227022")),
    }

    def __init__(self, metric):
        self.metric = metric

    def __call__(self, amount, unit):
        other, factor = self.METRIC[unit]
        return f'"{decimal(amount * factor)} {other}"' if self.metric else f'"{decimal(Fraction(amount))} {unit}"'


def unit_book(q):
    return rules(
        f"""[class.weight]
        clause = "7.1"
        driver = "aboard"
        maximum = {q(2400, "lb")}
        front_axle = {{ least = {q(1000, "lb")} }}
        allowance = {q(2, "lb")}
        adjust = [{{ add = {q(15, "lb")}, if = {{ power = {{ over = {q(100, "hp")} }} }} }}]
        [class.weight.minimum]
        by = "displacement"
        otherwise = {q(1800, "lb")}
        over_up_to = [
            [{q(0, "in3")}, {q(90, "in3")}, {q(1900, "lb")}],
            [{q(90, "in3")}, {q(100, "in3")}, {q(2000, "lb")}],
            [{q(100, "in3")}, {q(2100, "lb")}],
        ]
        """,
        silence="permits",
    )


def unit_car(q, tenths):
    def tenth(name, unit):
        return q(Fraction(tenths[name], 10), unit)

    return car(
        f"""scale = [{{ id = "s", resolution = {q(Fraction(1, 2), "lb")} }}]
        job = [{{ id = "load", state = "planned", fit = ["lump"] }}]
        at_inspection = {{ fuel = {tenth("fuel", "US gal")} }}
        tank = {{ at = {q(90, "in")}, density = "0.74 kg/L" }}
        driver = {{ mass = {q(170, "lb")}, scale = "s", seat_at = {q(50, "in")} }}
        [[part]]
        id = "lump"
        kind = "ballast"
        origin = "aftermarket"
        scale = "s"
        mass = {tenth("lump", "lb")}
        at = {tenth("at", "in")}
        [[weighing]]
        id = "w"
        date = 2027-01-01
        scale = "s"
        fuel = {q(10, "US gal")}
        axles = {{ front = {tenth("front", "lb")}, rear = {tenth("rear", "lb")} }}
        [facts]
        displacement = {q(tenths["displacement"], "in3")}
        power = {q(tenths["power"], "hp")}
        wheelbase = {q(95, "in")}
        """
    )


@quickly
@given(
    st.fixed_dictionaries(
        {
            "front": st.integers(8500, 11000),
            "rear": st.integers(7500, 11000),
            "lump": st.integers(1, 900),
            "at": st.integers(-300, 1300),
            "fuel": st.integers(0, 150),
            "displacement": st.integers(80, 110),
            "power": st.integers(99, 101),
        }
    ),
    st.sampled_from(["now", "planned"]),
)
def test_another_unit_changes_nothing(tenths, build):
    first, *others = (
        judged(unit_car(InUnits(car_metric), tenths), unit_book(InUnits(book_metric)), build)
        for car_metric in (False, True)
        for book_metric in (False, True)
    )
    assert len(first.limits) == 3
    for row in others:
        assert row.verdict == first.verdict
        assert [(each.which, each.limit_kg, each.mass_kg, each.margin_kg, each.verdict) for each in row.limits] == [
            (each.which, each.limit_kg, each.mass_kg, each.margin_kg, each.verdict) for each in first.limits
        ]
