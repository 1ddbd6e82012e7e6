"""Random car files, in both ways of writing lists of tables, edited at random: nothing but the change is changed."""

import re
from copy import deepcopy

from hypothesis import given, settings
from hypothesis import strategies as st

from tarebook.car.editing import AddEntries, AddToList, ReplaceKey, SetKey, edited
from tarebook.car.editing.checked import same
from tarebook.car.reading import car_from
from tarebook.toml_source import parse_source

READING = st.integers(1, 9999).map(lambda grams: f"{grams / 1000:.3f} kg")
COMMENT = st.sampled_from(["", "", "", " # x", " # [[part]]", ' # "', " # ], }, a = 1", "\t#é"])
GAP = st.sampled_from(["", "", "\n", "\n\n", "# alone\n", "\n# over\n", "# [[job]]\n\n"])
ANY_TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)


@st.composite
def lists(draw):
    """A list of readings, in some style."""
    items = [f'"{each}"' for each in draw(st.lists(READING, min_size=1, max_size=4))]
    trailing = draw(st.sampled_from(["", ",", " ,"]))
    if draw(st.booleans()):
        return f"[{draw(st.sampled_from(['', ' ']))}{', '.join(items)}{trailing}]"
    indent = draw(st.sampled_from(["", "  ", "\t"]))
    lines = [f"{indent}{each},{draw(COMMENT)}\n{draw(GAP)}" for each in items[:-1]]
    last = (
        f"{indent}{items[-1]}{trailing}{draw(COMMENT)}\n" if draw(st.booleans()) else f"{indent}{items[-1]}{trailing}"
    )
    return f"[{draw(COMMENT)}\n{''.join(lines)}{last}{draw(GAP) if last.endswith(chr(10)) else ''}]"


MASSES = {"reading": READING.map(lambda each: f'"{each}"'), "list": lists()}


@st.composite
def files(draw, *, inline):
    """The content of a car file with some parts and jobs: tables in brackets (`inline`), or with headers."""
    equals = draw(st.sampled_from([" = ", "=", "  =  "]))
    indent = draw(st.sampled_from(["", "  "]))
    parts = []
    for number in range(draw(st.integers(0, 4))):
        part = {"id": f'"p{number}"', "kind": '"ballast"'}
        form = draw(st.sampled_from(["none", "reading", "list", "estimate"]))
        if form == "estimate":
            part["estimate"] = '{ mass = "2 kg", within = "1 kg" }'
        elif form != "none":
            part["mass"] = draw(MASSES[form])
        if draw(st.booleans()):
            part["note"] = draw(st.sampled_from(['"""a\n# b\n[[part]]\n"""', "'c # d'", '"e\\"f"']))
        parts.append(part)
    jobs = [{"id": f'"j{number}"', "state": '"maybe"'} for number in range(draw(st.integers(0, 2)))]
    head = f'{draw(GAP)}format{equals}"tarebook-car/1"{draw(COMMENT)}\n'
    if inline:
        body = 'car = { name = "Wren" }\n'
        for table, entries in (("part", parts), ("job", jobs)):
            if not entries:
                continue
            items = [
                "{ " + ", ".join(f"{key}{equals}{value}" for key, value in each.items()) + " }" for each in entries
            ]
            apart = draw(st.sampled_from([", ", f",{draw(COMMENT)}\n", f"{draw(COMMENT)}\n  , "]))
            ends = draw(st.sampled_from(["", ",", f"{draw(COMMENT)}\n", f",{draw(COMMENT)}\n{draw(GAP)}"]))
            body += f"{table}{equals}[{apart.join(items)}{ends}]{draw(COMMENT)}\n{draw(GAP)}"
    else:
        body = f'{draw(GAP)}[car]\nname{equals}"Wren"\n'
        blocks = [("part", each) for each in parts] + [("job", each) for each in jobs]
        if draw(st.booleans()):
            blocks = draw(st.permutations(blocks))
        for table, entry in blocks:
            lines = [f"{indent}{key}{equals}{value}{draw(COMMENT)}\n" for key, value in entry.items()]
            body += f"{draw(GAP)}[[{table}]]{draw(COMMENT)}\n{draw(GAP).join(lines)}"
        body += draw(GAP)
    text = head + body
    if draw(st.booleans()):
        text = text.replace("\n", "\r\n")
    if draw(st.booleans()):
        text = text.rstrip("\r\n")
    return b"\xef\xbb\xbf" * draw(st.booleans()) + text.encode()


