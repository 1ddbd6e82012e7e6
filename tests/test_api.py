"""The documented way in for Python users: load_car, load_rules, check and removals; and the purity of the engine."""

import ast
import datetime
import itertools
from pathlib import Path

import pytest

import tarebook
from support import DAY, book, car, rules
from tarebook.car.reading import Car
from tarebook.judge.findings import Finding, LimitAnswer, Report, Row
from tarebook.route.removals import Removal
from tarebook.rules.reading import RuleSet, parse_rules

SOURCES = Path(tarebook.__file__).parent
WEIGHT = 'weight = { clause = "4.1", driver = "out", minimum = "880 kg" }'
CAR = """
at_inspection = { fuel = "5 L" }
weighing = [{ id = "first", date = 2027-01-01, total = "900.0 kg", fuel = "5 L" }]
part = [
    { id = "carpet", kind = "interior.floor.carpet", mass = "4.0 kg" },
    { id = "radio", kind = "interior.audio", mass = "2.0 kg" },
]
job = [
    { id = "strip", state = "done", date = 2027-01-10, off = ["carpet"] },
    { id = "quiet", state = "planned", off = ["radio"] },
]
build = [{ id = "summer", jobs = ["quiet"], date = 2027-08-01 }]
"""
ALLOW = 'allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"] }]'


def edition(name, start, until="", *, book_id="made-up", body=WEIGHT, tables=""):
    end = f", until = {until}" if until else ""
    return parse_rules(
        'format = "tarebook-rules/1"\n'
        f'[book]\nid = "{book_id}"\ntitle = "{book_id}"\nedition = "{name}"\nclause = "1.1"\n'
        f'in_force = {{ from = {start}{end} }}\nsilence = "forbids"\n{tables}\n'
        f'[[class]]\nid = "club"\ntitle = "Club"\n{body}\n',
        f"{book_id}-{name}.toml",
    )


def as_data(report):
    """A report as plain data, rows in an order of their own, findings in words."""
    rows = [
        (
            (row.book, row.edition, row.class_id, row.build, row.on),
            (row.verdict, row.to_ask, row.facts_to_find),
            row.limits,
            [repr(finding) for finding in row.findings],
        )
        for row in report.rows
    ]
    return sorted(rows, key=lambda row: row[0])


# ---- the names


def test_the_names_that_are_offered():
    assert {"load_car", "load_rules", "check", "removals", "MistakesFound", "NotInForce"} <= set(tarebook.__all__)
    for name in tarebook.__all__:
        assert getattr(tarebook, name) is not None
    with pytest.raises(AttributeError, match="has no attribute 'nosuch'"):
        tarebook.nosuch  # noqa: B018 - asking for it is the test


def test_the_example_of_the_docstring(tmp_path):
    (tmp_path / "rulesets").mkdir()
    shipped = Path(__file__).parents[1] / "rulesets"
    for each in shipped.glob("*.toml"):
        (tmp_path / "rulesets" / each.name).write_bytes(each.read_bytes())
    (tmp_path / "heron.toml").write_bytes((SOURCES / "demo" / "car.toml").read_bytes())
    loaded = tarebook.load_car(tmp_path / "heron.toml")
    books = tarebook.load_rules(str(tmp_path / "rulesets"))
    assert isinstance(loaded, Car) and all(isinstance(each, RuleSet) for each in books)
    report = tarebook.check(loaded, books, on=datetime.date(2026, 11, 25), build="planned")
    assert isinstance(report, Report)
    assert len(report.rows) == sum(len(each.class_ids) for each in books)
    assert {row.build for row in report.rows} == {"planned"}


def test_types_of_an_answer():
    report = tarebook.check(car(CAR), rules(f"{WEIGHT}\n{ALLOW}"), on=DAY)
    (row,) = report.rows
    (limit,) = row.limits
    assert isinstance(row, Row) and isinstance(limit, LimitAnswer)
    assert all(isinstance(finding, Finding) for finding in row.findings)
    assert (row.book, row.class_id, row.build, row.on) == ("made-up", "club", "now", DAY)
    assert (row.verdict, row.to_ask, row.facts_to_find) == ("eligible", 0, ())
    assert (limit.limit_kg, limit.mass_kg) == (880.0, pytest.approx(896.0))
    assert report.alone_kg == {"now": pytest.approx(896.0)}
    assert report.receipt.books[0].book == "made-up"
    assert report.receipt.tool_version == tarebook.__version__


