"""Clauses out of place or used twice, groups and finishes that do not reach, and overrides that change nothing."""

import pytest
from planted import HERE, another, check_planted, club, found_in, group, rule

DASH = "interior.dash"
WEIGHT = "[class.weight]\nclause = '2.1'\ndriver = 'out'\n"


def marked(text, line):
    """The text with a mark on the line that is just this."""
    lines = text.split("\n")
    assert lines.count(line) == 1, line
    return "\n".join(each + HERE if each == line else each for each in lines)


OUTSIDE = {
    "a rule of a class": (rule("ban", "3.1", DASH, "remove"), "3.1", 'clause = "3.1"'),
    "a longer number that only looks alike": (rule("ban", "20.1", DASH, "remove"), "20.1", 'clause = "20.1"'),
    "a weight": (WEIGHT.replace("2.1", "3.1") + "minimum = '900 kg'\n", "3.1", "clause = '3.1'"),
    "a question": (rule("ask", "3", rest="says = 'Neat?'"), "3", 'clause = "3"'),
    "a finish": (
        rule("finish", "4", rest="id = 'bare'\narea = 'interior'\nby = ['painted']\nif = { p = true }"),
        "4",
        'clause = "4"',
    ),
    "a further limit": (rule("limit", "1.9", rest="driver = 'out'\nminimum = '900 kg'"), "1.9", 'clause = "1.9"'),
    "an adjustment": (
        WEIGHT + "minimum = '900 kg'\n[[class.weight.adjust]]\nadd = '5 kg'\nclause = '3.1'\n",
        "3.1",
        "clause = '3.1'",
    ),
    "ballast": (WEIGHT + "[class.weight.ballast]\nallowed = false\nclause = '3.1'\n", "3.1", "clause = '3.1'"),
    "an axle": (WEIGHT + "[class.weight.rear_axle]\nleast = '400 kg'\nclause = '3.1'\n", "3.1", "clause = '3.1'"),
}


@pytest.mark.parametrize("case", OUTSIDE)
def test_a_clause_outside_its_class(case):
    body, clause, line = OUTSIDE[case]
    text = marked(club(body, keys='clause = "2"'), line)
    check_planted(text, "outside-its-clause", clause, f'Clause {clause} stands in class "club", which is clause 2:')


def test_a_clause_outside_its_group():
    text = club(
        before=group("shared", rule("ban", "4.1", DASH, "remove", holder="group"), 'clause = "3.1"'),
        keys='uses = ["shared"]',
    )
    check_planted(marked(text, 'clause = "4.1"'), "outside-its-clause", "4.1", 'in group "shared", which is clause 3.1')


@pytest.mark.parametrize(
    "text",
    [
        club(rule("ban", "2.7", DASH, "remove") + rule("ask", "2", rest="says = 'Neat?'"), keys='clause = "2"'),
        club(rule("ban", "3.1", DASH, "remove")),
        club(
            rule("ban", "2.7", DASH, "remove"),
            keys='clause = "2"',
            after=another("tour", rule("ban", "3.1", "glass", "remove"), 'clause = "3"\nlike = "club"'),
        ),
        club(
            before=group("shared", rule("ban", "4.1", DASH, "remove", holder="group"), 'clause = "4"'),
            keys='clause = "2"\nuses = ["shared"]',
        ),
    ],
)
def test_a_clause_in_its_place(text):
    assert found_in(text) == ([], [])


def second(text, line):
    """The text with a mark on the second of two lines that are just this."""
    lines = text.split("\n")
    places = [place for place, each in enumerate(lines) if each == line]
    assert len(places) == 2, line
    lines[places[1]] += HERE
    return "\n".join(lines)


TWICE = {
    "in one class": (
        club(rule("ban", "2.1", DASH, "remove") + rule("ban", "2.1", "glass", "remove")),
        "a ban at @@2.1 has it as well as this ban",
    ),
    "by rules of different forms": (
        club(rule("allow", "2.1", DASH, "remove") + rule("ask", "2.1", rest="says = 'Neat?'")),
        "an allow at @@2.1 has it as well as this ask",
    ),
    "in a class and a group": (
        club(
            rule("ban", "2.1", DASH, "remove"),
            before=group("shared", rule("ban", "2.1", "glass", "remove", holder="group")),
            keys='uses = ["shared"]',
        ),
        "a ban at @@2.1 has it",
    ),
    "in a class and one that is like it": (
        club(
            rule("ban", "2.1", DASH, "remove"),
            after=another("tour", rule("ban", "2.1", "glass", "remove"), 'like = "club"'),
        ),
        "a ban at @@2.1 has it",
    ),
    "by way of a class between": (
        club(
            rule("ban", "2.1", DASH, "remove"),
            after=another("tour", keys='like = "club"')
            + another("trip", rule("ban", "2.1", "glass", "remove"), 'like = "tour"'),
        ),
        "a ban at @@2.1 has it",
    ),
    "in a class that is like one written after it": (
        club(
            rule("ban", "2.1", DASH, "remove"),
            keys='like = "tour"',
            after=another("tour", rule("ban", "2.1", "glass", "remove")),
        ),
        "a ban at @@2.1 has it",
    ),
    "by an adjustment and a rule": (
        club(
            WEIGHT
            + "minimum = '900 kg'\n[[class.weight.adjust]]\nadd = '5 kg'\nclause = \"2.1\"\n"
            + rule("ban", "2.1", DASH, "remove")
        ),
        "an adjust at rules:",
    ),
}


