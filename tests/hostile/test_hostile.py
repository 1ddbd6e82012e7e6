"""Hostile files through the command line: a plain answer or a refusal with a place, in bounded time, and no harm done.

Small files stand here byte by byte; large ones are made here. Every car, club and class is invented.
"""

import os
import re
import signal
import time
from unicodedata import category

import pytest

from hostile.files import (
    BIDI,
    CAR,
    ESCAPE,
    FORMULA,
    RULES,
    asking,
    deep,
    entries,
    facts,
    jobs,
    parts,
    rules,
)
from tarebook.cli.app import MOST_MISTAKES, run

ANSWERED = (0, 1, 3)  # eligible, not eligible, undecided
REFUSED = (2,)
SECONDS = 45  # on a slow machine; what is exponential takes hours
PLACE = re.compile(r".+:\d+:\d+: \S")
ACTED_ON = {"Cc", "Cf", "Zl", "Zp", "Cs"}  # characters that a terminal acts on instead of showing them


@pytest.fixture(autouse=True)
def _bounded_time():
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    def too_long(*_):
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, too_long)
    signal.alarm(SECONDS)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


class Asked:
    """A command that was run on two files, and what it printed."""

    def __init__(self, folder, capsys, car, rule_set, command="check", *, car_name="car.toml"):
        content = {folder / car_name: as_bytes(car), folder / "rules.toml": as_bytes(rule_set)}
        for path, held in content.items():
            path.write_bytes(held)
        car_path, rules_path = content
        asked = [command, str(car_path), *(["open"] if command != "check" else [])]
        self.status = run([*asked, "--rules", str(rules_path), "--on", "2027-05-01"])
        self.out, self.err = capsys.readouterr()
        self.files_kept = all(path.read_bytes() == held for path, held in content.items())
        assert sorted(folder.iterdir()) == sorted(content)

    def check(self, statuses):
        assert self.status in statuses, (self.status, self.err[:500])
        assert self.files_kept
        check_streams(self.status, self.out, self.err)


def check_streams(status, out, err):
    """Nothing raw, nothing of the program's insides, and a place for each thing that is wrong."""
    for stream in (out, err):
        assert "Traceback" not in stream
        assert "a defect of this program" not in stream
        assert not {category(character) for character in stream.replace("\n", "")} & ACTED_ON
    assert (status == 2) == bool(err)
    if status != 2:
        assert out
        return
    assert out == ""
    heads = [line for line in err.splitlines() if not line.startswith("  ")]
    assert heads
    for head in heads:
        assert PLACE.match(head) or (head == heads[-1] and re.fullmatch(r"\.\.\. and [\d,]+ more", head)), head
    assert len(heads) <= MOST_MISTAKES + 1


def as_bytes(content):
    return content if isinstance(content, bytes) else content.encode()


def named(name):
    return CAR.replace('"Curlew"', name)


def part(keys):
    return CAR + f"\n[[part]]\n{keys}\n"


