"""Edits of a car file: the exact text of the commonest, what is refused, and that nothing breaks out of its quotes."""

import datetime
from decimal import Decimal

import pytest

from editing.support_edits import BLOCKS, HEAD, INLINE, MAT, after
from tarebook.car.editing import AddEntries, AddToList, EditRefused, ReplaceKey, SetKey, edited
from tarebook.car.editing.changes import Splice
from tarebook.car.editing.checked import same
from tarebook.car.reading import parse_car
from tarebook.toml_source import MistakesFound, parse_source

MAT_BLOCK = '[[part]]\nid = "mat"\nkind = "stowage.loose"\nmass = "1.5 kg"\n'
CONSOLE_END = '    "2.41 kg",\n]\n'


# --- entries ---


def test_a_block_goes_below_the_last_of_its_kind():
    assert after(BLOCKS, AddEntries("part", [MAT])) == BLOCKS.replace(CONSOLE_END, f"{CONSOLE_END}\n{MAT_BLOCK}")


def test_comments_right_below_the_last_entry_stay_with_it():
    text = BLOCKS.replace(CONSOLE_END, f"{CONSOLE_END}# of the console\n")
    assert after(text, AddEntries("part", [MAT])) == text.replace(
        "# of the console\n", f"# of the console\n\n{MAT_BLOCK}"
    )


def test_a_comment_right_above_a_header_stays_with_that():
    text = HEAD + '[[part]]\nid = "a"\nkind = "ballast"\n# The job\n[[job]]\nid = "j"\nstate = "maybe"\n'
    assert after(text, AddEntries("part", [MAT])) == text.replace("# The job", f"{MAT_BLOCK}# The job")


def test_the_first_of_its_kind_goes_to_the_end():
    scale = {"id": "kitchen", "resolution": "1 g"}
    block = '[[scale]]\nid = "kitchen"\nresolution = "1 g"\n'
    assert after(BLOCKS, AddEntries("scale", [scale])) == f"{BLOCKS}\n{block}"
    assert after(f"{BLOCKS}\n\n\n", AddEntries("scale", [scale])) == f"{BLOCKS}\n\n\n{block}"
    assert after(BLOCKS.rstrip("\n"), AddEntries("scale", [scale])) == f"{BLOCKS}\n{block}"


def test_a_missing_last_line_end_is_added():
    text = BLOCKS.rstrip("\n")
    job = {"id": "next", "state": "maybe"}
    assert after(text, AddEntries("job", [job])) == f'{BLOCKS}\n[[job]]\nid = "next"\nstate = "maybe"\n'


def test_several_entries_at_once_and_none():
    other = {"id": "radio", "kind": "interior.audio"}
    assert after(BLOCKS, AddEntries("part", [MAT, other])) == BLOCKS.replace(
        CONSOLE_END, f'{CONSOLE_END}\n{MAT_BLOCK}\n[[part]]\nid = "radio"\nkind = "interior.audio"\n'
    )
    assert after(BLOCKS, AddEntries("part", [])) == BLOCKS


def test_no_blank_lines_where_the_file_has_none():
    text = 'format = "tarebook-car/1"\n[car]\nname = "W"\n[[part]]\nid = "a"\nkind = "ballast"\n'
    assert after(text, AddEntries("part", [MAT])) == text + MAT_BLOCK


def test_blank_lines_are_counted_between_entries_of_its_kind():
    text = 'format = "tarebook-car/1"\n\n\n\n[car]\nname = "W"\n\n\n\n# Parts\n[[part]]\nid = "a"\nkind = "ballast"\n'
    assert after(text, AddEntries("part", [MAT])) == f"{text}\n\n\n{MAT_BLOCK}"
    two = f'{text}\n[[part]]\nid = "b"\nkind = "ballast"\n'
    assert after(two, AddEntries("part", [MAT])) == f"{two}\n{MAT_BLOCK}"


