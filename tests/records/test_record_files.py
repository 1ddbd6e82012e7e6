"""The record's file: what it keeps, that it is written whole or not at all, and that a hostile one is refused."""

import copy
import errno
import json
import os
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest
from kept import BOOK, CAR, recorded

from tarebook.records import files
from tarebook.records.files import NoRecord, kept_name, named_again, read_record, record_path, write_record
from tarebook.records.record import KeptFile, record_document
from tarebook.records.strict import RecordProblem
from tarebook.toml_source import parse_source
from tarebook.version import __version__


@pytest.fixture
def path(tmp_path):
    return tmp_path / "car.record.json"


def refused(path, why):
    with pytest.raises(RecordProblem) as raised:
        read_record(path)
    assert str(raised.value) == f"{path} {why}"


def test_a_record_comes_back_as_it_was_written(path):
    bulletin = (
        'format = "tarebook-bulletin/1"\namends = "saltpan"\nedition = "2027"\nnumber = "4"\nstatus = "in-force"\n'
        'in_force = { from = 2027-02-01 }\n[[amend]]\nclause = "3.1"\nclass = "open"\n'
        'set = { "weight.minimum" = "899 kg" }\n'
    )
    record = replace(recorded(CAR, BOOK, bulletin), builds_named=("now",), proposed=True)
    write_record(path, record)
    assert read_record(path) == record
    assert [each.file for each in record.rules] == ["book.toml", "more.toml"]
    assert {each.bulletins for each in record.rows} == {("4",)}


def test_the_document_in_full(path):
    write_record(path, recorded(CAR.replace("finishes", "# no finishes"), BOOK, builds=("now",)))
    document = json.loads(path.read_text(encoding="utf-8"))
    texts = {"car.toml": CAR.replace("finishes", "# no finishes"), "book.toml": BOOK}
    kept = {
        name: {"file": name, "sha256": sha256(text.encode()).hexdigest(), "text": text} for name, text in texts.items()
    }
    row = {"book": "saltpan", "edition": "2027", "bulletins": [], "build": "now", "on": "2027-04-10"}
    row |= {"verdict": "not-eligible", "margin_kg": 96.0, "facts_to_find": []}
    assert document == {
        "format": "tarebook-record/1",
        "tool_version": __version__,
        "recorded_on": "2027-04-10",
        "days": {"now": "2027-04-10"},
        "builds_named": ["now"],
        "proposed": False,
        "car": kept["car.toml"],
        "rules_named": ["rulesets"],
        "rules": [kept["book.toml"]],
        "rows": [
            {
                **row,
                "class": "open",
                "violations": [],
                "owed": [
                    {
                        "clause": "3.3",
                        "form": "finish",
                        "part": None,
                        "kind": "interior.floor",
                        "does": None,
                        "sentence": "A finish is still owed at interior.floor (floor coverings): painted.",
                    }
                ],
            },
            {
                **row,
                "class": "shut",
                "violations": [
                    {
                        "clause": "4.2",
                        "form": "ban",
                        "part": "carpet",
                        "kind": "interior.floor.carpet",
                        "does": "remove",
                        "sentence": "Carpet may not be removed.",
                    }
                ],
                "owed": [],
            },
        ],
    }


def test_it_is_indented(path):
    write_record(path, recorded())
    assert path.read_text(encoding="utf-8").startswith('{\n "format": "tarebook-record/1",\n')


@pytest.mark.parametrize(
    "content", [b"\xef\xbb\xbf" + CAR.encode(), CAR.replace("\n", "\r\n").encode(), CAR.replace("Dun", "Dün").encode()]
)
def test_a_text_is_kept_to_the_byte(content):
    source = parse_source(content, "car.toml")
    kept = KeptFile.of(source, "car.toml")
    assert kept.text.encode() == content
    assert kept.source().data == source.data
    assert kept.source().sha256 == source.sha256


@pytest.mark.parametrize(
    ("name", "record"),
    [("car.toml", "car.record.json"), ("heron.v2.toml", "heron.v2.record.json"), ("car", "car.record.json")],
)
def test_where_it_stands(name, record):
    assert record_path(Path("cars") / name) == Path("cars") / record


# --- Writing: all of it or nothing ---


def test_a_record_replaces_the_one_before_and_keeps_nothing_else(path):
    write_record(path, recorded())
    later = recorded(CAR.replace("Dunlin", "Sanderling"))
    write_record(path, later)
    assert read_record(path) == later
    assert [each.name for each in path.parent.iterdir()] == ["car.record.json"]


