"""What is recognised in people's own spreadsheets, and what becomes of it. Every part and job is invented."""

import datetime
from decimal import Decimal

import pytest

from spreadsheets.sheets import added, car, plan, refused, table
from tarebook.car.spreadsheet import plan_import
from tarebook.car.spreadsheet.cells import pieces
from tarebook.car.spreadsheet.columns import every_key
from tarebook.car.spreadsheet.importing import name_from
from tarebook.car.spreadsheet.kind_guesses import KindGuesses
from tarebook.kinds import builtin

PART = {"id": "mat", "kind": "interior.floor"}


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("separator", [",", ";"])
def test_marks_line_ends_and_separators(mark, end, separator):
    text = end.join(separator.join(row) for row in (["id", "kind", "title"], ["mat", "interior.floor", "Mat é"], [""]))
    assert added(mark + text.encode()) == [PART | {"title": "Mat é"}]
    assert table(mark + text.encode()).separator == separator


def test_a_separator_within_quotes_is_text():
    assert added('id,kind,title\nmat,interior.floor,"a, b; ""c""\nd"\n') == [PART | {"title": 'a, b; "c"\nd'}]


@pytest.mark.parametrize(
    ("header", "key"),
    [
        ("Mass", "mass"), ("WEIGHT", "mass"), ("Mass_Each", "mass_each"), ("weight per piece", "mass_each"),
        ("total weight", "mass_together"), ("Qty", "count"), ("Belongs-To", "belongs_to"), ("where kept", "kept"),
        ("Comments", "note"), ("estimated weight", "estimate.mass"), ("Estimate.Within", "estimate.within"),
    ],
)  # fmt: skip
def test_columns_of_parts_are_found_by_name(header, key):
    read = table(f"Category,part  name,{header}\nballast,Lead,\n")
    assert {place: each.key for place, each in read.columns.items()} == {0: "kind", 1: "title", 2: key}
    assert read.left == []


def test_columns_that_are_not_known_are_left_out_and_named():
    read = table("id,kind,Gewicht,moves.seat.at,title (short),name,,\nlead,ballast,1,2,3,Lead,5,\n")
    assert [each.key for each in read.columns.values()] == ["id", "kind", "title"]
    assert read.left == ["Gewicht", "moves.seat.at", "title (short)", "column 7, which has no name"]


def test_a_column_that_names_the_key_goes_before_one_that_means_it():
    read = table("id,kind,weight,mass\nlead,ballast,2 kg,1 kg\n")
    assert [each.key for each in read.columns.values()] == ["id", "kind", "mass"]
    assert read.left == ["weight"]
    assert added("id,kind,weight,mass\nlead,ballast,2 kg,1 kg\n")[0]["mass"] == "1 kg"


@pytest.mark.parametrize(
    ("header", "cell", "mass"),
    [
        ("mass (lb)", "13.4", "13.4 lb"), ("Weight [g]", "350", "350 g"), ("weight (lbs)", "13.40", "13.40 lb"),
        ("Mass(Kilograms)", "1.66", Decimal("1.66")),
        ("mass [kg]", "12", 12), ("mass [kg]", "13.4 lb", "13.4 lb"),
        ("mass", "1.660 kg", "1.660 kg"), ("mass", "13.4 pounds", "13.4 lb"), ("mass", "13.4LBS", "13.4 lb"),
        ("mass", "1 kg / 1.2 kg", ["1 kg", "1.2 kg"]), ("mass [kg]", "1 / 2 lb", [1, "2 lb"]),
        ("mass", "1 kg /", ["1 kg"]),
    ],
)  # fmt: skip
def test_units_come_from_the_header_or_the_cell(header, cell, mass):
    assert added(f'id,kind,{header}\nmat,interior.floor,"{cell}"\n') == [PART | {"mass": mass}]


@pytest.mark.parametrize(
    ("text", "comma", "mass"),
    [
        ('id,kind,mass\nmat,interior.floor,"1,66 kg"\n', True, "1.66 kg"),
        ('id,kind,mass\nmat,interior.floor,"0,125 kg"\n', True, "0.125 kg"),
        ("id;kind;mass\nmat;interior.floor;1,660 kg / 1,662 kg\n", True, ["1.660 kg", "1.662 kg"]),
        ("id;kind;mass (lb)\nmat;interior.floor;13,4\n", True, "13.4 lb"),
        ("id;kind;mass\nmat;interior.floor;1.660 kg\n", False, "1.660 kg"),
        ("id;kind;mass;note\nmat;interior.floor;2 kg;1,5 or so\n", False, "2 kg"),
    ],
)
def test_decimal_commas_are_recognised(text, comma, mass):
    assert table(text).decimal_comma is comma
    assert added(text)[0]["mass"] == mass


