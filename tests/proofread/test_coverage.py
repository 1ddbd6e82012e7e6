"""Coverage: what counts as exercised, item by item, each shown both ways.

Every car, club and class here is invented.
"""

from fractions import Fraction

import pytest

from support import book, rules, toml
from tarebook.proofread.coverage import Coverage, coverage
from tarebook.proofread.examples import run_examples
from tarebook.rules.reading import RuleSet

SILENCE = "1.1"


def example(expect: str = "eligible", class_id: str = "club", **keys: object) -> str:
    lines = [f"{key} = {toml(value)}" for key, value in keys.items()]
    return "\n".join(["[[example]]", 'title = "Case"', f'class = "{class_id}"', f'expect = "{expect}"', *lines, ""])


def covered(by: RuleSet) -> Coverage:
    return coverage(by, run_examples(by))


def left(body: str, *examples: str, before: str = "") -> list[str]:
    """The texts of what the examples leave out, of a class whose rules are `body`."""
    found = covered(rules(body, before=before, after="\n".join(examples)))
    assert found.exercised == found.total - len(found.unexercised)
    return [item.text for item in found.unexercised]


WEIGHT = '[class.weight]\nclause = "3.1"\ndriver = "out"\n'
BAN = '[[class.ban]]\nclause = "4.1"\nkinds = ["interior.dash"]\ndoes = ["remove"]\n'
ALLOW = '[[class.allow]]\nclause = "4.2"\nkinds = ["interior.floor"]\ndoes = ["remove"]\n'

