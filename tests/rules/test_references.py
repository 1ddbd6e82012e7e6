"""A class that is like a class of another book. Both books are invented."""

import datetime

import pytest

from support import DAY, book, car, check
from tarebook.rules.editions import in_force
from tarebook.rules.reading import RuleSet, rules_of
from tarebook.toml_source import MistakesFound, parse_source, render

OTHER = """\
[[fact]]
id = "tyre_list"
type = "choice"
choices = ["a", "b"]
title = "Tyre list"
[[kind]]
id = "interior.dash.clock"
title = "Dash clock"
from_factory = "never"
[[group]]
id = "safety"
everywhere = true
prevails = true
[[group.need]]
clause = "2.2"
kinds = ["safety.extinguisher"]
[[class]]
id = "base"
title = "Base"
clause = "6"
[class.weight]
clause = "6.1"
driver = "out"
minimum = "900 kg"
adjust = [{ add = "10 kg", clause = "6.1.2", if = { tyre_list = "b" } }]
[[class.allow]]
clause = "6.3"
kinds = ["interior.floor"]
does = ["remove"]
finish = ["bare"]
[[class.finish]]
id = "bare"
clause = "6.4"
area = "interior.floor.carpet"
by = ["painted"]
[[class]]
id = "street"
title = "Street"
clause = "7"
like = "base"
[[class.ban]]
clause = "7.4"
kinds = ["interior.dash"]
does = "anything"
[[class.need]]
clause = "7.5"
kinds = ["interior.seat.rear"]
"""
OWN = """\
[[class]]
id = "guests"
title = "Guests"
clause = "9"
like = "other/street"
drops = ["other.7.5"]
[class.weight]
clause = "9.1"
minimum = "880 kg"
[[class.allow]]
clause = "9.2"
kinds = ["interior"]
does = ["remove"]
despite = ["other.7.4"]
"""


def both(
    own: str = OWN, other: str = OTHER, silence: object = "permits", their_silence: object = "forbids"
) -> list[RuleSet]:
    mine = book(own, silence=silence)
    theirs = book(other, silence=their_silence, book_id="other", clause="1.9")
    return rules_of([parse_source(each.source.content, f"{each.id}.toml") for each in (mine, theirs)])


def whole(**texts: object) -> RuleSet:
    return in_force(both(**texts), DAY)[0]  # type: ignore[arg-type]


def refused(**texts: object) -> str:
    with pytest.raises(MistakesFound) as found:
        whole(**texts)
    mistake = found.value.mistakes[0]
    return render(mistake)


def test_the_class_has_what_the_other_books_class_has():
    full = whole().class_in_full("guests")
    clauses = {form: [placed.rule.clause for placed in rules] for form, rules in full.rules.items() if rules}
    assert clauses == {
        "allow": ["9.2", "other.6.3"],
        "ban": ["other.7.4"],
        "need": ["other.2.2"],
        "finish": ["other.6.4"],
    }
    assert {key: entry.clause for key, entry in full.weight.items() if key in ("minimum", "driver")} == {
        "minimum": "9.1",
        "driver": "other.6.1",
    }
    ((adjust, _),) = full.weight["adjust"].value
    assert adjust.clause == "other.6.1.2"
    assert (full.silence.remove, full.silence_clause) == ("forbids", "other.1.9")


def test_only_the_books_own_classes_are_its_classes():
    mine, theirs = in_force(both(), DAY)
    assert (mine.class_ids, theirs.class_ids) == (("guests",), ("base", "street"))


def test_its_own_silence_stands_before_the_other_books():
    full = whole(own=OWN.replace('clause = "9"\n', 'clause = "9"\nsilence = "permits"\n')).class_in_full("guests")
    assert (full.silence.remove, full.silence_clause) == ("permits", "9")


