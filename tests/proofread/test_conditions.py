"""Conditions that can never hold, bounds that no part keeps, and classes that no car can enter."""

import pytest
from planted import another, check_planted, club, found_in, group, rule

NEVER = {
    "two bounds that exclude one another": (
        club(
            rule(
                "allow",
                "2.1",
                "interior",
                "remove",
                "if = { all = [{ seats = { over = 4 } }, { seats = { under = 4 } }] } # here",
            )
        ),
        "2.1",
        "The condition of clause 2.1 can never hold: seats over 4, and seats under 4.",
    ),
    "no whole number between": (
        club(
            rule(
                "ban",
                "2.1",
                "interior",
                "remove",
                "if = { all = [{ seats = { over = 4 } }, { seats = { under = 5 } }] } # here",
            )
        ),
        "2.1",
        "seats over 4, and seats under 5",
    ),
    "a must": (
        club(rule("require", "2.1", rest="must = { p = true, as_made = { p = true }, not = { p = true } } # here")),
        "2.1",
        "What clause 2.1 demands can never hold:",
    ),
    "of an adjustment with a clause": (
        club(
            "[class.weight]\nclause = '2.1'\ndriver = 'out'\nminimum = '900 kg'\n[[class.weight.adjust]]\n"
            "clause = '2.1.1'\nadd = '5 kg'\n"
            "if = { driven_wheels = 'front', not = { driven_wheels = ['front', 'rear'] } } # here"
        ),
        "2.1.1",
        "The condition of clause 2.1.1 can never hold",
    ),
    "of an adjustment without one": (
        club(
            "[class.weight]\nclause = '2.1'\ndriver = 'out'\nminimum = '900 kg'\n[[class.weight.adjust]]\n"
            "add = '5 kg'\nif = { p = true, not = { p = true } } # here"
        ),
        "2.1",
        "The condition of clause 2.1 can never hold",
    ),
    "of a further limit": (
        club(
            rule(
                "limit",
                "2.1",
                rest="driver = 'out'\nminimum = '900 kg'\n"
                "if = { removed = 'interior.dash', not = { removed = 'interior' } } # here",
            )
        ),
        "2.1",
        "dashboard removed, and not (",
    ),
    "of a finish": (
        club(
            rule(
                "finish",
                "2.1",
                rest="id = 'bare'\narea = 'interior'\nby = ['painted']\n"
                "if = { off = 'glass', not = { off = 'everything' } } # here",
            )
        ),
        "2.1",
        "removed or swapped, and not (everything removed or swapped)",
    ),
    "of a question": (
        club(rule("ask", "2.1", rest="says = 'Neat?'\nif = { first_registered = { over = 9999-12-31 } } # here")),
        "2.1",
        "first registered over 9999-12-31",
    ),
    "of a count of a group": (
        club(
            before=group(
                "shared",
                rule(
                    "counts",
                    "3.1",
                    rest="fact = 'power'\ntimes = 2\nif = { power = { under = '0 kW' } } # here",
                    holder="group",
                ),
            ),
            keys='uses = ["shared"]',
        ),
        "3.1",
        "power under 0 kW",
    ),
    "no part weighs so": (
        club(rule("ban", "2.1", "body", "swap", "part = { weighs = { over = '5 kg', under = '5 kg' } } # here")),
        "2.1",
        "No part can keep the bounds of clause 2.1: of over 5 kg and under 5 kg.",
    ),
    "no material is both": (
        club(
            rule("need", "2.1", "safety.cage", rest="part = { material = ['steel'], material_not = ['Steel'] } # here")
        ),
        "2.1",
        "of steel, not of Steel",
    ),
}


@pytest.mark.parametrize("case", NEVER)
def test_what_can_never_hold(case):
    text, clause, fragment = NEVER[case]
    check_planted(text, "never-holds", clause, fragment)


@pytest.mark.parametrize(
    "text",
    [
        club(rule("allow", "2.1", "interior", "remove", "if = { seats = { over = 4, under = 6 } }")),
        club(rule("allow", "2.1", "interior", "remove", "if = { p = true, as_made = { p = false } }")),
        club(
            rule(
                "allow",
                "2.1",
                "interior",
                "remove",
                "if = { removed = 'interior', not = { removed = 'interior.dash' } }",
            )
        ),
        club(rule("ban", "2.1", "body", "swap", "part = { weighs = { least = '5 kg', most = '5 kg' } }")),
        club(rule("ban", "2.1", "body", "swap", "part = { material = ['steel'], material_not = ['glass'] }")),
        club(
            rule("ban", "2.1", "body", "swap", "if = { all = [{ seats = { over = 4 } }, { seats = { under = 5 } }] }")
            + rule("counts", "2.2", rest="fact = 'seats'\ntimes = 1.5")
        ),
        club(rule("ask", "2.1", rest="says = 'New?'\nif = { first_registered = { age = { under = 1 } } }")),
        club(rule("require", "2.1", rest="must = { any = [{ p = true }, { p = false }] }")),
    ],
)
def test_what_may_hold(text):
    assert found_in(text) == ([], [])


