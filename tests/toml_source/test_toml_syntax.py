"""Every sentence about a text that is not TOML, each with its exact place."""

import pytest
import tomli
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tarebook.toml_source import Mistake, MistakesFound, parse_source, render
from tarebook.toml_source.syntax import explain

CURLY = ("curly quotes are not quotes in TOML", "use straight quotes, \" or '")
RETURN = ("a carriage return stands here alone", "save the file with ordinary line endings")
ODD_KEY = "a key with spaces or accented letters in it needs quotes"
NOT_CLOSED = "this list is never closed"
TABLE_NOT_CLOSED = "this inline table is never closed"
NO_VALUE = ("there is no value here", "write one, or take the entry out")
NO_DATE = ("there is no such date", "write year-month-day, as in 2025-03-31")
BACKSLASH = (
    "a backslash in double quotes begins a special character, and this is none",
    r"write \\ for a backslash, or use single quotes: 'C:\cars'",
)
UNIT = "a number with something after it, such as a unit, needs quotes"
ZERO = (
    "a number must not begin with a zero",
    "take the zero out, or put quotes round the whole if it is a text",
)
NOT_A_DATE = (
    "this is not a date that TOML knows",
    "write year-month-day, as in 2025-03-31; or put quotes round it if it is a text",
)
APOSTROPHE = "take it out; or, if ' belongs to the text, put \" round the whole"
QUOTE = "take it out; or, if \" belongs to the text, put ' round the whole"
COLON = "a key and its value are joined by `=`, not by `:`"
NO_KEY = ("a key cannot begin with this", "begin it with a letter or a digit, or put it in quotes")
AFTER_VALUE = ("nothing may follow the value on its line", "take this out, or begin it with #")
YES, OFF = (f"`{word}` is not a value that TOML knows" for word in ("yes", "Off"))
NO_EQUALS = "there is no `=` after this key"
FOLLOWS_QUOTE = "something follows the closing quote of this text"
OWN_LINE = ("this must start on a line of its own", "put each entry on its own line")
NOT_A_VALUE = (
    "this is not a value that TOML knows",
    'put quotes round a text ("like this"); write a number with digits and a point only',
)


def mistake_in(text: str | bytes) -> Mistake:
    with pytest.raises(MistakesFound) as caught:
        parse_source(text if isinstance(text, bytes) else text.encode(), "car.toml")
    (mistake,) = caught.value.mistakes
    assert mistake.file == "car.toml"
    return mistake


