"""What means the same is no change: units, order, ways to write a condition, numbers of rules that only moved.

The examples are invented; the shipped rule sets, invented too, are compared with themselves written otherwise.
"""

import datetime
import json
import re
import tomllib
from decimal import Decimal
from functools import partial
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support import book, rules
from tarebook.revise import meanings
from tarebook.revise.comparing import compare
from tarebook.rules.reading import parse_rules

SHIPPED = sorted(
    path
    for path in (Path(__file__).parents[2] / "rulesets").rglob("*.toml")
    if 'format = "tarebook-rules/1"' in path.read_text(encoding="utf-8")
)
WEIGHT = 'weight = {{ clause = "3.1", driver = "out", {} }}'
ALLOW = 'allow = [{{ clause = "5.1", kinds = ["interior.console"], does = ["remove"], {} }}]'
LIST = 'allow = [{{ clause = "5.1", kinds = [{}], does = [{}] }}]'


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (WEIGHT.format('minimum = "930 kg"'), WEIGHT.format('minimum = "0.93 t"')),
        (WEIGHT.format('minimum = "930 kg"'), WEIGHT.format("minimum = 930")),
        (
            WEIGHT.format('minimum = "930 kg"'),
            WEIGHT.format('minimum = "930 kg", co_driver = "out", fuel = "as-raced"'),
        ),
        (WEIGHT.format('minimum = "930 kg"'), WEIGHT.format('minimum = "930 kg", without = [], allowance = "0 kg"')),
        (
            WEIGHT.format('minimum = "930 kg", without = ["stowage.jack", "stowage.tools"]'),
            WEIGHT.format('minimum = "930 kg", without = ["stowage.tools", "stowage.jack"], says = "Other words."'),
        ),
        (
            WEIGHT.format('minimum = { by = "displacement", over_up_to = [["0 cm3", "1400 cm3", "840 kg"]] }'),
            WEIGHT.format(
                'minimum = { by = "displacement", '
                'over_up_to = [["0.7 L", "1400 cm3", "840 kg"], ["0 L", "700 cm3", "840 kg"]] }'
            ),
        ),
        (
            WEIGHT.format(
                'minimum = { by = "displacement", over_up_to = [["0 cm3", "840 kg"]], otherwise = "840 kg" }'
            ),
            WEIGHT.format('minimum = "840 kg"'),
        ),
        (
            WEIGHT.format('minimum = { by = "driven_wheels", cases = { front = "840 kg" }, otherwise = "860 kg" }'),
            WEIGHT.format(
                'minimum = { by = "driven_wheels", cases = { all = "860 kg", rear = "860 kg", front = "840 kg" } }'
            ),
        ),
        (
            WEIGHT.format('minimum = { by = "open_top", cases = { true = "840 kg", false = "840 kg" } }'),
            WEIGHT.format('minimum = "840 kg"'),
        ),
        (
            WEIGHT.format('minimum = { fact = "kerb_mass" }'),
            WEIGHT.format('minimum = { fact = "kerb_mass", times = 1.0, plus = "0 kg" }'),
        ),
        (ALLOW.format("if = { seats = 4 }"), ALLOW.format("if = { seats = { least = 4, most = 4 } }")),
        (ALLOW.format("if = { seats = 4 }"), ALLOW.format("if = { seats = { over = 3, under = 5 } }")),
        (ALLOW.format("if = { seats = 4 }"), ALLOW.format("if = { not = { not = { seats = 4 } } }")),
        (ALLOW.format("if = { seats = 4, doors = 3 }"), ALLOW.format("if = { all = [{ doors = 3 }, { seats = 4 }] }")),
        (
            ALLOW.format("if = { not = { any = [{ seats = 4 }, { doors = 3 }] } }"),
            ALLOW.format("if = { all = [{ not = { doors = 3 } }, { not = { seats = 4 } }] }"),
        ),
        (
            ALLOW.format('if = { off = "interior.dash" }'),
            ALLOW.format('if = { any = [{ swapped = "interior.dash" }, { removed = "interior.dash" }] }'),
        ),
        (
            ALLOW.format('if = { displacement = { most = "1 L" } }'),
            ALLOW.format('if = { displacement = { up_to = "1000 cm3" } }'),
        ),
        (
            ALLOW.format('part = { weighs = { least = "6 kg" }, material_not = ["Steel", "magnesium"] }'),
            ALLOW.format('part = { material_not = ["magnesium", "steel"], weighs = { least = "6000 g" } }'),
        ),
        (ALLOW.format('says = "It may."'), ALLOW.format('says = "It may come out."')),
        (
            LIST.format('"interior.console", "interior.dash"', '"remove", "swap"'),
            LIST.format('"interior.dash", "interior.console"', '"swap", "remove"'),
        ),
        (
            LIST.format('"interior.console", "interior.dash"', '"remove"'),
            'allow = [{ clause = "5.1", kinds = ["interior.console"], does = ["remove"] }, '
            '{ clause = "5.1", kinds = ["interior.dash"], does = ["remove"] }]',
        ),
        (
            LIST.format('"glass"', '"remove", "swap", "fit", "lighten", "move"'),
            LIST.format('"glass"', '"anything"').replace('["anything"]', '"anything"'),
        ),
        (
            'need = [{ clause = "6.1", kinds = ["interior.console", "interior.dash"], at_least = 2 }]',
            'need = [{ clause = "6.1", kinds = ["interior.dash", "interior.console"] }]',
        ),
        (
            'enter = [{ clause = "4.1", must = { seats = 4, doors = 3 } }]',
            'enter = [{ clause = "4.1", must = { doors = 3 } }, { clause = "4.1", must = { seats = 4 } }]',
        ),
        (
            'require = [{ clause = "4.1", must = { seats = 4 }, if = { doors = 3 } }]',
            'require = [{ clause = "4.1", must = { any = [{ seats = 4 }, { not = { doors = 3 } }] } }]',
        ),
        (
            'limit = [{ clause = "3.2", minimum = "930 kg" }]\n' + WEIGHT.format('fuel = "empty"'),
            'limit = [{ clause = "3.2", minimum = "930 kg", driver = "out", fuel = "empty" }]\n'
            + WEIGHT.format('fuel = "empty"'),
        ),
        (
            'silence = "forbids"',
            'silence = { swap = "forbids", remove = "forbids", fit = "forbids", lighten = "forbids", '
            'move = "forbids" }',
        ),
        ('note = "Old."', 'note = "New."'),
    ],
)
def test_the_same_said_otherwise(old, new):
    assert compare(rules(old), rules(new)) == []
    assert compare(rules(new), rules(old)) == []