CAR_BYTES = CAR.encode()
SMALL_CARS = {
    "nothing": (b"", REFUSED),
    "blank": (b" \n\t\n", REFUSED),
    "binary": (bytes(range(256)), REFUSED),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", REFUSED),
    "zeros": (bytes(4096), REFUSED),
    "a NUL in a text": (CAR_BYTES.replace(b"Curlew", b"Cur\0lew"), REFUSED),
    "Latin-1": (CAR_BYTES.replace(b"Curlew", "Brachvögel".encode("latin-1")), REFUSED),
    "UTF-16": (CAR.encode("utf-16"), REFUSED),
    "half a surrogate": (CAR_BYTES.replace(b"Curlew", b"\xed\xa0\x80"), REFUSED),
    "a text cut within a letter": (CAR_BYTES + b'# "\xe2\x82', REFUSED),
    "a byte order mark": (b"\xef\xbb\xbf" + CAR_BYTES, ANSWERED),
    "two byte order marks": (b"\xef\xbb\xbf" * 2 + CAR_BYTES, REFUSED),
    "CRLF": (CAR_BYTES.replace(b"\n", b"\r\n"), ANSWERED),
    "a lone carriage return": (CAR_BYTES.replace(b"\n", b"\r"), REFUSED),
    "no end to the last line": (CAR_BYTES.rstrip(), ANSWERED),
    "an escape, raw": (CAR_BYTES.replace(b"Curlew", b"\x1b[31mCurlew"), REFUSED),
    "an escape in a key, raw": (CAR_BYTES + b"\x1b[2J = 1\n", REFUSED),
    "an escape in a name": (named(f'"{ESCAPE}"'), ANSWERED),
    "an escape in a key": (CAR + f'"{ESCAPE}" = 1\n', REFUSED),
    "an escape in an id": (part(f'id = "{ESCAPE}"\nkind = "glass"'), REFUSED),
    "an escape in a kind": (part(f'id = "a"\nkind = "{ESCAPE}"'), REFUSED),
    "an escape in a fact": (CAR + f'[facts]\ngearbox = "{ESCAPE}"\n', REFUSED),
    "an escape in a unit": (part(f'id = "a"\nkind = "glass"\nmass = "5 {ESCAPE}"'), REFUSED),
    "an escape in a choice": (part(f'id = "a"\nkind = "glass"\norigin = "{ESCAPE}"'), REFUSED),
    "bidi in a name": (named(f'"{BIDI}"'), ANSWERED),
    "bidi in a key": (CAR + f'"{BIDI}" = 1\n', REFUSED),
    "bidi in a comment": (CAR + f"# {BIDI}\n", ANSWERED),
    "bidi before a mistake": (CAR + f'note = "{BIDI}" + 1\n', REFUSED),
    "a formula for a name": (named(f'"{FORMULA}"'), ANSWERED),
    "a formula for an id": (part(f'id = "{FORMULA}"\nkind = "glass"'), REFUSED),
    "a formula for a mass": (part(f'id = "a"\nkind = "glass"\nmass = "{FORMULA}"'), REFUSED),
    "mark-up for a name": (named('"[bold]{0}%s</script>[/x]"'), ANSWERED),
    "not a number": (part('id = "a"\nkind = "glass"\nmass = nan'), REFUSED),
    "infinite": (CAR + "[facts]\nseats = inf\n", REFUSED),
    "a number of 4,301 digits": (CAR + "model_year = " + "9" * 4301 + "\n", REFUSED),
    "a mass of 4,301 digits": (part(f'id = "a"\nkind = "glass"\nmass = "{"9" * 3990} kg"'), REFUSED),
    "a number beyond exact reckoning": (CAR + f"[facts]\ncompression_ratio = {2**53}\n", REFUSED),
    "an exponent": (CAR + "[facts]\ncompression_ratio = 1e999999999\n", REFUSED),
    "a tiny number": (CAR + "[facts]\ncompression_ratio = 1e-99\n", ANSWERED),
    "digits of another script": (part('id = "a"\nkind = "glass"\nmass = "٥ kg"'), REFUSED),
    "a date that never was": (CAR + "[facts]\nfirst_registered = 1996-02-30\n", REFUSED),
    "the last of all days": (CAR + "[facts]\nfirst_registered = 9999-12-31\n", ANSWERED),
    "lists within lists": (CAR + "note = " + "[" * 5000 + "]" * 5000 + "\n", REFUSED),
    "tables within tables": (CAR + "note = " + "{a = " * 3000 + "1" + "}" * 3000 + "\n", REFUSED),
    "a key of many parts": (CAR + ".".join("a" * 900) + " = 1\n", REFUSED),
    "a list that never ends": (CAR + "absent = [" + '"glass", ' * 10_000, REFUSED),
    "a text that never ends": (CAR + 'note = """' + "x\n" * 100_000, REFUSED),
    "a note of 5,000 characters": (CAR + f'note = "{"x" * 5000}"\n', REFUSED),
    "a file of over a mebibyte": (CAR + "#" * 1024 * 1024, REFUSED),
    "an empty name": (named('""'), ANSWERED),
    "names of Python": (CAR + '[facts]\n__class__ = 1\n"" = 2\nmodel_fields = 3\n', REFUSED),
    "a rule set for a car": (RULES, REFUSED),
}


@pytest.mark.parametrize("what", SMALL_CARS)
def test_a_hostile_car_file(what, tmp_path, capsys):
    content, statuses = SMALL_CARS[what]
    Asked(tmp_path, capsys, content, RULES).check(statuses)