def test_a_comma_that_may_part_thousands_is_not_guessed():
    assert refused('id,kind,mass\nmat,interior.floor,"1,660 kg"\n') == [
        'sheet.csv:2:20: row 2, column "mass": a number without a comma is expected, as it could mean thousands or '
        'decimals: write "1660 kg" or "1.660 kg"'
    ]


def test_a_point_among_decimal_commas_is_not_guessed():
    assert refused("id;kind;mass\na;ballast;1,66 kg\nb;ballast;1.660 kg\nc;ballast;2.150,5 kg\n") == [
        'sheet.csv:3:11: row 3, column "mass": the other numbers have decimal commas, so the point here could part '
        "thousands | write 1,660 or 1660",
        'sheet.csv:4:11: row 4, column "mass": a number without thousands separators is expected: write "2150.5 kg"',
    ]


def test_a_number_without_any_unit_is_not_guessed():
    assert refused("id,kind,weight,at\nmat,interior.floor,1.66,-300\n") == [
        'sheet.csv:2:20: row 2, column "weight": a number without a unit could mean anything | write "1.66 kg", for '
        "example, or name the unit in the header: mass [kg]",
        'sheet.csv:2:25: row 2, column "at": a number without a unit could mean anything | write "-300 mm", for '
        "example, or name the unit in the header: at [mm]",
    ]


def test_a_unit_of_another_sort_in_the_header_is_refused():
    assert refused("id,kind,mass (mm)\nmat,interior.floor,5\n") == [
        'sheet.csv:1:9: row 1, column "mass (mm)": a mass is expected, but mm is a length'
    ]


def test_an_apostrophe_before_a_sign_is_taken_off():
    text = "id,kind,title,at,note\nmat,interior.floor,'=1+1,'-350 mm,''@x\nmat2,interior.floor,'90s,-2 mm,'\n"
    assert added(text) == [
        PART | {"title": "=1+1", "at": "-350 mm", "note": "'@x"},
        {"id": "mat2", "kind": "interior.floor", "title": "'90s", "at": "-2 mm", "note": "'"},
    ]


def test_every_form_of_cell_of_a_part():
    text = (
        "id,kind,count,mass each,estimate,give or take,years,approval,sold,origin,material\n"
        "a,ballast,4,1 kg,,,1999 / 2001,e1 / e2,Yes,Factory,steel\n"
        "b,ballast,,,4 kg,500 g,1999,e1,no,AFTERMARKET,\n"
    )
    body = '[[job]]\nid = "off"\nstate = "done"\n'
    first, second = plan_import(car(body), [table(text.replace("Yes", "No"))]).edited.after.data["part"]
    assert first == {
        "id": "a", "kind": "ballast", "count": 4, "mass_each": "1 kg", "years": [1999, 2001], "approval": ["e1", "e2"],
        "gone": False, "origin": "factory", "material": "steel",
    }  # fmt: skip
    assert second == {
        "id": "b", "kind": "ballast", "estimate": {"mass": "4 kg", "within": "500 g"}, "years": [1999],
        "approval": ["e1"], "gone": False, "origin": "aftermarket",
    }  # fmt: skip


def test_every_form_of_cell_of_a_job():
    body = '[[part]]\nid = "mat"\nkind = "interior.floor"\n[[part]]\nid = "seat"\nkind = "interior.seat"\n'
    text = (
        "id,status,date,takes off,moves.seat.at,lightens.mat,sets.seats,sets.open_top,sets.own,sets.tyre_width [mm],"
        "cost (eur),hours,tool,finish\n"
        'a,Done,2026-04-05,mat,-2 m,,2,no,"""2""",195,140.50,1.5,trim lever / spanner,interior.floor:painted\n'
        "b,maybe,,,,1.2 kg,,YES,2.50,,0 EUR,2,,interior.floor: painted / interior.dash: capped\n"
    )
    assert added(text, body, "job") == [
        {
            "id": "a", "state": "done", "date": datetime.date(2026, 4, 5), "off": ["mat"],
            "moves": {"seat": {"at": "-2 m"}}, "sets": {"seats": 2, "open_top": False, "own": "2", "tyre_width": 195},
            "cost": Decimal("140.50"), "hours": Decimal("1.5"), "tools": ["trim lever", "spanner"],
            "finishes": [{"area": "interior.floor", "by": "painted"}],
        },
        {
            "id": "b", "state": "maybe", "lightens": {"mat": "1.2 kg"},
            "sets": {"open_top": True, "own": Decimal("2.50")},
            "cost": "0 EUR", "hours": 2,
            "finishes": [{"area": "interior.floor", "by": "painted"}, {"area": "interior.dash", "by": "capped"}],
        },
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("a / b", ["a", "b"]), ("a/b", ["a/b"]), ("a /", ["a"]), ("/", []), ("a / / b", ["a", "b"]),
        ("  a  ", ["a"]), (r"a \/ b", ["a / b"]), (r"\ a", [" a"]), ('"" / x', ["", "x"]), (r"C:\x", [r"C:\x"]),
    ],
)  # fmt: skip
def test_lists_in_cells(cell, expected):
    assert pieces(cell)[0] == expected


