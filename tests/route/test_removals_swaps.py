"""A part that may come out if another takes its place, and a part that must go back: by hand, on small cars."""

import pytest

from support import DAY, car, rules
from tarebook.api import removals
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.prepared import prepare_class
from tarebook.route.letting_out import Unlisting, find_unlisted

BOTTLE = '{ id = "bottle", kind = "safety.extinguisher", title = "Bottle", mass = "3 kg", at = "1200 mm" }'
SECOND = (
    '{ id = "second", kind = "safety.extinguisher", title = "Second bottle", mass = "2.0 kg", at = "1800 mm",'
    ' origin = "aftermarket", kept = "shelf" }'
)
INSTEAD = SECOND.replace(" }", ', replaces = "bottle" }')
MAT = '{ id = "mat", kind = "interior.floor.carpet", title = "Mat", mass = "4 kg" }'
FELT = '{ id = "felt", kind = "interior.floor.underlay", title = "Felt", mass = "6 kg" }'
BY = rules(
    'allow = [{ clause = "5.1", kinds = ["safety", "interior"], does = ["remove", "fit", "swap"] }]\n'
    'need = [{ clause = "5.5", kinds = ["safety.extinguisher"] }]'
)


def job(name, state="maybe", **lists):
    listed = "".join(f", {key} = {value}" for key, value in lists.items())
    return f'{{ id = "{name}", state = "{state}"{listed} }}'


def rows(*parts, jobs=(), by=BY, build="now", more="", **facts):
    builder = car(f"{more}\npart = [{', '.join(parts)}]\njob = [{', '.join(jobs)}]", **facts)
    return {row.part: row for row in removals(builder, by, "club", on=DAY, build=build)}


def told(jobs):
    """By whom, what goes before, what it costs in all, by how much the car is lighter."""
    return [(each.id, each.first, each.cost, each.hours, each.off_kg) for each in jobs]


# ---- the substitute and its mass


def test_what_must_be_fitted_and_what_it_comes_to():
    """3 kg off at 1200 mm, 2.0 kg on at 1800 mm, over a wheelbase of 2400 mm: rear -1.5 + 1.5, front -1.5 + 0.5."""
    row = rows(BOTTLE, SECOND, jobs=[job("swap", off='["bottle"]', fit='["second"]')], wheelbase="2400 mm")["bottle"]
    assert (row.group, row.duties) == ("may-with-duty", ["Second bottle must be fitted in its place."])
    assert (row.substitute.part, row.substitute.title, row.substitute.mass_kg) == ("second", "Second bottle", 2.0)
    assert (row.substitute.kept, row.substitute.taken_off_by) == ("shelf", "")
    assert (row.mass_kg, row.net_kg, row.front_kg, row.rear_kg) == (3.0, -1.0, -1.0, 0.0)
    # The last digits of both readings: 1 kg and 0.1 kg, each over the root of twelve.
    assert row.net_u_kg == pytest.approx(((1 + 0.01) / 12) ** 0.5)


@pytest.mark.parametrize("unweighed", ["bottle", "second"])
def test_a_mass_that_is_not_known(unweighed):
    parts = [BOTTLE, SECOND]
    stripped = [
        each.replace('mass = "3 kg", ', "").replace('mass = "2.0 kg", ', "") if f'"{unweighed}"' in each else each
        for each in parts
    ]
    row = rows(*stripped, jobs=[job("swap", off='["bottle"]', fit='["second"]', cost='"8 EUR"')])["bottle"]
    assert (row.net_kg, row.net_u_kg, row.cost, row.cost_per_kg) == (None, None, 8.0, None)


def test_the_margin_counts_the_substitute():
    scales = """
    at_inspection = { fuel = "5 L" }
    weighing = [{ id = "first", date = 2027-01-01, total = "900.0 kg", fuel = "5 L", includes = [] }]
    """
    weight = 'weight = { clause = "4.1", driver = "out", minimum = "850 kg" }'
    by = rules(f'{weight}\nneed = [{{ clause = "5.5", kinds = ["safety.extinguisher"] }}]', silence="permits")
    assert rows(BOTTLE, INSTEAD, jobs=[job("swap", fit='["second"]')], by=by, more=scales)[
        "bottle"
    ].margin_left_kg == pytest.approx(49.0, abs=1e-9)


def test_a_part_that_may_come_out_has_no_substitute_and_leaves_with_its_mass():
    row = rows(MAT)["mat"]
    assert (row.group, row.substitute, row.net_kg) == ("may", None, -4.0)


