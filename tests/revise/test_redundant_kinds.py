"""A kind that is listed beside a branch over it: no change where it decides nothing. The club is invented."""

import pytest

from support import DAY, car, check, rules
from tarebook.revise.comparing import compare

ALLOW = 'allow = [{{ clause = "5.1", kinds = [{}], does = ["remove"], {} }}]\n'
BRANCH, BOTH = '"interior"', '"interior", "interior.dash"'
DASH = car('[[part]]\nid = "dash"\nkind = "interior.dash"\n[[job]]\nid = "out"\nstate = "done"\noff = ["dash"]\n')


def changes(old: str, new: str) -> list[str]:
    """Both ways round it is one answer."""
    there, back = (compare(rules(one), rules(other)) for one, other in ((old, new), (new, old)))
    assert len(there) == len(back)
    return [each.sentence for each in there]


def verdict(text: str) -> str:
    (row,) = check(DASH, rules(text), on=DAY).rows
    return row.verdict


@pytest.mark.parametrize(
    "form",
    [
        ALLOW,
        ALLOW.replace("allow", "ban"),
        'strip = [{{ clause = "5.1", kinds = [{}] }}]\n',
        'weight = {{ clause = "3.1", driver = "out", minimum = "900 kg", without = [{}] }}\n',
        'limit = [{{ clause = "3.2", maximum = "90 kg", taken_off = [{}] }}]\n',
        'weight = {{ clause = "3.1", driver = "out", ballast = {{ allowed = true, places = [{}] }} }}\n',
    ],
    ids=["allow", "ban", "strip", "without", "taken_off", "places"],
)
def test_it_says_nothing_more(form):
    assert changes(form.format(BRANCH, ""), form.format(BOTH, "")) == []
    assert changes(form.format('"everything"', ""), form.format('"everything", "interior.dash"', "")) == []
    assert len(changes(form.format(BRANCH, ""), form.format('"interior", "glass"', ""))) == 1


def test_it_says_nothing_more_in_an_entry_of_its_own():
    apart = 'allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"] }, '
    apart += '{ clause = "5.1", kinds = ["interior.dash"], does = ["remove"] }]\n'
    assert changes(ALLOW.format(BRANCH, ""), apart) == []


@pytest.mark.parametrize(
    ("rival", "verdicts"),
    [
        ('ban = [{ clause = "5.2", kinds = ["interior"], does = ["remove"] }]', ["not-eligible", "eligible"]),
        ('ban = [{ clause = "5.2", kinds = ["everything"], does = ["remove"] }]', ["eligible", "eligible"]),
        ('ban = [{ clause = "5.2", kinds = ["interior.dash"], does = ["remove"] }]', ["not-eligible"] * 2),
    ],
)
def test_where_another_rule_speaks_of_it_the_list_may_decide_and_is_told(rival, verdicts):
    old, new = ALLOW.format(BRANCH, "") + rival, ALLOW.format(BOTH, "") + rival
    assert [verdict(old), verdict(new)] == verdicts
    assert len(changes(old, new)) == 1


@pytest.mark.parametrize(
    "beside",
    [
        'ban = [{ clause = "5.2", kinds = ["interior"], does = ["swap"] }]',
        'ban = [{ clause = "5.2", kinds = ["glass"], does = ["remove"] }]',
        'need = [{ clause = "5.2", kinds = ["interior.dash"] }]',
    ],
)
def test_a_rule_that_speaks_of_other_changes_is_no_rival(beside):
    assert changes(ALLOW.format(BRANCH, "") + beside, ALLOW.format(BOTH, "") + beside) == []


def test_brackets_of_another_part_are_a_matter_of_their_own():
    fixings = 'ban = [{ clause = "5.2", kinds = ["glass"], does = ["remove"], fixings = true }]'
    assert len(changes(ALLOW.format(BRANCH, "") + fixings, ALLOW.format(BOTH, "") + fixings)) == 1


def test_a_need_asks_for_each_of_its_kinds():
    need = 'need = [{{ clause = "6.1", kinds = [{}] }}]\n'
    assert len(changes(need.format(BRANCH), need.format(BOTH))) == 1