def failing(error):
    def fail(*_arguments, **_more):
        raise error

    return fail


FULL = OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("before", [True, False])
@pytest.mark.parametrize(
    ("where", "what"), [(files, "_write_and_sync"), (os, "fsync"), (Path, "replace"), (Path, "open")]
)
def test_a_failure_at_any_step_leaves_what_was_there(path, monkeypatch, where, what, before):
    old = recorded()
    if before:
        write_record(path, old)
    with monkeypatch.context() as patch:
        patch.setattr(where, what, failing(FULL))
        with pytest.raises(RecordProblem) as raised:
            write_record(path, recorded(CAR.replace("Dunlin", "Sanderling")))
    assert str(raised.value) == (f"{path} cannot be written: No space left on device. What was there is as it was.")
    assert [each.name for each in path.parent.iterdir()] == (["car.record.json"] if before else [])
    assert not before or read_record(path) == old


def test_a_failure_half_way_through_the_text(path, monkeypatch):
    old = recorded()
    write_record(path, old)
    original = files._write_and_sync

    def half(beside, content):
        original(beside, content[: len(content) // 2])
        raise FULL

    monkeypatch.setattr(files, "_write_and_sync", half)
    with pytest.raises(RecordProblem):
        write_record(path, recorded(CAR.replace("Dunlin", "Sanderling")))
    assert read_record(path) == old
    assert [each.name for each in path.parent.iterdir()] == ["car.record.json"]


def test_an_interruption_leaves_nothing_behind_and_goes_on(path, monkeypatch):
    monkeypatch.setattr(os, "fsync", failing(KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt):
        write_record(path, recorded())
    assert list(path.parent.iterdir()) == []


def test_the_text_is_on_the_disk_before_it_takes_the_place(path, monkeypatch):
    steps = []
    for where, what in ((os, "fsync"), (Path, "replace")):
        original = getattr(where, what)

        def noting(*arguments, original=original, what=what):
            steps.append(what)
            return original(*arguments)

        monkeypatch.setattr(where, what, noting)
    write_record(path, recorded())
    assert steps == ["fsync", "replace"]


@pytest.mark.parametrize("content", ["", "my notes\n", "[]", '{"format": "tarebook-report/1"}', "\xff"])
def test_nothing_but_a_record_is_written_over(path, content):
    path.write_text(content, encoding="latin-1")
    with pytest.raises(RecordProblem, match=r"It is not written over: move it away\.$"):
        write_record(path, recorded())
    assert path.read_text(encoding="latin-1") == content
    assert [each.name for each in path.parent.iterdir()] == ["car.record.json"]


def test_a_record_of_a_later_version_is_not_written_over(path):
    path.write_text('{"format": "tarebook-record/2"}', encoding="utf-8")
    with pytest.raises(RecordProblem, match="is no record of this version"):
        write_record(path, recorded())
    refused(
        path,
        "is a record of another version of this program: update it, or name another place for the file.",
    )


def test_a_record_that_is_spoilt_inside_may_be_made_again(path):
    path.write_text('{"format": "tarebook-record/1"}', encoding="utf-8")
    write_record(path, recorded())
    assert read_record(path) == recorded()


def test_neither_a_link_nor_a_folder_is_written_over(path):
    other = path.with_name("other.json")
    write_record(other, recorded())
    path.symlink_to(other)
    with pytest.raises(RecordProblem, match="is a link, which is not written over"):
        write_record(path, recorded(CAR.replace("Dunlin", "Sanderling")))
    assert read_record(other) == recorded()
    path.unlink()
    path.mkdir()
    with pytest.raises(RecordProblem, match="is no regular file, so it is no record"):
        write_record(path, recorded())
    assert path.is_dir()


def test_more_than_could_be_read_again_is_not_written(path):
    large = KeptFile("x.toml", "0" * 64, "#" * (1024 * 1024))
    with pytest.raises(RecordProblem, match="The record would be larger than 8 MiB"):
        write_record(path, replace(recorded(), rules=(large,) * 8))
    many = replace(recorded(), rules=recorded().rules * 1001)
    with pytest.raises(RecordProblem, match="A record keeps at most 1,000 rule files and bulletins"):
        write_record(path, many)
    assert list(path.parent.iterdir()) == []


# --- Reading: a stranger's file ---


def test_there_is_none(path):
    with pytest.raises(NoRecord) as raised:
        read_record(path)
    assert str(raised.value) == f"There is no record at {path} yet: tarebook record makes one."


def test_a_pipe_or_a_folder_is_refused_at_once(path):
    os.mkfifo(path)
    refused(path, "is no regular file, so it is no record.")
    path.unlink()
    path.mkdir()
    refused(path, "is no regular file, so it is no record.")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "it is not JSON (line 1, column 1)."),
        (b'{"format": "tarebook-record/1",}', "it is not JSON (line 1, column 32)."),
        (b"\xff\xfe", "it is not UTF-8."),
        (b"[" * 200_000, "it is beyond what is read of JSON."),
        (b'{"a": ' * 200_000, "it is beyond what is read of JSON."),
        (b"1" * 5_000, "it is beyond what is read of JSON."),
        (b"[NaN]", "NaN is no number."),
        (b"[-Infinity]", "-Infinity is no number."),
        (b'{"format": 1, "format": 2}', 'the key "format" is given twice.'),
        (b"[]", "the whole must be a table of keys."),
        (b"null", "the whole must be a table of keys."),
        (b"{}", "format is missing."),
        (b'{"format": "tarebook-rules/1"}', 'format must be "tarebook-record/1".'),
        (b'{"format": null}', "format must be a text."),
    ],
)
def test_what_is_not_a_record(path, content, why):
    path.write_bytes(content)
    refused(path, f"is not a record that can be used: {why}")