SMALL_RULES = {
    "nothing": (b"", REFUSED),
    "binary": (bytes(range(255, -1, -1)), REFUSED),
    "a byte order mark and CRLF": (b"\xef\xbb\xbf" + RULES.replace("\n", "\r\n").encode(), ANSWERED),
    "an escape in titles": (RULES.replace("Saltings Hill Club", ESCAPE).replace('"Open"', f'"{ESCAPE}"'), ANSWERED),
    "an escape in an edition": (RULES.replace('"2027"', f'"{ESCAPE}"'), ANSWERED),
    "bidi in titles": (RULES.replace("Saltings Hill Club", BIDI).replace('"Open"', f'"{BIDI}"'), ANSWERED),
    "an escape in what a rule says": (
        rules(f'[[class.enter]]\nclause = "2"\nmust = {{ seats = 4 }}\nsays = "{ESCAPE}{BIDI}"\n'),
        ANSWERED,
    ),
    "an escape in a question": (rules(f'[[class.ask]]\nclause = "2"\nsays = "{ESCAPE}{BIDI}"\n'), ANSWERED),
    "an escape in a clause": (rules(f'[[class.ask]]\nclause = "{ESCAPE}"\nsays = "Ask."\n'), REFUSED),
    "an escape in despite": (
        rules(f'[[class.ban]]\nclause = "2"\nkinds = ["glass"]\ndoes = ["fit"]\ndespite = ["{ESCAPE}"]\n'),
        REFUSED,
    ),
    "an escape in a condition": (rules(f'[[class.enter]]\nclause = "2"\nmust = {{ "{ESCAPE}" = 1 }}\n'), REFUSED),
    "an escape in an own fact": (
        rules("", before=f'[[fact]]\nid = "{ESCAPE}"\ntype = "text"\ntitle = "T"\n'),
        REFUSED,
    ),
    "an escape in choices": (
        rules(
            '[[class.enter]]\nclause = "2"\nmust = { list = "c" }\n',
            before=f'[[fact]]\nid = "list"\ntype = "choice"\ntitle = "T"\nchoices = ["{ESCAPE}", "b"]\n',
        ),
        REFUSED,
    ),
    "an escape in the text of a fact": (
        rules(f'[[class.enter]]\nclause = "2"\nmust = {{ engine_code = ["{ESCAPE}", "{BIDI}"] }}\n'),
        ANSWERED,
    ),
    "formulas all over": (
        RULES.replace("Saltings Hill Club", FORMULA)
        + f'[[class.ask]]\nclause = "2"\nsays = "{FORMULA}"\n[[class.ban]]\nclause = "3"\nsays = "{FORMULA}"\n'
        'kinds = ["glass"]\ndoes = "anything"\n',
        ANSWERED,
    ),
    "an age before there were years": (
        rules('[[class.enter]]\nclause = "2"\nmust = { first_registered = { age = { over = 9007199254740991 } } }\n'),
        ANSWERED,
    ),
    "a bound too long to be read": (
        rules(f'[[class.enter]]\nclause = "2"\nmust = {{ seats = {{ least = {"1" * 4301} }} }}\n'),
        REFUSED,
    ),
    "not, and not, and not": (rules("[[class.enter]]\nclause = '2'\nmust." + "not." * 25 + "seats = 4\n"), ANSWERED),
    "conditions as deep as they may be": (
        rules(f'[[class.enter]]\nclause = "2"\nmust = {deep(16, "{ gears = 5 }")}\n'),
        ANSWERED,
    ),
    "conditions of thirty levels": (
        rules(f'[[class.enter]]\nclause = "2"\nmust = {deep(30, "{ gears = 5 }")}\n'),
        REFUSED,
    ),
}


@pytest.mark.parametrize("what", SMALL_RULES)
def test_a_hostile_rule_set(what, tmp_path, capsys):
    content, statuses = SMALL_RULES[what]
    Asked(tmp_path, capsys, CAR + "[facts]\nfirst_registered = 1996-05-31\n", content).check(statuses)


@pytest.mark.parametrize("command", ["removals", "why"])
def test_the_other_commands_show_nothing_raw_either(command, tmp_path, capsys):
    car = part(f'id = "a"\nkind = "glass.rear"\ntitle = "{ESCAPE}{BIDI}"\nnote = "{ESCAPE}"')
    says = f'says = "{ESCAPE}{BIDI}"\n'
    rule_set = rules(
        f'[[class.allow]]\nclause = "2"\nkinds = ["glass"]\ndoes = ["remove"]\nask = "{ESCAPE}"\n{says}'
        f'[[class.ban]]\nclause = "3"\nkinds = ["safety"]\ndoes = "anything"\n{says}'
    ).replace("Saltings Hill Club", BIDI)
    Asked(tmp_path, capsys, car, rule_set, command).check(ANSWERED)


# --- Large files: each would take minutes or more of work that grew faster than the file ---