@pytest.mark.parametrize("case", TWICE)
def test_a_clause_used_twice(case):
    text, fragment = TWICE[case]
    check_planted(second(text, 'clause = "2.1"'), "clause-used-twice", "2.1", fragment)


@pytest.mark.parametrize(
    "text",
    [
        club(rule("ban", "2.1", DASH, "remove") + rule("ban", "2.10", "glass", "remove")),
        club(rule("ban", "2.1", DASH, "remove"), after=another("tour", rule("ban", "2.1", "glass", "remove"))),
        club(
            rule("ban", "2.1", DASH, "remove"),
            after=another("tour", rule("ban", "3.1", "glass", "remove"), 'like = "club"')
            + another("trip", rule("ban", "3.1", "glass", "swap"), 'like = "club"'),
        ),
        club(WEIGHT + "minimum = '900 kg'\n[[class.weight.adjust]]\nadd = '5 kg'\nclause = '2.1'\n"),
        club(
            WEIGHT + "minimum = '900 kg'\nadjust = [{ add = '5 kg', if = { p = true }, clause = '2.1.1' }, "
            "{ add = '9 kg', if = { p = false }, clause = '2.1.1' }]\n"
        ),
        club(
            rule("limit", "2.1", rest="driver = 'out'\nminimum = '900 kg'\nadjust = [{ add = '5 kg', clause = '2.1' }]")
        ),
        club(WEIGHT + "minimum = '900 kg'\n" + rule("ban", "2.1", DASH, "remove")),
    ],
)
def test_clauses_that_may_be_alike(text):
    assert found_in(text) == ([], [])


# --- Reach


def safe(name="bumps", keys=""):
    return group(name, rule("ban", "3.1", "safety.airbag", "remove", holder="group"), keys)


NOT_REACHED = {
    "it prevails": (safe(keys='clause = "3"\nprevails = true'), "bumps"),
    "its title": (safe(keys='clause = "3"\ntitle = "On Safety first"'), "bumps"),
    "its id": (safe("road-safety", 'clause = "3"'), "road-safety"),
}


@pytest.mark.parametrize("case", NOT_REACHED)
def test_a_class_that_safety_rules_do_not_reach(case):
    shared, name = NOT_REACHED[case]
    text = club(before=shared, keys=f'uses = ["{name}"]', after=another("tour", keys='clause = "7"'))
    text = marked(text, 'id = "tour"')
    fragment = f'The group "{name}" of safety rules, clause 3 (rules:17), does not reach class "tour":'
    check_planted(text, "safety-not-reached", "7", fragment)


def test_a_group_of_safety_rules_without_a_clause_is_told_by_its_place():
    text = club(before=safe(keys="prevails = true"), keys='uses = ["bumps"]', after=another("tour"))
    check_planted(marked(text, 'id = "tour"'), "safety-not-reached", "", "safety rules, rules:17, does not reach")


@pytest.mark.parametrize(
    "text",
    [
        club(before=safe(keys="prevails = true\neverywhere = true"), after=another("tour")),
        club(before=safe(keys="prevails = true"), keys='uses = ["bumps"]', after=another("tour", keys='like = "club"')),
        club(before=safe("unsafetyish"), keys='uses = ["unsafetyish"]', after=another("tour")),
        club(before=safe(), keys='uses = ["bumps"]', after=another("tour")),
    ],
)
def test_a_group_that_reaches_where_it_should(text):
    assert found_in(text) == ([], [])


@pytest.mark.parametrize("keys", ["", "prevails = true", 'title = "Safety"'])
def test_a_group_that_no_class_uses(keys):
    text = club(before=safe(keys=keys + '\nclause = "3"'))
    check_planted(marked(text, 'id = "bumps"'), "unused-group", "3", 'No class uses the group "bumps"')


