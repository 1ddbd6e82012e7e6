"""`weigh` and `log`: what they write, ask, question and refuse, with options and at a terminal."""

import datetime
import io

import pytest

from tarebook.car.reading import load_car
from tarebook.cli.status import ELIGIBLE, WRONG

TODAY = datetime.date.today().isoformat()
CAR = """\
format = "tarebook-car/1"

[car]
name = "Wren"              # invented

[[scale]]
id = "kitchen"
resolution = "1 g"
capacity = "10 kg"

[[weighing]]
id = "first"
date = 2026-03-01
total = "900.2 kg"

[[zone]]
id = "tail"
title = "Behind the rear axle"
from = "2400 mm"
to = "3200 mm"

[[part]]
id = "carpet"
kind = "interior.floor.carpet"
mass = "4.000 kg"          # with the felt
scale = "kitchen"

[[part]]
id = "cards"
kind = "interior.door-card"
count = 2

[[part]]
id = "bonnet"
kind = "body.bonnet"
estimate = { mass = "14 kg", within = "2 kg" }  # guessed

[[job]]
id = "strip"
state = "done"
date = 2026-02-01
off = ["carpet"]

[[job]]
id = "next"
state = "planned"
"""


class Terminal(io.StringIO):
    """Somebody who types these lines, and nothing after them."""

    def isatty(self):
        return True


@pytest.fixture
def car(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(CAR, encoding="utf-8")
    return path


@pytest.fixture
def log(ask, monkeypatch, car):
    """Gives arguments to the command line; with `typed`, somebody is at the terminal and types these lines."""

    def give(*arguments, typed=None):
        monkeypatch.setattr("sys.stdin", io.StringIO() if typed is None else Terminal("".join(f"{x}\n" for x in typed)))
        return ask(*arguments)

    return give


def added(car):
    """The lines that the file has more than it had; the others must be as they were."""
    lines, found = CAR.splitlines(keepends=True), []
    for line in car.read_text(encoding="utf-8").splitlines(keepends=True):
        if lines and line == lines[0]:
            del lines[0]
        else:
            found.append(line)
    assert lines == []
    return "".join(found)


def unchanged(car):
    return car.read_text(encoding="utf-8") == CAR


# --- weigh ---


def test_weigh_adds_a_weighing(log, car):
    answer = log(
        *("weigh", "car.toml", "--total", "890.5 kg", "--total", "890.0 kg", "--fuel", "12 L"),
        *("--date", "2026-04-02", "--note", 'on "pads"', "--driver-aboard"),
    )
    assert answer == (0, 'Written: car.toml:16: weighing "2026-04-02".\n', "")
    assert added(car) == (
        '[[weighing]]\nid = "2026-04-02"\ndate = 2026-04-02\ntotal = ["890.5 kg", "890.0 kg"]\n'
        'fuel = "12 L"\ndriver_aboard = true\nnote = "on \\"pads\\""\n\n'
    )


def test_weigh_takes_axles_and_corners_and_a_free_name(log, car):
    assert log("weigh", "car.toml", "--front", "500 kg", "--rear", "390 kg").status == 0
    corners = [
        each for side in ("front-left", "front-right", "rear-left", "rear-right") for each in (f"--{side}", "220 kg")
    ]
    assert log("weigh", "car.toml", *corners).status == 0
    weighings = load_car(car).file.weighing
    assert [(each.id, each.date.isoformat()) for each in weighings[1:]] == [(TODAY, TODAY), (f"{TODAY}-2", TODAY)]
    assert weighings[1].axles is not None and weighings[2].corners is not None
    assert f'id = "{TODAY}"\ndate = {TODAY}\naxles = {{ front = "500 kg", rear = "390 kg" }}\n' in added(car)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ((), "What did it weigh? --total; or --front and --rear; or --front-left, --front-right, --rear-left and"),
        (("--total", "1 kg", "--front", "2 kg"), "Give one of these alone: --total; or"),
        (("--front", "500 kg"), "Needed as well: --rear. (On a terminal, you are asked.)"),
        (("--total", "900"), '--total: A unit is expected after the number: write "900 kg", for example.'),
        (("--total", "900 kg", "--date", "2.4.2026"), '--date: "2.4.2026" is not a date: write year, month and day'),
        (("--total", "900 kg", "--fuel", "half"), '--fuel: "half" is not an amount of fuel: write a volume'),
        (("--total", "900 kg", "--scale", "kichen"), '--scale: There is no scale "kichen": did you mean "kitchen"?'),
        (("--total", "900 kg", "--id", "first"), '--id: The file has a weighing "first" already, on line 12.'),
        (("--total", "900 kg", "--includes", "strp"), '--includes: There is no job "strp": did you mean "strip"?'),
    ],
)
def test_weigh_says_what_is_wrong_or_missing(log, car, options, sentence):
    answer = log("weigh", "car.toml", *options)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith(sentence)
    assert unchanged(car)


