"""What a new edition does to a small car, worked out by hand. Car, club and figures are invented."""

import datetime

import pytest

from support import DAY, book, car, parse_rules, rules
from tarebook.api import revise
from tarebook.toml_source import MistakesFound

# 900 kg as weighed, with everything on. Done: carpet (4 kg) and spare wheel (14 kg) out, so 882 kg now; planned: the
# boot carpet (1.6 kg) out as well, so 880.4 kg.
CAR = """
part = [
    { id = "carpet", kind = "interior.floor.carpet", title = "Cabin carpet", mass = "4 kg" },
    { id = "boot-carpet", kind = "interior.floor.boot-carpet", title = "Boot carpet", mass = "1.6 kg" },
    { id = "console", kind = "interior.console", title = "Centre console", mass = "2.4 kg" },
    { id = "spare", kind = "stowage.spare-wheel", title = "Spare wheel", mass = "14 kg" },
    { id = "jack", kind = "stowage.jack", title = "Jack" },
]
job = [
    { id = "strip", state = "done", date = 2027-03-01, off = ["carpet", "spare"] },
    { id = "strip-boot", state = "planned", off = ["boot-carpet"] },
]
weighing = [{ id = "first", date = 2027-02-01, total = "900 kg", fuel = "0 L" }]
at_inspection = { fuel = "0 L" }
"""
WEIGHT = 'weight = {{ clause = "3.1", driver = "out", fuel = "empty", minimum = "{} kg" }}\n'
FREE = 'allow = [{ clause = "5.1", kinds = ["interior", "stowage"], does = ["remove"]FINISH }]\n'
BAN = 'ban = [{{ clause = "5.2", kinds = ["{}"], does = ["remove"] }}]\n'


def plover(more="", **facts):
    return car(CAR + more, **facts)


def effects(old, new, builder=None, builds=("now",), **more):
    more.setdefault("on", DAY)
    return revise(old, new, car=builder or plover(), builds=builds, **more).effects


def only(old, new, builder=None, **more):
    (effect,) = effects(old, new, builder, **more)
    return effect


def club(minimum=850, body="", finish=""):
    return rules(WEIGHT.format(minimum) + FREE.replace("FINISH", finish) + body)


def turned(effect):
    return [(part.part, part.turn, part.does, part.already_done, part.clause, part.mass_kg) for part in effect.parts]


# ---- verdicts and margins


def test_verdict_and_margin_was_and_now():
    now, planned = effects(club(850), club(881), builds=("now", "planned"))
    assert (now.build, now.was, now.now) == ("now", "eligible", "eligible")
    assert now.margin_was_kg == pytest.approx(32.0)
    assert now.margin_now_kg == pytest.approx(1.0)
    assert (planned.build, planned.was, planned.now) == ("planned", "eligible", "too-close")
    assert planned.margin_was_kg == pytest.approx(30.4)
    assert planned.margin_now_kg == pytest.approx(-0.6)


@pytest.mark.parametrize(
    ("old", "new", "was", "now", "worse"),
    [
        (850, 851, "eligible", "eligible", False),
        (850, 950, "eligible", "not-eligible", True),
        (950, 850, "not-eligible", "eligible", False),
        (950, 951, "not-eligible", "not-eligible", False),
    ],
)
def test_worse_or_not(old, new, was, now, worse):
    effect = only(club(old), club(new))
    assert (effect.was, effect.now, effect.worse) == (was, now, worse)


def test_undecided_is_worse_than_eligible_and_better_than_not():
    asks = 'enter = [{ clause = "4.1", must = { seats = { least = 4 } } }]\n'
    doubtful = only(club(850), club(850, asks))
    assert (doubtful.was, doubtful.now, doubtful.worse) == ("eligible", "undecided", True)
    assert (doubtful.facts_to_find_was, doubtful.facts_to_find_now) == ((), ("seats",))
    better = only(club(950), club(850, asks))
    assert (better.was, better.now, better.worse) == ("not-eligible", "undecided", False)


# ---- parts


def test_work_done_that_is_now_forbidden_must_be_undone():
    effect = only(club(), club(body=BAN.format("stowage.spare-wheel")))
    assert turned(effect) == [("spare", "newly-illegal", "remove", True, "5.2", 14.0)]
    (part,) = effect.parts
    assert (part.title, part.kind, part.sentence) == (
        "Spare wheel",
        "stowage.spare-wheel",
        "Spare wheel may not be removed.",
    )
    assert (effect.turned("newly-illegal"), effect.turned("newly-legal")) == (("spare",), ())
    assert ([each.part for each in effect.undone], effect.undone_kg) == (["spare"], 14.0)


