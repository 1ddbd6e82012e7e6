"""The weight ledger and the limits on it, worked by hand. Masses in kg, places in mm behind the front axle."""

import math

import pytest

from support import by_clause, car, judged, limit, result, rules

OPEN = {"silence": "permits"}
SCALE = 'scale = [{ id = "fine", resolution = "1 g" }]\n'
DRY = 'at_inspection = { fuel = "empty" }\n'


def weighing(total="900 kg", more='fuel = "empty"'):
    return f'weighing = [{{ id = "w", date = 2027-02-01, scale = "fine", total = "{total}", {more} }}]\n'


def mass(judged_car, *, build="now", weight='driver = "out"'):
    """The mass as a class weighs it; None if it cannot be said."""
    row = judged(judged_car, rules(f'weight = {{ clause = "7.1", minimum = "1 kg", {weight} }}', **OPEN), build)
    return limit(row).mass_kg


def parts(*rows):
    return "part = [" + ", ".join(f"{{ {row} }}" for row in rows) + "]\n"


CARPET = 'id = "carpet", kind = "interior.floor.carpet", mass = "2 kg"'
BARE = 'id = "carpet", kind = "interior.floor.carpet"'
OUT = 'job = [{{ id = "out", state = "{state}", date = {date}, off = ["carpet"] }}]\n'


# ---- From the weighing to the build


def test_jobs_after_the_weighing_count_and_those_before_it_do_not():
    for date, expected in (("2027-01-31", 900), ("2027-02-02", 898)):
        assert mass(car(parts(CARPET) + OUT.format(state="done", date=date) + SCALE + weighing() + DRY)) == expected


def test_planned_jobs_count_only_in_a_build_that_holds_them():
    body = parts(CARPET) + OUT.format(state="planned", date="2027-04-01") + SCALE + weighing() + DRY
    assert (mass(car(body)), mass(car(body), build="planned")) == (900, 898)


def test_includes_is_the_whole_list_of_what_the_weighing_saw():
    body = parts(CARPET) + OUT.format(state="done", date="2027-01-01") + SCALE + DRY
    assert mass(car(body + weighing(more='fuel = "empty", includes = ["out"]'))) == 900
    assert mass(car(body + weighing(more='fuel = "empty", includes = []'))) == 898


def test_a_job_undone_puts_its_part_back():
    body = parts(CARPET) + OUT.format(state="done", date="2027-01-01") + 'build = [{ id = "road", undo = ["out"] }]\n'
    assert mass(car(body + SCALE + weighing() + DRY), build="road") == 902


def test_an_unknown_mass_that_the_weighing_and_the_build_share_cancels():
    for date, expected in (("2027-01-31", 900), ("2027-02-02", None)):
        assert mass(car(parts(BARE) + OUT.format(state="done", date=date) + SCALE + weighing() + DRY)) == expected
    # The part on in both, whatever it weighs.
    assert mass(car(parts(BARE) + SCALE + weighing() + DRY)) == 900


def test_the_kinds_usual_range_is_never_taken_for_a_mass():
    body = parts(BARE) + OUT.format(state="planned", date="2027-04-01") + SCALE + weighing() + DRY
    row = judged(car(body), rules('weight = { clause = "7.1", driver = "out", minimum = "500 kg" }', **OPEN), "planned")
    assert (row.verdict, limit(row).mass_kg, row.facts_to_find) == ("undecided", None, ())


def test_the_newest_weighing_counts():
    two = """weighing = [
        { id = "new", date = 2027-03-01, scale = "fine", total = "890 kg", fuel = "empty" },
        { id = "old", date = 2027-02-01, scale = "fine", total = "900 kg", fuel = "empty" },
    ]
    """
    assert mass(car(SCALE + two + DRY)) == 890
    # Between the two the carpet came out: the newer one saw it.
    assert mass(car(parts(CARPET) + OUT.format(state="done", date="2027-02-15") + SCALE + two + DRY)) == 890


def test_a_swap_takes_off_the_old_and_puts_on_the_new():
    seat = "interior.seat.front.driver"
    body = parts(
        f'id = "seat", kind = "{seat}", mass = "14.5 kg"',
        f'id = "bucket", kind = "{seat}", mass = "6.1 kg", replaces = "seat", origin = "aftermarket"',
    )
    body += 'job = [{ id = "swap", state = "planned", fit = ["bucket"] }]\n'
    assert mass(car(body + SCALE + weighing() + DRY), build="planned") == pytest.approx(891.6)


