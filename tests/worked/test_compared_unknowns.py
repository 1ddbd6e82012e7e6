"""Unknown figures that a rule compares with one another."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from support import DAY, toml
from tarebook.api import check
from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules

CAR = 'format = "tarebook-car/1"\n[car]\nname = "Plover"\n'


def chain(count: int) -> str:
    """A rule set that asks f0 >= f1 + 5, f1 >= f2 + 5 and so on."""
    facts = "".join(f'[[fact]]\nid = "f{n}"\ntype = "number"\ntitle = "Invented"\n' for n in range(count))
    must = {"all": [{f"f{n}": {"least": {"as_made": f"f{n + 1}", "plus": 5}}} for n in range(count - 1)]}
    return (
        f'format = "tarebook-rules/1"\n{facts}[book]\nid = "b"\ntitle = "Invented"\nedition = "1"\n'
        'in_force = { from = 2020-01-01 }\nsilence = "permits"\n[[class]]\nid = "c"\ntitle = "C"\n'
        f'[[class.enter]]\nclause = "2"\nmust = {toml(must)}\n'
    )


# f0 = 5 (count - 1), ..., 10, 5, 0 keeps the rule and all alike break it: the class is open whatever the count.
@pytest.mark.parametrize("count", range(2, 9))
def test_a_chain_of_comparisons_can_be_kept_and_broken(count):
    (row,) = check(parse_car(CAR), parse_rules(chain(count)), on=DAY).rows
    assert row.verdict == "undecided"


@pytest.mark.parametrize("count", [2, 3])
def test_every_figure_of_a_short_chain_is_to_find(count):
    (row,) = check(parse_car(CAR), parse_rules(chain(count)), on=DAY).rows
    assert row.facts_to_find == tuple(f"f{n}" for n in range(count))


def test_the_answer_does_not_hang_on_the_order_of_hashes():
    asked = (
        "from tarebook.api import check; from tarebook.car.reading import parse_car; "
        "from tarebook.rules.reading import parse_rules; import datetime, sys; "
        "row = check(parse_car(sys.argv[1]), parse_rules(sys.argv[2]), on=datetime.date(2027, 5, 1)).rows[0]; "
        "print(row.verdict, row.facts_to_find)"
    )
    answers = set()
    for seed in range(4):
        environment = {**os.environ, "PYTHONHASHSEED": str(seed), "PYTHONPATH": os.pathsep.join(sys.path)}
        ran = subprocess.run(
            [sys.executable, "-c", asked, CAR, chain(5)],
            env=environment,
            cwd=Path(__file__).parent,
            capture_output=True,
            text=True,
            check=True,
        )
        answers.add(ran.stdout)
    assert len(answers) == 1


def test_a_sure_violation_shuts_a_class_however_much_else_is_unknown():
    sure = '[[class.enter]]\nclause = "3"\nmust = { seats = { least = 4 } }\n'
    car = CAR + "[facts]\nseats = 2\n"
    (row,) = check(parse_car(car), parse_rules(chain(12) + sure), on=DAY).rows
    assert (row.verdict, row.facts_to_find) == ("not-eligible", ())
    assert (row.findings[0].result, row.findings[0].clause) == ("violation", "3")
