"""The tree of kinds: its data, and looking things up in it."""

import re
import string
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tarebook.kinds import Kind, builtin, covers

TREE = builtin()
PATHS = TREE.paths()
GROUPINGS = [path for path in PATHS if not TREE.get(path).leaf]

TOP_BRANCHES = [
    "body",
    "glass",
    "interior",
    "stowage",
    "safety",
    "climate",
    "powertrain",
    "exhaust",
    "driveline",
    "chassis",
    "brakes",
    "wheels",
    "electrical",
    "ballast",
]
# Every name that the meaning of the formats fixes, and the label each has here.
FIXED = {
    "body.bonnet": "always",
    "body.boot-lid": "always",
    "body.aerial": "sometimes",
    "body.roof.sunroof": "sometimes",
    "body.bumper.front": "always",
    "glass.windscreen": "always",
    "glass.rear": "always",
    "interior.seat.front.driver": "always",
    "interior.seat.front.passenger": "always",
    "interior.seat.rear": "always",
    "interior.seat.rear.base": "always",
    "interior.seat.rear.back": "always",
    "interior.seat.rear.belts": "always",
    "interior.floor.carpet": "always",
    "interior.floor.underlay": "always",
    "interior.floor.boot-carpet": "always",
    "interior.headliner": "always",
    "interior.dash": "always",
    "interior.console": "always",
    "interior.trim": "always",
    "interior.door-card": "always",
    "interior.audio": "sometimes",
    "stowage.spare-wheel": "sometimes",
    "stowage.jack": "sometimes",
    "stowage.wheel-brace": "sometimes",
    "stowage.loose": "sometimes",
    "safety.cage": "never",
    "safety.airbag": "sometimes",
    "safety.harness": "never",
    "safety.extinguisher": "never",
    "climate.air-conditioning": "sometimes",
    "climate.heater": "always",
    "exhaust.silencer": "always",
    "exhaust.catalyst": "sometimes",
    "electrical.battery": "always",
    "wheels.rim": "always",
    "wheels.tyre": "always",
    "wheels.cover": "sometimes",
    "ballast": "never",
}
THINGS = [
    "interior.dash",
    "interior.console",
    "interior.headliner",
    "interior.door-card",
    "body.bonnet",
    "body.boot-lid",
    "body.aerial",
    "body.bumper.front",
    "electrical.battery",
    "wheels.rim",
    "wheels.tyre",
    "wheels.cover",
    "safety.cage",
    "safety.harness",
    "safety.extinguisher",
    "exhaust.silencer",
    "exhaust.catalyst",
    "glass.windscreen",
    "glass.rear",
    "stowage.spare-wheel",
    "stowage.jack",
    "stowage.wheel-brace",
    "stowage.loose",
    "ballast",
]
MERE_GROUPINGS = [
    "interior.trim",
    "interior.audio",
    "safety.airbag",
    "climate.air-conditioning",
    "climate.heater",
    "interior.seat",
    "interior.seat.front",
    "interior.seat.rear",
    "interior.floor",
    "body.roof",
]


def own(path: str, title: str = "Of a book's own", factory: str = "sometimes") -> Kind:
    return Kind(path, title, factory)


# ---------------------------------------------------------------- the data


def test_there_are_enough_kinds_and_each_name_is_well_formed_and_there_once() -> None:
    assert len(PATHS) >= 200
    assert len(set(PATHS)) == len(PATHS)
    assert [path for path in PATHS if not re.fullmatch(r"[a-z][a-z0-9-]*(\.[a-z][a-z0-9-]*)*", path)] == []


def test_the_top_branches_are_exactly_these_in_this_order() -> None:
    assert [path for path in PATHS if "." not in path] == TOP_BRANCHES


def test_the_branch_of_every_kind_stands_before_it() -> None:
    seen: set[str] = set()
    for path in PATHS:
        branch = path.rpartition(".")[0]
        assert not branch or branch in seen, path
        seen.add(path)


