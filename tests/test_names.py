from hypothesis import given
from hypothesis import strategies as st

from tarebook.names import did_you_mean, nearest

KINDS = (
    "body.bonnet",
    "body.bonnet.catch",
    "body.boot-lid",
    "interior.seat.rear",
    "interior.seat.rear.back",
    "interior.seat.rear.base",
    "interior.floor.boot-carpet",
    "electrical.battery",
)
NAMES = st.text(st.sampled_from("abcde.-"), min_size=1, max_size=12)


def test_a_last_element_alone_finds_its_path():
    assert nearest("bonnet", KINDS)[0] == "body.bonnet"
    assert nearest("battery", KINDS) == ["electrical.battery"]


def test_a_misspelt_last_element_finds_its_path():
    assert nearest("bonet", KINDS)[0] == "body.bonnet"
    assert nearest("interior.seat.rear.bak", KINDS)[0] == "interior.seat.rear.back"


def test_a_misspelt_last_element_finds_even_a_long_path():
    assert nearest("bonet", ("interior.seat.rear.base", "outside.panels.front.bonnet")) == [
        "outside.panels.front.bonnet"
    ]


def test_of_names_that_contain_the_word_the_shortest_is_first():
    known = ("interior.floor.boot-carpet", "body.boot-lid")
    assert nearest("boot", known) == ["body.boot-lid", "interior.floor.boot-carpet"]


def test_a_whole_name_beats_a_last_element():
    assert nearest("seat", ("rear.seat", "seat")) == ["seat", "rear.seat"]


def test_a_last_element_under_the_wrong_branch_is_found():
    assert nearest("chassis.battery", KINDS) == ["electrical.battery"]


def test_words_anywhere_in_the_path_count():
    assert nearest("carpet", KINDS) == ["interior.floor.boot-carpet"]
    assert nearest("rear seat", KINDS)[0] == "interior.seat.rear"


def test_case_does_not_count():
    assert nearest("BODY.Bonnet", KINDS)[0] == "body.bonnet"
    assert nearest("eur", ("GBP", "EUR")) == ["EUR"]


def test_one_and_two_letters_do_not_match_as_words():
    assert nearest("e", KINDS) == []
    assert nearest("od", KINDS) == []


def test_a_very_good_match_silences_weak_ones():
    # "g" alone would be near enough to "kg" (2/3), but not beside the exact "kg".
    assert nearest("Kg", ("g", "kg", "mg")) == ["kg"]
    assert nearest("gg", ("kg", "g", "lb")) == ["g"]


def test_at_most_as_many_as_asked_best_first_and_equals_in_order():
    known = ("seat-one", "seat-two", "seat-six", "seat-ten")
    assert nearest("seat", known) == ["seat-one", "seat-two", "seat-six"]
    assert nearest("seat", known, most=1) == ["seat-one"]
    assert nearest("seat", known, most=0) == []


def test_a_name_known_twice_is_given_once():
    assert nearest("bonnet", ["bonnet", "bonnet"]) == ["bonnet"]


def test_nothing_is_near():
    assert nearest("zzz", KINDS) == []
    assert nearest("", KINDS) == []
    assert nearest("  ", KINDS) == []
    assert nearest("bonnet", ()) == []


def test_a_name_too_long_for_a_slip_is_not_compared():
    assert nearest("bonnet" * 17, ["bonnet" * 17]) == []
    assert nearest("b" * 100, ["b" * 100]) == ["b" * 100]


def test_did_you_mean_one_two_and_three():
    assert did_you_mean("bonnet", ("body.bonnet",)) == 'did you mean "body.bonnet"?'
    assert did_you_mean("seat", ("seat-a", "seat-b")) == 'did you mean "seat-a" or "seat-b"?'
    assert (
        did_you_mean("seat", ("seat-a", "seat-b", "seat-c", "seat-d")) == 'did you mean "seat-a", "seat-b" or "seat-c"?'
    )


def test_did_you_mean_says_nothing_where_nothing_is_near():
    assert did_you_mean("zzz", KINDS) == ""


@given(st.lists(NAMES, unique=True, min_size=1), st.data())
def test_a_known_name_is_nearest_to_itself(known, data):
    name = data.draw(st.sampled_from(known).filter(lambda name: name.strip()))
    assert nearest(name, known)[0] == name


@given(NAMES, st.lists(NAMES), st.integers(0, 5))
def test_answers_are_known_distinct_and_few(name, known, most):
    found = nearest(name, known, most)
    assert set(found) <= set(known)
    assert len(found) == len(set(found)) <= most