def test_a_replaced_kind_without_a_part_makes_the_mass_unknown():
    lid = parts('id = "lid", kind = "body.bonnet", mass = "5 kg", replaces = "body.bonnet", origin = "aftermarket"')
    later = lid + 'job = [{ id = "swap", state = "planned", fit = ["lid"] }]\n' + SCALE + weighing() + DRY
    assert (mass(car(later)), mass(car(later), build="planned")) == (900, None)
    # On already when weighed: the old one is off on both sides.
    assert mass(car(lid + SCALE + weighing() + DRY)) == 900


# ---- The forms of a mass


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        ('mass = "2.5 kg"', 897.5),
        ('mass = ["2.4 kg", "2.6 kg"]', 897.5),
        ('count = 4, mass_each = "2.5 kg"', 890),
        ('count = 4, mass_together = "10 kg"', 890),
        ('count = 4, mass_each = ["2.4 kg", "2.6 kg"]', 890),
        ('estimate = { mass = "2.5 kg", within = "0.5 kg" }', 897.5),
        ('mass = "2500 g"', 897.5),
        ("mass = 2.5", 897.5),
        ("count = 4", None),
    ],
)
def test_forms_of_a_mass(form, expected):
    body = parts(f'id = "carpet", kind = "interior.floor.carpet", {form}')
    assert mass(car(body + OUT.format(state="done", date="2027-04-01") + SCALE + weighing() + DRY)) == expected


BONNET = parts('id = "bonnet", kind = "body.bonnet", mass = "15 kg"')


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        ('"12 kg"', 897),
        ('["11.9 kg", "12.1 kg"]', 897),
        ('{ mass = "12 kg", scale = "fine" }', 897),
        ('{ estimate = { mass = "12 kg", within = "1 kg" } }', 897),
        ("{}", None),
    ],
)
def test_lightening_states_the_mass_afterwards(form, expected):
    job = f'job = [{{ id = "drill", state = "planned", lightens = {{ bonnet = {form} }} }}]\n'
    assert mass(car(BONNET + job + SCALE + weighing() + DRY), build="planned") == expected


def test_a_part_lightened_before_the_weighing_and_taken_off_after_it():
    # The weighing saw 12 kg of bonnet, so 12 kg come off, not 15.
    jobs = """job = [
        { id = "drill", state = "done", date = 2027-01-01, lightens = { bonnet = "12 kg" } },
        { id = "out", state = "planned", date = 2027-04-01, off = ["bonnet"] },
    ]
    """
    assert mass(car(BONNET + jobs + SCALE + weighing() + DRY), build="planned") == 888


def test_lightened_twice_goes_from_the_one_to_the_other():
    jobs = """job = [
        { id = "drill", state = "done", date = 2027-01-01, lightens = { bonnet = "12 kg" } },
        { id = "again", state = "planned", date = 2027-04-01, lightens = { bonnet = "10 kg" } },
    ]
    """
    assert mass(car(BONNET + jobs + SCALE + weighing() + DRY), build="planned") == 898


# ---- Driver and co-driver

CREW = 'driver = { mass = "80 kg", scale = "fine" }\nco_driver = { mass = "70 kg", scale = "fine" }\n'


@pytest.mark.parametrize(
    ("aboard", "weight", "expected"),
    [
        ("", 'driver = "out"', 900),
        ("", 'driver = "aboard"', 980),
        (", driver_aboard = true", 'driver = "out"', 820),
        (", driver_aboard = true", 'driver = "aboard"', 900),
        ("", 'driver = "aboard", driver_counts_as = "75 kg"', 975),
        (", driver_aboard = true", 'driver = "aboard", driver_counts_as = "75 kg"', 895),
        ("", 'driver = "aboard", co_driver = "aboard"', 1050),
        (", co_driver_aboard = true", 'driver = "out"', 830),
        (", driver_aboard = true, co_driver_aboard = true", 'driver = "aboard", co_driver = "aboard"', 900),
    ],
)
def test_who_sits_in_the_car(aboard, weight, expected):
    body = CREW + SCALE + weighing(more='fuel = "empty"' + aboard) + DRY
    assert mass(car(body), weight=weight) == expected


