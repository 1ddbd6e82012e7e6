"""Bulletins, laid over a small invented book: what they change, in which order, and where they do not fit."""

import datetime

import pytest

from support import DAY, car, check
from tarebook.rules.editions import in_force
from tarebook.rules.reading import RuleSet, rules_of
from tarebook.toml_source import MistakesFound, parse_source, render

BOOK = """\
format = "tarebook-rules/1"
[book]
id = "made-up"
title = "Made-Up Motor Circle"
edition = "2027"
clause = "1.1"
in_force = { from = 2027-01-01, until = 2027-12-31 }
silence = "forbids"

[[group]]
id = "cabin"
clause = "5"
[[group.allow]]
clause = "5.1"
kinds = ["interior.floor"]
does = ["remove"]
finish = ["bare"]
[[group.finish]]
id = "bare"
clause = "5.2"
area = "interior.floor.carpet"
by = ["painted"]

[[class]]
id = "one"
title = "One"
clause = "7"
uses = ["cabin"]
[class.weight]
clause = "7.1"
driver = "out"
minimum = "900 kg"
ballast = { allowed = true, most = "20 kg", clause = "7.1.4" }
adjust = [{ add = "10 kg", if = { doors = 3 }, clause = "7.1.2" }]
[[class.ban]]
clause = "7.4"
kinds = ["interior.dash"]
does = "anything"
[[class.allow]]
clause = "7.5"
kinds = ["interior"]
does = ["remove"]
despite = ["7.4"]
[[class.need]]
clause = "7.6.1"
kinds = ["interior.seat.front.passenger"]

[[class]]
id = "two"
title = "Two"
clause = "8"
like = "one"
[class.weight]
clause = "8.1"
minimum = "850 kg"
"""
HEAD = """\
format = "tarebook-bulletin/1"
amends = "made-up"
edition = "2027"
number = "1"
status = "in-force"
in_force = { from = 2027-02-01 }
"""


def bulletin(*amends: str, number: str = "1", begins: str = "2027-02-01", status: str = "in-force") -> str:
    head = HEAD.replace('"1"\ns', f'"{number}"\ns').replace("2027-02-01", begins).replace('"in-force"', f'"{status}"')
    return head + "".join(f"[[amend]]\n{each}\n" for each in amends)


def read(*bulletins: str, book: str = BOOK) -> RuleSet:
    texts = {"book.toml": book, **{f"b{place}.toml": text for place, text in enumerate(bulletins, 1)}}
    (edition,) = rules_of(parse_source(text.encode(), name) for name, text in texts.items())
    return edition


def amended(*amends: str) -> RuleSet:
    return read(bulletin(*amends)).amended(DAY)


def clauses(rules: RuleSet, class_id: str, form: str) -> list[str]:
    return [placed.rule.clause for placed in rules.class_in_full(class_id).rules[form]]


def minimum(rules: RuleSet, class_id: str) -> int:
    return int(rules.class_in_full(class_id).weight["minimum"].value.amount.value)


def refused(*bulletins: str) -> list[str]:
    with pytest.raises(MistakesFound) as found:
        read(*bulletins)
    return [render(mistake) for mistake in found.value.mistakes]


# ---- set


def test_set_changes_the_text_where_it_is_written_so_that_classes_like_it_change_too():
    rules = amended('clause = "7.6.1"\nset = { kinds = ["interior.seat.rear"] }')
    for class_id in ("one", "two"):
        assert [need.rule.kinds for need in rules.class_in_full(class_id).rules["need"]] == [["interior.seat.rear"]]


def test_a_weight_key_of_one_class():
    rules = amended('clause = "7.1"\nclass = "one"\nset = { "weight.minimum" = "880 kg", "weight.fuel" = "empty" }')
    assert (minimum(rules, "one"), minimum(rules, "two")) == (880, 850)
    assert rules.class_in_full("two").weight["fuel"].value == "empty"  # two has that of one