def test_one_byte_too_many(path):
    text = json.dumps(record_document(recorded())).encode()
    path.write_bytes(text + b" " * (files.MOST_BYTES - len(text)))
    assert read_record(path) == recorded()
    path.write_bytes(text + b" " * (files.MOST_BYTES - len(text) + 1))
    refused(path, "is larger than 8 MiB, the most that is read of a record.")


def places(data, at=()):
    """Every key within the document, with the value there."""
    for key, value in data.items() if isinstance(data, dict) else enumerate(data):
        yield (*at, key), value
        if isinstance(value, (dict, list)):
            yield from places(value, (*at, key))


DOCUMENT = record_document(recorded(CAR.replace("finishes", "# no finishes")))
PLACES = list(places(DOCUMENT))


def written(at):
    """A place as a sentence names it."""
    parts = [f"[{each}]" if isinstance(each, int) else f".{each}" for each in at]
    return "".join(parts).removeprefix(".")


def changed(path, at, change):
    document = copy.deepcopy(DOCUMENT)
    holder = document
    for each in at[:-1]:
        holder = holder[each]
    change(holder, at[-1])
    path.write_text(json.dumps(document), encoding="utf-8")


def put(value):
    return lambda holder, key: holder.__setitem__(key, value)


NONE = type(None)
ALSO_RIGHT = {"margin_kg": (int, NONE), "proposed": (bool,), "part": (NONE,), "kind": (NONE,), "does": (NONE,)}


@pytest.mark.parametrize("at", [at for at, _ in PLACES], ids=written)
def test_every_key_is_of_its_sort(path, at):
    for odd in (12, [[]], {"odd": 1}, True, None):
        if type(odd) in ALSO_RIGHT.get(at[-1], ()):
            continue
        changed(path, at, put(odd))
        with pytest.raises(RecordProblem) as raised:
            read_record(path)
        # A list of texts is told as a whole; of a table or list in a text's place, the first key within.
        named = written(at[:-1] if isinstance(at[-1], int) and at[-2] in ("builds_named", "rules_named") else at)
        assert str(raised.value).startswith(f"{path} is not a record that can be used: {named}")
        assert "\n" not in str(raised.value)


@pytest.mark.parametrize(
    "at", [at for at, _ in PLACES if isinstance(at[-1], str) and at[:-1] != ("days",)], ids=written
)
def test_no_key_may_be_missing(path, at):
    changed(path, at, lambda holder, key: holder.__delitem__(key))
    refused(path, f"is not a record that can be used: {written(at)} is missing.")


TABLES = [(), ("car",), ("rules", 0), ("rows", 0), ("rows", 0, "owed", 0), ("rows", 2, "violations", 0)]


