"""Shares of the load and the centre of gravity, with their uncertainty, and what parts and jobs do to them."""

import math
import random
import statistics
from fractions import Fraction
from pathlib import Path

import pytest

import tarebook
from support import car
from tarebook.api import load_car
from tarebook.car.models import CarFile
from tarebook.weight.balance import FIGURES, Balance, balance_of, ratio
from tarebook.weight.effects import effects_of_jobs, effects_of_parts
from tarebook.weight.ledger import Ledger, Weighed
from tarebook.weight.measured import Measured, Share

DEMO = Path(tarebook.__file__).parent / "demo" / "car.toml"
FUEL = '[at_inspection]\nfuel = "10 L"\n'
AXLES = """
[[weighing]]
id = "axles"
date = 2027-01-01
axles = { front = "600.0 kg", rear = "400.0 kg" }
fuel = "10 L"
includes = []
"""
CORNERS = """
[[weighing]]
id = "corners"
date = 2027-02-01
corners = { front_left = "310 kg", front_right = "290 kg", rear_left = "205 kg", rear_right = "195 kg" }
fuel = "10 L"
includes = []
"""
SPARE = """
[[part]]
id = "spare"
kind = "stowage.spare-wheel"
mass = "12 kg"
at = "2800 mm"
right = "350 mm"
[[job]]
id = "spare-out"
state = "planned"
off = ["spare"]
"""
SIZES = {"wheelbase": "2400 mm", "track_front": "1420 mm", "track_rear": "1380 mm"}


def balance(body: str, build: str = "now", weighed: Weighed | None = None, **facts: object) -> Balance:
    made = car(body, **(facts or SIZES))
    return balance_of(Ledger(made.inventory), made.inventory.build(build), weighed or Weighed())


def reasons(found: Balance) -> dict[str, list[str]]:
    return {name: [each.sentence for each in missing] for name, missing in found.missing.items()}


def test_as_weighed_on_axles():
    found = balance(AXLES + FUEL)
    assert found.front_share is not None and found.centre is not None
    assert found.front_share.value == Fraction(6, 10)
    assert found.centre.value == 960  # 2400 x 400 / 1000
    # By hand: each axle is read to 0.1 kg; d share = (rear dF - front dR) / total^2.
    axle_u = 0.1 / math.sqrt(12)
    by_hand = axle_u * math.hypot(400, 600) / 1000**2
    assert found.front_share.u == pytest.approx(by_hand, rel=1e-12)
    assert found.centre.u == pytest.approx(2400 * by_hand, rel=1e-12)


def test_part_and_whole_are_not_taken_for_independent():
    found = balance(AXLES + FUEL)
    assert found.front is not None and found.total is not None and found.front_share is not None
    independent = math.hypot(found.front.u / 1000, 600 * found.total.u / 1000**2)
    assert found.front_share.u < 0.8 * independent


def test_what_a_scale_has_wrong_everywhere_acts_once():
    weighed = AXLES.replace("date", 'scale = "pads"\ndate') + SPARE.replace("at =", 'scale = "pads"\nat =') + FUEL

    def share(known: str) -> Measured:
        scale = f"""
        [[scale]]
        id = "pads"
        resolution = "0.1 kg"
        check = {{ known = "{known}", read = "100.0 kg", u = "0.5 kg" }}
        """
        found = balance(weighed + scale, "planned").front_share
        assert found is not None
        return found

    # With the scale half a kilogram out everywhere, the share moves by what the source stands for.
    moved = (share("100.5 kg").value - share("99.5 kg").value) / 2
    assert moved
    assert share("100.0 kg").shares["scale pads"].u == pytest.approx(float(moved), rel=1e-5)


def test_a_scale_that_reads_too_much_everywhere_leaves_the_share_as_it_is():
    scale = '[[scale]]\nid = "pads"\nresolution = "0.1 kg"\ngain = { within = 0.01 }\n'
    weighed = AXLES.replace("date", 'scale = "pads"\ndate') + SPARE.replace("at =", 'scale = "pads"\nat =') + FUEL
    found = balance(weighed + scale, "planned")
    assert found.total is not None and found.front_share is not None
    assert found.total.u > 5
    assert found.front_share.shares["gain of scale pads"].u == pytest.approx(0, abs=1e-15)
    apart = balance(AXLES.replace("date", 'scale = "pads"\ndate') + SPARE + FUEL + scale, "planned")
    assert apart.front_share is not None
    assert abs(apart.front_share.shares["gain of scale pads"].u) > 1e-6


