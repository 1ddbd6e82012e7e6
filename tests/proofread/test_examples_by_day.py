"""Examples and bulletins: by which text an example is judged, and what it then exercises. The club is invented."""

import datetime
from pathlib import Path

import pytest

from tarebook.proofread.proofs import Proof, proofread
from tarebook.rules.reading import load_rules
from tarebook.show.proofread import proof_lines

BOOK = """\
format = "tarebook-rules/1"
[book]
id = "lapwing"
title = "Lapwing"
edition = "2027"
clause = "1.1"
in_force = { from = 2027-01-01, until = 2027-12-31 }
silence = "forbids"
[[class]]
id = "club"
title = "Club"
[class.weight]
clause = "2.1"
driver = "out"
minimum = "800 kg"
[[class.ban]]
clause = "2.2"
kinds = ["interior.dash"]
does = ["remove"]
[[class]]
id = "spare"
title = "Spare"
clause = "3"
[[class.require]]
clause = "3.1"
must = { first_registered = { age = { over = 20 } } }
"""
BULLETIN = """\
format = "tarebook-bulletin/1"
amends = "lapwing"
edition = "2027"
number = "1"
status = "in-force"
in_force = { from = 2027-06-01 }
[[amend]]
clause = "2.1"
class = "club"
set = { "weight.minimum" = "820 kg" }
[[amend]]
clause = "2.9"
class = "club"
add = { allow = { kinds = ["glass"], does = ["swap"] } }
"""
BEFORE, SINCE, JULY = datetime.date(2027, 5, 31), datetime.date(2027, 6, 1), datetime.date(2027, 7, 1)


def example(title: str, expect: str, *lines: str, class_id: str = "club") -> str:
    head = f'[[example]]\ntitle = "{title}"\nclass = "{class_id}"\nexpect = "{expect}"\n'
    return head + "".join(f"{line}\n" for line in lines)


LIGHT = example("light", "eligible", 'mass = "805 kg"', "on = 2027-05-31")
HEAVY = example("heavier since", "not-eligible", 'mass = "805 kg"', "on = 2027-06-01", 'because = ["2.1"]')
GLASS = example("glass", "allowed", 'swapped = ["glass.rear"]', 'clause = "2.9"', "on = 2027-06-01")
ANY_DAY = example("any day", "eligible", 'mass = "830 kg"')


def read(folder: Path, *examples: str, bulletin: str = BULLETIN, on: datetime.date | None = None) -> Proof:
    (folder / "book.toml").write_text(BOOK + "".join(examples), encoding="utf-8")
    (folder / "one.toml").write_text(bulletin, encoding="utf-8")
    proofs = proofread([folder], on=on)
    assert proofs.beside == ()
    return proofs.editions[0]


def told(proof: Proof) -> list[str]:
    return [f"{each.title}: {each.sentence}" for each in proof.failures]


@pytest.mark.parametrize("on", [None, datetime.date(2027, 1, 1), BEFORE, SINCE, datetime.date(2027, 12, 31)])
def test_what_states_its_day_is_judged_by_that_days_text_whenever_it_is_asked(tmp_path, on):
    proof = read(tmp_path, LIGHT, HEAVY, GLASS, ANY_DAY, on=on)
    assert (proof.mistakes, told(proof), len(proof.examples)) == ((), [], 4)


def test_a_clause_that_only_a_bulletin_adds_keeps_nobody_from_reading_the_book(tmp_path):
    (tmp_path / "book.toml").write_text(BOOK + GLASS, encoding="utf-8")
    (edition,) = load_rules(tmp_path)
    assert edition.id == "lapwing"


def test_an_example_without_a_day_may_not_name_such_a_clause_and_is_told_how(tmp_path):
    proof = read(tmp_path, GLASS.replace("on = 2027-06-01\n", ""))
    assert [(each.what, each.clause) for each in proof.mistakes] == [("unknown-clause", "2.9")]
    hint = "If a bulletin adds it, state a day on which it holds: on = 2027-06-01."
    assert proof.mistakes[0].sentence.endswith(hint)
    on_the_day = read(tmp_path, GLASS.replace("on = 2027-06-01\n", ""), ANY_DAY, on=SINCE)
    assert [each.number for each in on_the_day.rules.bulletins] == ["1"]  # the mistake does not keep them out
    assert (len(on_the_day.examples), on_the_day.not_run) == (1, 1)


def test_what_states_no_day_is_judged_by_the_text_that_is_asked_about(tmp_path):
    light = example("light", "eligible", 'mass = "805 kg"')
    assert [told(read(tmp_path, light, on=on)) for on in (None, BEFORE)] == [[], []]
    proof = read(tmp_path, light, on=SINCE)
    assert told(proof) == [
        "light: Expected eligible, came out not-eligible. Clause 2.1: 805 kg is 15 kg under the minimum of 820 kg."
    ]
    assert [each.as_printed for each in proof.failures] == [True]


def test_a_line_says_how_many_hold_as_printed(tmp_path):
    def said(*examples: str) -> str:
        read(tmp_path, *examples)
        shown = [" ".join(each.split()) for each in proof_lines(proofread([tmp_path], on=SINCE))]
        return next((each for each in shown if "by the text as printed" in each), "").partition(".")[0]

    light = example("light", "eligible", 'mass = "805 kg"')
    assert said(light) == "That one holds by the text as printed"
    assert said(light, example("far too light", "eligible", 'mass = "700 kg"')) == (
        "Of these, 1 holds by the text as printed"
    )
    assert said(light, light) == "Of these, 2 hold by the text as printed"
    assert said(ANY_DAY) == ""


