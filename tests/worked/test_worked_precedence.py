"""Which rule decides a change: small invented books, decided by hand.

Each step is shown where the steps after it would have said the opposite, and again with what decides it taken away.
"""

import pytest
from support import book, by_clause, car, change, judged, result, rules, ruling

STRIPPED = car(
    """part = [
        { id = "carpet", kind = "interior.floor.carpet" },
        { id = "headliner", kind = "interior.headliner" },
        { id = "jack", kind = "stowage.jack" },
    ]
    job = [{ id = "strip", state = "done", date = 2027-01-01, off = ["carpet", "headliner", "jack"] }]
    """,
    road_registered=True,
)


def carpet(by, **options):
    return ruling(judged(STRIPPED, by, **options), "carpet")


# ---- Step 0: despite


LONGER_BAN = 'ban = [{ clause = "3.1", kinds = ["interior.floor.carpet"], does = ["remove"] }]\n'


@pytest.mark.parametrize(
    ("despite", "expected"),
    [
        # The ban names the longer kind (step 1) and would win a tie (step 3): only `despite` can beat it.
        ('["3.1"]', ("allowed", ("2.1",))),
        ('["3"]', ("allowed", ("2.1",))),  # a clause covers what is under it
        ('["3.10"]', ("violation", ("3.1",))),  # 3.10 is not under 3.1, nor above it
    ],
)
def test_despite_beats_a_longer_kind(despite, expected):
    by = rules(
        LONGER_BAN
        + f'allow = [{{ clause = "2.1", kinds = ["interior"], does = ["remove"], despite = {despite} }}]\n'
        + 'ask = [{ clause = "3.10", says = "Look at the car." }]'
    )
    assert carpet(by) == expected


def test_a_rule_that_is_itself_out_still_beats():
    # 4.1 beats 2.1, and 2.1 beats 3.1: with 2.1 and 3.1 both out, 4.1 is left.
    by = rules(
        """ban = [
            { clause = "3.1", kinds = ["interior.floor.carpet"], does = ["remove"] },
            { clause = "9.1", kinds = ["stowage"], does = ["remove"] },
        ]
        allow = [
            { clause = "2.1", kinds = ["interior.floor"], does = ["remove"], despite = ["3.1"], ask = "Sure?" },
            { clause = "4.1", kinds = ["interior"], does = ["remove"], despite = ["2.1"] },
        ]"""
    )
    assert carpet(by) == ("allowed", ("4.1",))


def test_a_despite_that_does_not_apply_beats_nothing():
    by = rules(
        LONGER_BAN
        + 'allow = [{ clause = "2.1", kinds = ["interior"], does = ["remove"], despite = ["3.1"], '
        "if = { road_registered = false } }]"
    )
    assert carpet(by) == ("violation", ("3.1",))


def test_despite_within_one_clause_spares_the_rule_itself():
    # Both rules stand in clause 2: 2.1 beats all of clause 2, but not itself.
    by = rules(
        """ban = [{ clause = "2.2", kinds = ["interior.floor.carpet"], does = ["remove"] }]
        allow = [{ clause = "2.1", kinds = ["interior"], does = ["remove"], despite = ["2"] }]"""
    )
    assert carpet(by) == ("allowed", ("2.1",))


# ---- Step 0: prevails

SAFETY = """[[group]]
id = "safety"
everywhere = true
prevails = {prevails}
[[group.ban]]
clause = "8.1"
kinds = ["interior"]
does = ["remove"]
{more}
"""


@pytest.mark.parametrize(
    ("prevails", "expected"), [("true", ("violation", ("8.1",))), ("false", ("allowed", ("2.1",)))]
)
def test_a_group_that_prevails_beats_a_longer_kind_of_the_class(prevails, expected):
    by = rules(
        'allow = [{ clause = "2.1", kinds = ["interior.floor.carpet"], does = ["remove"] }]',
        before=SAFETY.format(prevails=prevails, more=""),
    )
    assert carpet(by) == expected