def test_weight_as_a_table_within_set_is_the_same():
    rules = amended('clause = "7.1"\nclass = "one"\nset = { weight = { minimum = "880 kg" } }')
    assert (minimum(rules, "one"), rules.class_in_full("one").weight["driver"].value) == (880, "out")


def test_a_weight_key_with_neither_class_nor_group_goes_where_the_clause_states_it():
    rules = amended('clause = "8.1"\nset = { "weight.minimum" = "840 kg" }')
    assert (minimum(rules, "one"), minimum(rules, "two")) == (900, 840)


def test_a_class_states_a_weight_key_that_it_only_inherited():
    rules = amended('clause = "7.1.4"\nclass = "two"\nset = { "weight.ballast.most" = "35 kg" }')
    assert rules.class_in_full("two").weight["ballast"].value.most.value == 35
    assert rules.class_in_full("two").weight["ballast"].clause == "7.1.4"
    assert rules.class_in_full("one").weight["ballast"].value.most.value == 20


def test_a_correction_is_found_by_its_clause():
    rules = amended('clause = "7.1.2"\nset = { add = "25 kg" }')
    ((adjust, _),) = rules.class_in_full("one").weight["adjust"].value
    assert (adjust.add.amount.value, adjust.clause) == (25, "7.1.2")


def test_a_table_with_a_clause_of_its_own_is_found_by_it():
    ballast = amended('clause = "7.1.4"\nset = { most = "35 kg" }').class_in_full("one").weight["ballast"].value
    assert (ballast.allowed, ballast.most.value) == (True, 35)


@pytest.mark.parametrize(
    ("amend", "silence"),
    [
        ('clause = "1.1"\nset = { silence = "permits" }', ("permits", "permits")),
        ('clause = "8"\nset = { silence = "permits" }', ("forbids", "permits")),
    ],
)
def test_the_silence_of_the_book_or_of_a_class(amend, silence):
    rules = amended(amend)
    assert tuple(rules.class_in_full(each).silence.remove for each in ("one", "two")) == silence


def test_a_condition_within_a_rule():
    rules = amended('clause = "7.4"\nset = { "if.seats" = 4, says = "Four-seaters keep it." }')
    (ban,) = rules.class_in_full("one").rules["ban"]
    assert (ban.rule.if_, ban.rule.says) == ({"seats": 4}, "Four-seaters keep it.")


# ---- withdraw


def test_withdraw_takes_the_clause_and_what_is_under_it_everywhere():
    rules = amended('clause = "7.6"\nwithdraw = true')
    assert [clauses(rules, each, "need") for each in ("one", "two")] == [[], []]


def test_withdraw_in_a_class_that_only_inherits_it_acts_as_drops():
    rules = amended('clause = "7.6"\nclass = "two"\nwithdraw = true')
    assert (clauses(rules, "one", "need"), clauses(rules, "two", "need")) == (["7.6.1"], [])


def test_withdraw_in_a_class_of_what_a_group_has():
    rules = amended('clause = "5.1"\nclass = "one"\nwithdraw = true')
    assert (clauses(rules, "one", "allow"), clauses(rules, "two", "allow")) == (["7.5"], ["7.5"])


def test_a_withdrawn_ban_is_no_longer_named_by_what_beat_it():
    (allow, _) = amended('clause = "7.4"\nwithdraw = true').class_in_full("one").rules["allow"]
    assert allow.rule.despite == []


def test_a_withdrawn_finish_obliges_nobody():
    rules = amended('clause = "5.2"\nwithdraw = true')
    allow = rules.class_in_full("one").rules["allow"][1]
    assert (allow.rule.clause, allow.rule.finish) == ("5.1", [])


def test_withdrawing_part_of_weight_leaves_the_rest():
    weight = amended('clause = "7.1.4"\nwithdraw = true').class_in_full("one").weight
    assert sorted(weight) == ["adjust", "clause", "driver", "minimum"]
    assert amended('clause = "7.1.2"\nwithdraw = true').class_in_full("one").weight["adjust"].value == []