def test_weigh_asks_about_jobs_of_the_same_day(log, car):
    answer = log("weigh", "car.toml", "--total", "900 kg", "--date", "2026-02-01", "--id", "w")
    assert answer.status == WRONG and unchanged(car)
    assert answer.err == (
        'Had these jobs, done on that day or on a day not said, been done when the car was weighed: "strip"? Name '
        "every job that had been done by then, of these: --includes strip (or --includes-none).\n"
    )
    day = ("weigh", "car.toml", "--total", "900 kg", "--date", "2026-02-01")
    assert log(*day, "--id", "a", "--includes", "strip").status == 0
    assert log(*day, "--id", "b", "--includes-none").status == 0
    assert log(*day, typed=[]).status == WRONG  # with all options there is nothing to ask: as without a terminal
    assert [each.includes for each in load_car(car).file.weighing] == [None, ["strip"], []]


def test_weigh_asks_one_by_one(log, car):
    typed = ["wheels", "axles", "", "1 April", "2026-02-01", "", "500.5", "500.5 kg", "501.0 kg", "", "390 kg", ""]
    typed += ["12 litres", "12 L", "", "", "", "perhaps", "yes", "y"]
    answer = log("weigh", "car.toml", typed=typed)
    assert answer.out == 'Written: car.toml:16: weighing "2026-02-01".\n', answer.err
    assert added(car) == (
        '[[weighing]]\nid = "2026-02-01"\ndate = 2026-02-01\n'
        'axles = { front = ["500.5 kg", "501.0 kg"], rear = "390 kg" }\nfuel = "12 L"\nincludes = ["strip"]\n\n'
    )
    assert '"1 April" is not a date' in answer.err
    assert 'Job "strip" is of the same day: had it been done when the car was weighed? (yes or no)' in answer.err
    assert '+axles = { front = ["500.5 kg", "501.0 kg"], rear = "390 kg" }\n' in answer.err


def test_weigh_asks_only_for_what_is_missing_if_something_is_given(log, car):
    answer = log("weigh", "car.toml", "--front", "500 kg", "--id", "w", typed=["400 kg", "", "yes"])
    assert answer.status == 0, answer.err
    assert load_car(car).file.weighing[1].axles.rear[0].value == 400


# --- log part ---


def test_log_part_adds_a_part(log, car):
    answer = log(
        *("log", "car.toml", "part", "--id", "mat", "--kind", "interior.floor.boot-carpet", "--title", "Mat"),
        *("--mass", "1.660 kg", "--mass", "1.68 kg", "--scale", "kitchen", "--at", "-2800 mm", "--right", "-10 mm"),
        *("--approval", "a", "--years", "1998"),
    )
    assert answer == (0, 'Written: car.toml:38: part "mat".\n', "")
    assert added(car) == (
        '[[part]]\nid = "mat"\nkind = "interior.floor.boot-carpet"\ntitle = "Mat"\nmass = ["1.660 kg", "1.68 kg"]\n'
        'scale = "kitchen"\nat = "-2800 mm"\nright = "-10 mm"\nyears = [1998]\napproval = ["a"]\n\n'
    )