def test_what_must_be_undone_adds_up():
    effect = only(club(), club(body=BAN.format('stowage.spare-wheel", "interior.floor')), builds=("planned",))
    assert [each.part for each in effect.undone] == ["carpet", "boot-carpet", "spare"]
    assert effect.undone_kg == pytest.approx(19.6)


def test_a_part_never_weighed_leaves_the_sum_unknown():
    builder = car(CAR.replace('off = ["carpet", "spare"]', 'off = ["carpet", "jack"]'))
    effect = only(club(), club(body=BAN.format("stowage.jack")), builder)
    assert turned(effect) == [("jack", "newly-illegal", "remove", True, "5.2", None)]
    assert effect.undone_kg is None


def test_work_done_against_the_rules_is_legal_now():
    effect = only(club(body=BAN.format("stowage.spare-wheel")), club())
    assert turned(effect) == [("spare", "newly-legal", "remove", True, "5.1", 14.0)]
    assert (effect.undone, effect.undone_kg) == ((), 0)


def test_parts_still_on_that_may_no_longer_come_out():
    effect = only(club(), club(body=BAN.format("interior.console")))
    assert turned(effect) == [("console", "newly-illegal", "remove", False, "5.2", pytest.approx(2.4))]
    assert effect.parts[0].sentence == "Centre console may not be removed."
    assert effect.undone == ()


def test_parts_still_on_that_may_come_out_now():
    effect = only(club(body=BAN.format("interior.console")), club())
    assert turned(effect) == [("console", "newly-legal", "remove", False, "5.1", pytest.approx(2.4))]


def test_a_part_that_is_needed_now_must_stay():
    effect = only(club(), club(body='need = [{ clause = "6.1", kinds = ["interior.console"] }]\n'))
    assert turned(effect) == [("console", "newly-illegal", "remove", False, "6.1", pytest.approx(2.4))]
    assert (effect.was, effect.now) == ("eligible", "eligible")


def test_a_change_that_turns_undecided_is_not_counted_as_turned():
    ban = 'ban = [{ clause = "5.2", kinds = ["stowage.spare-wheel"], does = ["remove"], if = { seats = 4 } }]\n'
    effect = only(club(), club(body=ban))
    assert (turned(effect), effect.now, effect.facts_to_find_now) == ([], "undecided", ("seats",))


def test_a_change_that_was_undecided_or_for_a_person_is_not_newly_legal():
    doubtful = 'ban = [{ clause = "5.2", kinds = ["stowage.spare-wheel"], does = ["remove"], if = { seats = 4 } }]\n'
    assert turned(only(club(body=doubtful), club())) == []
    asks = club().source.text.replace('does = ["remove"]', 'does = ["remove"], ask = "Is it loose?"')
    assert turned(only(parse_rules(asks), club())) == turned(only(club(), parse_rules(asks))) == []


SWAPPED = """
part = [
    { id = "lead", kind = "electrical.battery", title = "Lead battery", mass = "14 kg" },
    { id = "small", kind = "electrical.battery", mass = "6 kg", replaces = "lead", origin = "aftermarket" },
    { id = "bonnet", kind = "body.bonnet", title = "Bonnet", mass = "15 kg" },
    { id = "cage", kind = "safety.cage", title = "Cage", mass = "30 kg", origin = "aftermarket" },
]
job = [{ id = "work", state = "done", fit = ["small", "cage"], lightens = { bonnet = "12 kg" } }]
"""


def test_what_the_car_gains_by_undoing_a_swap_a_fitting_and_a_lightening():
    every = 'allow = [{ clause = "5.1", kinds = ["everything"], does = "anything" }]\n'
    ban = (
        'ban = [{ clause = "5.2", kinds = ["electrical.battery", "safety.cage", "body.bonnet"], does = "anything" }]\n'
    )
    effect = only(rules(every), rules(every + ban), car(SWAPPED))
    gains = {part.does: (part.part, part.gains_kg) for part in effect.undone}
    assert gains == {"swap": ("lead", 8.0), "fit": ("cage", -30.0), "lighten": ("bonnet", 3.0)}
    assert effect.undone_kg == pytest.approx(-19.0)


# ---- finish duties

BARE = 'finish = [{ id = "bare", clause = "5.9", area = "interior.floor", by = ["painted"] }]\n'


def test_a_finish_owed_now():
    effect = only(club(), club(body=BARE, finish=', finish = ["bare"]'))
    assert [(duty.id, duty.clause) for duty in effect.newly_owed] == [("bare", "5.9")]
    assert (effect.no_longer_owed, effect.worse, effect.parts) == ((), True, ())