@pytest.mark.parametrize(
    ("text", "place", "message", "hint"),
    [
        # the decimal comma
        ("mass = 12,5\n", (1, 8, 4), "a number cannot have a decimal comma", "write 12.5"),
        ("a = -1_2 , 50 # kg", (1, 5, 9), "a number cannot have a decimal comma", "write -1_2.50"),
        ("x = {a = 12,5}", (1, 10, 4), "a number cannot have a decimal comma", "write 12.5"),
        ("x = {a = 12,5, b = 1}", (1, 10, 4), "a number cannot have a decimal comma", "write 12.5"),
        # quotes
        ("a = 1\nb = “x”", (2, 5, 1), *CURLY),
        ('b = "x”\nc = 1', (1, 7, 1), *CURLY),
        ("b = [1, ‘x’]", (1, 9, 1), *CURLY),
        ("b = [1 ‘x’]", (1, 8, 1), *CURLY),
        ("b = 'x' ’", (1, 9, 1), *CURLY),
        ("“b” = 1", (1, 1, 1), *CURLY),
        ("[a.“b”]", (1, 3, 1), "a part of the key is missing after this dot", "write it"),
        ("[“b”]", (1, 2, 1), *CURLY),
        ("b = true ”", (1, 10, 1), *CURLY),
        ('a = "x\nb = 1', (1, 5, 2), "the closing quote of this text is missing", 'write " at its end'),
        ('a = "x', (1, 5, 2), "the closing quote of this text is missing", 'write " at its end'),
        ("a = ['x', 'y]", (1, 11, 3), "the closing quote of this text is missing", "write ' at its end"),
        ("a = 'it’s\nb = ''", (1, 5, 5), "the closing quote of this text is missing", "write ' at its end"),
        ('a = "\\"x', (1, 5, 4), "the closing quote of this text is missing", 'write " at its end'),
        ('# "\na = """x"" \\"""\nb = 1', (2, 5, 3), "this text is never closed", 'write """ at its end'),
        ("a = 1\nb = '''x''", (2, 5, 3), "this text is never closed", "write ''' at its end"),
        ('a = x y"', (1, 5, 3), "the opening quote of this text is missing", 'write "x y"'),
        ("a = x'", (1, 5, 1), "the opening quote of this text is missing", "write 'x'"),
        ("a = 'it's'", (1, 9, 2), FOLLOWS_QUOTE, APOSTROPHE),
        ('a = "x" y ', (1, 9, 1), FOLLOWS_QUOTE, QUOTE),
        ("a = 'x\nb = 1 # ”", (1, 5, 2), "the closing quote of this text is missing", "write ' at its end"),
        ("a = 'x\nb = \"y\"", (1, 5, 2), "the closing quote of this text is missing", "write ' at its end"),
        # words
        ("silence = forbids", (1, 11, 7), "a text needs quotes", 'write "forbids"'),
        ("a = [seat front, 1]", (1, 6, 10), "a text needs quotes", 'write "seat front"'),
        ("a = größe # x", (1, 5, 5), "a text needs quotes", 'write "größe"'),
        ("a = seat.front", (1, 5, 10), "a text needs quotes", 'put it in quotes, "like this"'),
        ("a = trueish", (1, 5, 7), "a text needs quotes", 'write "trueish"'),
        ("a = infinite", (1, 5, 8), "a text needs quotes", 'write "infinite"'),
        ("a = True", (1, 5, 4), "`True` must be in lower case", "write true"),
        ("a = [FALSE]", (1, 6, 5), "`FALSE` must be in lower case", "write false"),
        ("a = yes", (1, 5, 3), YES, 'write true, or "yes" if a text is meant'),
        ("a = Off", (1, 5, 3), OFF, 'write false, or "Off" if a text is meant'),
        ("a = on track", (1, 5, 8), "a text needs quotes", 'write "on track"'),
        # backslashes
        ('a = "C:\\cars"', (1, 8, 2), *BACKSLASH),
        ('a = "C:\\users"', (1, 8, 2), *BACKSLASH),
        ('a = "C:\\x9"', (1, 8, 2), *BACKSLASH),
        ('a = "\\ud800"', (1, 6, 2), *BACKSLASH),
        ('a = """\n x\\ y"""', (2, 3, 2), *BACKSLASH),
        ('"\\c" = 1', (1, 2, 2), *BACKSLASH),
        # numbers and dates
        ("m = 13.4 lb # x", (1, 5, 7), UNIT, 'write "13.4 lb"'),
        ("m = [1, 12kg]", (1, 9, 4), UNIT, 'write "12kg"'),
        ("m = 007", (1, 5, 3), *ZERO),
        ("m = 5.", (1, 5, 2), "a number needs a digit after its point", "write 5.0 or 5"),
        ("m = -.5", (1, 5, 3), "a number needs a digit before its point", "write -0.5"),
        ("m = 1;", (1, 6, 1), "no `;` ends a line in TOML", "take it out, or write # before a comment"),
        ("m = (1)", (1, 5, 3), *NOT_A_VALUE),
        ("d = 2025-02-30", (1, 5, 10), *NO_DATE),
        ("d = 2025-13-01", (1, 5, 10), *NOT_A_DATE),
        ("d = 31.3.2025", (1, 5, 9), *NOT_A_DATE),
        # what is missing or too much
        ("a =\nb = 1", (1, 3, 1), *NO_VALUE),
        ("a = 1\nb = # x", (2, 3, 1), *NO_VALUE),
        ("a = {b = }", (1, 8, 1), *NO_VALUE),
        ("a = [1, # x\n , 2]", (2, 2, 1), "a value is missing before this comma", "take the comma out"),
        ("a = [1, # x\n }", (2, 2, 1), "a `]` is expected here", "write `]`"),
        ("a = [}", (1, 6, 1), "a `]` is expected here", "write `]`"),
        ("a = [1,,2]", (1, 8, 1), "a value is missing before this comma", "take the comma out"),
        ("a == 1", (1, 4, 1), "there is one `=` too many here", "write one `=` between key and value"),
        ("mass 12", (1, 1, 4), NO_EQUALS, "write mass = and then the value"),
        ("a = 1\nmass", (2, 1, 4), NO_EQUALS, "write mass = and then the value"),
        ("mass: 12", (1, 5, 1), COLON, "write mass = and then the value"),
        ("x = {a = 1, 5: 2}", (1, 14, 1), COLON, "write 5 = and then the value"),
        ("= 1", (1, 1, 1), "the key before this `=` is missing", "write one, as in mass = 12"),
        ("a = 1 b = 2", (1, 7, 5), *OWN_LINE),
        ("[a] b = 2", (1, 5, 5), *OWN_LINE),
        ("a = true x", (1, 10, 1), *AFTER_VALUE),
        ("// x", (1, 1, 2), "a comment begins with #", "write # here"),
        ("; x", (1, 1, 1), "a comment begins with #", "write # here"),
        # lists and inline tables
        ("a = {b = 1 c = 2}", (1, 12, 1), "a comma is missing before this", "put a comma between items"),
        ("a = [1 2]", (1, 8, 1), "a comma is missing before this", "put a comma between items"),
        ('a = [\n"x"\n"y"]', (3, 1, 3), "a comma is missing before this", "put a comma between items"),
        ("a = [1, [2]\n", (1, 5, 1), NOT_CLOSED, "write `]` at its end"),
        ("a = [1,\n  # x\n", (1, 5, 1), NOT_CLOSED, "write `]` at its end"),
        ("a = [1\nb = 2", (1, 5, 1), NOT_CLOSED, "write `]` at its end"),
        ("a = [1 b = 2", (1, 5, 1), NOT_CLOSED, "write `]` at its end"),
        ("a = [1,\nb = 2", (1, 5, 1), NOT_CLOSED, "write `]` at its end"),
        ("a = ['[',\n1\n[[b]]\n", (1, 5, 1), NOT_CLOSED, "write `]` at its end"),
        ("a = [{b = 1\n", (1, 6, 1), TABLE_NOT_CLOSED, "write `}` at its end"),
        ("a = {b = 1,\n", (1, 5, 1), TABLE_NOT_CLOSED, "write `}` at its end"),
        ("a = {b = 1]", (1, 11, 1), "a `}` is expected here", "write `}`"),
        ("a = [1}", (1, 7, 1), "a `]` is expected here", "write `]`"),
        ("a = {b = 1,, c = 2}", (1, 12, 1), "an entry is missing before this comma", "take the comma out"),
        ("a = [1]]", (1, 8, 1), "this `]` closes nothing", "take it out"),
        ("a = [1]\n]", (2, 1, 1), "this `]` closes nothing", "take it out"),
        # keys and headers
        ("my key = 1", (1, 1, 6), ODD_KEY, 'write "my key"'),
        ("größe = 1", (1, 1, 5), ODD_KEY, 'write "größe"'),
        ("öl = 1", (1, 1, 2), ODD_KEY, 'write "öl"'),
        ("a = 1\n  [my class]", (2, 4, 8), ODD_KEY, 'write "my class"'),
        ("[[größe]]", (1, 3, 5), ODD_KEY, 'write "größe"'),
        ("[a\nb = 1", (1, 1, 2), "this header does not end in `]`", "write [a]"),
        ("[[a.b]\n", (1, 1, 5), "this header does not end in `]]`", "write [[a.b]]"),
        ("[]", (1, 1, 1), "this table has no name", "write a name between the brackets"),
        ("[[ ]]", (1, 2, 1), "this table has no name", "write a name between the brackets"),
        ("[a.]", (1, 3, 1), "a part of the key is missing after this dot", "write it"),
        ("a . = 1", (1, 3, 1), "a part of the key is missing after this dot", "write it"),
        ("!a = 1", (1, 1, 1), *NO_KEY),
        # line ends and control characters
        ("a = 1\rb = 2", (1, 6, 1), *RETURN),
        ("# x\ra = 1", (1, 4, 1), *RETURN),
        ("\r", (1, 1, 1), *RETURN),
        ("a = [1\r]", (1, 7, 1), *RETURN),
        ('a = "x\x01"', (1, 7, 1), "there is an invisible control character here (U+0001)", "take it out"),
        ("# \x7f", (1, 3, 1), "there is an invisible control character here (U+007F)", "take it out"),
    ],
)  # fmt: skip
def test_the_sentence_and_the_place(text, place, message, hint):
    found = mistake_in(text)
    assert ((found.line, found.column, found.length), found.message, found.hint) == (place, message, hint)
    assert found.source_line == text.split("\n")[found.line - 1]


