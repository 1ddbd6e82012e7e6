"""Rule sets made to be slow: each is answered, or left undecided with a finding that says so, in bounded work.

Every one of these would take hours if all combinations were tried. The alarm is no timing: it ends a test that hangs.
"""

import datetime
import itertools
import signal

import pytest

from tarebook.api import check
from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules

DAY = datetime.date(2027, 5, 1)
CAR = """format = "tarebook-car/1"
[car]
name = "Curlew"
[at_inspection]
fuel = "5 L"
[[weighing]]
id = "w"
date = 2027-01-01
total = "930.5 kg"
fuel = "5 L"
"""
WEIGHT = '[class.weight]\nclause = "1"\ndriver = "out"\n'


@pytest.fixture(autouse=True)
def _ends():
    if not hasattr(signal, "SIGALRM"):
        yield
        return
    signal.alarm(120)
    yield
    signal.alarm(0)


def book(body: str, *, facts: int = 0, of: str = "number") -> str:
    own = "".join(f'[[fact]]\nid = "f{each}"\ntype = "{of}"\ntitle = "Invented"\n' for each in range(facts))
    return (
        f'format = "tarebook-rules/1"\n{own}[book]\nid = "b"\ntitle = "Invented"\nedition = "1"\n'
        f'in_force = {{ from = 2020-01-01 }}\nsilence = "permits"\n[[class]]\nid = "c"\ntitle = "C"\n{body}'
    )


def adjusts(count: int) -> str:
    each = (
        f'{{ add = "{n + 1}.{n} kg", if = {{ f{n} = {{ least = {n + 3}, under = {n + 9} }} }} }}' for n in range(count)
    )
    return book(f'{WEIGHT}minimum = "900 kg"\nadjust = [{", ".join(each)}]\n', facts=count)


def alternatives(count: int) -> str:
    each = ", ".join(f"{{ seats = {n}, doors = {n} }}" for n in range(count))
    return book(f'[[class.enter]]\nclause = "2"\nmust = {{ any = [{each}] }}\n')


def comparisons(count: int) -> str:
    each = ", ".join(
        f'{{ f{a} = {{ least = {{ as_made = "f{b}", plus = {a + 1} }} }} }}'
        for a, b in itertools.permutations(range(count), 2)
    )
    return book(f'[[class.enter]]\nclause = "2"\nmust = {{ all = [{each}] }}\n', facts=count)


def counted(count: int) -> str:
    each = "".join(
        f'[[class.counts]]\nclause = "3.{n}"\nfact = "displacement"\ntimes = 1.{n + 1}\nif = {{ f{n} = true }}\n'
        for n in range(count)
    )
    enter = '[[class.enter]]\nclause = "2"\nmust = { displacement = { up_to = "1600 cm3" } }\n'
    return book(enter + each, facts=count, of="yes-no")


TOO_MANY = {
    "12 adjustments, each on an unknown figure": adjusts(12),
    "400 adjustments, each on an unknown figure": adjusts(400),
    "300 alternatives of two unknown counts": alternatives(300),
    "10 unknown figures, each compared with every other": comparisons(10),
    "40 equivalences, each on an unknown fact": counted(40),
}


@pytest.mark.parametrize("text", TOO_MANY.values(), ids=TOO_MANY)
def test_too_many_cases_are_left_undecided_and_it_says_so(text):
    (row,) = check(parse_car(CAR), parse_rules(text), on=DAY).rows
    assert row.verdict == "undecided"
    assert [(finding.result, finding.form) for finding in row.findings] == [("undecided", "class")]
    assert row.findings[0].sentence.startswith("More than 100,000 cases of what is unknown would have to be tried")


def test_a_limit_of_thousands_of_cases_is_answered_exactly():
    cases = ", ".join(f'"{n}" = "{900 + n % 50} kg"' for n in range(5000))
    text = book(f'{WEIGHT}minimum = {{ by = "f0", cases = {{ {cases} }} }}\n', facts=1, of="count")
    (row,) = check(parse_car(CAR), parse_rules(text), on=DAY).rows
    assert (row.verdict, row.facts_to_find) == ("undecided", ("f0",))


def test_a_chain_of_ten_thousand_jobs_is_put_in_order():
    chain = "".join(
        f'[[job]]\nid = "j{n}"\nstate = "planned"\n' + (f'needs = ["j{n + 1}"]\n' if n < 9999 else "")
        for n in range(10_000)
    )
    order = parse_car(CAR + chain).inventory.order
    assert order == tuple(f"j{n}" for n in reversed(range(10_000)))
