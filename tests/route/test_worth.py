"""What an undecided fact is worth: its values, the classes that they open and shut, and the order. All invented."""

import datetime
from fractions import Fraction

import pytest

from support import DAY, book, car
from tarebook.api import settle
from tarebook.car.reading import parse_car
from tarebook.route.choosing import ORDER, Setting, choose, standing
from tarebook.route.stretches import Stretch
from tarebook.route.worth import find_worth

BEFORE = """
[[fact]]
id = "list"
type = "choice"
choices = ["red", "green", "blue"]
title = "List"
[[fact]]
id = "maker"
type = "text"
title = "Maker"
"""
WEIGHED = """
[at_inspection]
fuel = "5 L"
[[weighing]]
id = "first"
date = 2027-01-01
fuel = "5 L"
total = "900.0 kg"
"""


def a_class(name, must, if_=None):
    condition = f"if = {if_}\n" if if_ else ""
    return f'[[class]]\nid = "{name}"\ntitle = "{name}"\n[[class.require]]\nclause = "7.1"\nmust = {must}\n{condition}'


def found(builder, *classes, order=ORDER, before=BEFORE, silence="permits"):
    by = book(before + "".join(classes), silence=silence)
    setting = Setting(builder, {DAY: [by]}, settle(builder, [by]), {"now": DAY, "planned": DAY})
    choices = choose(setting)
    return find_worth(setting, choices, order), choices


def told(worth):
    """Each stretch with the standing of each class in it."""
    return [
        (value.stretch, {then.choice.prepared.id: standing(then.choice) for then in value.classes})
        for value in worth.values
    ]


def only(*classes, builder=None):
    (worth,), _ = found(builder or car(), *classes)
    return told(worth)


def low(figure, *, out=False):
    return (Fraction(figure), out)


def test_at_most_and_over():
    assert only(a_class("loud", "{ noise = { most = 98 } }")) == [
        (Stretch(high=low(98)), {"loud": "eligible"}),
        (Stretch(low=low(98, out=True)), {"loud": "shut"}),
    ]


def test_under_and_at_least():
    assert only(a_class("loud", "{ noise = { under = 98 } }")) == [
        (Stretch(high=low(98, out=True)), {"loud": "eligible"}),
        (Stretch(low=low(98)), {"loud": "shut"}),
    ]


def test_exactly_one_figure():
    assert only(a_class("exact", "{ noise = 98 }")) == [
        (Stretch(high=low(98, out=True)), {"exact": "shut"}),
        (Stretch(low=low(98), high=low(98)), {"exact": "eligible"}),
        (Stretch(low=low(98, out=True)), {"exact": "shut"}),
    ]


def test_several_classes_cut_one_figure():
    stretches = only(a_class("quiet", "{ noise = { most = 90 } }"), a_class("loud", "{ noise = { most = 98 } }"))
    assert stretches == [
        (Stretch(high=low(90)), {"quiet": "eligible", "loud": "eligible"}),
        (Stretch(low=low(90, out=True), high=low(98)), {"quiet": "shut", "loud": "eligible"}),
        (Stretch(low=low(98, out=True)), {"quiet": "shut", "loud": "shut"}),
    ]


def test_whole_numbers():
    assert only(a_class("four", "{ seats = { least = 4 } }")) == [
        (Stretch(high=low(3)), {"four": "shut"}),
        (Stretch(low=low(4)), {"four": "eligible"}),
    ]


def test_a_quantity_is_told_in_base_units():
    assert only(a_class("small", '{ displacement = { up_to = "1400 cm3" } }')) == [
        (Stretch(high=low(Fraction("1.4"))), {"small": "eligible"}),
        (Stretch(low=low(Fraction("1.4"), out=True)), {"small": "shut"}),
    ]


def test_choices_that_come_to_the_same_stand_together():
    assert only(a_class("listed", '{ list = ["red", "blue"] }')) == [
        (Stretch(values=("red", "blue")), {"listed": "eligible"}),
        (Stretch(values=("green",)), {"listed": "shut"}),
    ]


def test_yes_or_no():
    assert only(a_class("closed", "{ open_top = false }")) == [
        (Stretch(values=(True,)), {"closed": "shut"}),
        (Stretch(values=(False,)), {"closed": "eligible"}),
    ]


def test_texts():
    assert only(a_class("make", '{ maker = ["finch", "wren"] }')) == [
        (Stretch(values=("finch", "wren")), {"make": "eligible"}),
        (Stretch(rest=True), {"make": "shut"}),
    ]


