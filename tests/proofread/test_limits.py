"""Limits that do not say what holds for some car that may enter, and minima over their maxima."""

import pytest
from planted import HERE, another, check_planted, club, found_in, group, rule

GAUGE = '[[fact]]\nid = "gauge"\ntype = "count"\ntitle = "Gauge"\n'


def weight(*lines, clause="2.1", holder="class"):
    return "\n".join([f"[{holder}.weight]", f"clause = '{clause}'", "driver = 'out'", *lines, ""])


def bands(*rows, by="displacement", here=0, key="minimum", rest=""):
    """A banded limit, one row a line; `here` is the number of the row to mark, from 1."""
    lines = [f"[class.weight.{key}]", f"by = '{by}'", "over_up_to = ["]
    lines += [f"    {list(row)}," + (HERE if number == here else "") for number, row in enumerate(rows, 1)]
    return "\n".join([*lines, "]", rest, ""])


GAPS = {
    "between two bands": (
        club(weight() + bands(["0 L", "1.4 L", "840 kg"], ["1.6 L", "930 kg"], here=2)),
        "displacement over 1400 cm3 and up to 1600 cm3",
    ),
    "below the first": (
        club(weight() + bands(["1 L", "1.4 L", "840 kg"], ["1.4 L", "930 kg"], here=1)),
        "displacement up to 1000 cm3",
    ),
    "above the last": (
        club(weight() + bands(["0 L", "1.4 L", "840 kg"], ["1.4 L", "2 L", "930 kg"], here=2)),
        "displacement over 2000 cm3",
    ),
    "between bands in another order": (
        club(weight() + bands(["1.6 L", "2 L", "930 kg"], ["0 L", "1.4 L", "840 kg"], ["2 L", "950 kg"], here=1)),
        "displacement over 1400 cm3 and up to 1600 cm3",
    ),
    "at one single figure that the class still lets in": (
        club(
            weight()
            + bands(["1 L", "930 kg"], here=1)
            + rule("enter", "2.2", rest="must = { displacement = { least = '1 L' } }")
        ),
        "displacement up to 1000 cm3",
    ),
    "one whole number": (
        club(
            weight() + bands([0, 4, "840 kg"], [5, "930 kg"], by="gauge", here=2),
            before=GAUGE,
        ),
        "gauge over 4 and up to 5",
    ),
    "of a maximum": (
        club(weight() + bands(["0 L", "1.4 L", "840 kg"], key="maximum", here=1)),
        "The maximum of clause 2.1 does not say what holds for displacement over 1400 cm3",
    ),
    "of an axle": (
        club(weight("[class.weight.front_axle]") + bands(["0 L", "2 L", "500 kg"], key="front_axle.least", here=1)),
        "The front-axle minimum of clause 2.1 does not say",
    ),
    "as made is not now": (
        club(
            weight()
            + bands(["0 L", "2 L", "930 kg"], here=1)
            + rule("enter", "2.2", rest="must = { as_made = { displacement = { up_to = '2 L' } } }")
        ),
        "displacement over 2000 cm3",
    ),
    "only the class that lets it in is named": (
        club(
            weight()
            + bands(["0 L", "2 L", "930 kg"], here=1)
            + rule("enter", "2.2", rest="must = { displacement = { up_to = '2 L' } }"),
            after=another("tour", keys='like = "club"\ndrops = ["2.2"]'),
        ),
        'and class "tour" lets such a car enter.',
    ),
    "several classes are named together": (
        club(
            weight() + bands(["0 L", "2 L", "930 kg"], here=1),
            after=another("tour", keys='like = "club"') + another("trip", keys='like = "club"'),
        ),
        'and classes "club", "tour" and "trip" let such a car enter.',
    ),
}


@pytest.mark.parametrize("case", GAPS)
def test_a_gap_in_bands(case):
    text, fragment = GAPS[case]
    check_planted(text, "gap-in-bands", "2.1", fragment)


