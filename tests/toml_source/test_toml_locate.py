import datetime
from decimal import Decimal
from typing import Any

import pytest
import tomli
from hypothesis import given, settings
from hypothesis import strategies as st

from tarebook.toml_source.locate import Span, locate


def offsets_of(span: Span, text: str) -> tuple[int, int]:
    """The offsets again, from lines and columns."""
    lines = text.split("\n")
    before = [sum(len(line) + 1 for line in lines[: n - 1]) for n in (span.line, span.end_line)]
    return before[0] + span.column - 1, before[1] + span.end_column - 1


def read_value(piece: str) -> Any:
    return tomli.loads(f"x = {piece}", parse_float=Decimal)["x"]


def everything(data, path=()):
    """Every path in the data, with its value."""
    if path:
        yield path, data
    if isinstance(data, (dict, list)):
        for key, item in data.items() if isinstance(data, dict) else enumerate(data):
            yield from everything(item, (*path, key))


def check(text: str) -> dict[str, Any]:
    """Holds the places in a text against what the parser reads there."""
    data = tomli.loads(text, parse_float=Decimal)
    places = locate(text)
    expected = dict(everything(data))
    assert set(places.keys) == set(places.values) == set(expected)
    for path, value in expected.items():
        key, span = places.keys[path], places.values[path]
        assert offsets_of(key, text) == (key.start, key.end)
        assert offsets_of(span, text) == (span.start, span.end)
        piece = text[span.start : span.end]
        if isinstance(path[-1], str):
            assert tomli.loads(text[key.start : key.end] + " = 1") == {path[-1]: 1}
        elif key != span:  # an item of an array of tables is called as the array is
            assert tomli.loads(text[key.start : key.end] + " = 1") == {path[-2]: 1}
        if not isinstance(value, (dict, list)):
            assert (type(read_value(piece)), read_value(piece)) == (type(value), value)
        elif key == span or text[: span.start].rstrip(" \t").endswith("="):  # written inline
            assert read_value(piece) == value
        else:  # the header or dotted key that mentions the table first
            assert span.start <= key.start < key.end <= span.end
            assert "\n" not in piece
    return data


# --- Documents made up at random, in every style ---

KEYS = st.text(st.sampled_from("ab1-_ .é\"'\\#=[\n\u202e"), max_size=4)
TEXTS = st.text(st.sampled_from("ab \t\n\"'\\#=,[]{}é\U0001f600\x1b\r"), max_size=9)
ZONES = st.sampled_from([None, datetime.UTC, datetime.timezone(datetime.timedelta(hours=-5))])
NUMBERS = st.integers(-999, 999) | st.decimals(-99, 99, allow_nan=False, places=2)
LEAVES = (
    TEXTS
    | NUMBERS
    | st.booleans()
    | st.dates(datetime.date(1000, 1, 1))
    | st.times()
    | st.datetimes(datetime.datetime(1000, 1, 1), timezones=ZONES)
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(KEYS, inner, max_size=4)
        | st.lists(st.dictionaries(KEYS, inner, max_size=3), max_size=3)
    ),
    max_leaves=12,
)
TABLES = st.dictionaries(KEYS, VALUES, max_size=5)

ESCAPES = {"\\": "\\\\", '"': '\\"', "\t": "\\t", "\r": "\\r", "\n": "\\n", "\x1b": "\\e", "é": "\\xe9"}