def test_a_part_that_must_stay_has_no_substitute():
    ban = 'ban = [{ clause = "5.2", kinds = ["safety.extinguisher"], does = ["remove"] }]'
    need = 'need = [{ clause = "5.5", kinds = ["safety.extinguisher"] }]'
    swap = job("swap", off='["bottle"]', fit='["second"]')
    row = rows(BOTTLE, SECOND, jobs=[swap], by=rules(f"{ban}\n{need}", silence="permits"))["bottle"]
    assert (row.group, row.substitute, row.duties) == ("must-stay", None, [])


def test_of_several_substitutes_the_one_that_costs_least_to_fit():
    third = SECOND.replace("second", "third").replace("Second", "Third")
    fourth = SECOND.replace("second", "fourth").replace("Second", "Fourth")
    jobs = [
        job("dear", off='["bottle"]', fit='["third"]', cost='"60 EUR"'),
        job("cheap", off='["bottle"]', fit='["fourth"]', cost='"20 EUR"'),
    ]
    away = job("away", "done", off='["second"]')  # lies on the shelf, and no job fits it again
    row = rows(SECOND, third, fourth, BOTTLE, jobs=[away, *jobs])["bottle"]
    assert (row.substitute.part, row.cost) == ("fourth", 20.0)
    assert rows(SECOND, third, BOTTLE, jobs=[away, jobs[0]])["bottle"].substitute.part == "third"
    alone = rows(SECOND, BOTTLE, jobs=[away])["bottle"]
    assert (alone.substitute.part, alone.substitute.taken_off_by, alone.jobs) == ("second", "away", ())


def test_two_needs_and_one_substitute_are_one_duty():
    by = rules(
        'allow = [{ clause = "5.1", kinds = ["safety"], does = ["remove", "fit"] }]\n'
        'need = [{ clause = "5.5", kinds = ["safety.extinguisher"] }, { clause = "5.6", kinds = ["safety"] }]'
    )
    row = rows(BOTTLE, SECOND, jobs=[job("swap", off='["bottle"]', fit='["second"]')], by=by)["bottle"]
    assert row.duties == ["Second bottle must be fitted in its place."]


def test_another_kind_of_the_same_clause_that_is_not_known_does_not_matter():
    by = rules(
        'allow = [{ clause = "5.1", kinds = ["safety"], does = ["remove", "fit"] }]\n'
        'need = [{ clause = "5.5", kinds = ["safety.extinguisher", "body.aerial"] }]'
    )
    row = rows(BOTTLE, SECOND, jobs=[job("swap", off='["bottle"]', fit='["second"]')], by=by)["bottle"]
    assert (row.group, row.duties) == ("may-with-duty", ["Second bottle must be fitted in its place."])


# ---- the jobs that swap


def test_a_job_that_fits_what_replaces_it():
    row = rows(BOTTLE, INSTEAD, jobs=[job("swap", fit='["second"]', cost='"50 EUR"', returns='"8 EUR"', hours=2)])
    assert told(row["bottle"].jobs) == [("swap", (), 42.0, 2.0, 1.0)]
    assert (row["bottle"].cost, row["bottle"].hours, row["bottle"].cost_per_kg) == (42.0, 2.0, 42.0)
    (swap,) = row["bottle"].jobs
    assert (swap.others, swap.fitted, swap.takes_off) == ((), (), True)


def test_a_job_that_takes_one_off_and_fits_the_other():
    swap = job("swap", off='["bottle", "mat"]', fit='["second"]', cost='"10 EUR"')
    (found,) = rows(BOTTLE, SECOND, MAT, jobs=[swap])["bottle"].jobs
    # Bottle 3 kg and mat 4 kg off, bottle 2 kg on.
    assert (found.id, found.off_kg, found.cost_per_kg, found.others, found.fitted) == ("swap", 5.0, 2.0, ("mat",), ())


def test_two_jobs_that_do_it_together():
    jobs = [job("on", fit='["second"]', cost='"9 EUR"', hours=1), job("off", off='["bottle"]', cost='"1 EUR"')]
    assert told(rows(BOTTLE, SECOND, jobs=jobs)["bottle"].jobs) == [("on", ("off",), 10.0, 1.0, 1.0)]


def test_a_job_that_needs_the_one_that_fits_it():
    jobs = [job("on", fit='["second"]', cost='"9 EUR"'), job("off", off='["bottle"]', needs='["on"]')]
    assert told(rows(BOTTLE, SECOND, jobs=jobs)["bottle"].jobs) == [("off", ("on",), 9.0, 0.0, 1.0)]


