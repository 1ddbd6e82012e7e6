"""`removals` and `why`: what may come out, and which rules decide it."""

import json

import pytest

from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, WRONG
from tarebook.show.text import width

REMOVALS = """\
Wren, build now, in heavy: Heavy (Tern Moor Motor Circle, edition 2026)
Each part is tried alone. u: standard uncertainty; margin: what is then left to the nearest limit of
the class (clause 4.1), below zero if missed.

May come out now (1 part, 1.6 kg)
  Boot carpet [boot-carpet]
      1.60 kg (u 0.0029 kg); margin then -69.6 kg
      allowed by clause 2.1
      job strip-boot (planned): no cost stated

Already out, but forbidden: put back (1 part, 14.0 kg comes back)
  Spare wheel [spare-wheel]
      14.00 kg (u 0.0029 kg)
      clause 4.2: Spare wheel may not be removed. [rulesets/2026.toml:31]
      kept: loft
      job strip-cabin took it off, with carpet
      no job of the car file puts it back

Must stay (2 parts, 4.4 kg)
  Centre console [console], 2.40 kg (u 0.0029 kg) (caution 1)
      clause 1.1: no clause lets it out [rulesets/2026.toml:8]
      job strip-console (maybe) would take it off
  Radio [audio], 2.00 kg (u 0.0029 kg)
      clause 1.1: no clause lets it out [rulesets/2026.toml:8]

Also on the car, as far as the tree of kinds knows, but not listed in the car file
  Underlay of the carpet [interior.floor.underlay] (caution 2)
      may come out; perhaps 2.0 kg to 12.0 kg (from memory)
      allowed by clause 2.1
  Sound deadening stuck to the shell [interior.floor.deadening] (caution 2)
      may come out; perhaps 4.0 kg to 15.0 kg (from memory)
      allowed by clause 2.1
  Sound mat on the bulkhead [interior.floor.bulkhead-mat] (caution 2)
      may come out; perhaps 2.0 kg to 8.0 kg (from memory)
      allowed by clause 2.1
  Footrest and floor packing [interior.floor.footrest]
      may come out; perhaps 0.2 kg to 2.0 kg (from memory)
      allowed by clause 2.1
  Tool bag [stowage.tools]
      may come out; perhaps 0.2 kg to 3.0 kg (from memory)
      allowed by clause 2.1

Cautions
  (1) Airbags and belt pretensioners hold an explosive charge and can fire while being handled.
      Leave this work to someone licensed for it, keep to local law on storing and disposal, and ask
      the club whether the system may be disturbed at all.
  (2) Mats, linings and coatings of older cars may hold asbestos or give off harmful dust and fumes
      when scraped or burnt. Have them tested if in doubt, and follow local law on protection and
      disposal.

This is a preparation. The official at the event decides, by the club's own book.
"""
TABLE = """\
Wren (car.toml), build now: what may come out, in every class

Tern Moor Motor Circle, edition 2026 (rulesets/2026.toml)
                         free      heavy     brink     sheet
boot-carpet     1.60 kg  may       may       may       may
console         2.40 kg  stays     stays     stays     stays
audio           2.00 kg  stays     stays     stays     open
spare-wheel    14.00 kg  -         put back  -         -

may: may come out now; duty: may come out with a duty; open: not decided yet; put back: already out,
but forbidden; stays: must stay; -: not on the car, which breaks no clause. Name one class to read
the reasons.
This is a preparation. The official at the event decides, by the club's own book.
"""
FORBIDDEN = """\
Wren, build now, in heavy: Heavy (Tern Moor Motor Circle, edition 2026), on 2026-11-25

Spare wheel (stowage.spare-wheel): in this build it is removed.

Rules considered, the deciding one first: against the rules
  4.2: ban on stowage.spare-wheel, from class heavy; decides. [rulesets/2026.toml:31]
      "The spare wheel stays."
  2.1: allowance on interior.floor and stowage, from group stripping; loses to clause 4.2, which
      names a kind nearer to the part. [rulesets/2026.toml:12]
      "Carpets and stowage may come out."

So: Spare wheel may not be removed. (clause 4.2)
"""
ALLOWED = """\
Wren, build now, in free: Free (Tern Moor Motor Circle, edition 2026), on 2026-11-25

Cabin carpet (interior.floor.carpet): in this build it is removed.

Rules considered, the deciding one first: allowed
  2.1: allowance on interior.floor and stowage, from group stripping; decides.
      [rulesets/2026.toml:12]
      "Carpets and stowage may come out."

So: Cabin carpet may be removed. (clause 2.1)
"""
OPEN = """\
Wren, build now, in sheet: Sheet (Tern Moor Motor Circle, edition 2026), on 2026-11-25

Radio (interior.audio): suppose it were removed.

Rules that speak of it:
  6.3: allowance on interior.audio, from class sheet; applies or not, depending on seats.
      [rulesets/2026.toml:57]
      it looks at: seats is not stated

Not decided: it hangs on seats.
  - with seats: 0: No clause speaks of removing radio, and what this book does not allow it forbids.
    (clause 1.1)
  - with seats: 5: Radio may be removed. (clause 6.3)
"""
NOTHING_NAMED = """\
Wren, build now, in heavy: Heavy (Tern Moor Motor Circle, edition 2026), on 2026-11-25

Verdict: not eligible.

violation, clause 4.2: Spare wheel may not be removed. [rulesets/2026.toml:31]
  "The spare wheel stays."
  (name the part spare-wheel to see every rule that was considered)

violation, clause 4.1: 882 kg is 68 kg under the minimum of 950 kg. [rulesets/2026.toml:30]
"""
CLAUSE = """\
Wren, build now, in heavy: Heavy (Tern Moor Motor Circle, edition 2026), on 2026-11-25

2.1: allow, from group stripping. [rulesets/2026.toml:12]
  "Carpets and stowage may come out."
  - allowed: Cabin carpet may be removed. [rulesets/2026.toml:12]
  - 2.1 lost to clause 4.2 (longer kind): Spare wheel, removed
"""
DAY = ("--on", "2026-11-25")
REMOVAL_KEYS = {"part", "kind", "group", "mass_kg", "clauses", "duties", "facts_to_find", "cautions"}


