"""`route`: what is printed, as text and as JSON, what is refused, and the exit status. Car and books are invented."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tarebook.cli.status import BROKEN, ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, WRONG
from tarebook.judge.judging import judge

CAR = """\
format = "tarebook-car/1"
[car]
name = "Siskin"
[facts]
wheelbase = "2400 mm"
[at_inspection]
fuel = "empty"
[[weighing]]
id = "w"
date = 2026-04-01
fuel = "empty"
includes = ["old"]
axles = { front = "520.0 kg", rear = "430.0 kg" }
[[part]]
id = "audio"
kind = "interior.audio"
title = "Radio"
mass = "4.0 kg"
at = "800 mm"
[[part]]
id = "bag"
kind = "safety.airbag"
title = "Airbag"
mass = "3.0 kg"
at = "900 mm"
[[part]]
id = "wheel"
kind = "stowage.spare-wheel"
mass = "14.0 kg"
at = "2900 mm"
[[part]]
id = "seat"
kind = "interior.seat.rear"
[[job]]
id = "old"
state = "done"
date = 2026-01-01
[[job]]
id = "radio"
title = "Take out the radio"
state = "maybe"
off = ["audio"]
cost = "0 EUR"
returns = "30 EUR"
hours = 1
[[job]]
id = "airbag"
title = "Take out the airbag"
state = "maybe"
off = ["bag"]
cost = "20 EUR"
hours = 2.5
[[job]]
id = "wheel"
title = "Take out the spare wheel"
state = "maybe"
off = ["wheel"]
[[job]]
id = "seat"
state = "maybe"
off = ["seat"]
needs = ["radio"]
cost = "500 EUR"
"""
BOOK = """\
format = "tarebook-rules/1"
[book]
id = "heron-club"
title = "Heron Club"
edition = "2027"
clause = "1"
in_force = { from = 2027-01-01 }
silence = "permits"
[[class]]
id = "open"
title = "Open"
[class.weight]
clause = "2"
driver = "out"
minimum = "935 kg"
ballast = { allowed = true, most = "10 kg", places = ["interior.floor"], clause = "2.1" }
[[class]]
id = "caged"
title = "Caged"
like = "open"
[[class.need]]
clause = "3"
kinds = ["safety.cage"]
[[class]]
id = "quiet"
title = "Quiet"
like = "open"
[[class.require]]
clause = "4"
says = "At most 98 dB(A)."
must = { noise = { most = 98 } }
[[class]]
id = "heavier"
title = "Heavier"
like = "open"
[class.weight]
clause = "5"
minimum = "953 kg"
"""
Ask = Callable[..., object]


@pytest.fixture
def siskin(tmp_path: Path, ask: Ask) -> Callable[..., tuple[int, str, str]]:
    """Asks for a route of the car in a class."""
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "rulesets").mkdir()
    (tmp_path / "rulesets" / "book.toml").write_text(BOOK, encoding="utf-8")

    def give(*more: str, on: str = "2027-05-01") -> tuple[int, str, str]:
        found = ask("route", "car.toml", *more, "--on", on)
        return found.status, found.out, found.err  # type: ignore[attr-defined]

    return give


def test_a_route_to_take_to_the_garage(siskin: Callable[..., tuple[int, str, str]]) -> None:
    status, out, err = siskin("open")
    assert (status, err) == (ELIGIBLE, "")
    assert out.splitlines() == [
        "Siskin in open: Open (Heron Club, edition 2027), on 2027-05-01",
        "",
        "The cheapest legal set of jobs that reaches the target, proven.",
        "",
        "Now: 950.0 kg as the class weighs it, 15.0 kg over the minimum.",
        "  1. Take out the spare wheel [wheel]",
        "     14.00 kg lighter; no cost stated, counted as nothing; then 936.0 kg; 1.0 kg over the minimum.",
        "  2. Take out the radio [radio]",
        "     4.00 kg lighter; brings in 30 EUR; 1 hour; then 932.0 kg; 3.0 kg under the minimum.",
        "",
        "Together: brings in 30 EUR, 1 hour.",
        "Without a stated cost, so counted as nothing: wheel.",
        "Ballast to add: 3.114 kg, 1200 mm behind the front axle (the class has it in interior.floor).",
        "To be 97.5 % sure of the minimum with these weighings, the car must weigh 0.11 kg over it: that",
        "counts as reaching it.",
        "As the class weighs it: 935.1 kg, +0.1 kg at clause 2, the minimum.",
        "",
        "Left aside, whatever they would save:",
        '  - seat: The mass of the build is not known: part "seat" was never weighed.',
        "",
        "This is a preparation. The official at the event decides, by the club's own book.",
    ]


def test_a_class_named_with_its_book(siskin: Callable[..., tuple[int, str, str]]) -> None:
    assert siskin("heron-club/open") == siskin("open")


def test_the_cautions_of_what_a_job_touches(siskin: Callable[..., tuple[int, str, str]]) -> None:
    _, out, _ = siskin("open", "--must", "airbag", "--just-eligible")
    assert "Take out the airbag [airbag] (1)" in out
    assert "  (1) Airbags and belt pretensioners hold an explosive charge" in out


def test_none_says_what_conflicts(siskin: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = siskin("open", "--must", "airbag", "--budget", "-20")
    assert status == NOT_ELIGIBLE
    assert out.splitlines()[2:7] == [
        "No route. These cannot all be kept:",
        '  - job "airbag" is to be done.',
        "  - the budget of -20 EUR.",
        "No smaller set of demands conflicts.",
        "The cheapest without the budget brings in 10 EUR.",
    ]
    status, out, _ = siskin("caged")
    assert status == NOT_ELIGIBLE
    assert "  - clause 3: Not on the car, and must be: roll cage." in out.splitlines()


def test_the_json(siskin: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = siskin("open", "--target", "940 kg", "--front-share", "..56%", "--json")
    document = json.loads(out)
    assert status == ELIGIBLE
    assert {key: document[key] for key in ("format", "outcome", "jobs", "cost", "hours", "ballast_kg", "conflict")} == {
        "format": "tarebook-route/1",
        "outcome": "proven",
        "jobs": ["wheel", "radio"],
        "cost": -30.0,
        "hours": 1.0,
        "ballast_kg": document["ballast_kg"],
        "conflict": [],
    }
    assert document["mass_kg"] == document["mass_without_ballast_kg"] + document["ballast_kg"]
    front = 520 - 4 * (1 - 800 / 2400) - 14 * (1 - 2900 / 2400)
    rear_part = document["ballast_kg"] * document["ballast_at_mm"] / 2400
    assert (front + document["ballast_kg"] - rear_part) / document["mass_kg"] <= 0.56 + 1e-9
    assert front / 932 > 0.55
    assert document["binds"] == []  # nothing that was asked for makes it dearer


def test_the_json_of_none_and_of_all_trade_offs(siskin: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = siskin("caged", "--json")
    document = json.loads(out)
    assert (status, document["outcome"], document["jobs"], document["cost"]) == (NOT_ELIGIBLE, "impossible", [], None)
    assert document["conflict"] == [
        {
            "demand": "rule 3",
            "sentence": "clause 3: Not on the car, and must be: roll cage.",
            "undecided": False,
            "facts_to_find": [],
        }
    ]
    status, out, _ = siskin("open", "--frontier", "--json", "--forbid", "wheel")
    points = json.loads(out)["points"]
    assert (status, [(each["jobs"], each["cost"], each["mass_kg"]) for each in points]) == (
        ELIGIBLE,
        [(["radio"], -30.0, 946.0), (["radio", "airbag"], -10.0, 943.0)],
    )


def test_the_trade_offs_in_words(siskin: Callable[..., tuple[int, str, str]]) -> None:
    _, out, _ = siskin("open", "--frontier", "--forbid", "wheel")
    assert out.splitlines()[2:9] == [
        "All trade-offs of cost against mass, proven: no other build is both cheaper and lighter than one of",
        "these.",
        "",
        "  1. 946.0 kg, brings in 30 EUR, 1 hour",
        "     jobs: radio",
        "",
        "  2. 943.0 kg, brings in 10 EUR, 3.5 hours",
    ]
    assert "None of them reaches the minimum as the target: the last stays 7.9 kg over it." in out.splitlines()
    _, out, _ = siskin("open", "--frontier")
    assert "None of them" not in out and "; reaches the target" in out


def test_what_is_not_known_is_asked_for(siskin: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = siskin("quiet")
    assert status == UNDECIDED
    assert out.splitlines()[2:7] == [
        "Not known yet. No choice of jobs surely keeps this:",
        "  - clause 4: Whether the car is as it must be by clause 4 hangs on noise, which the car file does",
        '    not state. "At most 98 dB(A)."',
        "Find out first: noise. What each value would open: tarebook choose.",
        "",
    ]
    status, out, _ = siskin("quiet", "--json")
    document = json.loads(out)
    assert (status, document["outcome"], document["facts_to_find"]) == (UNDECIDED, "not-proven", ["noise"])


def test_jobs_that_ask_for_one_another(siskin: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = siskin("open", "--must", "seat", "--forbid", "radio")
    assert status == NOT_ELIGIBLE
    assert 'That is so because job "seat" needs job "radio".' in out.splitlines()


def test_a_target_out_of_reach_tells_ballast_apart(siskin: Callable[..., tuple[int, str, str]]) -> None:
    _, out, _ = siskin("open", "--target", "900 kg")
    told = " ".join(out.split())
    # 950 less radio, airbag and wheel; the minimum of 935 then wants 6 kg and what the scales leave unsure.
    assert (
        "The lightest that can be reached: 929.0 kg, and 6.1 kg of ballast that it then owes, by radio, airbag and"
        " wheel. It brings in 10 EUR." in told
    )


def test_ballast_alone(siskin: Callable[..., tuple[int, str, str]]) -> None:
    _, out, _ = siskin("heavier", "--forbid", "radio", "--forbid", "wheel")
    assert "No job needs to be done, only ballast added." in out.splitlines()


def test_no_time_is_not_proven(siskin: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tarebook.route.search.time.monotonic", iter([0.0, 100.0, 200.0]).__next__)
    status, out, _ = siskin("open")
    assert status == UNDECIDED
    assert "No route was found in the time given" in out


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["opn"], 'There is no class "opn". Did you mean "open"?'),
        (["open", "--must", "radyo"], 'There is no job "radyo". Did you mean "radio"?'),
        (["open", "--must", "old"], 'Job "old" is done already; --undo lets a route undo done jobs.'),
        (["open", "--must", "radio", "--forbid", "radio"], '--must and --forbid both name "radio".'),
        (["open", "--target", "900", "--just-eligible"], "--just-eligible asks for no target"),
        (["open", "--target", "heavy"], "--target: "),
        (["open", "--target=-5 kg"], '--target: "-5 kg" is no mass that a car may have.'),
        (["heron/open"], 'There is no class "heron/open". Did you mean "heron-club/open"'),
        (["open", "--budget", "20 USD"], "--budget: the car file counts in EUR, not in USD."),
        (["open", "--hours", "-1"], '--hours: "-1" is no number of hours'),
        (["open", "--front-share", "54%"], '--front-share: "54%" has no two ends'),
        (["open", "--front-share", "x..54%"], '--front-share: "x..54%" cannot be read'),
        (["open", "--front-share", "55%..54%"], '--front-share: "55%..54%" ends before it begins.'),
        (["open", "--front-share", "52%..540%"], '--front-share: "52%..540%" cannot be read'),
        (["open", "--confidence", "40%"], '"40%" is no such chance: write one of at least 50 % and under 100 %'),
    ],
)
def test_what_is_refused(siskin: Callable[..., tuple[int, str, str]], more: list[str], told: str) -> None:
    status, out, err = siskin(*more)
    assert (status, out) == (WRONG, "")
    assert told in err


def test_what_binds(siskin: Callable[..., tuple[int, str, str]]) -> None:
    _, out, _ = siskin("open", "--must", "airbag", "--json")
    assert json.loads(out)["binds"] == [{"demand": "must airbag", "sentence": 'job "airbag" is to be done'}]
    _, out, _ = siskin("open", "--must", "airbag")
    assert 'What holds it back: job "airbag" is to be done.' in out.splitlines()


def test_a_route_that_the_judge_refuses_is_a_defect_of_ours(
    siskin: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stricter(*arguments: object, **named: object) -> object:
        row = judge(*arguments, **named)  # type: ignore[arg-type]
        row.verdict = "too-close"
        return row

    monkeypatch.setattr("tarebook.route.planning.judge", stricter)
    status, out, err = siskin("open")
    assert (status, out) == (BROKEN, "")
    assert "Disagreement" in err


def test_nothing_of_the_solver_is_printed(siskin: Callable[..., tuple[int, str, str]]) -> None:
    asked = ["route", "car.toml", "open", "--on", "2027-05-01", "--json"]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "src")}
    done = subprocess.run(
        [sys.executable, "-m", "tarebook", *asked], capture_output=True, text=True, check=False, env=environment
    )
    assert (json.loads(done.stdout)["outcome"], done.stderr, done.returncode) == ("proven", "", ELIGIBLE)
