"""`mass`: what is printed, as text and as JSON, the exit status, and what is refused."""

import json
import math
from pathlib import Path

import pytest

from tarebook.cli.status import ELIGIBLE, UNDECIDED, WRONG

DEMO = Path(__file__).parents[2] / "src" / "tarebook" / "demo" / "car.toml"
RULES = Path(__file__).parents[2] / "rulesets"

PLAIN = """\
Wren (car.toml), the car alone: nobody aboard, 5 L of fuel

now: 882.00 kg, u 0.12 kg with 2.3 degrees of freedom; 95 % between 881.54 kg and 882.46 kg

planned: 880.40 kg, u 0.12 kg with 2.3 degrees of freedom; 95 % between 879.94 kg and 880.86 kg

spring: 878.00 kg, u 0.12 kg with 2.3 degrees of freedom; 95 % between 877.54 kg and 878.46 kg
"""
EXPLAINED = """\
Wren (car.toml), the car alone: nobody aboard, 5 L of fuel

now: 882.00 kg, u 0.12 kg with 2.3 degrees of freedom; 95 % between 881.54 kg and 882.46 kg
           mass          u  variance
     900.000 kg    0.12 kg    99.9 %  weighing first, total
      -4.000 kg  0.0029 kg     0.1 %  carpet
     -14.000 kg  0.0029 kg     0.1 %  spare-wheel

Too close to call
  brink, now, clause 5.1: 0.00 kg over the minimum of 882.00 kg, u 0.12 kg
      What makes it unsure: weighing first (100 % of the variance).
      No weighing on a scale of the file would make it surer.
"""


def test_every_build_with_its_interval(club):
    assert club.ask("mass", "car.toml") == (ELIGIBLE, PLAIN, "")


def test_explained_with_what_is_too_close(club):
    assert club.ask("mass", "car.toml", "--explain", "-b", "now", "--on", "2026-11-25") == (ELIGIBLE, EXPLAINED, "")


def test_a_class_asked_for_leaves_out_the_others_and_the_budget(club):
    answer = club.ask("mass", "car.toml", "--class", "free", "-b", "now", "--on", "2026-11-25")
    assert answer.status == ELIGIBLE
    assert answer.out.endswith("\n\nNo limit is too close to call.\n")
    assert "variance" not in answer.out


def test_without_rule_sets_the_budget_is_explained_all_the_same(club):
    for name in ("2026", "2027"):
        (club.folder / "rulesets" / f"{name}.toml").unlink()
    (club.folder / "rulesets").rmdir()
    answer = club.ask("mass", "car.toml", "--explain", "-b", "now")
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    assert "weighing first, total" in answer.out
    assert answer.out.endswith(
        "No rule sets were found: name them with --rules to see what would settle a close limit.\n"
    )


def test_units(club):
    answer = club.ask("mass", "car.toml", "-b", "now", "--units", "lb")
    assert answer.out.splitlines()[2] == (
        "now: 1944.48 lb, u 0.26 lb with 2.3 degrees of freedom; 95 % between 1943.46 lb and 1945.49 lb"
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--build", "autumn"], 'There is no build "autumn". There are: now, planned, spring.\n'),
        (["--class", "fre", "--on", "2026-11-25"], 'There is no class "fre". Did you mean "free"?\n'),
        (["--rules", "rulesets"], "Rules, day and proposals matter only with --explain or --class.\n"),
        (["--on", "2026-11-25"], "Rules, day and proposals matter only with --explain or --class.\n"),
        (["--explain", "--on", "today"], '"today" is not a date: write year, month and day, such as 2027-04-10.\n'),
    ],
)
def test_refused(club, arguments, message):
    answer = club.ask("mass", "car.toml", *arguments)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message)


def test_refused_unit(club):
    answer = club.ask("mass", "car.toml", "--units", "mm")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == "--units: a mass is expected, but mm is a length.\n"


