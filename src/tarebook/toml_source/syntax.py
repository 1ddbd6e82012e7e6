"""Says in plain words, and in the right place, why a text is not valid TOML.

Only imported once a text is refused. The parser stops at the first thing that it cannot read; what
the writer meant is often plain from the text around it, so each explanation looks there.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import tomli

from tarebook.toml_source.limits import MOST_DEPTH, MOST_DOTS
from tarebook.toml_source.locate import Scan
from tarebook.toml_source.mistakes import Mistake, MistakesFound, mistake_at

# Where it starts and ends, what is wrong, and what to do.
Finding = tuple[int, int, str, str]

# How far around a place the patterns look, so that even the slowest is quick on a hostile line.
_FAR = 200
_MOST_QUOTED = 60  # characters of the file in a message

# Every quoted text and comment as one piece. An unfinished one runs to the end of what it could
# have been, so that nothing is read twice, and matches a group.
_TEXT = r"""
    \"""(?:[^"\\]++|\\[\s\S]|""?(?!"))*+(?:"{3,5}|(\\?\Z))
  | '''(?:[^']++|''?(?!'))*+(?:'{3,5}|(\Z))
  | "(?:[^"\\\n]++|\\[^\n])*+(?:"|(\\?$))
  | '[^'\n]*+(?:'|($))
  | \#[^\n]*+
"""
_PART = r"""(?:[A-Za-z0-9_-]++|"(?!"")(?:[^"\\\n]++|\\[^\n])*+"|'(?!'')[^'\n]*+')[ \t]*+"""
_TEXTS = re.compile(_TEXT, re.M | re.X)
_BRACKETS = re.compile(rf"{_TEXT}|(?P<open>[\[{{])|(?P<close>[\]}}])", re.M | re.X)
_LONG_KEYS = re.compile(
    rf"(?P<key>(?:{_PART}\.[ \t]*+){{{MOST_DOTS + 1},}}+(?:{_PART})?+)|{_PART}|{_TEXT}", re.M | re.X
)
# A run of digits is tried from its beginning only: a shorter one is not worth many tries.
_LONG_NUMBER = re.compile(r"^[^#\n]*?(?<![0-9_])((?:[0-9]_?+){4301,}+)", re.M)

_CURLY = "“”„‟‘’‚‛«»"
_CLOSING_CURLY = re.compile(rf"[{_CURLY}](?!\w)")  # before a letter it may be an apostrophe
_NUMBER = r"[+-]?[0-9][0-9_]*"
_NUMBER_BEFORE = re.compile(rf"(?:^|(?<=[=\[{{,\s]))({_NUMBER}(?:\.[0-9_]+)?)[ \t]*\Z")
_DECIMAL_COMMA = re.compile(rf"({_NUMBER})[ \t]*,[ \t]*([0-9]+)")
_DECIMAL_COMMA_BEFORE = re.compile(_DECIMAL_COMMA.pattern + r"[ \t]*\Z")
_WORDS = re.compile(r"[^\W\d][\w\-]*(?:[ \t]+[\w\-]+)*")
_KEY = r"""(?:[A-Za-z0-9_.\-]+|"[^"\n]*"|'[^'\n]*')"""
_ENTRY = re.compile(rf"[ \t]*{_KEY}[ \t]*=")
_HEADER = re.compile(rf"\[\[?[ \t]*{_KEY}[ \t]*\]")
_KEY_BEFORE = re.compile(rf"{_KEY}[ \t]*\Z")
_DATE_LIKE = re.compile(r"[0-9]{1,4}([-/.])[0-9]{1,2}\1[0-9]{1,4}")

_ODD_KEY = "a key with spaces or accented letters in it needs quotes"
_LONE_RETURN = ("a carriage return stands here alone", "save the file with ordinary line endings")
_CURLY_QUOTE = ("curly quotes are not quotes in TOML", "use straight quotes, \" or '")
_TOO_DEEP = (
    f"tables and lists are nested more than {MOST_DEPTH} deep here",
    "give these values nearer to the top",
)