BARE = "id = 'bare'\narea = 'interior'\nby = ['painted']"


def test_a_finish_that_nothing_obliges():
    text = club(rule("allow", "2.1", DASH, "remove") + rule("finish", "2.2", rest=BARE, here=True))
    check_planted(text, "finish-never-owed", "2.2", 'Nothing obliges the finish "bare" of clause 2.2')


def test_a_finish_whose_allowance_is_in_a_class_without_it():
    text = club(
        rule("finish", "2.2", rest=BARE, here=True),
        after=another(
            "tour",
            rule("allow", "4.1", DASH, "remove", "finish = ['bare']") + rule("finish", "4.2", rest=BARE),
        ),
    )
    check_planted(text, "finish-never-owed", "2.2", "no allowance names it under finish")


@pytest.mark.parametrize(
    "text",
    [
        club(rule("allow", "2.1", DASH, "remove", "finish = ['bare']") + rule("finish", "2.2", rest=BARE)),
        club(rule("finish", "2.2", rest=BARE + "\nif = { removed = 'interior' }")),
        club(
            rule("finish", "2.2", rest=BARE),
            after=another("tour", rule("allow", "4.1", DASH, "remove", "finish = ['bare']"), 'like = "club"'),
        ),
    ],
)
def test_a_finish_that_something_obliges(text):
    assert found_in(text) == ([], [])


# --- Overrides


TERMS = {
    "minimum": ("minimum = '900 kg'", "minimum = '900000 g'"),
    "maximum": ("maximum = { by = 'p', cases = { true = '1 t', false = '2 t' } }",) * 2,
    "fuel": ("fuel = '10 L'", "fuel = '10000 mL'"),
    "without": ("without = ['stowage.jack', 'glass']", "without = ['glass', 'stowage.jack']"),
    "allowance": ("allowance = '1 kg'", "allowance = '1.0 kg'"),
    "driver_counts_as": ("driver_counts_as = '75 kg'",) * 2,
    "co_driver": ("co_driver = 'aboard'",) * 2,
    "ballast": (
        "ballast = { allowed = true, most = '40 kg', places = ['glass', 'body'] }",
        "ballast = { allowed = true, most = '40 kg', places = ['body', 'glass'], clause = '4.1.9' }",
    ),
    "front_axle": ("front_axle = { least = '400 kg' }", "front_axle = { least = '400.0 kg' }"),
    "adjust": (
        "adjust = [{ add = '5 kg', if = { seats = 4 } }, { add = '6 kg' }]",
        "adjust = [{ add = '6 kg' }, { add = '5 kg', if = { seats = { over = 3, under = 5 } } }]",
    ),
}


def weights(own, other, rest="minimum = { fact = 'kerb_mass' }"):
    base = "" if "minimum" in other and "axle" not in other else rest
    driver = "aboard" if "driver_counts" in other else "out"
    inherited = f"[class.weight]\nclause = '2.1'\ndriver = '{driver}'\n{base}\n{other}\n"
    return club(inherited, after=another("tour", f"[class.weight]\nclause = '4.1'\n{own}\n", 'like = "club"'))


@pytest.mark.parametrize("key", TERMS)
def test_a_term_of_weight_that_is_inherited_anyway(key):
    other, own = TERMS[key]
    text = weights(f"{own}{HERE}", other)
    clause = "4.1.9" if key == "ballast" else "4.1"
    fragment = f'The "{key}" of class "tour" is the same as what it has anyway by clause 2.1 (rules:'
    check_planted(text, "repeats-inherited", clause, fragment)


def test_bands_that_were_split_are_the_same():
    one = "minimum = { by = 'power', over_up_to = [['0 kW', '90 kW', '900 kg'], ['90 kW', '950 kg']] }"
    other = (
        "minimum = { by = 'power', over_up_to = "
        "[['0 kW', '60 kW', '900 kg'], ['60 kW', '90 kW', '900 kg'], ['90 kW', '950 kg']] }"
    )
    check_planted(weights(other + HERE, one), "repeats-inherited", "4.1", 'The "minimum" of class "tour"')


@pytest.mark.parametrize(
    ("other", "own"),
    [
        ("minimum = '900 kg'", "minimum = '901 kg'"),
        ("allowance = '1 kg'", "allowance = '2 kg'"),
        ("without = ['glass']", "without = ['glass', 'body']"),
        ("ballast = { allowed = true }", "ballast = { allowed = true, most = '9 kg' }"),
        ("adjust = [{ add = '5 kg' }]", "adjust = [{ add = '5 kg' }, { add = '5 kg' }]"),
        ("adjust = [{ add = '5 kg' }]", "adjust = [{ add = '5 kg', if = { p = true } }]"),
        ("front_axle = { least = '400 kg' }", "front_axle = { most = '400 kg' }"),
        ("allowance = '1 kg'", "fuel = 'empty'"),
    ],
)
def test_a_term_of_weight_that_is_another(other, own):
    assert found_in(weights(own, other)) == ([], [])