@pytest.mark.parametrize("at", TABLES, ids=lambda at: written(at) or "whole")
def test_no_key_may_be_unknown(path, at):
    changed(path, (*at, "run"), put("rm"))
    refused(path, f"is not a record that can be used: {written((*at, 'run'))} is no key of such a record.")


@pytest.mark.parametrize(
    ("at", "value", "why"),
    [
        (("recorded_on",), "2027-4-10", "recorded_on must be a date such as 2027-04-10."),
        (("recorded_on",), "20270410", "recorded_on must be a date such as 2027-04-10."),
        (("recorded_on",), "2027-02-30", "recorded_on must be a date such as 2027-04-10."),
        (("days", "now"), "2027-04-11", "rows[0].on must be the day that days has for its build."),
        (("days",), {}, "rows[0].on must be the day that days has for its build."),
        (("rules",), [], "rules must hold 1 to 1,000 files."),
        (("rules",), DOCUMENT["rules"] * 1001, "rules must hold 1 to 1,000 files."),
        (
            ("rows", 0, "verdict"),
            "fine",
            "rows[0].verdict must be one of eligible, too-close, undecided, not-eligible.",
        ),
        (("rows", 0, "margin_kg"), 10**400, "rows[0].margin_kg must be a finite number."),
        (("rows", 1), DOCUMENT["rows"][0], "rows[1] is of the same book, class and build as another row."),
        (("car", "sha256"), "0" * 64, "car.sha256 is not the SHA-256 digest of the text beside it."),
        (("car", "text"), CAR + "#", "car.sha256 is not the SHA-256 digest of the text beside it."),
        (("rules", 0, "text"), "\ud800", "rules[0].text holds half a character, which no text can."),
        (("rules", 0, "file"), "a\0b", "rules[0].file must be the name of a file."),
        (("car", "file"), "", "car.file must be the name of a file."),
    ],
)
def test_what_makes_no_sense(path, at, value, why):
    changed(path, at, put(value))
    refused(path, f"is not a record that can be used: {why}")


def test_a_number_too_large_for_json_of_ours(path):
    text = json.dumps(DOCUMENT)
    assert '"margin_kg": 96.0' in text
    path.write_text(text.replace('"margin_kg": 96.0', '"margin_kg": 1e999', 1), encoding="utf-8")
    refused(path, "is not a record that can be used: rows[0].margin_kg must be a finite number.")


# --- Names of rule files ---


@pytest.fixture
def garage(tmp_path):
    """A folder with a car, and beside it the rules of a club."""
    for name in ("garage/rulesets", "club"):
        (tmp_path / name).mkdir(parents=True)
    for name in ("garage/rulesets/a.toml", "garage/b.toml", "club/c.toml"):
        (tmp_path / name).write_text(BOOK, encoding="utf-8")
    return tmp_path / "garage"


def test_names_begin_at_the_cars_folder(garage, monkeypatch):
    assert kept_name(garage / "rulesets" / "a.toml", garage) == "rulesets/a.toml"
    assert kept_name(garage.parent / "club" / "c.toml", garage) == "../club/c.toml"
    monkeypatch.chdir(garage.parent)
    assert kept_name(Path("garage/b.toml"), Path("garage")) == "b.toml"
    assert kept_name(Path("club/c.toml"), Path("garage")) == "../club/c.toml"


def test_the_rules_are_found_again(garage):
    assert named_again(("rulesets", "b.toml"), garage) == [garage / "rulesets", garage / "b.toml"]
    assert named_again((), garage) == []
    assert named_again(("gone.toml",), garage) == []


def test_rules_of_which_some_are_gone(garage):
    with pytest.raises(RecordProblem) as raised:
        named_again(("rulesets", "gone.toml"), garage)
    assert str(raised.value) == "The record's rules at gone.toml are gone: name the rules, --rules PATH."


@pytest.mark.parametrize(
    "name", ["../club/c.toml", "rulesets/../../club", "/etc", "C:\\rules", "file:rules", "a\0b", "..", "\\\\host\\x"]
)
def test_names_that_lead_elsewhere_are_not_followed(garage, name):
    with pytest.raises(RecordProblem, match=r"^The record's rules are not in the car's folder but at "):
        named_again((name,), garage)


def test_a_link_that_leads_elsewhere_is_not_followed(garage):
    (garage / "linked").symlink_to(garage.parent / "club")
    with pytest.raises(RecordProblem, match=r"^linked/c\.toml leads out of the car's folder"):
        named_again(("linked/c.toml",), garage)