def circle(header, key, number, more):
    listed = "[{}]" if key == "needs" else "{}"
    return entries(
        header,
        [f'id = "n{each}"\n{more}\n{key} = ' + listed.format(f'"n{(each + 1) % number}"') for each in range(number)],
    )


def chain(header, key, number, more):
    """As a circle, but open."""
    return circle(header, key, number, more).rpartition(f"{key} = ")[0]


NEVER_SAID = '[[class.enter]]\nclause = "2"\nmust = '
LARGE = {
    "10,000 parts": (lambda: parts(["mass = 1"] * 10_000), lambda: RULES, ANSWERED),
    "9,000 parts on one another": (
        lambda: CAR + chain("part", "belongs_to", 9000, 'kind = "interior.trim"'),
        lambda: RULES,
        ANSWERED,
    ),
    "9,000 parts in a circle": (
        lambda: CAR + circle("part", "belongs_to", 9000, 'kind = "interior.trim"'),
        lambda: RULES,
        REFUSED,
    ),
    "9,000 parts that replace one another": (
        lambda: CAR + circle("part", "replaces", 9000, 'kind = "interior.trim"'),
        lambda: RULES,
        REFUSED,
    ),
    "5,000 parts of unknown kinds": (
        lambda: CAR + entries("part", [f'id = "p{each}"\nkind = "interiur.t{each}"' for each in range(5000)]),
        lambda: RULES,
        REFUSED,
    ),
    "500 jobs in a circle": (
        lambda: CAR + circle("job", "needs", 500, 'state = "maybe"'),
        lambda: RULES,
        REFUSED,
    ),
    "300 jobs that all need one another": (
        lambda: jobs([f"needs = {[f'j{other}' for other in range(300) if other != each]}" for each in range(300)]),
        lambda: RULES,
        REFUSED,
    ),
    "5,000 jobs that need what there is not": (
        lambda: jobs([f'needs = ["k{each}"]' for each in range(5000)]),
        lambda: RULES,
        REFUSED,
    ),
    "100 mistakes": (lambda: CAR + "".join(f"k{each} = {each}\n" for each in range(100)), lambda: RULES, REFUSED),
    "40,000 unknown keys": (
        lambda: CAR + "".join(f"k{each} = 1\n" for each in range(40_000)),
        lambda: RULES,
        REFUSED,
    ),
    "1,000 classes": (
        lambda: CAR,
        lambda: rules(entries("class", [f'id = "c{each}"\ntitle = "C"' for each in range(1000)])),
        ANSWERED,
    ),
    "500 classes like one another": (
        lambda: CAR,
        lambda: rules(circle("class", "like", 500, 'title = "C"')),
        REFUSED,
    ),
    "300 classes, each like the next": (
        lambda: CAR,
        lambda: rules(chain("class", "like", 300, 'title = "C"')),
        ANSWERED,
    ),
    "2,000 clauses that beat the next": (
        lambda: CAR,
        lambda: rules(
            entries(
                "class.allow",
                [
                    f'clause = "3.{each}"\nkinds = ["glass"]\ndoes = ["fit"]\ndespite = ["3.{(each + 1) % 2000}"]'
                    for each in range(2000)
                ],
            )
        ),
        REFUSED,
    ),
    "8,000 clauses to drop that there are not": (
        lambda: CAR,
        lambda: rules(f"drops = {[f'k{each}' for each in range(8000)]}\n"),
        REFUSED,
    ),
    "5,000 conditions": (
        lambda: CAR,
        lambda: rules(
            entries(
                "class.enter",
                [f'clause = "2.{each}"\nmust = {{ seats = {{ least = {each} }} }}' for each in range(5000)],
            )
        ),
        ANSWERED,
    ),
    "8,000 unknown facts in one condition": (
        lambda: CAR,
        lambda: rules(NEVER_SAID + "{ " + ", ".join(f"k{each} = 1" for each in range(8000)) + " }\n"),
        REFUSED,
    ),
    "8,000 unknown kinds in one rule": (
        lambda: CAR,
        lambda: rules(
            '[[class.ban]]\nclause = "2"\ndoes = ["fit"]\n' + f"kinds = {[f'glas.k{each}' for each in range(8000)]}\n"
        ),
        REFUSED,
    ),
    "200 unknown facts": (lambda: CAR, lambda: asking(200), (3,)),
    "thirty unknown facts, each compared with each": (
        lambda: CAR,
        lambda: rules(
            entries(
                "class.require",
                [
                    f'clause = "3.{one}.{other}"\n'
                    f'must = {{ f{one} = {{ most = {{ as_made = "f{other}", plus = {one * 30 + other} }} }} }}'
                    for one in range(30)
                    for other in range(30)
                    if one != other
                ],
            ),
            before=facts(30),
        ),
        (3,),
    ),
}


