"""Files as nobody should write them, each as its bytes. Every car, club and class here is invented."""

CAR = """\
format = "tarebook-car/1"

[car]
name = "Curlew"
"""

RULES = """\
format = "tarebook-rules/1"

[book]
id = "saltings"
title = "Saltings Hill Club"
edition = "2027"
in_force = { from = 2026-01-01 }
silence = "forbids"

[[class]]
id = "open"
title = "Open"
"""

RULES_HEAD, _, _class = RULES.partition("[[class]]")
RULES_TAIL = "\n[[class]]" + _class

# As TOML writes them: a colour, a window title, a cleared screen.
ESCAPE = "\\u001b[31;1m\\u001b]0;title\\u0007\\u009b2J"
BIDI = "\u202e\u2066\u2069\u200f\ufeff\u2028\u2029"
FORMULA = "=cmd()|' /C calc'!A0"


def entries(header: str, keys: list[str]) -> str:
    """The same header over and over, with other keys each time."""
    return "".join(f"\n[[{header}]]\n{each}\n" for each in keys)


def facts(number: int) -> str:
    """Facts of a book's own that no car states."""
    return entries("fact", [f'id = "f{each}"\ntype = "number"\ntitle = "F{each}"' for each in range(number)])


def asking(number: int) -> str:
    """As many rules, each of which hangs on another fact."""
    keys = [f'clause = "2.{each}"\nmust = {{ f{each} = {{ least = 1 }} }}' for each in range(number)]
    return RULES_HEAD + facts(number) + RULES_TAIL + entries("class.enter", keys)


def rules(tail: str, before: str = "") -> str:
    """A rule set with tables of its own before its class, and rules in that."""
    return RULES_HEAD + before + RULES_TAIL + tail


def parts(keys: list[str]) -> str:
    return CAR + entries("part", [f'id = "p{each}"\nkind = "interior.trim"\n{key}' for each, key in enumerate(keys)])


def jobs(keys: list[str]) -> str:
    return CAR + entries("job", [f'id = "j{each}"\nstate = "maybe"\n{key}' for each, key in enumerate(keys)])


def deep(levels: int, inner: str) -> str:
    """any, all and not within one another, each with a second branch."""
    condition = inner
    for level in range(levels):
        condition = (
            f"{{ not = {condition} }}",
            f"{{ any = [{condition}, {{ seats = {level} }}] }}",
            f"{{ all = [{condition}, {{ doors = {level} }}] }}",
        )[level % 3]
    return condition
