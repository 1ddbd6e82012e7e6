"""Rules that can never decide, and allowances that do nothing."""

import pytest
from planted import another, check_planted, club, found_in, group, rule

from support import book
from tarebook.proofread.proofreading import blemishes

P, NOT_P = "if = { p = true }", "if = { p = false }"
DASH = "interior.dash"

NEVER = {
    "at a tie a ban wins": (
        club(rule("allow", "2.1", DASH, "remove", here=True) + rule("ban", "2.2", DASH, "remove")),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "a longer kind wins for every kind that is named": (
        club(
            rule("ban", "2.1", "interior.seat.rear interior.seat.front", "remove")
            + rule("allow", "2.2", "interior.seat.rear.back", "remove", here=True)
            + rule("ban", "2.3", "interior.seat.rear.back", "remove")
        ),
        "2.2",
        "clause @2.3 comes before it",
    ),
    "an unconditional despite": (
        club(
            rule("ban", "2.1", DASH, "remove", here=True)
            + rule("allow", "2.2", "interior", "remove", "despite = ['2.1']")
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "despite names the clause above": (
        club(
            rule("ban", "2.1.7", DASH, "swap", here=True)
            + rule("allow", "2.2", "interior", "swap", "despite = ['2.1']\nask = 'Is it alike?'")
        ),
        "2.1.7",
        "clause @2.2 comes before it",
    ),
    "a group that prevails": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True),
            before=group(
                "safe", rule("ban", "3.1", "everything", "remove", holder="group"), "prevails = true\neverywhere = true"
            ),
        ),
        "2.1",
        "clause @3.1 comes before it",
    ),
    "the class is nearer than the group": (
        club(
            rule("ban", "2.1", DASH, "anything"),
            before=group("shared", rule("allow", "3.1", DASH, "remove", holder="group", here=True)),
            keys='uses = ["shared"]',
        ),
        "3.1",
        "clause @2.1 comes before it",
    ),
    "in each class another rule comes before": (
        club(
            rule("ban", "2.1", DASH, "remove"),
            before=group("shared", rule("allow", "3.1", DASH, "remove", holder="group", here=True)),
            keys='uses = ["shared"]',
            after=another("tour", rule("ban", "4.1", DASH, "remove lighten"), 'uses = ["shared"]'),
        ),
        "3.1",
        "clauses @2.1 and @4.1 come before it",
    ),
    "two rules between them, by one condition and its opposite": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True)
            + rule("ban", "2.2", DASH, "remove", P)
            + rule("ban", "2.3", DASH, "remove", NOT_P)
        ),
        "2.1",
        "clauses @2.2 and @2.3 come before it",
    ),
    "two bands that leave no figure over": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True)
            + rule("ban", "2.2", DASH, "remove", "if = { seats = { most = 2 } }")
            + rule("ban", "2.3", DASH, "remove", "if = { seats = { over = 2 } }")
        ),
        "2.1",
        "come before it",
    ),
    "whole numbers leave nothing between": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True)
            + rule("ban", "2.2", DASH, "remove", "if = { seats = { most = 2 } }")
            + rule("ban", "2.3", DASH, "remove", "if = { seats = { least = 3 } }")
        ),
        "2.1",
        "come before it",
    ),
    "all the choices": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True)
            + rule("ban", "2.2", DASH, "remove", "if = { driven_wheels = ['front', 'rear'] }")
            + rule("ban", "2.3", DASH, "remove", "if = { driven_wheels = 'all' }")
        ),
        "2.1",
        "come before it",
    ),
    "its condition is narrower than that of the ban": (
        club(
            rule("allow", "2.1", DASH, "remove", "if = { seats = 4, p = true }", here=True)
            + rule("ban", "2.2", DASH, "remove", "if = { seats = { least = 2 } }")
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "an only allowance decides wherever the other would": (
        club(
            rule("allow", "2.1", DASH, "swap", "part = { weighs = { under = '3 kg' } }", here=True)
            + rule("allow", "2.2", DASH, "swap", "part = { weighs = { least = '3 kg' } }\nonly = true")
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "what the change itself makes sure": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True)
            + rule("ban", "2.2", "interior", "remove", "if = { off = 'interior' }\ndespite = ['2.1']")
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "a part that is fitted is there": (
        club(
            rule("allow", "2.1", "safety.cage", "fit", here=True)
            + rule("ban", "2.2", "safety.cage", "fit", "if = { fitted = 'safety' }")
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "a part that is lightened is there": (
        club(
            rule("allow", "2.1", "body.bonnet", "lighten move", here=True)
            + rule("ban", "2.2", "body.bonnet", "lighten move", "if = { fitted = 'body' }")
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "its own condition excludes the change": (
        club(rule("allow", "2.1", DASH, "remove", "if = { not = { removed = 'interior' } }", here=True)),
        "2.1",
        "its condition cannot hold where such a change is made",
    ),
    "an addition has no original to be alike": (
        club(rule("allow", "2.1", "safety.cage", "fit", "part = { material = 'as-original' }", here=True)),
        "2.1",
        "its condition cannot hold where such a change is made",
    ),
    "everything, and each branch has a rule of its own": (
        club(
            rule("ban", "2.1", "everything", "move", here=True) + rule("allow", "2.2", "BRANCHES", "move"),
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "ballast that is not allowed": (
        club(
            "[class.weight]\nclause = '2.1'\nballast = { allowed = false }\n"
            + rule("allow", "2.2", "ballast", "fit", here=True)
        ),
        "2.2",
        "clause 2.1 (rules:24) comes before it",
    ),
    "a strip of the class is an allowance nearer than the group's ban": (
        club(
            rule("strip", "2.1", "stowage.jack"),
            before=group("shared", rule("ban", "3.1", "stowage.jack", "remove", holder="group", here=True)),
            keys='uses = ["shared"]',
        ),
        "3.1",
        "clause @2.1 comes before it",
    ),
    "a class that is like another gives the same": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True) + rule("ban", "2.2", DASH, "remove"),
            after=another("tour", keys='like = "club"'),
        ),
        "2.1",
        "clause @2.2 comes before it",
    ),
    "more rules than are named": (
        club(
            rule("allow", "2.1", DASH, "remove", here=True)
            + "".join(
                rule("ban", f"2.{seats + 2}", DASH, "remove", f"if = {{ seats = {seats} }}") for seats in range(5)
            )
            + rule("ban", "2.9", DASH, "remove", "if = { seats = { over = 4 } }")
        ),
        "2.1",
        "and 3 more come before it",
    ),
}


@pytest.mark.parametrize("case", NEVER)
def test_a_rule_that_can_never_decide(case):
    text, clause, fragment = NEVER[case]
    if "BRANCHES" in text:
        tops = [path for path in book(club()).tree.paths() if "." not in path]
        text = text.replace("'BRANCHES'", ", ".join(f"'{top}'" for top in tops))
    check_planted(text, "never-decides", clause, fragment)


def test_the_rule_that_comes_before_is_named():
    text = club(rule("allow", "2.1", DASH, "remove") + rule("ban", "2.2", DASH, "remove"))
    (found,) = blemishes(book(text))
    assert found.beaten_by == "2.2"
    assert (found.file, found.column) == ("rules", 1)
    assert found.sentence == (
        "Clause 2.1 can never decide: wherever it applies, clause 2.2 (rules:27) comes before it."
    )


DECIDES = {
    "for another action": club(rule("allow", "2.1", DASH, "remove swap") + rule("ban", "2.2", DASH, "remove")),
    "for one of its kinds": club(
        rule("allow", "2.1", f"{DASH} interior.console", "remove") + rule("ban", "2.2", DASH, "remove")
    ),
    "for what is under its kind and not under the other's": club(
        rule("allow", "2.1", "interior.seat", "remove") + rule("ban", "2.2", "interior.seat.rear", "remove")
    ),
    "in one of its classes": club(
        rule("ban", "2.1", DASH, "remove"),
        before=group("shared", rule("allow", "3.1", DASH, "remove", holder="group")),
        keys='uses = ["shared"]',
        after=another("tour", keys='uses = ["shared"]'),
    ),
    "where it is dropped elsewhere": club(
        rule("allow", "2.1", DASH, "remove"),
        after=another("tour", rule("ban", "3.1", DASH, "remove"), 'like = "club"\ndrops = ["2.1"]'),
    ),
    "where the other's condition fails": club(
        rule("allow", "2.1", DASH, "remove") + rule("ban", "2.2", DASH, "remove", P)
    ),
    "where the ban is itself out": club(
        rule("allow", "2.1", DASH, "remove")
        + rule("ban", "2.2", DASH, "remove")
        + rule("allow", "2.3", "interior", "remove", f"{P}\ndespite = ['2.2']")
    ),
    "between two bounds that leave a figure over": club(
        rule("allow", "2.1", DASH, "remove")
        + rule("ban", "2.2", DASH, "remove", "if = { power = { under = '80 kW' } }")
        + rule("ban", "2.3", DASH, "remove", "if = { power = { over = '80 kW' } }")
    ),
    "where a class's factor makes a count a fraction": club(
        rule("allow", "2.1", DASH, "remove")
        + rule("ban", "2.2", DASH, "remove", "if = { seats = { most = 2 } }")
        + rule("ban", "2.3", DASH, "remove", "if = { seats = { least = 3 } }")
        + rule("counts", "2.4", rest="fact = 'seats'\ntimes = 0.5")
    ),
    "as made is not now": club(
        rule("allow", "2.1", DASH, "remove", "if = { p = true }")
        + rule("ban", "2.2", DASH, "remove", "if = { as_made = { p = true } }")
    ),
    "as the ban that an only allowance also is": club(
        rule("allow", "2.1", DASH, "swap", "part = { weighs = { least = '3 kg' } }\nonly = true")
        + rule("allow", "2.2", DASH, "swap", "part = { weighs = { least = '2 kg' } }\nonly = true")
    ),
    "it and another allowance decide together": club(
        rule("allow", "2.1", DASH, "remove") + rule("allow", "2.2", DASH, "remove", "ask = 'Is it neat?'")
    ),
    "for the fixings of a part": club(
        rule("allow", "2.1", DASH, "remove", "fixings = true") + rule("ban", "2.2", DASH, "remove")
    ),
    "a prevailing rule for another kind": club(
        rule("allow", "2.1", "interior", "remove"),
        before=group("safe", rule("ban", "3.1", DASH, "remove", holder="group"), "prevails = true\neverywhere = true"),
    ),
    "a bonnet is not an addition": club(
        rule("allow", "2.1", "body.bonnet", "fit swap", "part = { share_of_original = { least = 0 } }")
    ),
    "everything but one branch": club(
        rule("ban", "2.1", "everything", "move") + rule("allow", "2.2", "interior body", "move")
    ),
    "another part of the kind may be removed": club(
        rule("allow", "2.1", "interior.seat", "remove", "if = { not = { removed = 'interior.seat.rear' } }")
    ),
}


@pytest.mark.parametrize("case", DECIDES)
def test_a_rule_that_may_decide(case):
    assert found_in(DECIDES[case]) == ([], [])


PERMITS = {
    "with a condition": (
        club(rule("allow", "2.1", DASH, "remove", P, here=True)),
        "permits",
    ),
    "with bounds on the part": (
        club(rule("allow", "2.1", DASH, "swap", "part = { weighs = { least = '3 kg' } }", here=True)),
        "permits",
    ),
    "beside a ban of another kind": (
        club(rule("allow", "2.1", DASH, "swap", P, here=True) + rule("ban", "2.2", "body", "swap")),
        "permits",
    ),
    "beside a ban of another action": (
        club(rule("allow", "2.1", DASH, "swap", P, here=True) + rule("ban", "2.2", DASH, "remove")),
        "permits",
    ),
    "over a ban that has a longer kind": (
        club(rule("allow", "2.1", "interior", "swap", P, here=True) + rule("ban", "2.2", DASH, "swap")),
        "permits",
    ),
    "by the silence of its class": (
        club(rule("allow", "2.1", DASH, "remove", P, here=True), keys='silence = "permits"'),
        "forbids",
    ),
    "by the silence on its action": (
        club(rule("allow", "2.1", DASH, "remove", P, here=True)),
        {"remove": "permits", "swap": "forbids", "fit": "forbids", "lighten": "forbids", "move": "forbids"},
    ),
    "by despite of a ban on another branch": (
        club(
            rule("allow", "2.1", DASH, "swap", f"{P}\ndespite = ['2.2']", here=True)
            + rule("ban", "2.2", "body", "swap")
        ),
        "permits",
    ),
}


@pytest.mark.parametrize("case", PERMITS)
def test_an_allowance_that_does_nothing(case):
    text, silence = PERMITS[case]
    check_planted(text, "does-nothing", "2.1", 'add "only = true"', silence)


DOES_SOMETHING = {
    "only": (club(rule("allow", "2.1", DASH, "remove", f"{P}\nonly = true")), "permits"),
    "a question": (club(rule("allow", "2.1", DASH, "remove", f"{P}\nask = 'Is it neat?'")), "permits"),
    "a finish": (
        club(
            rule("allow", "2.1", DASH, "remove", f"{P}\nfinish = ['bare']")
            + rule("finish", "2.2", rest="id = 'bare'\narea = 'interior'\nby = ['painted']")
        ),
        "permits",
    ),
    "a silence that forbids": (club(rule("allow", "2.1", DASH, "remove", P)), "forbids"),
    "a silence that forbids one of its actions": (
        club(rule("allow", "2.1", DASH, "remove swap", P)),
        {"remove": "permits", "swap": "forbids", "fit": "permits", "lighten": "permits", "move": "permits"},
    ),
    "no condition": (club(rule("allow", "2.1", DASH, "remove")), "permits"),
    "a shorter ban": (club(rule("allow", "2.1", DASH, "swap", P) + rule("ban", "2.2", "interior", "swap")), "permits"),
    "a longer ban that it is despite": (
        club(rule("allow", "2.1", "interior", "swap", f"{P}\ndespite = ['2.2']") + rule("ban", "2.2", DASH, "swap")),
        "permits",
    ),
    "an only allowance on the branch above": (
        club(
            rule("allow", "2.1", DASH, "swap", P)
            + rule("allow", "2.2", "interior", "swap", "part = { weighs = { least = '3 kg' } }\nonly = true")
        ),
        "permits",
    ),
    "a question on the branch above": (
        club(rule("allow", "2.1", DASH, "swap", P) + rule("allow", "2.2", "interior", "swap", "ask = 'Is it neat?'")),
        "permits",
    ),
    "ballast that has its places": (
        club(
            "[class.weight]\nclause = '2.1'\nballast = { allowed = true, places = ['stowage'] }\n"
            + rule("allow", "2.2", "ballast", "fit", f"{P}\ndespite = ['2.1']")
        ),
        "permits",
    ),
    "a ban in one of its classes": (
        club(
            rule("ban", "2.1", "interior", "remove"),
            before=group("shared", rule("allow", "3.1", DASH, "remove", P, holder="group")),
            keys='uses = ["shared"]',
            after=another("tour", keys='uses = ["shared"]'),
        ),
        "permits",
    ),
    "a group that prevails over a longer ban": (
        club(
            rule("ban", "2.1", DASH, "swap"),
            before=group(
                "safe",
                rule("allow", "3.1", "interior", "swap", P, holder="group"),
                "prevails = true\neverywhere = true",
            ),
        ),
        "permits",
    ),
    "the fixings of what it allows": (
        club(rule("allow", "2.1", DASH, "swap", f"{P}\nfixings = true") + rule("ban", "2.2", "body", "swap")),
        "permits",
    ),
}


@pytest.mark.parametrize("case", DOES_SOMETHING)
def test_an_allowance_that_does_something(case):
    text, silence = DOES_SOMETHING[case]
    assert found_in(text, silence) == ([], [])
