"""What is told of a change, form by form: the exact sentence, and whether it is new, gone, changed or moved.

Clubs, classes and figures are invented.
"""

from pathlib import Path

import pytest

from support import book, parse_rules, rules
from tarebook.revise import comparing, precedence, provisions
from tarebook.revise.comparing import clause_order, compare


def cases():
    """The old class, the new class, and what is told, from the table beside this file."""
    table = Path(__file__).with_name("told.txt").read_text(encoding="utf-8")
    for block in table.split("\n\n")[1:]:
        sides = {sign: [line[2:] for line in block.splitlines() if line[0] == sign] for sign in "-+="}
        expected = [tuple(cell.strip() or None for cell in line.split("|")) for line in sides["="]]
        yield "\n".join(sides["-"]), "\n".join(sides["+"]), expected


CASES = list(cases())


def told(old, new):
    return [(each.what, each.clause, each.was_clause, each.form, each.sentence) for each in compare(old, new)]


def sentences(old, new):
    return [each.sentence for each in compare(old, new)]


@pytest.mark.parametrize(("old", "new", "expected"), CASES)
def test_what_is_told(old, new, expected):
    assert told(rules(old), rules(new)) == expected


@pytest.mark.parametrize(("old", "new", "expected"), CASES)
def test_an_edition_against_itself_has_no_change(old, new, expected):
    assert told(rules(old), rules(old)) == told(rules(new), rules(new)) == []


# ---- where a change stands


def test_a_change_has_its_places_in_both_editions():
    old = rules('ban = [{ clause = "5.2", kinds = ["interior.dash"], does = ["remove"] }]')
    new = rules('ban = [{ clause = "5.2", kinds = ["interior.dash"], does = ["swap"] }]', before="# one line more\n")
    (change,) = compare(old, new)
    assert (change.was_place, change.place) == (("rules", 13), ("rules", 14))
    (gone,) = compare(old, rules())
    assert (gone.was_place, gone.place) == (("rules", 13), None)
    (fresh,) = compare(rules(), old)
    assert (fresh.was_place, fresh.place) == (None, ("rules", 13))


def test_changes_come_by_clause_as_books_count():
    said = (("5.10", "One."), ("5.9", "Two."), ("5.9.1", "Three."))
    asks = "ask = [" + ", ".join(f'{{ clause = "{clause}", says = "{says}" }}' for clause, says in said) + "]"
    assert [each.clause for each in compare(rules(), rules(asks))] == ["5.9", "5.9.1", "5.10"]
    assert sorted(["B.2", "10", "9", "B.10"], key=clause_order) == ["9", "10", "B.2", "B.10"]


# ---- classes


def classes(*ids, body="", extra=""):
    return book("\n".join(f'[[class]]\nid = "{each}"\ntitle = "{each.title()}"\n{body}' for each in ids) + extra)


MINIMUM = '[class.weight]\nclause = "7.1"\ndriver = "out"\nminimum = "{} kg"\n'


def test_a_new_class_is_one_change():
    old = classes("road", body=MINIMUM.format(900))
    new = classes("road", body=MINIMUM.format(900), extra='\n[[class]]\nid = "track"\ntitle = "Track"\nclause = "8"\n')
    assert told(old, new) == [("added", "8", None, "class", "Class track (Track) is new.")]


def test_a_class_that_is_gone_is_one_change():
    old = classes("road", body=MINIMUM.format(900), extra='\n[[class]]\nid = "track"\ntitle = "Track"\nclause = "8"\n')
    new = classes("road", body=MINIMUM.format(900))
    assert told(old, new) == [("withdrawn", "8", None, "class", "Class track (Track) is gone.")]


def test_a_class_under_another_name_is_moved():
    (change,) = compare(classes("brink", body=MINIMUM.format(900)), classes("verge", body=MINIMUM.format(900)))
    assert (change.what, change.class_id, change.was_class) == ("moved", "verge", "brink")
    assert change.sentence == "Class brink is now verge; it means the same."


def test_a_class_under_another_name_that_is_otherwise_changed_is_gone_and_new():
    old, new = classes("brink", body=MINIMUM.format(900)), classes("verge", body=MINIMUM.format(905))
    assert told(old, new) == [
        ("added", "1.1", None, "class", "Class verge (Verge) is new."),
        ("withdrawn", "1.1", None, "class", "Class brink (Brink) is gone."),
    ]


def test_a_group_changes_every_class_that_uses_it():
    text = """
[[group]]
id = "cabin"
[[group.allow]]
clause = "5.1"
kinds = ["interior.console"]
does = ["remove"]
[[class]]
id = "road"
title = "Road"
uses = ["cabin"]
[[class]]
id = "track"
title = "Track"
like = "road"
[[class]]
id = "free"
title = "Free"
"""
    changes = compare(book(text), book(text.replace("interior.console", "interior.dash")))
    assert [(each.class_id, each.sentence) for each in changes] == [
        (name, "Removing the centre console: now the dashboard instead of the centre console.")
        for name in ("road", "track")
    ]


