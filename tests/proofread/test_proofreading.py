"""All checks together: the shipped rule sets, the order of what is found, and how long it takes."""

import time
from pathlib import Path

import pytest
from planted import another, club, found_in, group, rule

from support import book
from tarebook.proofread.findings import Blemish
from tarebook.proofread.proofreading import blemishes
from tarebook.rules.reading import load_rules

RULESETS = Path(__file__).parents[2] / "rulesets"


@pytest.mark.parametrize("name", sorted(each.name for each in RULESETS.iterdir()))
def test_the_shipped_rule_sets_have_none(name):
    assert [blemish for edition in load_rules(RULESETS / name) for blemish in blemishes(edition)] == []


def test_a_blemish_in_full():
    text = club("[class.weight]\nclause = '2.1'\ndriver = 'out'\nminimum = '900 kg'\nmaximum = '800 kg'\n")
    assert blemishes(book(text)) == [
        Blemish(
            what="minimum-over-maximum",
            clause="2.1",
            sentence="The minimum of clause 2.1, 900 kg, is over the maximum of clause 2.1 (rules:26), 800 kg:"
            " no car can keep both.",
            file="rules",
            line=25,
            column=11,
            beaten_by="2.1",
        )
    ]


def test_what_is_found_comes_by_place():
    text = club(
        rule("allow", "2.3", "interior.dash", "remove")
        + rule("ban", "2.2", "interior.dash", "remove")
        + rule("finish", "2.1", rest="id = 'bare'\narea = 'interior'\nby = ['painted']"),
        before=group("spare", rule("ban", "3.1", "glass", "remove", holder="group")),
        after=another("tour", keys='like = "club"\ndrops = ["3.1"]'),
    )
    found, _ = found_in(text)
    assert [what for what, _, _ in found] == ["unused-group", "never-decides", "finish-never-owed", "drops-nothing"]
    assert [line for _, _, line in found] == sorted(line for _, _, line in found)


def test_a_bulletin_is_read_with_its_book(tmp_path):
    text = club(rule("ban", "2.2", "interior.dash", "remove"))
    (tmp_path / "book.toml").write_text(book(text).source.text, encoding="utf-8")
    (tmp_path / "first.toml").write_text(
        'format = "tarebook-bulletin/1"\namends = "made-up"\nedition = "2027"\nnumber = "1"\nstatus = "in-force"\n'
        "in_force = { from = 2027-06-01 }\n"
        '[[amend]]\nclause = "2.3"\nclass = "club"\n'
        'add = { allow = { kinds = ["interior.dash"], does = ["remove"] } }\n',
        encoding="utf-8",
    )
    (edition,) = load_rules(tmp_path)
    assert blemishes(edition) == []
    (found,) = blemishes(edition.amended(edition.file.book.in_force.from_.replace(month=7)))
    assert (found.what, found.clause, found.beaten_by) == ("never-decides", "2.3", "2.2")
    assert (Path(found.file).name, found.line) == ("first.toml", 10)
    assert "clause 2.2 (book.toml:" in found.sentence


LARGE_KINDS = ["interior.dash", "interior.seat", "interior.floor", "body.bonnet", "body.boot-lid", "glass.rear"]


def large_book():
    """Twenty classes, in two lines of likeness, and two hundred rules, most of them with conditions."""
    shared = "".join(
        rule(
            ("allow", "ban")[number % 2],
            f"3.{number}",
            LARGE_KINDS[number % 6] if number % 3 else "interior body",
            ("remove", "swap", "lighten", "move", "fit")[number % 5],
            f"if = {{ seats = {{ least = {number % 7} }}, any = [{{ p = true }}, {{ removed = 'glass' }}] }}",
            holder="group",
        )
        for number in range(60)
    )
    classes = ""
    for place in range(20):
        own = "".join(
            rule(
                ("ban", "allow")[number % 2],
                f"{10 + place}.{number}",
                LARGE_KINDS[(place + number) % 6],
                ("remove", "swap", "lighten", "move", "fit")[number % 5],
                f"if = {{ power = {{ least = '{10 * number + place} kW' }}, not = {{ fitted = 'safety.cage' }} }}",
            )
            for number in range(6)
        )
        own += rule("enter", f"{10 + place}.9", rest=f"must = {{ displacement = {{ up_to = '{1000 + place} cm3' }} }}")
        like = f'like = "c{place - 2}"\n' if place > 1 else ""
        classes += another(f"c{place}", own, f'{like}uses = ["shared"]\n')
    return club(before=group("shared", shared), keys='uses = ["shared"]', after=classes)


def test_a_large_book_takes_less_than_two_seconds():
    rules = book(large_book())
    assert len(rules.file.class_) == 21
    assert (
        sum(len(each.allow) + len(each.ban) + len(each.enter) for each in (*rules.file.class_, *rules.file.group))
        == 200
    )
    taken = []
    for _ in range(2):  # the first also finds the places of the file's lines
        started = time.process_time()
        blemishes(rules)
        taken.append(time.process_time() - started)
    assert min(taken) < 2


def test_a_condition_that_is_too_much_is_left_alone():
    """Sums of many yes-no answers have no small diagram in any order; nothing is said of them, and in bounded time."""
    names = [f"n{number}" for number in range(60)]
    own = "".join(f'[[fact]]\nid = "{name}"\ntype = "count"\ntitle = "{name}"\n' for name in names)
    pairs = ", ".join(
        f"{{ {names[number]} = {{ least = 1 }}, {names[59 - number]} = {{ least = 2 }} }}" for number in range(30)
    )
    entries = "".join(
        rule("ban", f"2.{number}", "interior", "remove", f"if = {{ any = [{pairs}], seats = {number} }}")
        for number in range(40)
    )
    started = time.process_time()
    assert found_in(club(entries + rule("ban", "2.99", "glass", "swap"), before=own)) == ([], [])
    assert time.process_time() - started < 10