# The rules of a class; an example that exercises all of them but silence; and one that just falls short of that.
RULES = {
    "a ban": (BAN, {"removed": ["interior.dash"]}, {"swapped": ["interior.dash"]}, "4.1"),
    "an allowance": (ALLOW, {"removed": ["interior.floor.carpet"]}, {"removed": ["interior.dash"]}, "4.2"),
    "an allowance whose condition is not known": (
        ALLOW + "if = { seats = 2 }\n",
        {"removed": ["interior.floor.carpet"], "facts": {"seats": 2}},
        {"removed": ["interior.floor.carpet"]},
        "4.2",
    ),
    "an allowance whose condition does not hold": (
        ALLOW + "if = { seats = 2 }\n",
        {"removed": ["interior.floor.carpet"], "facts": {"seats": 2}},
        {"removed": ["interior.floor.carpet"], "facts": {"seats": 4}},
        "4.2",
    ),
    "an only allowance that forbids": (
        ALLOW + "if = { seats = 2 }\nonly = true\n",
        {"removed": ["interior.floor.carpet"], "facts": {"seats": 4}},
        {},
        "4.2",
    ),
    "an allowance that asks": (
        ALLOW + 'ask = "Is it clean?"\n',
        {"removed": ["interior.floor.carpet"]},
        {"swapped": ["interior.floor.carpet"]},
        "4.2",
    ),
    "who may enter": (
        '[[class.enter]]\nclause = "2.1"\nmust = { seats = 4 }\n',
        {"facts": {"seats": 4}},
        {},
        "2.1",
    ),
    "who may not enter": (
        '[[class.enter]]\nclause = "2.1"\nmust = { seats = 4 }\n',
        {"facts": {"seats": 2}},
        {"facts": {"doors": 4}},
        "2.1",
    ),
    "a requirement that is asked": (
        '[[class.require]]\nclause = "2.2"\nmust = { seats = 4 }\nif = { doors = 3 }\n',
        {"facts": {"seats": 4, "doors": 3}},
        {"facts": {"seats": 4, "doors": 5}},
        "2.2",
    ),
    "a need that is met": (
        '[[class.need]]\nclause = "2.3"\nkinds = ["interior.dash"]\nif = { doors = 3 }\n',
        {"facts": {"doors": 3}},
        {},
        "2.3",
    ),
    "a need that is not met": (
        '[[class.need]]\nclause = "2.3"\nkinds = ["safety.cage"]\nif = { doors = 3 }\n',
        {"facts": {"doors": 3}},
        {"facts": {"doors": 5}},
        "2.3",
    ),
    "a need of what may or may not be there": (
        '[[class.need]]\nclause = "2.3"\nkinds = ["body.roof.sunroof"]\n',
        {"absent": ["body.roof.sunroof"]},
        {},
        "2.3",
    ),
    "what must be off": (
        '[[class.strip]]\nclause = "2.4"\nkinds = ["body.roof.sunroof"]\n',
        {"present": ["body.roof.sunroof"]},
        {},
        "2.4",
    ),
    "what must be off and is": (
        '[[class.strip]]\nclause = "2.4"\nkinds = ["body.roof.sunroof"]\nif = { doors = 3 }\n',
        {"absent": ["body.roof.sunroof"], "facts": {"doors": 3}},
        {"absent": ["body.roof.sunroof"], "facts": {"doors": 5}},
        "2.4",
    ),
    "a clause for a person": (
        '[[class.ask]]\nclause = "2.5"\nsays = "Tidy."\nif = { removed = "interior.dash" }\n',
        {"removed": ["interior.dash"]},
        {},
        "2.5",
    ),
    "a clause for a person that hangs on a fact": (
        '[[class.ask]]\nclause = "2.5"\nsays = "Tidy."\nif = { doors = 3 }\n',
        {"facts": {"doors": 3}},
        {},
        "2.5",
    ),
    "a count": (
        '[[class.counts]]\nclause = "2.6"\nfact = "displacement"\ntimes = 1.7\nif = { aspiration = "turbo" }\n',
        {"facts": {"displacement": "1000 cm3", "aspiration": "turbo"}},
        {"facts": {"displacement": "1000 cm3", "aspiration": "natural"}},
        "2.6",
    ),
    "a count of an unknown figure": (
        '[[class.counts]]\nclause = "2.6"\nfact = "displacement"\ntimes = 1.7\nif = { aspiration = "turbo" }\n',
        {"facts": {"displacement": "1000 cm3", "aspiration": "turbo"}},
        {"facts": {"aspiration": "turbo"}},
        "2.6",
    ),
    "a count of nothing": (
        '[[class.counts]]\nclause = "2.6"\nfact = "displacement"\ntimes = 1.7\n',
        {"facts": {"displacement": "1000 cm3"}},
        {"facts": {"displacement": "0 cm3"}},
        "2.6",
    ),
    "a limit": (
        WEIGHT + 'minimum = { per = "power", rate = "10 kg/kW" }\n',
        {"facts": {"power": "80 kW"}, "mass": "800 kg"},
        {"mass": "800 kg"},
        "3.1",
    ),
    "a limit that is computed though the mass is not known": (
        WEIGHT + 'minimum = { fact = "kerb_mass", times = 0.9 }\n',
        {"facts": {"kerb_mass": "900 kg"}},
        {},
        "3.1",
    ),
    "a further limit with a condition": (
        WEIGHT + '[[class.limit]]\nclause = "3.2"\nmaximum = "900 kg"\nif = { doors = 3 }\n',
        {"facts": {"doors": 3}},
        {"facts": {"doors": 5}},
        "3.2",
    ),
    "a limit on what came off": (
        '[[class.limit]]\nclause = "3.2"\ntaken_off = ["interior"]\nmaximum = "90 kg"\nif = { doors = 3 }\n',
        {"facts": {"doors": 3}},
        {},
        "3.2",
    ),
    "the load of an axle": (
        WEIGHT + 'front_axle = { most = { per = "power", rate = "6 kg/kW" }, clause = "3.3" }\n',
        {"facts": {"power": "80 kW"}},
        {},
        "3.3",
    ),
    "a correction": (
        WEIGHT + 'minimum = "700 kg"\nadjust = [{ add = "10 kg", if = { doors = 3 }, clause = "3.1.1" }]\n',
        {"facts": {"doors": 3}},
        {"facts": {"doors": 5}},
        "3.1.1",
    ),
    "a correction of the rate": (
        WEIGHT
        + 'minimum = { per = "power", rate = "10 kg/kW", least = "700 kg" }\n'
        + 'adjust = [{ add = "1 kg/kW", clause = "3.1.1" }]\n',
        {"facts": {"power": "80 kW"}},
        {"facts": {"power": "50 kW"}},  # below the floor, the rate moves nothing
        "3.1.1",
    ),
    "a correction by a fact": (
        WEIGHT
        + 'minimum = "700 kg"\nadjust = [{ add = { fact = "success_mass", most = "40 kg" }, clause = "3.1.1" }]\n',
        {"facts": {"success_mass": "5 kg"}},
        {"facts": {"success_mass": "0 kg"}},
        "3.1.1",
    ),
    "a correction without a clause of its own": (
        WEIGHT + 'maximum = "900 kg"\nadjust = [{ add = "10 kg", of = "maximum", if = { doors = 3 } }]\n',
        {"facts": {"doors": 3}},
        {"facts": {"doors": 5}},
        "3.1: correction of the maximum: no example",
    ),
    "a correction of a further limit": (
        WEIGHT
        + '[[class.limit]]\nclause = "3.2"\nminimum = "700 kg"\n'
        + 'adjust = [{ add = "10 kg", if = { doors = 3 }, clause = "3.2.1" }]\n',
        {"facts": {"doors": 3}},
        {"facts": {"doors": 5}},
        "3.2.1",
    ),
    "a correction of an axle": (
        WEIGHT
        + 'rear_axle = { least = "300 kg" }\nadjust = [{ add = "9 kg", of = "rear_axle", if = { doors = 3 } }]\n',
        {"facts": {"doors": 3}},
        {"facts": {"doors": 5}},
        "3.1: correction of the least load on the rear axle: no example",
    ),
    "ballast": (
        WEIGHT + 'ballast = { allowed = true, clause = "3.4" }\n',
        {"fitted": ["ballast"]},
        {},
        "3.4",
    ),
    "no ballast": (
        WEIGHT + 'ballast = { allowed = false, clause = "3.4" }\n',
        {"fitted": ["ballast"]},
        {"fitted": ["safety.cage"]},
        "3.4",
    ),
    "so much ballast": (
        WEIGHT + 'ballast = { allowed = true, most = "40 kg" }\n',
        {"fitted": ["ballast"]},
        {},
        "3.1",
    ),
}