def test_each_branch_stands_together_in_the_file() -> None:
    for path in PATHS:
        first = PATHS.index(path)
        assert PATHS[first : first + len(TREE.under(path))] == TREE.under(path)


@pytest.mark.parametrize(("path", "label"), FIXED.items())
def test_a_fixed_name_is_there_with_its_label(path: str, label: str) -> None:
    assert TREE.get(path).factory == label


@pytest.mark.parametrize("path", THINGS)
def test_is_a_thing(path: str) -> None:
    assert TREE.get(path).leaf
    assert TREE.under(path) == TREE.things_under(path) == (path,)


@pytest.mark.parametrize("path", MERE_GROUPINGS)
def test_is_a_mere_grouping(path: str) -> None:
    assert not TREE.get(path).leaf
    assert path not in TREE.things_under(path)
    assert len(TREE.things_under(path)) >= 2


def test_everything_in_stowage_is_a_thing() -> None:
    assert TREE.things_under("stowage") == TREE.under("stowage")[1:]


def test_only_the_three_labels_occur() -> None:
    assert {TREE.get(path).factory for path in PATHS} == {"always", "sometimes", "never"}


@pytest.mark.parametrize("grouping", GROUPINGS)
def test_the_label_of_a_grouping_follows_from_the_things_under_it(grouping: str) -> None:
    """A grouping has no presence of its own, so a label that its things do not bear out is void."""
    steady = []  # things that are there whenever the grouping is
    labels = set()
    for thing in TREE.things_under(grouping):
        between = [path for path in TREE.parents(thing) if path.startswith(grouping + ".")]
        chain = [TREE.get(path).factory for path in (thing, *between)]
        labels.update(chain)
        if set(chain) == {"always"}:
            steady.append(thing)
    if TREE.get(grouping).factory == "never":
        assert labels == {"never"}
    else:
        assert steady != []


@pytest.mark.parametrize("path", [path for path in PATHS if TREE.get(path).factory == "never"])
def test_what_stands_under_a_never_kind_is_never(path: str) -> None:
    assert {TREE.get(below).factory for below in TREE.under(path)} == {"never"}


def test_a_grouping_that_only_some_cars_have_holds_what_always_comes_with_it() -> None:
    assert TREE.get("climate.air-conditioning.compressor").factory == "always"
    assert TREE.get("safety.airbag.driver").factory == "always"
    assert TREE.get("body.roof.skin").factory == "always"


def test_every_title_says_something_of_its_own() -> None:
    titles = [TREE.get(path).title for path in PATHS]
    assert all(title and title == title.strip() and title[0].isupper() for title in titles)
    assert sorted(titles) == sorted(set(titles))


def test_other_words_are_lower_case_and_not_repeated() -> None:
    for path in PATHS:
        words = TREE.get(path).words
        assert len(set(words)) == len(words), path
        assert all(word and word == word.strip() == word.lower() for word in words), path


def test_mass_ranges_are_in_order_and_plausible() -> None:
    ranges = {path: kind.mass_range for path in PATHS if (kind := TREE.get(path)).mass_range}
    assert len(ranges) > 150
    for path, (low, high) in ranges.items():
        assert 0 < low < high <= 600, path


def test_a_mass_range_is_exact_kilograms() -> None:
    assert TREE.get("wheels.balance-weights").mass_range == (Fraction(1, 20), Fraction(3, 5))


def test_a_thing_weighs_no_more_than_any_branch_that_holds_it() -> None:
    for path in PATHS:
        kind = TREE.get(path)
        for branch in TREE.parents(path):
            whole = TREE.get(branch)
            # Outside the range of an ordinary car: an electric car, and what no car has from the factory.
            if kind.factory == "never" or path.startswith("powertrain.electric"):
                continue
            if kind.mass_range and whole.mass_range:
                assert kind.mass_range[1] <= whole.mass_range[1], (path, branch)


