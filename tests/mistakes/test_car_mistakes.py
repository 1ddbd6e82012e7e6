"""Every mistake that a car file can hold: one small edit of a sound file each, and what is said of it where.

Each entry: what is wrong, the edits with «marks» round what is complained of, and what is said of each mark.
"""

import datetime

import pytest

from mistakes.files import CAR, RULES, Edit, Said, expected, mistakes_of, spoil
from tarebook.api import check
from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules

DAY = datetime.date(2027, 5, 1)

IN_THE_FILE: list[tuple[str, list[Edit], list[Said]]] = [
    (
        "a format of another sort",
        [('"tarebook-car/1"', '«"tarebook-rules/1"»')],
        [('"tarebook-car/1" is expected', "")],
    ),
    (
        "no format",
        [('format = "tarebook-car/1"\n\n[car]', "«[»car]")],
        [('the key "format" is missing', "")],
    ),
    (
        "an unknown table",
        ['[«aero»]\nwing = "big"'],
        [
            (
                'unknown key "aero"',
                (
                    "the keys here are at_inspection, build, car, co_driver, driver, facts, format, job, "
                    "kind, part, scale, tank, units, weighing, zone"
                ),
            )
        ],
    ),
    (
        "an unknown key, nearly right",
        [("[car]", "[car]\n«modell_year» = 1994")],
        [('unknown key "modell_year" in car', 'did you mean "model_year"?')],
    ),
    (
        "an unknown key of a part",
        ['[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\n«weight» = "3 kg"'],
        [('unknown key "weight" in [[part]]', 'did you mean "mass"?')],
    ),
    (
        "an unknown key in an inline table",
        [
            (
                '[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\n'
                '«estimate» = { mass = "4 kg", «plus_minus» = "1 kg" }'
            )
        ],
        [
            ('the key "within" is missing in part.estimate', ""),
            ('unknown key "plus_minus" in part.estimate', "the keys here are mass, within"),
        ],
    ),
    (
        "a missing key",
        ['[[«part»]]\nid = "rug"'],
        [('the key "kind" is missing in [[part]]', "")],
    ),
    (
        "missing keys of an inline table",
        ['[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\n««estimate»» = {}'],
        [('the key "mass" is missing in part.estimate', ""), ('the key "within" is missing in part.estimate', "")],
    ),
    (
        "no car",
        [('[car]\nname = "Dunlin"\nmodel_year = 1994\n', ""), ("format", "«f»ormat")],
        [('the key "car" is missing', "")],
    ),
    (
        "a number for a text",
        [('"Dunlin"', "«7»")],
        [("a text in quotes is expected", "")],
    ),
    (
        "a text for a whole number",
        [("1994", '«"1994"»')],
        [("a whole number is expected", "")],
    ),
    (
        "a fraction for a whole number",
        [("1994", "«1994.5»")],
        [("a whole number is expected", "")],
    ),
    (
        "a year before there were cars",
        [("1994", "«1066»")],
        [("this number must be at least 1880", "")],
    ),
    (
        "a year too far ahead",
        [("1994", "«2999»")],
        [("this number must be at most 2200", "")],
    ),
    (
        "a text for yes or no",
        [('total = "900 kg"', 'total = "900 kg"\ndriver_aboard = «"yes"»')],
        [("true or false is expected", "")],
    ),
    (
        "a text for a list",
        [('off = ["carpet"]', 'off = «"carpet"»')],
        [("a list in [square brackets] is expected", "")],
    ),
    (
        "a list for a table",
        [("[facts]\nseats = 4", ""), ("[car]", "facts = «[]»\n\n[car]")],
        [("a table is expected", "")],
    ),
    (
        "a table for a list of tables",
        [("[[build]]", "«[build]»")],
        [("a list in [square brackets] is expected", "write [[build]], as there may be several")],
    ),
    (
        "a text for a table",
        [('[car]\nname = "Dunlin"\nmodel_year = 1994', 'car = «"Dunlin"»')],
        [("a table is expected", "")],
    ),
    (
        "a date in quotes",
        [("2026-04-05", '«"2026-04-05"»')],
        [("a date such as 2026-04-05 is expected, without quotes", "")],
    ),
    (
        "a date with a time",
        [("2026-04-05", "«2026-04-05T10:00:00»")],
        [("a date such as 2026-04-05 is expected, without quotes", "")],
    ),
    (
        "a choice that there is not",
        [('"planned"', '«"plannd"»')],
        [('one of "done", "planned", "maybe" is expected', 'did you mean "planned"?')],
    ),
    (
        "a choice with nothing near",
        [('"aftermarket"', '«"shed"»')],
        [('one of "factory", "aftermarket" is expected', "")],
    ),
    (
        "a number where a choice is expected",
        [('"planned"', "«1»")],
        [('one of "done", "planned", "maybe" is expected', "")],
    ),
    (
        "a count of none",
        ['[[part]]\nid = "clips"\nkind = "interior.trim"\ncount = «0»\nmass_each = "5 g"'],
        [("this number must be at least 1", "")],
    ),
    (
        "a count beyond reason",
        ['[[part]]\nid = "clips"\nkind = "interior.trim"\ncount = «10_001»\nmass_each = "5 g"'],
        [("this number must be at most 10000", "")],
    ),
    (
        "hours below zero",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nhours = «-1»')],
        [("hours are zero or more", "")],
    ),
    (
        "hours with a unit",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nhours = «"2 h"»')],
        [("a plain number is expected here, without quotes and unit", "")],
    ),
    (
        "no years in a list of years",
        ['[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\nyears = «[]»'],
        [("this may not be empty", "")],
    ),
    (
        "an id with a capital",
        [('id = "winter"', 'id = «"Winter"»')],
        [('"Winter" is not a name: use lower-case letters, digits, hyphens and underscores', "")],
    ),
    (
        "an id that is a number",
        [('id = "winter"', "id = «1»")],
        [("a text in quotes is expected", "")],
    ),
    (
        "a mass without a unit",
        [('"4.2 kg"', '«"4.2"»')],
        [('a unit is expected after the number: write "4.2 kg", for example', "")],
    ),
    (
        "a mass in millimetres",
        [('"4.2 kg"', '«"4.2 mm"»')],
        [("a mass is expected, but mm is a length", "")],
    ),
    (
        "a unit that there is not",
        [('"4.2 kg"', '«"4.2 kgs"»')],
        [('"kgs" is no unit of mass: did you mean "kg"?', "")],
    ),
    (
        "a decimal comma",
        [('"4.2 kg"', '«"4,2 kg"»')],
        [('a decimal point is expected, not a comma: write "4.2 kg"', "")],
    ),
    (
        "a mass below zero",
        [('"4.2 kg"', '«"-4.2 kg"»')],
        [("a mass cannot be below zero here", "")],
    ),
    (
        "a mass that is a date",
        [('"4.2 kg"', "«2026-01-01»")],
        [("a mass is expected: a number with its unit, in quotes", "")],
    ),
    (
        "true for a mass",
        [('"4.2 kg"', "«true»")],
        [("a mass is expected: a number with its unit, in quotes", "")],
    ),
    (
        "one bad reading of three",
        [('"4.2 kg"', '["4.2 kg", «"4,3 kg"», "4.2 kg"]')],
        [('a decimal point is expected, not a comma: write "4.3 kg"', "")],
    ),
    (
        "no readings",
        [('"4.2 kg"', "«[]»")],
        [("a list of readings may not be empty", "")],
    ),
    (
        "an estimate that is one mass",
        ['[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\nestimate = «"4 kg"»'],
        [("a table is expected", "")],
    ),
    (
        "an estimate as wide as the mass",
        [('[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\nestimate = { mass = "4 kg", within = «"5 kg"» }')],
        [("this is more than the mass itself, which cannot fall below zero", "")],
    ),
    (
        "money without a currency",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\ncost = «140»')],
        [("an amount of money needs its unit, in quotes, as [units] names no currency", "")],
    ),
    (
        "a currency that there is not",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\ncost = «"140 EURO"»')],
        [('"EURO" is no currency code: did you mean "EUR"?', "")],
    ),
    (
        "money that is a list",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\ncost = «[140]»')],
        [("an amount of money is expected: a number with its unit, in quotes", "")],
    ),
    (
        "fuel as nobody measures it",
        ['[at_inspection]\nfuel = «"plenty"»'],
        [('"plenty" is not an amount of fuel: write a volume such as "12 L", or "full" or "empty"', "")],
    ),
    (
        "fuel as raced, in a car file",
        ['[at_inspection]\nfuel = «"as-raced"»'],
        [(('"as-raced" is not an amount of fuel: write a volume such as "12 L", or "full" or "empty"'), "")],
    ),
    (
        "fuel that is yes or no",
        ["[at_inspection]\nfuel = «true»"],
        [("a volume is expected: a number with its unit, in quotes", "")],
    ),
    (
        "a gallon of either sort",
        ['[at_inspection]\nfuel = «"2 gal"»'],
        [('"gal" could be either gallon: write "US gal" or "imp gal"', "")],
    ),
    (
        "a density without its unit",
        ["[tank]\ndensity = «0.745»"],
        [("a mass per volume needs its unit, in quotes", "")],
    ),
    (
        "money in two currencies",
        [
            ('off = ["carpet"]', 'off = ["carpet"]\ncost = "5 EUR"'),
            ('fit = ["light-seat"]', 'fit = ["light-seat"]\nreturns = «"5 GBP"»'),
        ],
        [("money in one file is of one currency: line 45 has EUR", "")],
    ),
    (
        "a unit of bare numbers that is of something else",
        ['[units]\nmass = «"mm"»'],
        [("a mass is expected, but mm is a length", "")],
    ),
    (
        "a unit that is a number",
        ["[units]\nmass = «1»"],
        [("a text in quotes is expected", "")],
    ),
    (
        "a unit of what has none here",
        ['[units]\n«torque» = "Nm"'],
        [('unknown key "torque" in units', "the keys here are length, mass, money, power, volume")],
    ),
    (
        "a currency for [units] that there is not",
        ['[units]\nmoney = «"euro"»'],
        [('"euro" is no currency code: did you mean "EUR"?', "")],
    ),
    (
        "an own kind without a branch",
        ['[[kind]]\nid = «"toolbox"»\ntitle = "Tool box"\nfrom_factory = "never"'],
        [(('the kind "toolbox" needs a branch above it: put it under one, such as "interior.toolbox"'), "")],
    ),
    (
        "an own kind that is there already",
        ['[[kind]]\nid = «"stowage.jack"»\ntitle = "Jack"\nfrom_factory = "always"'],
        [('the kind "stowage.jack" is already there: choose another name', "")],
    ),
    (
        "an own kind under a branch misspelt",
        ['[[kind]]\nid = «"stowge.flag"»\ntitle = "Flag"\nfrom_factory = "never"'],
        [('the kind "stowge.flag" has no branch "stowge" above it: did you mean "stowage"?', "")],
    ),
    (
        "an own kind with a capital",
        ['[[kind]]\nid = «"stowage.Flag"»\ntitle = "Flag"\nfrom_factory = "never"'],
        [
            (
                (
                    '"stowage.Flag" is no name for a kind: write lower-case words joined by hyphens, with '
                    'dots between levels, such as "interior.dash.clock"'
                ),
                "",
            )
        ],
    ),
    (
        "own kinds beside one that is bad",
        [
            (
                '[[kind]]\nid = "stowage.flag.pole"\ntitle = "Pole"\n'
                'from_factory = "never"\n'
                '[[kind]]\nid = "stowage.flag"\ntitle = "Flag"\n'
                'from_factory = "never"\n'
                '[[kind]]\nid = «"Flag"»\ntitle = "Flag"\n'
                'from_factory = "never"'
            )
        ],
        [
            (
                (
                    '"Flag" is no name for a kind: write lower-case words joined by hyphens, with dots '
                    'between levels, such as "interior.dash.clock"'
                ),
                "",
            )
        ],
    ),
    (
        "an own kind of which it is not said whether cars have it",
        ['[[kind]]\nid = "stowage.flag"\ntitle = "Flag"\nfrom_factory = «"often"»'],
        [('one of "always", "sometimes", "never" is expected', "")],
    ),
    (
        "two parts of one name",
        ['[[part]]\nid = «"carpet"»\nkind = "interior.floor.carpet"'],
        [('the part "carpet" is listed twice, first on line 16', "")],
    ),
    (
        "two jobs of one name",
        ['[[job]]\nid = «"strip"»\nstate = "maybe"'],
        [('the job "strip" is listed twice, first on line 41', "")],
    ),
    (
        "two scales of one name",
        ['[[scale]]\nid = «"bench"»\nresolution = "1 g"'],
        [('the scale "bench" is listed twice, first on line 11', "")],
    ),
    (
        "two weighings of one name",
        ['[[weighing]]\nid = «"spring"»\ndate = 2026-04-06\ntotal = "901 kg"'],
        [('the weighing "spring" is listed twice, first on line 32', "")],
    ),
    (
        "two zones of one name",
        ['[[zone]]\nid = "tail"\nfrom = 1\nto = 2\n[[zone]]\nid = «"tail"»\nfrom = 2\nto = 3'],
        [('the zone "tail" is listed twice, first on line 52', "")],
    ),
    (
        "two builds of one name",
        ['[[build]]\nid = «"winter"»'],
        [('the build "winter" is listed twice, first on line 37', "")],
    ),
    (
        "a build called now",
        ['[[build]]\nid = «"now"»'],
        [('"now" is built in: choose another name for this build', "")],
    ),
    (
        "a build called planned",
        ['[[build]]\nid = «"planned"»'],
        [('"planned" is built in: choose another name for this build', "")],
    ),
    (
        "a kind both present and absent",
        [("model_year = 1994", 'absent = ["body.tow-bar"]\npresent = [«"body.tow-bar"»]')],
        [('"body.tow-bar" is both present and absent', "")],
    ),
    (
        "an unknown choice of a fact",
        [("seats = 4", 'gearbox = «"automtic"»')],
        [
            (
                (
                    'gearbox is one of "manual", "sequential", "automated-manual", "dual-clutch", '
                    '"automatic", "stepless", "single-speed"; did you mean "automatic"?'
                ),
                "",
            )
        ],
    ),
    (
        "an unknown choice with nothing near",
        [("seats = 4", 'driven_wheels = «"sideways"»')],
        [('driven_wheels is one of "front", "rear", "all"', "")],
    ),
    (
        "a text for a count",
        [("seats = 4", 'seats = «"four"»')],
        [("seats is a plain number, without quotes and unit", "")],
    ),
    (
        "half a seat",
        [("seats = 4", "seats = «4.5»")],
        [("seats is a whole number", "")],
    ),
    (
        "seats below zero",
        [("seats = 4", "seats = «-4»")],
        [("seats is zero or more", "")],
    ),
    (
        "a text for a fact of yes or no",
        [("seats = 4", 'insured = «"yes"»')],
        [("insured is true or false", "")],
    ),
    (
        "a number for a fact that is a text",
        [("seats = 4", "engine_code = «4»")],
        [("engine_code is a text in quotes", "")],
    ),
    (
        "a text for a fact that is a date",
        [("seats = 4", 'first_registered = «"1994"»')],
        [("first_registered is a date such as 1996-05-31, without quotes", "")],
    ),
    (
        "a date with a time for a fact",
        [("seats = 4", "first_registered = «1994-01-01T00:00:00»")],
        [("first_registered is a date such as 1996-05-31, without quotes", "")],
    ),
    (
        "a fact in another measure",
        [("seats = 4", 'wheelbase = «"2445 kg"»')],
        [("wheelbase: a length is expected, but kg is a mass", "")],
    ),
    (
        "bare money in no currency",
        [("seats = 4", "price_new = «9000»")],
        [("price_new: an amount of money needs its unit, in quotes, as [units] names no currency", "")],
    ),
    (
        "the model year among the facts",
        [("seats = 4", "«model_year» = 1994")],
        [("the model year is stated once, as model_year under [car]", "")],
    ),
    (
        "the model year set by a job",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nsets = { «model_year» = 1995 }')],
        [("the model year is stated once, as model_year under [car]", "")],
    ),
    (
        "a job that sets a fact to what it cannot be",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nsets = { seats = «false» }')],
        [("seats is a plain number, without quotes and unit", "")],
    ),
    (
        "a driver both weighed and estimated",
        ['[driver]\nmass = "78 kg"\n«estimate» = { mass = "78 kg", within = "2 kg" }'],
        [("a mass is either weighed or estimated, not both", "")],
    ),
    (
        "a scale without a reading",
        ['[driver]\n«scale» = "bench"'],
        [("a scale is named, but no reading", "")],
    ),
    (
        "a scale that there is not",
        ['[driver]\nmass = "78 kg"\nscale = «"bech"»'],
        [('there is no scale "bech"', 'did you mean "bench"?')],
    ),
    (
        "more than the scale can weigh",
        ['[driver]\nmass = «"78 kg"»\nscale = "bench"'],
        [('this is more than the scale "bench" can weigh', "")],
    ),
    (
        "a co-driver on no scale at all",
        [
            ('[[scale]]\nid = "bench"\nresolution = "1 g"\ncapacity = "30 kg"\n', ""),
            ('mass = "4.2 kg"\nscale = "bench"', 'mass = "4.2 kg"'),
            '[co_driver]\nmass = "70 kg"\nscale = «"pads"»',
        ],
        [('there is no scale "pads"', "list the scale first")],
    ),
    (
        "a mass stated twice",
        [
            (
                '[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\n'
                'mass = "3 kg"\n'
                '«estimate» = { mass = "3 kg", within = "1 kg" }'
            )
        ],
        [('part "rug" states its mass twice, as mass and estimate', "")],
    ),
    (
        "a mass of several things that may be doubled",
        ['[[part]]\nid = "clips"\nkind = "interior.trim"\ncount = 4\n«mass» = "5 g"'],
        [("with a count, say mass_each or mass_together", "")],
    ),
    (
        "a mass of each of an unknown number",
        ['[[part]]\nid = "clips"\nkind = "interior.trim"\n«mass_each» = "5 g"'],
        [("mass_each needs a count", "")],
    ),
    (
        "a part on a scale without a reading",
        ['[[part]]\nid = "clips"\nkind = "interior.trim"\n«scale» = "bench"'],
        [("a scale is named, but no reading", "")],
    ),
    (
        "a part on a scale that there is not",
        ['[[part]]\nid = "clips"\nkind = "interior.trim"\nmass = "5 g"\nscale = «"kitchen"»'],
        [('there is no scale "kitchen"', "there are bench")],
    ),
    (
        "one of several readings is too much for the scale",
        [('[[part]]\nid = "engine"\nkind = "powertrain.engine"\nmass = ["29 kg", «"31 kg"»]\nscale = "bench"')],
        [('this is more than the scale "bench" can weigh', "")],
    ),
    (
        "a part of a part that there is not",
        ['[[part]]\nid = "bracket"\nkind = "interior.trim"\nbelongs_to = «"carpt"»'],
        [('there is no part "carpt"', 'did you mean "carpet"?')],
    ),
    (
        "a part of itself",
        ['[[part]]\nid = "bracket"\nkind = "interior.trim"\nbelongs_to = «"bracket"»'],
        [('"bracket" belongs to itself', "")],
    ),
    (
        "parts of one another",
        [
            (
                '[[part]]\nid = "bracket"\nkind = "interior.trim"\n'
                'belongs_to = «"bolt"»\n'
                '[[part]]\nid = "bolt"\nkind = "interior.trim"\n'
                'belongs_to = "bracket"'
            )
        ],
        [('these parts go round in a circle: "bracket" belongs to "bolt" belongs to "bracket"', "")],
    ),
    (
        "a year that is none",
        ['[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\nyears = [1994, «94»]'],
        [("94 is not a year", "")],
    ),
    (
        "what replaces nothing",
        [('replaces = "stock-seat"', 'replaces = «"stok-seat"»')],
        [('"stok-seat" is neither a part of the ledger nor a kind', 'did you mean "stock-seat"?')],
    ),
    (
        "what replaces something called otherwise",
        [('replaces = "stock-seat"', 'replaces = «"bonnet"»')],
        [('"bonnet" is neither a part of the ledger nor a kind', 'did you mean "body.bonnet"?')],
    ),
    (
        "what replaces something unheard of",
        [('replaces = "stock-seat"', 'replaces = «"qqq"»')],
        [('"qqq" is neither a part of the ledger nor a kind', "")],
    ),
    (
        "what replaces a kind of which there is a part",
        [('replaces = "stock-seat"', 'replaces = «"interior.seat.front.driver"»')],
        [('the ledger has a part of the kind "interior.seat.front.driver": name that part', 'replaces = "stock-seat"')],
    ),
    (
        "parts that replace one another",
        [
            (
                '[[part]]\nid = "lid"\nkind = "body.boot-lid"\n'
                'replaces = «"lid-too"»\n'
                '[[part]]\nid = "lid-too"\nkind = "body.boot-lid"\n'
                'replaces = "lid"'
            )
        ],
        [('these parts go round in a circle: "lid" replaces "lid-too" replaces "lid"', "")],
    ),
    (
        "a zone that ends before it begins",
        ['[[zone]]\nid = "tail"\nfrom = "3 m"\nto = «"2 m"»'],
        [('zone "tail" ends where it begins, or before', "")],
    ),
    (
        "a scale that shows everything at once",
        [('"1 g"', '«"0 g"»')],
        [("a resolution is more than zero", "")],
    ),
    (
        "a scale checked with half of what it takes",
        [('capacity = "30 kg"', '««check»» = { known = "5 kg" }')],
        [('the key "read" is missing in scale.check', ""), ('the key "u" is missing in scale.check', "")],
    ),
    (
        "a job on a part that there is not",
        [('off = ["carpet"]', 'off = ["carpet", «"capret"»]')],
        [('there is no part "capret"', 'did you mean "carpet"?')],
    ),
    (
        "a part taken off twice",
        [('off = ["carpet"]', 'off = ["carpet", «"carpet"»]')],
        [('job "strip" takes off "carpet" twice', "")],
    ),
    (
        "a part fitted twice",
        [('fit = ["light-seat"]', 'fit = ["light-seat", «"light-seat"»]')],
        [('job "seat" fits "light-seat" twice', "")],
    ),
    (
        "a part taken off and fitted",
        [('off = ["carpet"]', 'off = ["carpet"]\nfit = [«"carpet"»]')],
        [('job "strip" takes "carpet" off and fits it', "")],
    ),
    (
        "moving a part that there is not",
        [('fit = ["light-seat"]', 'moves = { «wing» = { at = "3 m" } }')],
        [('there is no part "wing"', "there are carpet, stock-seat, light-seat")],
    ),
    (
        "moving a part nowhere",
        [('fit = ["light-seat"]', "moves = { stock-seat = «{}» }")],
        [('it is not said where "stock-seat" goes: at, right or place', "")],
    ),
    (
        "lightening a part that there is not",
        [('fit = ["light-seat"]', 'lightens = { «carpt» = "3 kg" }')],
        [('there is no part "carpt"', 'did you mean "carpet"?')],
    ),
    (
        "lightening by a scale without a reading",
        [('fit = ["light-seat"]', 'lightens = { stock-seat = { «scale» = "bench" } }')],
        [("a scale is named, but no reading", "")],
    ),
    (
        "lightening to a weighed and an estimated mass",
        [
            (
                'fit = ["light-seat"]',
                ('lightens = { stock-seat = { mass = "9 kg", «estimate» = { mass = "9 kg", within = "1 kg" } } }'),
            )
        ],
        [("a mass is either weighed or estimated, not both", "")],
    ),
    (
        "a job that needs one that there is not",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nneeds = [«"stripp"»]')],
        [('there is no job "stripp"', 'did you mean "strip"?')],
    ),
    (
        "a job that needs itself",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nneeds = [«"seat"»]')],
        [('job "seat" names itself in needs', "")],
    ),
    (
        "a job that cannot stand with itself",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nnot_with = [«"seat"»]')],
        [('job "seat" names itself in not_with', "")],
    ),
    (
        "a job that needs what it cannot stand with",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nneeds = ["strip"]\nnot_with = [«"strip"»]')],
        [('job "seat" both needs "strip" and cannot stand with it', "")],
    ),
    (
        "two jobs that need one another",
        [('[[job]]\nid = "a"\nstate = "maybe"\nneeds = «["b"]»\n[[job]]\nid = "b"\nstate = "maybe"\nneeds = ["a"]')],
        [('these jobs go round in a circle: "a" needs "b" needs "a"', "")],
    ),
    (
        "three jobs that need one another",
        [
            (
                '[[job]]\nid = "z"\nstate = "maybe"\nneeds = ["a"]\n'
                '[[job]]\nid = "a"\nstate = "maybe"\nneeds = «["b"]»\n'
                '[[job]]\nid = "b"\nstate = "maybe"\nneeds = ["c"]\n'
                '[[job]]\nid = "c"\nstate = "maybe"\nneeds = ["a", "strip"]'
            )
        ],
        [('these jobs go round in a circle: "a" needs "b" needs "c" needs "a"', "")],
    ),
    (
        "a part that is gone, to be fitted",
        [
            ('id = "light-seat"\n', 'id = "light-seat"\ngone = true\n'),
            ('fit = ["light-seat"]', 'fit = [«"light-seat"»]'),
        ],
        [('part "light-seat" is gone, so it cannot be fitted', "")],
    ),
    (
        "a finish that nobody can do",
        [('off = ["carpet"]', 'off = ["carpet"]\nfinishes = [{ area = "interior.floor", by = «"polished"» }]')],
        [('one of "painted", "covered", "sealed", "capped", "welded" is expected', "")],
    ),
    (
        "a weighing of nothing",
        ['«[[weighing]]»\nid = "late"\ndate = 2026-05-05'],
        [('weighing "late" states corners, axles or total: just one of them', "")],
    ),
    (
        "a weighing stated twice over",
        [
            (
                '[[weighing]]\nid = "late"\ndate = 2026-05-05\n'
                '«total» = "900 kg"\n'
                'axles = { front = "500 kg", rear = "400 kg" }'
            )
        ],
        [('weighing "late" states corners, axles or total: just one of them', "")],
    ),
    (
        "a weighing with three corners",
        [
            (
                '[[weighing]]\nid = "late"\ndate = 2026-05-05\n'
                "«corners» = { front_left = 250, front_right = 250, rear_left = 200 }"
            )
        ],
        [('the key "rear_right" is missing in weighing.corners', "")],
    ),
    (
        "a weighing on a scale that there is not",
        [
            (
                '[[weighing]]\nid = "late"\ndate = 2026-05-05\n'
                'scale = «"pads"»\n'
                'axles = { front = "500 kg", rear = "400 kg" }'
            )
        ],
        [('there is no scale "pads"', "there are bench")],
    ),
    (
        "a weighing of more than the scale takes",
        [
            (
                '[[weighing]]\nid = "late"\ndate = 2026-05-05\nscale = "bench"\n'
                'axles = { front = «"500 kg"», rear = "25 kg" }'
            )
        ],
        [('this is more than the scale "bench" can weigh', "")],
    ),
    (
        "a weighing that saw a job that there is not",
        [('total = "900 kg"', 'total = "900 kg"\nincludes = [«"stripp"»]')],
        [('there is no job "stripp"', 'did you mean "strip"?')],
    ),
    (
        "a weighing that saw a job twice",
        [('total = "900 kg"', 'total = "900 kg"\nincludes = ["strip", «"strip"»]')],
        [('"strip" is listed twice', "")],
    ),
    (
        "a weighing that saw a job not done",
        [('total = "900 kg"', 'total = "900 kg"\nincludes = ["strip", «"seat"»]')],
        [('weighing "spring" includes job "seat", which is not done', "")],
    ),
    (
        "a weighing that saw a later job",
        [("2026-03-01", "2026-06-01"), ('total = "900 kg"', 'total = "900 kg"\nincludes = [«"strip"»]')],
        [('weighing "spring" includes job "strip", which was done later, on 2026-06-01', "")],
    ),
    (
        "a job of the day of the weighing",
        [("2026-03-01", "2026-04-05"), ("[[weighing]]", "«[[weighing]]»")],
        [
            (
                'it is not said whether weighing "spring" saw job "strip", which is of the same day',
                "list the jobs that it saw: includes = [..]",
            )
        ],
    ),
    (
        "a job without a date",
        [("date = 2026-03-01\n", ""), ("[[weighing]]", "«[[weighing]]»")],
        [
            (
                'it is not said whether weighing "spring" saw job "strip", which has no date',
                "list the jobs that it saw: includes = [..]",
            )
        ],
    ),
    (
        "a build with a job that there is not",
        [('jobs = ["seat"]', 'jobs = [«"saet"»]')],
        [('there is no job "saet"', 'did you mean "seat"?')],
    ),
    (
        "a build with a job twice",
        [('jobs = ["seat"]', 'jobs = ["seat", «"seat"»]')],
        [('"seat" is listed twice', "")],
    ),
    (
        "a build that undoes what is not done",
        [('jobs = ["seat"]', 'undo = [«"seat"»]')],
        [('build "winter" undoes job "seat", which is not done', "")],
    ),
    (
        "a build that lists and undoes a job",
        [('jobs = ["seat"]', 'jobs = ["strip"]\nundo = [«"strip"»]')],
        [('build "winter" both lists and undoes job "strip"', "")],
    ),
    (
        "a build without what a job of it needs",
        [
            '[[job]]\nid = "rails"\nstate = "maybe"',
            ('fit = ["light-seat"]', 'fit = ["light-seat"]\nneeds = [«"rails"»]'),
        ],
        [('job "seat" needs job "rails", which is not in the build (build planned)', "")],
    ),
    (
        "a build with jobs that cannot stand together",
        [('off = ["carpet"]', 'off = ["carpet"]\nnot_with = [«"seat"»]')],
        [('job "strip" cannot stand in one build with "seat" (build planned)', "")],
    ),
    (
        "taking off what is off already",
        [('fit = ["light-seat"]', 'off = [«"carpet"»]')],
        [('job "seat" takes off "carpet", which is not on the car (build planned)', "")],
    ),
    (
        "fitting what is on already",
        ['[[job]]\nid = "again"\nstate = "planned"\nfit = [«"light-seat"»]\nneeds = ["seat"]'],
        [('job "again" fits "light-seat", which is on the car already (build planned)', "")],
    ),
    (
        "a weighing with a job that was not possible then",
        [
            (
                'off = ["carpet"]',
                ('off = ["carpet"]\n\n[[job]]\nid = "trim"\nstate = "done"\ndate = 2026-03-02\nneeds = [«"strip"»]'),
            ),
            ('total = "900 kg"', 'total = "900 kg"\nincludes = ["trim"]'),
        ],
        [('job "trim" needs job "strip", which is not in the build (weighing spring)', "")],
    ),
    (
        "a part that is gone, yet on the car",
        [
            ('mass = "4.2 kg"\n', 'mass = "4.2 kg"\ngone = true\n'),
            ('off = ["carpet"]', ""),
            ("gone = true", "gone = «true»"),
        ],
        [('part "carpet" is gone, yet on the car', "")],
    ),
    (
        "four mistakes of form",
        [
            ('"Dunlin"', "«7»"),
            ("seats = 4", "seats = 4\n"),
            ('"1 g"', '«"1 kgs"»'),
            ("2026-04-05", '«"then"»'),
            ('"planned"', '«"plan"»'),
        ],
        [
            ("a text in quotes is expected", ""),
            ('"kgs" is no unit of mass: did you mean "kg"?', ""),
            ("a date such as 2026-04-05 is expected, without quotes", ""),
            ('one of "done", "planned", "maybe" is expected', 'did you mean "planned"?'),
        ],
    ),
    (
        "five mistakes of reference",
        [
            ("seats = 4", 'seats = «"four"»'),
            ('scale = "bench"', 'scale = «"bnch"»'),
            ('total = "900 kg"', 'total = "900 kg"\nincludes = [«"strip-it"»]'),
            ('jobs = ["seat"]', 'jobs = [«"seats"»]'),
            ('off = ["carpet"]', 'off = [«"carpets"»]'),
        ],
        [
            ("seats is a plain number, without quotes and unit", ""),
            ('there is no scale "bnch"', 'did you mean "bench"?'),
            ('there is no job "strip-it"', 'did you mean "strip"?'),
            ('there is no job "seats"', 'did you mean "seat"?'),
            ('there is no part "carpets"', 'did you mean "carpet"?'),
        ],
    ),
    (
        "three mistakes on one line",
        [
            (
                '[[part]]\nid = "rug"\nkind = "interior.floor.carpet"\n'
                'estimate = { mass = «"4"», within = «-1», «about» = true }'
            )
        ],
        [
            ('a unit is expected after the number: write "4 kg", for example', ""),
            ("a mass cannot be below zero here", ""),
            ('unknown key "about" in part.estimate', "the keys here are mass, within"),
        ],
    ),
    (
        "units and form at once",
        ['[units]\nmass = «"stones"»\nlength = «"metre"»\n«speed» = "km/h"'],
        [
            ('"stones" is no unit of mass: use kg, g, mg, lb, oz, st or t', ""),
            ('"metre" is no unit of length: use mm, cm, m, in or ft', ""),
            ('unknown key "speed" in units', "the keys here are length, mass, money, power, volume"),
        ],
    ),
]
# Names that only a rule set can declare, and values of a book's own facts.
BEFORE_A_BOOK: list[tuple[str, list[Edit], list[Said]]] = [
    (
        "a kind that nobody knows",
        [('"interior.floor.carpet"', '«"interior.flor.carpet"»')],
        [
            (
                'there is no kind "interior.flor.carpet"',
                'did you mean "interior.floor.carpet" or "interior.floor.boot-carpet"?',
            )
        ],
    ),
    (
        "a kind with nothing near",
        [('"interior.floor.carpet"', '«"zzz.qqq"»')],
        [('there is no kind "zzz.qqq"', "tarebook kinds lists them")],
    ),
    (
        "a kind by another word",
        [('"interior.floor.carpet"', '«"hood"»')],
        [('there is no kind "hood"', 'did you mean "body.bonnet"?')],
    ),
    (
        "an absent kind that nobody knows",
        [("model_year = 1994", 'absent = [«"climate.aircon"»]')],
        [('there is no kind "climate.aircon"', 'did you mean "climate.air-conditioning"?')],
    ),
    (
        "a place that nobody knows",
        [('scale = "bench"', 'scale = "bench"\nplace = «"boot"»')],
        [
            (
                'there is no kind "boot"',
                ('did you mean "body.boot-lid", "interior.trim.boot-lid" or "interior.floor.boot-carpet"?'),
            )
        ],
    ),
    (
        "a move to a place that nobody knows",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nmoves = { stock-seat = { place = «"attic"» } }')],
        [('there is no kind "attic"', 'did you mean "glass.plastic" or "brakes.anti-lock"?')],
    ),
    (
        "a finish of a kind that nobody knows",
        [('off = ["carpet"]', 'off = ["carpet"]\nfinishes = [{ area = «"interior.flor"», by = "painted" }]')],
        [('there is no kind "interior.flor"', 'did you mean "interior.floor" or "interior.mirror"?')],
    ),
    (
        "replacing a kind that nobody knows",
        [('replaces = "stock-seat"', 'replaces = «"interior.seet.front.driver"»')],
        [
            (
                '"interior.seet.front.driver" is neither a part of the ledger nor a kind',
                'did you mean "interior.seat.front.driver" or "safety.airbag.driver"?',
            )
        ],
    ),
    (
        "a fact that nobody knows",
        [("seats = 4", "«seets» = 4")],
        [('there is no fact "seets"', 'did you mean "seats"?')],
    ),
    (
        "a fact with nothing near",
        [("seats = 4", "«zzz» = 4")],
        [('there is no fact "zzz"', "tarebook facts lists them")],
    ),
    (
        "a fact that only a job sets",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nsets = { «tyre_lst» = "a" }')],
        [('there is no fact "tyre_lst"', 'did you mean "tyre_list"?')],
    ),
    (
        "a book's own fact with another choice",
        [("seats = 4", 'tyre_list = «"c"»')],
        [('tyre_list is one of "a", "b"', "that is how the rule set rules declares it")],
    ),
    (
        "a book's own fact set by a job",
        [('fit = ["light-seat"]', 'fit = ["light-seat"]\nsets = { tyre_list = «1» }')],
        [('tyre_list is one of "a", "b"', "that is how the rule set rules declares it")],
    ),
    (
        "four names at once",
        [
            ("model_year = 1994", 'present = [«"glass.moonroof"»]'),
            ("seats = 4", "«seets» = 4\n«dors» = 3"),
            ('"interior.floor.carpet"', '«"interior.floor.rugs"»'),
        ],
        [
            ('there is no kind "glass.moonroof"', 'did you mean "body.roof.sunroof" or "glass.door"?'),
            ('there is no fact "seets"', 'did you mean "seats"?'),
            ('there is no fact "dors"', 'did you mean "doors"?'),
            (
                'there is no kind "interior.floor.rugs"',
                'did you mean "interior.floor", "interior.floor.carpet" or "interior.floor.footrest"?',
            ),
        ],
    ),
]


def rows(table):
    return [pytest.param(edits, said, id=what.replace(" ", "-")) for what, edits, said in table]


def test_the_sound_file_is_sound():
    check(parse_car(CAR), parse_rules(RULES), on=DAY, build=["now", "planned", "winter"])


@pytest.mark.parametrize(("edits", "said"), rows(IN_THE_FILE))
def test_a_mistake_in_a_car_file(edits, said):
    spoiled = spoil(CAR, *edits)
    assert mistakes_of(lambda: parse_car(spoiled.text)) == expected(spoiled, said)


@pytest.mark.parametrize(("edits", "said"), rows(BEFORE_A_BOOK))
def test_a_mistake_that_only_the_rule_sets_can_tell(edits, said):
    spoiled = spoil(CAR, *edits)
    car = parse_car(spoiled.text)
    assert mistakes_of(lambda: check(car, parse_rules(RULES), on=DAY)) == expected(spoiled, said)