NOBODY = {
    "two ends of one figure": (
        club(
            rule("enter", "2.1", rest="must = { power = { over = '80 kW' } }")
            + rule("require", "2.2", rest="must = { power = { up_to = '80 kW' } }", here=True)
        ),
        "2.2",
        'No car can enter class "club": clause 2.2 cannot be met together with clause @2.1.',
    ),
    "a need and a strip": (
        club(rule("need", "2.1", "stowage.jack") + rule("strip", "2.2", "stowage", here=True)),
        "2.2",
        "cannot be met together with clause @2.1.",
    ),
    "one of several needed, and all to go": (
        club(
            rule("need", "2.1", "stowage.jack stowage.wheel-brace", rest="at_least = 1")
            + rule("strip", "2.2", "stowage.wheel-brace")
            + rule("strip", "2.3", "stowage.jack", here=True)
        ),
        "2.3",
        "clause 2.3 cannot be met together with clauses @2.1 and @2.2.",
    ),
    "a demand on what is fitted": (
        club(
            rule("require", "2.1", rest="must = { not = { fitted = 'safety' } }")
            + rule("need", "2.2", "safety.cage", here=True)
        ),
        "2.2",
        "cannot be met together with clause @2.1.",
    ),
    "three that exclude one another only together": (
        club(
            rule("enter", "2.1", rest="must = { any = [{ p = true }, { q = true }] }")
            + rule("enter", "2.2", rest="must = { p = false }")
            + rule("require", "2.3", rest="must = { not = { q = true } }", here=True)
        ),
        "2.3",
        "cannot be met together with clauses @2.1 and @2.2.",
    ),
    "in both cases of a condition": (
        club(
            rule("enter", "2.1", rest="must = { seats = 2 }\nif = { p = true }")
            + rule("enter", "2.2", rest="must = { seats = 2 }\nif = { p = false }")
            + rule("require", "2.3", rest="must = { seats = { least = 3 } }", here=True)
        ),
        "2.3",
        "cannot be met together with clauses @2.1 and @2.2.",
    ),
    "the class's own against what it is like": (
        club(
            rule("enter", "2.1", rest="must = { seats = { least = 4 } }"),
            after=another("tour", rule("enter", "4.1", rest="must = { seats = 2 }", here=True), 'like = "club"'),
        ),
        "4.1",
        'No car can enter class "tour": clause 4.1 cannot be met together with clause @2.1.',
    ),
    "told once where several classes inherit it": (
        club(
            rule("enter", "2.1", rest="must = { seats = 4 }")
            + rule("enter", "2.2", rest="must = { seats = 2 }", here=True),
            after=another("tour", keys='like = "club"'),
        ),
        "2.2",
        'No car can enter class "club"',
    ),
}


@pytest.mark.parametrize("case", NOBODY)
def test_a_class_that_nobody_can_enter(case):
    text, clause, fragment = NOBODY[case]
    check_planted(text, "nobody-can-enter", clause, fragment)


def test_only_the_demands_that_clash_are_named():
    text = club(
        rule("enter", "2.1", rest="must = { doors = 3 }")
        + rule("enter", "2.2", rest="must = { seats = 4 }")
        + rule("require", "2.3", rest="must = { p = true }")
        + rule("require", "2.4", rest="must = { seats = { most = 2 } }", here=True)
    )
    check_planted(text, "nobody-can-enter", "2.4", "clause 2.4 cannot be met together with clause @2.2.")


@pytest.mark.parametrize(
    "text",
    [
        club(
            rule("enter", "2.1", rest="must = { power = { least = '80 kW' } }")
            + rule("require", "2.2", rest="must = { power = { up_to = '80 kW' } }")
        ),
        club(rule("need", "2.1", "stowage") + rule("strip", "2.2", "stowage.jack")),
        club(rule("need", "2.1", "stowage.jack", rest="if = { p = true }") + rule("strip", "2.2", "stowage.jack")),
        club(
            rule("need", "2.1", "stowage.jack stowage.wheel-brace", rest="at_least = 1")
            + rule("strip", "2.2", "stowage.jack")
        ),
        club(
            rule("need", "2.1", "stowage.jack stowage.wheel-brace stowage.loose", rest="at_least = 2")
            + rule("strip", "2.2", "stowage.jack")
        ),
        club(rule("need", "2.1", "stowage", rest="whole = true") + rule("strip", "2.2", "stowage")),
        club(
            rule("enter", "2.1", rest="must = { seats = 4 }"),
            after=another("tour", rule("enter", "4.1", rest="must = { seats = 2 }"), 'like = "club"\ndrops = ["2.1"]'),
        ),
        club(
            rule("enter", "2.1", rest="must = { as_made = { seats = 4 } }")
            + rule("require", "2.2", rest="must = { seats = { most = 2 } }")
        ),
        club(
            rule("enter", "2.1", rest="must = { p = true }"),
            after=another("tour", rule("enter", "4.1", rest="must = { p = false }")),
        ),
    ],
)
def test_a_class_that_some_car_can_enter(text):
    assert found_in(text) == ([], [])