@pytest.mark.parametrize(("body", "enough", "short", "text"), RULES.values(), ids=RULES)
def test_a_rule_is_exercised_where_it_decided_something(
    body: str, enough: dict[str, object], short: dict[str, object], text: str
) -> None:
    silent = example(expect="not-eligible", fitted=["wheels.cover"])
    assert left(body, example(**enough), silent) == []
    assert left(body, example(**short), silent) == [text]


def test_a_rule_that_lost_decided_nothing() -> None:
    body = BAN + ALLOW.replace("interior.floor", "interior") + '[[class.allow]]\nclause = "4.3"\nkinds = ["interior"]\n'
    body += 'does = ["remove"]\ndespite = ["4.1", "4.2"]\n'
    assert left(body, example(removed=["interior.dash"])) == [SILENCE, "4.1", "4.2"]


def test_rules_that_agree_both_decided() -> None:
    assert left(ALLOW + ALLOW.replace("4.2", "4.3"), example(removed=["interior.floor.carpet"])) == [SILENCE]


def test_of_a_branch_only_the_strictest_decisions_count() -> None:
    body = BAN + ALLOW.replace("interior.floor", "interior") + ALLOW.replace("interior.floor", "interior.headliner")
    assert left(body, example(removed=["interior"])) == [SILENCE, "4.2", "4.2"]
    assert left(ALLOW + ALLOW.replace(".floor", ".floor.carpet"), example(removed=["interior.floor"])) == [SILENCE]


def test_a_finish_that_is_owed_or_done() -> None:
    body = ALLOW + 'finish = ["f"]\n'
    body += '[[class.finish]]\nid = "f"\nclause = "4.3"\narea = "interior.floor.carpet"\nby = ["painted"]\n'
    off = {"removed": ["interior.floor.carpet"]}
    assert left(body, example(**off)) == [SILENCE]
    assert left(body, example(**off, finishes=[{"area": "interior.floor", "by": "painted"}])) == [SILENCE]
    assert left(body, example(finishes=[{"area": "interior.floor", "by": "painted"}])) == [SILENCE, "4.2", "4.3"]


def test_silence_of_the_book_and_of_a_class() -> None:
    assert left("", example(expect="not-eligible", removed=["wheels.rim"])) == []
    assert left("", example()) == [SILENCE]
    both = (
        '[[class]]\nid = "club"\ntitle = "Club"\n[[class]]\nid = "open"\ntitle = "Open"\nclause = "9"\n'
        'silence = "permits"\n[[class]]\nid = "opener"\ntitle = "Opener"\nlike = "open"\n'
    )
    swap = {"swapped": ["wheels.rim"]}
    assert [item.text for item in covered(book(both)).unexercised] == [SILENCE, "9"]
    assert [item.text for item in covered(book(both + example(class_id="club", **swap))).unexercised] == ["9"]
    assert [item.text for item in covered(book(both + example(class_id="opener", **swap))).unexercised] == [SILENCE]