def test_titles_and_notes_are_no_change():
    old = book('[[class]]\nid = "road"\ntitle = "Road"\n')
    assert compare(old, book('[[class]]\nid = "road"\ntitle = "The Road Class"\nnote = "Renamed."\n')) == []


def test_a_finish_by_another_name_is_no_change():
    text = (
        'allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"], finish = ["bare"] }]\n'
        'finish = [{ id = "bare", clause = "5.9", area = "interior.floor", by = ["painted", "covered"] }]'
    )
    assert (
        compare(
            rules(text),
            rules(text.replace('"bare"', '"floor"').replace('"painted", "covered"', '"covered", "painted"')),
        )
        == []
    )


def test_a_finish_that_holds_by_itself_is_owed_whether_an_allowance_names_it_or_not():
    text = (
        'allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"], finish = ["bare"] }]\n'
        'finish = [{ id = "bare", clause = "5.9", area = "interior.floor", by = ["painted"], if = { seats = 4 } }]'
    )
    assert compare(rules(text), rules(text.replace(', finish = ["bare"]', ""))) == []


def test_a_weight_that_a_further_limit_takes_over_changes_once():
    text = WEIGHT.format('minimum = "930 kg", fuel = "empty"') + '\nlimit = [{ clause = "3.2", maximum = "999 kg" }]'
    (change,) = compare(rules(text), rules(text.replace('"empty"', '"full"')))
    assert change.sentence == "How the car is weighed: now with a full tank (before, with an empty tank)."


def test_a_class_that_states_what_it_had_by_like_is_no_change():
    text = (
        '[[class]]\nid = "road"\ntitle = "Road"\n[class.weight]\nclause = "3.1"\ndriver = "out"\nminimum = "930 kg"\n'
    )
    like = '[[class]]\nid = "track"\ntitle = "Track"\nlike = "road"\n'
    stated = like + '[class.weight]\nclause = "3.1"\nminimum = "930 kg"\n'
    assert compare(book(text + like), book(text + stated)) == []


def test_renumbering_a_whole_book_only_moves():
    text = next(path for path in SHIPPED if path.stem == "harrow-hills").read_text(encoding="utf-8")
    again = re.sub(r'(clause = ")([0-9]+)', lambda found: f"{found[1]}{int(found[2]) + 20}", text)
    again = re.sub(
        r"((?:despite|drops|because) = \[)([^\]]*)",
        lambda found: found[1] + re.sub(r'"([0-9]+)', lambda n: f'"{int(n[1]) + 20}', found[2]),
        again,
    )
    changes = compare(parse_rules(text), parse_rules(again))
    assert {change.what for change in changes} == {"moved"}
    assert all(int(change.clause.split(".")[0]) == int(change.was_clause.split(".")[0]) + 20 for change in changes)