def test_a_driver_of_unknown_mass_matters_only_where_the_two_sides_differ():
    someone = "driver = { seat_at = 1200 }\n" + SCALE + DRY
    for aboard, weight, expected in (
        ("false", 'driver = "out"', 900),
        ("true", 'driver = "aboard"', 900),
        ("true", 'driver = "out"', None),
        ("false", 'driver = "aboard"', None),
        ("false", 'driver = "aboard", driver_counts_as = "75 kg"', 975),
        ("true", 'driver = "aboard", driver_counts_as = "75 kg"', None),  # who sat there comes off, by mass
    ):
        body = someone + weighing(more=f'fuel = "empty", driver_aboard = {aboard}')
        assert mass(car(body), weight=weight) == expected, (aboard, weight)


# ---- Fuel


def fuelled(inspection, weighed, tank=""):
    at_inspection = f'at_inspection = {{ fuel = "{inspection}" }}\n'
    return SCALE + at_inspection + tank + weighing(more=f'fuel = "{weighed}"')


@pytest.mark.parametrize(
    ("weighed", "inspection", "class_fuel", "facts", "expected"),
    [
        ("10 L", "10 L", "as-raced", {}, 900),
        ("10 L", "10000 cm3", "as-raced", {}, 900),  # the same amount, otherwise written
        ("10 L", "30 L", "as-raced", {"fuel": "petrol"}, 900 + 20 * 0.7475),
        ("10 L", "30 L", "as-raced", {"fuel": "diesel"}, 900 + 20 * 0.8325),
        ("10 L", "30 L", "as-raced", {"fuel": "ethanol"}, None),
        ("10 L", "30 L", "as-raced", {}, None),
        ("10 L", "30 L", "empty", {"fuel": "petrol"}, 900 - 7.475),
        ("empty", "30 L", "empty", {}, 900),
        ("empty", "30 L", "0 L", {}, 900),
        ("10 L", "30 L", "25 L", {"fuel": "petrol"}, 900 + 15 * 0.7475),
        ("10 L", "30 L", "full", {"fuel": "petrol", "tank_capacity": "50 L"}, 900 + 40 * 0.7475),
        ("10 L", "30 L", "full", {"fuel": "petrol"}, None),
        ("full", "30 L", "full", {}, 900),  # a full tank on both sides, of whatever size
        ("full", "full", "as-raced", {}, 900),
        ("full", "30 L", "empty", {"fuel": "petrol", "tank_capacity": "50 L"}, 900 - 50 * 0.7475),
    ],
)
def test_fuel(weighed, inspection, class_fuel, facts, expected):
    found = mass(car(fuelled(inspection, weighed), **facts), weight=f'driver = "out", fuel = "{class_fuel}"')
    assert found == (pytest.approx(expected) if expected else None)


def test_a_stated_density_is_taken_and_is_exact():
    row = judged(
        car(fuelled("30 L", "10 L", tank='tank = { density = "785 kg/m3" }\n'), fuel="ethanol"),
        rules('weight = { clause = "7.1", driver = "out", minimum = "800 kg" }'),
    )
    assert limit(row).mass_kg == pytest.approx(915.7)
    assert limit(row).mass_u_kg == pytest.approx(0.001 / math.sqrt(12))


def test_fuel_that_is_not_stated_makes_the_mass_unknown():
    assert mass(car(SCALE + weighing(more="includes = []") + DRY, fuel="petrol")) is None
    assert mass(car(SCALE + weighing(), fuel="petrol")) is None
    assert mass(car(SCALE + weighing(), fuel="petrol"), weight='driver = "out", fuel = "empty"') == 900


def test_a_full_tank_when_weighed_was_the_tank_that_the_car_then_had():
    # Weighed with a full tank of 50 L; then a cell of 20 L is fitted. Empty, the car has lost the 50 L that were
    # weighed (37.375 kg); full, it has lost 30 L (22.425 kg).
    body = 'job = [{ id = "cell", state = "planned", sets = { tank_capacity = "20 L" } }]\n' + SCALE + DRY
    swapped = car(body + weighing(more='fuel = "full"'), fuel="petrol", tank_capacity="50 L")
    empty, full = 'driver = "out", fuel = "empty"', 'driver = "out", fuel = "full"'
    assert mass(swapped, weight=empty) == pytest.approx(862.625)
    assert mass(swapped, build="planned", weight=empty) == pytest.approx(862.625)
    assert mass(swapped, build="planned", weight=full) == pytest.approx(877.575)