def test_withdrawing_the_clause_of_weight_takes_all_that_stands_under_it():
    rules = amended('clause = "8.1"\nclass = "two"\nwithdraw = true')
    assert minimum(rules, "two") == 900  # that of one


def test_a_group_goes_with_its_chapter():
    rules = amended('clause = "5"\nwithdraw = true')
    assert (rules.file.group, rules.file.class_[0].uses) == ([], [])


def test_a_class_goes_with_its_chapter():
    assert amended('clause = "8"\nwithdraw = true').class_ids == ("one",)


# ---- add


def test_add_to_a_class_takes_the_clause_of_the_amendment():
    rules = amended('clause = "7.9"\nclass = "one"\nadd = { allow = { kinds = ["glass"], does = ["swap"] } }')
    assert (clauses(rules, "one", "allow"), clauses(rules, "two", "allow")) == (["7.5", "7.9", "5.1"],) * 2


def test_add_several_with_clauses_of_their_own_to_a_group():
    added = '{ need = [{ clause = "5.8", kinds = ["glass"] }, { kinds = ["body.bonnet"] }] }'
    assert clauses(amended(f'clause = "5.7"\ngroup = "cabin"\nadd = {added}'), "one", "need") == ["7.6.1", "5.8", "5.7"]


def test_add_everywhere_reaches_every_class():
    rules = amended('clause = "2.1"\nadd = { need = { kinds = ["safety.extinguisher"] } }')
    assert [clauses(rules, each, "need") for each in ("one", "two")] == [["7.6.1", "2.1"]] * 2


def test_add_a_correction_beside_those_that_a_class_inherits():
    rules = amended('clause = "8.1.3"\nclass = "two"\nadd = { adjust = { add = "5 kg" } }')
    assert [each.clause for each, _ in rules.class_in_full("two").weight["adjust"].value] == ["7.1.2", "8.1.3"]
    assert [each.clause for each, _ in rules.class_in_full("one").weight["adjust"].value] == ["7.1.2"]


def test_a_later_amendment_of_a_bulletin_sees_what_an_earlier_one_did():
    rules = amended(
        'clause = "7.9"\nclass = "one"\nadd = { need = { kinds = ["glass"] } }',
        'clause = "7.9"\nset = { kinds = ["body.bonnet"] }',
    )
    assert rules.class_in_full("one").rules["need"][1].rule.kinds == ["body.bonnet"]


# ---- order and days


def test_bulletins_apply_by_date_then_by_number_as_a_number():
    def sets(kilograms: int) -> str:
        return f'clause = "7.1"\nclass = "one"\nset = {{ "weight.minimum" = "{kilograms} kg" }}'

    rules = read(
        bulletin(sets(801), number="10"),
        bulletin(sets(802), number="9"),
        bulletin(sets(803), number="1", begins="2027-06-01"),
        bulletin(sets(804), number="2a"),
    )
    days = {"2027-01-31": 900, "2027-02-01": 804, "2027-05-31": 804, "2027-06-01": 803}
    found = {day: minimum(rules.amended(datetime.date.fromisoformat(day)), "one") for day in days}
    assert found == days
    assert [each.number for each in rules.amended(datetime.date(2027, 7, 1)).bulletins] == ["9", "10", "2a", "1"]


def test_a_bulletin_may_end():
    text = bulletin('clause = "7.6"\nwithdraw = true').replace("02-01 }", "02-01, until = 2027-03-31 }")
    rules = read(text)
    found = [
        clauses(rules.amended(datetime.date(2027, *day)), "one", "need") for day in ((1, 31), (2, 1), (3, 31), (4, 1))
    ]
    assert found == [["7.6.1"], [], [], ["7.6.1"]]


def test_a_proposal_counts_only_where_it_is_asked_for():
    rules = read(bulletin('clause = "7.6"\nwithdraw = true', status="proposed"))
    assert clauses(rules.amended(DAY), "one", "need") == ["7.6.1"]
    assert clauses(rules.amended(DAY, proposed=True), "one", "need") == []