# ---- numbers


def test_part_of_a_clause_that_moves_is_told_by_what_it_says():
    old = (
        'ask = [{ clause = "9.1", says = "It looks tidy." }]\n'
        'ban = [{ clause = "9.1", kinds = ["interior.dash"], does = ["remove"] }]'
    )
    new = old.replace('[{ clause = "9.1", says', '[{ clause = "9.2", says')
    assert told(rules(old), rules(new)) == [
        (
            "moved",
            "9.2",
            "9.1",
            "ask",
            'Now in clause 9.2, no longer in 9.1, and it means the same: a person judges "It looks tidy."',
        )
    ]


def test_a_number_given_to_another_rule_is_not_taken_for_a_change_of_it():
    ban = '{{ clause = "{}", kinds = ["{}"], does = ["remove"] }}'
    old = f"ban = [{ban.format('7.4', 'interior.dash')}, {ban.format('7.5', 'glass')}]"
    new = f"ban = [{ban.format('7.4', 'glass')}]"
    assert told(rules(old), rules(new)) == [
        ("moved", "7.4", "7.5", "ban", "Clause 7.5 is now 7.4; it means the same."),
        ("withdrawn", "7.4", None, "ban", "Withdrawn: removing the dashboard is forbidden."),
    ]


def test_several_rules_of_one_clause_pair_by_what_they_are_about():
    ban = '{{ clause = "7.4", kinds = ["{}"], does = ["remove"]{} }}'
    old = f"ban = [{ban.format('interior.dash', '')}, {ban.format('glass', ', if = { seats = 4 }')}]"
    new = (
        f"ban = [{ban.format('glass', ', if = { seats = 5 }')}, {ban.format('interior.dash', ', if = { doors = 3 }')}]"
    )
    assert sentences(rules(old), rules(new)) == [
        "The ban on removing the dashboard: now where doors 3.",
        "The ban on removing the glass: now where seats 5 (before, where seats 4).",
    ]


def test_of_several_rules_of_one_clause_those_pair_that_have_most_in_common():
    ban = '{{ clause = "7.4", kinds = [{}], does = ["remove"]{} }}'
    both = '"glass", "interior.dash"'
    some, most = ban.format('"glass"', ", if = { doors = 3 }"), ban.format(both, ", if = { seats = 5 }")
    old, new = f"ban = [{ban.format(both, '')}]", f"ban = [{some}, {most}]"
    assert sentences(rules(old), rules(new)) == [
        "The ban on removing the glass or the dashboard: now where seats 5.",
        "New: removing the glass is forbidden where doors 3.",
    ]


def test_silence_under_another_clause():
    changes = compare(rules(), book('[[class]]\nid = "club"\ntitle = "Club"\n', clause="1.2"))
    assert [(each.what, each.sentence) for each in changes] == [
        ("moved", "What silence means now stands in clause 1.2, no longer in 1.1; it means the same.")
    ]


# ---- precedence

RANKED = """
[[group]]
id = "bans"
{prevails}
[[group.ban]]
clause = "2.1"
kinds = ["{kind}"]
does = ["remove"]
[[class]]
id = "club"
title = "Club"
uses = ["bans"]
[[class.allow]]
clause = "5.1"
kinds = ["interior.console"]
does = ["remove"]
"""


def test_a_group_that_comes_to_prevail_changes_which_rule_wins():
    old = book(RANKED.format(prevails="", kind="interior"))
    new = book(RANKED.format(prevails="prevails = true", kind="interior"))
    assert told(old, new) == [
        (
            "changed",
            "2.1",
            None,
            "ban",
            "The ban on removing the cabin and boot: it now beats clause 5.1, as its group prevails.",
        )
    ]
    assert told(new, old) == [
        ("changed", "2.1", None, "ban", "The ban on removing the cabin and boot: it no longer beats clause 5.1.")
    ]


def test_prevailing_over_nothing_is_no_change():
    old, new = (book(RANKED.format(prevails=each, kind="glass")) for each in ("", "prevails = true"))
    assert told(old, new) == []


def test_a_rule_that_moves_from_a_group_into_the_class_comes_nearer():
    old = book(RANKED.format(prevails="", kind="interior.console"))
    own = '[[class.ban]]\nclause = "2.1"\nkinds = ["interior.console"]\ndoes = ["remove"]\n'
    group = '[[group.ban]]\nclause = "2.1"\nkinds = ["interior.console"]\ndoes = ["remove"]\n'
    new = book(RANKED.format(prevails="", kind="interior.console").replace(group, "") + own)
    assert told(old, new) == [
        (
            "changed",
            "5.1",
            None,
            "allow",
            "Removing the centre console: it no longer beats clause 2.1 where both speak of one kind.",
        )
    ]