class Writer:
    """Writes data as TOML, in a manner chosen anew for each piece."""

    def __init__(self, draw) -> None:
        self.draw = draw

    def pick(self, *choices):
        return self.draw(st.sampled_from(choices))

    def document(self, data) -> str:
        text = "\n".join(self.table(data, [])) + self.pick("", "\n")
        return text.replace("\n", self.pick("\n", "\r\n"))

    def table(self, data, header) -> list[str]:
        """The lines of a table: what stands under its header, then the tables with own headers."""
        entries, tables = [], []
        for name, value in data.items():
            if isinstance(value, dict) and self.pick(True, False):
                inner = [*header, name]
                lines = self.table(value, inner)
                if not (value and lines[0].startswith("[")) or self.pick(True, False):
                    tables.append(f"{self.pick('', '  ')}[{self.key(inner)}]{self.noise()}")
                tables += lines
            elif isinstance(value, list) and value and all(isinstance(v, dict) for v in value) and self.pick(0, 1):
                for item in value:
                    tables.append(f"[[{self.key([*header, name])}]]{self.noise()}")
                    tables += self.table(item, [*header, name])
            else:
                entries += self.entry([name], value)
        return entries + tables

    def entry(self, names, value) -> list[str]:
        if isinstance(value, dict) and value and self.pick(True, False):
            return [line for name, item in value.items() for line in self.entry([*names, name], item)]
        blank = self.pick("", " ", "\t")
        return [f"{blank}{self.key(names)}={blank}{self.value(value)}{self.noise()}"]

    def key(self, names) -> str:
        blank = self.pick("", "", " ")
        return blank + f"{blank}.{blank}".join(map(self.name, names)) + blank

    def name(self, name) -> str:
        manners = [self.basic]
        if name and name.isascii() and all(c.isalnum() or c in "-_" for c in name):
            manners += [str, str]
        if "'" not in name and name.replace("\u202e", "").isprintable():
            manners.append("'{}'".format)
        return self.pick(*manners)(name)

    def basic(self, text) -> str:
        return '"' + "".join(self.pick(c, ESCAPES[c]) if c == "é" else ESCAPES.get(c, c) for c in text) + '"'

    def value(self, value) -> str:
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, bool):
            return str(value).lower()
        if isinstance(value, datetime.datetime):
            return value.isoformat(self.pick("T", " ", "t"))
        if isinstance(value, (datetime.date, datetime.time)):
            return value.isoformat()
        if isinstance(value, list):
            return self.inside("[", map(self.value, value), "]")
        if isinstance(value, dict):
            return self.inside("{", (line for n, v in value.items() for line in self.inline(n, v)), "}")
        return f"{value:f}" if isinstance(value, Decimal) else str(value)

    def inline(self, name, value):
        if isinstance(value, dict) and value and self.pick(True, False):
            return [f"{self.key([name, inner])} = {self.value(item)}" for inner, item in value.items()]
        return [f"{self.key([name])} = {self.value(value)}"]

    def inside(self, opener, pieces, closer) -> str:
        pieces = list(pieces)
        last = self.pick("", ",") if pieces else ""
        return opener + self.space() + f"{self.space()},{self.space()}".join(pieces) + last + self.space() + closer

    def space(self) -> str:
        return self.pick("", " ", " ", "\n  ", " # ] } , \" '''\n", "\n\n#\n")

    def noise(self) -> str:
        return self.pick("", "", "", ' # = [x] """', "\n", "\n\n# a = 1")

    def text(self, text) -> str:
        manners = [self.basic]
        if not set(text) & set("\x1b\r"):
            plain = text.replace("\\", "\\\\")
            if '"""' not in plain:
                cut = "" if plain[:1].isspace() else self.pick("", "\\\n   \n ")
                manners.append(lambda _: f'"""\n{cut}{plain}"""')
            if "'''" not in text:
                manners.append("'''\n{}'''".format)
            if not set(text) & set("'\n"):
                manners.append("'{}'".format)
        return self.pick(*manners)(text)


@st.composite
def documents(draw):
    data = draw(TABLES)
    return data, Writer(draw).document(data)


@settings(max_examples=300, deadline=None)
@given(documents())
def test_every_place_in_a_random_document_reads_back_as_what_stands_there(document):
    data, text = document
    read = check(text)
    if "\r\n" not in text:  # the parser reads each CRLF in a text as a line feed
        assert read == data


# --- Single constructs ---


@pytest.mark.parametrize(
    "text",
    [
        "",
        "# only a comment",
        "a = 1",
        "\r\n\r\n a = 1 # x\r\nb = [\r\n 1, # one\r\n]\r\n",
        'a = """"""\nb = """x""\\""""""\nc = """"x"""""\n d = ""',
        "a = ''''''\nb = '''x'''''\nc = ''\nd = ''''x'''",
        'a = """\\\n\n  x \\  \n y"""',
        'a = """\r\nx\r\n"""\r\nb = 1\r\n',
        "a = 2025-01-02 03:04:05.5Z # x\nb = [2025-01-02 03:04:05,2025-01-02 ,03:04:05]\nc = 2025-01-02 # d",
        "a = {b.c = 1, b.d = {e = [{}, {f.g = 2}]}}",
        "a = {\n b = 1, # x\n c = 2,\n}\nd = [[], [[1], [2, [3]]],]",
        'a = "\\e\\x41\\u00e9\\U0001F600"\n"\\x41 b".\'c.d\'."" = 1',
        "[[a]]\n[a.b]\nc = 1\n[[a.d]]\n[[a.d]]\nx = 1\n[a.d.e]\n[[a]]\n[[a.d]]\n[a.b]",
        "[a.b.c]\n[a]\nx = 1\n[a.b]\ny = 2",
        "[ a . 'b' ]\nc . d = 1\n[[ e.\"f]\" ]]\n",
        "a.b.c = 1\na.b.d = 2\na.e = 3",
        "a = [1,2]#]\nb = +1_000\nc = -0.5e-3\nd = 0xFF\ne = true",
        "1.2 = 3\n-.a = 1\ntrue = false",
    ],
)
def test_every_place_in_a_construct_reads_back_as_what_stands_there(text):
    assert check(text) == tomli.loads(text, parse_float=Decimal)


