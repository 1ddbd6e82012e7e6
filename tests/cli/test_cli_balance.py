"""`mass` asked for balance and ballast: text, JSON, and what is refused. The car is invented."""

import json
from fractions import Fraction

import pytest

from tarebook.cli.status import ELIGIBLE, UNDECIDED, WRONG
from tarebook.show.balance import effect_words
from tarebook.weight.effects import Effect
from tarebook.weight.measured import Measured, total

CAR = """\
format = "tarebook-car/1"
[car]
name = "Wren"
[facts]
wheelbase = "2400 mm"
track_front = "1420 mm"
track_rear = "1380 mm"
[driver]
mass = "80.0 kg"
seat_at = "1200 mm"
seat_right = "-350 mm"
[at_inspection]
fuel = "5 L"
[[zone]]
id = "all"
from = "-800 mm"
to = "3200 mm"
[[weighing]]
id = "pads"
date = 2027-01-10
corners = { front_left = "310.0 kg", front_right = "290.0 kg", rear_left = "205.0 kg", rear_right = "195.0 kg" }
fuel = "5 L"
includes = []
[[part]]
id = "spare"
kind = "stowage.spare-wheel"
mass = "4.0 kg"
at = "2760 mm"
right = "0 mm"
[[part]]
id = "shelf"
kind = "interior.trim.parcel-shelf"
mass = "2.0 kg"
[[part]]
id = "ballast"
kind = "ballast"
mass = "24.0 kg"
at = "0 mm"
right = "0 mm"
origin = "aftermarket"
[[job]]
id = "spare-out"
state = "done"
date = 2027-02-10
off = ["spare"]
[[job]]
id = "weight"
state = "maybe"
fit = ["ballast"]
"""
BALANCE = """\
now, nobody aboard (from weighing pads): front axle 600.6 kg, rear axle 395.4 kg, front 60.30 % (u
  0.0037), left 51.51 % (u 0.0029), cross 49.50 % (u 0.0029), centre of gravity 953 mm behind the
  front axle (u 0.1 mm)
now, driver aboard (from weighing pads): front axle 640.6 kg, rear axle 435.4 kg, front 59.54 % (u
  0.0034), left 53.25 % (u 0.0028), cross 49.54 % (u 1.1), centre of gravity 971 mm behind the front
  axle (u 0.1 mm)
  Parts on the car: what taking each off does
    shelf: not known: it is not said where shelf sits
  Parts off the car: what fitting each does
    ballast: Fitting it puts 24.0 kg on the front axle and leaves the rear as it is; front share
      +0.93 points.
    spare: Fitting it puts 4.6 kg on the rear axle and takes 0.6 kg off the front; front share -0.30
      points.
  Jobs of this build: what each does
    spare-out: It takes 4.6 kg off the rear axle and puts 0.6 kg on the front; front share +0.30
      points.
  Other jobs: what each would do, once what it needs is done
    weight: It puts 24.0 kg on the front axle and leaves the rear as it is; front share +0.93
      points.
"""


@pytest.fixture
def weighed(club):
    club.write("car.toml", CAR)
    return lambda *more: club.ask("mass", "car.toml", "--build", "now", *more)


def test_balance_with_the_effect_of_each_part_and_job(weighed):
    answer = weighed("--balance")
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    assert answer.out.endswith("\n\n" + BALANCE)


def test_balance_as_json(weighed):
    (build,) = json.loads(weighed("--balance", "--json").out)["builds"]
    out, aboard = build["balance"]["out"], build["balance"]["aboard"]
    assert (build["front_share"], build["cg_mm"]) == (out["front_share"], out["cg_mm"])
    assert out["front_share"] == pytest.approx(600.6 / 996)
    assert (out["front_kg"], out["rear_kg"], out["mass_kg"]) == (600.6, 395.4, 996.0)
    assert out["left_share"] == pytest.approx(513 / 996)
    assert out["cross_share"] == pytest.approx(493 / 996)
    assert out["cg_mm"] == pytest.approx(395.4 / 996 * 2400)
    assert out["cg_u_mm"] == pytest.approx(2400 * out["front_share_u"])
    assert (aboard["front_kg"], aboard["weighing"], aboard["missing"]) == (640.6, "pads", {})
    effects = {(each["what"], each["id"]): each for each in build["balance"]["effects"]}
    assert effects["job", "spare-out"]["rear_kg"] == -4.6
    assert effects["part", "shelf"]["missing"] == ["it is not said where shelf sits"]
    assert effects["part", "shelf"]["front_kg"] is None