def test_a_rule_that_moves_into_the_class_and_meets_no_other_is_no_change():
    text = RANKED.format(prevails="", kind="glass")
    group = '[[group.ban]]\nclause = "2.1"\nkinds = ["glass"]\ndoes = ["remove"]\n'
    assert told(book(text), book(text.replace(group, "") + group.replace("group", "class"))) == []


TWO = (
    'allow = [{{ clause = "5.1", kinds = ["interior"], does = ["remove"]{} }}]\n'
    'ban = [{{ clause = "{}", kinds = ["interior.dash"], does = ["remove"] }}]'
)


def test_what_a_prevailing_group_beats_it_beats_from_wherever_the_other_stands():
    old = RANKED.format(prevails="prevails = true", kind="interior.console")
    allow = '[[{}.allow]]\nclause = "5.1"\nkinds = ["interior.console"]\ndoes = ["remove"]\n'
    new = old.replace(allow.format("class"), "").replace('uses = ["bans"]', 'uses = ["bans", "free"]')
    assert told(book(old), book('[[group]]\nid = "free"\n' + allow.format("group") + new)) == []


def test_of_two_bans_it_does_not_matter_which_is_nearer():
    old = RANKED.format(prevails="", kind="interior.console").replace("class.allow", "class.ban")
    ban = '[[{}.ban]]\nclause = "5.1"\nkinds = ["interior.console"]\ndoes = ["remove"]\n'
    new = old.replace(ban.format("class"), "").replace('uses = ["bans"]', 'uses = ["bans", "more"]')
    assert told(book(old), book('[[group]]\nid = "more"\n' + ban.format("group") + new)) == []


def test_despite_is_compared_by_the_rules_that_it_names():
    old = rules(TWO.format(', despite = ["5.2"]', "5.2"))
    assert sentences(old, rules(TWO.format(', despite = ["5.3"]', "5.3"))) == [
        "Clause 5.2 is now 5.3; it means the same."
    ]
    assert sentences(old, rules(TWO.format("", "5.2"))) == [
        "Removing the cabin and boot: it no longer beats clause 5.2 whatever the kinds."
    ]


def test_despite_a_rule_that_speaks_of_nothing_of_its_own_is_no_change():
    glass = TWO.replace("interior.dash", "glass")
    assert told(rules(glass.format("", "5.2")), rules(glass.format(', despite = ["5.2"]', "5.2"))) == []


def test_despite_matters_for_what_belongs_to_a_part_of_its_own():
    allow = 'allow = [{{ clause = "5.1", kinds = ["interior.dash"], does = ["remove"], fixings = true{} }}]\n'
    ban = 'ban = [{ clause = "5.2", kinds = ["electrical"], does = ["remove"] }]'
    assert sentences(rules(allow.format("") + ban), rules(allow.format(', despite = ["5.2"]') + ban)) == [
        "Removing the dashboard: it now beats clause 5.2, whatever the kinds."
    ]


def test_a_new_rule_under_a_clause_that_an_old_one_beats_is_no_change_of_the_old_one():
    old = TWO.format(', despite = ["5.2"]', "5.2")
    new = old + '\nneed = [{ clause = "5.2.1", kinds = ["glass.rear"] }]'
    third = '\nstrip = [{ clause = "5.2.2", kinds = ["interior.console"] }]'
    assert sentences(rules(old), rules(new + third)) == [
        "New: the car must have the rear window.",
        "New: the car must not have the centre console.",
    ]


def test_a_new_rule_that_an_old_one_beats_by_name():
    old = rules(TWO.format("", "5.2").partition("\n")[0])
    assert sentences(old, rules(TWO.format(', despite = ["5.2"]', "5.2"))) == [
        "Removing the cabin and boot: it now beats clause 5.2, whatever the kinds.",
        "New: removing the dashboard is forbidden.",
    ]


# ---- words of a book's own


def own(default="0 mm", choices='"a", "b"', from_factory="always", body=""):
    return rules(
        'enter = [{ clause = "4.1", must = { bored = { most = "1 mm" }, list = "a" } }]\n' + body,
        before=f"""[[fact]]
id = "bored"
type = "length"
title = "Bored out"
default = "{default}"
[[fact]]
id = "list"
type = "choice"
choices = [{choices}]
title = "List"
[[kind]]
id = "interior.dash.clock"
title = "Dash clock"
from_factory = "{from_factory}"
""",
    )