@pytest.mark.parametrize(
    ("text", "place", "key", "first"),
    [
        ("a = 1\nb = 2\na = 3", (3, 1, 1), "a", 1),
        ("a = 1\na = [\n{a = 1, b = 2}\n]\n", (2, 1, 1), "a", 1),
        ("[a]\nb = 1\n[c]\n[a]", (4, 2, 1), "a", 1),
        ("[a]\n'b' = 1\nb = 1", (3, 1, 1), "b", 2),
        ("[[a]]\nb = 1\n[[a]]\nb = 1\nb = 2", (5, 1, 1), "b", 4),
        ("[[a]]\n[a]", (2, 2, 1), "a", 1),
        ("[a]\n[[a]]", (2, 3, 1), "a", 1),
        ("a = 1\n[a.b]", (2, 2, 1), "a", 1),
        ("a = 1\na.b = 1", (2, 1, 1), "a", 1),
        ("a.b = 1\n[a]", (2, 2, 1), "a", 1),
        ("a = {b = 1}\nc = 1\na.d = 1", (3, 1, 1), "a", 1),
        ("a = [1]\n[[a]]", (2, 3, 1), "a", 1),
        ("a = []\n[x]\nb.c = 1\nb.d = 2\nb.c = 3", (5, 3, 1), "c", 3),
        ("[a.b]\n[a]\nb.c = 1", (3, 1, 1), "b", 1),
        ("a = {b = 1}\na.c = {d.e = 1, d.f = 2}", (2, 1, 1), "a", 1),
        ("x.a = 1\nx.b = {c = 1,\n c.d = 2}", (3, 2, 1), "c", 2),
        ("x.y = 1\nx.z = {a = {c = 1}, b = 1,\n 'a' = {c = 2}}", (3, 2, 3), "'a'", 2),
        ("x = {a.b = 1, a.c = 2, a = 3}", (1, 24, 1), "a", 1),
        ("x = {a = {}, a.b = 3}", (1, 14, 1), "a", 1),
        ("\r\n[a]\r\nlonger = 1\r\nlonger = 2\r\n", (4, 1, 6), "longer", 3),
    ],
)
def test_a_key_given_twice(text, place, key, first):
    found = mistake_in(text)
    assert (found.line, found.column, found.length) == place
    assert found.message == f"the key {key} is given twice"
    assert found.hint == f"it is given on line {first} already; keep one of the two"