def block(shown, part):
    """The lines of one row."""
    lines = shown.splitlines(keepends=True)
    start = next(index for index, line in enumerate(lines) if f"[{part}]" in line and line[2] != " ")
    end = next(index for index in range(start + 1, len(lines)) if not lines[index].startswith("      "))
    return "".join(lines[start:end])


def groups(answer):
    return {row["part"]: row["group"] for row in json.loads(answer.out)["rows"]}


# ---- removals


def test_the_whole_listing(club):
    answer = club.ask("removals", "car.toml", "heavy", *DAY)
    assert answer.out == REMOVALS
    assert (answer.status, answer.err) == (NOT_ELIGIBLE, "")


@pytest.mark.parametrize(
    ("class_id", "status", "expected"),
    [
        ("free", ELIGIBLE, {"boot-carpet": "may", "console": "must-stay", "audio": "must-stay"}),
        ("sheet", UNDECIDED, {"boot-carpet": "may", "console": "must-stay", "audio": "undecided"}),
        (
            "heavy",
            NOT_ELIGIBLE,
            {"boot-carpet": "may", "console": "must-stay", "audio": "must-stay", "spare-wheel": "put-back"},
        ),
    ],
)
def test_groups_and_statuses(club, class_id, status, expected):
    answer = club.ask("removals", "car.toml", class_id, *DAY, "--json")
    assert groups(answer) == expected
    assert answer.status == status
    assert club.ask("removals", "car.toml", class_id, *DAY).status == status


def test_removals_of_another_build(club):
    expected = {"console": "must-stay", "audio": "must-stay"}
    assert groups(club.ask("removals", "car.toml", "free", *DAY, "--build", "planned", "--json")) == expected
    # The build's own date picks the edition that lets the console out.
    spring = club.ask("removals", "car.toml", "free", "--build", "spring", "--json")
    assert groups(spring) == {"audio": "must-stay"}
    assert json.loads(spring.out)["edition"] == "2027"


def test_removals_json_has_the_keys_of_the_format(club):
    document = json.loads(club.ask("removals", "car.toml", "heavy", *DAY, "--json").out)
    assert document["format"] == "tarebook-removals/1"
    assert (document["class"], document["build"], document["on"]) == ("heavy", "now", "2026-11-25")
    rows = {row["part"]: row for row in document["rows"]}
    assert all(set(row) >= REMOVAL_KEYS for row in rows.values())
    assert rows["boot-carpet"]["mass_kg"] == 1.6
    assert rows["boot-carpet"]["clauses"] == ["2.1"]
    assert rows["boot-carpet"]["margin_left_kg"] == pytest.approx(-69.6, abs=1e-9)
    assert rows["spare-wheel"]["clauses"] == ["4.2"]
    assert rows["spare-wheel"]["kept"] == "loft"
    assert len(rows["console"]["cautions"]) == 1
    sheet = json.loads(club.ask("removals", "car.toml", "sheet", *DAY, "--json").out)
    (audio,) = [row for row in sheet["rows"] if row["part"] == "audio"]
    assert audio["facts_to_find"] == ["seats"]


PRICED = """\
[[part]]
id = "spare-wheel"
kind = "stowage.spare-wheel"
title = "Spare wheel"
mass = "14.00 kg"
at = "3000 mm"
gone = true
[[job]]
id = "strip-boot"
state = "planned"
off = ["boot-carpet"]
cost = "10 EUR"
returns = "2 EUR"
hours = 1.5
"""


@pytest.fixture
def priced(club):
    """The club's car with a wheelbase, two places, and a price; the spare wheel is gone."""
    text = (club.folder / "car.toml").read_text()
    spare, job = PRICED.split("[[job]]\n")
    begin, end = text.index('[[part]]\nid = "spare-wheel"'), text.index('[[job]]\nid = "strip-cabin"')
    text = text[:begin] + spare + text[end:]
    begin, end = text.index('[[job]]\nid = "strip-boot"'), text.index('[[job]]\nid = "strip-console"')
    text = text[:begin] + "[[job]]\n" + job + text[end:]
    text = text.replace('mass = "1.60 kg"\n', 'mass = "1.60 kg"\nat = "3000 mm"\n')
    club.write("car.toml", text.replace("doors = 3\n", 'doors = 3\nwheelbase = "2400 mm"\n'))
    return club