def refuse_long_keys(text: str, name: str) -> None:
    """Raises MistakesFound at the first key of a text that has too many dots."""
    for found in _LONG_KEYS.finditer(text):
        if key := found["key"]:
            message = f"this key has more than {MOST_DOTS} dots"
            hint = "use tables that are nested less deeply"
            start, end = found.start(), found.start() + len(key.rstrip())
            raise MistakesFound([mistake_at(text, start, end, message, hint, file=name)])


def explain(error: Exception, text: str, name: str) -> Mistake:
    """The mistake behind an error that the parser raised for a text."""
    if isinstance(error, tomli.TOMLDecodeError):
        text = error.doc  # in which every line ends in "\n" alone
        start, end, message, hint = _invalid(text, min(error.pos, len(text)), error.msg)
    elif isinstance(error, RecursionError):
        start, end, message, hint = _too_deep(text)
    else:
        start, end, message, hint = _too_many_digits(text)
    return mistake_at(text, start, end, message, hint, file=name)


def _invalid(text: str, pos: int, said: str) -> Finding:
    for beginning, finder in _FINDERS:
        if said.startswith(beginning):
            return finder(text, pos)
    return pos, pos + 1, f"this is not valid TOML ({said})", "compare it with the lines around it"


def _too_deep(text: str) -> Finding:
    depth = 0
    for found in _BRACKETS.finditer(text):
        depth += bool(found["open"]) - bool(found["close"])
        if depth > MOST_DEPTH:
            return found.start(), found.end(), *_TOO_DEEP
    return 0, 1, *_TOO_DEEP


def _too_many_digits(text: str) -> Finding:
    found = _LONG_NUMBER.search(text)
    start, end = found.span(1) if found else (0, 1)
    return start, end, "this number has too many digits", "check it for a slip"


# --- Values ---


def _bad_value(text: str, pos: int) -> Finding:
    rest = _rest(text, pos)
    if not rest or rest[0] in "#,]}":
        return _no_value(text, pos, rest)
    if rest[0] in _CURLY:
        return pos, pos + 1, *_CURLY_QUOTE
    opening = _opening(text, pos)
    if opening is not None and text[opening] == "[" and _ENTRY.match(rest):
        return _never_closed(text, opening)  # the next entry has begun
    if rest[0] == "=":
        return pos, pos + 1, "there is one `=` too many here", "write one `=` between key and value"
    token = _token(rest)
    if re.match(r"[+-]?\.[0-9]", rest):
        better = token.replace(".", "0.", 1)
        message = "a number needs a digit before its point"
        return pos, pos + len(token), message, f"write {_short(better)}"
    if words := _WORDS.match(rest):
        return _bare_words(pos, rest, words[0])
    return (
        pos,
        pos + len(token),
        "this is not a value that TOML knows",
        'put quotes round a text ("like this"); write a number with digits and a point only',
    )


def _no_value(text: str, pos: int, rest: str) -> Finding:
    before = _last_before(text, pos)
    if rest[:1] == ",":
        return pos, pos + 1, "a value is missing before this comma", "take the comma out"
    if text[before] != "=" and (opening := _opening(text, pos)) is not None:
        if not text[pos:].strip():
            return _never_closed(text, opening)
        closer = _closer(text, opening)
        return pos, pos + 1, f"a `{closer}` is expected here", f"write `{closer}`"
    return before, before + 1, "there is no value here", "write one, or take the entry out"


def _bare_words(pos: int, rest: str, words: str) -> Finding:
    """Words where a value should be."""
    token = _token(words)
    known = {"yes": "true", "on": "true", "no": "false", "off": "false"}.get(token.lower())
    end = pos + len(words)
    if token.lower() in ("true", "false"):
        return pos, pos + len(token), f"`{token}` must be in lower case", f"write {token.lower()}"
    if known and token == words:
        hint = f'write {known}, or "{words}" if a text is meant'
        return pos, end, f"`{words}` is not a value that TOML knows", hint
    quote = rest[len(words) : len(words) + 1]
    if quote and quote in "\"'":
        hint = f"write {quote}{_short(words)}{quote}"
        return pos, end, "the opening quote of this text is missing", hint
    if not quote or quote in " \t,]}#":
        return pos, end, "a text needs quotes", f'write "{_short(words)}"'
    return pos, pos + len(_token(rest)), "a text needs quotes", 'put it in quotes, "like this"'


