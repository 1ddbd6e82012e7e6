"""The engine against the oracle: a second, naive implementation of the specification, on generated cases."""

import pytest

from oracle.generate import case, read_car, read_rules
from oracle.naive import decide
from tarebook.api import check
from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules

CASES = 500
PER_TEST = 25


@pytest.mark.parametrize("first", range(0, CASES, PER_TEST))
def test_verdicts_and_facts_to_find_are_those_of_the_oracle(first):
    for seed in range(first, first + PER_TEST):
        drawn = case(seed)
        builds = list(drawn.builds)
        report = check(parse_car(drawn.car_toml), parse_rules(drawn.rules_toml), on=drawn.on, build=builds)
        found = {(row.class_id, row.build): (row.verdict, row.facts_to_find) for row in report.rows}
        car, rules = read_car(drawn.car_toml), read_rules(drawn.rules_toml)
        for class_id in drawn.classes:
            for build in builds:
                answer = decide(car, rules, class_id, build, drawn.on)
                expected = (answer.verdict, tuple(answer.facts_to_find))
                assert found[class_id, build] == expected, (seed, class_id, build)