def test_what_a_row_tells_of_cost_and_balance(priced):
    shown = priced.ask("removals", "car.toml", "heavy", *DAY).out
    # 1.60 kg at 3000 mm behind the front axle, over a wheelbase of 2400 mm: the rear axle carries 2.00 kg of it.
    boot = """\
  Boot carpet [boot-carpet]
      1.60 kg (u 0.0029 kg); front +0.40 kg, rear -2.00 kg; margin then -69.6 kg
      allowed by clause 2.1
      job strip-boot (planned): costs 8 EUR, 5 EUR for each kg, 1.5 h
"""
    assert boot in shown
    assert (
        block(shown, "spare-wheel")
        == """\
  Spare wheel [spare-wheel]
      14.00 kg (u 0.0029 kg)
      clause 4.2: Spare wheel may not be removed. [rulesets/2026.toml:31]
      it is gone: another is needed
      job strip-cabin took it off, with carpet
"""
    )
    key = "u: standard uncertainty; front, rear: what that axle then gains or loses;\nmargin: "
    assert key in shown


def test_which_limit_the_margin_is_to(club):
    """882.0 kg now. Of 1 kg that may come off boot carpets the one here is 1.6 kg; the console is none."""
    book = (club.folder / "rulesets/2026.toml").read_text()
    limit = '[[class.limit]]\nclause = "3.2"\ntaken_off = ["interior.floor.boot-carpet"]\nmaximum = "1 kg"\n'
    book = book.replace('[[class]]\nid = "heavy"', limit + '[[class]]\nid = "heavy"', 1)
    club.write("rulesets/2026.toml", book.replace('minimum = "800 kg"', 'minimum = "880.9 kg"', 1))
    answer = club.ask("removals", "car.toml", "free", *DAY)
    assert "what is then left to the nearest limit of\nthe class, below zero if missed." in answer.out
    assert "; margin then -0.6 kg (clause 3.2)\n" in block(answer.out, "boot-carpet")
    rows = json.loads(club.ask("removals", "car.toml", "free", *DAY, "--json").out)["rows"]
    assert {row["part"]: row["margin_clause"] for row in rows} == {
        "boot-carpet": "3.2",
        "console": "3.1",
        "audio": "3.1",
    }
    club.write("rulesets/2026.toml", book)
    shown = club.ask("removals", "car.toml", "free", *DAY).out
    assert "the class (clause 3.2), below zero if missed." in shown
    assert "; margin then -0.6 kg\n" in block(shown, "boot-carpet")


def test_cost_and_balance_as_json(priced):
    document = json.loads(priced.ask("removals", "car.toml", "heavy", *DAY, "--json").out)
    assert document["currency"] == "EUR"
    rows = {row["part"]: row for row in document["rows"]}
    boot = rows["boot-carpet"]
    assert (boot["cost"], boot["cost_per_kg"], boot["hours"]) == (8.0, 5.0, 1.5)
    assert (boot["front_kg"], boot["rear_kg"]) == (pytest.approx(0.4), pytest.approx(-2.0))
    assert [(job["id"], job["state"]) for job in boot["jobs"]] == [("strip-boot", "planned")]
    assert (rows["audio"]["cost"], rows["audio"]["hours"], rows["audio"]["jobs"]) == (None, None, [])
    spare = rows["spare-wheel"]
    assert (spare["gone"], spare["front_kg"], spare["jobs"][0]["id"]) == (True, None, "strip-cabin")


def test_a_part_off_that_a_job_would_fit(club):
    car = (club.folder / "car.toml").read_text()
    club.write(
        "car.toml",
        car.replace(
            "[[build]]",
            '[[job]]\nid = "back"\nstate = "maybe"\nfit = ["spare-wheel"]\ncost = "2 EUR"\nhours = 0.5\n[[build]]',
            1,
        ),
    )
    shown = club.ask("removals", "car.toml", "heavy", *DAY).out
    assert block(shown, "spare-wheel").endswith("""\
      kept: loft
      job strip-cabin took it off, with carpet
      job back (maybe) puts it back: costs 2 EUR, 0.5 h
""")
    (spare,) = [
        row
        for row in json.loads(club.ask("removals", "car.toml", "heavy", *DAY, "--json").out)["rows"]
        if row["group"] == "put-back"
    ]
    assert (spare["put_back_by"], spare["cost"], spare["hours"]) == (["back"], 2.0, 0.5)
    assert [(job["id"], job["off_kg"]) for job in spare["put_back_jobs"]] == [("back", -14.0)]


def add(club, more):
    """Parts and jobs more in the club's car."""
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace("[[build]]", f"{more}[[build]]", 1))


CONSOLES = """\
[[part]]
id = "small"
kind = "interior.console"
title = "Small console"
mass = "0.50 kg"
origin = "aftermarket"
kept = "shelf"
[[part]]
id = "horn"
kind = "electrical.horn"
title = "Horn"
mass = "0.30 kg"
origin = "aftermarket"
"""
SWAP = """\
[[job]]
id = "swap"
state = "planned"
off = ["console", "audio"]
fit = ["small", "horn"]
cost = "90 EUR"
returns = "12 EUR"
hours = 1.5
"""
SHOP = """\
[[job]]
id = "shop"
state = "maybe"
fit = ["small"]
cost = "50 EUR"
"""
AWAY = """\
[[job]]
id = "away"
state = "done"
date = 2026-03-09
off = ["small"]
"""
SWAPPABLE = """\
[[class.need]]
clause = "4.3"
kinds = ["interior.console", "body.aerial"]
[[class.allow]]
clause = "4.4"
kinds = ["interior", "body.aerial"]
does = ["remove", "fit", "swap"]
"""