def test_removals_are_typed_rows():
    rows = tarebook.removals(car(CAR), rules(f"{WEIGHT}\n{ALLOW}"), "club", on=DAY)
    assert [(type(row), row.part, row.group) for row in rows] == [(Removal, "radio", "must-stay")]
    (radio,) = rows
    assert (radio.mass_kg, radio.kind, radio.clauses) == (2.0, "interior.audio", ("1.1",))
    assert radio.margin_left_kg == pytest.approx(14.0)


# ---- files


def test_a_folder_gives_its_rule_sets_and_passes_other_files_over(tmp_path):
    head = 'format = "tarebook-rules/1"\n[book]\nid = "{0}"\ntitle = "x"\nedition = "1"\n'
    rest = 'in_force = { from = 2020-01-01 }\nsilence = "forbids"\n[[class]]\nid = "a"\ntitle = "A"\n'
    for name in ("b", "a"):
        (tmp_path / f"{name}.toml").write_text(head.format(name) + rest)
    (tmp_path / "wren.toml").write_text('format = "tarebook-car/1"\ncar = { name = "Wren" }\n')
    (tmp_path / "notes.txt").write_text("no rule set")
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "c.toml").write_text(head.format("c") + rest)
    assert [each.id for each in tarebook.load_rules(tmp_path)] == ["a", "b"]
    assert [each.id for each in tarebook.load_rules(tmp_path / "b.toml")] == ["b"]


@pytest.mark.parametrize("load", [tarebook.load_car, tarebook.load_rules])
def test_a_file_that_is_no_such_file(tmp_path, load):
    (tmp_path / "boat.toml").write_text('format = "tarebook-boat/1"\n')
    for name in ("boat.toml", "nosuch.toml"):
        with pytest.raises(tarebook.MistakesFound) as found:
            load(tmp_path / name)
        assert found.value.mistakes
        assert {mistake.file for mistake in found.value.mistakes} == {str(tmp_path / name)}
        assert all(isinstance(mistake, tarebook.Mistake) for mistake in found.value.mistakes)


# ---- requests that are wrong


def test_a_build_or_a_class_that_is_not_there():
    by = rules(WEIGHT)
    for ask in (
        lambda: tarebook.check(car(CAR), by, on=DAY, build="nosuch"),
        lambda: tarebook.check(car(CAR), by, on=DAY, classes=["nosuch"]),
        lambda: tarebook.removals(car(CAR), by, "nosuch", on=DAY),
        lambda: tarebook.removals(car(CAR), by, "club", on=DAY, build="nosuch"),
    ):
        with pytest.raises(KeyError) as found:
            ask()
        assert found.value.args == ("nosuch",)


def test_a_day_that_no_edition_or_more_than_one_covers():
    one, two = edition("2027", "2027-01-01", "2027-12-31"), edition("2028", "2028-01-01")
    early = datetime.date(2026, 12, 31)
    for ask in (
        lambda: tarebook.check(car(CAR), [one, two], on=early),
        lambda: tarebook.removals(car(CAR), [one, two], "club", on=early),
    ):
        with pytest.raises(tarebook.NotInForce, match=r'^book "made-up": no edition covers 2026-12-31\. There are: '):
            ask()
    overlapping = edition("2027b", "2027-06-01")
    with pytest.raises(tarebook.NotInForce, match="more than one edition covers 2027-07-01"):
        tarebook.check(car(CAR), [one, overlapping], on=datetime.date(2027, 7, 1))
    assert issubclass(tarebook.NotInForce, ValueError)


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ('part = [{ id = "clock", kind = "interior.dash.clock" }]', 'there is no kind "interior.dash.clock"'),
        ("facts = { tyre_list = 1 }", 'there is no fact "tyre_list"'),
    ],
)
def test_names_that_nobody_declares(body, message):
    own = car(body)  # the car file alone is sound: a rule set might declare them
    with pytest.raises(tarebook.MistakesFound, match=message):
        tarebook.check(own, rules(WEIGHT), on=DAY)
    with pytest.raises(tarebook.MistakesFound, match=message):
        tarebook.removals(own, rules(WEIGHT), "club", on=DAY)