# --- Names and kinds


def test_names_are_made_from_titles_and_no_two_are_alike():
    text = "id,name,kind\n,Rim,wheels.rim\n,Rim!,wheels.rim\nrim-2,Fancy rim,wheels.rim\n,Siège Été,interior.seat\n"
    assert [each["id"] for each in added(text)] == ["rim", "rim-3", "rim-2", "siege-ete"]


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Driver's seat, left", "drivers-seat-left"),
        ("--x--", "x"),
        ("車", ""),
        ("a" * 80, "a" * 60),
        ("2 of_3", "2-of-3"),
    ],
)
def test_names_are_valid(title, name):
    assert name_from(title) == name


@pytest.mark.parametrize(
    ("title", "kind"),
    [
        ("Boot carpet", "interior.floor.boot-carpet"), ("Old boot carpet (torn)", "interior.floor.boot-carpet"),
        ("Spare wheel", "stowage.spare-wheel"), ("Road tyres, 175 wide", "wheels.tyre"), ("body.bonnet", "body.bonnet"),
        ("hood", "body.bonnet"), ("Qqq xyz", ""), ("", ""),
    ],
)  # fmt: skip
def test_kinds_are_guessed_from_titles(title, kind):
    assert KindGuesses(builtin()).guess(title) == kind


def test_a_guess_is_marked_and_a_name_that_a_rule_set_may_declare_is_kept():
    read = plan("title,kind\nBoot carpet,\nSpare wheel,Wheel things\nClock,interior.dash.clock\nMat,interior.floor\n")
    assert [(each.data["kind"], each.guessed_from, each.open_kind) for each in read.new] == [
        ("interior.floor.boot-carpet", "Boot carpet", False),
        (read.new[1].data["kind"], "Wheel things", False),
        ("interior.dash.clock", "", True),
        ("interior.floor", "", False),
    ]
    assert read.new[1].data["kind"] in builtin()
    assert [each.row for each in read.guesses] == [2, 3]


def test_a_kind_chosen_by_hand_replaces_the_guess():
    read = plan("title\nBoot carpet\n", kinds={2: "interior.floor.carpet"})
    assert read.edited.after.data["part"][0]["kind"] == "interior.floor.carpet"
    assert read.guesses == []


def test_no_kind_is_made_up():
    assert refused("title,mass\nQqq xyz,1 kg\n") == [
        "sheet.csv:2:1: row 2: there is no kind here, and none fits the title | tarebook kinds WORD looks for one"
    ]


def test_masses_that_look_like_a_slip_are_questioned():
    read = plan("title,kind,mass\nBoot carpet,interior.floor.boot-carpet,1660 kg\nMat,interior.floor.carpet,4 kg\n")
    assert [(each.row, "1660 kg" in question) for each, question in read.doubts()] == [(2, True)]


# --- What is there already

THERE = '[[part]]\nid = "mat"\ntitle = "Mat"\nkind = "interior.floor.carpet"\nmass = "4.20 kg"\nat = -300\n'


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("id,kind,mass,at", "mat,interior.floor.carpet,4.20 kg,-300 mm"),
        ("id,kind,mass [kg],at [mm],origin,gone,note", "mat,interior.floor.carpet,4.20 /,-300,factory,no,"),
        ("title,weight", "Mat,4.20 kg"),
        ("id,kind,weight", "mat,,4.20 kg"),
    ],
)
def test_the_same_entry_is_left_alone(header, row):
    read = plan(f"{header}\n{row}\n", THERE)
    assert [each.id for each in read.there] == ["mat"]
    assert read.new == ()
    assert read.edited.after.content == car(THERE).source.content