@pytest.mark.parametrize("text", ["a = " + "x" * 500, "[" + "k" * 500, "a = 1\n" * 2 + "a" * 500])
def test_a_message_quotes_no_more_than_a_piece(text):
    found = mistake_in(text)
    assert len(found.message) < 120
    assert len(found.hint) < 120


PIECES = """
    a b key " \""" ' \'\'\' = . , [ ] [[ ]] { } # \\ \\u \\x4 12 1.5 12,5 0 007 1e9 nan inf true True yes
    forbids “ ” ö é ’ 2025-01-01 12:00:00 : ; // - + ( _ 99999999999999999 1e99999999999999999999
"""
CHARACTERS = [" ", "\t", "\n", "\r\n", "\r", "\u2028", "\x7f", "\x01", "\ufeff"]
LINES = ["x = 1\n", "[t]\n", "[[t]]\n", "a.b = 2\n", 's = "x"\n', "c = {a=1, b=2}\n", "d = [1, 2]\n"]
TOKENS = st.sampled_from(PIECES.split() + CHARACTERS * 3 + LINES * 3)


def check_only_mistakes(content: bytes) -> None:
    """Parses the content; whatever comes of it, it is told properly."""
    shown = content.removeprefix(b"\xef\xbb\xbf").decode(errors="backslashreplace")
    mistakes: tuple[Mistake, ...] = ()
    try:
        source = parse_source(content, "f")
    except MistakesFound as found:
        mistakes = found.mistakes
    assert mistakes or source.text == shown
    for mistake in mistakes:
        assert not mistake.message.endswith(".") and not mistake.message[0].isupper()
        assert not mistake.hint[:1].isupper()
        assert mistake.length >= 1 <= mistake.column
        assert mistake.column + mistake.length - 1 <= max(1, len(mistake.source_line))
        line = shown.split("\n")[mistake.line - 1]
        assert mistake.source_line.rstrip("\r") == line.rstrip("\r")
        assert len(render(mistake).split("\n")) <= 4