CASES = {
    "of a choice": ("'driven_wheels'", "front = '900 kg', rear = '950 kg'", "driven wheels all, and class"),
    "two of them": ("'driven_wheels'", "front = '900 kg'", "driven wheels rear or all, and class"),
    "of yes and no": ("'p'", "true = '900 kg'", "flag p: no, and class"),
    "of a text": ("'marque'", "Wren = '900 kg'", "marque of any other value, and class"),
    "of a count": ("'seats'", "'2' = '900 kg', '4' = '950 kg'", "seats of any other value, and class"),
}


@pytest.mark.parametrize("case", CASES)
def test_a_missing_case(case):
    by, cases, fragment = CASES[case]
    limit = f"[class.weight.minimum]\nby = {by}\ncases = {{ {cases} }}{HERE}\n"
    own = '[[fact]]\nid = "marque"\ntype = "text"\ntitle = "Marque"\n'
    check_planted(club(weight() + limit, before=own), "missing-case", "2.1", fragment)


def test_a_gap_of_a_further_limit():
    limit = "[[class.limit]]\nclause = '2.1'\ndriver = 'out'\n[class.limit.minimum]\nby = 'power'\n"
    text = club(limit + f"over_up_to = [\n['0 kW', '90 kW', '900 kg'],{HERE}\n]\n")
    check_planted(text, "gap-in-bands", "2.1", "power over 90 kW")


COVERED = {
    "otherwise": club(weight() + bands(["0 L", "1.4 L", "840 kg"], rest="otherwise = '930 kg'")),
    "no gap": club(weight() + bands(["0 L", "1.4 L", "840 kg"], ["1.4 L", "930 kg"])),
    "bands in another order": club(
        weight() + bands(["1.4 L", "2 L", "930 kg"], ["0 L", "1.4 L", "840 kg"], ["2 L", "950 kg"])
    ),
    "enter keeps it out": club(
        weight()
        + bands(["0 L", "2 L", "930 kg"])
        + rule("enter", "2.2", rest="must = { displacement = { up_to = '2000 cm3' } }")
    ),
    "enter lets in just the ends of the gap": club(
        weight()
        + bands(["0 L", "1.4 L", "840 kg"], ["1.6 L", "2 L", "930 kg"])
        + rule("enter", "2.2", rest="must = { displacement = ['1.4 L', '1.601 L', '2 L'] }")
    ),
    "require keeps it out": club(
        weight()
        + bands(["0 L", "2 L", "930 kg"])
        + rule(
            "require",
            "2.2",
            rest="must = { any = [{ displacement = { under = '1 L' } }, "
            "{ displacement = { over = '1 L', under = '2 L' } }] }",
        )
    ),
    "two demands keep it out together": club(
        weight()
        + bands(["0 L", "2 L", "930 kg"])
        + rule("enter", "2.2", rest="must = { displacement = { up_to = '2 L' } }\nif = { p = true }")
        + rule("enter", "2.3", rest="must = { displacement = { under = '1 L' } }\nif = { p = false }")
    ),
    "no whole number in it": club(
        weight() + bands([0, 4, "840 kg"], ["4.5", "930 kg"], by="gauge").replace("'4.5'", "4"), before=GAUGE
    ),
    "its own condition excludes it": club(
        "[[class.limit]]\nclause = '2.1'\ndriver = 'out'\nif = { power = { most = '90 kW' } }\n"
        "[class.limit.minimum]\nby = 'power'\nover_up_to = [['0 kW', '90 kW', '900 kg']]\n"
    ),
    "the gap is replaced in the class that would let it in": club(
        weight()
        + bands(["0 L", "2 L", "930 kg"])
        + rule("enter", "2.2", rest="must = { displacement = { up_to = '2 L' } }"),
        after=another(
            "tour",
            weight("minimum = '900 kg'", clause="3.1").replace("driver = 'out'\n", ""),
            'like = "club"\ndrops = ["2.2"]',
        ),
    ),
    "every case": club(
        weight("minimum = { by = 'driven_wheels', cases = { front = '1 kg', rear = '2 kg', all = '3 kg' } }")
    ),
    "a case of both answers": club(weight("minimum = { by = 'p', cases = { true = '1 kg', false = '2 kg' } }")),
    "a case that no such car needs": club(
        weight("minimum = { by = 'driven_wheels', cases = { front = '1 kg', rear = '2 kg' } }")
        + rule("require", "2.2", rest="must = { not = { driven_wheels = 'all' } }")
    ),
    "any other text": club(
        weight("minimum = { by = 'marque', cases = { Wren = '1 kg' }, otherwise = '2 kg' }"),
        before='[[fact]]\nid = "marque"\ntype = "text"\ntitle = "Marque"\n',
    ),
}