def test_a_term_restated_after_its_clause_was_dropped():
    text = club(
        WEIGHT + "minimum = '900 kg'\n",
        after=another(
            "tour",
            "[class.weight]\nclause = '4.1'\ndriver = 'out'\nminimum = '900 kg'\n",
            'like = "club"\ndrops = ["2.1"]',
        ),
    )
    assert found_in(text) == ([], [])


REPEATED = {
    "a ban": (rule("ban", "2.2", DASH, "remove swap"), rule("ban", "4.2", DASH, "swap remove", here=True)),
    "an allowance with a condition": (
        rule("allow", "2.2", DASH, "remove", "if = { seats = 4, p = true }"),
        rule("allow", "4.2", DASH, "remove", "if = { p = true, seats = { over = 3, under = 5 } }", here=True),
    ),
    "an allowance with bounds": (
        rule("allow", "2.2", DASH, "swap", "part = { weighs = { least = '5 kg' } }\nonly = true"),
        rule("allow", "4.2", DASH, "swap", "part = { weighs = { least = '5000 g' } }\nonly = true", here=True),
    ),
    "who may enter": (
        rule("enter", "2.2", rest="must = { seats = 4 }"),
        rule("enter", "4.2", rest="must = { not = { not = { seats = 4 } } }", here=True),
    ),
    "a requirement with a condition": (
        rule("require", "2.2", rest="must = { seats = 4 }\nif = { p = true }"),
        rule("require", "4.2", rest="must = { any = [{ p = false }, { seats = 4 }] }", here=True),
    ),
    "a need": (
        rule("need", "2.2", "safety.cage safety.harness"),
        rule("need", "4.2", "safety.harness safety.cage", rest="at_least = 2", here=True),
    ),
    "a strip": (rule("strip", "2.2", "stowage.jack"), rule("strip", "4.2", "stowage.jack", here=True)),
    "a question": (rule("ask", "2.2", rest="says = 'Neat?'"), rule("ask", "4.2", rest="says = 'Neat?'", here=True)),
    "a further limit": (
        rule("limit", "2.2", rest="driver = 'out'\nminimum = '900 kg'\nadjust = [{ add = '5 kg' }]"),
        rule("limit", "4.2", rest="driver = 'out'\nminimum = '0.9 t'\nadjust = [{ add = '5 kg' }]", here=True),
    ),
    "a finish with a condition": (
        rule("finish", "2.2", rest=BARE + "\nif = { removed = 'interior' }"),
        rule("finish", "4.2", rest=BARE.replace("bare", "bald") + "\nif = { removed = 'interior' }", here=True),
    ),
}


@pytest.mark.parametrize("case", REPEATED)
def test_a_rule_that_is_inherited_anyway(case):
    inherited, own = REPEATED[case]
    text = club(inherited, after=another("tour", own, 'like = "club"'))
    fragment = 'Clause 4.2 says the same as clause @2.2, which class "tour" has anyway: it can be left out.'
    check_planted(text, "repeats-inherited", "4.2", fragment)


def test_a_rule_that_a_group_gives_anyway():
    text = club(
        rule("strip", "2.2", "stowage.jack", here=True),
        before=group("shared", rule("strip", "3.2", "stowage.jack", holder="group")),
        keys='uses = ["shared"]',
    )
    check_planted(text, "repeats-inherited", "2.2", "the same as clause @3.2")