def test_the_uncertainty_of_a_share_against_random_draws():
    scale = """
    [[scale]]
    id = "pads"
    resolution = "2 kg"
    gain = { within = 0.01 }
    check = { known = "100 kg", read = "101 kg", u = "0.8 kg" }
    """
    estimated = SPARE.replace('mass = "12 kg"', 'estimate = { mass = "60 kg", within = "20 kg" }')
    text = AXLES.replace("600.0", "600").replace("400.0", "400").replace("date", 'scale = "pads"\ndate')
    found = balance(text + FUEL + estimated + scale, "planned").front_share
    assert found is not None
    draw = random.Random(20270101)
    shares = []
    for _ in range(40_000):
        common, gain = draw.gauss(-1, 0.8), draw.uniform(-0.01, 0.01)
        front, rear = (load * (1 + gain) + common + draw.uniform(-1, 1) for load in (600, 400))
        spare = draw.uniform(40, 80)
        front, rear = front - spare * (1 - 2800 / 2400), rear - spare * 2800 / 2400
        shares.append(front / (front + rear))
    assert statistics.fmean(shares) == pytest.approx(float(found.value), abs=2e-4)
    assert statistics.stdev(shares) == pytest.approx(found.u, rel=0.02)


def test_ratio_of_a_part_to_itself_is_sure():
    mass = Measured(Fraction(50), {"scale": Share(0.5), "readings": Share(0.2, 4)})
    assert ratio(mass, mass).value == 1
    assert ratio(mass, mass).u == 0.0


def test_a_part_behind_the_rear_axle_comes_off():
    found = balance(AXLES + FUEL + SPARE, "planned")
    assert found.front is not None and found.rear is not None and found.total is not None
    assert found.rear.value == 400 - 14  # 12 x 2800 / 2400
    assert found.front.value == 602
    assert found.total.value == 988


def test_left_and_cross_share_by_corners():
    found = balance(CORNERS + FUEL)
    assert found.left_share is not None and found.cross_share is not None
    assert found.left_share.value == Fraction(515, 1000)
    assert found.cross_share.value == Fraction(495, 1000)


def test_left_share_without_a_part_on_the_right():
    found = balance(CORNERS + FUEL + SPARE, "planned")
    assert found.left_share is not None
    # At 350 mm right of the middle, a quarter of the mean track of 1400 mm, the left wheels carry a quarter of 12 kg.
    assert found.left_share.value == Fraction(512, 988)


def test_cross_share_is_unsure_by_what_the_springs_share_out():
    found = balance(CORNERS + FUEL + SPARE, "planned")
    assert found.cross_share is not None
    assert found.cross_share.value == Fraction(495 - 6, 988)
    assert found.cross_share.shares["how the springs share a load off the middle"].u == pytest.approx(
        -3 / math.sqrt(3) / 988
    )
    in_the_middle = balance(CORNERS + FUEL + SPARE.replace("350 mm", "0 mm"), "planned")
    assert in_the_middle.cross_share is not None
    assert "how the springs share a load off the middle" not in in_the_middle.cross_share.shares


def test_the_springs_are_the_same_for_all_parts():
    other = SPARE.replace('"spare"', '"jack"').replace("spare-wheel", "jack").replace('"350 mm"', '"-350 mm"')
    both = SPARE + other.replace("spare-out", "jack-out")
    found = balance(CORNERS + FUEL + both, "planned")
    assert found.cross_share is not None
    assert found.cross_share.shares["how the springs share a load off the middle"].u == 0.0


def test_without_tracks_only_left_and_cross_are_unknown():
    found = balance(CORNERS + FUEL + SPARE, "planned", wheelbase="2400 mm", track_front="1420 mm")
    why = ["the tracks, front and rear, are not both stated"]
    assert reasons(found) == {"left": why, "cross": why}
    assert found.front_share is not None


def test_a_term_without_a_place_leaves_the_total():
    # The tree of kinds has a rough place for a spare wheel; it is not used.
    found = balance(AXLES + FUEL + SPARE.replace('at = "2800 mm"\n', ""), "planned")
    assert found.total is not None and found.total.value == 988
    assert (found.front_share, found.centre, found.front, found.rear) == (None, None, None, None)
    assert reasons(found)["front"] == ["it is not said where spare sits"]
    assert "total" not in reasons(found)


def test_a_part_without_a_mass_leaves_nothing():
    found = balance(CORNERS + FUEL + SPARE.replace('mass = "12 kg"\n', ""), "planned")
    why = ['part "spare" was never weighed']
    assert reasons(found) == dict.fromkeys(FIGURES, why)
    assert found.total is None and found.left_share is None


def test_what_stays_on_needs_neither_mass_nor_place():
    found = balance(CORNERS + FUEL + '[[part]]\nid = "seat"\nkind = "interior.seat.front.driver"\n')
    assert found.missing == {}
    assert found.front_share is not None


