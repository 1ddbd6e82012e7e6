"""A book with mistakes is read as far as it can be: all are told at once, and what follows from one is not told.

The club is invented.
"""

import datetime
from pathlib import Path

import pytest

from tarebook.proofread.proofs import Proof, Proofs, proofread
from tarebook.show.proofread import proof_document, proof_lines

BOOK = """\
format = "tarebook-rules/1"
[book]
id = "lapwing"
title = "Lapwing"
edition = "2027"
clause = "1.1"
in_force = { from = 2027-01-01, until = 2027-12-31 }
silence = "forbids"
[units]
mass = "kg"
[[fact]]
id = "list_a"
type = "yes-no"
title = "On list A"
[[kind]]
id = "interior.dash.clock"
title = "Clock"
from_factory = "sometimes"
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
id = "road"
title = "Road"
clause = "7"
uses = ["cabin"]
[class.weight]
clause = "7.1"
driver = "out"
minimum = "800 kg"
adjust = [{ add = "10 kg", if = { list_a = true }, clause = "7.1.2" }]
[[class.allow]]
clause = "7.2"
kinds = ["interior.dash.clock"]
does = ["remove"]
says = "The clock may go."
[[class.ban]]
clause = "7.3"
kinds = ["interior.dash"]
does = ["swap"]
if = { list_a = true }
[[class]]
id = "track"
title = "Track"
clause = "8"
like = "road"
drops = ["7.3"]
[class.weight]
clause = "8.1"
minimum = "780 kg"
[[class.allow]]
clause = "8.2"
kinds = ["interior.dash"]
does = ["swap"]
despite = ["7.2"]
[[example]]
title = "the clock"
class = "road"
removed = ["interior.dash.clock"]
clause = "7.2"
expect = "allowed"
[[example]]
title = "the carpet"
class = "track"
removed = ["interior.floor.carpet"]
clause = "5.2"
expect = "owed"
"""
BULLETIN = """\
format = "tarebook-bulletin/1"
amends = "lapwing"
edition = "2027"
number = "1"
status = "in-force"
in_force = { from = 2027-06-01 }
[[amend]]
clause = "7.2"
class = "road"
set = { kinds = ["interior.dash.clock", "interior.trim"] }
"""

# What is written in place of what; the sort and the clause of the one mistake, and the line of it that is marked.
OUTSIDE_A_RULE = [
    ('[units]\nmass = "kg"', '[units]\nmass = "stones"', "wrong-value", ""),
    ('[units]\nmass = "kg"', '[unitz]\nmass = "kg"', "unknown-key", ""),
    ('format = "tarebook-rules/1"', 'format = "tarebook-rules/2"', "wrong-value", ""),
    ('format = "tarebook-rules/1"\n', "", "missing-key", ""),
    ('edition = "2027"', "edition = 2027", "wrong-value", ""),
    ('edition = "2027"\n', "", "missing-key", ""),
    ('id = "lapwing"', 'id = "Lap wing"', "wrong-value", ""),
    ("until = 2027-12-31", "until = 2026-12-31", "wrong-value", ""),
    ('silence = "forbids"', 'silence = "allows"', "wrong-value", "1.1"),
    ("[book]", "[[book]]", "wrong-value", ""),
    ('type = "yes-no"', 'type = "yes"', "wrong-value", ""),
    ("[[fact]]", "[fact]", "wrong-value", ""),
    ('from_factory = "sometimes"', 'from_factory = "perhaps"', "wrong-value", ""),
    ('id = "cabin"\nclause', 'id = "Cabin"\nclause', "wrong-value", "5"),
    ('id = "cabin"\nclause', "clause", "missing-key", "5"),
    ("[[group]]", "[group]", "wrong-value", "5"),
    ("[[group.allow]]", "[group.allow]", "wrong-value", "5.1"),
    ('id = "road"\n', "", "missing-key", "7"),
    ('title = "Road"\n', "", "missing-key", "7"),
    ('title = "Road"', "titel = 'Road'\ntitle = 'Road'", "unknown-key", "7"),
    ('uses = ["cabin"]', 'uses = ["cabim"]', "unknown-group", "7"),
    ('uses = ["cabin"]', 'uses = "cabin"', "wrong-value", "7"),
    ('minimum = "800 kg"', "minimum = true", "wrong-value", "7.1"),
    ('minimum = "800 kg"', 'minimun = "800 kg"', "unknown-key", "7.1"),
    ('driver = "out"', 'driver = "outside"', "wrong-value", "7.1"),
    ('[class.weight]\nclause = "7.1"', '[[class.weight]]\nclause = "7.1"', "wrong-value", "7"),
    ('like = "road"', 'like = "roads"', "unknown-class", "8"),
    ('like = "road"', "like = 7", "wrong-value", "8"),
    ('drops = ["7.3"]', 'drops = ["7.33"]', "unknown-clause", "8"),
]
WITHIN_A_RULE = [
    ('says = "The clock may go."', "says = 7", "wrong-value", "7.2", 2, 0),
    ('kinds = ["interior.floor"]', 'kinds = ["interior.flor"]', "unknown-kind", "5.1", 2, 0),
    ('kinds = ["interior.dash"]\ndoes = ["swap"]\nif', 'does = ["swap"]\nif', "missing-key", "7.3", 2, 0),
    ('clause = "7.2"\nkinds', "kinds", "missing-key", "7", 1, 1),
    ('id = "bare"\n', "", "missing-key", "5.2", 1, 1),
    ('expect = "owed"', 'expect = "owing"', "wrong-value", "5.2", 1, 1),
    ('add = "10 kg"', 'add = "ten"', "wrong-value", "7.1.2", 2, 0),
]