def test_a_value_that_does_not_fit_the_books_own_fact():
    fact = '[[fact]]\nid = "tyre_list"\ntype = "choice"\nchoices = ["a", "b"]\ntitle = "Which list"\n'
    by = rules('require = [{ clause = "2.1", must = { tyre_list = "a" } }]', before=fact)
    assert tarebook.check(car(tyre_list="a"), by, on=DAY).rows[0].verdict == "eligible"
    with pytest.raises(tarebook.MistakesFound, match="declares it"):
        tarebook.check(car(tyre_list="z"), by, on=DAY)


# ---- several days, several builds, several books


def test_a_day_for_each_build_picks_its_edition():
    heavier = WEIGHT.replace("880 kg", "899 kg")
    books = [edition("2027", "2027-01-01", "2027-06-30", body=f"{WEIGHT}\n{ALLOW}")]
    books.append(edition("2027b", "2027-07-01", body=f"{heavier}\n{ALLOW}"))
    days = {"now": DAY, "summer": datetime.date(2027, 8, 1)}
    report = tarebook.check(car(CAR), books, on=days, build=["now", "summer"])
    assert [(row.build, row.edition, row.on, row.limits[0].limit_kg) for row in report.rows] == [
        ("now", "2027", DAY, 880.0),
        ("summer", "2027b", datetime.date(2027, 8, 1), 899.0),
    ]
    assert [each.edition for each in report.receipt.books] == ["2027", "2027b"]
    assert set(report.alone_kg) == {"now", "summer"}


def test_one_day_for_all_builds():
    report = tarebook.check(car(CAR), rules(WEIGHT), on=DAY, build=("now", "planned", "summer"))
    assert [(row.build, row.on) for row in report.rows] == [("now", DAY), ("planned", DAY), ("summer", DAY)]


def test_both_ends_of_an_edition_count():
    only = edition("2027", "2027-01-01", "2027-12-31")
    for day in (datetime.date(2027, 1, 1), datetime.date(2027, 12, 31)):
        assert tarebook.check(car(CAR), only, on=day).rows[0].edition == "2027"
    for day in (datetime.date(2026, 12, 31), datetime.date(2028, 1, 1)):
        with pytest.raises(tarebook.NotInForce):
            tarebook.check(car(CAR), only, on=day)


def test_confidence_moves_the_guard_band():
    # The mass is 896 kg and uncertain by some hundredths of one, so the chance of being over 895.88 kg is high, not 1.
    tight = rules(f"{WEIGHT.replace('880 kg', '895.88 kg')}\n{ALLOW}")
    chance = tarebook.check(car(CAR), tight, on=DAY).rows[0].limits[0].chance
    assert 0.5 < chance < 1.0
    sure, unsure = (1 + chance) / 2, chance / 2 + 0.25
    assert tarebook.check(car(CAR), tight, on=DAY, confidence=sure).rows[0].verdict == "too-close"
    assert tarebook.check(car(CAR), tight, on=DAY, confidence=unsure).rows[0].verdict == "eligible"


KIND = '[[kind]]\nid = "interior.dash.clock"\ntitle = "Clock"\nfrom_factory = "{0}"\n'
BOOKS = (
    edition("2027", "2027-01-01", "2027-12-31", book_id="alder", body=f"{WEIGHT}\n{ALLOW}"),
    edition("2028", "2028-01-01", book_id="alder", body=WEIGHT),
    edition("1", "2020-01-01", book_id="birch", body=WEIGHT.replace("880", "899"), tables=KIND.format("sometimes")),
    edition("1", "2020-01-01", book_id="cedar", body=ALLOW, tables=KIND.format("sometimes")),
)