def test_without_wheelbase_there_is_a_share_but_no_centre():
    found = balance(AXLES + FUEL, doors=3)
    assert found.front_share is not None and found.front_share.value == Fraction(6, 10)
    assert reasons(found) == {
        "centre": ["the wheelbase is not stated"],
        "left": ["no weighing has the four corners apart"],
        "cross": ["no weighing has the four corners apart"],
    }


def test_the_newest_weighing_with_axles_and_with_corners():
    newest = AXLES.replace("2027-01-01", "2027-03-01").replace('"axles"', '"later"').replace("600.0 kg", "620.0 kg")
    only_total = """
    [[weighing]]
    id = "total"
    date = 2027-04-01
    total = "900 kg"
    fuel = "10 L"
    includes = []
    """
    found = balance(newest + CORNERS + AXLES + only_total + FUEL)
    assert found.weighing is not None and found.cornered is not None
    assert (found.weighing.id, found.cornered.id) == ("later", "corners")
    assert found.total is not None and found.total.value == 1020
    assert found.left_share is not None and found.left_share.value == Fraction(515, 1000)


def test_without_any_axles():
    found = balance('[[weighing]]\nid = "t"\ndate = 2027-01-01\ntotal = "900 kg"\nfuel = "10 L"\n' + FUEL)
    assert reasons(found) == {name: ["no weighing has the axles apart"] for name in FIGURES}


def test_nothing_has_no_balance():
    nothing = AXLES.replace("600.0 kg", "0.0 kg").replace("400.0 kg", "0.0 kg")
    assert reasons(balance(nothing + FUEL))["front"] == ["there is no mass to share out"]


def test_driver_aboard():
    driver = '[driver]\nmass = "80 kg"\nseat_at = "1200 mm"\nseat_right = "-350 mm"\n'
    found = balance(CORNERS + FUEL + driver, weighed=Weighed(driver="aboard"))
    assert found.front is not None and found.left_share is not None
    assert found.front.value == 640
    assert found.left_share.value == Fraction(515 + 60, 1080)
    unplaced = balance(
        CORNERS + FUEL + driver.replace('seat_right = "-350 mm"\n', ""), weighed=Weighed(driver="aboard")
    )
    assert reasons(unplaced)["left"] == ["it is not said how far right of the middle driver sits"]
    assert unplaced.front_share is not None


MOVED = """
[[part]]
id = "battery"
kind = "electrical.battery"
mass = "14 kg"
at = "-300 mm"
RIGHT
[[job]]
id = "move"
state = "planned"
moves = { battery = { MOVE } }
"""


def test_a_part_moved_along_the_car_leaves_the_sides_alone():
    text = MOVED.replace("MOVE", 'at = "2700 mm"').replace("RIGHT", "")
    found = balance(CORNERS + FUEL + text, "planned")
    assert found.missing == {}
    assert found.front is not None and found.left_share is not None
    assert found.front.value == 600 - Fraction(14 * 3000, 2400)
    assert found.left_share.value == Fraction(515, 1000)


def test_a_part_moved_across_the_car_leaves_the_axles_alone():
    text = MOVED.replace("MOVE", 'right = "350 mm"').replace("RIGHT", 'right = "-350 mm"')
    found = balance(CORNERS + FUEL + text, "planned")
    assert found.front is not None and found.left_share is not None
    assert found.front.value == 600
    assert found.left_share.value == Fraction(515 - 7, 1000)  # from three quarters of 14 kg to one quarter
    unsure = [source for source, share in found.left_share.shares.items() if share.u and "battery" in source]
    assert unsure  # the part's own mass now matters from side to side


def test_undoing_a_removal_brings_every_figure_back():
    text = (
        CORNERS
        + FUEL
        + SPARE.replace('"planned"', '"done"\ndate = 2027-01-10')
        + '[[build]]\nid = "back"\nundo = ["spare-out"]\n'
    )
    before, after = balance(text.replace("includes = []", 'includes = ["spare-out"]'), "now"), balance(text, "back")
    for name in ("front_share", "left_share", "cross_share", "centre"):
        one, other = getattr(before, name), getattr(after, name)
        assert (one.value, one.shares) == (other.value, other.shares)


def demo() -> tuple[CarFile, Ledger]:
    loaded = load_car(DEMO)
    return loaded.file, Ledger(loaded.inventory)