def test_an_unknown_mass_says_why_and_leaves_it_open(club):
    club.write("car.toml", (club.folder / "car.toml").read_text().replace('fuel = "5 L"\n[[part]]', "[[part]]"))
    answer = club.ask("mass", "car.toml", "-b", "now")
    assert (answer.status, answer.err) == (UNDECIDED, "")
    assert answer.out.splitlines()[2:] == [
        'now: the mass is not known: weighing "first" does not say how much fuel was in.'
    ]
    document = json.loads(club.ask("mass", "car.toml", "-b", "now", "--json").out)
    (build,) = document["builds"]
    assert {name for name, value in build.items() if value is not None} == {
        "build",
        "missing",
        "terms",
        "sources",
    }
    assert build["missing"] == ['weighing "first" does not say how much fuel was in']
    assert [(term["id"], term["mass_kg"] is None, term["share_of_variance"]) for term in build["terms"]] == [
        ("first", False, None),
        ("carpet", False, None),
        ("spare-wheel", False, None),
        ("fuel", True, None),
    ]


def test_json_of_a_small_car(club):
    answer = club.ask("mass", "car.toml", "-b", "now", "--json", "--units", "lb")
    u = math.sqrt(0.2**2 / 3 + 0.1**2 / 12)
    document = json.loads(answer.out)
    assert (answer.status, answer.err, document["format"]) == (ELIGIBLE, "", "tarebook-mass/1")
    (build,) = document["builds"]
    assert build["mass_kg"] == 882
    assert build["u_kg"] == pytest.approx(math.hypot(u, 0.01 / math.sqrt(6)))
    assert build["nu_eff"] == pytest.approx(build["u_kg"] ** 4 / ((0.2**2 / 3) ** 2 / 2))
    assert build["high_kg"] - 882 == pytest.approx(882 - build["low_kg"])
    assert [build[name] for name in ("front_share", "front_share_u", "cg_mm", "left_share", "combined")] == [None] * 5
    assert build["terms"][0] == {
        "what": "weighing",
        "id": "first",
        "group": "total",
        "mass_kg": 900.0,
        "u_kg": pytest.approx(u),
        "share_of_variance": pytest.approx(u**2 / build["u_kg"] ** 2),
    }
    assert sum(term["share_of_variance"] for term in build["terms"]) == pytest.approx(1)
    assert sum(term["mass_kg"] for term in build["terms"]) == pytest.approx(build["mass_kg"])
    assert "limits" not in build
    assert [(source["source"], source["nu"]) for source in build["sources"]] == [
        ("readings of weighing first total", 2),
        ("resolution of weighing first total", None),
        ("resolution of carpet", None),
        ("resolution of spare-wheel", None),
    ]
    assert [source["u_kg"] for source in build["sources"][:3]] == pytest.approx(
        [0.2 / math.sqrt(3), 0.1 / math.sqrt(12), -0.01 / math.sqrt(12)]
    )
    assert sum(source["share_of_variance"] for source in build["sources"]) == pytest.approx(1)


def test_degrees_without_bound_are_null(club):
    text = (club.folder / "car.toml").read_text().replace('["900.2 kg", "900.0 kg", "899.8 kg"]', '"900.0 kg"')
    club.write("car.toml", text)
    (build,) = json.loads(club.ask("mass", "car.toml", "-b", "now", "--json").out)["builds"]
    assert (build["nu_eff"], build["u_kg"] > 0) == (None, True)
    assert "degrees" not in club.ask("mass", "car.toml", "-b", "now").out


def test_json_of_the_demo_with_what_would_settle_it(ask):
    answer = ask(
        "mass",
        str(DEMO),
        "-r",
        str(RULES),
        "--explain",
        "-c",
        "open-cabin",
        "--on",
        "2026-11-25",
        "-b",
        "now",
        "--json",
    )
    (build,) = json.loads(answer.out)["builds"]
    assert answer.status == ELIGIBLE
    (limit,) = build["limits"]
    assert (limit["class"], limit["clause"], limit["which"], limit["verdict"]) == (
        "open-cabin",
        "10.1",
        "minimum",
        "too-close",
    )
    assert limit["contributors"][0]["of"] == "weighing autumn"
    advice = limit["advice"]
    assert {key: advice[key] for key in ("weigh", "scale", "readings", "form", "verdict", "settles")} == {
        "weigh": "car",
        "scale": "pads",
        "readings": 10,
        "form": "corners",
        "verdict": "eligible",
        "settles": True,
    }
    assert advice["mass_u_kg"] < limit["mass_u_kg"]
    assert advice["margin_low_kg"] > 0
    assert 0 < build["front_share"] < 1 and 0 < build["left_share"] < 1 and 0 < build["cg_mm"] < 2400
    assert list(build["combined"]["weights"]) == ["autumn", "spring"]
    assert build["combined"]["apart"] == []