def test_tables_in_brackets_grow_within_them():
    entry = '{ id = "mat", kind = "stowage.loose", mass = "1.5 kg" }'
    last = 'mass = ["2.40 kg"] }    # no comma here\n'
    grown = last.replace("}", "},") + f"  {entry}\n"
    assert after(INLINE, AddEntries("part", [MAT])) == INLINE.replace(last, grown)
    assert after(INLINE, AddEntries("job", [{"id": "n", "state": "maybe"}])) == INLINE.replace(
        '["carpet"] }]', '["carpet"] }, { id = "n", state = "maybe" }]'
    )


def test_an_empty_list_of_tables_is_filled():
    text = HEAD.replace("\n\n[car]", "\npart = [] # none yet\n\n[car]")
    assert after(text, AddEntries("part", [{"id": "a", "kind": "ballast"}])) == text.replace(
        "[] #", '[{ id = "a", kind = "ballast" }] #'
    )


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ('id="a"\nkind="ballast"\n', 'id="mat"\nkind="stowage.loose"\nmass="1.5 kg"\n'),
        ('id   = "a"\nkind = "ballast"\n', 'id   = "mat"\nkind = "stowage.loose"\nmass = "1.5 kg"\n'),
        ('    id = "a"\n    kind = "ballast"\n', '    id = "mat"\n    kind = "stowage.loose"\n    mass = "1.5 kg"\n'),
    ],
    ids=["tight", "in a column", "indented"],
)
def test_keys_are_written_as_the_file_writes_them(written, expected):
    text = f"{HEAD}\n[[part]]\n{written}"
    assert after(text, AddEntries("part", [MAT])) == f"{text}\n[[part]]\n{expected}"


def test_a_small_table_has_a_header_where_the_file_gives_it_one():
    loads = {"front": "500 kg", "rear": "400 kg"}
    first = 'id = "one"\ndate = 2026-03-01\n'
    weighing = {"id": "two", "axles": loads, "date": datetime.date(2026, 4, 1)}
    apart = f'{HEAD}\n[[weighing]]\n{first}[weighing.axles]\nfront = "500 kg"\nrear = "400 kg"\n'
    assert after(apart, AddEntries("weighing", [weighing])) == apart + (
        '\n[[weighing]]\nid = "two"\ndate = 2026-04-01\n[weighing.axles]\nfront = "500 kg"\nrear = "400 kg"\n'
    )
    inline = f'{HEAD}\n[[weighing]]\n{first}axles = {{ front = "500 kg", rear = "400 kg" }}\n'
    assert after(inline, AddEntries("weighing", [weighing])) == inline + (
        '\n[[weighing]]\nid = "two"\naxles = { front = "500 kg", rear = "400 kg" }\ndate = 2026-04-01\n'
    )


def test_a_long_list_is_spread_over_lines():
    readings = [f"1.{number:02} kg" for number in range(20)]
    text = after(BLOCKS, AddEntries("part", [MAT | {"mass": readings}]))
    inner = "".join(f'    "{each}",\n' for each in readings)
    assert f'kind = "stowage.loose"\nmass = [\n{inner}]\n' in text


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_line_endings_and_the_byte_order_mark_stay(ending):
    content = b"\xef\xbb\xbf" + BLOCKS.replace("\n", ending).encode()
    done = edited(
        parse_source(content, "wren.toml"), [AddEntries("part", [MAT]), AddToList(("part", 1, "mass"), ["2 kg"])]
    )
    expected = BLOCKS.replace(CONSOLE_END, f'    "2.41 kg",\n    "2 kg",\n]\n\n{MAT_BLOCK}')
    assert done.after.content == b"\xef\xbb\xbf" + expected.replace("\n", ending).encode()
    assert done.lines == (23, 17)
    assert done.paths == (("part", 2), ("part", 1, "mass"))
    assert [part.id for part in done.car.file.part] == ["carpet", "console", "mat"]


# --- readings and keys ---


def test_one_value_becomes_a_list():
    assert after(BLOCKS, AddToList(("part", 0, "mass"), ["4.02 kg", "4.01 kg"])) == BLOCKS.replace(
        '"4.00 kg"', '["4.00 kg", "4.02 kg", "4.01 kg"]'
    )