def test_a_finish_no_longer_owed():
    effect = only(club(body=BARE, finish=', finish = ["bare"]'), club())
    assert [duty.id for duty in effect.no_longer_owed] == ["bare"]
    assert effect.newly_owed == ()


def test_a_finish_by_another_name_is_not_newly_owed():
    old = club(body=BARE, finish=', finish = ["bare"]')
    new = club(body=BARE.replace('"bare"', '"floor"'), finish=', finish = ["floor"]')
    effect = only(old, new)
    assert (effect.newly_owed, effect.no_longer_owed, effect.was) == ((), (), "not-eligible")


# ---- classes, books, days


def two(*ids):
    return book("\n".join(f'[[class]]\nid = "{each}"\ntitle = "T"\n{WEIGHT.format(850 + len(each))}' for each in ids))


def test_new_and_gone_classes_have_one_side_only():
    road, new, gone = effects(two("road", "oldest"), two("road", "new"))
    assert (road.class_id, road.was, road.now) == ("road", "not-eligible", "not-eligible")
    assert (new.class_id, new.was, new.now, new.margin_was_kg, new.worse) == ("new", None, "not-eligible", None, False)
    assert (gone.class_id, gone.was, gone.now, gone.margin_now_kg) == ("oldest", "not-eligible", None, None)


def test_a_class_under_another_name_is_followed():
    old, new = two("brink"), two("verge")
    (effect,) = effects(old, new)
    assert (effect.class_id, effect.was_class, effect.was, effect.now) == (
        "verge",
        "brink",
        "not-eligible",
        "not-eligible",
    )


def test_books_pair_by_id_and_a_book_of_one_side_is_wholly_new_or_gone():
    body = '[[class]]\nid = "road"\ntitle = "Road"\nsilence = "permits"\n'
    kept, gone, fresh = (book(body, book_id=each) for each in ("kept", "gone", "fresh"))
    revision = revise([kept, gone], [kept, fresh], car=plover(), builds=("now",), on=DAY)
    assert [(each.book, each.what, each.sentence) for each in revision.changes] == [
        ("fresh", "added", "Class road (Road) is new."),
        ("gone", "withdrawn", "Class road (Road) is gone."),
    ]
    assert [(each.book, each.was, each.now) for each in revision.effects] == [
        ("kept", "eligible", "eligible"),
        ("fresh", None, "eligible"),
        ("gone", "eligible", None),
    ]


def test_one_book_in_two_editions_on_one_side_is_refused():
    with pytest.raises(ValueError, match='book "made-up" is there in two editions'):
        revise([rules(), rules('silence = "permits"')], rules())


AGED = 'silence = "permits"\nenter = [{ clause = "4.1", must = { first_registered = { age = { least = 25 } } } }]'


def test_both_editions_are_judged_on_one_day_unless_two_are_given():
    builder = car(first_registered=datetime.date(2002, 5, 1))
    before, after = datetime.date(2027, 4, 30), datetime.date(2027, 5, 1)
    assert [only(rules(AGED), rules(AGED), builder, on=day).was for day in (before, after)] == [
        "not-eligible",
        "eligible",
    ]
    both = only(rules(AGED), rules(AGED), builder, on=(before, after))
    assert (both.was, both.now) == ("not-eligible", "eligible")
    by_build = only(rules(AGED), rules(AGED), builder, on={"now": after})
    assert (by_build.was, by_build.now) == ("eligible", "eligible")


def test_without_a_car_there_are_no_effects():
    revision = revise(club(850), club(860))
    assert (revision.effects, revision.car, len(revision.changes)) == ((), None, 1)


def test_a_build_that_the_car_does_not_have():
    with pytest.raises(KeyError):
        revise(club(), club(), car=plover(), builds=("spring",), on=DAY)


def test_a_car_that_names_a_fact_of_no_book():
    with pytest.raises(MistakesFound, match="tyre_list"):
        revise(club(), club(), car=plover(tyre_list="a"), on=DAY)


def test_a_fact_that_only_the_new_edition_declares():
    declared = '[[fact]]\nid = "tyre_list"\ntype = "choice"\nchoices = ["a", "b"]\ntitle = "List"\n'
    new = rules('silence = "permits"\nenter = [{ clause = "4.1", must = { tyre_list = "b" } }]', before=declared)
    effect = only(rules('silence = "permits"'), new, plover(tyre_list="a"))
    assert (effect.was, effect.now) == ("eligible", "not-eligible")
