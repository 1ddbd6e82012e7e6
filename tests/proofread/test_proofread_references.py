"""Proofreading a book with a class that is like another book's class. Both books are invented."""

from tarebook.proofread.proofs import proofread

OTHER = """\
format = "tarebook-rules/1"
[book]
id = "other"
title = "Other"
edition = "1"
in_force = { from = 2027-01-01 }
silence = "forbids"
[[class]]
id = "street"
title = "Street"
clause = "7"
[[class.allow]]
clause = "7.1"
kinds = ["interior"]
does = ["remove"]
[[class.allow]]
clause = "8.1"
kinds = ["glass"]
does = ["swap"]
"""
MINE = """\
format = "tarebook-rules/1"
[book]
id = "mine"
title = "Mine"
edition = "1"
in_force = { from = 2027-01-01 }
silence = "forbids"
[[class]]
id = "guests"
title = "Guests"
clause = "9"
like = "other/street"
[[class.ban]]
clause = "9.1"
kinds = ["interior.dash"]
does = ["remove"]
[[example]]
title = "the dashboard is out"
class = "guests"
removed = ["interior.dash"]
clause = "9.1"
expect = "violation"
[[example]]
title = "the carpet is out"
class = "guests"
removed = ["interior.floor.carpet"]
clause = "other.7.1"
expect = "allowed"
"""


def test_the_other_book_comes_along_and_answers_for_its_own_mistakes(tmp_path):
    (tmp_path / "mine.toml").write_text(MINE)
    (tmp_path / "other.toml").write_text(OTHER)
    mine, other = proofread([tmp_path]).editions
    assert ([each.what for each in mine.mistakes], [each.what for each in other.mistakes]) == (
        [],
        ["outside-its-clause"],
    )
    assert [result.passed for result in mine.examples] == [True, True]
    assert (mine.coverage.exercised, mine.coverage.total) == (1, 1)


def test_without_the_other_book_it_says_so_once(tmp_path):
    (tmp_path / "mine.toml").write_text(MINE)
    proofs = proofread([tmp_path])
    assert [each.sentence for each in proofs.beside] == [
        'The book "other" is not among the rule sets read. Name its rule set too: --rules PATH.'
    ]
    assert proofs.editions[0].mistakes == ()
