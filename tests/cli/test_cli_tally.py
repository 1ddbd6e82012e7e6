"""`tally`: what is printed, as text and as JSON, and what is refused. The car is invented."""

import json

import pytest

from tarebook.cli.status import ELIGIBLE, WRONG

CAR = """\
format = "tarebook-car/1"
[car]
name = "Wren"
goal = { mass = "860 kg" }
[facts]
kerb_mass = "950 kg"
[at_inspection]
fuel = "5 L"
[[weighing]]
id = "first"
date = 2027-01-10
total = "900.0 kg"
fuel = "5 L"
includes = []
[[zone]]
id = "cabin"
title = "The cabin"
from = "500 mm"
to = "2000 mm"
[[part]]
id = "carpet"
kind = "interior.floor.carpet"
mass = "4.004 kg"
at = "1000 mm"
[[part]]
id = "mat"
kind = "interior.floor.underlay"
mass = "1.004 kg"
[[part]]
id = "jack"
kind = "stowage.jack"
[[part]]
id = "shell"
kind = "interior.seat.front.driver"
mass = "5.000 kg"
at = "1100 mm"
origin = "aftermarket"
replaces = "seat"
[[part]]
id = "seat"
kind = "interior.seat.front.driver"
mass = "16.000 kg"
at = "1100 mm"
[[job]]
id = "strip"
state = "done"
date = 2027-02-10
off = ["carpet", "mat"]
hours = 2
[[job]]
id = "seat"
title = "Light seat"
state = "done"
date = 2027-03-10
fit = ["shell"]
cost = "420 EUR"
returns = "35 EUR"
hours = 4
[[job]]
id = "loose"
state = "planned"
off = ["jack"]
cost = "0 EUR"
"""
BY_ZONE = """\
Wren (car.toml), build now: what came off and went on since the outset, by zone

  off kg  on kg  net kg     EUR  hours  EUR/kg  hours/kg
   20.00   5.00  -15.00  385.00    4.0   25.66      0.27   The cabin [cabin]
    1.00   0.00   -1.00    0.00    0.0    0.00      0.00   parts without a place
    0.00   0.00    0.00    0.00    2.0       -         -   jobs across several of these rows
   21.01   5.00  -16.01  385.00    6.0   24.05      0.37   Total
  Jobs that state no cost, counted as nothing: strip

The car alone, with the fuel of the inspection, build now: 884.0 kg (u 0.03 kg); at the outset 900.0
kg.
Goal 860.0 kg: 24.0 kg to go, 40 % of the way.
Listed kerb mass 950.0 kg: the car is 66.0 kg lighter. What a listed figure counts in, fuel or a
  driver, its source says.
"""
KEYS = {"id", "off_kg", "on_kg", "net_kg", "cost", "hours"}


@pytest.fixture
def tallied(club):
    club.write("car.toml", CAR)
    return lambda *more: club.ask("tally", "car.toml", *more)


def test_by_zone_and_summed_before_rounding(tallied):
    # 20.00 and 1.00 kg came off by the rounded rows; by the exact ones it is 21.008, so 21.01.
    assert tallied() == (ELIGIBLE, BY_ZONE, "")


def rows(answer):
    return {
        row["id"]: (row["off_kg"], row["on_kg"], row["cost"], row["hours"]) for row in json.loads(answer.out)["rows"]
    }


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        (
            ["--by", "job"],
            {"strip": (5.008, 0, 0, 2), "seat": (16, 5, 385, 4)},
        ),
        (
            ["--by", "month"],
            {"2027-02": (5.008, 0, 0, 2), "2027-03": (16, 5, 385, 4)},
        ),
        (["--by", "kind"], {"interior": (21.008, 5, 385, 6)}),
        (
            ["--by", "kind", "--depth", "3"],
            {
                "interior.floor.carpet": (4.004, 0, 0, 0),
                "interior.floor.underlay": (1.004, 0, 0, 0),
                "interior.seat.front": (16, 5, 385, 4),
                "several rows": (0, 0, 0, 2),
            },
        ),
    ],
)
def test_other_ways(tallied, by, expected):
    assert rows(tallied(*by, "--json")) == expected