def test_the_silence_of_a_book_counts_only_where_some_class_has_it() -> None:
    own = '[[class]]\nid = "open"\ntitle = "Open"\nclause = "9"\nsilence = "permits"\n'
    assert [item.text for item in covered(book(own)).unexercised] == ["9"]


BANDS = WEIGHT + (
    'minimum = { by = "displacement", '
    'over_up_to = [["0 cm3", "1400 cm3", "700 kg"], ["1400 cm3", "1600 cm3", "800 kg"], ["1600 cm3", "900 kg"]] }\n'
)
FIRST, SECOND, THIRD = (
    "3.1: band over 0 up to 1400 cm3",
    "3.1: band over 1400 up to 1600 cm3",
    "3.1: band over 1600 cm3",
)


def at(*sizes: int) -> list[str]:
    return [example(facts={"displacement": f"{size} cm3"}) for size in sizes]


def seated(*seats: int) -> list[str]:
    return [example(facts={"seats": each}) for each in seats]


@pytest.mark.parametrize(
    ("sizes", "lacking"),
    [
        (
            (),
            [
                f"{FIRST}: no example within it or at 1400 cm3",
                f"{SECOND}: no example within it, at 1400 cm3 or at 1600 cm3",
                f"{THIRD}: no example within it or at 1600 cm3",
            ],
        ),
        (
            (1500,),
            [
                f"{FIRST}: no example within it or at 1400 cm3",
                f"{SECOND}: no example at 1400 cm3 or at 1600 cm3",
                f"{THIRD}: no example within it or at 1600 cm3",
            ],
        ),
        (
            (1400,),
            [
                f"{SECOND}: no example within it or at 1600 cm3",
                f"{THIRD}: no example within it or at 1600 cm3",
            ],
        ),
        ((1400, 1600), [f"{THIRD}: no example within it"]),
        ((1400, 1600, 1601), []),
        ((1600, 1601), [f"{FIRST}: no example within it or at 1400 cm3", f"{SECOND}: no example at 1400 cm3"]),
    ],
)
def test_every_band_counts_with_both_its_ends(sizes: tuple[int, ...], lacking: list[str]) -> None:
    assert left(BANDS, *at(*sizes)) == [SILENCE, *lacking]


def test_bands_are_met_by_the_figure_as_the_class_counts_it() -> None:
    counted = BANDS + '[[class.counts]]\nclause = "2.6"\nfact = "displacement"\ntimes = 2\n'
    assert left(counted, *at(700, 800, 801)) == [SILENCE]
    assert left(counted, *at(1400, 1600, 1601))[1:] == [
        f"{FIRST}: no example within it or at 1400 cm3",
        f"{SECOND}: no example within it, at 1400 cm3 or at 1600 cm3",
        f"{THIRD}: no example at 1600 cm3",
    ]


def test_bands_of_a_limit_that_is_not_in_play() -> None:
    other = BANDS.replace('[class.weight]\nclause = "3.1"', '[[class.limit]]\nclause = "3.1"') + "if = { doors = 3 }\n"
    found = [f"facts = {toml({'displacement': f'{size} cm3', 'doors': 3})}" for size in (1400, 1600, 1601)]
    assert left(other, *at(1400, 1600, 1601))[1:] == [
        f"{FIRST}: no example within it or at 1400 cm3",
        f"{SECOND}: no example within it, at 1400 cm3 or at 1600 cm3",
        f"{THIRD}: no example within it or at 1600 cm3",
    ]
    assert left(other, *(example() + line + "\n" for line in found)) == [SILENCE]


def test_the_lower_end_of_the_lowest_band_and_what_lies_beside_the_bands() -> None:
    gap = WEIGHT + 'minimum = { by = "seats", over_up_to = [[1, 2, "700 kg"]], otherwise = "750 kg" }\n'
    band = "3.1: band over 1 up to 2"
    assert left(gap, *seated(2)) == [
        SILENCE,
        f"{band}: no example at 1",
        "3.1: otherwise: no example",
    ]
    assert left(gap, *seated(2, 1)) == [SILENCE]
    assert left(gap, *seated(2, 3)) == [SILENCE, f"{band}: no example at 1"]
    without = gap.replace(', otherwise = "750 kg"', "")
    assert left(without, *seated(2, 1)) == [SILENCE]