@pytest.mark.parametrize("case", COVERED)
def test_a_limit_without_a_gap(case):
    assert found_in(COVERED[case]) == ([], [])


OVER = {
    "of the weight": (
        club(weight("minimum = '900 kg' # here", "maximum = '899.5 kg'")),
        "The minimum of clause 2.1, 900 kg, is over the maximum of clause 2.1 (rules:26), 899.5 kg: "
        "no car can keep both.",
    ),
    "of an axle": (
        club(weight("[class.weight.rear_axle]", "least = '500 kg' # here", "most = '400 kg'")),
        "The minimum of clause 2.1, 500 kg, is over the maximum of clause 2.1 (rules:27), 400 kg",
    ),
    "of a further limit": (
        club("[[class.limit]]\nclause = '2.1'\ndriver = 'out'\nminimum = '90 kg' # here\nmaximum = '80 kg'\n"),
        "80 kg: no car can keep both.",
    ),
    "of a class and the one it is like": (
        club(
            weight("maximum = '900 kg'", clause="4.1"),
            after=another("tour", weight("minimum = '950 kg' # here").replace("driver = 'out'\n", ""), 'like = "club"'),
        ),
        "is over the maximum of clause 4.1 (rules:25), 900 kg",
    ),
    "adjusted the wrong way": (
        club(weight("minimum = '900 kg' # here", "maximum = '800 kg'", "adjust = [{ add = '5 kg' }]")),
        "no car can keep both",
    ),
}


@pytest.mark.parametrize("case", OVER)
def test_a_minimum_over_the_maximum(case):
    text, fragment = OVER[case]
    check_planted(text, "minimum-over-maximum", "2.1", fragment)


@pytest.mark.parametrize(
    "text",
    [
        club(weight("minimum = '900 kg'", "maximum = '900 kg'")),
        club(weight("minimum = '900 kg'", "maximum = '1 t'")),
        club(weight("minimum = '900 kg'", "maximum = '800 kg'", "adjust = [{ add = '-150 kg', if = { p = true } }]")),
        club(weight("minimum = '900 kg'", "maximum = '800 kg'", "adjust = [{ add = '150 kg', of = 'maximum' }]")),
        club(weight("minimum = '900 kg'", "maximum = { fact = 'kerb_mass' }")),
        club(weight("front_axle = { least = '500 kg' }", "rear_axle = { most = '400 kg' }")),
        club(
            weight("minimum = '900 kg'")
            + "[[class.limit]]\nclause = '2.2'\ntaken_off = ['interior']\nmaximum = '30 kg'\n"
        ),
    ],
)
def test_a_minimum_within_the_maximum(text):
    assert found_in(text) == ([], [])


def test_a_gap_in_a_group_is_told_in_the_group():
    shared = group(
        "shared", weight(holder="group") + bands(["0 L", "2 L", "930 kg"], here=1).replace("[class", "[group")
    )
    check_planted(club(before=shared, keys='uses = ["shared"]'), "gap-in-bands", "2.1", 'class "club" lets')