def test_fuel_when_weighed_was_the_fuel_that_the_car_then_ran_on():
    # 10 L of diesel came out (8.325 kg) and 10 L of petrol go in (7.475 kg).
    body = 'job = [{ id = "engine", state = "planned", sets = { fuel = "petrol" } }]\n'
    swapped = car(body + fuelled("10 L", "10 L"), fuel="diesel")
    assert mass(swapped) == 900
    assert mass(swapped, build="planned") == pytest.approx(899.15)


# ---- without: taken out before weighing

SPARE = "stowage.spare-wheel"


def without(body, kind=SPARE, **options):
    weight = f'driver = "out", without = ["{kind}"]'
    return mass(car(body + SCALE + weighing() + DRY, **options), weight=weight)


def test_without_takes_out_a_part_that_is_on():
    assert without(parts(f'id = "spare", kind = "{SPARE}", mass = "15 kg"')) == 885


def test_without_takes_nothing_for_a_part_that_is_off():
    body = parts(f'id = "spare", kind = "{SPARE}", mass = "15 kg"')
    assert without(body + 'job = [{ id = "out", state = "done", date = 2027-01-01, off = ["spare"] }]\n') == 900
    # Off since the weighing: taken off once, not twice.
    assert without(body + 'job = [{ id = "out", state = "done", date = 2027-03-01, off = ["spare"] }]\n') == 885
    assert without("", absent=(SPARE,)) == 900


def test_without_a_kind_on_by_the_trees_word_leaves_the_mass_unknown():
    assert without("", present=(SPARE,)) is None
    assert without("", kind="interior.headliner") is None


def test_without_a_kind_that_is_perhaps_on():
    by = rules(f'weight = {{ clause = "7.1", driver = "out", without = ["{SPARE}"], minimum = "850 kg" }}')
    row = judged(car(SCALE + weighing() + DRY), by)
    # Absent, the car passes; present, its mass is unknown: "list it as a part".
    assert (row.verdict, row.facts_to_find, limit(row).verdict) == ("undecided", (SPARE,), "undecided")


def test_without_a_kind_within_a_branch_part_leaves_the_mass_unknown():
    bench = 'id = "bench", kind = "interior.seat.rear", mass = "20 kg"'
    assert without(parts(bench), kind="interior.seat.rear.base") is None
    # The branch itself comes out, once nothing under it is only perhaps there.
    gone = ("interior.seat.rear.head-restraints", "interior.seat.rear.latches")
    assert without(parts(bench), kind="interior.seat.rear", absent=gone) == 880
    assert without(parts(bench), kind="interior.seat.rear") is None


def test_without_an_unweighed_part():
    assert without(parts(f'id = "spare", kind = "{SPARE}"')) is None


def test_without_a_part_lightened_since():
    body = parts(f'id = "spare", kind = "{SPARE}", mass = "15 kg"')
    body += 'job = [{ id = "thin", state = "done", date = 2027-03-01, lightens = { spare = "11 kg" } }]\n'
    assert without(body) == 885


# ---- The limit: allowance, adjustments, floors, further limits


@pytest.mark.parametrize(
    ("total", "low", "high"),
    [("899.1", "met", "met"), ("898.9", "violation", "met"), ("1000.9", "met", "met"), ("1001.1", "met", "violation")],
)
def test_an_allowance_moves_both_limits_outward(total, low, high):
    by = rules(
        """weight = { driver = "out", clause = "7.1", minimum = "900 kg", allowance = "1 kg" }
        limit = [{ clause = "7.2", maximum = "1000 kg" }]"""
    )
    row = judged(car(SCALE + weighing(f"{total} kg") + DRY), by)
    assert (result(row, "7.1"), result(row, "7.2")) == (low, high)
    assert (limit(row).limit_kg, limit(row, "maximum").limit_kg) == (899.0, 1001.0)