def test_what_fails_with_or_without_the_bulletin_does_not_hold_as_printed(tmp_path):
    proof = read(tmp_path, example("far too light", "eligible", 'mass = "700 kg"'), on=SINCE)
    assert [each.as_printed for each in proof.failures] == [False]


def test_a_failure_by_another_text_names_it(tmp_path):
    wrong = HEAVY.replace("not-eligible", "eligible").replace('because = ["2.1"]\n', "")
    late = LIGHT.replace("805 kg", "795 kg")
    by_one = "heavier since: By the text of 2027-06-01, with bulletin 1: Expected eligible, came out not-eligible."
    assert told(read(tmp_path, wrong))[0].startswith(by_one)
    assert told(read(tmp_path, wrong, on=JULY))[0].startswith("heavier since: Expected eligible")
    by_none = "light: By the text of 2027-05-31, as printed: Expected eligible, came out not-eligible."
    assert told(read(tmp_path, late, on=JULY))[0].startswith(by_none)


def test_the_day_counts_too_not_the_text_alone(tmp_path):
    old = ("facts = { first_registered = 2006-03-01 }", 'clause = "3.1"')
    birthday = example("its birthday", "met", *old, "on = 2027-03-01", class_id="spare")
    without = example("some day", "met", *old, class_id="spare")
    assert [told(read(tmp_path, birthday, on=on)) for on in (None, JULY)] == [[], []]
    assert len(told(read(tmp_path, without))) == 1  # on the first day of the edition
    assert told(read(tmp_path, without, on=JULY)) == []


def test_a_clause_that_the_text_of_that_day_does_not_have(tmp_path):
    early = GLASS.replace("06-01", "05-31")
    unheard = example("glass", "not-eligible", 'because = ["2.8"]', "on = 2027-06-01")
    assert told(read(tmp_path, early, unheard)) == [
        'glass: It cannot be run: the book has no clause "2.9" on 2027-05-31, as printed.',
        'glass: It cannot be run: the book has no clause "2.8" on 2027-06-01, with bulletin 1.',
    ]
    (tmp_path / "one.toml").unlink()
    assert told(proofread([tmp_path]).editions[0])[0] == (
        'glass: It cannot be run: the book has no clause "2.9" on 2027-05-31, as printed; no bulletin was read with it.'
    )


def test_a_withdrawn_clause_is_not_in_play(tmp_path):
    gone = BULLETIN + '[[amend]]\nclause = "2.2"\nclass = "club"\nwithdraw = true\n'
    dash = ('removed = ["interior.dash"]', 'clause = "2.2"')
    examples = (
        example("dash", "violation", *dash, "on = 2027-05-31"),
        example("dash", "not-in-play", *dash, "on = 2027-06-01"),
    )
    assert told(read(tmp_path, *examples, bulletin=gone)) == []


def test_a_withdrawn_class_does_not_keep_a_bulletin_out(tmp_path):
    gone = BULLETIN + '[[amend]]\nclause = "3"\nclass = "spare"\nwithdraw = true\n'
    old = ("facts = { first_registered = 1990-03-01 }",)
    before = example("spare", "eligible", *old, "on = 2027-05-31", class_id="spare")
    always = example("spare, always", "eligible", *old, class_id="spare")
    assert told(read(tmp_path, before, always, bulletin=gone)) == []
    proof = read(tmp_path, before, always, bulletin=gone, on=SINCE)
    assert told(proof) == ['spare, always: It cannot be run: the book has no class "spare" on 2027-06-01.']


def test_an_example_of_another_day_exercises_what_stands_alike_in_both_texts(tmp_path):
    dash = example("dash", "violation", 'removed = ["interior.dash"]', 'clause = "2.2"', "on = 2027-05-31")

    def left(*examples: str, on: datetime.date | None) -> list[str]:
        return [item.clause for item in read(tmp_path, *examples, on=on).coverage.unexercised]

    assert left(LIGHT, dash, on=BEFORE) == ["1.1", "3.1"]
    assert left(LIGHT, dash, on=SINCE) == ["1.1", "3.1", "2.1", "2.9"]  # the minimum is the bulletin's by then
    assert left(HEAVY, GLASS, dash, on=SINCE) == ["1.1", "3.1"]
    assert left(HEAVY, GLASS, on=None) == ["1.1", "2.1", "2.2", "3.1"]


def test_a_proposal_counts_for_examples_too_where_it_is_asked_for(tmp_path):
    proposal = BULLETIN.replace('"in-force"', '"proposed"')
    (tmp_path / "book.toml").write_text(BOOK + LIGHT + HEAVY, encoding="utf-8")
    (tmp_path / "one.toml").write_text(proposal, encoding="utf-8")
    with_it, without = (proofread([tmp_path], on=BEFORE, proposed=proposed).editions[0] for proposed in (True, False))
    assert (told(with_it), [each.title for each in without.failures]) == ([], ["heavier since"])


RULESETS = Path(__file__).parents[2] / "rulesets"


@pytest.mark.parametrize(
    "day",
    ["2026-01-01", "2026-05-31", "2026-06-01", "2026-08-31", "2026-09-01", "2026-12-31", "2027-01-01", "2027-12-31"],
)
def test_the_shipped_book_with_bulletins_holds_on_all_its_days(day):
    for proposed in (False, True):
        proofs = proofread([RULESETS / "fernbeck"], on=datetime.date.fromisoformat(day), proposed=proposed)
        assert proofs.sound
        (edition,) = proofs.editions
        assert proposed or edition.coverage.percent == 100