@pytest.mark.parametrize(
    ("before", "grown"),
    [
        ('["a1 kg"]', '["a1 kg", "3 kg"]'),
        ('[ "a1 kg", ]', '[ "a1 kg", "3 kg", ]'),
        ('["a1 kg" # x, y\n]', '["a1 kg", "3 kg" # x, y\n]'),
        ('[\n  "a1 kg", # x\n  # end\n]', '[\n  "a1 kg", # x\n  "3 kg",\n  # end\n]'),
        ('[\n  "a1 kg" # x, y\n]', '[\n  "a1 kg", # x, y\n  "3 kg"\n]'),
        ('[ "a1 kg",\n  "a1 kg"]', '[ "a1 kg",\n  "a1 kg",\n  "3 kg"]'),
        ('[\n\t"a1 kg", "a1 kg",\n]', '[\n\t"a1 kg", "a1 kg", "3 kg",\n]'),
        ('[ "a1 kg"\n, "a1 kg"\n]', '[ "a1 kg"\n, "a1 kg", "3 kg"\n]'),
    ],
)
def test_a_list_grows_in_its_own_style(before, grown):
    text = f'{HEAD}[[part]]\nid = "a"\nkind = "ballast"\nmass = {before} # ] kg\nat = 3\n'.replace("a1", "1")
    assert after(text, AddToList(("part", 0, "mass"), ["3 kg"])) == text.replace(
        before.replace("a1", "1"), grown.replace("a1", "1")
    )


def test_a_key_is_set_where_it_stands():
    assert after(BLOCKS, SetKey(("job", 0, "state"), "done")) == BLOCKS.replace('"planned"', '"done"')


def test_a_missing_key_is_added_below_the_others():
    text = after(
        BLOCKS, SetKey(("part", 0, "note"), "n"), AddToList(("job", 0, "needs"), []), SetKey(("job", 0, "hours"), 2)
    )
    assert text == (BLOCKS.replace('mass = "4.00 kg"\n', 'mass = "4.00 kg"\nnote = "n"\n') + "hours = 2\n")
    assert after(INLINE, SetKey(("job", 0, "hours"), Decimal("1.50"))) == INLINE.replace(
        '["carpet"] }]', '["carpet"], hours = 1.50 }]'
    )
    assert after(BLOCKS.rstrip("\n"), SetKey(("job", 0, "hours"), 2)) == f"{BLOCKS}hours = 2\n"


def test_a_missing_list_is_added():
    assert after(BLOCKS, AddToList(("job", 0, "tools"), ["saw"])) == f'{BLOCKS}tools = ["saw"]\n'


def test_an_estimate_gives_way_and_stays_as_a_comment():
    old = 'estimate = { mass = "4 kg", within = "1 kg" }  # guessed'
    text = BLOCKS.replace('mass = "4.00 kg"', old)
    assert after(text, ReplaceKey(("part", 0, "estimate"), "mass", ["4.1 kg", "4.2 kg"])) == text.replace(
        old, '# estimate = { mass = "4 kg", within = "1 kg" }\nmass = ["4.1 kg", "4.2 kg"]  # guessed'
    )
    inline = INLINE.replace('mass = "4.00 kg"', 'estimate = { mass = "4 kg", within = "1 kg" }')
    assert after(inline, ReplaceKey(("part", 0, "estimate"), "mass", "4.1 kg")) == INLINE.replace("4.00", "4.1")


# --- what is refused ---


def test_what_is_written_apart_is_left_to_the_user():
    apart = BLOCKS.replace('mass = "4.00 kg"\n', '[part.estimate]\nmass = "4 kg"\nwithin = "1 kg"\n')
    with pytest.raises(EditRefused) as refused:
        after(apart, ReplaceKey(("part", 0, "estimate"), "mass", "4 kg"))
    assert (
        str(refused.value)
        == "part.1.estimate (line 10) is written in a way that is not changed here: change it by hand."
    )
    dotted = BLOCKS.replace('mass = "4.00 kg"\n', 'estimate.mass = "4 kg"\nestimate.within = "1 kg"\n')
    with pytest.raises(EditRefused, match=r"part\.1\.estimate \(line 10\)"):
        after(dotted, SetKey(("part", 0, "estimate"), {"mass": "4 kg", "within": "1 kg"}))