@pytest.mark.parametrize(
    ("minimum", "adjust", "expected"),
    [
        # The rate with its changes, times the power (80 kW), then what is added, then the floor.
        ('per = "power", rate = "10 kg/kW"', [], 800),
        ('per = "power", rate = "10 kg/kW"', ['add = "0.5 kg/kW"'], 840),
        ('per = "power", rate = "10 kg/kW"', ['add = "25 kg"', 'add = "0.5 kg/kW"'], 865),
        ('per = "power", rate = "10 kg/kW", least = "870 kg"', ['add = "25 kg"', 'add = "0.5 kg/kW"'], 870),
        ('per = "power", rate = "10 kg/kW", least = "810 kg"', ['add = "25 kg"'], 825),
        ('per = "power", rate = "10 kg/kW", least = "810 kg"', ['add = "-25 kg"'], 810),
        ('fact = "kerb_mass", times = 0.95, plus = "-20 kg"', ['add = "5 kg"'], 935),
        ('fact = "kerb_mass", times = 0.95, plus = "-20 kg", least = "936 kg"', ['add = "5 kg"'], 936),
        ('by = "seats", cases = { 2 = "700 kg", 4 = "800 kg" }', ['add = { fact = "success_mass" }'], 860),
        (
            'by = "seats", cases = { 2 = "700 kg", 4 = "800 kg" }',
            ['add = { fact = "success_mass", most = "40 kg" }'],
            840,
        ),
        ('by = "doors", cases = { 2 = "700 kg" }, otherwise = "750 kg"', ['add = "10 kg", of = "maximum"'], 750),
    ],
)
def test_adjustments_in_order(minimum, adjust, expected):
    adjusts = ", ".join(f"{{ {each} }}" for each in adjust)
    by = rules(
        f"""[class.weight]
        driver = "out"
        clause = "7.1"
        minimum = {{ {minimum} }}
        maximum = "2 t"
        adjust = [{adjusts}]
        """
    )
    figures = {"power": "80 kW", "kerb_mass": "1000 kg", "seats": 4, "doors": 5, "success_mass": "60 kg"}
    row = judged(car(SCALE + weighing() + DRY, **figures), by)
    assert limit(row).limit_kg == pytest.approx(expected)
    assert limit(row, "maximum").limit_kg == (2010 if "maximum" in "".join(adjust) else 2000)


def test_a_further_limit_takes_from_weight_what_it_leaves_out():
    by = rules(
        f"""limit = [
            {{ clause = "7.2", minimum = "950 kg" }},
            {{ clause = "7.3", minimum = "950 kg", driver = "out" }},
            {{ clause = "7.4", minimum = "950 kg", driver_counts_as = "100 kg", without = [], allowance = "0 kg" }},
            {{ clause = "7.5", minimum = "950 kg", fuel = "10 L", co_driver = "aboard" }},
        ]
        [class.weight]
        driver = "aboard"
        driver_counts_as = "75 kg"
        fuel = "empty"
        without = ["{SPARE}"]
        allowance = "2 kg"
        """
    )
    body = parts(f'id = "spare", kind = "{SPARE}", mass = "15 kg"') + CREW + SCALE + weighing() + DRY
    row = judged(car(body, fuel="petrol"), by)
    found = {each.clause: (each.mass_kg, each.limit_kg) for each in row.limits}
    assert found == {
        "7.2": (960, 948),
        "7.3": (885, 948),
        "7.4": (1000, 950),
        "7.5": (pytest.approx(960 + 7.475 + 70), 948),
    }


def test_two_minima_at_once_and_one_that_holds_only_if():
    by = rules(
        """weight = { driver = "out", clause = "7.1", minimum = "900 kg" }
        limit = [
            { clause = "7.2", driver = "aboard", minimum = "970 kg" },
            { clause = "7.3", minimum = "2 t", if = { open_top = true } },
        ]"""
    )
    for total, driver, failed in (
        ("901", 80, set()),
        ("899", 80, {"7.1"}),
        ("901", 60, {"7.2"}),
        ("899", 60, {"7.1", "7.2"}),
    ):
        body = f'driver = {{ mass = "{driver} kg" }}\n' + SCALE + weighing(f"{total} kg") + DRY
        row = judged(car(body, open_top=False), by)
        assert {each.clause for each in row.findings if each.result == "violation"} == failed
        assert by_clause(row, "7.3") == []


# ---- Axles

AXLES = """weighing = [
    { id = "w", date = 2027-02-01, scale = "fine", fuel = "empty", axles = { front = "540 kg", rear = "360 kg" } },
]
"""


def axles(body, *, build="planned", weight='driver = "out"', **facts):
    """The masses on the front and the rear axle."""
    facts.setdefault("wheelbase", "2400 mm")
    by = rules(
        f'weight = {{ clause = "7.1", front_axle = {{ least = "1 kg" }}, rear_axle = {{ least = "1 kg" }}, {weight} }}',
        **OPEN,
    )
    row = judged(car(body + SCALE + AXLES + DRY, **facts), by, build)
    return limit(row, "front_axle").mass_kg, limit(row, "rear_axle").mass_kg


def hatch(at):
    return parts(f'id = "hatch", kind = "body.boot-lid", mass = "20 kg", at = {at}') + (
        'job = [{ id = "out", state = "planned", off = ["hatch"] }]\n'
    )