def test_a_proposal_that_does_not_fit_stops_nobody_who_does_not_ask_for_it():
    rules = read(bulletin('clause = "7.77"\nwithdraw = true', status="proposed"))
    assert in_force([rules], DAY)[0].bulletins == ()
    with pytest.raises(MistakesFound) as found:
        in_force([rules], DAY, proposed=True)
    (mistake,) = found.value.mistakes
    assert (mistake.file, mistake.line, mistake.column) == ("b1.toml", 8, 10)


# ---- what a report says


def test_findings_and_rows_say_which_bulletins_decided():
    rules = read(
        bulletin(
            'clause = "7.9"\nclass = "one"\nadd = { ban = { kinds = ["interior.floor.carpet"], does = ["remove"] } }'
        ),
        bulletin('clause = "7.6"\nwithdraw = true', number="2"),
    )
    bare = car(
        'part = [{ id = "c", kind = "interior.floor.carpet", mass = "4 kg" }]\n'
        'job = [{ id = "j", state = "done", off = ["c"], date = 2026-01-01 }]',
    )
    row = next(each for each in check(bare, rules, on=DAY).rows if each.class_id == "one")
    assert (row.verdict, row.without) == ("not-eligible", (("1", "not-eligible"), ("2", "not-eligible")))
    (banned,) = [finding for finding in row.findings if finding.clause == "7.9"]
    assert (banned.result, row.rules.writers(banned.path)) == ("violation", ("1",))
    assert row.rules.source.where(banned.path) == ("b1.toml", 10)


def test_text_that_no_bulletin_touched_keeps_its_place():
    rules = amended('clause = "7.4"\nclass = "one"\nwithdraw = true', 'clause = "7.6.1"\nset = { says = "Stays." }')
    path = ("class", 0, "allow", 0)
    assert (rules.source.where(path), rules.writers(path)) == (("book.toml", 39), ())
    assert rules.source.where((*path, "kinds")) == ("book.toml", 41)
    need = ("class", 0, "need", 0)
    assert (rules.source.where((*need, "kinds")), rules.source.where((*need, "says"))) == (
        ("book.toml", 46),
        ("b1.toml", 13),
    )


def test_entries_after_a_withdrawn_one_keep_their_places():
    book = BOOK + (
        '[[class.ban]]\nclause = "8.2"\nkinds = ["glass"]\ndoes = ["swap"]\n'
        '[[class.ban]]\nclause = "8.3"\nkinds = ["glass.rear"]\ndoes = ["swap"]\n'
        '[[class.ban]]\nclause = "8.4"\nkinds = ["body"]\ndoes = ["swap"]\n'
    )
    first = bulletin('clause = "8.3"\nset = { says = "Kept." }', 'clause = "8.2"\nwithdraw = true')
    second = bulletin('clause = "8.4"\nset = { says = "Too." }', number="2", begins="2027-03-01")
    rules = read(first, second, book=book).amended(DAY)
    bans = rules.file.class_[1].ban
    assert [(ban.clause, ban.says) for ban in bans] == [("8.3", "Kept."), ("8.4", "Too.")]
    places = [rules.source.where(("class", 1, "ban", place, key)) for place in (0, 1) for key in ("clause", "says")]
    assert places == [("book.toml", 61), ("b1.toml", 9), ("book.toml", 65), ("b2.toml", 9)]
    assert [rules.writers(("class", 1, "ban", place)) for place in (0, 1)] == [("1",), ("2",)]


# ---- what does not fit

