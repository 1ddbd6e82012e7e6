import hashlib
import os
import socket
import subprocess
import sys
from datetime import date
from decimal import Decimal

import pytest

from tarebook.toml_source import Mistake, MistakesFound, parse_source, read_source, reading

TEXT = """\
# a made-up car
name = "Sample"
[[part]]
kinds = ["seat", "trim"]
mass = { value = 12.50, unit = "kg" }
note = '''
two lines'''
"""


def mistakes_in(content: str | bytes) -> list[tuple[int, int, int, str, str]]:
    with pytest.raises(MistakesFound) as caught:
        parse_source(content if isinstance(content, bytes) else content.encode(), "f.toml")
    assert {m.file for m in caught.value.mistakes} == {"f.toml"}
    return [(m.line, m.column, m.length, m.message, m.hint) for m in caught.value.mistakes]


# --- What a source holds ---


def test_a_source_has_the_text_the_data_and_the_digest():
    source = parse_source(TEXT.encode(), "car.toml")
    assert (source.name, source.text) == ("car.toml", TEXT)
    assert source.data["part"][0]["mass"] == {"value": Decimal("12.50"), "unit": "kg"}
    assert str(source.data["part"][0]["mass"]["value"]) == "12.50"
    assert source.sha256 == hashlib.sha256(TEXT.encode()).hexdigest()


def test_numbers_are_exact():
    data = parse_source(b"a = 0.1\nb = 1_000.5e-2\nc = 9007199254740991\nd = 2025-01-02\n", "f").data
    assert data == {
        "a": Decimal("0.1"),
        "b": Decimal("10.005"),
        "c": 2**53 - 1,
        "d": date(2025, 1, 2),
    }


def test_a_byte_order_mark_is_no_part_of_the_text_but_of_the_digest():
    content = b"\xef\xbb\xbfa = 1\r\nb = 2\r\n"
    source = parse_source(content, "f")
    assert source.text == "a = 1\r\nb = 2\r\n"
    assert source.data == {"a": 1, "b": 2}
    assert source.place(("a",), key=True) == (1, 1, 1, "a = 1")
    assert source.place(("b",)) == (2, 5, 1, "b = 2")
    assert source.sha256 == hashlib.sha256(content).hexdigest()


def test_columns_after_a_byte_order_mark_and_crlf_count_only_what_is_seen():
    assert mistakes_in(b"\xef\xbb\xbfa = x\r\n")[0][:3] == (1, 5, 1)
    assert mistakes_in(b"\xef\xbb\xbfa = \xff\r\n")[0][:3] == (1, 5, 4)
    assert mistakes_in("é = 1\r\nb = nan\r\n".replace("é", "'é'"))[0][:3] == (2, 5, 3)


# --- Places ---


@pytest.mark.parametrize(
    ("path", "key", "place"),
    [
        (("name",), False, (2, 8, 8)),
        (("name",), True, (2, 1, 4)),
        (("part", 0, "kinds", 1), False, (4, 18, 6)),
        (("part", 0, "kinds", 1), True, (4, 18, 6)),
        (("part", 0, "mass", "unit"), False, (5, 32, 4)),
        (("part", 0, "mass", "unit"), True, (5, 25, 4)),
        (("part", 0), False, (3, 1, 8)),
        (("part", 0), True, (3, 3, 4)),
        (["part", 0, "note"], False, (6, 8, 3)),  # to the end of its first line
        # what does not exist: the key of the nearest parent
        (("part", 0, "cost"), False, (3, 3, 4)),
        (("part", 0, "mass", "sigma"), False, (5, 1, 4)),
        (("part", 0, "kinds", 2), False, (4, 1, 5)),
        (("part", 0, "kinds", 1, "x", "y"), False, (4, 18, 6)),
        (("part", 1), False, (3, 3, 4)),
        (("name", "x"), False, (2, 1, 4)),
        # an element that the data does not have, such as the name of a variant, is passed over
        (("part", 0, "variant", "mass", "unit"), False, (5, 32, 4)),
        (("part", 0, "mass", "variant"), False, (5, 1, 4)),
        # the empty path and what has no parent
        ((), False, (1, 1, 1)),
        ((), True, (1, 1, 1)),
        (("class", 0, "id"), False, (1, 1, 1)),
    ],
)
def test_the_place_of_a_path(path, key, place):
    source = parse_source(TEXT.encode(), "car.toml")
    line = TEXT.split("\n")[place[0] - 1]
    assert source.place(path, key=key) == (*place, line)
    if not key:
        assert source.line(path) == place[0]
    assert source.mistake(path, "m", "h", key=key) == Mistake("m", "h", "car.toml", *place, line)