@pytest.mark.parametrize(
    ("at", "front", "rear"),
    [
        (3000, 545, 335),  # behind the rear axle: the rear loses 25 kg and the front gains 5
        (2400, 540, 340),
        (1200, 530, 350),
        (0, 520, 360),
        (-600, 515, 365),
    ],
)
def test_a_part_off_by_its_place(at, front, rear):
    assert axles(hatch(at)) == (pytest.approx(front), pytest.approx(rear))


def test_taking_weight_off_the_tail_can_meet_a_front_axle_minimum():
    by = rules('weight = { driver = "out", clause = "7.1", front_axle = { least = "543 kg" } }', **OPEN)
    tail = car(hatch(3000) + SCALE + AXLES + DRY, wheelbase="2400 mm")
    assert (judged(tail, by).verdict, judged(tail, by, "planned").verdict) == ("not-eligible", "eligible")


def test_a_part_moved_changes_the_axles_and_not_the_total():
    battery = parts('id = "battery", kind = "electrical.battery", mass = "12 kg", at = -200')
    battery += 'job = [{ id = "aft", state = "planned", moves = { battery = { at = 2200 } } }]\n'
    assert axles(battery) == (pytest.approx(528), pytest.approx(372))  # one wheelbase aft: all 12 kg
    assert mass(car(battery + SCALE + AXLES + DRY), build="planned") == 900


BATTERY = 'id = "battery", kind = "electrical.battery", mass = "12 kg", at = 0'


@pytest.mark.parametrize(
    ("battery", "job", "front", "rear"),
    [
        # Moved aft and lightened at once: 12 kg leave the front axle, 10 kg come to the rear.
        (BATTERY, 'state = "planned", moves = { battery = { at = 2400 } }, lightens = { battery = "10 kg" }', 528, 370),
        # To the right only: nothing that these axles would feel, so its mass need not be known.
        (
            'id = "battery", kind = "electrical.battery"',
            'state = "planned", moves = { battery = { right = 100 } }',
            540,
            360,
        ),
        # Of unknown mass, or from an unknown place: neither axle can be said.
        (
            'id = "battery", kind = "electrical.battery", at = 0',
            'state = "planned", moves = { battery = { at = 9 } }',
            None,
            None,
        ),
        (
            'id = "battery", kind = "electrical.battery", mass = "12 kg"',
            'state = "planned", moves = { battery = { at = 9 } }',
            None,
            None,
        ),
    ],
)
def test_a_battery_moved(battery, job, front, rear):
    found = axles(parts(battery) + f'job = [{{ id = "j", {job} }}]\n')
    assert found == (front and pytest.approx(front), rear and pytest.approx(rear))


def test_a_part_moved_before_the_weighing_comes_off_where_it_then_sat():
    jobs = """job = [
        { id = "aft", state = "done", date = 2027-01-01, moves = { battery = { at = 2400 } } },
        { id = "out", state = "planned", off = ["battery"] },
    ]
    """
    assert axles(parts(BATTERY) + jobs) == (pytest.approx(540), pytest.approx(348))


def test_what_comes_out_before_weighing_leaves_both_axles():
    spare = parts(f'id = "spare", kind = "{SPARE}", mass = "15 kg", at = 3000')
    found = axles(spare, build="now", weight=f'driver = "out", without = ["{SPARE}"]')
    assert found == (pytest.approx(543.75), pytest.approx(341.25))  # 15 x 3000 / 2400 = 18.75


def test_a_driver_sits_somewhere():
    body = 'driver = { mass = "80 kg", seat_at = 1500 }\n'
    assert axles(body, build="now", weight='driver = "aboard"') == (pytest.approx(570), pytest.approx(410))
    assert axles('driver = { mass = "80 kg" }\n', build="now", weight='driver = "aboard"') == (None, None)


def test_a_differing_part_without_a_place_nulls_the_axles_but_not_the_total():
    body = parts('id = "hatch", kind = "body.boot-lid", mass = "20 kg"')
    body += 'job = [{ id = "out", state = "planned", off = ["hatch"] }]\n'
    assert axles(body) == (None, None)
    assert mass(car(body + SCALE + AXLES + DRY), build="planned") == 880
    assert axles(body, build="now") == (540, 360)  # nothing differs