def test_log_part_previews_and_writes_nothing(log, car):
    answer = log("log", "car.toml", "part", "--id", "mat", "--kind", "stowage.loose", "--note", "\x1b[2J", "--preview")
    assert answer.status == 0 and answer.err == ""
    assert answer.out == (
        "--- car.toml\n+++ car.toml (with the change)\n@@ -36,4 +36,9 @@\n"
        ' estimate = { mass = "14 kg", within = "2 kg" }  # guessed\n \n'
        '+[[part]]\n+id = "mat"\n+kind = "stowage.loose"\n+note = "\\u001b[2J"\n+\n'
        ' [[job]]\n id = "strip"\n'
    )
    assert unchanged(car)


def test_a_preview_is_printable(log, car):
    car.write_text(CAR.replace("# guessed", "# gue\u202essed\u2028+x"), encoding="utf-8")
    answer = log("log", "car.toml", "reading", "bonnet", "14 kg", "--preview")
    assert '-estimate = { mass = "14 kg", within = "2 kg" }  # gue\\u202essed\\u2028+x\n' in answer.out
    assert '+mass = "14 kg"  # gue\\u202essed\\u2028+x\n' in answer.out


def test_log_part_in_a_zone(log, car):
    base = ("log", "car.toml", "part", "--kind", "stowage.loose")
    answer = log(*base, "--id", "a", "--zone", "tail")
    assert answer.err == 'Its place is taken to be the middle of zone "tail", 2800 mm: measure it when you can.\n'
    assert log(*base, "--id", "b", "--zone", "tail", "--at", "2.5 m").status == 0
    answer = log(*base, "--id", "c", "--zone", "tail", "--at", "2 m")
    assert answer.err == '--at: 2 m is not within zone "tail". Give either of them, or correct one.\n'
    assert log(*base, "--id", "c", "--zone", "tall").err == '--zone: There is no zone "tall": did you mean "tail"?\n'
    assert [each.at and each.at.value for each in load_car(car).file.part] == [None, None, None, 2800, 2500]


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ((), "Needed as well: --id, --kind. (On a terminal, you are asked.)\n"),
        (("--id", "Mat"), '--id: "Mat" is not a name: use lower-case letters, digits, hyphens and underscores.\n'),
        (("--id", "carpet"), '--id: The file has a part "carpet" already, on line 23.\n'),
        (
            ("--id", "m", "--kind", "body.bonet"),
            '--kind: There is no kind "body.bonet": did you mean "body.bonnet"',
        ),
        (
            ("--id", "m", "--kind", "body.bonnet", "--mass", "1,66 kg"),
            '--mass: A decimal point is expected, not a comma: write "1.66 kg".\n',
        ),
        (
            ("--id", "m", "--kind", "body.bonnet", "--estimate", "14 kg"),
            "Needed as well: --within, how far off the judged mass may be.\n",
        ),
        (("--id", "m", "--kind", "body.bonnet", "--count", "two"), '--count: "two" is not a whole number.\n'),
        (("--id", "m", "--kind", "body.bonnet", "--origin", "maker"), '--origin: One of "factory", "aftermarket" is'),
        (("--id", "m", "--kind", "ballast", "--note", "\udcff"), "'\\udcff' holds a broken character"),
    ],
)
def test_log_part_says_what_is_wrong_or_missing(log, car, options, sentence):
    answer = log("log", "car.toml", "part", *options)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith(sentence)
    assert unchanged(car)


def test_a_kind_of_a_rule_set_needs_a_word(log, car):
    base = ("log", "car.toml", "part", "--id", "m", "--kind", "interior.dash.clock")
    assert log(*base).err.endswith("If a rule set declares it, add --sure.\n") and unchanged(car)
    assert log(*base, "--sure").status == 0


def test_a_slip_is_questioned_and_written_all_the_same(log, car):
    base = ("log", "car.toml", "part", "--kind", "interior.floor.boot-carpet", "--mass", "16.6 kg")
    answer = log(*base, "--id", "a")
    assert answer.status == 0
    assert answer.err == (
        'Please look again: "16.6 kg" is much for interior.floor.boot-carpet, which as a whole mostly weighs '
        '0.8 to 4 kg: did you mean "1.66 kg" (a decimal point slipped)?\n'
    )
    assert log(*base, "--id", "b", "--sure").err == ""