@pytest.mark.parametrize(
    ("text", "path", "key", "value"),
    [
        # line, column, end line, end column, piece of the text
        ("mass = 12 # kg", ("mass",), (1, 1, 1, 5, "mass"), (1, 8, 1, 10, "12")),
        ("\r\n\tmass\t=\t12\r\n", ("mass",), (2, 2, 2, 6, "mass"), (2, 9, 2, 11, "12")),
        ('"a.b" = "é"', ("a.b",), (1, 1, 1, 6, '"a.b"'), (1, 9, 1, 12, '"é"')),
        ("'é' = 1", ("é",), (1, 1, 1, 4, "'é'"), (1, 7, 1, 8, "1")),
        ('a = """\nx\n""""', ("a",), (1, 1, 1, 2, "a"), (1, 5, 3, 5, '"""\nx\n""""')),
        ("a.b = 1\na.c = 2", ("a",), (1, 1, 1, 2, "a"), (1, 1, 1, 4, "a.b")),
        ("a.b = 1\na.c = 2", ("a", "c"), (2, 3, 2, 4, "c"), (2, 7, 2, 8, "2")),
        ("a = [1,\n [2]]", ("a",), (1, 1, 1, 2, "a"), (1, 5, 2, 6, "[1,\n [2]]")),
        ("a = [1,\n [2]]", ("a", 1), (2, 2, 2, 5, "[2]"), (2, 2, 2, 5, "[2]")),
        ("a = [1,\n [2]]", ("a", 1, 0), (2, 3, 2, 4, "2"), (2, 3, 2, 4, "2")),
        ("a = { b = { c = 1 } }", ("a", "b", "c"), (1, 13, 1, 14, "c"), (1, 17, 1, 18, "1")),
        ("a = { b = { c = 1 } }", ("a", "b"), (1, 7, 1, 8, "b"), (1, 11, 1, 20, "{ c = 1 }")),
        ("a = {b.c = 1}", ("a", "b"), (1, 6, 1, 7, "b"), (1, 6, 1, 9, "b.c")),
        (" [x.y]\nz = 1", ("x",), (1, 3, 1, 4, "x"), (1, 2, 1, 7, "[x.y]")),
        (" [x.y]\nz = 1", ("x", "y"), (1, 5, 1, 6, "y"), (1, 2, 1, 7, "[x.y]")),
        (" [x.y]\nz = 1", ("x", "y", "z"), (2, 1, 2, 2, "z"), (2, 5, 2, 6, "1")),
        ("[x.y]\n[x]\n", ("x",), (2, 2, 2, 3, "x"), (2, 1, 2, 4, "[x]")),
        ("[x]\n[x.y]\n", ("x",), (1, 2, 1, 3, "x"), (1, 1, 1, 4, "[x]")),
        ("[[x]]\n[[x]] # 2\n", ("x",), (1, 3, 1, 4, "x"), (1, 1, 1, 6, "[[x]]")),
        ("[[x]]\n[[x]] # 2\n", ("x", 1), (2, 3, 2, 4, "x"), (2, 1, 2, 6, "[[x]]")),
        ("[[x]]\n[[x]]\n[x.y]\nz=[5]", ("x", 1, "y"), (3, 4, 3, 5, "y"), (3, 1, 3, 6, "[x.y]")),
        ("[[x]]\n[[x]]\n[x.y]\nz=[5]", ("x", 1, "y", "z", 0), (4, 4, 4, 5, "5"), (4, 4, 4, 5, "5")),
        ("[[x]]\n[[x.y]]\n[[x]]\n[[x.y]]\n", ("x", 1, "y", 0), (4, 5, 4, 6, "y"), (4, 1, 4, 8, "[[x.y]]")),
        ("d = 2025-01-02 03:04:05 # x", ("d",), (1, 1, 1, 2, "d"), (1, 5, 1, 24, "2025-01-02 03:04:05")),
    ],
)
def test_exact_spans(text, path, key, value):
    places = locate(text)
    for span, expected in ((places.keys[path], key), (places.values[path], value)):
        assert (*span[:4], text[span.start : span.end]) == expected


def test_a_path_of_the_brief_kind():
    text = '[[class]]\nid = "s"\n[[class.ban]]\n[[class.ban]]\n[[class.ban]]\nkinds = [ "seat", "trim" ]\n'
    span = locate(text).values["class", 0, "ban", 2, "kinds", 1]
    assert text[span.start : span.end] == '"trim"'
    assert span[:4] == (6, 19, 6, 25)


def test_what_is_nested_too_deeply_has_no_places_and_costs_none():
    text = "a = " + "[" * 40 + "']', # ]\n" + "1" + "]" * 40 + "\nb = {c = 1}\n"
    places = locate(text)
    assert max(map(len, places.values)) == 32
    deepest = places.values[("a",) + (0,) * 31]
    assert text[deepest.start : deepest.end] == "[" * 9 + "']', # ]\n1" + "]" * 9
    assert text[slice(*places.values["b", "c"][4:])] == "1"
