"""Out of a car file and into one without parts gives the same parts and jobs, to the last digit and blank."""

import csv
import io
import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from spreadsheets.sheets import car, exported, table
from tarebook.car.editing import AddEntries, edited
from tarebook.car.editing.checked import same
from tarebook.car.models import Job, Part
from tarebook.car.reading import Car, load_car, parse_car
from tarebook.car.spreadsheet import export_csv, plan_import
from tarebook.car.spreadsheet.columns import column_at, every_key
from tarebook.car.spreadsheet.csv_text import parse_csv
from tarebook.tables import fields_of

DEMO = Path(__file__).parents[2] / "src" / "tarebook" / "demo" / "car.toml"
MODES = [{}, {"semicolon": True}, {"decimal_comma": True}, {"semicolon": True, "decimal_comma": True}]

# --- Random parts and jobs

TRICKY = st.sampled_from("=+-@'\"\\/;,.\t\r\n []{}:#abzéß٣1270 \u00a0\u2028\u202e")
LETTERS = st.characters(exclude_categories=["Cc", "Cs"])
TEXTS = st.text(TRICKY | LETTERS, max_size=12) | st.sampled_from(
    [
        "",
        '""',
        '"',
        "'",
        "'=1",
        "''",
        "1,5",
        "1.50",
        "true",
        "NO",
        "2026-01-02",
        "{}",
        '"2"',
        " / ",
        "a / b",
        "\\",
        "/",
        "-1+1|'!A0",
    ]
)
LISTS = st.lists(TEXTS, max_size=4)
DIGITS = st.builds(
    lambda whole, decimals: f"{whole}.{decimals}" if decimals else whole,
    st.integers(0, 99_999).map(str),
    st.text("0123456789", max_size=5),
)


def bare(digits: str) -> int | Decimal:
    return Decimal(digits) if "." in digits else int(digits)


def amounts(units: list[str], signs: list[str]) -> st.SearchStrategy:
    written = st.builds(
        "{}{}{}{}".format, st.sampled_from(signs), DIGITS, st.sampled_from([" ", "", "  "]), st.sampled_from(units)
    )
    signed = st.sampled_from(signs).flatmap(
        lambda sign: DIGITS.map(lambda digits: bare(f"{sign.replace('−', '-').strip('+')}{digits}"))
    )
    return written | written.map(lambda text: f" {text}\n") | signed


MASSES = amounts(["kg", "g", "lb", "oz"], ["", "+"])
PLACES = amounts(["mm", "cm", "in", "m"], ["", "-", "−", "+"])
MONEY = amounts(["EUR"], [""])
READINGS = MASSES | st.lists(MASSES, min_size=1, max_size=4)
ESTIMATES = st.builds(
    lambda within: {"mass": "99999 kg", "within": within},
    amounts(["g"], [""]).filter(lambda each: isinstance(each, str)),
)


def maybe(**keys: st.SearchStrategy) -> st.SearchStrategy:
    return st.fixed_dictionaries({}, optional=keys)


WEIGHED = st.one_of(
    maybe(mass=READINGS),
    READINGS.map(lambda mass: {"mass": mass, "scale": "kitchen"}),
    ESTIMATES.map(lambda estimate: {"estimate": estimate}),
    st.builds(lambda count, mass: {"count": count, "mass_each": mass}, st.integers(1, 10_000), READINGS),
    st.builds(lambda mass: {"mass_together": mass}, READINGS),
)
PARTS = st.builds(
    lambda weighed, rest: weighed | rest,
    WEIGHED,
    maybe(
        title=TEXTS,
        at=PLACES,
        right=PLACES,
        origin=st.sampled_from(["factory", "aftermarket"]),
        material=TEXTS,
        thickness=amounts(["mm", "in"], [""]),
        years=st.lists(st.integers(1880, 2200), min_size=1, max_size=3),
        approval=LISTS,
        place=st.just("interior.floor"),
        kept=TEXTS,
        gone=st.just(False),
        note=TEXTS,
    ),
)
FACTS = maybe(
    seats=st.integers(1, 9),
    tyre_width=amounts(["mm", "in"], [""]),
    power=amounts(["kW", "hp"], [""]),
    open_top=st.booleans(),
    first_registered=st.dates(),
    gearbox=st.sampled_from(["manual", "sequential"]),
    own=st.one_of(TEXTS, st.booleans(), st.dates(), st.integers(-(2**53) + 1, 2**53 - 1), DIGITS.map(bare)),
    Other=TEXTS,
)
LIGHTENED = st.one_of(
    READINGS,
    st.just({}),
    READINGS.map(lambda mass: {"mass": mass, "scale": "kitchen"}),
    ESTIMATES.map(lambda estimate: {"estimate": estimate}),
)
MOVES = maybe(at=PLACES, right=PLACES, place=st.just("interior.floor")).filter(bool)
JOBS = maybe(
    title=TEXTS,
    date=st.dates(),
    off=st.lists(st.sampled_from(["p0", "p1"]), max_size=2, unique=True),
    moves=st.dictionaries(st.sampled_from(["p0", "p1"]), MOVES),
    lightens=st.dictionaries(st.sampled_from(["p0", "p1"]), LIGHTENED),
    sets=FACTS,
    cost=MONEY,
    returns=MONEY,
    hours=DIGITS.map(bare) | st.sampled_from([Decimal("1E+3"), Decimal("2.5E-7"), Decimal("1.0e2"), Decimal("-0.0")]),
    tools=LISTS,
    finishes=st.lists(
        st.sampled_from([{"area": "interior.floor", "by": "painted"}, {"area": "interior.dash", "by": "capped"}]),
        max_size=3,
    ),
    note=TEXTS,
)