def test_log_part_asks_one_by_one(log, car):
    typed = ["", "carpet", "mat", "interior.floor.boot-carpt", "interior.floor.boot-carpet", "Boot mat", ""]
    typed += ["16,6 kg", "16.6 kg", "", "kitchen", "2800 mm", "", "", "", "", ""]
    typed += ["no", "1.66 kg", "1.67 kg", "", "yes"]
    answer = log("log", "car.toml", "part", typed=typed)
    assert answer.out == 'Written: car.toml:38: part "mat".\n', answer.err
    assert added(car) == (
        '[[part]]\nid = "mat"\nkind = "interior.floor.boot-carpet"\ntitle = "Boot mat"\n'
        'mass = ["1.66 kg", "1.67 kg"]\nscale = "kitchen"\nat = "2800 mm"\n\n'
    )
    for said in (
        "Its name in the file? lower-case letters, digits, hyphens (needed): ",
        "  This is needed.\n",
        '  The file has a part "carpet" already, on line 23.\n',
        'did you mean "interior.floor.boot-carpet"',
        'write "16.6 kg"',
        "(a decimal point slipped)? Keep it? (yes or no) ",
        "Write this? (yes or no) ",
    ):
        assert said in answer.err


def test_what_the_whole_file_refuses_is_asked_again(log, car):
    typed = ["mat", "stowage.loose", "", "", "12 kg", "", "kitchen", "", "", "", "", "", "", "2 kg", "", "yes"]
    answer = log("log", "car.toml", "part", "--sure", typed=typed)
    assert answer.status == 0, answer.err
    assert 'this is more than the scale "kitchen" can weigh' in answer.err
    assert load_car(car).file.part[-1].mass[0].value == 2


@pytest.mark.parametrize("typed", [["mat", "stowage.loose", *[""] * 11, "no"], ["mat"], []])
def test_nothing_is_written_before_the_last_yes(log, car, typed):
    answer = log("log", "car.toml", "part", typed=typed)
    assert answer.out == "" and unchanged(car)
    assert answer.status == (0 if len(typed) > 1 else WRONG)
    assert answer.err.splitlines()[-1].endswith("nothing was written." if len(typed) < 2 else "Nothing was written.")


def test_a_kind_insisted_upon_is_taken(log, car):
    answer = log("log", "car.toml", "part", typed=["m", "bonnet", "bonnet", "a.b", "a.b", *[""] * 11, "yes"])
    assert answer.status == 0, answer.err
    assert load_car(car).file.part[-1].kind == "a.b"


# --- log job, scale, done ---


def test_log_job_adds_a_job(log, car):
    answer = log(
        *("log", "car.toml", "job", "--id", "floor", "--title", "Floor", "--state", "planned", "--off", "cards"),
        *("--cost", "60 EUR", "--returns", "5.50 EUR", "--hours", "1.50", "--needs", "strip", "--tool", "saw"),
    )
    assert answer == (0, 'Written: car.toml:48: job "floor".\n', "")
    assert added(car) == (
        '\n[[job]]\nid = "floor"\ntitle = "Floor"\nstate = "planned"\noff = ["cards"]\ncost = "60 EUR"\n'
        'returns = "5.50 EUR"\nhours = 1.50\nneeds = ["strip"]\ntools = ["saw"]\n'
    )


def test_a_job_that_is_done_is_done_today(log, car):
    assert log("log", "car.toml", "job", "--id", "floor", "--state", "done").status == 0
    assert load_car(car).file.job[-1].date == datetime.date.today()


def test_a_job_that_does_not_fit_is_shown_and_refused(log, car):
    answer = log("log", "car.toml", "job", "--id", "again", "--state", "planned", "--off", "carpet")
    assert answer.status == WRONG and unchanged(car)
    assert answer.err.startswith(
        "Nothing was written, as the file would then have mistakes:\ncar.toml (with the change):"
    )


def test_log_job_asks_one_by_one(log, car):
    typed = ["floor", "", "soon", "maybe", "card", "cards", "", "", "60", "60 EUR", "", "", "", "", "", "", "y"]
    answer = log("log", "car.toml", "job", typed=typed)
    assert answer.status == 0, answer.err
    assert added(car) == '\n[[job]]\nid = "floor"\nstate = "maybe"\noff = ["cards"]\ncost = "60 EUR"\n'