@pytest.mark.parametrize(
    ("new", "sentence"),
    [
        (
            own(default="2 mm"),
            'The fact "bored": now 2 mm where the car is silent (before, 0 mm where the car is silent).',
        ),
        (own(choices='"a", "b", "c"'), 'The fact "list": now one of a, b, c (before, one of a, b).'),
        (
            own(from_factory="sometimes"),
            "The dash clock: now sometimes there from the factory (before, always there from the factory).",
        ),
    ],
)
def test_how_a_book_declares_its_own_words_is_part_of_it(new, sentence):
    assert told(own(), own()) == []
    assert told(own(), new) == [("changed", "1.1", None, "kind" if "clock" in sentence else "fact", sentence)]


def test_a_choice_that_is_gone_counts_in_what_the_old_edition_meant():
    was = own(choices='"a", "b", "c"').source.text.replace('list = "a" }', 'not = { list = "b" } }')
    changes = compare(parse_rules(was), own())
    assert [change.form for change in changes] == ["fact", "enter"]


def test_a_fact_is_told_of_in_the_classes_that_ask_for_it():
    text = own().source.text + '[[class]]\nid = "free"\ntitle = "Free"\n'
    (change,) = compare(parse_rules(text), parse_rules(text.replace('default = "0 mm"', 'default = "2 mm"')))
    assert change.class_id == "club"


def test_a_fact_that_is_of_another_type_is_another_fact():
    old = own()
    number = rules(
        'enter = [{ clause = "4.1", must = { bored = { most = 1 }, list = "a" } }]',
        before=old_text_with_number(),
    )
    assert sentences(old, number) == [
        'The fact "bored": now of type number (before, of type length); '
        "now unknown where the car is silent (before, 0 mm where the car is silent).",
        "What a car needs to enter: now bored out up to 1 (before, bored out up to 1 mm).",
    ]


def old_text_with_number():
    return """[[fact]]
id = "bored"
type = "number"
title = "Bored out"
[[fact]]
id = "list"
type = "choice"
choices = ["a", "b"]
title = "List"
[[kind]]
id = "interior.dash.clock"
title = "Dash clock"
from_factory = "always"
"""


def test_a_class_under_another_name_keeps_what_changed_for_all():
    text = """
[[group]]
id = "cabin"
everywhere = true
[[group.ban]]
clause = "5.1"
kinds = ["interior.dash"]
does = ["remove"]
[[class]]
id = "road"
title = "Road"
[[class]]
id = "brink"
title = "Brink"
[class.weight]
clause = "7.1"
driver = "out"
minimum = "900 kg"
"""
    new = text.replace("interior.dash", "interior.console").replace("brink", "verge")
    assert [(each.class_id, each.was_class, each.what, each.form) for each in compare(book(text), book(new))] == [
        ("road", None, "changed", "ban"),
        ("verge", "brink", "moved", "class"),
        ("verge", "brink", "changed", "ban"),
    ]
    heavier = new.replace("900 kg", "901 kg")
    assert [(each.class_id, each.what) for each in compare(book(text), book(heavier))] == [
        ("road", "changed"),
        ("verge", "added"),
        ("brink", "withdrawn"),
    ]


# ---- books with very many rules


def test_beyond_so_many_rules_despite_is_compared_as_written(monkeypatch):
    monkeypatch.setattr(provisions, "MOST_BONDS", 1)
    old = rules(TWO.format(', despite = ["5.2"]', "5.2"))
    assert sentences(old, rules(TWO.format("", "5.2"))) == [
        "Removing the cabin and boot: clauses that it beats, whatever the kinds: now none (before, clause 5.2)."
    ]
    assert sentences(old, old) == []


def test_beyond_so_many_rules_a_change_of_rank_is_told_as_such(monkeypatch):
    monkeypatch.setattr(precedence, "MOST_BONDS", 0)
    old, new = (book(RANKED.format(prevails=each, kind="interior")) for each in ("", "prevails = true"))
    assert sentences(old, new) == ["The ban on removing the cabin and boot: it stands nearer or farther than it did."]


def test_beyond_so_many_rules_of_one_clause_they_pair_in_order(monkeypatch):
    monkeypatch.setattr(comparing, "MOST_TRIED", 1)
    ban = '{{ clause = "7.4", kinds = ["glass"], does = ["remove"], if = {{ seats = {} }} }}'
    old = f"ban = [{ban.format(1)}, {ban.format(2)}]"
    new = f"ban = [{ban.format(3)}, {ban.format(4)}]"
    assert sentences(rules(old), rules(new)) == [
        "The ban on removing the glass: now where seats 3 (before, where seats 1).",
        "The ban on removing the glass: now where seats 4 (before, where seats 2).",
    ]