def test_a_job_that_only_fits_it():
    (found,) = rows(BOTTLE, SECOND, jobs=[job("on", fit='["second"]', cost='"9 EUR"')])["bottle"].jobs
    assert (found.id, found.takes_off, found.off_kg, found.cost_per_kg) == ("on", False, -2.0, None)


def test_a_swap_counts_with_what_it_still_needs():
    jobs = [
        job("bracket", cost='"5 EUR"', hours=0.5),
        job("swap", fit='["second"]', needs='["bracket"]', cost='"9 EUR"'),
    ]
    assert told(rows(BOTTLE, INSTEAD, jobs=jobs)["bottle"].jobs) == [("swap", ("bracket",), 14.0, 0.5, 1.0)]


def test_swaps_that_cannot_be_done_or_that_fit_something_else():
    jobs = [
        job("strip", "done", off='["mat"]'),
        job("hindered", fit='["second"]', not_with='["strip"]'),
        job("other", off='["bottle"]', fit='["mat"]', needs='["strip"]'),
    ]
    row = rows(BOTTLE, INSTEAD, MAT, jobs=jobs)["bottle"]
    assert (row.substitute.part, row.jobs, row.cost) == ("second", (), None)


def test_the_cheapest_swap_comes_first():
    jobs = [job("shop", fit='["second"]', cost='"40 EUR"'), job("home", fit='["second"]', cost='"0 EUR"', hours=3)]
    assert [each.id for each in rows(BOTTLE, INSTEAD, jobs=jobs)["bottle"].jobs] == ["home", "shop"]


def test_a_kind_that_the_ledger_does_not_list_has_its_substitute_too():
    felt, lay = FELT.replace(" }", ', origin = "aftermarket" }'), job("lay", fit='["felt"]', cost='"7 EUR"')
    builder = car(f"part = [{felt}]\njob = [{lay}]", absent=("interior.floor.underlay",))
    by = rules(
        'allow = [{ clause = "5.1", kinds = ["interior.floor.carpet"], does = ["remove"] },'
        ' { clause = "5.2", kinds = ["interior.floor.underlay"], does = ["fit"] }]\n'
        'need = [{ clause = "5.5", kinds = ["interior.floor.carpet", "interior.floor.underlay"], at_least = 1 }]'
    )
    before = CarBeforeBook(builder, by)
    (found,) = find_unlisted(prepare_class(by, "club"), Unlisting(before, before.situation("now", DAY)))
    row = found.removal
    assert (row.kind, row.group, row.duties) == (
        "interior.floor.carpet",
        "may-with-duty",
        ["Felt must be fitted in its place."],
    )
    (found,) = row.jobs
    assert (found.id, found.cost, found.takes_off, row.net_kg) == ("lay", 7.0, False, None)


# ---- what goes back on

STAYS = rules('ban = [{ clause = "5.2", kinds = ["interior"], does = ["remove", "swap"] }]', silence="permits")
STRIP = job("strip", "done", off='["mat", "felt"]', cost='"12 EUR"', hours=4)


def test_the_job_that_would_put_it_back():
    back = job("back", fit='["mat", "felt"]', cost='"3 EUR"', hours=2, needs='["strip", "clean"]')
    found = rows(MAT, FELT, jobs=[STRIP, job("clean", cost='"1 EUR"'), back], by=STAYS)
    row = found["mat"]
    assert (row.group, row.put_back_by, row.net_kg) == ("put-back", ("back",), 4.0)
    assert told(row.put_back_jobs) == [("back", ("clean",), 4.0, 2.0, -10.0)]
    assert (row.put_back_jobs[0].fitted, row.put_back_jobs[0].others) == (("felt",), ())
    assert [each.id for each in row.jobs] == ["strip"]
    # What it would cost is what is still to be done, not what taking it off cost.
    assert (row.cost, row.hours, row.cost_per_kg) == (4.0, 2.0, None)


def test_no_job_puts_it_back():
    row = rows(MAT, FELT, jobs=[STRIP], by=STAYS)["mat"]
    assert (row.put_back_by, row.put_back_jobs, row.hindrances, row.cost, row.hours) == ((), (), (), None, None)


def test_a_job_that_cannot_put_it_back_in_this_build():
    back = job("back", fit='["mat"]', not_with='["paint"]')
    row = rows(MAT, FELT, jobs=[STRIP, job("paint", "done"), back], by=STAYS)["mat"]
    assert (row.put_back_by, row.put_back_jobs) == (("back",), ())
    assert row.hindrances == ('job "back" cannot stand in one build with "paint"',)