@st.composite
def changes(draw, data):
    """A change that fits the data, and what the data is afterwards."""
    parts, jobs = data.get("part", []), data.get("job", [])
    expected = deepcopy(data)
    what = draw(st.sampled_from(["add", "add", "read", "set", "done"]))
    if what == "read" and parts:
        index = draw(st.integers(0, len(parts) - 1))
        readings = draw(st.lists(READING, min_size=1, max_size=3))
        part = expected["part"][index]
        if "estimate" in part:
            del part["estimate"]
            part["mass"] = readings
            return ReplaceKey(("part", index, "estimate"), "mass", readings), expected
        there = part.get("mass", [])
        part["mass"] = [*(there if isinstance(there, list) else [there]), *readings]
        return AddToList(("part", index, "mass"), readings), expected
    if what == "set" and parts:
        index, text = draw(st.integers(0, len(parts) - 1)), draw(ANY_TEXT)
        expected["part"][index]["note"] = text
        return SetKey(("part", index, "note"), text), expected
    if what == "done" and jobs:
        index = draw(st.integers(0, len(jobs) - 1))
        expected["job"][index]["state"] = "done"
        return SetKey(("job", index, "state"), "done"), expected
    table = draw(st.sampled_from(["part", "job", "scale"]))
    count = len(expected.get(table, []))
    more = {"part": {"kind": "ballast"}, "job": {"state": "maybe"}, "scale": {"resolution": "1 g"}}[table]
    entries = [
        {"id": f"new{count + number}", **more, "note": draw(ANY_TEXT)} for number in range(draw(st.integers(1, 3)))
    ]
    expected.setdefault(table, []).extend(entries)
    return AddEntries(table, entries), expected


def changed_lines(before, after):
    """The lines of `before` from the first to the last that differs."""
    old, new = before.split(b"\n"), after.split(b"\n")
    while old and new and old[0] == new[0]:
        del old[0], new[0]
    while old and new and old[-1] == new[-1]:
        del old[-1], new[-1]
    return old


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_an_edit_changes_nothing_else(data):
    inline = data.draw(st.booleans())
    content = data.draw(files(inline=inline))
    source = parse_source(content, "wren.toml")
    car_from(source)
    change, expected = data.draw(changes(source.data))
    done = edited(source, [change])
    new = done.after.content
    assert same(done.after.data, expected)
    assert new.startswith(b"\xef\xbb\xbf") == content.startswith(b"\xef\xbb\xbf")
    assert (b"\r\n" in content) == (b"\r\n" in new) or content.count(b"\n") == 0
    if b"\r\n" in content:
        assert not re.search(rb"(?<!\r)\n", new)
    old = changed_lines(content, new)
    if isinstance(change, SetKey) and change.path[-1] == "note":
        note = source.data["part"][change.path[1]].get("note", "")
        assert len(old) <= 1 + note.count("\n")
    else:
        assert len(old) <= 1
    if isinstance(change, AddEntries) and not (inline and change.table in source.data) and content.endswith(b"\n"):
        assert old == []  # whole lines are put in between whole lines
    # Nothing is taken away, save where a value is set: the bytes of old are those of new, in order.
    if isinstance(change, (AddEntries, AddToList)):
        rest = iter(new)
        assert all(byte in rest for byte in content)