def test_a_mistake_needs_no_hint():
    assert parse_source(b"", "f").mistake((), "m") == Mistake("m", "", "f", 1, 1, 1, "")


def test_the_text_is_located_once_and_only_when_asked(monkeypatch):
    from tarebook.toml_source import locate

    calls = []
    locate_for_real = locate.locate
    monkeypatch.setattr(locate, "locate", lambda text: calls.append(text) or locate_for_real(text))
    source = parse_source(TEXT.encode(), "f")
    assert calls == []
    source.place(("name",))
    source.place(("part", 0))
    assert calls == [TEXT]


def test_mistakes_on_one_line_share_its_text():
    source = parse_source(b"a = [1, 2]\n", "f")
    assert source.place(("a", 0))[3] is source.place(("a", 1))[3]


def test_reading_a_sound_file_needs_neither_the_locator_nor_the_explanations():
    code = (
        "import sys; from tarebook.toml_source import parse_source; parse_source(b'a = 1', 'f');"
        "print([m for m in ('locate', 'syntax') if f'tarebook.toml_source.{m}' in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


# --- What is refused ---

DEEP = "tables and lists are nested more than 32 deep here"
NEARER = "give these values nearer to the top"
TOO_LARGE = (
    "this number is too large: it must lie between -9,007,199,254,740,992 and 9,007,199,254,740,992",
    "check it for a slip, or choose a larger unit",
)
NOT_FINITE = (
    "this is not a finite number",
    "give a number, or leave the key out if it is not known",
)
DOTS = ("this key has more than 32 dots", "use tables that are nested less deeply")


def test_a_file_over_one_mebibyte():
    assert parse_source(b"#" * 1024 * 1024, "f").data == {}
    assert mistakes_in(b"#" * (1024 * 1024 + 1)) == [
        (
            1,
            1,
            1,
            "the file is larger than 1 MiB, the most that is read",
            "check that this is the file you meant, or split it",
        )
    ]


@pytest.mark.parametrize(
    ("content", "place", "byte"),
    [
        (b"\xff\xfea\x00", (1, 1, 4), "0xff"),
        (b"a = 1\nb = '\xc3\xa9\x80'\n", (2, 7, 4), "0x80"),
        (b"a = 1\r\nb = '\xe2\x82'\r\n", (2, 6, 8), "0xe2"),
        (b"a = '\xed\xa0\x80'", (1, 6, 4), "0xed"),
        (b"a\xc3", (1, 2, 4), "0xc3"),
    ],
)
def test_bytes_that_are_not_utf8(content, place, byte):
    assert mistakes_in(content) == [(*place, f"the byte {byte} here is not valid UTF-8", "save the file as UTF-8")]


def test_the_line_of_a_bad_byte_is_shown():
    with pytest.raises(MistakesFound) as caught:
        parse_source(b"x = 1\na = 'L\xfcfter'\r\n", "f")
    assert caught.value.mistakes[0].source_line == "a = 'L\\xfcfter'"


def test_a_nul():
    assert mistakes_in(b"a = 1\n# x\x00\x00\n") == [
        (
            2,
            4,
            1,
            "there is a NUL character here, which no text file has",
            "check that this is the file you meant, and save it as plain text",
        )
    ]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("x = 1\n" + ".".join("a" * 34) + " = 1", (2, 1, 67)),
        (f"[{'a . ' * 34}b]", (1, 2, 34 * 4 + 1)),
        ("x = {y = 1, 'a'." + '"b\\"".' * 40 + "c = 1}", (1, 13, 4 + 40 * 6 + 1)),
        ('x = """\n"\n""" # "\n' + "a." * 33 + "b = '''", (4, 1, 67)),
    ],
)
def test_a_key_with_too_many_dots(text, place):
    assert mistakes_in(text) == [(*place, *DOTS)]