def test_days():
    first = datetime.date(2000, 1, 1).toordinal()
    assert only(a_class("young", "{ first_registered = { least = 2000-01-01 } }")) == [
        (Stretch(high=low(first - 1)), {"young": "shut"}),
        (Stretch(low=low(first)), {"young": "eligible"}),
    ]


def test_a_kind_whose_presence_is_unknown():
    strip = '[[class]]\nid = "solid"\ntitle = "Solid"\n[[class.strip]]\nclause = "7.1"\nkinds = ["body.roof.sunroof"]\n'
    (worth,), choices = found(car(), strip)
    assert worth.name == "body.roof.sunroof"
    assert told(worth) == [
        (Stretch(values=(True,)), {"solid": "shut"}),
        (Stretch(values=(False,)), {"solid": "eligible"}),
    ]
    assert choices[0].facts_to_find == ("body.roof.sunroof",)


def test_the_material_of_a_part():
    ban = (
        '[[class]]\nid = "steel"\ntitle = "Steel"\n[[class.ban]]\nclause = "7.1"\nkinds = ["body.bonnet"]\n'
        'does = ["swap"]\npart = { material_not = ["steel"] }\n'
    )
    parts = (
        'part = [{ id = "stock", kind = "body.bonnet" }, '
        '{ id = "new", kind = "body.bonnet", origin = "aftermarket", replaces = "stock" }]'
    )
    (worth,), _ = found(car(parts), ban)
    assert worth.name == "new.material"
    assert told(worth) == [
        (Stretch(values=("steel",)), {"steel": "eligible"}),
        (Stretch(rest=True), {"steel": "shut"}),
    ]


def test_a_limit_that_grows_with_the_fact():
    weight = (
        '[[class]]\nid = "power"\ntitle = "Power"\n[class.weight]\nclause = "7.1"\ndriver = "out"\n'
        'ballast = { allowed = false }\nminimum = { per = "power", rate = "10 kg/kW" }\n'
    )
    (worth,), _ = found(car(WEIGHED), weight)
    # 900 kg keep a minimum of 10 kg/kW up to 90 kW, less what the scales leave unsure.
    assert worth.graded
    assert [value.classes[0].choice.verdict("now") for value in worth.values] == [
        "eligible",
        "too-close",
        "not-eligible",
    ]
    kept, close, broken = (value.stretch for value in worth.values)
    # A reading of 900.0 kg: u is 0.1 / sqrt(12) kg, and 1.95996 of that on either side is too close at 97.5 %.
    reach = 1.95996 * 0.1 / 12**0.5 / 10
    assert (kept.low, float(kept.high[0])) == (None, pytest.approx(90 - reach, abs=1e-5))
    assert (float(broken.low[0]), broken.high) == (pytest.approx(90 + reach, abs=1e-5), None)
    assert (close.low[0], close.high[0]) == (kept.high[0], broken.low[0])


def test_a_fact_that_opens_a_class_only_with_work():
    """Nothing opens the class now; with the fact, a job does."""
    need = '[[class.need]]\nclause = "7.5"\nkinds = ["safety.extinguisher"]\n'
    body = (
        'part = [{ id = "bottle", kind = "safety.extinguisher", origin = "aftermarket" }]\n'
        'job = [{ id = "fit-it", state = "maybe", fit = ["bottle"], cost = "60 EUR" }]'
    )
    (worth,), choices = found(car(body), a_class("loud", "{ noise = { most = 98 } }") + need)
    assert choices[0].rows["now"].facts_to_find == ()  # the missing bottle shuts it as it stands
    assert (choices[0].facts_to_find, standing(choices[0])) == (("noise",), "not-known")
    assert told(worth) == [
        (Stretch(high=low(98)), {"loud": "within-reach"}),
        (Stretch(low=low(98, out=True)), {"loud": "shut"}),
    ]
    assert worth.values[0].classes[0].choice.cost == 60.0


def test_a_fact_that_opens_a_class_only_with_undoing():
    """A mat that is out must be in, and the fact is not stated: neither alone opens the class."""
    need = '[[class.need]]\nclause = "7.5"\nkinds = ["interior.floor.boot-carpet"]\n'
    body = (
        'part = [{ id = "mat", kind = "interior.floor.boot-carpet" }]\n'
        'job = [{ id = "mat-out", state = "done", date = 2027-01-02, off = ["mat"] }]'
    )
    (worth,), choices = found(car(body), a_class("loud", "{ noise = { most = 98 } }") + need)
    assert choices[0].rows["now"].facts_to_find == ()
    assert (choices[0].facts_to_find, standing(choices[0])) == (("noise",), "not-known")
    assert told(worth) == [
        (Stretch(high=low(98)), {"loud": "by-undoing"}),
        (Stretch(low=low(98, out=True)), {"loud": "shut"}),
    ]
    assert worth.values[0].classes[0].choice.reaches.by_undoing.undo == ("mat-out",)