def write(folder: Path, text: str, bulletin: str = "") -> Path:
    (folder / "book.toml").write_text(text, encoding="utf-8")
    if bulletin:
        (folder / "one.toml").write_text(bulletin, encoding="utf-8")
    return folder


def planted(was: str, now: str) -> str:
    assert was in BOOK
    return BOOK.replace(was, now, 1)


def told(proof: Proof) -> list[tuple[str, str]]:
    return [(each.what, each.clause) for each in proof.mistakes]


def lines(proofs: Proofs) -> list[str]:
    return [" ".join(line.split()) for line in proof_lines(proofs)]


def test_the_book_is_sound(tmp_path):
    assert proofread([write(tmp_path, BOOK, BULLETIN)]).sound


@pytest.mark.parametrize(("was", "now", "what", "clause"), OUTSIDE_A_RULE)
@pytest.mark.parametrize("on", [None, datetime.date(2027, 7, 1)])
def test_one_mistake_outside_a_rule_is_told_alone_and_nothing_that_follows_from_it(
    tmp_path, was, now, what, clause, on
):
    proofs = proofread([write(tmp_path, planted(was, now), BULLETIN)], on=on)
    (proof,) = proofs.editions
    assert (told(proof), proofs.beside) == ([(what, clause)], ())
    assert (proof.rules, proof.coverage, len(proof.examples), proof.not_run) == (None, None, 0, 2)
    assert lines(proofs)[-1] == "It cannot be read as it stands, so that its examples were not run."


@pytest.mark.parametrize(("was", "now", "what", "clause", "run", "not_run"), WITHIN_A_RULE)
@pytest.mark.parametrize("on", [None, datetime.date(2027, 7, 1)])
def test_one_mistake_in_a_rule_or_example_leaves_the_rest_and_the_bulletins(
    tmp_path, was, now, what, clause, run, not_run, on
):
    proofs = proofread([write(tmp_path, planted(was, now), BULLETIN)], on=on)
    (proof,) = proofs.editions
    assert (told(proof), proofs.beside) == ([(what, clause)], ())
    assert (len(proof.examples), proof.not_run) == (run, not_run)
    if "7.2" not in was:
        assert [each.number for each in proof.rules.bulletins] == ([] if on is None else ["1"])


def test_words_that_are_wrong_do_not_take_their_rule_out(tmp_path):
    (proof,) = proofread([write(tmp_path, planted(*WITHIN_A_RULE[0][:2]), BULLETIN)]).editions
    assert (proof.left_out, proof.failures) == ((), [])


def test_all_mistakes_outside_rules_are_told_together(tmp_path):
    text = BOOK
    plants = [OUTSIDE_A_RULE[number] for number in (0, 4, 10, 13, 16, 19, 22, 26)] + [
        WITHIN_A_RULE[number] for number in (2, 5, 6)
    ]
    for was, now, *_ in plants:
        assert was in text
        text = text.replace(was, now, 1)
    (proof,) = proofread([write(tmp_path, text)]).editions
    assert told(proof) == [
        ("wrong-value", ""),  # the edition
        ("wrong-value", ""),  # the unit
        ("wrong-value", ""),  # the type of the fact
        ("wrong-value", "5"),
        ("wrong-value", "5.1"),
        ("unknown-key", "7"),
        ("wrong-value", "7.1"),
        ("wrong-value", "7.1.2"),
        ("missing-key", "7.3"),
        ("unknown-class", "8"),
        ("wrong-value", "5.2"),
    ]
    assert [each.line for each in proof.mistakes] == sorted(each.line for each in proof.mistakes)


def test_a_class_written_twice_is_told_alone(tmp_path):
    again = '[[class]]\nid = "road"\ntitle = "Road again"\nclause = "9"\n[[example]]\ntitle = "the clock"'
    text = planted('[[example]]\ntitle = "the clock"', again)
    assert told(proofread([write(tmp_path, text)]).editions[0]) == [("written-twice", "9")]


def test_mistakes_of_sense_are_told_beside_one_outside_a_rule(tmp_path):
    beaten = (
        '[[class.ban]]\nclause = "7.9"\nkinds = ["interior.dash.clock"]\ndoes = ["remove"]\n[[class]]\nid = "track"'
    )
    odd = '[[class.ban]]\nclause = "9.9"\nkinds = ["glass"]\ndoes = ["remove"]\n[[class]]\nid = "track"'
    for more, what in ((beaten, ("never-decides", "7.2")), (odd, ("outside-its-clause", "9.9"))):
        text = planted('[units]\nmass = "kg"', '[unitz]\nmass = "kg"').replace('[[class]]\nid = "track"', more)
        (proof,) = proofread([write(tmp_path, text)]).editions
        assert told(proof) == [("unknown-key", ""), what]