def test_places_lie_on_the_car() -> None:
    places = [kind.along for path in PATHS if (kind := TREE.get(path)).along is not None]
    assert len(places) > 150
    assert all(-0.5 <= place <= 1.5 for place in places)


def test_rough_places_are_on_the_right_side_of_the_axles() -> None:
    assert TREE.get("electrical.lamp.head").along < 0
    assert TREE.get("stowage.spare-wheel").along > 1
    assert 0 < TREE.get("interior.seat.front.driver").along < 1


def test_nothing_stands_under_the_dashboard() -> None:
    assert TREE.under("interior.dash") == ("interior.dash",)


# ---------------------------------------------------------------- cautions


def test_every_caution_is_used_and_defers_to_those_who_decide() -> None:
    used = {sentence for path in PATHS for sentence in TREE.get(path).cautions}
    assert used == set(TREE._cautions.values())
    for sentence in used:
        assert re.search(r"local (law|rules)|the law|licensed|club|qualified|workshop", sentence), sentence
        assert sentence.endswith(".")
        assert "\n" not in sentence
        assert "  " not in sentence


@pytest.mark.parametrize(
    ("path", "opening"),
    [
        ("safety.airbag.driver", "Airbags and belt pretensioners"),
        ("chassis.steering.wheel", "Airbags and belt pretensioners"),
        ("interior.seat.front.driver", "Airbags and belt pretensioners"),
        ("interior.seat.front.belts", "Belts and their mountings"),
        ("safety.harness", "Belts and their mountings"),
        ("climate.air-conditioning.compressor", "The circuit is under pressure"),
        ("powertrain.fuel.tank", "Petrol vapour"),
        ("exhaust.silencer", "Never reach or work under"),
        ("wheels.rim", "Never reach or work under"),
        ("glass.windscreen", "Glass can burst"),
        ("body.roof.skin", "Cutting or welding the shell"),
        ("body.shell.floorpan", "Cutting or welding the shell"),
        ("safety.cage", "A roll-over structure"),
        ("brakes.master-cylinder", "The brakes must work"),
        ("chassis.steering.column", "A fault here can take away control"),
        ("electrical.battery", "A battery can short-circuit"),
        ("powertrain.electric.inverter", "The voltage of an electric drive"),
        ("exhaust.catalyst", "Exhaust parts stay hot"),
        ("interior.floor.deadening", "Mats, linings and coatings"),
        ("body.underseal", "Mats, linings and coatings"),
        ("chassis.suspension.springs", "A spring under load"),
        ("safety.extinguisher", "An extinguisher holds pressure"),
        ("safety.cut-off-switch", "The cut-off switch"),
        ("safety.cut-off-switch", "A battery can short-circuit"),
        ("safety.head-support", "Seats, head restraints"),
        ("safety.window-net", "Seats, head restraints"),
        ("interior.seat.front.driver", "Seats, head restraints"),
        ("interior.seat.rear.base", "Belts and their mountings"),
        ("interior.seat.rear.latches", "Seats, head restraints"),
        ("safety.factory-hoop", "A spring under load"),
        ("ballast", "Whatever comes loose"),
        ("body.bumper.front-beam", "Beams in doors"),
        ("body.bonnet", "A door or lid must stay shut"),
        ("body.shell.front-bulkhead", "A bulkhead keeps fire"),
        ("electrical.lamp.tail", "Lamps, mirrors, wipers"),
        ("climate.heater.blower", "Lamps, mirrors, wipers"),
        ("electrical.lamp.head", "Discharge headlamps"),
        ("powertrain.ignition.coils", "Ignition voltage"),
        ("powertrain.cooling.radiator", "Hot coolant"),
        ("climate.heater.matrix", "Hot coolant"),
        ("powertrain.engine.dry-sump", "Hot oil"),
        ("powertrain.cooling.fan", "Fans, belts and shafts"),
        ("driveline.flywheel", "Fans, belts and shafts"),
        ("driveline.gearbox.casing", "This is heavy enough"),
        ("powertrain.intake.throttle", "A pedal that sticks"),
        ("chassis.pedals", "A pedal that sticks"),
        ("wheels.spacer", "A wheel that comes off"),
        ("body.aero.rear-aerofoil", "What comes loose outside"),
        ("body.towing-eye", "A towing eye"),
        ("electrical.driver-aids", "Sensors of aids"),
    ],
)
def test_a_kind_that_can_hurt_someone_carries_its_caution(path: str, opening: str) -> None:
    assert [caution for caution in TREE.get(path).cautions if caution.startswith(opening)] != []