def test_a_mistake_elsewhere_in_the_file_ends_the_questions(log, car):
    # The weighing of that day does not say whether it saw the job.
    typed = ["floor", "", "done", "2026-03-01", "", "", "", "", "", "", "", "", ""]
    answer = log("log", "car.toml", "job", typed=typed)
    assert answer.status == WRONG and unchanged(car)
    assert 'it is not said whether weighing "first" saw job "floor", which is of the same day\n' in answer.err
    assert answer.err.splitlines()[-1] == "Nothing was written."


def test_log_scale_adds_a_scale(log, car):
    base = ("log", "car.toml", "scale", "--id", "bath", "--resolution", "100 g")
    assert log(*base, "--known", "20 kg").err == "A check is three figures. Needed as well: --read, --u.\n"
    assert unchanged(car)
    answer = log(*base, "--known", "20 kg", "--read", "20.1 kg", "--u", "50 g")
    assert answer == (0, 'Written: car.toml:11: scale "bath".\n', "")
    assert added(car) == (
        '[[scale]]\nid = "bath"\nresolution = "100 g"\ncheck = { known = "20 kg", read = "20.1 kg", u = "50 g" }\n\n'
    )


def test_log_done(log, car):
    answer = log("log", "car.toml", "done", "next", "--date", "2026-05-01")
    assert answer == (0, 'Written: car.toml:46: job "next" is done, on 2026-05-01.\n', "")
    assert car.read_text() == CAR.replace('"planned"\n', '"done"\ndate = 2026-05-01\n')
    assert log("log", "car.toml", "done", "next").err == 'Job "next" is done already, on 2026-05-01.\n'
    assert log("log", "car.toml", "done", "nxt").err == 'There is no job "nxt": did you mean "next"?\n'
    assert log("log", "car.toml", "done").err == "Needed as well: the job: tarebook log CAR done JOB.\n"
    assert log("log", "car.toml", "done", typed=[]).err == "Every job of the file is done.\n"


def test_log_done_asks_which(log, car):
    answer = log("log", "car.toml", "done", typed=["strip", "next", "yes"])
    assert answer.status == 0, answer.err
    assert load_car(car).file.job[1].date == datetime.date.today()


# --- log reading ---


def test_log_reading_adds_readings(log, car):
    answer = log("log", "car.toml", "reading", "carpet", "4.002 kg", "4.001 kg")
    assert answer == (0, 'Written: car.toml:25: part "carpet" has 3 readings on scale "kitchen".\n', "")
    assert car.read_text() == CAR.replace('"4.000 kg"', '["4.000 kg", "4.002 kg", "4.001 kg"]')


def test_a_reading_takes_the_place_of_an_estimate(log, car):
    answer = log("log", "car.toml", "reading", "bonnet", "14.31 kg")
    assert answer == (0, 'Written: car.toml:37: part "bonnet" has 1 reading.\n', "")
    old = 'estimate = { mass = "14 kg", within = "2 kg" }'
    assert car.read_text() == CAR.replace(old, f'# {old}\nmass = "14.31 kg"')


def test_a_reading_of_several_pieces(log, car):
    base = ("log", "car.toml", "reading", "cards", "2.8 kg", "--scale", "kitchen")
    assert log(*base).err == 'Part "cards" is 2 pieces: is a reading of one, --each, or of all, --together?\n'
    assert log(*base, "--each", "--together").status == WRONG
    assert unchanged(car)
    assert log(*base, "--each").out == 'Written: car.toml:32: part "cards" has 1 reading on scale "kitchen".\n'
    assert added(car) == 'mass_each = "2.8 kg"\nscale = "kitchen"\n'
    assert log(*base, "--together").err == 'Part "cards" states its readings as mass_each: leave the option out.\n'


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((), "Needed as well: the part and what the scale showed: tarebook log CAR reading PART MASS.\n"),
        (("carpet",), "Needed as well: the part and what the scale showed: tarebook log CAR reading PART MASS.\n"),
        (("carpe", "1 kg"), 'PART: There is no part "carpe": did you mean "carpet"?\n'),
        (("carpet", "1 kilo"), 'MASS: "kilo" is no unit of mass'),
        (("carpet", "4 kg", "--each"), 'Part "carpet" states its readings as mass: leave the option out.\n'),
        (("bonnet", "9 kg", "--each"), 'Part "bonnet" has no count, so it is one piece: leave --each out.\n'),
        (("bonnet", "9 kg", "--scale", "bath"), '--scale: There is no scale "bath": there are kitchen.\n'),
    ],
)
def test_log_reading_says_what_is_wrong_or_missing(log, car, arguments, sentence):
    answer = log("log", "car.toml", "reading", *arguments)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith(sentence)
    assert unchanged(car)


