"""`reconcile`: what is printed, as text and as JSON, and the exit status. The car is invented."""

import json

import pytest

from tarebook.cli.reconciling import AGREES, DISAGREES, NOT_KNOWN
from tarebook.cli.status import WRONG

CAR = """\
format = "tarebook-car/1"
[car]
name = "Wren"
[facts]
fuel = "petrol"
wheelbase = "2400 mm"
[[weighing]]
id = "first"
date = 2027-01-10
axles = { front = "500.0 kg", rear = "400.0 kg" }
fuel = "10 L"
[[weighing]]
id = "second"
date = 2027-03-10
axles = { front = "FRONT kg", rear = "REAR kg" }
fuel = "10 L"
[[part]]
id = "spare"
kind = "stowage.spare-wheel"
title = "Spare wheel"
mass = "12.0 kg"
at = "2800 mm"
[[part]]
id = "jack"
kind = "stowage.jack"
title = "Jack"
mass = "3.0 kg"
at = "2400 mm"
[[job]]
id = "spare-out"
title = "Take out the spare wheel"
state = "done"
date = DAY
off = ["spare"]
"""
AGREE = """\
Wren (car.toml): do the weighings agree with the ledger
first, 2027-01-10: 900.00 kg, the base of all below

second, 2027-03-10: agrees: weighed 888.00 kg, expected 888.00 kg
  in all: expected less weighed +0.00 kg, uncertain by 0.13 kg (95 %): E_n 0.00
  front axle: expected less weighed +0.00 kg, uncertain by 0.08 kg (95 %): E_n 0.00
  rear axle: expected less weighed +0.00 kg, uncertain by 0.10 kg (95 %): E_n 0.00
"""
JACK_OFF = """\
Wren (car.toml): do the weighings agree with the ledger
first, 2027-01-10: 900.00 kg, the base of all below

second, 2027-03-10: does not agree: weighed 885.00 kg, expected 888.00 kg
  in all: expected less weighed +3.00 kg, uncertain by 0.13 kg (95 %): E_n 23.71
  front axle: expected less weighed +0.00 kg, uncertain by 0.08 kg (95 %): E_n 0.00
  rear axle: expected less weighed +3.00 kg, uncertain by 0.10 kg (95 %): E_n 28.92
  Still to be explained: the car is 3.00 kg lighter than the ledger has it, about 2400 mm behind the
  front axle (u 33 mm). Something came off, went on or was weighed wrong.
  What to look at, the likeliest first:
   1. part "jack" (Jack) weighs 3.00 kg and is on by the ledger: was it off when the car was
      weighed?
"""
KEYS = {"id", "weighed_kg", "expected_kg", "unexplained_kg", "e_n", "agrees"}


def write(club, front="502.0", rear="386.0", day="2027-02-10", edit=("", "")):
    text = CAR.replace("FRONT", front).replace("REAR", rear).replace("DAY", day)
    club.write("car.toml", text.replace(*edit) if edit[0] else text)


def test_in_agreement(club):
    write(club)
    assert club.ask("reconcile", "car.toml") == (AGREES, AGREE, "")


def test_a_difference_and_what_may_explain_it(club):
    write(club, rear="383.0")
    assert club.ask("reconcile", "car.toml") == (DISAGREES, JACK_OFF, "")


def test_json_has_the_keys_of_the_format(club):
    write(club, rear="383.0")
    answer = club.ask("reconcile", "car.toml", "--json")
    document = json.loads(answer.out)
    assert answer.status == DISAGREES
    assert (document["format"], document["agrees"]) == ("tarebook-reconcile/1", False)
    assert (document["base"]["id"], document["base"]["weighed_kg"]) == ("first", 900.0)
    (row,) = document["weighings"]
    assert set(row) >= KEYS
    assert (row["id"], row["weighed_kg"], row["expected_kg"], row["agrees"]) == ("second", 885.0, 888.0, False)
    assert row["unexplained_kg"] == 3.0  # expected less weighed
    assert row["e_n"] == pytest.approx(3.0 / row["expanded_kg"])
    assert (row["front_unexplained_kg"], row["rear_unexplained_kg"], row["at_mm"]) == (0.0, 3.0, 2400.0)
    assert row["culprits"] == [
        {
            "what": "part",
            "id": "jack",
            "why": "same-mass",
            "change": "on",
            "explains_kg": 3.0,
            "would_weigh_kg": None,
        }
    ]