@settings(max_examples=1000, deadline=None)
@given(st.lists(TOKENS, max_size=14).map("".join))
@example('a = "\\')
@example('a = """\\ ')
@example("a = [")
@example("[")
@example("a = {a")
def test_nothing_but_mistakes_comes_of_pieces_of_toml(text):
    check_only_mistakes(text.encode())


@settings(max_examples=500, deadline=None)
@given(st.binary(max_size=40) | st.text(max_size=40).map(lambda text: text.encode(errors="surrogatepass")))
def test_nothing_but_mistakes_comes_of_any_bytes(content):
    check_only_mistakes(content)


MIB = 1024 * 1024


@pytest.mark.parametrize(
    ("opening", "filling", "message"),
    [
        ("", "[", "a key cannot begin with this"),
        ("a = ", "[", "tables and lists are nested more than 32 deep here"),
        ("a = ", "{a=", "tables and lists are nested more than 32 deep here"),
        ("", "a.", "this key has more than 32 dots"),
        ("", '"a".', "this key has more than 32 dots"),
        ("", ".'' ", "this key has more than 32 dots"),
        ("", '"', NO_EQUALS),
        ("", "'", NO_EQUALS),
        ('a = """', '\\"""', "this text is never closed"),
        ('a = "', "\\n", "the closing quote of this text is missing"),
        ('a = "', "”x", "the closing quote of this text is missing"),
        ("", "1", NO_EQUALS),
        ("a = ", "1", "this number has too many digits"),
        ("a = 1.", "1", "this number has more than 100 decimals"),
        ("a = 1", " ", None),
        ("a = x", " x", "a text needs quotes"),
        ("a = {b=1, c", " ", NO_EQUALS),
        ("a = {", "b", NO_EQUALS),
        ("", "a = 1\n", "the key a is given twice"),
        ("", "[[a]]\n", "the file holds more than 100,000 keys and values"),
        ("a = [", "1,", NOT_CLOSED),
        ("[a", " a", "this header does not end in `]`"),
        ("a = ", "-", NOT_A_VALUE[0]),
        ("a = [1", "#", NOT_CLOSED),
        ("", "\r", RETURN[0]),
        ("", "\n", None),
    ],
)
def test_hostile_files_of_one_mebibyte_are_answered(opening, filling, message):
    times = (MIB - len(opening)) // len(filling.encode())
    content = (opening + filling * times).encode()
    if message is None:
        assert len(parse_source(content, "f").text) == MIB
        return
    found = mistake_in_any(content)
    assert found.message == message
    assert len(render(found)) < 700


def mistake_in_any(content: bytes) -> Mistake:
    with pytest.raises(MistakesFound) as caught:
        parse_source(content, "f")
    return caught.value.mistakes[0]


@pytest.mark.parametrize(
    ("said", "message", "column"),
    [
        ("Surprising thing", "this is not valid TOML (Surprising thing)", 5),
        ("Cannot do this", "this key is given twice", 4),
    ],
)
def test_what_a_later_parser_may_say_is_passed_on(said, message, column):
    text = "x = 1"
    found = explain(tomli.TOMLDecodeError(said, text, 4), text, "f")
    assert (found.message, found.line, found.column, found.length) == (message, 1, column, 1)