def test_a_reading_of_another_scale_is_refused(log, car):
    car.write_text(CAR.replace("[[weighing]]", '[[scale]]\nid = "bath"\nresolution = "1 kg"\n\n[[weighing]]', 1))
    answer = log("log", "car.toml", "reading", "carpet", "4 kg", "--scale", "bath")
    assert answer.err == (
        'The readings of part "carpet" were taken on scale "kitchen", '
        "and the readings of a part are all of one scale.\n"
    )


def test_a_reading_tenfold_the_others_is_questioned(log, car):
    answer = log("log", "car.toml", "reading", "carpet", "0.400 kg")
    assert answer.status == 0
    assert answer.err.startswith('Please look again: "0.400 kg" and "4.000 kg" differ tenfold')


def test_log_reading_asks_one_by_one(log, car):
    answer = log("log", "car.toml", "reading", typed=["cards", "0.28 kg", "", "no", "no", "2.8 kg", "", "yes"])
    assert answer.status == 0, answer.err
    assert added(car) == 'mass_each = "2.8 kg"\n'


# --- the file ---


def test_a_file_with_mistakes_is_left_alone(log, car):
    broken = CAR.replace('state = "planned"', 'state = "soon"')
    car.write_text(broken)
    for arguments in (("weigh", "car.toml", "--total", "900 kg"), ("log", "car.toml", "done", "next")):
        answer = log(*arguments)
        assert answer.status == WRONG and answer.out == ""
        assert answer.err.startswith('car.toml:46:9: one of "done", "planned", "maybe" is expected\n')
    assert car.read_text() == broken
    assert log("log", "gone.toml", "done", "next").err.startswith("gone.toml:1:1: there is no such file")


def test_a_second_writer_is_noticed(log, car, monkeypatch):
    from tarebook.car.editing import writing

    lock = writing._lock

    def meanwhile(folder):
        car.write_text(CAR + "# theirs\n")
        lock(folder)

    monkeypatch.setattr(writing, "_lock", meanwhile)
    answer = log("log", "car.toml", "done", "next")
    assert answer.status == WRONG and answer.out == ""
    assert answer.err == "car.toml was changed by somebody else meanwhile, so nothing was written: try again.\n"
    assert car.read_text() == CAR + "# theirs\n"


def test_hostile_texts_stay_in_their_quotes(log, car):
    hostile = '"\n[[part]]\nid = "x"\\\x00'
    assert log("log", "car.toml", "part", "--id", "m", "--kind", "ballast", "--title", hostile).status == 0
    assert [(part.id, part.title) for part in load_car(car).file.part][3:] == [("m", hostile)]
    assert 'title = "\\"\\n[[part]]\\nid = \\"x\\"\\\\\\u0000"\n' in added(car)


def test_a_slip_given_on_the_command_line_is_asked_about_at_a_terminal(log, car):
    slip = ("log", "car.toml", "part", "--id", "spare", "--kind", "stowage.spare-wheel", "--mass", "1330 kg")
    refused = log(*slip, typed=["no"])
    assert (refused.status, refused.out) == (WRONG, "")
    assert "Please look again" in refused.err and "Keep it?" in refused.err
    assert refused.err.endswith("Nothing was written.\n") and unchanged(car)
    assert log(*slip, typed=["yes"]).status == ELIGIBLE
    assert 'mass = ["1330 kg"]' in added(car) or 'mass = "1330 kg"' in added(car)