def test_json_in_agreement(club):
    write(club)
    answer = club.ask("reconcile", "car.toml", "--json")
    (row,) = json.loads(answer.out)["weighings"]
    assert (answer.status, row["e_n"], row["agrees"], row["culprits"]) == (AGREES, 0.0, True, [])


def test_in_pounds(club):
    write(club, rear="383.0")
    out = club.ask("reconcile", "car.toml", "--units", "lb").out
    # 3 kg are 6.61 lb at 0.45359237 kg to the pound.
    assert "weighed 1951.09 lb, expected 1957.70 lb" in out
    assert "the car is 6.61 lb lighter" in out


def test_where_it_cannot_be_computed(club):
    write(club, edit=('mass = "12.0 kg"\n', ""))
    answer = club.ask("reconcile", "car.toml")
    assert answer.status == NOT_KNOWN
    assert answer.out.endswith(
        'second, 2027-03-10: weighed 888.00 kg; what the ledger expects is not known: part "spare" was never\n'
        "  weighed.\n"
    )
    row = json.loads(club.ask("reconcile", "car.toml", "--json").out)["weighings"][0]
    assert [row[key] for key in ("expected_kg", "unexplained_kg", "e_n", "agrees")] == [None] * 4
    assert row["missing"] == ['part "spare" was never weighed']


def test_one_weighing_alone(club):
    text = CAR.replace("DAY", "2027-02-10")
    start, end = text.index('[[weighing]]\nid = "second"'), text.index("[[part]]")
    club.write("car.toml", text[:start] + text[end:])
    answer = club.ask("reconcile", "car.toml")
    assert answer.status == NOT_KNOWN
    assert answer.out.endswith("There is no other weighing to compare with it.\n")


def test_never_weighed(club):
    club.write("car.toml", 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n')
    answer = club.ask("reconcile", "car.toml")
    assert answer.status == NOT_KNOWN
    assert answer.out.endswith("The car was never weighed: tarebook weigh adds a weighing.\n")
    assert json.loads(club.ask("reconcile", "car.toml", "--json").out) == {
        "format": "tarebook-reconcile/1",
        "base": None,
        "agrees": None,
        "weighings": [],
    }


@pytest.mark.parametrize(
    ("front", "rear", "day", "edit", "sentence"),
    [
        (
            "500.0",
            "400.0",
            "2027-03-05",
            ("", ""),
            '1. job "spare-out" (Take out the spare wheel), of 2027-03-05, is near weighing "second", and counts as'
            " done by then: was it done later? That would explain 12.00 kg.",
        ),
        (
            "503.0",
            "381.0",
            "2027-02-10",
            ('mass = "12.0 kg"', 'mass = "2.0 kg"'),
            '1. part "spare" (Spare wheel) came off, and its mass is not what its kind mostly weighs, 9.0 kg to'
            " 22.0 kg. It explains all if it weighs 16.00 kg.",
        ),
        (
            "502.0",
            "383.0",
            "2027-02-10",
            ('mass = "12.0 kg"', 'estimate = { mass = "12 kg", within = "0.1 kg" }'),
            '1. part "spare" (Spare wheel) was only estimated: weigh it. It explains all if it weighs 15.00 kg.',
        ),
        (
            "502.5",
            "382.5",
            "2027-02-10",
            ("", ""),
            '1. part "spare" (Spare wheel) was changed and sits where the difference is: weigh it again. It explains'
            " all if it weighs 15.00 kg.",
        ),
    ],
)
def test_the_first_suspect_in_words(club, front, rear, day, edit, sentence):
    write(club, front, rear, day, edit)
    answer = club.ask("reconcile", "car.toml")
    assert answer.status == DISAGREES
    assert sentence in " ".join(answer.out.split())


def test_nothing_looks_like_it(club):
    write(club, front="480.0", rear="386.0")
    assert (
        "Nothing in the ledger looks like it: perhaps work was never written down."
        in club.ask("reconcile", "car.toml").out
    )


def test_names_out_of_the_file_cannot_act_on_the_terminal(club):
    write(club, rear="383.0", edit=('title = "Jack"', 'title = "Jack\\u001b[31m"'))
    out = club.ask("reconcile", "car.toml").out
    assert "\x1b" not in out
    assert "(Jack\\x1b[31m)" in out


def test_wrong_requests(club):
    write(club)
    answer = club.ask("reconcile", "car.toml", "--units", "mm")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == "--units: a mass is expected, but mm is a length.\n"
    assert club.ask("reconcile", "none.toml").status == WRONG