def test_what_took_its_place_comes_off_for_it():
    thin = (
        '{ id = "thin", kind = "interior.floor.carpet", mass = "1 kg", at = "600 mm",'
        ' origin = "aftermarket", replaces = "mat" }'
    )
    placed = MAT.replace(" }", ', at = "1200 mm" }')
    row = rows(placed, thin, jobs=[job("swap", "done", fit='["thin"]')], by=STAYS, wheelbase="2400 mm")["mat"]
    # 4 kg on at 1200 mm, 1 kg off at 600 mm.
    assert (row.group, row.instead, row.net_kg) == ("put-back", ("thin",), 3.0)
    assert (row.front_kg, row.rear_kg) == (1.25, 1.75)


# ---- sentences that hold while the part is still on the car


def reasons(row):
    return [reason.sentence for reason in row.reasons]


@pytest.mark.parametrize(
    ("need", "sentence"),
    [
        ('kinds = ["safety.extinguisher"]', "Must be on the car: fire extinguisher."),
        (
            'kinds = ["safety.extinguisher"], part = { weighs = { least = "2 kg" } }',
            "Must be on the car as the clause describes it: fire extinguisher.",
        ),
        (
            'kinds = ["safety.extinguisher", "safety.cage"], at_least = 1',
            "Must be on the car, at least 1 of these: fire extinguisher and roll cage.",
        ),
        (
            'kinds = ["safety.extinguisher"], whole = true',
            "Must be complete, as the factory gave it: fire extinguisher.",
        ),
    ],
)
def test_what_must_be_on_the_car(need, sentence):
    by = rules(f'need = [{{ clause = "5.5", {need} }}]', silence="permits")
    row = rows(BOTTLE, by=by)["bottle"]
    assert (row.group, reasons(row)) == ("must-stay", [sentence])


def test_what_the_car_would_not_be():
    require = 'require = [{ clause = "5.8", must = { not = { removed = "interior.floor" } } }]'
    enter = 'enter = [{ clause = "5.9", must = { not = { removed = "interior.floor" } } }]'
    row = rows(MAT, by=rules(f"{require}\n{enter}", silence="permits"))["mat"]
    assert sorted(reasons(row)) == [
        "The car could not then enter by clause 5.9.",
        "The car would not then be as it must be by clause 5.8.",
    ]


def test_what_must_then_not_be_on_the_car():
    strip = 'strip = [{ clause = "5.3", kinds = ["safety.extinguisher"], if = { removed = "interior.floor" } }]'
    row = rows(MAT, BOTTLE, by=rules(strip, silence="permits"))["mat"]
    assert (row.group, reasons(row)) == ("must-stay", ["Must then not be on the car: fire extinguisher."])


def test_a_part_that_took_the_place_of_another_is_named_by_its_own_name():
    thin = MAT.replace('"mat"', '"thin"').replace('"Mat"', '"Thin mat"')
    thin = thin.replace(" }", ', origin = "aftermarket", replaces = "mat" }')
    jobs = [job("swap", "done", fit='["thin"]')]
    ban = rules('ban = [{ clause = "5.2", kinds = ["interior"], does = ["remove"] }]', silence="permits")
    row = rows(MAT, thin, jobs=jobs, by=ban)["thin"]
    assert reasons(row) == ["Thin mat may not be removed. It took the place of mat."]
    silent = rows(MAT, thin, jobs=jobs, by=rules('allow = [{ clause = "5.1", kinds = ["interior"], does = ["swap"] }]'))
    (reason,) = silent["thin"].reasons
    assert reason.sentence == (
        "No clause speaks of removing thin mat, and what this book does not allow it forbids. It took the place of mat."
    )
    assert reason.in_short == "no clause lets it out; it took the place of mat"


def test_a_change_of_another_part_is_told_apart():
    """The felt was lightened, which a clause allows while the mat is on."""
    by = rules(
        'allow = [{ clause = "5.1", kinds = ["interior.floor.carpet"], does = ["remove"] }]\n'
        'ban = [{ clause = "5.2", kinds = ["interior.floor.underlay"], does = ["lighten"],'
        ' if = { removed = "interior.floor.carpet" } }]',
        silence="permits",
    )
    row = rows(MAT, FELT, jobs=[job("cut", "done", lightens='{ felt = "5 kg" }')], by=by)["mat"]
    assert (row.group, reasons(row)) == ("must-stay", ["Without it, felt may not be lightened."])