def test_a_place_that_is_not_said_is_told(club):
    club.write("car.toml", CAR.replace('at = "2760 mm"\nright = "0 mm"\n', ""))
    out = club.ask("mass", "car.toml", "--build", "now", "--balance").out
    assert "  not known: front, centre: it is not said where spare sits\n" in out
    assert "  not known: left, cross: it is not said how far right of the middle spare sits\n" in out


def ballast(answer) -> str:
    return " ".join(answer.out[answer.out.index("now, nobody aboard: ") :].split())


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (
            ["--front-share", "62%", "--ballast-at", "0 mm"],
            "now, nobody aboard: 62.00 % on the front axle needs 44.53 kg of ballast (u 0.10 kg) at 0 mm behind the"
            " front axle; the front axle carries 60.30 %, and all would weigh 1040.5 kg. now, driver aboard: 62.00 % on"
            " the front axle needs 69.79 kg of ballast (u 0.10 kg) at 0 mm behind the front axle; the front axle"
            " carries 59.54 %, and all would weigh 1145.8 kg.",
        ),
        (
            ["--front-share", "60 %", "--ballast", "24 kg"],
            "now, nobody aboard: 60.00 % on the front axle needs 24.00 kg of ballast at 1260 mm behind the front axle"
            " (u 4 mm); the front axle carries 60.30 %, and all would weigh 1020.0 kg.",
        ),
        (
            ["--front-share", "62%", "--ballast-at", "2400 mm"],
            "now, nobody aboard: no ballast at 2400 mm behind the front axle gives 62.00 % on the front axle: the front"
            " axle carries 60.30 %, and would carry less: that is the wrong side.",
        ),
        (
            ["--front-share", "62%", "--ballast-at", "912 mm"],
            "now, nobody aboard: no ballast at 912 mm behind the front axle gives 62.00 % on the front axle: there it"
            " would change nothing of that; the front axle carries 60.30 %.",
        ),
        (
            ["--front-share", "64%", "--ballast", "10 kg"],
            "now, nobody aboard: 64.00 % on the front axle needs 10.00 kg of ballast at 7978 mm ahead of the front axle"
            " (u 9 mm); the front axle carries 60.30 %, and all would weigh 1006.0 kg. No zone of the car file reaches"
            " that far.",
        ),
        (
            ["--axle-minimum", "rear=400kg", "--ballast-at", "1200 mm"],
            "now, nobody aboard: at least 400.0 kg on the rear axle needs 9.20 kg of ballast (u 0.11 kg) at 1200 mm"
            " behind the front axle; the rear axle carries 395.4 kg, and all would weigh 1005.2 kg. now, driver aboard:"
            " at least 400.0 kg on the rear axle needs no ballast, as the rear axle carries 435.4 kg.",
        ),
        (
            ["--axle-minimum", "front=600kg", "--ballast", "10 kg"],
            "now, nobody aboard: at least 600.0 kg on the front axle needs no ballast, as the front axle carries 600.6"
            " kg; 10.00 kg at 2544 mm behind the front axle or further forward leaves it so.",
        ),
        (
            ["--front-share", "62%", "--ballast", "0 kg"],
            "now, nobody aboard: 62.00 % on the front axle cannot be had with no ballast: the front axle carries"
            " 60.30 %.",
        ),
    ],
)
def test_ballast_in_words(weighed, asked, told):
    answer = weighed(*asked)
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    assert ballast(answer).startswith(told)