@pytest.fixture
def swapping(club):
    """Class heavy wants a console and an aerial, and lets anyone change them."""
    book = (club.folder / "rulesets/2026.toml").read_text()
    ask = '[[class.ask]]\nclause = "4.9"\n'
    club.write("rulesets/2026.toml", book.replace(ask, SWAPPABLE + ask, 1))
    return club


def test_what_must_be_fitted_in_its_place(swapping):
    add(swapping, CONSOLES + SWAP + SHOP)
    shown = swapping.ask("removals", "car.toml", "heavy", *DAY).out
    # 2.40 kg off and 0.50 kg on; the job takes off 4.40 kg and fits 0.80 kg for 78 EUR.
    assert "May come out with a duty (1 part, 2.4 kg)\n" in shown
    expected = """\
  Centre console [console] (caution 1)
      2.40 kg (u 0.0029 kg)
      clause 4.3: Must be on the car: centre console. [rulesets/2026.toml:36]
      Small console [small] must be fitted in its place: 0.50 kg; kept: shelf
        in all 1.90 kg lighter (u 0.0041 kg); margin then -69.9 kg
      job swap (planned): costs 78 EUR, 21.67 EUR for each kg, 1.5 h; also off: audio; also on: horn
"""
    assert block(shown, "console") == expected


@pytest.mark.parametrize(
    ("job", "last"),
    [
        (AWAY, "        no job of the car file fits it; job away took it off\n"),
        (SHOP, "      job shop (maybe): costs 50 EUR; it does not take off centre console\n"),
    ],
)
def test_where_no_job_swaps_it(swapping, job, last):
    car = (swapping.folder / "car.toml").read_text()
    swapping.write("car.toml", car.replace('off = ["console"]', 'off = ["audio"]'))
    add(swapping, CONSOLES.split('[[part]]\nid = "horn"')[0] + job)
    lines = block(swapping.ask("removals", "car.toml", "heavy", *DAY).out, "console").splitlines(keepends=True)
    assert lines[3] == "      Small console [small] must be fitted in its place: 0.50 kg; kept: shelf\n"
    assert lines[5:] == [last]


def test_two_jobs_that_swap_it(swapping):
    add(swapping, CONSOLES.split('[[part]]\nid = "horn"')[0] + SHOP)
    shown = block(swapping.ask("removals", "car.toml", "heavy", *DAY).out, "console")
    last = """\
      job shop (maybe): costs 50 EUR, 26.32 EUR for each kg, no cost stated for strip-console, with
        strip-console first
"""
    assert shown.endswith(last)


def test_a_substitute_that_was_never_weighed(swapping):
    add(swapping, CONSOLES.replace('mass = "0.50 kg"\n', "") + SWAP)
    shown = block(swapping.ask("removals", "car.toml", "heavy", *DAY).out, "console")
    assert "      Small console [small] must be fitted in its place: never weighed; kept: shelf\n" in shown
    assert "        in all mass not known, as not all of it was weighed\n" in shown


def test_a_substitute_that_weighs_as_much(swapping):
    add(swapping, CONSOLES.replace('mass = "0.50 kg"', 'mass = "2.40 kg"') + SWAP)
    shown = block(swapping.ask("removals", "car.toml", "heavy", *DAY).out, "console")
    assert "        in all the same mass (u 0.0041 kg); margin then -68.0 kg\n" in shown


def test_a_swap_as_json(swapping):
    add(swapping, CONSOLES + SWAP)
    document = json.loads(swapping.ask("removals", "car.toml", "heavy", *DAY, "--json").out)
    rows = {row["part"]: row for row in document["rows"]}
    console = rows["console"]
    assert console["substitute"] == {
        "part": "small",
        "title": "Small console",
        "mass_kg": 0.5,
        "net_kg": -1.9,
        "kept": "shelf",
    }
    assert (console["group"], console["duties"]) == ("may-with-duty", ["Small console must be fitted in its place."])
    assert [(job["id"], job["fitted"], job["takes_off"]) for job in console["jobs"]] == [("swap", ["horn"], True)]
    assert (console["cost"], console["hours"], console["net_kg"]) == (78.0, 1.5, -1.9)
    assert (rows["audio"]["group"], rows["audio"]["substitute"]) == ("may", None)


AERIALS = """\
[[part]]
id = "aerial"
kind = "body.aerial"
mass = "9.00 kg"
[[part]]
id = "wire"
kind = "body.aerial"
mass = "1.00 kg"
origin = "aftermarket"
replaces = "aerial"
[[job]]
id = "wire"
state = "maybe"
fit = ["wire"]
cost = "80 EUR"
"""


@pytest.mark.parametrize(
    ("key", "expected"),
    [("cost", ["console", "aerial"]), ("cost-per-mass", ["aerial", "console"]), ("mass", ["aerial", "console"])],
)
def test_sorting_by_the_job_that_swaps(swapping, key, expected):
    """The console's swap costs 78 EUR for 3.6 kg, the aerial's 80 EUR for 8 kg."""
    add(swapping, CONSOLES + SWAP + AERIALS)
    document = json.loads(swapping.ask("removals", "car.toml", "heavy", *DAY, "--sort", key, "--json").out)
    assert [row["part"] for row in document["rows"] if row["group"] == "may-with-duty"] == expected


THIN = """\
[[part]]
id = "thin"
kind = "stowage.spare-wheel"
title = "Thin wheel"
mass = "6.00 kg"
origin = "aftermarket"
replaces = "spare-wheel"
[[job]]
id = "thin"
state = "planned"
fit = ["thin"]
"""