@pytest.mark.parametrize("what", LARGE)
def test_a_large_file_is_answered_in_time(what, tmp_path, capsys):
    car, rule_set, statuses = LARGE[what]
    Asked(tmp_path, capsys, car(), rule_set()).check(statuses)


def test_no_more_than_fifty_mistakes_are_printed(tmp_path, capsys):
    asked = Asked(tmp_path, capsys, CAR + "".join(f"k{each} = {each}\n" for each in range(100)), RULES)
    places = [line for line in asked.err.splitlines() if PLACE.match(line)]
    assert len(places) == 50
    assert places[0].startswith(f"{tmp_path}{os.sep}car.toml:5:1: ")
    assert asked.err.splitlines()[-1] == "... and 50 more"


def test_fifty_mistakes_are_all_of_them(tmp_path, capsys):
    asked = Asked(tmp_path, capsys, CAR + "".join(f"k{each} = {each}\n" for each in range(50)), RULES)
    assert len([line for line in asked.err.splitlines() if PLACE.match(line)]) == 50
    assert "more" not in asked.err


# --- Things that are no files, and files of odd names ---


def ask(capsys, car, rule_set):
    status = run(["check", str(car), "--rules", str(rule_set), "--on", "2027-05-01"])
    out, err = capsys.readouterr()
    check_streams(status, out, err)
    return status


@pytest.fixture
def sound(tmp_path):
    car, rule_set = tmp_path / "car.toml", tmp_path / "rules.toml"
    car.write_text(CAR, encoding="utf-8")
    rule_set.write_text(RULES, encoding="utf-8")
    return car, rule_set


def test_a_folder_for_a_car(sound, tmp_path, capsys):
    assert ask(capsys, tmp_path, sound[1]) == 2


def test_an_empty_folder_for_rules(sound, tmp_path, capsys):
    (tmp_path / "none").mkdir()
    assert ask(capsys, sound[0], tmp_path / "none") == 2


def test_no_file_at_all(sound, tmp_path, capsys):
    assert ask(capsys, tmp_path / "gone.toml", tmp_path / "gone-too.toml") == 2


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("which", [0, 1])
def test_a_pipe_that_nobody_writes_to(which, sound, capsys):
    files = list(sound)
    files[which].unlink()
    os.mkfifo(files[which])
    start = time.monotonic()
    assert ask(capsys, *files) == 2
    assert time.monotonic() - start < 10


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_among_rule_sets(sound, tmp_path, capsys):
    os.mkfifo(tmp_path / "pipe.toml")
    assert ask(capsys, sound[0], tmp_path) == 2


def test_a_folder_of_rules_with_a_folder_called_toml(sound, tmp_path, capsys):
    (tmp_path / "sub.toml").mkdir()
    assert ask(capsys, sound[0], tmp_path) == 2


def test_a_link_to_itself(sound, tmp_path, capsys):
    (tmp_path / "loop.toml").symlink_to(tmp_path / "loop.toml")
    assert ask(capsys, tmp_path / "loop.toml", sound[1]) == 2


ODD_NAMES = ["a b.toml", "\u202elmot.toml", "\x1b[31m.toml", "a\nb.toml", "[bold].toml", "%s{0}.toml", "é\u0301.toml"]


@pytest.mark.skipif(os.name == "nt", reason="this system allows no such names")
@pytest.mark.parametrize("name", ODD_NAMES)
def test_a_sound_car_of_an_odd_name(name, tmp_path, capsys):
    Asked(tmp_path, capsys, CAR, RULES, car_name=name).check(ANSWERED)


@pytest.mark.skipif(os.name == "nt", reason="this system allows no such names")
@pytest.mark.parametrize("name", ODD_NAMES)
def test_a_spoiled_car_of_an_odd_name(name, tmp_path, capsys):
    Asked(tmp_path, capsys, CAR + "k = 1\n", RULES, car_name=name).check(REFUSED)


def test_a_name_that_no_file_can_have(sound, tmp_path, capsys):
    assert ask(capsys, tmp_path / ("x" * 5000), sound[1]) == 2


def test_a_name_in_no_encoding(sound, tmp_path, capsys):
    path = os.fsdecode(os.fsencode(tmp_path) + b"/\xff.toml")
    assert ask(capsys, path, sound[1]) == 2