def test_text_of_the_demo_says_what_decides_and_what_to_do(ask):
    answer = ask(
        "mass", str(DEMO), "-r", str(RULES), "--explain", "-c", "open-cabin", "--on", "2026-11-25", "-b", "now"
    )
    assert answer.out.partition("Too close to call\n")[2] == (
        "  open-cabin, now, clause 10.1: 0.73 kg over the minimum of 929.50 kg, u 0.49 kg\n"
        "      What makes it unsure: weighing autumn (80 % of the variance), density of petrol (18 % of the\n"
        "      variance), the driver (2 % of the variance).\n"
        "      Weigh the car again ten times on `pads`, corner by corner, with 5 L of fuel and the driver\n"
        "      aboard: if the readings come out as before, u falls from 0.49 kg to 0.34 kg, and the limit is\n"
        "      surely kept.\n"
    )


def test_text_of_the_demo_where_a_guess_is_better_weighed_and_where_nothing_alone_settles(ask):
    answer = ask("mass", str(DEMO), "-r", str(RULES), "--explain", "--on", "2026-11-25", "-b", "planned")
    text = " ".join(answer.out.partition("Too close to call\n")[2].split())
    assert (
        "Weigh `deadening` three times on `kitchen`: if the readings come out as before, u falls from 0.98 kg to"
        " 0.47 kg, and the limit is surely broken."
    ) in text
    assert (
        "No one weighing settles it. Best: weigh the car again ten times on `pads`, corner by corner, with 5 L of fuel"
        " and the co-driver aboard: u falls from 2.0 kg to 0.93 kg, and 1.83 kg either way stays."
    ) in text


def test_nothing_of_a_file_reaches_the_terminal_raw(club):
    text = (club.folder / "car.toml").read_text()
    club.write("car.toml", text.replace('name = "Wren"', 'name = "Wr\\u001b[31men"'))
    assert "\x1b" not in club.ask("mass", "car.toml", "--explain", "--on", "2026-11-25").out


def test_a_limit_that_is_close_in_every_case_of_what_is_unknown_asks_for_that_first(club):
    text = (club.folder / "rulesets" / "2026.toml").read_text()
    bands = 'minimum = { by = "driven_wheels", cases = { front = "882 kg" }, otherwise = "882.1 kg" }'
    club.write("rulesets/2026.toml", text.replace('minimum = "882 kg"', bands))
    asked = ("mass", "car.toml", "-c", "brink", "-b", "now", "--on", "2026-11-25")
    assert club.ask(*asked).out.endswith(
        "Too close to call\n  brink, now, clause 5.1: too close, whatever is still unknown."
        " State what check asks for first.\n"
    )
    (limit,) = json.loads(club.ask(*asked, "--json").out)["builds"][0]["limits"]
    assert (limit["verdict"], limit["limit_kg"], limit["contributors"], limit["advice"]) == (
        "too-close",
        None,
        [],
        None,
    )


def test_from_any_weighing(club):
    text = (club.folder / "car.toml").read_text()
    later = '[[weighing]]\nid = "second"\ndate = 2026-04-01\ntotal = "881.0 kg"\nfuel = "5 L"\n[[part]]\nid = "carpet"'
    club.write("car.toml", text.replace('[[part]]\nid = "carpet"', later, 1))

    def known(*options):
        return json.loads(club.ask("mass", "car.toml", "-b", "now", "--json", *options).out)["builds"][0]["mass_kg"]

    assert known() == known("--weighing", "second") == pytest.approx(881.0)
    assert known("--weighing", "first") == pytest.approx(882.0)  # 900 less carpet 4 and spare wheel 14
    wrong = club.ask("mass", "car.toml", "--weighing", "secnd")
    assert (wrong.status, wrong.out, wrong.err) == (WRONG, "", 'There is no weighing "secnd". Did you mean "second"?\n')
    assert club.ask("mass", "car.toml", "--weighing", "first", "--class", "free").status == WRONG