def test_conditions_too_large_to_compare_by_meaning_are_compared_as_written(monkeypatch):
    monkeypatch.setattr(meanings, "Space", partial(meanings.Space, most_work=0))
    old = ALLOW.format('if = { seats = [2, 4, 6], doors = 3, gearbox = "manual", body = "coupe" }')
    again = ALLOW.format('if = { body = "coupe", gearbox = "manual", doors = 3, seats = [6, 2, 4] }')
    assert compare(rules(old), rules(again)) == []
    (change,) = compare(rules(old), rules(again.replace("doors = 3", "doors = 5")))
    assert change.what == "changed"
    bounds = ALLOW.format("if = { seats = { least = 4, most = 4 } }")
    assert len(compare(rules(ALLOW.format("if = { seats = 4 }")), rules(bounds))) == 1  # not seen to be the same


# ---- the shipped books, written otherwise

PLAIN_TEXT = ("says", "title", "note", "ask", "edition", "id", "clause")
QUANTITY = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) (kg|cm3|mm)")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_shipped_book_against_itself(path):
    text = path.read_text(encoding="utf-8")
    assert compare(parse_rules(text), parse_rules(text)) == []


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: f"{path.parent.name}-{path.stem}")
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_shipped_book_against_itself_written_otherwise(path, data):
    text = path.read_text(encoding="utf-8")
    read = tomllib.loads(text, parse_float=Decimal)
    again = Rewritten(data).file(read)
    assert compare(parse_rules(text), parse_rules(again)) == []


class Rewritten:
    """A rule set written otherwise: entries and lists in another order, other units, other ways to say a condition."""

    def __init__(self, data):
        self.data = data

    def flip(self):
        return self.data.draw(st.booleans())

    def shuffled(self, listed):
        return self.data.draw(st.permutations(listed))

    def file(self, read):
        read = dict(read)
        for holders in ("group", "class"):
            entries = [self.holder(each) for each in read.get(holders, [])]
            if entries:
                read[holders] = self.shuffled(entries)
        return written_file(read)

    def holder(self, holder):
        found = {}
        for key in self.shuffled(list(holder)):
            value = holder[key]
            if key == "weight":
                value = self.table(value)
            elif isinstance(value, list) and value and isinstance(value[0], dict):
                value = self.shuffled([rule for each in value for rule in self.rule(key, each)])
            elif key in ("uses", "drops"):
                value = self.shuffled(value)
            found[key] = value
        return found

    def rule(self, form, rule):
        rule = self.table(rule)
        if form in ("allow", "ban", "strip") and len(rule["kinds"]) > 1 and self.flip():
            return [{**rule, "kinds": rule["kinds"][:1]}, {**rule, "kinds": rule["kinds"][1:]}]
        return [rule]

    def table(self, table):
        return {key: self.value(key, table[key]) for key in self.shuffled(list(table))}

    def value(self, key, value):
        if key in ("if", "must"):
            return self.condition(value)
        if key in ("kinds", "without", "places", "by", "taken_off", "material_not", "place") and isinstance(
            value, list
        ):
            return self.shuffled(value)
        if key == "does" and isinstance(value, list):
            return self.shuffled(value)
        if key == "adjust":
            return self.shuffled([self.table(each) for each in value])
        if key == "over_up_to":
            return self.bands(value)
        if isinstance(value, dict):
            return self.table(value)
        return self.quantity(value) if key not in PLAIN_TEXT else value

    def quantity(self, value):
        found = QUANTITY.fullmatch(value) if isinstance(value, str) else None
        if found is None or not self.flip():
            return value
        number = Decimal(found[1])
        return {"kg": f"{number * 1000} g", "cm3": f"{number / 1000:f} L", "mm": f"{number / 10:f} cm"}[found[2]]

    def bands(self, bands):
        found = []
        for band in bands[:-1]:
            low, high = (Decimal(each.partition(" ")[0]) for each in band[:2])
            unit = band[0].partition(" ")[2]
            if self.flip():
                middle = f"{(low + high) / 2:f} {unit}"
                found += [[band[0], middle, band[2]], [middle, *band[1:]]]
            else:
                found.append(band)
        return [[self.quantity(each) for each in band] for band in [*self.shuffled(found), bands[-1]]]

    def condition(self, table):
        entries = [
            {key: self.value(key, value) if key not in ("any", "all") else value} for key, value in table.items()
        ]
        way = self.data.draw(st.sampled_from(("same", "order", "all", "not not")))
        if way == "all":
            return {"all": self.shuffled(entries)}
        if way == "not not":
            return {"not": {"not": table}}
        return table if way == "same" else {key: each[key] for each in self.shuffled(entries) for key in each}


def written_file(read):
    """Tables of tables by name, the rest inline."""
    lines = []
    for key, value in read.items():
        if not isinstance(value, list):
            lines.append(f"{key} = {written(value)}")
    for key, value in read.items():
        if isinstance(value, list):
            for each in value:
                lines.append(f"[[{key}]]")
                lines += [f"{name} = {written(inner)}" for name, inner in each.items()]
    return "\n".join(lines) + "\n"


def written(value):
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(key)} = {written(each)}" for key, each in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(written, value)) + "]"
    assert isinstance(value, (int, Decimal, datetime.date))
    return str(value)