def _bad_date(text: str, pos: int) -> Finding:
    return pos, pos + 10, "there is no such date", "write year-month-day, as in 2025-03-31"


def _more_after_statement(text: str, pos: int) -> Finding:
    rest = _rest(text, pos)
    line_start, line = _line_before(text, pos)
    end = pos + len(rest)
    number = _NUMBER_BEFORE.search(line)
    start = line_start + number.start(1) if number else pos
    if number and (comma := _DECIMAL_COMMA.match(text[start:pos] + rest)):
        return _decimal_comma(start, comma)
    if rest.startswith("\r"):
        return pos, pos + 1, *_LONE_RETURN
    if rest[:1] in ("]", "}"):
        return pos, pos + 1, f"this `{rest[0]}` closes nothing", "take it out"
    if rest[:1] == ";":
        return pos, pos + 1, "no `;` ends a line in TOML", "take it out, or write # before a comment"
    if line.lstrip().startswith("[") or _ENTRY.match(rest):
        return pos, end, "this must start on a line of its own", "put each entry on its own line"
    if number:
        return _more_after_number(start, text[start:pos] + rest)
    if rest[:1] in _CURLY:
        return pos, pos + 1, *_CURLY_QUOTE
    quote = line.rstrip()[-1:]
    if quote in ('"', "'"):
        other = "'" if quote == '"' else '"'
        hint = f"take it out; or, if {quote} belongs to the text, put {other} round the whole"
        return pos, end, "something follows the closing quote of this text", hint
    constant = re.search(r"(?:true|false|inf|nan)\Z", line)
    if constant and (words := _WORDS.match(constant[0] + rest)) and words[0] != constant[0]:
        start = line_start + constant.start()
        return start, start + len(words[0]), "a text needs quotes", f'write "{_short(words[0])}"'
    return pos, end, "nothing may follow the value on its line", "take this out, or begin it with #"


def _decimal_comma(start: int, comma: re.Match[str]) -> Finding:
    end = start + len(comma[0].rstrip())
    better = f"{_short(comma[1])}.{_short(comma[2])}"
    return start, end, "a number cannot have a decimal comma", f"write {better}"


def _more_after_number(start: int, whole: str) -> Finding:
    """A number that something follows."""
    token = _token(whole)
    end = start + len(token)
    date = "write year-month-day, as in 2025-03-31; or put quotes round it if it is a text"
    if re.match(r"[+-]?0[0-9]", token):
        hint = "take the zero out, or put quotes round the whole if it is a text"
        return start, end, "a number must not begin with a zero", hint
    if re.fullmatch(rf"{_NUMBER}\.", token):
        hint = f"write {_short(token)}0 or {_short(token[:-1])}"
        return start, end, "a number needs a digit after its point", hint
    if _DATE_LIKE.match(token):
        return start, end, "this is not a date that TOML knows", date
    # The pattern matches anywhere, if only nothing.
    shown = re.match(r"[^#,\]}\"'\r\n]*", whole)[0].rstrip()  # type: ignore[index]
    message = "a number with something after it, such as a unit, needs quotes"
    return start, start + len(shown), message, f'write "{_short(shown)}"'


def _no_comma(text: str, pos: int) -> Finding:
    """In an array or inline table, something else where a comma or its end should be."""
    rest = _rest(text, pos)
    line_start, line = _line_before(text, pos)
    opening = _opening(text, pos)
    if opening is not None:
        if not text[pos:].strip():
            return _never_closed(text, opening)
        if text[opening] == "[" and (_ENTRY.match(rest) or _HEADER.match(rest)):
            return _never_closed(text, opening)  # the next statement has begun
        if rest[:1] in ("]", "}"):
            closer = _closer(text, opening)
            return pos, pos + 1, f"a `{closer}` is expected here", f"write `{closer}`"
    if rest[:1] == "\r":
        return pos, pos + 1, *_LONE_RETURN
    number = _NUMBER_BEFORE.search(line)
    if number and rest[:1] and not _ENTRY.match(rest) and rest[0] not in "\"'[{0123456789" + _CURLY:
        start = line_start + number.start(1)
        return _more_after_number(start, text[start:pos] + rest)
    if rest[:1] and rest[0] in _CURLY:
        return pos, pos + 1, *_CURLY_QUOTE
    end = pos + len(_token(rest))
    return pos, end, "a comma is missing before this", "put a comma between items"