def test_what_would_be_met_by_what_was_left_out_is_not_told(tmp_path):
    """A group whose only user has a mistake in its `uses`; a class that drops what it has from a class unread."""
    text = planted('uses = ["cabin"]', "uses = 7")
    assert told(proofread([write(tmp_path, text)]).editions[0]) == [("wrong-value", "7")]


def test_examples_that_were_left_out_are_not_said_to_be_none(tmp_path):
    both = BOOK.replace('expect = "owed"', 'expect = "owing"').replace('expect = "allowed"', 'expect = "allow"')
    proofs = proofread([write(tmp_path, both)])
    assert "2 examples not run: they have mistakes." in lines(proofs)
    assert not any("no examples of its own" in line for line in lines(proofs))
    one = planted('expect = "owed"', 'expect = "owing"')
    told_of_one = lines(proofread([write(tmp_path, one)]))
    assert {"1 example run, none failed.", "1 example not run: it has a mistake."} <= set(told_of_one)


def test_an_example_that_asks_for_what_was_left_out_says_so(tmp_path):
    wrong = 'kinds = ["interior.dash.klock"]\ndoes = ["remove"]'
    text = planted('kinds = ["interior.dash.clock"]\ndoes = ["remove"]', wrong)
    proofs = proofread([write(tmp_path, text)])
    assert "1 example not run: it asks for what was left out." in lines(proofs)
    text = text.replace('expect = "owed"', 'expect = "owing"')
    assert "2 examples not run: they have mistakes, or ask for what was left out." in lines(
        proofread([write(tmp_path, text)])
    )


def test_coverage_is_left_out_of_what_could_not_be_read(tmp_path):
    unread = proof_document(proofread([write(tmp_path, planted('like = "road"', 'like = "roads"'))]))
    for document in (unread, *unread["editions"]):
        assert "coverage" not in document and "unexercised" not in document
        assert document["not_run"] == 2
    (tmp_path / "next.toml").write_text(BOOK.replace("lapwing", "dunlin"), encoding="utf-8")
    both = proof_document(proofread([tmp_path]))
    assert ["coverage" in each for each in both["editions"]] == [False, True]
    assert both["coverage"] == both["editions"][1]["coverage"]


def test_bulletins_are_told_of_all_at_once_and_those_that_fit_count(tmp_path):
    write(tmp_path, BOOK, BULLETIN)
    for number, clause in (("2", "7.7"), ("3", "7.8")):
        text = BULLETIN.replace('number = "1"', f'number = "{number}"').replace('"7.2"', f'"{clause}"')
        (tmp_path / f"{number}.toml").write_text(text, encoding="utf-8")
    proofs = proofread([tmp_path], on=datetime.date(2027, 7, 1))
    assert [(each.what, each.clause) for each in proofs.beside] == [
        ("bulletin-does-not-fit", "7.7"),
        ("bulletin-does-not-fit", "7.8"),
    ]
    assert [each.number for each in proofs.editions[0].rules.bulletins] == ["1"]


def test_a_bulletin_on_a_rule_that_was_left_out_is_not_blamed(tmp_path):
    text = planted('kinds = ["interior.dash.clock"]\ndoes = ["remove"]', 'kinds = ["dash"]\ndoes = ["remove"]')
    proofs = proofread([write(tmp_path, text, BULLETIN)])
    assert (told(proofs.editions[0]), proofs.beside) == ([("unknown-kind", "7.2")], ())


def test_a_bulletin_with_a_mistake_of_its_own_does_not_take_the_others_out(tmp_path):
    write(tmp_path, BOOK, BULLETIN)
    (tmp_path / "two.toml").write_text(BULLETIN.replace('number = "1"', "number = 2"), encoding="utf-8")
    proofs = proofread([tmp_path], on=datetime.date(2027, 7, 1))
    assert [(each.what, Path(each.file).name) for each in proofs.beside] == [("wrong-value", "two.toml")]
    assert [each.number for each in proofs.editions[0].rules.bulletins] == ["1"]


def test_a_book_whose_other_book_could_not_be_read_has_no_mistake_for_that(tmp_path):
    guests = BOOK.replace("lapwing", "dunlin").replace('like = "road"', 'like = "lapwing/road"')
    write(tmp_path, planted('edition = "2027"', "edition = 2027"))
    (tmp_path / "dunlin.toml").write_text(guests.replace('drops = ["7.3"]\n', ""), encoding="utf-8")
    for on in (None, datetime.date(2027, 7, 1)):
        proofs = proofread([tmp_path], on=on)
        assert [told(each) for each in proofs.editions] == [[("wrong-value", "")], []]
        assert proofs.beside == ()
        because = "The other book that it has classes from is not there, so that its examples were not run."
        assert because in lines(proofs)