def test_the_order_of_rule_files_never_matters():
    clock = '{ id = "clock", kind = "interior.dash.clock", mass = "0.2 kg" }'
    builder = car(CAR.replace("part = [", f"part = [\n    {clock},"))
    days = {"now": DAY, "planned": datetime.date(2028, 3, 1)}
    expected = as_data(tarebook.check(builder, BOOKS, on=days, build=list(days)))
    assert len(expected) == 6
    for books in itertools.permutations(BOOKS):
        assert as_data(tarebook.check(builder, books, on=days, build=list(days))) == expected


def test_the_order_of_books_does_not_decide_which_class_is_meant():
    allow = 'allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"] }]'
    lenient = edition("1", "2020-01-01", book_id="alder", body=allow)
    strict = edition("1", "2020-01-01", book_id="birch")

    def answer(*books):
        try:
            return [(row.part, row.group) for row in tarebook.removals(car(CAR), books, "club", on=DAY)]
        except (KeyError, ValueError) as error:
            return type(error)

    assert answer(lenient, strict) == answer(strict, lenient)


def test_a_rule_set_may_stand_alone_or_in_any_iterable():
    by = rules(WEIGHT)
    alone = as_data(tarebook.check(car(CAR), by, on=DAY))
    assert as_data(tarebook.check(car(CAR), [by], on=DAY)) == alone
    assert as_data(tarebook.check(car(CAR), iter((by,)), on=DAY)) == alone
    assert tarebook.removals(car(CAR), iter((by,)), "club", on=DAY) == tarebook.removals(car(CAR), by, "club", on=DAY)


def test_the_same_report_twice():
    builder, by = car(CAR), book(f'[[class]]\nid = "club"\ntitle = "Club"\n{WEIGHT}\n{ALLOW}')
    first = tarebook.check(builder, by, on=DAY, build=["now", "planned", "summer"])
    again = tarebook.check(builder, by, on=DAY, build=["now", "planned", "summer"])
    fresh = tarebook.check(car(CAR), by, on=DAY, build=["now", "planned", "summer"])
    assert as_data(first) == as_data(again) == as_data(fresh)
    assert first.receipt == again.receipt == fresh.receipt
    assert first.alone_kg == again.alone_kg
    # What was asked in between leaves no trace.
    removals = tarebook.removals(builder, by, "club", on=DAY)
    assert as_data(tarebook.check(builder, by, on=DAY, build=["now", "planned", "summer"])) == as_data(first)
    assert tarebook.removals(builder, by, "club", on=DAY) == removals


# ---- purity: the engine opens no file, reads no clock and prints nothing

IMPURE_MODULES = {"os", "pathlib", "time", "random", "sys", "io", "subprocess", "socket", "secrets", "tempfile"}
IMPURE_CALLS = {"open", "print", "input", "exec", "eval", "compile", "__import__", "breakpoint"}
CLOCKS = {"now", "today", "utcnow", "fromtimestamp"}
ENGINE = sorted(path for package in ("judge", "weight") for path in (SOURCES / package).rglob("*.py"))


def impurities(tree):
    """What in a module reaches out of it, by line."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)]
        else:
            names = []
        found += [f"{node.lineno}: imports {name}" for name in names if name.split(".")[0] in IMPURE_MODULES]
        if isinstance(node, ast.Call):
            called = node.func
            if isinstance(called, ast.Name) and called.id in IMPURE_CALLS:
                found.append(f"{node.lineno}: calls {called.id}")
            if isinstance(called, ast.Attribute) and called.attr in CLOCKS | {"open", "read_text", "write_text"}:
                found.append(f"{node.lineno}: calls .{called.attr}")
    return found


@pytest.mark.parametrize("path", ENGINE, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_the_engine_is_pure(path):
    assert impurities(ast.parse(path.read_text(encoding="utf-8"))) == []


def test_the_walk_finds_what_it_looks_for():
    assert len(ENGINE) > 10
    impure = "import os.path\nfrom pathlib import Path\nprint(open('x'))\ndate.today()\nPath('x').read_text()\n"
    assert impurities(ast.parse(impure)) == [
        "1: imports os.path",
        "2: imports pathlib",
        "2: imports pathlib.Path",
        "3: calls print",
        "4: calls .today",
        "5: calls .read_text",
        "3: calls open",
    ]