def test_every_kind_of_safety_equipment_carries_a_caution() -> None:
    assert [path for path in TREE.under("safety") if not TREE.get(path).cautions] == []


@pytest.mark.parametrize("path", ["safety.extinguisher", "safety.cut-off-switch"])
def test_what_saves_lives_is_wanted_whatever_the_class_asks(path: str) -> None:
    assert "whatever the class asks" in TREE.get(path).cautions[-1]


def test_harmless_kinds_carry_none() -> None:
    assert TREE.get("interior.floor.carpet").cautions == ()
    assert TREE.get("stowage.spare-wheel").cautions == ()


@pytest.mark.parametrize("grouping", [path for path in GROUPINGS if "." in path])
def test_a_grouping_carries_the_cautions_of_all_under_it(grouping: str) -> None:
    """A part may be listed as the whole branch; what its pieces can do must be said there too."""
    below = {sentence for path in TREE.things_under(grouping) for sentence in TREE.get(path).cautions}
    assert below <= set(TREE.get(grouping).cautions)


# ---------------------------------------------------------------- covers

levels = st.lists(st.text(string.ascii_lowercase + "-", min_size=1, max_size=4), min_size=1, max_size=5)


@given(levels, levels)
def test_covers_compares_whole_levels(left: list[str], right: list[str]) -> None:
    assert covers(".".join(left), ".".join(right)) == (left == right[: len(left)])


@given(levels, levels)
def test_a_branch_covers_what_stands_under_it_and_is_not_covered_by_it(branch: list[str], rest: list[str]) -> None:
    above, below = ".".join(branch), ".".join(branch + rest)
    assert covers(above, above)
    assert covers(above, below)
    assert not covers(below, above)


@given(levels)
def test_everything_covers_all(path: list[str]) -> None:
    assert covers("everything", ".".join(path))


def test_a_name_that_only_begins_alike_is_not_covered() -> None:
    assert not covers("body.bonnet", "body.bonnet-pins")
    assert not covers("glass", "everything")


# ---------------------------------------------------------------- lookup


def test_under_gives_the_branch_first_and_then_what_is_below() -> None:
    assert TREE.under("interior.seat.rear") == (
        "interior.seat.rear",
        "interior.seat.rear.base",
        "interior.seat.rear.back",
        "interior.seat.rear.belts",
        "interior.seat.rear.head-restraints",
        "interior.seat.rear.latches",
    )
    assert TREE.under("everything") == PATHS


def test_things_under_leaves_out_the_groupings() -> None:
    assert TREE.things_under("interior.seat.rear") == TREE.under("interior.seat.rear")[1:]
    assert len(TREE.things_under("everything")) + len(GROUPINGS) == len(PATHS)


def test_under_agrees_with_covers() -> None:
    for path in PATHS:
        assert TREE.under(path) == tuple(other for other in PATHS if covers(path, other))


def test_parents_are_given_nearest_first() -> None:
    assert TREE.parents("interior.seat.rear.back") == ("interior.seat.rear", "interior.seat", "interior")
    assert TREE.parents("ballast") == ()


def test_membership() -> None:
    assert "body.bonnet" in TREE
    assert "body.hood" not in TREE
    assert "everything" not in TREE


