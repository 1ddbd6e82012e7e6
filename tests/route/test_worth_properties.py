"""On random cars and books that are made to be nasty: a figure of a stretch, once stated, gives the verdicts told.

All invented. The figures are drawn from within each stretch, not those that the program itself tried.
"""

import random
from fractions import Fraction

from oracle.generate import case
from tarebook.api import check, settle
from tarebook.car.reading import parse_car
from tarebook.fact_values import NUMERIC_TYPES
from tarebook.route.choosing import ORDER, Setting, choose
from tarebook.route.stating import with_fact
from tarebook.route.worth import find_worth
from tarebook.rules.reading import parse_rules

SEEDS = range(25)


def figures_in(stretch, whole, rng):
    low = stretch.low[0] if stretch.low else Fraction(0)
    high = stretch.high[0] if stretch.high else low + 50
    for _ in range(3):
        figure = low + (high - low) * Fraction(rng.randint(0, 1000), 1000)
        figure = Fraction(int(figure * (1 if whole else 1000)), 1 if whole else 1000)
        after = stretch.low is None or figure > low or (figure == low and not stretch.low[1])
        before = stretch.high is None or figure < high or (figure == high and not stretch.high[1])
        if after and before:
            yield figure


def test_any_figure_of_a_stretch():
    compared = 0
    for seed in SEEDS:
        rng, made = random.Random(seed), case(seed)
        car, rules = parse_car(made.car_toml), parse_rules(made.rules_toml)
        days = {"now": made.on, "planned": made.on}
        setting = Setting(car, {made.on: [rules]}, settle(car, [rules]), days)
        for worth in find_worth(setting, choose(setting), ORDER):
            if worth.fact is None or worth.fact.type not in NUMERIC_TYPES or worth.fact.type == "money":
                continue
            for value in worth.values:
                for figure in figures_in(value.stretch, worth.fact.type == "count", rng):
                    stated = with_fact(car, worth.fact, figure)
                    rows = check(stated, rules, on=made.on, build=list(days)).rows
                    verdicts = {(row.class_id, row.build): row.verdict for row in rows}
                    for then in value.classes:
                        told = {build: then.choice.verdict(build) for build in days}
                        assert told == {build: verdicts[then.choice.prepared.id, build] for build in days}, seed
                        compared += 1
    assert compared > 20