AMENDS = [
    ('clause = "7.7"\nwithdraw = true', 'b1.toml:8:10: edition 2027 of "made-up" has no clause "7.7"'),
    (
        'clause = "7.4"\nclass = "too"\nwithdraw = true',
        'b1.toml:9:9: edition 2027 of "made-up" has no class "too"\n  class = "too"\n          ^^^^^\n'
        '  did you mean "two"?',
    ),
    (
        'clause = "7.4"\ngroup = "cabins"\nwithdraw = true',
        'b1.toml:9:9: edition 2027 of "made-up" has no group "cabins"\n  group = "cabins"\n          ^^^^^^^^\n'
        '  did you mean "cabin"?',
    ),
    (
        'clause = "5.1"\nclass = "two"\nset = { says = "x" }',
        'b1.toml:8:10: class "two" has clause 5.1 from elsewhere, so there is nothing to set in it\n'
        '  clause = "5.1"\n           ^^^^^\n  amend it where it is written, or withdraw it here and add another',
    ),
    (
        'clause = "7.4"\ngroup = "cabin"\nset = { says = "x" }',
        'b1.toml:8:10: edition 2027 of "made-up" has no clause "7.4" in group "cabin"\n'
        '  clause = "7.4"\n           ^^^^^\n'
        "  the clause stands elsewhere in the book: name another class or group, or neither for everywhere",
    ),
    (
        'clause = "7.4"\nset = { kindz = ["glass"] }',
        'b1.toml:9:9: unknown key "kindz" in [[class.ban]]\n  set = { kindz = ["glass"] }\n          ^^^^^\n'
        '  did you mean "kinds"?',
    ),
    (
        'clause = "7.4"\nset = { kinds = ["glas"] }',
        'b1.toml:9:18: there is no kind "glas"\n  set = { kinds = ["glas"] }\n                   ^^^^^^\n'
        '  did you mean "glass", "glass.rear" or "glass.door"?',
    ),
    (
        'clause = "7.1"\nclass = "one"\nset = { "weight.minimum.least" = "1 kg" }',
        'b1.toml:10:9: "minimum" is no table here, so it has no "least"\n'
        '  set = { "weight.minimum.least" = "1 kg" }\n          ^^^^^^^^^^^^^^^^^^^^^^',
    ),
    (
        'clause = "8.1"\nclass = "one"\nset = { "weight.minimum" = "1 kg" }',
        'b1.toml:8:10: weight.minimum stands in clause 7.1 here, not in 8.1\n  clause = "8.1"\n           ^^^^^',
    ),
    (
        'clause = "7.1"\nset = { minimum = "1 kg" }',
        'b1.toml:9:9: what stands in weight is set by its whole name: "weight.minimum"\n'
        '  set = { minimum = "1 kg" }\n          ^^^^^^^',
    ),
    (
        'clause = "7"\nwithdraw = true',
        'b1.toml:8:10: class "one" cannot be withdrawn: class "two" is like it\n  clause = "7"\n           ^^^\n'
        "  withdraw its clauses one by one",
    ),
    (
        'clause = "7.9"\nadd = { alow = {} }',
        'b1.toml:9:9: unknown key "alow" in add\n  add = { alow = {} }\n          ^^^^\n  did you mean "allow"?',
    ),
    (
        'clause = "7.9"\nclass = "one"\nadd = { allow = "x" }',
        "b1.toml:10:17: a table is expected: allow = { .. }, or a list of tables\n"
        '  add = { allow = "x" }\n                  ^^^',
    ),
    (
        'clause = "7.9"\nclass = "one"\nadd = { allow = { kinds = ["glass"] } }',
        'b1.toml:10:9: the key "does" is missing in [[class.allow]]',
    ),
    (
        'clause = "7.9"\nadd = { adjust = { add = "1 kg" } }',
        "b1.toml:9:18: a correction is added to a class or a group: name it",
    ),
    (
        'clause = "7.9"\nadd = { ask = { says = "x" } }\nwithdraw = true',
        "b1.toml:7:1: an amendment says just one of set, add and withdraw",
    ),
    ('clause = "7.9"', "b1.toml:7:1: an amendment says just one of set, add and withdraw"),
    ('clause = "7.9"\nset = {}', "b1.toml:9:7: set is empty"),
    ("clause = 7.4\nwithdraw = true", 'b1.toml:8:10: a clause is written in quotes, "7.4"'),
    ('clause = "7.4"\nwithdraw = false', "b1.toml:9:12: true is expected"),
    (
        'clause = "7.4"\nclass = "one"\ngroup = "cabin"\nwithdraw = true',
        "b1.toml:10:1: an amendment is of a class or of a",
    ),
]