@pytest.mark.parametrize("lookup", [TREE.get, TREE.under, TREE.things_under])
def test_a_name_that_is_not_there_is_a_key_error(lookup: object) -> None:
    with pytest.raises(KeyError, match=r"^'body\.hood'$"):
        lookup("body.hood")  # type: ignore[operator]


def test_the_tree_is_read_once_and_kinds_are_made_once() -> None:
    assert builtin() is TREE
    assert TREE.get("body.bonnet") is TREE.get("body.bonnet")


def test_a_kind_in_full() -> None:
    assert TREE.get("body.bonnet") == Kind(
        path="body.bonnet",
        title="Bonnet",
        factory="always",
        cautions=(
            "A door or lid must stay shut at speed, and a door must open for rescue from inside and outside. Have"
            " changed hinges, locks and pins checked by someone qualified, and keep to local law and the club's book.",
        ),
        mass_range=(Fraction(9), Fraction(22)),
        along=-0.05,
        words=("hood",),
        own=False,
        leaf=True,
    )


# ---------------------------------------------------------------- own kinds


def test_own_kinds_stand_in_the_new_tree_and_not_in_the_old_one() -> None:
    tree = TREE.extended([own("interior.seat.rear.tray")])
    assert tree.get("interior.seat.rear.tray").own
    assert tree.get("interior.seat.rear.tray").leaf
    assert tree.paths() == (*PATHS, "interior.seat.rear.tray")
    assert tree.under("interior.seat.rear")[-1] == "interior.seat.rear.tray"
    assert tree.things_under("interior.seat.rear")[-1] == "interior.seat.rear.tray"
    assert "interior.seat.rear.tray" not in TREE
    assert TREE.paths() == PATHS


def test_a_thing_stays_a_thing_when_own_kinds_are_put_under_it() -> None:
    tree = TREE.extended([own("interior.dash.clock"), own("interior.dash.clock.hands")])
    assert tree.get("interior.dash").leaf
    assert tree.things_under("interior.dash") == (
        "interior.dash",
        "interior.dash.clock",
        "interior.dash.clock.hands",
    )


def test_own_kinds_may_come_in_any_order_and_branches_are_put_first() -> None:
    tree = TREE.extended([own("interior.dash.clock.hands"), own("interior.dash.clock")])
    assert tree.under("interior.dash.clock") == ("interior.dash.clock", "interior.dash.clock.hands")


def test_trees_can_be_extended_again() -> None:
    once = TREE.extended([own("interior.dash.clock")])
    twice = once.extended([own("interior.dash.clock.hands")])
    assert twice.paths() == (*PATHS, "interior.dash.clock", "interior.dash.clock.hands")
    assert once.paths() == (*PATHS, "interior.dash.clock")


def test_an_own_kind_takes_on_the_cautions_of_its_branch_after_its_own() -> None:
    airbag = TREE.get("safety.airbag").cautions
    window = Kind("safety.airbag.window", "Window airbag", "sometimes", cautions=("Mind the roof lining.",))
    tree = TREE.extended([own("safety.airbag.window.tube"), window])
    assert tree.get("safety.airbag.window").cautions == ("Mind the roof lining.", *airbag)
    assert tree.get("safety.airbag.window.tube").cautions == ("Mind the roof lining.", *airbag)


