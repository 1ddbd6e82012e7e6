"""Editions of one invented book: which holds on a day, and the gaps and overlaps between them."""

import datetime

import pytest

from tarebook.rules.editions import NotInForce, between, in_force
from tarebook.rules.reading import RuleSet, parse_rules


def edition(name: str, begins: str, ends: str | None) -> RuleSet:
    until = f", until = {ends}" if ends else ""
    return parse_rules(
        'format = "tarebook-rules/1"\n[book]\nid = "made-up"\ntitle = "Made-Up"\n'
        f'edition = "{name}"\nin_force = {{ from = {begins}{until} }}\nsilence = "forbids"\n'
        '[[class]]\nid = "club"\ntitle = "Club"\n',
        f"{name}.toml",
    )


A = edition("2026", "2026-01-01", "2026-12-31")
B = edition("2027", "2027-01-01", "2027-12-31")
C = edition("2029", "2029-03-01", None)


@pytest.mark.parametrize(
    ("day", "name"), [("2026-01-01", "2026"), ("2026-12-31", "2026"), ("2027-01-01", "2027"), ("2099-01-01", "2029")]
)
def test_both_ends_count(day, name):
    (found,) = in_force([B, C, A], datetime.date.fromisoformat(day))
    assert found.edition == name


@pytest.mark.parametrize(
    ("day", "named"),
    [
        ("2028-02-29", "The nearest are: edition 2026, 2026-01-01 to 2026-12-31 (2026.toml); edition 2027"),
        (
            "2029-02-28",
            "The nearest are: edition 2027, 2027-01-01 to 2027-12-31 (2027.toml); edition 2029, 2029-03-01 onward",
        ),
        ("2025-12-31", "The nearest are: edition 2026, 2026-01-01 to 2026-12-31 (2026.toml); edition 2027"),
    ],
)
def test_a_day_that_none_covers_names_the_nearest(day, named):
    with pytest.raises(NotInForce) as error:
        in_force([C, A, B], datetime.date.fromisoformat(day))
    assert str(error.value).startswith(f'book "made-up": no edition covers {day}. ')
    assert named in str(error.value) or day == "2028-02-29"
    assert str(error.value).count("edition 2") == 2


def test_two_editions_that_cover_a_day():
    other = edition("2027b", "2027-06-01", None)
    with pytest.raises(NotInForce, match="more than one edition covers 2027-06-01"):
        in_force([B, other], datetime.date(2027, 6, 1))


def test_gaps_and_overlaps():
    assert between([B, A]) == []
    (gap,) = between([A, B, C])
    assert (
        gap.sentence == "No edition covers 2028-01-01 to 2029-02-28, between edition 2027 (2027.toml) and edition 2029."
    )
    other = edition("2027b", "2027-12-31", "2028-06-30")
    lap, gap = between([A, B, C, other])
    assert (lap.gap, lap.first, lap.last) == (False, datetime.date(2027, 12, 31), datetime.date(2027, 12, 31))
    assert lap.sentence == (
        "Both edition 2027 (2027.toml) and edition 2027b cover 2027-12-31: on such a day nobody can say which holds."
    )
    assert (gap.gap, gap.first, gap.last) == (True, datetime.date(2028, 7, 1), datetime.date(2029, 2, 28))


def test_an_edition_within_another_one():
    outer, inner = edition("a", "2026-01-01", None), edition("b", "2026-05-01", "2026-06-30")
    (lap,) = between([inner, outer])
    assert (lap.first, lap.last) == (datetime.date(2026, 5, 1), datetime.date(2026, 6, 30))