NOT_REPEATED = {
    "another action": (rule("ban", "2.2", DASH, "remove"), rule("ban", "4.2", DASH, "remove swap")),
    "another condition": (
        rule("ban", "2.2", DASH, "remove", "if = { p = true }"),
        rule("ban", "4.2", DASH, "remove", "if = { p = false }"),
    ),
    "another duty": (
        rule("allow", "2.2", DASH, "remove"),
        rule("allow", "4.2", DASH, "remove", "finish = ['bare']") + rule("finish", "4.3", rest=BARE),
    ),
    "another question": (rule("ask", "2.2", rest="says = 'Neat?'"), rule("ask", "4.2", rest="says = 'Tidy?'")),
    "another form": (
        rule("enter", "2.2", rest="must = { seats = 4 }"),
        rule("require", "4.2", rest="must = { seats = 4 }"),
    ),
    "a factor multiplies once more": (
        rule("counts", "2.2", rest="fact = 'power'\ntimes = 2"),
        rule("counts", "4.2", rest="fact = 'power'\ntimes = 2"),
    ),
    "nearer than a ban of the same class": (
        rule("allow", "2.2", DASH, "remove") + rule("ban", "2.3", DASH, "remove", "if = { p = true }"),
        rule("allow", "4.2", DASH, "remove"),
    ),
    "out of reach of a despite": (
        rule("ban", "2.2", DASH, "remove")
        + rule("allow", "2.3", "interior", "remove", "if = { p = true }\ndespite = ['2.2']"),
        rule("ban", "4.2", DASH, "remove"),
    ),
    "all of them, not two": (
        rule("need", "2.2", "safety.cage safety.harness", rest="at_least = 1"),
        rule("need", "4.2", "safety.cage safety.harness"),
    ),
}


@pytest.mark.parametrize("case", NOT_REPEATED)
def test_a_rule_that_is_another(case):
    inherited, own = NOT_REPEATED[case]
    assert found_in(club(inherited, after=another("tour", own, 'like = "club"'))) == ([], [])


def test_a_rule_that_is_out_of_reach_of_a_despite_in_a_group():
    text = club(
        rule("ban", "2.2", DASH, "remove"),
        before=group("free", rule("allow", "3.1", "interior", "remove", "despite = ['2.2']", holder="group")),
        keys='uses = ["free"]\ndrops = ["3.1"]',
        after=another("tour", rule("ban", "4.2", DASH, "remove"), 'like = "club"\nuses = ["free"]')
        + another("trip", keys='uses = ["free"]'),
    )
    assert [what for what, _, _ in found_in(text)[0]] == []


def test_a_drop_of_nothing():
    text = club(
        rule("ban", "2.2", DASH, "remove"),
        after=another("tour", rule("ban", "4.2", "glass", "remove"), 'like = "club"\ndrops = [\n"4.2",\n]'),
    )
    fragment = 'Class "tour" drops clause 4.2, but has nothing of that clause to drop.'
    check_planted(marked(text, '"4.2",'), "drops-nothing", "", fragment)


def test_a_drop_of_what_was_dropped_before():
    text = club(
        rule("ban", "2.2", DASH, "remove"),
        after=another("tour", keys='like = "club"\ndrops = ["2.2"]')
        + another("trip", keys='like = "tour"\nclause = "5"\ndrops = [\n"2.2",\n]'),
    )
    check_planted(marked(text, '"2.2",'), "drops-nothing", "5", 'Class "trip" drops clause 2.2')


@pytest.mark.parametrize(
    ("inherited", "drop"),
    [
        (rule("ban", "2.2.1", DASH, "remove"), "2.2"),
        (WEIGHT + "minimum = '900 kg'\nadjust = [{ add = '5 kg', clause = '2.1.3' }]\n", "2.1.3"),
        (WEIGHT + "ballast = { allowed = false, clause = '2.1.4' }\n", "2.1.4"),
        (WEIGHT + "minimum = '900 kg'\n", "2.1"),
    ],
)
def test_a_drop_of_something(inherited, drop):
    text = club(inherited, after=another("tour", keys=f'like = "club"\ndrops = ["{drop}"]'))
    assert found_in(text) == ([], [])


def test_a_drop_from_a_group():
    text = club(
        before=group("shared", rule("ban", "3.1", DASH, "remove", holder="group")),
        keys='uses = ["shared"]\ndrops = ["3.1"]',
    )
    assert found_in(text) == ([], [])


SILENCE = "silence = { remove = 'permits', swap = 'forbids', fit = 'forbids', lighten = 'forbids', move = 'forbids' }"


@pytest.mark.parametrize(
    ("book_says", "class_says", "like_says"),
    [
        ("permits", "silence = 'permits'", None),
        ("permits", SILENCE, SILENCE),
        (
            {"remove": "permits", "swap": "forbids", "fit": "forbids", "lighten": "forbids", "move": "forbids"},
            SILENCE,
            None,
        ),
    ],
)
def test_a_silence_that_is_inherited_anyway(book_says, class_says, like_says):
    like = club(keys=like_says) if like_says else club()
    text = like + another("tour", keys=f'clause = "4"\nlike = "club"\n{class_says}{HERE}')
    check_planted(text, "repeats-inherited", "4", 'The silence of class "tour"', silence=book_says)


@pytest.mark.parametrize("says", ["silence = 'forbids'", SILENCE])
def test_a_silence_that_is_another(says):
    assert found_in(club(keys=says), silence="permits") == ([], [])