@pytest.mark.parametrize(
    "text",
    [
        "x = '" + "a." * 40 + "'",
        'x = "\\"' + "a." * 40 + '"',
        "x = 1 # " + "a." * 40,
        'x = """"\n' + "a." * 40 + '\n""""',
        "x = '''\n''" + "a." * 40 + "\n'''",
        "x = [" + "1.5, " * 40 + "]",
        "x = '..........' # '" + "a." * 40,
        "x = {" + ", ".join(f"a{n}.b = 1" for n in range(40)) + "}",
    ],
)
def test_dots_elsewhere_than_in_a_key_are_no_matter(text):
    assert set(parse_source(text.encode(), "f").data) == {"x"}


def test_a_key_with_as_many_dots_as_may_be_is_refused_only_for_its_depth():
    assert mistakes_in(".".join("a" * 33) + " = 1")[0][3] == DEEP
    assert parse_source((".".join("a" * 32) + " = 1").encode(), "f").data


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("x = 1\na = " + "1" * 4301, (2, 5, 4301)),
        ("# " + "2" * 5000 + "\na = [1, -" + "1_" * 4301 + "1]", (2, 10, 8603)),
    ],
)
def test_a_number_of_too_many_digits(text, place):
    assert mistakes_in(text) == [(*place, "this number has too many digits", "check it for a slip")]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("x = 1\na = " + "[" * 500 + "]" * 500, (2, 37, 1)),
        ("a = [\n'[', # [\n" + "{b = " * 500, (3, 5 * 31 + 1, 1)),
    ],
)
def test_nesting_that_the_parser_gives_up_on(text, place):
    assert mistakes_in(text) == [(*place, DEEP, NEARER)]


def test_nesting_that_is_too_deep():
    assert parse_source(("a = " + "[" * 32 + "]" * 32).encode(), "f").data
    assert parse_source(("a = " + "[" * 31 + "1" + "]" * 31).encode(), "f").data
    assert mistakes_in("a = " + "[" * 32 + "1" + "]" * 32) == [(1, 36, 3, DEEP, NEARER)]
    assert mistakes_in("x = 1\n[" + ".".join("a" * 31) + ".b]\nc = 1\nd = 1") == [(2, 64, 1, DEEP, NEARER)]


def test_a_file_with_too_many_keys_and_values():
    assert len(parse_source(b"a = [" + b"1," * 99_999 + b"]", "f").data["a"]) == 99_999
    assert mistakes_in(b"a = [" + b"1," * 99_999 + b"nan]") == [
        (
            1,
            1,
            1,
            "the file holds more than 100,000 keys and values",
            "split it into several files",
        )
    ]


def test_texts_and_keys_that_are_too_long():
    assert parse_source(b"a = '" + b"x" * 4000 + b"'\n" + b"k" * 4000 + b" = 1", "f").data
    text = "b = [1, '" + "é" * 4001 + "']\n" + "k" * 4001 + " = 1\n"
    assert mistakes_in(text) == [
        (1, 9, 4003, "this text is longer than 4,000 characters", "shorten it"),
        (2, 1, 4001, "this key is longer than 4,000 characters", "shorten it"),
    ]


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        ("9007199254740992", TOO_LARGE),
        ("-9007199254740992", TOO_LARGE),
        ("0x20000000000000", TOO_LARGE),
        ("9007199254740992.0", TOO_LARGE),
        ("-1e16", TOO_LARGE),
        ("1e999999999", TOO_LARGE),
        ("nan", NOT_FINITE),
        ("-nan", NOT_FINITE),
        ("+inf", NOT_FINITE),
        ("-inf", NOT_FINITE),
        ("1e9999999999999999999999", ("the exponent of this number is too large", "check it for a slip")),
        ("1e-9999999999999999999999", ("the exponent of this number is too large", "check it for a slip")),
        ("1e-101", ("this number has more than 100 decimals", "round it")),
        ("0." + "3" * 101, ("this number has more than 100 decimals", "round it")),
    ],
)
def test_numbers_beyond_reckoning(number, sentence):
    assert mistakes_in(f"x = 1\na = {{ b = [1.5, {number}] }}\n") == [(2, 17, len(number), *sentence)]