def built(parts: list[dict], jobs: list[dict]) -> Car:
    parts = [{"id": f"p{place}", "kind": "interior.trim", **each} for place, each in enumerate(parts)]
    jobs = [{"id": f"j{place}", "state": "maybe", **each} for place, each in enumerate(jobs)]
    changes = [AddEntries("part", parts), *([AddEntries("job", jobs)] if jobs else [])]
    return edited(car().source, changes).car


def there_and_back(the_car: Car, empty: Car, **mode: bool) -> dict:
    tables = [table(export_csv(the_car, which, **mode), which) for which in ("part", "job")]
    return plan_import(empty, tables).edited.after.data


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(PARTS, min_size=2, max_size=5), st.lists(JOBS, max_size=4), st.sampled_from(MODES))
@example([{"mass": "1.660 kg"}, {"mass": ["1.660 kg"]}], [], {"decimal_comma": True})
@example([{"title": "=1+1"}, {"approval": []}], [{"lightens": {"p0": {}}, "moves": {}, "sets": {}}], {})
@example([{"mass": 5}, {"mass": "5 lb"}], [{"hours": Decimal("1E+3")}], {"semicolon": True})
def test_everything_comes_back_as_it_was(parts, jobs, mode):
    the_car = built(parts, jobs)
    after = there_and_back(the_car, car(), **mode)
    for which in ("part", "job"):
        before = the_car.source.data.get(which, [])
        assert same(after.get(which, []), before), (after.get(which), before)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(PARTS, min_size=2, max_size=4), st.lists(JOBS, max_size=3), st.sampled_from(MODES))
def test_no_cell_is_a_formula(parts, jobs, mode):
    the_car = built(parts, jobs)
    for which in ("part", "job"):
        text = export_csv(the_car, which, **mode)
        separator = ";" if mode else ","
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            for cell in row:
                if cell[:1] in ("=", "+", "-", "@", "\t", "\r", "\0") and cell:
                    assert re.fullmatch(r"-[0-9]+([.,][0-9]+)?", cell), cell


@pytest.mark.parametrize("mode", MODES)
def test_the_demo_car_comes_back_as_it_was(mode):
    the_car = load_car(DEMO)
    blocks = re.split(r"(?m)^(?=\[\[)", DEMO.read_text(encoding="utf-8"))
    bare_text = "".join(each for each in blocks if not re.match(r"\[\[(part|job|build|weighing)\]\]", each))
    after = there_and_back(the_car, parse_car(bare_text), **mode)
    assert len(after["part"]) > 60 and len(after["job"]) > 25
    assert same(after["part"], the_car.source.data["part"])
    assert same(after["job"], the_car.source.data["job"])


def test_bare_numbers_keep_their_meaning_in_a_file_of_other_units():
    body = '[[part]]\nid = "seat"\nkind = "interior.seat"\nmass = [12.50, "1 kg"]\nat = -300\n'
    pounds = parse_car(car().source.text.replace('money = "EUR"', 'mass = "lb"\nlength = "in"') + body, "other.toml")
    text = export_csv(pounds, "part")
    assert text == "id,kind,mass [lb],at [in]\r\nseat,interior.seat,12.50 / 1 kg,-300\r\n"
    (into_kg,) = plan_import(car(), [table(text)]).edited.car.file.part
    (before,) = pounds.file.part
    assert into_kg.mass == before.mass and into_kg.at == before.at
    assert plan_import(car(), [table(text)]).edited.after.data["part"][0]["mass"] == ["12.50 lb", "1 kg"]


@pytest.mark.parametrize(("which", "model"), [("part", Part), ("job", Job)])
def test_every_key_of_the_models_has_a_column(which, model):
    keys = {key.partition(".")[0] for key in every_key(which)}
    assert keys == {field.key for field in fields_of(model)}
    assert all(column_at(which, tuple(key.split("."))) is not None for key in every_key(which))


@given(st.text(st.sampled_from('ab",;\r\n é'), max_size=40), st.sampled_from(",;"))
def test_cells_are_placed_where_they_stand(text, separator):
    source = parse_csv(text.encode(), "x.csv")
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        source.cells(separator)
        return
    cells = source.cells(separator)
    assert len(cells) == len(rows)
    for row, places in zip(rows, cells, strict=True):
        written = [text[each.start : each.end] for each in places]
        read = [each[1:-1].replace('""', '"') if each.startswith('"') else each for each in written]
        assert read == (row or [""])


def test_a_stated_text_that_is_empty_is_not_left_out():
    text = exported('[[part]]\nid = "a"\nkind = "ballast"\ntitle = ""\n[[part]]\nid = "b"\nkind = "ballast"\n')
    assert text == 'id,kind,title\r\na,ballast,""""""\r\nb,ballast,\r\n'