def test_despite_comes_before_prevails():
    by = rules(
        'allow = [{ clause = "2.1", kinds = ["interior"], does = ["remove"], despite = ["8.1"] }]',
        before=SAFETY.format(prevails="true", more=""),
    )
    assert carpet(by) == ("allowed", ("2.1",))


def test_within_what_prevails_the_longer_kind_wins():
    more = '[[group.allow]]\nclause = "8.2"\nkinds = ["interior.floor"]\ndoes = ["remove"]'
    by = rules(LONGER_BAN, before=SAFETY.format(prevails="true", more=more))
    assert carpet(by) == ("allowed", ("8.2",))


# ---- Step 1: the longest kind


def test_the_longest_kind_wins_even_from_a_group():
    # By steps 2 and 3 the class's own ban would win.
    by = rules(
        """uses = ["floors"]
        ban = [{ clause = "3.1", kinds = ["interior"], does = ["remove"] }]""",
        before="""[[group]]
        id = "floors"
        [[group.allow]]
        clause = "2.1"
        kinds = ["interior.floor"]
        does = ["remove"]
        """,
    )
    row = judged(STRIPPED, by)
    assert ruling(row, "carpet") == ("allowed", ("2.1",))
    assert ruling(row, "headliner") == ("violation", ("3.1",))


def test_a_rule_counts_with_the_longest_of_its_kinds_that_covers_the_part():
    # 2.1 covers the carpet by "interior" (1 level) and by "interior.floor.carpet" (3): it counts as 3, against 2.
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["interior", "interior.floor.carpet"], does = ["remove"] }]
        ban = [{ clause = "3.1", kinds = ["interior.floor"], does = ["remove"] }]"""
    )
    assert carpet(by) == ("allowed", ("2.1",))


def test_everything_is_the_shortest_kind():
    by = rules(
        """ban = [{ clause = "3.1", kinds = ["everything"], does = "anything" }]
        allow = [{ clause = "2.1", kinds = ["interior"], does = ["remove"] }]"""
    )
    row = judged(STRIPPED, by)
    assert ruling(row, "carpet") == ("allowed", ("2.1",))
    assert ruling(row, "jack") == ("violation", ("3.1",))


def test_a_longer_kind_for_another_action_does_not_matter():
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["interior"], does = ["remove"] }]
        ban = [{ clause = "3.1", kinds = ["interior.floor.carpet"], does = ["swap", "lighten"] }]"""
    )
    assert carpet(by) == ("allowed", ("2.1",))


# ---- Step 2: the nearer rule

ALLOW = '[[{holder}.allow]]\nclause = "{clause}"\nkinds = ["interior.floor"]\ndoes = ["remove"]\n'
BAN = '[[{holder}.ban]]\nclause = "{clause}"\nkinds = ["interior.floor"]\ndoes = ["remove"]\n'


def test_the_class_beats_what_it_is_like_and_that_beats_a_group():
    group_ban = '[[group]]\nid = "g"\n' + BAN.format(holder="group", clause="8.1")
    open_class = '[[class]]\nid = "open"\ntitle = "Open"\n'
    club = '[[class]]\nid = "club"\ntitle = "Club"\nlike = "open"\nuses = ["g"]\n'
    own_allow = ALLOW.format(holder="class", clause="2.1")
    # At equal length a ban wins only once nothing is nearer.
    own_beats_like = book(open_class + BAN.format(holder="class", clause="5.1") + club + own_allow)
    assert carpet(book(group_ban + open_class + club + own_allow)) == ("allowed", ("2.1",))
    assert carpet(book(group_ban + own_beats_like.source.text.split("permits")[0][0:0] + open_class + own_allow + club)) == (
        "allowed",
        ("2.1",),
    )
    assert carpet(book('[[group]]\nid = "g"\n' + open_class + BAN.format(holder="class", clause="5.1") + club + own_allow)) == (
        "allowed",
        ("2.1",),
    )
    assert carpet(book(group_ban + open_class + club)) == ("violation", ("8.1",))