def test_a_fact_that_cannot_open_a_class_is_not_asked_for():
    shut = a_class("loud", "{ noise = { most = 98 } }") + '[[class.enter]]\nclause = "7.2"\nmust = { doors = 5 }\n'
    worth, choices = found(car(doors=3), shut)
    assert (worth, choices[0].facts_to_find) == ([], ())


def test_two_facts_that_only_settle_it_together():
    worth, choices = found(
        car(), a_class("both", '{ any = [{ open_top = true, list = "red" }, { open_top = false }] }')
    )
    by_name = {each.name: each for each in worth}
    assert by_name.keys() == {"open_top", "list"}
    assert told(by_name["open_top"]) == [
        (Stretch(values=(True,)), {"both": "not-known"}),
        (Stretch(values=(False,)), {"both": "eligible"}),
    ]
    assert told(by_name["list"]) == [
        (Stretch(values=("red",)), {"both": "eligible"}),
        (Stretch(values=("green", "blue")), {"both": "not-known"}),
    ]
    assert choices[0].facts_to_find == ("list", "open_top")


def test_too_many_at_once_are_only_named():
    """Of four things that a class hangs on, one settles little; of three, its values are told."""
    names = ("open_top", "road_registered", "insured", "catalyst_fitted")
    worth, choices = found(car(), a_class("all", "{ " + ", ".join(f"{name} = true" for name in names) + " }"))
    assert {(each.name, each.values, each.reorders) for each in worth} == {(name, (), False) for name in names}
    assert choices[0].facts_to_find == tuple(sorted(names))
    three = found(car(), a_class("three", "{ " + ", ".join(f"{name} = true" for name in names[:3]) + " }"))[0]
    assert [len(each.values) for each in three] == [2, 2, 2]


def test_a_decided_verdict_stands_whatever_is_found_out():
    worth, choices = found(
        car(doors=3),
        a_class("shut", "{ doors = 5 }"),
        a_class("open", "{ doors = 3 }"),
        a_class("loud", "{ noise = 98 }"),
    )
    (only_one,) = worth
    assert only_one.classes == (("made-up", "loud"),)
    assert [choice.verdict("now") for choice in choices] == ["not-eligible", "eligible", "undecided"]


def test_first_what_most_classes_hang_on():
    worth, _ = found(
        car(),
        a_class("one", "{ seats = { least = 4 } }"),
        a_class("two", "{ noise = { most = 98 } }"),
        a_class("three", "{ noise = { most = 90 } }"),
    )
    assert [(each.name, [name for _, name in each.classes]) for each in worth] == [
        ("noise", ["two", "three"]),
        ("seats", ["one"]),
    ]


def test_places_that_change():
    worth, _ = found(
        car(doors=3), a_class("sure", "{ doors = 3 }"), a_class("loud", "{ noise = { most = 98 } }"), order=("name",)
    )
    assert not worth[0].reorders  # by name, nothing moves
    worth, _ = found(car(doors=3), a_class("loud", "{ noise = { most = 98 } }"), a_class("sure", "{ doors = 3 }"))
    (only_one,) = worth
    assert only_one.reorders
    assert [value.classes[0].place for value in only_one.values] == [1, 2]


def test_nothing_to_find_out():
    assert found(car(doors=3), a_class("sure", "{ doors = 3 }"))[0] == []


@pytest.mark.parametrize("figure", ["0", "89.9", "90", "90.01", "97", "98", "98.001", "120"])
def test_stating_the_fact_gives_what_was_told(figure):
    """Any figure of a stretch, written into the car file, gives the verdicts that the stretch was told to give."""
    classes = [
        a_class("quiet", "{ noise = { most = 90 } }"),
        a_class("between", "{ noise = { over = 90, under = 98 } }"),
        a_class("loud", "{ noise = { least = 98 } }"),
    ]
    (worth,), _ = found(car(), *classes)
    value = Fraction(figure)

    def holds(stretch):
        above = stretch.low is None or value > stretch.low[0] or (value == stretch.low[0] and not stretch.low[1])
        below = stretch.high is None or value < stretch.high[0] or (value == stretch.high[0] and not stretch.high[1])
        return above and below

    (mine,) = [each for each in worth.values if holds(each.stretch)]
    stated = parse_car(f'format = "tarebook-car/1"\ncar = {{ name = "Plover" }}\nfacts = {{ noise = {figure} }}\n')
    _, choices = found(stated, *classes)
    assert {then.choice.key: then.choice.verdict("now") for then in mine.classes} == {
        choice.key: choice.verdict("now") for choice in choices
    }