def test_json_has_the_keys_of_the_format(tallied):
    answer = tallied("--json")
    document = json.loads(answer.out)
    assert answer.status == ELIGIBLE
    assert (document["format"], document["by"], document["build"]) == ("tarebook-tally/1", "zone", "now")
    assert document["currency"] == "EUR"
    assert all(set(row) >= KEYS for row in (*document["rows"], document["total"]))
    whole = document["total"]
    assert (whole["off_kg"], whole["on_kg"], whole["net_kg"]) == (21.008, 5.0, -16.008)
    assert (whole["cost"], whole["hours"], whole["without_cost"]) == (385.0, 6.0, ["strip"])
    assert whole["cost_per_kg"] == pytest.approx(385 / 16.008)
    assert document["progress"]["to_go_kg"] == pytest.approx(23.992)
    assert document["progress"]["share_done"] == pytest.approx(16.008 / 40)
    assert document["progress"]["over_kerb_mass_kg"] == pytest.approx(-66.008)
    assert "minima" not in document


def test_another_build_and_what_was_never_weighed(tallied):
    answer = tallied("--build", "planned")
    assert "Never weighed, so not counted, in no place: jack" in answer.out
    assert 'What build planned weighs is not known: part "jack" was never weighed.' in answer.out
    document = json.loads(tallied("--build", "planned", "--json").out)
    assert document["total"]["unweighed"] == ["jack"]
    assert (document["total"]["off_kg"], document["progress"]["mass_kg"]) == (21.008, None)


def test_in_pounds(tallied):
    out = tallied("--units", "lb").out
    # 21.008 kg are 46.31 lb and 385 EUR for 16.008 kg are 10.91 EUR for each pound.
    assert "off lb  on lb  net lb" in out
    assert "46.31" in out and "-35.29" in out and "10.91" in out


def test_margins_to_the_minima_only_with_rules(club, tallied):
    assert "Margins" not in tallied().out
    answer = tallied("--rules", "rulesets", "--on", "2026-11-25")
    assert "Margins to the minimum of each class" in answer.out
    document = json.loads(tallied("--rules", "rulesets", "--on", "2026-11-25", "--json").out)
    heavy = next(each for each in document["minima"] if each["class"] == "heavy")
    report = json.loads(
        club.ask("check", "car.toml", "--class", "heavy", "--on", "2026-11-25", "--build", "now", "--json").out
    )
    (limit,) = [each for each in report["rows"][0]["limits"] if each["which"] == "minimum"]
    assert heavy["now"] == {key: limit[key] for key in ("limit_kg", "margin_kg", "verdict")}
    assert heavy["planned"]["margin_kg"] is None
    assert f"now {limit['margin_kg']:+.1f} kg (missed), planned not known" in " ".join(answer.out.split())


def test_a_car_without_work(club):
    club.write("car.toml", 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n')
    answer = club.ask("tally", "car.toml")
    assert answer.status == ELIGIBLE
    assert "No job of this build took off or put on anything that was weighed." in answer.out
    assert "What build now weighs is not known: the car was never weighed." in answer.out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--by", "colour"], '--by: there is no "colour". Choose one of zone, job, kind, month.'),
        (["--depth", "2"], "--depth says how many levels of a kind make a row: it goes with --by kind."),
        (["--by", "kind", "--depth", "0"], '--depth: "0" is not a whole number from 1 to 32.'),
        (["--by", "kind", "--depth", "two"], '--depth: "two" is not a whole number from 1 to 32.'),
        (["--on", "2027-01-01"], "Day and proposals matter only with the rules of classes: --rules PATH."),
        (["--units", "mm"], "--units: a mass is expected, but mm is a length."),
        (["--build", "plnned"], 'There is no build "plnned". Did you mean "planned"?'),
    ],
)
def test_wrong_requests(tallied, arguments, message):
    assert tallied(*arguments) == (WRONG, "", message + "\n")


def test_names_out_of_the_file_cannot_act_on_the_terminal(club):
    club.write("car.toml", CAR.replace('title = "The cabin"', 'title = "Cab\\u001b[31min"'))
    out = club.ask("tally", "car.toml").out
    assert "\x1b" not in out
    assert "Cab\\x1b[31min [cabin]" in out