@pytest.mark.parametrize(
    ("kinds", "sentence"),
    [
        (["interior.dash"], 'the kind "interior.dash" is already there: choose another name'),
        (
            ["interior.dash.clock", "interior.dash.clock"],
            'the kind "interior.dash.clock" is already there: choose another name',
        ),
        (
            ["clock"],
            'the kind "clock" needs a branch above it: put it under one, such as "interior.clock"',
        ),
        (
            ["everything"],
            'the kind "everything" needs a branch above it: put it under one, such as "interior.everything"',
        ),
        (
            ["glas.tint"],
            'the kind "glas.tint" has no branch "glas" above it: did you mean "glass", "glass.rear" or "glass.door"?',
        ),
        (
            ["zzzz.qqqq"],
            'the kind "zzzz.qqqq" has no branch "zzzz" above it: name a branch of the tree',
        ),
    ],
)
def test_own_kinds_that_cannot_be_added(kinds: list[str], sentence: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        TREE.extended([own(path) for path in kinds])


@pytest.mark.parametrize(
    "path",
    [
        "",
        "Interior.dash.clock",
        "interior.dash clock",
        "interior..clock",
        "interior.dash.",
        ".interior",
        "interior.dash_clock",
        "interior.2",
        "interior.-clock",
        "interior.clôck",
        "interior.clock\n",
    ],
)
def test_a_malformed_name_is_refused(path: str) -> None:
    with pytest.raises(ValueError, match="no name for a kind") as refused:
        TREE.extended([own(path)])
    assert str(refused.value) == (
        f'"{path}" is no name for a kind: write lower-case words joined by hyphens, with dots '
        'between levels, such as "interior.dash.clock"'
    )


# ---------------------------------------------------------------- suggest and search


@pytest.mark.parametrize(
    ("name", "question"),
    [
        ("bonnet", 'did you mean "body.bonnet"?'),
        ("bonet", 'did you mean "body.bonnet"?'),
        ("body.bonet", 'did you mean "body.bonnet" or "body.bonnet-pins"?'),
        ("hood", 'did you mean "body.bonnet"?'),
        ("Hood", 'did you mean "body.bonnet"?'),
        ("windshield", 'did you mean "glass.windscreen"?'),
        ("windsheild", 'did you mean "glass.windscreen"?'),
        ("muffler", 'did you mean "exhaust.silencer"?'),
        ("harness", 'did you mean "safety.harness" or "electrical.loom"?'),
        (
            "wiring harness",
            'did you mean "electrical.loom", "electrical.loom.engine" or "electrical.loom.front"?',
        ),
        ("zzzz", ""),
        ("", ""),
    ],
)
def test_suggestions(name: str, question: str) -> None:
    assert TREE.suggest(name) == question


def test_a_misspelt_path_is_suggested_nearest_first() -> None:
    question = TREE.suggest("interior.seat.rear.bak")
    assert question.startswith('did you mean "interior.seat.rear.back"')


def test_own_kinds_are_suggested_too() -> None:
    tree = TREE.extended([own("interior.dash.chronometer")])
    assert tree.suggest("chronometr") == 'did you mean "interior.dash.chronometer"?'


def found(word: str) -> list[str]:
    return [kind.path for kind in TREE.search(word)]


def test_a_search_puts_the_best_answer_first() -> None:
    assert found("body.bonnet")[0] == "body.bonnet"
    assert found("bonnet")[:2] == ["body.bonnet", "body.bonnet-hinges"]
    assert found("hood")[0] == "body.bonnet"
    assert found("harness")[:2] == ["safety.harness", "electrical.loom"]
    assert found("Rear Window")[0] == "glass.rear"


def test_a_search_for_a_branch_lists_all_of_it() -> None:
    assert found("interior.seat.rear") == list(TREE.under("interior.seat.rear"))


def test_a_search_matches_path_title_and_other_words() -> None:
    assert "interior.floor.boot-carpet" in found("boot carpet")
    assert "interior.floor.boot-carpet" in found("boot-carpet")
    assert found("suspension turrets") == ["body.shell.strut-towers"]
    assert "stowage.loose" in found("handbook")


def test_every_word_of_a_search_must_be_there() -> None:
    assert found("carpet zzzz") == []
    assert "interior.floor.carpet" in found("carpet cabin")


@pytest.mark.parametrize("word", ["", "   ", "zzzz"])
def test_a_search_that_finds_nothing(word: str) -> None:
    assert found(word) == []


@given(st.sampled_from(PATHS))
def test_every_kind_is_found_first_by_its_own_path(path: str) -> None:
    assert found(path)[0] == path
