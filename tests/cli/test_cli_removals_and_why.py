"""`removals` and `why`: what may come out, and which rules decide it."""

import json

import pytest

from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, WRONG

REMOVALS = """\
Wren, build now, in heavy: Heavy (Tern Moor Motor Circle, 2026)

May come out now (1, 1.6 kg weighed)
  Boot carpet [boot-carpet], 1.60 kg (u 0.0029 kg), leaves -69.6 kg.
      clause 2.1
      job strip-boot (planned): no cost stated for strip-boot

Already out, but forbidden: put back (1, 14.0 kg comes back)
  Spare wheel [spare-wheel], 14.00 kg (u 0.0029 kg). It is kept: loft.
      clause 4.2: Spare wheel may not be removed. [rulesets/2026.toml:31]
      job strip-cabin (done): no cost stated for strip-cabin; also off with it: carpet

Must stay (2, 4.4 kg weighed)
  Centre console [console], 2.40 kg (u 0.0029 kg), leaves -70.4 kg (1).
      clause 1.1: No clause speaks of removing centre console, and what this book does not allow it
        forbids. [rulesets/2026.toml:8]
      job strip-console (maybe): no cost stated for strip-console
  Radio [audio], 2.00 kg (u 0.0029 kg), leaves -70.0 kg.
      clause 1.1: No clause speaks of removing radio, and what this book does not allow it forbids.
        [rulesets/2026.toml:8]

Also on the car, but not in the ledger, which has no part of these kinds
  Underlay of the carpet [interior.floor.underlay], perhaps 2.0 kg to 12.0 kg (from memory) (2): may
      come out
      clause 2.1
  Sound deadening stuck to the shell [interior.floor.deadening], perhaps 4.0 kg to 15.0 kg (from
      memory) (2): may come out
      clause 2.1
  Sound mat on the bulkhead [interior.floor.bulkhead-mat], perhaps 2.0 kg to 8.0 kg (from memory)
      (2): may come out
      clause 2.1
  Footrest and floor packing [interior.floor.footrest], perhaps 0.2 kg to 2.0 kg (from memory): may
      come out
      clause 2.1
  Tool bag [stowage.tools], perhaps 0.2 kg to 3.0 kg (from memory): may come out
      clause 2.1

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
  Boot carpet [boot-carpet], 1.60 kg (u 0.0029 kg), front +0.40 kg and rear -2.00 kg, leaves -69.6
      kg.
      clause 2.1
      job strip-boot (planned): 8.00 EUR, 5.00 EUR/kg, 1.5 h
"""
    assert boot in shown
    assert "  Spare wheel [spare-wheel], 14.00 kg (u 0.0029 kg). It is gone: another is needed.\n" in shown


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
        car.replace("[[build]]", '[[job]]\nid = "back"\nstate = "maybe"\nfit = ["spare-wheel"]\n[[build]]', 1),
    )
    shown = club.ask("removals", "car.toml", "heavy", *DAY).out
    assert "It is kept: loft. Job back fits it.\n" in shown
    (spare,) = [
        row
        for row in json.loads(club.ask("removals", "car.toml", "heavy", *DAY, "--json").out)["rows"]
        if row["group"] == "put-back"
    ]
    assert spare["put_back_by"] == ["back"]


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
        (["heavy", "--all-classes"], "Name a class, or ask for --all-classes."),
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
        "Boot carpet [boot-carpet], 3.53 lb (u 0.0064 lb), leaves -153.4 lb."
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
