"""Bulletins that are broken by one small edit of a shipped one each; where they are broken comes last."""

from schemas.shipped import BATTERIES, PROPOSAL, WEIGHTS, Broken

BROKEN_BULLETINS = [
    Broken("another format of bulletins", BATTERIES, '"tarebook-bulletin/1"', '"tarebook-bulletin/2"', "format"),
    Broken("a number for a number", BATTERIES, 'number = "1"', "number = 1", "number"),
    Broken("a bulletin that is a draft", BATTERIES, 'status = "in-force"', 'status = "draft"', "status"),
    Broken("a bulletin of nothing", BATTERIES, 'amends = "fernbeck"\n', "", ""),
    Broken("an unknown key of a bulletin", BATTERIES, 'title = "Batteries"', 'titel = "Batteries"', ""),
    Broken("one amendment in place of a list", BATTERIES, "[[amend]]", "[amend]", "amend"),
    Broken("an amendment without a clause", BATTERIES, 'clause = "3.9"\n', "", "amend.0"),
    Broken("an amendment that does nothing", WEIGHTS, "withdraw = true\n", "", "amend.1"),
    Broken(
        "an amendment that does two things",
        BATTERIES,
        'says = "Batteries may be swapped from now on."',
        "withdraw = true",
        "amend.0",
    ),
    Broken("a clause that is not withdrawn", WEIGHTS, "withdraw = true", "withdraw = false", "amend.1.withdraw"),
    Broken("a rule of an unknown form is added", BATTERIES, "[amend.add.allow]", "[amend.add.alow]", "amend.0.add"),
    Broken("an added rule without kinds", BATTERIES, 'kinds = ["electrical.battery"]\n', "", "amend.0.add.allow"),
    Broken("an added rule with an unknown key", PROPOSAL, "only = true", "alone = true", "amend.1.add.allow"),
    Broken("nothing is set", PROPOSAL, 'if = { not = { fitted = "safety.harness" } }\n', "", "amend.0.set"),
    Broken("a proposal by an unquoted clause", PROPOSAL, 'clause = "3.12"', "clause = 3.12", "amend.1.clause"),
]