def test_an_unknown_wheelbase_matters_only_where_something_differs():
    by = rules('weight = { driver = "out", clause = "7.1", front_axle = { least = "500 kg" } }', **OPEN)
    tail = car(hatch(1200) + SCALE + AXLES + DRY)
    assert (judged(tail, by).verdict, judged(tail, by).facts_to_find) == ("eligible", ())
    row = judged(tail, by, "planned")
    assert (row.verdict, row.facts_to_find) == ("undecided", ("wheelbase",))


def test_the_newest_weighing_with_axles_gives_the_axles():
    two = """weighing = [
        { id = "pads", date = 2027-02-01, fuel = "empty", axles = { front = "540 kg", rear = "360 kg" } },
        { id = "bridge", date = 2027-03-01, scale = "fine", fuel = "empty", total = "895 kg" },
    ]
    """
    by = rules('weight = { driver = "out", clause = "7.1", minimum = "1 kg", front_axle = { least = "1 kg" } }', **OPEN)
    row = judged(car(SCALE + two + DRY), by)
    assert (limit(row).mass_kg, limit(row, "front_axle").mass_kg) == (895, 540)
    row = judged(car(SCALE + weighing() + DRY), by)
    assert (limit(row).mass_kg, limit(row, "front_axle").mass_kg) == (900, None)


@pytest.mark.parametrize(("total", "verdict"), [("899.99", "not-eligible"), ("900.01", "eligible")])
def test_a_minimum_that_is_the_sum_of_the_axle_limits(total, verdict):
    rear = f"{float(total) - 540:.2f}"
    by = rules(
        """[class.weight]
        clause = "7.1"
        driver = "out"
        minimum = { axles = true }
        front_axle = { least = "530 kg" }
        rear_axle = { least = "350 kg" }
        adjust = [{ add = "20 kg", of = "minimum" }]
        """
    )
    row = judged(car(SCALE + AXLES.replace("360", rear) + DRY), by)
    assert (limit(row).limit_kg, row.verdict) == (900.0, verdict)


def test_adjusted_axle_limits():
    by = rules(
        """[class.weight]
        clause = "7.1"
        driver = "out"
        minimum = { axles = true }
        front_axle = { least = "530 kg", most = "560 kg" }
        rear_axle = { least = "350 kg" }
        adjust = [{ add = "5 kg", of = "front_axle" }, { add = "6 kg", of = "rear_axle" }]
        """
    )
    row = judged(car(SCALE + AXLES + DRY), by)
    assert {each.which: each.limit_kg for each in row.limits} == {
        "minimum": 891.0,
        "front_axle": 535.0,
        "front_axle_most": 560.0,
        "rear_axle": 356.0,
    }


# ---- Uncertainty


def limit_of(body, minimum="890 kg", build="planned"):
    by = rules(f'weight = {{ clause = "7.1", driver = "out", minimum = "{minimum}" }}', **OPEN)
    return limit(judged(car(body), by, build))


KITCHEN = (
    'scale = [{ id = "kitchen", resolution = "1 g", check = { known = "5.000 kg", read = "5.002 kg", u = "3 g" } }]\n'
)
EXACT_CAR = 'weighing = [{ id = "w", date = 2027-02-01, fuel = "empty", total = "900.00000000 kg" }]\n' + DRY
GRAIN = 0.001 / math.sqrt(12)


def on_the_kitchen_scale(*rows, work):
    listed = parts(*(f'{row}, scale = "kitchen"' for row in rows))
    return KITCHEN + listed + f'job = [{{ id = "work", state = "planned", {work} }}]\n' + EXACT_CAR


def test_a_scale_check_shifts_every_reading_and_adds_linearly():
    # It read 2 g too much: each part is 2 g lighter than read. Two parts off: 2 x 3 g of doubt, not 3 x sqrt(2).
    answer = limit_of(
        on_the_kitchen_scale(
            'id = "a", kind = "interior.floor.carpet", mass = "1.5 kg"',
            'id = "b", kind = "interior.headliner", mass = "2.5 kg"',
            work='off = ["a", "b"]',
        )
    )
    assert answer.mass_kg == pytest.approx(900 - 1.498 - 2.498, abs=1e-12)
    assert answer.mass_u_kg == pytest.approx(math.sqrt(0.006**2 + 2 * GRAIN**2), rel=1e-9)


