"""How the proofreading tests plant a mistake: a book as text, with `# here` on the line where it must be told.

Every club, class and clause here is invented.
"""

import re

from support import book
from tarebook.proofread.proofreading import blemishes

FLAGS = "".join(f'[[fact]]\nid = "{name}"\ntype = "yes-no"\ntitle = "Flag {name}"\n' for name in ("p", "q"))
HERE = " # here"


def club(body="", *, before="", after="", keys=""):
    """A book with one class, "club", of clause 2; its facts `p` and `q` are yes or no."""
    return f'{FLAGS}{before}\n[[class]]\nid = "club"\ntitle = "Club"\n{keys}\n{body}\n{after}'


def rule(form, clause, kinds="", does="", rest="", *, holder="class", here=False):
    """A rule of a list; kinds and actions as texts with blanks, `rest` as further lines."""
    lines = [f"[[{holder}.{form}]]{HERE if here else ''}", f'clause = "{clause}"']
    if kinds:
        lines.append(f"kinds = {kinds.split()}")
    if does:
        lines.append('does = "anything"' if does == "anything" else f"does = {does.split()}")
    return "\n".join([*lines, rest, ""])


def group(name, rules, keys="", *, here=False):
    """A group; the rules stand in it with holder="group"."""
    return f'[[group]]\nid = "{name}"{HERE if here else ""}\n{keys}\n{rules}\n'


def another(name, body="", keys=""):
    """A further class."""
    return f'\n[[class]]\nid = "{name}"\ntitle = "{name.title()}"\n{keys}\n{body}\n'


def found_in(text, silence="forbids"):
    """What is found in a book, in order: each as (what, clause, line), and the sentences."""
    found = blemishes(book(text, silence=silence))
    return [(each.what, each.clause, each.line) for each in found], [each.sentence for each in found]


def lines_marked(text):
    """The lines of the file that the book's text marks."""
    lines = book(text).source.text.split("\n")
    return [number for number, line in enumerate(lines, 1) if line.endswith(HERE)]


def check_planted(text, what, clause, fragment, silence="forbids"):
    """Exactly one blemish is found, on the marked line, and its sentence has the fragment.

    In the fragment, `@2.1` is clause 2.1 with the place of its rule, `@@2.1` the place alone.
    """
    found, sentences = found_in(text, silence)
    assert found == [(what, clause, *lines_marked(text))], sentences
    assert with_places(fragment, text) in sentences[0]


def with_places(fragment, text):
    """The fragment with `@2.1` written out: the clause, and the file and line where its rule begins."""
    lines = book(text).source.text.split("\n")

    def written(found):  # the clause stands right under the header, and lines count from 1
        mark, clause = found.groups()
        place = f"rules:{lines.index(f'clause = {chr(34)}{clause}{chr(34)}')}"
        return place if mark == "@@" else f"{clause} ({place})"

    return re.sub(r"(@@?)([0-9.]+[0-9])", written, fragment)