class Clumsy(SetKey):
    """A change that also writes what was not asked for."""

    def splices(self, data, layout):
        return [*super().splices(data, layout), Splice(len(layout.text), len(layout.text), "hours = 1\n")]


def test_a_text_that_says_more_than_the_change_is_refused():
    with pytest.raises(EditRefused) as refused:
        after(BLOCKS, Clumsy(("part", 0, "note"), "n"))
    assert str(refused.value) == (
        "wren.toml is written in a way that this change does not fit into: change it by hand."
    )


def test_a_change_that_makes_a_mistake_shows_it_in_the_text_as_it_would_be():
    with pytest.raises(MistakesFound) as found:
        after(BLOCKS, AddEntries("part", [MAT | {"id": "carpet"}]))
    assert str(found.value) == ('wren.toml (with the change):23:6: the part "carpet" is listed twice, first on line 8')
    with pytest.raises(MistakesFound, match=r"unknown key \"colour\""):
        after(BLOCKS, AddEntries("part", [MAT | {"colour": "red"}]))


def test_a_file_too_large_afterwards_is_refused():
    with pytest.raises(MistakesFound, match="larger than 1 MiB"):
        after(BLOCKS, AddEntries("part", [MAT | {"id": f"p{number}", "note": "n" * 3000} for number in range(400)]))


def test_binary_numbers_and_times_are_no_values_of_a_car_file():
    with pytest.raises(TypeError, match="a car file holds no float"):
        after(BLOCKS, SetKey(("job", 0, "hours"), 1.5))
    with pytest.raises(TypeError, match="datetime"):
        after(BLOCKS, SetKey(("job", 0, "date"), datetime.datetime(2026, 1, 1)))
    with pytest.raises(EditRefused, match="not a finite number"):
        after(BLOCKS, SetKey(("job", 0, "hours"), Decimal("inf")))


@pytest.mark.parametrize(
    ("hostile", "written"),
    [
        ('"\n[[job]]\nid = "x', r'"\"\n[[job]]\nid = \"x"'),
        ("\\", r'"\\"'),
        ('""" # ', r'"\"\"\" # "'),
        ("\r\t\0\x1b[2J\x7f\x85", r'"\r\t\u0000\u001b[2J\u007f\u0085"'),
        ("a\u202eb\u2028\U000e0001", r'"a\u202eb\u2028\U000e0001"'),
        ("Zoë's ‘seat’ 🪑", '"Zoë\'s ‘seat’ 🪑"'),
    ],
)
def test_hostile_texts_stay_within_their_quotes(hostile, written):
    text = after(BLOCKS, SetKey(("part", 0, "note"), hostile))
    assert text == BLOCKS.replace('mass = "4.00 kg"\n', f'mass = "4.00 kg"\nnote = {written}\n')
    assert parse_car(text).file.part[0].note == hostile
    assert parse_car(after(INLINE, SetKey(("part", 0, "note"), hostile))).file.part[0].note == hostile


def test_a_broken_character_is_refused():
    with pytest.raises(EditRefused, match="broken character"):
        after(BLOCKS, SetKey(("part", 0, "note"), "a\udcffb"))


def test_hostile_keys_are_quoted():
    text = after(BLOCKS, SetKey(("job", 0, "moves"), {"carpet": {"at": "1 m"}}))
    assert text.endswith('moves = { carpet = { at = "1 m" } }\n')
    with pytest.raises(MistakesFound, match="there is no part"):
        after(BLOCKS, SetKey(("job", 0, "moves"), {'x = 1\n"': {"at": "1 m"}}))


@pytest.mark.parametrize(
    ("one", "other"),
    [(1, True), (Decimal("1.0"), Decimal("1.00")), (1, Decimal(1)), ([1], [1, 2]), ({"a": 1}, {"b": 1}), ("a", "b")],
)
def test_likeness_is_of_type_and_digits(one, other):
    assert same(one, one) and same(other, other)
    assert not same(one, other)