def test_what_taking_off_the_spare_wheel_does():
    made = car(AXLES + FUEL + SPARE, **SIZES)
    ledger, now = Ledger(made.inventory), made.inventory.build("now")
    (effect,) = effects_of_parts(ledger, now, balance_of(ledger, now, Weighed()))
    assert effect.mass is not None and effect.front is not None and effect.rear is not None
    assert (effect.id, effect.does) == ("spare", "off")
    assert (effect.mass.value, effect.front.value, effect.rear.value) == (-12, 2, -14)
    assert effect.share_change == pytest.approx(602 / 988 - 0.6, rel=1e-12)


def test_a_part_that_is_off_is_fitted_unless_it_is_gone():
    text = AXLES + FUEL + SPARE.replace('"planned"', '"done"\ndate = 2026-12-01').replace("spare-out", "sold")
    text = text.replace("includes = []", 'includes = ["sold"]')
    for gone, expected in (("", [("spare", "on", 12)]), ("gone = true\n", [])):
        made = car(text.replace('at = "2800 mm"\n', f'at = "2800 mm"\n{gone}'), **SIZES)
        ledger, now = Ledger(made.inventory), made.inventory.build("now")
        found = effects_of_parts(ledger, now, balance_of(ledger, now, Weighed()))
        assert [(each.id, each.does, each.mass and each.mass.value) for each in found] == expected


def test_effects_that_cannot_be_said():
    made = car(AXLES + FUEL + SPARE.replace('at = "2800 mm"\n', ""), **SIZES)
    ledger, now = Ledger(made.inventory), made.inventory.build("now")
    at = balance_of(ledger, now, Weighed())
    (part,), (job,) = effects_of_parts(ledger, now, at), effects_of_jobs(ledger, now, at)
    for effect in (part, job):
        assert effect.mass is not None and effect.mass.value == -12
        assert (effect.front, effect.rear, effect.share_change) == (None, None, None)
        assert [each.sentence for each in effect.missing] == ["it is not said where spare sits"]


@pytest.mark.parametrize("build", ["now", "planned", "winter", "club-day"])
def test_a_job_does_what_the_builds_with_and_without_it_differ_by(build):
    _, ledger = demo()
    inventory = ledger.inventory
    here = inventory.build(build)
    at = balance_of(ledger, here, Weighed())
    told = 0
    for effect in effects_of_jobs(ledger, here, at):
        if effect.does == "did":
            before = here.jobs[: here.jobs.index(effect.id)]
            states = [inventory.configuration(before), inventory.configuration((*before, effect.id))]
        else:
            needs = {effect.id}
            while more := {need for job in needs for need in inventory.jobs[job].needs} - needs:
                needs |= more
            with_needs = {*here.jobs, *needs}
            states = [inventory.configuration(with_needs - {effect.id}), inventory.configuration(with_needs)]
        without, done = (balance_of(ledger, state, Weighed()) for state in states)
        assert effect.front is not None and effect.rear is not None
        assert done.front is not None and without.front is not None
        assert done.rear is not None and without.rear is not None
        assert effect.front.value == done.front.value - without.front.value, effect.id
        assert effect.rear.value == done.rear.value - without.rear.value, effect.id
        told += 1
    assert told >= 20


def test_the_jobs_of_the_demo_together_do_what_its_builds_differ_by():
    _, ledger = demo()
    inventory = ledger.inventory
    now, outset = inventory.build("now"), inventory.configuration(())
    at, before = balance_of(ledger, now, Weighed()), balance_of(ledger, outset, Weighed())
    done = [each.front.value for each in effects_of_jobs(ledger, now, at) if each.does == "did" and each.front]
    assert at.front is not None and before.front is not None
    assert sum(done) == at.front.value - before.front.value


def test_share_change_of_a_job_not_done_leads_to_the_build_with_it():
    _, ledger = demo()
    now = ledger.inventory.build("now")
    at = balance_of(ledger, now, Weighed())
    (effect,) = [each for each in effects_of_jobs(ledger, now, at) if each.id == "tailgate-lighten"]
    after = balance_of(ledger, ledger.inventory.configuration((*now.jobs, "tailgate-lighten")), Weighed())
    assert after.front_share is not None and at.front_share is not None
    assert effect.share_change == pytest.approx(float(after.front_share.value - at.front_share.value), rel=1e-9)


def test_share_change_of_a_job_done_counts_from_the_build_without_it():
    text = AXLES + FUEL + SPARE.replace('"planned"', '"done"\ndate = 2027-02-01')
    made = car(text, **SIZES)
    ledger, now = Ledger(made.inventory), made.inventory.build("now")
    (effect,) = effects_of_jobs(ledger, now, balance_of(ledger, now, Weighed()))
    assert effect.does == "did"
    assert effect.share_change == pytest.approx(602 / 988 - 0.6, rel=1e-12)