def test_a_part_that_another_replaced_against_the_rules(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace('off = ["carpet", "spare-wheel"]', 'off = ["carpet"]'))
    add(club, THIN)
    book = (club.folder / "rulesets/2026.toml").read_text()
    wheel = 'kinds = ["stowage.spare-wheel"]\ndoes = '
    club.write("rulesets/2026.toml", book.replace(f'{wheel}["remove"]', f'{wheel}["swap"]'))
    shown = club.ask("removals", "car.toml", "heavy", *DAY, "--build", "planned").out
    # In no build but "now" is anything out already: the job is still to be left undone.
    assert "Out in this build, but forbidden: put back (1 part, 8.0 kg comes back)\n" in shown
    expected = """\
  Spare wheel [spare-wheel]
      14.00 kg (u 0.0029 kg)
      clause 4.2: Spare wheel for thin wheel may not be swapped. [rulesets/2026.toml:31]
      Thin wheel [thin] must come off for it
        in all 8.00 kg heavier (u 0.0041 kg)
      kept: loft
      leave out job thin (planned), which takes it off
"""
    assert block(shown, "spare-wheel") == expected


def test_what_keeps_a_job_from_putting_it_back(club):
    add(club, '[[job]]\nid = "back"\nstate = "maybe"\nfit = ["spare-wheel"]\nnot_with = ["strip-cabin"]\n')
    shown = block(club.ask("removals", "car.toml", "heavy", *DAY).out, "spare-wheel")
    assert shown.endswith(
        '      not to be put back in this build: job "back" cannot stand in one build with "strip-cabin"\n'
    )


def test_a_job_that_the_build_undoes(club):
    car = (club.folder / "car.toml").read_text()
    car = car.replace('off = ["carpet", "spare-wheel"]', 'off = ["carpet", "spare-wheel"]\ncost = "0 EUR"\nhours = 2')
    club.write("car.toml", car + '[[build]]\nid = "road"\nundo = ["strip-cabin"]\njobs = []\ndate = 2026-12-01\n')
    shown = club.ask("removals", "car.toml", "heavy", "--build", "road").out
    assert (
        block(shown, "carpet")
        == """\
  Cabin carpet [carpet]
      4.00 kg (u 0.0029 kg); margin then -54.0 kg
      allowed by clause 2.1
      job strip-cabin (done, but undone in this build): costs nothing, 2 h; also off: spare-wheel
"""
    )
    assert block(shown, "spare-wheel").endswith(
        "      job strip-cabin (done, but undone in this build) would take it off\n"
    )


def test_masses_that_are_not_known_are_counted_apart(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace('mass = "2.00 kg"\n', ""))
    shown = club.ask("removals", "car.toml", "heavy", *DAY).out
    assert "Must stay (2 parts, 2.4 kg, 1 never weighed)\n" in shown
    assert "  Radio [audio], never weighed\n" in shown
    club.write("car.toml", car.replace('mass = "2.00 kg"\n', "").replace('mass = "2.40 kg"\n', ""))
    assert "Must stay (2 parts, never weighed)\n" in club.ask("removals", "car.toml", "heavy", *DAY).out


@pytest.mark.parametrize(
    ("money", "told"),
    [
        ('cost = "0 EUR"', "costs nothing"),
        ('returns = "4 EUR"', "brings in 4 EUR, 2.50 EUR for each kg"),
        (
            'cost = "4 EUR"\nneeds = ["clean"]',
            "costs 4 EUR, 2.50 EUR for each kg, no cost stated for clean, with clean first",
        ),
        ('needs = ["clean"]', "no cost stated, with clean first"),
    ],
)
def test_what_a_job_costs(club, money, told):
    car = (club.folder / "car.toml").read_text()
    car = car.replace('off = ["boot-carpet"]\n', f'off = ["boot-carpet"]\n{money}\n')
    car = car.replace("[[build]]", '[[job]]\nid = "clean"\nstate = "planned"\n[[build]]', 1)
    club.write("car.toml", car.replace('jobs = ["strip-boot", ', 'jobs = ["clean", "strip-boot", '))
    shown = block(club.ask("removals", "car.toml", "heavy", *DAY).out, "boot-carpet")
    assert " ".join(shown.split()).endswith(f" job strip-boot (planned): {told}")


WANTED = """\
[[class.allow]]
clause = "3.2"
kinds = ["everything"]
does = "anything"
[[class.need]]
clause = "3.3"
kinds = ["stowage.spare-wheel"]
"""


@pytest.fixture
def wanting(club):
    """Class free lets everything out, and wants a spare wheel on."""
    book = (club.folder / "rulesets/2026.toml").read_text()
    club.write("rulesets/2026.toml", book.replace('[[class]]\nid = "heavy"', WANTED + '[[class]]\nid = "heavy"', 1))
    return club


def test_a_part_off_that_a_clause_wants_on(wanting):
    answer = wanting.ask("removals", "car.toml", "free", *DAY)
    assert "Already out, but forbidden: put back (1 part, 14.0 kg comes back)\n" in answer.out
    expected = """\
  Spare wheel [spare-wheel]
      14.00 kg (u 0.0029 kg)
      clause 3.3: Must be on the car: spare wheel. [rulesets/2026.toml:28]
      kept: loft
      job strip-cabin took it off, with carpet
      no job of the car file puts it back
"""
    assert block(answer.out, "spare-wheel") == expected
    assert answer.status == NOT_ELIGIBLE
    table = wanting.ask("removals", "car.toml", "--all-classes", *DAY).out
    assert "spare-wheel    14.00 kg  put back  put back  -         -\n" in table