@pytest.mark.parametrize(("amend", "said"), AMENDS, ids=[said[:60] for _, said in AMENDS])
def test_an_amendment_that_does_not_fit(amend, said):
    (told,) = refused(bulletin(amend))
    assert told.startswith(said)


def test_a_clause_that_is_written_twice_cannot_be_set():
    book = BOOK + '[[class.ban]]\nclause = "7.4"\nkinds = ["glass"]\ndoes = ["swap"]\n'
    with pytest.raises(MistakesFound) as found:
        read(bulletin('clause = "7.4"\nset = { says = "x" }'), book=book)
    (mistake,) = found.value.mistakes
    assert mistake.message == "clause 7.4 is written in 2 places (lines 35, 56), and set changes just one"


HEADS = [
    (("amends", "made-upp"), 'b1.toml:2:10: there is no book "made-upp" among the rule sets read'),
    (
        ('edition = "2027"', 'edition = "2026"'),
        'b1.toml:3:11: there is no edition "2026" of "made-up" among the rule sets',
    ),
    (('"in-force"', '"in force"'), 'b1.toml:5:10: one of "in-force", "proposed" is expected'),
    (("in_force = { from = 2027-02-01 }\n", ""), "b1.toml:1:1: a bulletin in force says from when"),
    (("02-01 }", "02-01, until = 2027-01-31 }"), "b1.toml:6:12: this bulletin ends before it begins"),
    (('number = "1"', "number = 1"), "b1.toml:4:10: a text in quotes is expected"),
    (('number = "1"', 'number = ""'), "b1.toml:4:10: this may not be empty"),
    (("bulletin/1", "bulletin/2"), 'b1.toml:1:10: "tarebook-bulletin/1" is expected'),
]


@pytest.mark.parametrize(("change", "said"), HEADS, ids=[said[:60] for _, said in HEADS])
def test_a_head_that_is_wrong(change, said):
    old, new = change if change[0] != "amends" else ('"made-up"', '"made-upp"')
    text = bulletin('clause = "7.4"\nwithdraw = true')
    assert old in text
    (told,) = refused(text.replace(old, new))
    assert told.startswith(said)


def test_two_bulletins_of_one_number():
    amend = 'clause = "7.4"\nset = { says = "x" }'
    (told,) = refused(bulletin(amend), bulletin(amend, begins="2027-03-01"))
    assert told.startswith("b2.toml:4:10: bulletin 1 is written twice\n") and told.endswith("also in b1.toml")


def test_a_bulletin_that_a_former_one_makes_unfit():
    first = bulletin('clause = "7.4"\nwithdraw = true')
    (told,) = refused(first, bulletin('clause = "7.4"\nset = { says = "x" }', number="2", begins="2027-03-01"))
    assert told.startswith('b2.toml:8:10: edition 2027 of "made-up" has no clause "7.4"')


def test_a_bulletin_for_days_that_the_edition_does_not_cover():
    (told,) = refused(bulletin('clause = "7.4"\nset = { says = "x" }', begins="2028-02-01"))
    assert told.startswith("b1.toml:6:12: the edition holds on none of these days\n")
    assert told.endswith("the edition holds 2027-01-01 to 2027-12-31")


def test_a_bulletin_that_breaks_another_class_is_named():
    (told,) = refused(bulletin('clause = "7.1"\nclass = "one"\nwithdraw = true'))
    assert told.startswith('book.toml:53:1: once bulletin 1 (b1.toml) is worked in: class "two" does not say')
    assert told.endswith("mend the bulletin, not the book")


def test_a_rule_of_which_a_bulletin_wrote_a_part_is_shown_where_the_bulletin_stands():
    rules = amended('clause = "7.4"\nset = { kinds = ["glass"] }')
    assert rules.source.where(("class", 0, "ban", 0)) == ("b1.toml", 9)