def test_one_part_off_and_one_on_from_the_same_scale_cancel_its_check():
    answer = limit_of(
        on_the_kitchen_scale(
            'id = "a", kind = "interior.seat.front.driver", mass = "4.5 kg"',
            'id = "b", kind = "interior.seat.front.driver", mass = "2.5 kg", replaces = "a", origin = "aftermarket"',
            work='fit = ["b"]',
        )
    )
    assert answer.mass_kg == pytest.approx(898, abs=1e-12)
    assert answer.mass_u_kg == pytest.approx(math.sqrt(2) * GRAIN, rel=1e-9)


def test_pieces_weighed_one_by_one_share_their_resolution():
    # Four pieces from one reading of one piece: its doubt counts four times, linearly.
    answer = limit_of(
        on_the_kitchen_scale('id = "a", kind = "wheels.rim", count = 4, mass_each = "2.5 kg"', work='off = ["a"]')
    )
    assert answer.mass_kg == pytest.approx(900 - 4 * 2.498, abs=1e-12)
    assert answer.mass_u_kg == pytest.approx(math.sqrt(0.012**2 + (4 * GRAIN) ** 2), rel=1e-9)


def test_corner_pads_share_their_check():
    # Four pads from one set: shifted by 4 x 0.1 kg, doubtful by 4 x 0.05 kg.
    body = """scale = [{ id = "pads", resolution = "1 g", check = { known = "200 kg", read = "200.1 kg", u = "50 g" } }]
    at_inspection = { fuel = "empty" }
    [[weighing]]
    id = "w"
    date = 2027-02-01
    scale = "pads"
    fuel = "empty"
    [weighing.corners]
    front_left = "250 kg"
    front_right = "250 kg"
    rear_left = "200 kg"
    rear_right = "200 kg"
    """
    answer = limit_of(body, build="now")
    assert answer.mass_kg == pytest.approx(899.6, abs=1e-12)
    assert answer.mass_u_kg == pytest.approx(math.sqrt(0.2**2 + 4 * GRAIN**2), rel=1e-9)


def test_doubt_about_a_part_off_before_the_weighing_does_not_count():
    body = parts('id = "a", kind = "interior.headliner", estimate = { mass = "3 kg", within = "2 kg" }')
    early, late = (
        limit_of(body + f'job = [{{ id = "j", state = "done", date = {date}, off = ["a"] }}]\n' + EXACT_CAR)
        for date in ("2027-01-01", "2027-03-01")
    )
    assert early.mass_u_kg == pytest.approx(0, abs=1e-8)
    assert late.mass_u_kg == pytest.approx(2 / math.sqrt(3), rel=1e-9)


@pytest.mark.parametrize(
    ("total", "verdict"),
    # One reading to the kilogram: u = 0.2887 kg, so the band is 0.566 kg on each side of 900 kg.
    [("901", "eligible"), ("900", "too-close"), ("899", "not-eligible")],
)
def test_too_close(total, verdict):
    body = f'weighing = [{{ id = "w", date = 2027-02-01, fuel = "empty", total = "{total} kg" }}]\n' + DRY
    by = rules('weight = { clause = "7.1", driver = "out", minimum = "900 kg" }', **OPEN)
    row = judged(car(body), by)
    assert row.verdict == verdict
    if verdict == "too-close":
        assert by_clause(row, "7.1") == ["too-close"]
        assert limit(row).chance == pytest.approx(0.5)


def test_too_close_gives_way_to_what_is_worse():
    near = 'weighing = [{ id = "w", date = 2027-02-01, fuel = "empty", total = "900 kg" }]\n' + DRY
    weight = 'weight = { clause = "7.1", driver = "out", minimum = "900 kg" }\n'
    unweighed = 'limit = [{ clause = "7.2", driver = "aboard", minimum = "900 kg" }]\n'
    banned = 'strip = [{ clause = "5.1", kinds = ["interior.dash"] }]\n'
    assert judged(car(near), rules(weight)).verdict == "too-close"
    assert judged(car(near), rules(weight + unweighed)).verdict == "undecided"
    assert judged(car(near), rules(weight + unweighed + banned)).verdict == "not-eligible"


def test_nothing_is_rounded_before_the_end():
    # 1/3 of a kilogram times three is a kilogram: readings 0.3, 0.3 and 0.4 kg have the mean 1/3; three such pieces.
    body = parts('id = "a", kind = "wheels.cover", count = 3, mass_each = ["0.3 kg", "0.3 kg", "0.4 kg"]')
    body += 'job = [{ id = "j", state = "planned", off = ["a"] }]\n'
    assert mass(car(body + SCALE + weighing() + DRY), build="planned") == 899