def test_a_part_off_that_a_clause_perhaps_wants_on(wanting):
    book = (wanting.folder / "rulesets/2026.toml").read_text()
    wheel = '[[class.need]]\nclause = "3.3"\nkinds = ["stowage.spare-wheel"]\n'
    wanting.write("rulesets/2026.toml", book.replace(wheel, wheel + "if = { seats = 5 }\n"))
    answer = wanting.ask("removals", "car.toml", "free", *DAY)
    assert "Not decided yet (1 part, 14.0 kg would come back)\n" in answer.out
    expected = """\
  Spare wheel [spare-wheel], already off the car
      14.00 kg (u 0.0029 kg)
      clause 3.3: Whether the car has what it must, spare wheel, hangs on seats. At worst: Must be
        on the car: spare wheel. [rulesets/2026.toml:28]
      find out: seats
      kept: loft
      job strip-cabin took it off, with carpet
      no job of the car file puts it back
"""
    assert block(answer.out, "spare-wheel") == expected
    assert answer.status == UNDECIDED


def test_of_several_parts_that_a_clause_wants_one_is_enough(wanting):
    car = (wanting.folder / "car.toml").read_text()
    second = '[[part]]\nid = "second"\nkind = "stowage.spare-wheel"\ntitle = "Second wheel"\nmass = "9.0 kg"\n'
    car = car.replace('off = ["carpet", "spare-wheel"]', 'off = ["carpet", "spare-wheel", "second"]')
    wanting.write("car.toml", car.replace("[[job]]", f"{second}[[job]]", 1))
    shown = wanting.ask("removals", "car.toml", "free", *DAY).out
    assert "put back (2 parts, at most " in shown
    for part in ("spare-wheel", "second"):
        enough = "      one of these is enough: Spare wheel [spare-wheel], Second wheel [second]\n"
        assert enough in block(shown, part)
    rows = json.loads(wanting.ask("removals", "car.toml", "free", *DAY, "--json").out)["rows"]
    (second,) = [row for row in rows if row["part"] == "second"]
    (reason,) = second["reasons"]
    assert (second["already_off"], reason["one_of"], reason["enough"]) == (True, ["spare-wheel", "second"], 1)


def test_kinds_let_out_with_everything_else_are_counted(wanting):
    answer = wanting.ask("removals", "car.toml", "free", *DAY)
    unlisted = json.loads(wanting.ask("removals", "car.toml", "free", *DAY, "--json").out)["unlisted"]
    counted = [each for each in unlisted if each["by_everything"]]
    assert {each["kind"] for each in counted} >= {"body.shell.floorpan", "brakes.fluid", "safety.belt-anchorage"}
    assert {tuple(each["clauses"]) for each in counted} == {("3.2",)}
    told = answer.out[answer.out.index("Also on the car") :].split("\n\n")[0].splitlines()
    # What a clause names is listed as before: see the whole listing.
    assert [line for line in told if line.startswith("  ") and line[2] != " "] == [
        "  Underlay of the carpet [interior.floor.underlay] (caution 2)",
        "  Sound deadening stuck to the shell [interior.floor.deadening] (caution 2)",
        "  Sound mat on the bulkhead [interior.floor.bulkhead-mat] (caution 2)",
        "  Footrest and floor packing [interior.floor.footrest]",
        "  Tool bag [stowage.tools]",
        f"  {len(counted)} more kinds that clause 3.2 lets out with everything else: --json lists them.",
    ]
    assert len(counted) + 5 == len(unlisted)


def test_kinds_that_everything_perhaps_lets_out_are_counted_too(wanting):
    book = (wanting.folder / "rulesets/2026.toml").read_text()
    everything = 'kinds = ["everything"]\n'
    wanting.write("rulesets/2026.toml", book.replace(everything, everything + "if = { seats = 5 }\n"))
    shown = " ".join(wanting.ask("removals", "car.toml", "free", *DAY).out.split())
    assert "kinds that clause 3.2 perhaps lets out with everything else, which hangs on seats: --json lists" in shown
    assert "no clause speaks of, and that" not in shown


def test_a_proposal_that_counts_is_named_in_the_heading(club):
    club.write(
        "rulesets/1.toml",
        """\
format = "tarebook-bulletin/1"
amends = "tern-moor"
edition = "2026"
number = "1"
status = "proposed"
in_force = { from = 2026-02-01 }
[[amend]]
clause = "4.2"
class = "heavy"
withdraw = true
""",
    )
    heading = club.ask("removals", "car.toml", "heavy", *DAY, "--proposed").out.splitlines()[0]
    assert heading == ("Wren, build now, in heavy: Heavy (Tern Moor Motor Circle, edition 2026 as proposed in 1)")
    assert club.ask("removals", "car.toml", "heavy", *DAY).out.splitlines()[0].endswith("edition 2026)")