def _never_closed(text: str, opening: int) -> Finding:
    what = "list" if text[opening] == "[" else "inline table"
    closer = _closer(text, opening)
    return opening, opening + 1, f"this {what} is never closed", f"write `{closer}` at its end"


# --- Texts in quotes ---


def _never_ended(text: str, pos: int) -> Finding:
    start = _unfinished(text)
    quote = text[start]
    if text.startswith(quote * 3, start):
        return start, start + 3, "this text is never closed", f"write {quote * 3} at its end"
    end = start + len(_rest(text, start))
    curly = _CLOSING_CURLY.search(text, start)
    if curly and curly.start() < end:
        return curly.start(), curly.end(), *_CURLY_QUOTE
    return start, end, "the closing quote of this text is missing", f"write {quote} at its end"


def _bad_character(text: str, pos: int) -> Finding:
    if text[pos] == "\n":
        return _never_ended(text, pos)
    if text[pos] == "\r":
        return pos, pos + 1, *_LONE_RETURN
    message = f"there is an invisible control character here (U+{ord(text[pos]):04X})"
    return pos, pos + 1, message, "take it out"


def _bad_escape(text: str, pos: int) -> Finding:
    start = text.rfind("\\", 0, pos)
    message = "a backslash in double quotes begins a special character, and this is none"
    return start, start + 2, message, r"write \\ for a backslash, or use single quotes: 'C:\cars'"


# --- Keys and headers ---


def _no_equals(text: str, pos: int) -> Finding:
    rest = _rest(text, pos)
    line_start, line = _line_before(text, pos)
    comma = _DECIMAL_COMMA_BEFORE.search(line)
    if comma and rest[:1] in ("", "}", ",", "#"):
        return _decimal_comma(line_start + comma.start(), comma)
    key = _KEY_BEFORE.search(line)
    start = line_start + key.start() if key else max(0, pos - 1)
    shown = _short(text[start:pos].rstrip())
    if rest[:1] == ":":
        message = "a key and its value are joined by `=`, not by `:`"
        return pos, pos + 1, message, f"write {shown} = and then the value"
    more = re.match(r"[\w.\- \t]*?(?=[ \t]*=)", rest)
    if more and more[0]:
        name = text[start:pos] + more[0]
        return start, start + len(name), _ODD_KEY, f'write "{_short(name)}"'
    end = start + max(1, len(text[start:pos].rstrip()))
    return start, end, "there is no `=` after this key", f"write {shown} = and then the value"


def _bad_key(text: str, pos: int) -> Finding:
    rest = _rest(text, pos)
    before = _last_before(text, pos)
    if text[before] == "." and before >= pos - len(_line_before(text, pos)[1]):
        return before, before + 1, "a part of the key is missing after this dot", "write it"
    if text[before] == "[" and rest[:1] in ("", "]"):
        hint = "write a name between the brackets"
        return before, before + 1, "this table has no name", hint
    if not text[pos:].strip() and (opening := _opening(text, pos)) is not None:
        return _never_closed(text, opening)
    if rest[:1] == ",":
        return pos, pos + 1, "an entry is missing before this comma", "take the comma out"
    return _no_key(pos, rest)


def _bad_statement(text: str, pos: int) -> Finding:
    rest = _rest(text, pos)
    if rest[0] == "=":
        return pos, pos + 1, "the key before this `=` is missing", "write one, as in mass = 12"
    if comment := re.match(r"//|/\*|;|%", rest):
        return pos, pos + len(comment[0]), "a comment begins with #", "write # here"
    if rest[0] in "]})":
        return pos, pos + 1, f"this `{rest[0]}` closes nothing", "take it out"
    if rest[0] == "\r":
        return pos, pos + 1, *_LONE_RETURN
    return _no_key(pos, rest)