def test_a_car_is_judged_by_both_books_with_the_exceptions():
    bare = car(
        "part = [\n"
        '  { id = "carpet", kind = "interior.floor.carpet", mass = "4 kg" },\n'
        '  { id = "dash", kind = "interior.dash", mass = "6 kg" },\n'
        '  { id = "spare", kind = "stowage.spare-wheel", mass = "12 kg" },\n'
        "]\n"
        'job = [{ id = "j", state = "done", off = ["carpet", "dash", "spare"], date = 2026-01-01 }]',
    )
    (row,) = [each for each in check(bare, both(), on=DAY).rows if each.class_id == "guests"]
    found = {(finding.result, finding.clause, finding.part) for finding in row.findings if finding.form != "limit"}
    assert found == {
        ("allowed", "9.2", "dash"),  # despite the other book's 7.4
        ("allowed", "other.6.3", "carpet"),  # the longer kind
        ("owed", "other.6.4", None),
        ("violation", "other.1.9", "spare"),  # the other book's silence
        ("violation", "other.2.2", None),
    }
    places = {finding.clause: row.rules.source.where(finding.path)[0] for finding in row.findings}
    assert (places["9.2"], places["other.6.3"], places["other.1.9"]) == ("made-up.toml", "other.toml", "other.toml")


def test_the_other_books_edition_of_the_day_counts():
    mine, theirs = both()
    text = theirs.source.text.replace('edition = "2027"', 'edition = "2028"').replace("from = 2027", "from = 2028")
    earlier = theirs.source.text.replace("from = 2027-01-01", "from = 2027-01-01, until = 2027-12-31")
    editions = rules_of(
        parse_source(each.encode(), name)
        for name, each in (
            ("mine.toml", mine.source.text),
            ("27.toml", earlier),
            ("28.toml", text.replace('kinds = ["interior.dash"]', 'kinds = ["glass"]')),
        )
    )
    bans = [
        in_force(editions, datetime.date(year, 6, 1))[0].class_in_full("guests").rules["ban"][0].rule.kinds
        for year in (2027, 2028)
    ]
    assert bans == [["interior.dash"], ["glass"]]


def test_a_reference_may_lead_on_to_a_third_book():
    middle = book('[[class]]\nid = "street"\ntitle = "S"\nlike = "far/base"\n', book_id="other")
    mine = book('[[class]]\nid = "guests"\ntitle = "G"\nlike = "other/street"\n')
    far = book(OTHER, book_id="far", clause="1.9")
    editions = rules_of(parse_source(each.source.content, each.id) for each in (mine, middle, far))
    full = in_force(editions, DAY)[0].class_in_full("guests")
    assert [placed.rule.clause for placed in full.rules["allow"]] == ["other.far.6.3"]
    assert full.silence_clause == "other.far.1.9"


MISTAKES = [
    (
        OWN.replace("other/street", "othr/street").replace("other.7", "othr.7"),
        'the book "othr" is not among the rule sets read',
        'did you mean "other"?',
    ),
    (OWN.replace("other/street", "other/stret"), 'the book "other" has no class "stret"', 'did you mean "street"?'),
    (OWN.replace("other/street", "made-up/guests"), 'a class of this very book is named alone: like = "guests"', ""),
    (OWN.replace("other/street", "other/"), "a class of another book is named by both", ""),
    (OWN.replace("other.7.5", "other.7.9"), 'there is no clause "other.7.9"', ""),
    (
        '[[fact]]\nid = "tyre_list"\ntype = "yes-no"\ntitle = "T"\n' + OWN,
        'the fact "tyre_list" is declared otherwise',
        "",
    ),
    ('[units]\nmass = "lb"\n' + OWN, 'the book "other" writes bare numbers in other units: its mass is in kg', ""),
]


@pytest.mark.parametrize(("own", "said", "hint"), MISTAKES, ids=[said for _, said, _ in MISTAKES])
def test_a_reference_that_is_wrong(own, said, hint):
    told = refused(own=own)
    assert said in told.split("\n")[0] and told.startswith(("made-up.toml:", "rules:"))
    assert told.endswith(hint)


def test_a_circle_of_books():
    ours = '[[class]]\nid = "street"\ntitle = "S"\nlike = "other/street"\n'
    theirs = '[[class]]\nid = "street"\ntitle = "S"\nlike = "made-up/street"\n'
    assert 'these books are like one another in a circle: "made-up" is like "other" is like "made-up"' in refused(
        own=ours, other=theirs
    )


def test_alone_the_class_is_not_complete():
    (mine,) = [each for each in both() if each.id == "made-up"]
    with pytest.raises(MistakesFound) as found:
        mine.class_in_full("guests")
    assert found.value.mistakes[0].message == "this class stands on a class of another book, which is not at hand"