def test_every_case_counts() -> None:
    cases = WEIGHT + (
        'minimum = { by = "driven_wheels", cases = { front = "700 kg", rear = "750 kg" }, otherwise = "790 kg" }\n'
    )
    names = ["3.1: case front: no example", "3.1: case rear: no example", "3.1: otherwise: no example"]
    assert left(cases) == [SILENCE, *names]
    shown = {wheels: example(facts={"driven_wheels": wheels}) for wheels in ("front", "rear", "all")}
    for index, wheels in enumerate(shown):
        assert left(cases, shown[wheels]) == [SILENCE, *names[:index], *names[index + 1 :]]
    assert left(cases, *shown.values()) == [SILENCE]


def test_cases_of_numbers_and_of_yes_or_no() -> None:
    by_seats = WEIGHT + 'minimum = { by = "seats", cases = { 2 = "700 kg", 4 = "800 kg" } }\n'
    assert left(by_seats, *seated(4)) == [SILENCE, "3.1: case 2: no example"]
    by_roof = WEIGHT + 'minimum = { by = "open_top", cases = { true = "700 kg", false = "800 kg" } }\n'
    assert left(by_roof, example(facts={"open_top": True})) == [SILENCE, "3.1: case no: no example"]


def test_the_sum_of_the_axles_needs_both() -> None:
    axles = WEIGHT + (
        'minimum = { axles = true }\nfront_axle = { least = "400 kg" }\n'
        'rear_axle = { least = { fact = "kerb_mass", times = 0.3 } }\n'
    )
    assert left(axles, example()) == [SILENCE, "3.1", "3.1"]
    assert left(axles, example(facts={"kerb_mass": "900 kg"})) == [SILENCE]


def test_a_rule_that_several_classes_share_is_one() -> None:
    text = (
        '[[group]]\nid = "shared"\n[[group.ban]]\nclause = "4.1"\nkinds = ["interior.dash"]\ndoes = ["remove"]\n'
        '[[class]]\nid = "club"\ntitle = "Club"\nuses = ["shared"]\n'
        '[[class]]\nid = "open"\ntitle = "Open"\nuses = ["shared"]\n'
    )
    found = covered(book(text))
    assert (found.exercised, found.total) == (0, 2)
    found = covered(book(text + example(class_id="open", removed=["interior.dash"])))
    assert (found.exercised, found.total, [item.text for item in found.unexercised]) == (1, 2, [SILENCE])


def test_items_tell_where_they_stand_and_what_they_are() -> None:
    body = BANDS + BAN.replace('["remove"]', '"anything"') + ALLOW
    found = covered(rules(body))
    assert [(item.clause, item.words, item.file, item.line) for item in found.unexercised] == [
        (SILENCE, "what silence means", "rules", 8),
        ("3.1", "band over 0 up to 1400 cm3: no example within it or at 1400 cm3", "rules", 16),
        ("3.1", "band over 1400 up to 1600 cm3: no example within it, at 1400 cm3 or at 1600 cm3", "rules", 16),
        ("3.1", "band over 1600 cm3: no example within it or at 1600 cm3", "rules", 16),
        ("4.1", "ban anything interior.dash", "rules", 17),
        ("4.2", "allow remove interior.floor", "rules", 21),
    ]


def test_examples_that_fail_exercise_all_the_same_and_those_that_cannot_be_run_do_not() -> None:
    assert left(BAN, example(expect="eligible", removed=["interior.dash"])) == [SILENCE]
    assert left(BAN, '[[example]]\ntitle = "A"\nclass = "club"\nexpect = "eligible"\ncar = "no-such.toml"\n') == [
        SILENCE,
        "4.1",
    ]


def test_the_share_in_percent() -> None:
    assert Coverage(0, 0, ()).percent == 100
    assert Coverage(2, 3, ()).percent == Fraction(200, 3)
    found = covered(rules(BAN + ALLOW, after=example(expect="not-eligible", removed=["interior.dash"])))
    assert (found.exercised, found.total, found.percent) == (1, 3, Fraction(100, 3))