def _no_key(pos: int, rest: str) -> Finding:
    """Something where a key should begin, and which cannot begin one."""
    if rest[:1] and rest[0] in _CURLY:
        return pos, pos + 1, *_CURLY_QUOTE
    if words := _WORDS.match(rest):
        return pos, pos + len(words[0]), _ODD_KEY, f'write "{_short(words[0])}"'
    hint = "begin it with a letter or a digit, or put it in quotes"
    return pos, pos + 1, "a key cannot begin with this", hint


def _header_end(text: str, pos: int) -> Finding:
    start = text.index("[", text.rfind("\n", 0, pos) + 1)
    closer = "]]" if text.startswith("[[", start) else "]"
    opener = "[" * len(closer)
    inner = text[start:pos].lstrip("[").strip()
    more = re.match(r"[\w\- \t]+(?=\])", _rest(text, pos))
    if more:
        name_start = text.index(inner, start)
        name = text[name_start : pos + more.end()].rstrip()
        return name_start, name_start + len(name), _ODD_KEY, f'write "{_short(name)}"'
    hint = f"write {opener}{_short(inner)}{closer}"
    return start, pos, f"this header does not end in `{closer}`", hint


def _given_twice(text: str, pos: int) -> Finding:
    scan = Scan(text[:pos])
    meetings = [meeting for meeting in scan.meetings if meeting.inline == scan.inside]
    if not meetings:
        return pos - 1, pos, "this key is given twice", "keep one of the two"
    meeting = next((meeting for meeting in meetings if meeting.whole), meetings[-1])
    start, end = meeting.here
    line = text.count("\n", 0, meeting.first[0]) + 1
    hint = f"it is given on line {line} already; keep one of the two"
    return start, end, f"the key {_short(text[start:end])} is given twice", hint


# --- Looking around ---


def _rest(text: str, pos: int) -> str:
    """The rest of the line, without blanks at its end; of a very long line, the next part."""
    end = text.find("\n", pos, pos + _FAR)
    return text[pos : end if end >= 0 else pos + _FAR].rstrip(" \t")


def _line_before(text: str, pos: int) -> tuple[int, str]:
    """The line up to pos, after where that begins; of a very long line, the last part."""
    start = max(text.rfind("\n", 0, pos) + 1, pos - _FAR)
    return start, text[start:pos]


def _last_before(text: str, pos: int) -> int:
    """The place of the last character before pos that is not blank."""
    return max(0, len(text[:pos].rstrip()) - 1)


def _token(rest: str) -> str:
    """What comes first, up to a blank or a sign of the grammar; at least one character."""
    # The pattern matches anywhere, if only nothing.
    return re.match(r"[^\s,\]}#]*", rest)[0] or rest[:1]  # type: ignore[index]


def _short(piece: str) -> str:
    """A piece of the file as a message quotes it."""
    return piece if len(piece) <= _MOST_QUOTED else piece[: _MOST_QUOTED - 1] + "…"


def _closer(text: str, opening: int) -> str:
    return "]" if text[opening] == "[" else "}"


def _unfinished(text: str) -> int:
    """Where the quoted text begins that is the first without an end."""
    return next((found.start() for found in _TEXTS.finditer(text) if found.lastindex), 0)


def _opening(text: str, pos: int) -> int | None:
    """The innermost bracket that is still open at pos."""
    opened: list[int] = []
    for found in _BRACKETS.finditer(text, 0, pos):
        if found["open"]:
            opened.append(found.start())
        elif found["close"] and opened:
            opened.pop()
    return opened[-1] if opened else None


# By the beginning of what the parser says.
_FINDERS: tuple[tuple[str, Callable[[str, int], Finding]], ...] = (
    ("Invalid value", _bad_value),
    ("Invalid date", _bad_date),
    ("Expected newline", _more_after_statement),
    ("Unclosed", _no_comma),
    ("Unterminated string", _never_ended),
    ("Expected \"'", _never_ended),
    ("Illegal character", _bad_character),
    ("Found invalid character", _bad_character),
    ("Unescaped", _bad_escape),
    ("Invalid hex", _bad_escape),
    ("Escaped character", _bad_escape),
    ("Expected '=' after", _no_equals),
    ("Invalid initial character", _bad_key),
    ("Invalid statement", _bad_statement),
    ("Expected ']", _header_end),
    ("Cannot", _given_twice),
    ("Duplicate", _given_twice),
)