@pytest.mark.parametrize("number", ["9007199254740991", "-9007199254740991.9", "1e-100", "0." + "3" * 100])
def test_numbers_just_within_bounds(number):
    assert parse_source(f"a = {number}".encode(), "f").data == {"a": Decimal(number)}


def test_all_that_is_out_of_bounds_is_told_at_once_in_order():
    found = mistakes_in("a = nan\n[[b]]\nc = 1\nd = [inf, 1, 9999999999999999]\n")
    assert [place[:2] for place in found] == [(1, 5), (4, 6), (4, 14)]


# --- Files ---


def refusal(path, name=None) -> Mistake:
    with pytest.raises(MistakesFound) as caught:
        read_source(path, name)
    (mistake,) = caught.value.mistakes
    assert (mistake.line, mistake.column, mistake.length, mistake.source_line) == (1, 1, 1, "")
    return mistake


def test_reading_a_file(tmp_path):
    path = tmp_path / "car.toml"
    path.write_bytes(TEXT.encode())
    assert read_source(path).name == str(path)
    source = read_source(path, "mine")
    assert (source.name, source.text) == ("mine", TEXT)


def test_a_missing_file(tmp_path):
    mistake = refusal(tmp_path / "car.toml")
    assert mistake.file == str(tmp_path / "car.toml")
    assert (mistake.message, mistake.hint) == ("there is no such file", "check the name and the folder")


def test_a_folder(tmp_path):
    mistake = refusal(tmp_path, "here")
    assert mistake.file == "here"
    assert (mistake.message, mistake.hint) == ("this is a folder, not a file", "name a file inside it")


ODD = ("this is not a regular file but a pipe or a device", "save its content to a file and name that")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_without_waiting_for_it(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    mistake = refusal(tmp_path / "pipe")
    assert (mistake.message, mistake.hint) == ODD


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_that_takes_the_place_of_a_file_is_refused_too(tmp_path, monkeypatch):
    path = tmp_path / "car.toml"
    path.write_text("a = 1")
    open_for_real = os.open

    def swap_and_open(name, flags):
        path.unlink()
        os.mkfifo(path)
        return open_for_real(name, flags)

    monkeypatch.setattr(reading.os, "open", swap_and_open)
    assert refusal(path).message == ODD[0]


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="this system has no such sockets")
def test_a_socket(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # the name of a socket must be short
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind("s")
        assert refusal(tmp_path / "s").message == ODD[0]


@pytest.mark.skipif(not os.path.exists("/dev/null"), reason="this system has no such device")  # noqa: PTH110
def test_a_device(tmp_path):
    assert refusal(type(tmp_path)("/dev/null")).message == ODD[0]


def test_an_unreadable_file(tmp_path, monkeypatch):
    path = tmp_path / "car.toml"
    path.write_text("a = 1")

    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(reading.os, "open", refuse)
    mistake = refusal(path)
    assert mistake.message == "this file may not be read"
    assert mistake.hint == "change its permissions so that you may read it"


def test_a_disk_that_fails(tmp_path, monkeypatch):
    path = tmp_path / "car.toml"
    path.write_text("a = 1")

    def fail(*_):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(reading.os, "open", fail)
    mistake = refusal(path)
    assert mistake.message == "this file cannot be read: Input/output error"
    assert mistake.hint == "check its name and its disk"


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_a_name_that_no_file_can_have(tmp_path, name):
    assert refusal(tmp_path / name).message.startswith("this file cannot be read: ")


def test_a_link_to_itself(tmp_path):
    path = tmp_path / "loop"
    path.symlink_to(path)
    assert refusal(path).message.startswith("this file cannot be read: ")


def test_no_more_of_a_large_file_is_read_than_needed(tmp_path):
    path = tmp_path / "large.toml"
    with path.open("wb") as file:
        file.truncate(1 << 40)  # a terabyte of nothing, without taking any room
    assert refusal(path).message == "the file is larger than 1 MiB, the most that is read"