def test_the_same_job_is_left_alone_and_another_is_not():
    body = (
        '[[part]]\nid = "mat"\nkind = "interior.floor"\n[[job]]\nid = "out"\nstate = "maybe"\noff = ["mat"]\n'
        'cost = "140 EUR"\nhours = 1.50\nsets = { seats = 2 }\n'
        'finishes = [{ area = "interior.floor", by = "painted" }]\n'
    )
    head = "id,state,off,cost [EUR],hours,sets.seats,finishes,needs\n"
    same = plan(head + "out,Maybe,mat,140,1.5,2,interior.floor: painted,\n", body, "job")
    assert ([each.id for each in same.there], same.new) == (["out"], ())
    assert refused(head + "out,maybe,,140.5,1.5,3,interior.floor: covered,\n", body, "job") == [
        'sheet.csv:2:1: row 2, column "id": the job "out" is in car.toml, line 12, and differs: off is mat there and '
        "not stated here; cost is 140 EUR there and 140.5 EUR here; sets.seats is 2 there and 3 here; finishes is "
        "interior.floor: painted there and interior.floor: covered here | change it there by hand, or give this one an "
        "id of its own"
    ]


def test_columns_that_the_spreadsheet_lacks_are_not_compared():
    assert [each.id for each in plan("id,kind\nmat,interior.floor.carpet\n", THERE).there] == ["mat"]


def test_another_entry_of_the_same_name_is_refused_with_both_shown():
    assert refused("id,kind,mass,at\nmat,interior.floor.carpet,4.2 kg,\nnew,ballast,1 kg,\n", THERE) == [
        'sheet.csv:2:1: row 2, column "id": the part "mat" is in car.toml, line 9, and differs: mass is 4.20 kg there '
        "and 4.2 kg here; at is -300 mm there and not stated here | change it there by hand, or give this one an id of "
        "its own"
    ]


# --- Mistakes


def test_all_mistakes_come_at_once_each_at_its_cell():
    text = (
        "id,kind,mass,scale,count,belongs to\n"
        "a,ballast,1 kgg,kitchen,,\n"
        "B!,ballast,1 kg,,,\n"
        "c,ballast,1 kg,kitchn,,\n"
        "d,ballast,,,many,a\n"
        "e,ballast,1 kg,,2,nobody\n"
        "a,ballast,1 kg,,,\n"
    )
    assert refused(text) == [
        'sheet.csv:2:11: row 2, column "mass": "kgg" is no unit of mass: did you mean "kg"?',
        'sheet.csv:3:1: row 3, column "id": "B!" is not a name: use lower-case letters, digits, hyphens and '
        "underscores",
        'sheet.csv:4:16: row 4, column "scale": there is no scale "kitchn" | did you mean "kitchen"?',
        'sheet.csv:5:13: row 5, column "count": a whole number is expected here, such as 4',
        'sheet.csv:6:11: row 6, column "mass": with a count, say mass_each or mass_together',
        'sheet.csv:6:19: row 6, column "belongs to": there is no part "nobody"',
        'sheet.csv:7:1: row 7, column "id": the part "a" is in row 2 already',
    ]


def test_lines_are_those_of_the_file_and_rows_those_of_the_table():
    assert refused('\n"o\nk",id,kind\n"x\ny",a,ballast\n,,\n"z",a,ballast\n') == [
        'sheet.csv:7:5: row 5, column "id": the part "a" is in row 3 already'
    ]


def test_parts_and_jobs_can_come_together():
    parts = table("id,kind,gone\nold,interior.audio,yes\n")
    assert refused("id,kind,gone\nold,interior.audio,yes\n") == [
        'sheet.csv:2:20: row 2, column "gone": part "old" is gone, yet on the car'
    ]
    jobs = table("id,state,off\nout,done,old\n", "job", "jobs.csv")
    read = plan_import(car(), [parts, jobs])
    assert [(each.table.which, each.id) for each in read.new] == [("part", "old"), ("job", "out")]
    assert read.edited.after.data["job"] == [{"id": "out", "state": "done", "off": ["old"]}]


def test_two_columns_for_one_key_are_refused():
    assert refused("id,kind,masses,Weight\na,ballast,1 kg,2 kg\n") == [
        'sheet.csv:1:16: row 1, column "Weight": this column and "masses" both mean mass | give one of them another '
        "name"
    ]


def test_columns_that_must_be_there():
    listed = ", ".join(every_key("part"))
    assert refused("colour\nred\n") == [
        f"sheet.csv:1:1: row 1: there is no column id or title | the columns for a part are {listed}",
        f"sheet.csv:1:1: row 1: there is no column kind or title | the columns for a part are {listed}",
    ]
    assert refused("idd,kind\na,ballast\n") == [
        'sheet.csv:1:1: row 1: there is no column id or title | did you mean "id"?'
    ]
    assert refused("name\tkind\nLead\tballast\n")[0] == (
        "sheet.csv:1:1: row 1: there is no column id or title | save it with commas or semicolons between cells, not "
        "tabs"
    )
    assert refused("id,title\na,b\n", which="job") == [
        "sheet.csv:1:1: row 1: there is no column state | the columns for a job are " + ", ".join(every_key("job"))
    ]