def test_the_ballast_found_does_it(club, weighed):
    (build,) = json.loads(weighed("--front-share", "62%", "--ballast-at", "0 mm", "--json").out)["builds"]
    found = next(each for each in build["ballast"] if each["aboard"] == "out")
    club.write("car.toml", CAR.replace('"24.0 kg"', f'"{found["ballast_kg"]:.9f} kg"').replace('"maybe"', '"planned"'))
    (built,) = json.loads(club.ask("mass", "car.toml", "--build", "planned", "--json").out)["builds"]
    assert built["front_share"] == pytest.approx(0.62, abs=1e-9)


def test_ballast_that_cannot_be_worked_out(club):
    club.write("car.toml", CAR.replace('at = "2760 mm"\nright = "0 mm"\n', ""))
    answer = club.ask("mass", "car.toml", "-b", "now", "--front-share", "62%", "--ballast-at", "0 mm")
    assert answer.status == UNDECIDED
    assert "now, nobody aboard: no ballast can be worked out: it is not said where spare sits." in answer.out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ["--ballast-at", "300 mm"],
            "What is the ballast for? Name a share, --front-share 54%, or --axle-minimum front=450kg.",
        ),
        (
            ["--front-share", "54%"],
            'Say where the ballast goes, --ballast-at "300 mm", or how much there is, --ballast "20 kg".',
        ),
        (
            ["--front-share", "54%", "--ballast-at", "300 mm", "--ballast", "20 kg"],
            'Say where the ballast goes, --ballast-at "300 mm", or how much there is, --ballast "20 kg".',
        ),
        (
            ["--front-share", "0.54", "--ballast", "20 kg"],
            '--front-share: "0.54" is not a share: write a percentage below 100, such as 54%.',
        ),
        (
            ["--front-share", "0%", "--ballast", "20 kg"],
            '--front-share: "0%" is not a share: write a percentage below 100, such as 54%.',
        ),
        (
            ["--axle-minimum", "450kg", "--ballast", "20 kg"],
            '--axle-minimum: "450kg" is not understood: write front= or rear= and a mass: front=450kg.',
        ),
        (["--front-share", "54%", "--ballast-at", "20 kg"], "--ballast-at: a length is expected, but kg is a mass."),
        (["--front-share", "54%", "--ballast", "-2 kg"], "--ballast: a mass cannot be below zero here."),
    ],
)
def test_wrong_requests(weighed, arguments, message):
    assert weighed(*arguments) == (WRONG, "", message + "\n")


@pytest.mark.parametrize(
    ("front", "rear", "unit", "words"),
    [
        ("0.6", "-4.6", "kg", "takes 4.6 kg off the rear axle and puts 0.6 kg on the front"),
        ("15.5", "-0.9", "kg", "puts 15.5 kg on the front axle and takes 0.9 kg off the rear"),
        ("-3", "-4", "kg", "takes 4.0 kg off the rear axle and 3.0 kg off the front"),
        ("4", "4", "kg", "puts 4.0 kg on the front axle and 4.0 kg on the rear"),
        ("0.04", "-7", "kg", "takes 7.0 kg off the rear axle and leaves the front as it is"),
        ("0.045", "0.5", "kg", "puts 0.500 kg on the rear axle and 0.045 kg on the front"),
        ("0", "0.0004", "kg", "leaves both axles as they are"),
        ("-0.45359237", "4.5359237", "lb", "puts 10.0 lb on the rear axle and takes 1.0 lb off the front"),
    ],
)
def test_an_effect_in_words(front, rear, unit, words):
    loads = [Measured(Fraction(load), {}) for load in (front, rear)]
    assert effect_words(Effect("part", "p", "off", total(loads), *loads, None), unit) == words


def test_two_builds_are_set_apart(club):
    club.write("car.toml", CAR)
    out = club.ask("mass", "car.toml", "--build", "now", "--build", "planned", "--balance").out
    assert out.count("\n\nnow, nobody aboard (from weighing pads)") == 1
    assert out.count("\n\nplanned, nobody aboard (from weighing pads)") == 1
    assert not out.endswith("\n\n")