def test_what_no_clause_forbids_and_what_a_person_must_allow(club):
    book = (club.folder / "rulesets/2026.toml").read_text()
    ask = '[[class.allow]]\nclause = "4.5"\nkinds = ["interior.console"]\ndoes = ["remove"]\nask = "Is it loose?"\n'
    book = book.replace('[[class.ask]]\nclause = "4.9"\n', f'{ask}[[class.ask]]\nclause = "4.9"\n', 1)
    club.write("rulesets/2026.toml", book.replace('silence = "forbids"', 'silence = "permits"'))
    shown = club.ask("removals", "car.toml", "heavy", *DAY).out
    assert "      no clause forbids it (clause 1.1)\n" in block(shown, "audio")
    asked = "      clause 4.5: Centre console may be removed if a person agrees: Is it loose?\n"
    assert asked in block(shown, "console")
    assert "allowed by" not in block(shown, "console")


def test_an_addition_asks_no_clause(club):
    fitted = '[[job]]\nid = "on"\nstate = "done"\ndate = 2026-04-01\nfit = ["small", "horn"]\n'
    add(club, CONSOLES + fitted)
    shown = block(club.ask("removals", "car.toml", "heavy", *DAY).out, "horn")
    assert shown.endswith("      it was added: no clause is asked about taking it off again\n")


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("mass", ["audio", "console"]),
        ("name", ["audio", "console"]),
        ("cost", ["console", "audio"]),
        ("cost-per-mass", ["audio", "console"]),
    ],
)
def test_sorting(club, key, expected):
    """The radio is heavier, comes first by its name, costs more in all and less by the kilogram."""
    car = (club.folder / "car.toml").read_text()
    quiet = '[[job]]\nid = "quiet"\nstate = "maybe"\noff = ["audio"]\ncost = "3 EUR"\n[[build]]'
    car = car.replace("[[build]]", quiet, 1).replace('off = ["console"]', 'off = ["console"]\ncost = "1 EUR"')
    club.write("car.toml", car.replace('title = "Radio"\nmass = "2.00 kg"', 'title = "A radio"\nmass = "20.00 kg"'))
    asked = club.ask("removals", "car.toml", "heavy", *DAY, "--sort", key, "--json")
    assert [row["part"] for row in json.loads(asked.out)["rows"] if row["group"] == "must-stay"] == expected
    shown = club.ask("removals", "car.toml", "heavy", *DAY, "--sort", key).out
    assert (shown.index("[console]") < shown.index("[audio]")) == (expected == ["console", "audio"])


def test_every_class_at_once(club):
    answer = club.ask("removals", "car.toml", "--all-classes", *DAY)
    assert (answer.out, answer.status, answer.err) == (TABLE, NOT_ELIGIBLE, "")
    document = json.loads(club.ask("removals", "car.toml", "--all-classes", *DAY, "--json").out)
    assert document["class"] is None
    groups = {(row["class"], row["part"]): row["group"] for row in document["rows"]}
    assert groups[("heavy", "spare-wheel")] == "put-back"
    assert ("free", "spare-wheel") not in groups
    assert groups[("sheet", "audio")] == "undecided"
    alone = json.loads(club.ask("removals", "car.toml", "sheet", *DAY, "--json").out)
    assert [row for row in document["rows"] if row["class"] == "sheet"] == alone["rows"]
    assert [kind for kind in document["unlisted"] if kind["class"] == "sheet"] == alone["unlisted"]


NARROW = """\
Tern Moor Motor Circle, edition 2026 (rulesets/2026.toml)
                         free      heavy     brink
boot-carpet     1.60 kg  may       may       may
console         2.40 kg  stays     stays     stays
audio           2.00 kg  stays     stays     stays
spare-wheel    14.00 kg  -         put back  -

Tern Moor Motor Circle, edition 2026 (rulesets/2026.toml),
more classes
                         sheet
boot-carpet     1.60 kg  may
console         2.40 kg  stays
audio           2.00 kg  open

"""


def test_a_table_too_wide_for_the_terminal(club, monkeypatch):
    """Its classes go on in a second block, which has no line for a part that none of them speaks of."""
    width.cache_clear()
    monkeypatch.setenv("COLUMNS", "60")
    try:
        assert NARROW in club.ask("removals", "car.toml", "--all-classes", *DAY).out
    finally:
        width.cache_clear()


def test_kinds_that_the_ledger_does_not_list(club):
    document = json.loads(club.ask("removals", "car.toml", "heavy", *DAY, "--json").out)
    kinds = {each["kind"]: each for each in document["unlisted"]}
    assert set(kinds) == {
        "interior.floor.underlay",
        "interior.floor.deadening",
        "interior.floor.bulkhead-mat",
        "interior.floor.footrest",
        "stowage.tools",
    }
    underlay = kinds["interior.floor.underlay"]
    assert (underlay["group"], underlay["clauses"], underlay["by_silence"]) == ("may", ["2.1"], False)
    assert (underlay["plausible_low_kg"], underlay["plausible_high_kg"]) == (2.0, 12.0)
    assert underlay["plausible_from"] == "memory"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "Name a class, or ask for --all-classes."),
        (["heavy", "--all-classes"], "Name a class or ask for --all-classes, not both."),
        (["heavy", "--sort", "mas"], 'There is no order "mas". Did you mean "mass" or "cost-per-mass"?'),
    ],
)
def test_requests_that_make_no_sense(club, arguments, message):
    answer = club.ask("removals", "car.toml", *arguments)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message + "\n")


def test_masses_in_pounds_where_the_car_file_counts_in_them(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace("[facts]", '[units]\nmass = "lb"\n[facts]'))
    # 1.60 kg are 3.53 lb and 69.6 kg are 153.4 lb, at 0.45359237 kg to the pound (the 1959 agreement).
    assert (
        "  Boot carpet [boot-carpet]\n      3.53 lb (u 0.0064 lb); margin then -153.4 lb\n"
        in club.ask("removals", "car.toml", "heavy", *DAY).out
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["hevy"], 'There is no class "hevy". Did you mean "heavy"?'),
        (["heavy", "--build", "sprng"], 'There is no build "sprng". Did you mean "spring"?'),
        (["heavy", "--on", "x"], '"x" is not a date: write year, month and day, such as 2027-04-10.'),
    ],
)
@pytest.mark.parametrize("command", ["removals", "why"])
def test_wrong_names(club, command, arguments, message):
    answer = club.ask(command, "car.toml", *arguments)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message + "\n")


# ---- why


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["heavy", "spare-wheel"], FORBIDDEN),
        (["free", "carpet"], ALLOWED),
        (["sheet", "audio"], OPEN),
        (["heavy"], NOTHING_NAMED),
        (["heavy", "2.1"], CLAUSE),
    ],
    ids=["forbidden", "allowed", "undecided", "nothing named", "clause"],
)
def test_the_whole_story(club, arguments, expected):
    answer = club.ask("why", "car.toml", *arguments, *DAY)
    assert (answer.out, answer.err, answer.status) == (expected, "", 0)


def test_an_allowed_exception_to_a_ban(club):
    book = (club.folder / "rulesets/2026.toml").read_text()
    ban = '[[class.ban]]\nclause = "3.2"\nkinds = ["interior"]\ndoes = ["remove"]\n'
    club.write("rulesets/2026.toml", book.replace('[[class]]\nid = "heavy"', ban + '[[class]]\nid = "heavy"'))
    shown = club.ask("why", "car.toml", "free", "carpet", *DAY).out
    rules = [line.strip() for line in shown.split("\n") if line.startswith(("  2.1", "  3.2"))]
    assert rules[0].startswith("2.1: allowance on interior.floor and stowage, from group stripping; decides.")
    assert rules[1].startswith("3.2: ban on interior, from class free; loses to clause 2.1, which")
    assert shown.endswith("So: Cabin carpet may be removed. (clause 2.1)\n")
    console = club.ask("why", "car.toml", "free", "console", *DAY).out
    assert "3.2: ban on interior, from class free; decides." in console


def test_nothing_named_and_nothing_wrong(club):
    shown = club.ask("why", "car.toml", "free", *DAY).out
    assert shown.split("\n")[2:4] == [
        "Verdict: eligible.",
        "Nothing stands against it. Name a part or a clause to see the rules that decide it.",
    ]


def test_nothing_named_and_undecided(club):
    shown = club.ask("why", "car.toml", "sheet", *DAY).out
    assert shown.split("\n")[2:4] == ["Verdict: undecided.", "It hangs on: seats."]
    assert "it looks at: seats is not stated" in shown


def test_a_branch_of_clauses(club):
    shown = club.ask("why", "car.toml", "heavy", "4", *DAY).out
    told = [line for line in shown.split("\n")[2:] if line]
    assert [line.split(":")[0] for line in told if line[0].isdigit()] == ["4.2", "4.9"]
    assert "  - violation: 882 kg is 68 kg under the minimum of 950 kg. [rulesets/2026.toml:30]" in told


def test_the_clause_of_the_books_silence(club):
    shown = club.ask("why", "car.toml", "free", "1.1", *DAY).out
    assert shown.split("\n")[2] == (
        "1.1: silence, from the book, where no clause speaks of a change. [rulesets/2026.toml:8]"
    )
    spring = club.ask("why", "car.toml", "free", "1.1", *DAY, "--build", "spring").out
    assert "- violation: No clause speaks of removing centre console" in spring


def test_the_clause_of_a_correction_that_does_not_apply(club):
    book = (club.folder / "rulesets/2026.toml").read_text()
    adjust = 'adjust = [{ add = "5 kg", if = { doors = { least = 5 } }, clause = "3.1.2", says = "Long cars." }]\n'
    club.write("rulesets/2026.toml", book.replace('minimum = "800 kg"\n', f'minimum = "800 kg"\n{adjust}', 1))
    shown = club.ask("why", "car.toml", "free", "3.1.2", *DAY).out
    assert shown.split("\n")[2:] == [
        "3.1.2: correction, from class free. [rulesets/2026.toml:24]",
        '  "Long cars."',
        "      it looks at: doors is 3",
        "",
    ]


def test_the_clause_of_an_equivalence(club):
    book = (club.folder / "rulesets/2026.toml").read_text()
    counts = '[[class.counts]]\nclause = "3.4"\nfact = "displacement"\ntimes = 1.7\nif = { doors = 5 }\n'
    club.write("rulesets/2026.toml", book.replace('[[class]]\nid = "heavy"', counts + '[[class]]\nid = "heavy"'))
    shown = club.ask("why", "car.toml", "free", "3.4", *DAY).out
    assert shown.split("\n")[2] == "3.4: counts, from class free. [rulesets/2026.toml:24]"


@pytest.mark.parametrize(
    ("about", "message"),
    [
        (
            "boot-carpt",
            '"boot-carpt" is neither a part of car.toml nor a clause of class free. Did you mean "boot-carpet"?',
        ),
        ("zzzzzz", '"zzzzzz" is neither a part of car.toml nor a clause of class free.'),
    ],
)
def test_an_unknown_name(club, about, message):
    answer = club.ask("why", "car.toml", "free", about, *DAY)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message + "\n")
