"""Every mistake that a rule set can hold: one small edit of a sound one each, and what is said of it where.

Each entry: what is wrong, the edits with «marks» round what is complained of, and what is said of each mark.
"""

import pytest

from mistakes.files import RULES, Edit, Said, expected, mistakes_of, spoil
from tarebook.rules.reading import parse_rules

CASES: list[tuple[str, list[Edit], list[Said]]] = [
    (
        "a format of another sort",
        [('"tarebook-rules/1"', '«"tarebook-rules/2"»')],
        [('"tarebook-rules/1" is expected', "")],
    ),
    (
        "no book",
        [("[book]", "[«boook»]"), ("format =", "«f»ormat =")],
        [('the key "book" is missing', ""), ('unknown key "boook"', 'did you mean "book"?')],
    ),
    (
        "an unknown key of a book",
        [("silence =", '«silent» = "forbids"\nsilence =')],
        [('unknown key "silent" in book', 'did you mean "silence"?')],
    ),
    (
        "a missing edition",
        [("[book]", "[«book»]"), ('edition = "2027"\n', "")],
        [('the key "edition" is missing in book', "")],
    ),
    (
        "a year for an edition",
        [('"2027"', "«2027»")],
        [("a text in quotes is expected", "")],
    ),
    (
        "an unknown key of a rule",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\n«say» = "Glass may change."')],
        [('unknown key "say" in [[class.allow]]', 'did you mean "says"?')],
    ),
    (
        "the title of a rule",
        ['[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\n«title» = "Glass"'],
        [
            (
                'unknown key "title" in [[class.allow]]',
                ("the keys here are ask, clause, despite, does, finish, fixings, if, kinds, only, part, says"),
            )
        ],
    ),
    (
        "a rule in a table that is none",
        ['[[class.«alow»]]\nclause = "7.3"'],
        [('unknown key "alow" in [[class]]', 'did you mean "allow"?')],
    ),
    (
        "one allowance instead of a list",
        [("[[group.allow]]", "«[group.allow]»")],
        [("a list in [square brackets] is expected", "write [[group.allow]], as there may be several")],
    ),
    (
        "two books",
        [("[book]", "«[[book]]»")],
        [("a table is expected", "write [book], as there is only one")],
    ),
    (
        "a number for a clause",
        [('clause = "7.2"', "clause = «7.2»")],
        [('a clause is written in quotes, "7.2": without them 4.10 and 4.1 are the same number', "")],
    ),
    (
        "a clause that a number would shorten",
        [('clause = "7.2"', "clause = «4.10»")],
        [('a clause is written in quotes, "4.10": without them 4.10 and 4.1 are the same number', "")],
    ),
    (
        "a whole number for a clause",
        [('clause = "7.2"', "clause = «7»")],
        [('a clause is written in quotes, "7": without them 4.10 and 4.1 are the same number', "")],
    ),
    (
        "true for a clause",
        [('clause = "7.2"', "clause = «true»")],
        [("a text in quotes is expected", "")],
    ),
    (
        "a clause with words",
        [('clause = "7.2"', 'clause = «"see 7.2"»')],
        [(('"see 7.2" is not a clause: write letters and digits, levels parted by dots, such as "7.4.1"'), "")],
    ),
    (
        "a clause that ends in a dot",
        [('clause = "7.2"', 'clause = «"7.2."»')],
        [(('"7.2." is not a clause: write letters and digits, levels parted by dots, such as "7.4.1"'), "")],
    ),
    (
        "a clause in despite that is a number",
        ['[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\ndespite = [«7.2»]'],
        [('a clause is written in quotes, "7.2": without them 4.10 and 4.1 are the same number', "")],
    ),
    (
        "silence that says nothing",
        [('silence = "forbids"', 'silence = «"allows"»')],
        [('silence is "forbids" or "permits", or a table that names each action, not "allows"', "")],
    ),
    (
        "silence on some actions only",
        [
            (
                'silence = "forbids"',
                ('«silence» = { remove = "forbids", swap = "forbids", fit = "permits", lighten = "permits" }'),
            )
        ],
        [('the key "move" is missing in book.silence', "")],
    ),
    (
        "silence on an action that there is not",
        [
            (
                'silence = "forbids"',
                (
                    'silence = { remove = "forbids", swap = "forbids", fit = "forbids", lighten = "forbids", '
                    'move = "forbids", «paint» = "permits" }'
                ),
            )
        ],
        [('unknown key "paint" in book.silence', "the keys here are fit, lighten, move, remove, swap")],
    ),
    (
        "silence of an action that is neither",
        [
            (
                'silence = "forbids"',
                (
                    'silence = { remove = «"forbid"», swap = "forbids", fit = "forbids", lighten = '
                    '"forbids", move = "forbids" }'
                ),
            )
        ],
        [('one of "forbids", "permits" is expected', 'did you mean "forbids"?')],
    ),
    (
        "silence that is a number",
        [('silence = "forbids"', "silence = «0»")],
        [("a table is expected", "")],
    ),
    (
        "no actions",
        [('does = ["remove"]\n\n[[class]]', "does = «[]»\n\n[[class]]")],
        [("this may not be empty", "")],
    ),
    (
        "an action that there is not",
        [('does = ["remove"]\n\n[[class]]', 'does = [«"removes"»]\n\n[[class]]')],
        [('one of "remove", "swap", "fit", "lighten", "move" is expected', 'did you mean "remove" or "move"?')],
    ),
    (
        "one action without its list",
        [('does = ["remove"]\n\n[[class]]', 'does = «"remove"»\n\n[[class]]')],
        [('does is a list such as ["remove"], or "anything"', "")],
    ),
    (
        "no kinds",
        [('kinds = ["safety"]', "kinds = «[]»")],
        [("this may not be empty", "")],
    ),
    (
        "one kind without its list",
        [('kinds = ["safety"]', 'kinds = «"safety"»')],
        [("a list in [square brackets] is expected", "")],
    ),
    (
        "a question without words",
        ['[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\nask = «"  "»'],
        [("ask is a question for a person, and may not be empty", "")],
    ),
    (
        "a question that is yes or no",
        ['[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\nask = «true»'],
        [("a text in quotes is expected", "")],
    ),
    (
        "an ask that says nothing",
        ['[[class.ask]]\nclause = "7.9"\nsays = «""»'],
        [("this may not be empty", "")],
    ),
    (
        "an ask without words",
        ['[[class.«ask»]]\nclause = "7.9"'],
        [('the key "says" is missing in [[class.ask]]', "")],
    ),
    (
        "only, without anything that could fail",
        ['[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\nonly = «true»'],
        [("only has no effect here: it forbids where `if` or `part` fails, and there is neither", "")],
    ),
    (
        "the example of a book",
        ['[[example]]\ntitle = "A bare floor"\nclass = «"rode"»\nexpect = «"met"»'],
        [
            ('there is no class "rode"', 'did you mean "road"?'),
            (
                '"met" is the result of a clause, and none is named',
                'add clause = "...", or expect a verdict: eligible, not-eligible, too-close, undecided',
            ),
        ],
    ),
    (
        "an edition that ends before it begins",
        [("{ from = 2027-01-01 }", "«{ from = 2027-01-01, until = 2026-12-31 }»")],
        [("this edition ends before it begins", "")],
    ),
    (
        "in force from the start",
        [("{ from = 2027-01-01 }", '{ from = «"2027"» }')],
        [("a date such as 2026-04-05 is expected, without quotes", "")],
    ),
    (
        "a fact with a capital",
        ['[[fact]]\nid = «"Tyres"»\ntype = "text"\ntitle = "Tyres"'],
        [('"Tyres" is not a fact name: use lower-case letters, digits and underscores', "")],
    ),
    (
        "a fact called as a word of conditions",
        ['[[fact]]\nid = «"fitted"»\ntype = "text"\ntitle = "Fitted"'],
        [('"fitted" is a word of conditions: choose another name', "")],
    ),
    (
        "a fact of the dictionary",
        ['[[fact]]\nid = «"seats"»\ntype = "count"\ntitle = "Seats"'],
        [('there is a fact "seats" already, in the dictionary', "")],
    ),
    (
        "a fact twice",
        ['[[fact]]\nid = «"tyre_list"»\ntype = "text"\ntitle = "Tyres"'],
        [('there is a fact "tyre_list" already, in this file', "")],
    ),
    (
        "a type that there is not",
        ['[[fact]]\nid = "tyres"\ntype = «"yes/no"»\ntitle = "Tyres"'],
        [
            (
                (
                    'one of "yes-no", "number", "count", "choice", "text", "mass", "length", "volume", '
                    '"power", "money", "date" is expected'
                ),
                'did you mean "yes-no"?',
            )
        ],
    ),
    (
        "a choice of one",
        ['«[[fact]]»\nid = "tyres"\ntype = "choice"\nchoices = ["a"]\ntitle = "Tyres"'],
        [('the fact "tyres" is a choice: list its choices', 'choices = ["a", "b"]')],
    ),
    (
        "choices of a text",
        ['[[fact]]\nid = "tyres"\ntype = "text"\n«choices» = ["a", "b"]\ntitle = "Tyres"'],
        [('the fact "tyres" is of type text, so it has no choices', "")],
    ),
    (
        "a choice listed twice",
        ['[[fact]]\nid = "tyres"\ntype = "choice"\nchoices = ["a", "b", «"a"»]\ntitle = "Tyres"'],
        [('the choice "a" is listed twice', "")],
    ),
    (
        "a default that is no choice",
        [('[[fact]]\nid = "tyres"\ntype = "choice"\nchoices = ["a", "b"]\ntitle = "Tyres"\ndefault = «"c"»')],
        [('tyres is one of "a", "b"', "")],
    ),
    (
        "a default of another type",
        ['[[fact]]\nid = "laps"\ntype = "count"\ntitle = "Laps"\ndefault = «2.5»'],
        [("laps is a whole number", "")],
    ),
    (
        "a default without a unit",
        ['[[fact]]\nid = "fee"\ntype = "money"\ntitle = "Fee"\ndefault = «25»'],
        [("fee: an amount of money needs its unit, in quotes, as [units] names no currency", "")],
    ),
    (
        "an own kind without a branch",
        ['[[kind]]\nid = «"clock"»\ntitle = "Clock"\nfrom_factory = "never"'],
        [('the kind "clock" needs a branch above it: put it under one, such as "interior.clock"', "")],
    ),
    (
        "an own kind without a title",
        ['[[«kind»]]\nid = "interior.clock"\nfrom_factory = "never"'],
        [('the key "title" is missing in [[kind]]', "")],
    ),
    (
        "a unit misspelt",
        ['[units]\npower = «"kw"»'],
        [('"kw" is no unit of power: did you mean "kW"?', "")],
    ),
    (
        "two classes of one name",
        ['[[class]]\nid = «"road"»\ntitle = "Road"'],
        [('the class "road" is written twice, first on line 25', "")],
    ),
    (
        "two groups of one name",
        ['[[group]]\nid = «"cabin"»'],
        [('the group "cabin" is written twice, first on line 17', "")],
    ),
    (
        "a class that is like one that there is not",
        [('uses = ["cabin"]', 'uses = ["cabin"]\nlike = «"raod"»')],
        [('there is no class "raod"', 'did you mean "road"?')],
    ),
    (
        "a class that is like itself",
        [('uses = ["cabin"]', 'uses = ["cabin"]\nlike = «"road"»')],
        [('these classes are like one another in a circle: "road" is like "road"', "")],
    ),
    (
        "classes like one another",
        [('uses = ["cabin"]', 'like = «"track"»'), '[[class]]\nid = "track"\ntitle = "Track"\nlike = "road"'],
        [('these classes are like one another in a circle: "road" is like "track" is like "road"', "")],
    ),
    (
        "a group that there is not",
        [('uses = ["cabin"]', 'uses = ["cabin", «"cabins"»]')],
        [('there is no group "cabins"', 'did you mean "cabin"?')],
    ),
    (
        "a group twice",
        [('uses = ["cabin"]', 'uses = ["cabin", «"cabin"»]')],
        [('the group "cabin" is used twice', "")],
    ),
    (
        "a group that is everywhere",
        [('id = "cabin"', 'id = "cabin"\neverywhere = true'), ('uses = ["cabin"]', 'uses = [«"cabin"»]')],
        [('the group "cabin" is everywhere, so it need not be used', "")],
    ),
    (
        "dropping a clause that there is not",
        [('uses = ["cabin"]', 'uses = ["cabin"]\ndrops = [«"5.11"»]')],
        [('there is no clause "5.11"', 'did you mean "5.1"?')],
    ),
    (
        "despite a clause that there is not",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\ndespite = [«"7.22"»]')],
        [('there is no clause "7.22"', 'did you mean "7.2"?')],
    ),
    (
        "clauses that beat one another",
        [
            ('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\ndespite = «["7.4"]»'),
            '[[class.ban]]\nclause = "7.4"\nkinds = ["glass"]\ndoes = ["swap"]\ndespite = ["7.3"]',
        ],
        [("these clauses beat one another in a circle: 7.3 despite 7.4 despite 7.3", "")],
    ),
    (
        "a kind that there is not",
        [('kinds = ["safety"]', 'kinds = ["safety", «"safty.cage"»]')],
        [('there is no kind "safty.cage"', 'did you mean "safety.cage"?')],
    ),
    (
        "a kind with nothing near",
        [('kinds = ["safety"]', 'kinds = [«"zzz.qqq"»]')],
        [('there is no kind "zzz.qqq"', "tarebook kinds lists them")],
    ),
    (
        "a place that there is not",
        [
            (
                '[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\n'
                'does = ["swap"]\n'
                'part = { place = ["interior.floor", «"interior.flor"»] }'
            )
        ],
        [('there is no kind "interior.flor"', 'did you mean "interior.floor" or "interior.mirror"?')],
    ),
    (
        "one place that there is not",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { place = «"interior.flor"» }')],
        [('there is no kind "interior.flor"', 'did you mean "interior.floor" or "interior.mirror"?')],
    ),
    (
        "an area that there is not",
        [('[[class.finish]]\nid = "bare"\nclause = "7.6"\narea = «"interior.flor"»\nby = ["painted"]')],
        [('there is no kind "interior.flor"', 'did you mean "interior.floor" or "interior.mirror"?')],
    ),
    (
        "an unknown key of the weight",
        [('driver = "out"', 'driver = "out"\n«minumum» = "800 kg"')],
        [('unknown key "minumum" in class.weight', 'did you mean "minimum" or "maximum"?')],
    ),
    (
        "an own kind that is there already",
        ['[[kind]]\nid = «"stowage.jack"»\ntitle = "Jack"\nfrom_factory = "always"'],
        [('the kind "stowage.jack" is already there: choose another name', "")],
    ),
    (
        "a unit of something else",
        ['[units]\nlength = «"kg"»'],
        [("a length is expected, but kg is a mass", "")],
    ),
    (
        "a class without a title",
        ['[[«class»]]\nid = "open"'],
        [('the key "title" is missing in [[class]]', "")],
    ),
    (
        "a class called by a title",
        ['[[class]]\nid = «"Street Trim"»\ntitle = "Street trim"'],
        [('"Street Trim" is not a name: use lower-case letters, digits, hyphens and underscores', "")],
    ),
    (
        "everywhere in words",
        [('id = "cabin"', 'id = "cabin"\neverywhere = «"yes"»')],
        [("true or false is expected", "")],
    ),
    (
        "a bulletin",
        [('format = "tarebook-rules/1"', 'format = «"tarebook-bulletin/1"»')],
        [('"tarebook-rules/1" is expected', "")],
    ),
    (
        "a finish in no way",
        ['[[class.finish]]\nid = "bare"\nclause = "7.6"\narea = "interior.floor"\nby = «[]»'],
        [("this may not be empty", "")],
    ),
    (
        "a finish that there is not",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\nfinish = [«"bare-flor"»]')],
        [('there is no finish "bare-flor" in class "road"', "write it as [[class.finish]] or [[group.finish]]")],
    ),
    (
        "a finish misspelt",
        [
            ('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\nfinish = [«"bare-flor"»]'),
            ('[[class.finish]]\nid = "bare-floor"\nclause = "7.6"\narea = "interior.floor"\nby = ["painted"]'),
        ],
        [('there is no finish "bare-flor" in class "road"', 'did you mean "bare-floor"?')],
    ),
    (
        "two finishes of one name",
        [
            (
                '[[class.finish]]\nid = "bare"\nclause = "7.6"\n'
                'area = "interior.floor"\nby = ["painted"]\n'
                '[[class.finish]]\nid = «"bare"»\nclause = "7.7"\n'
                'area = "interior.floor"\nby = ["covered"]'
            )
        ],
        [('class "road" has two finishes with the id "bare"', "")],
    ),
    (
        "more needed than listed",
        ['[[class.need]]\nclause = "7.5"\nkinds = ["safety.cage"]\nat_least = «2»'],
        [("at_least asks for 2 of 1: list more kinds, or ask for fewer", "")],
    ),
    (
        "none needed",
        ['[[class.need]]\nclause = "7.5"\nkinds = ["safety.cage"]\nat_least = «0»'],
        [("this number must be at least 1", "")],
    ),
    (
        "does in a need",
        ['[[class.need]]\nclause = "7.5"\nkinds = ["safety.cage"]\n«does» = ["fit"]'],
        [
            (
                'unknown key "does" in [[class.need]]',
                "the keys here are at_least, clause, despite, if, kinds, part, says, whole",
            )
        ],
    ),
    (
        "a figure that cannot be counted",
        ['[[class.counts]]\nclause = "2.4"\nfact = «"gearbox"»\ntimes = 1.7'],
        [("gearbox has no size, so it cannot count as more or less", "")],
    ),
    (
        "a figure that there is not",
        ['[[class.counts]]\nclause = "2.4"\nfact = «"displacment"»\ntimes = 1.7'],
        [('there is no fact "displacment"', 'did you mean "displacement"?')],
    ),
    (
        "a figure counted as nothing",
        ['[[class.counts]]\nclause = "2.4"\nfact = "displacement"\ntimes = «0»'],
        [("a factor is more than zero", "")],
    ),
    (
        "a figure counted in quotes",
        ['[[class.counts]]\nclause = "2.4"\nfact = "displacement"\ntimes = «"1.7"»'],
        [("a plain number is expected here, without quotes and unit", "")],
    ),
    (
        "a range of masses that is one mass",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { weighs = «"5 kg"» }')],
        [("a table is expected", "")],
    ),
    (
        "a range of masses in millimetres",
        [
            (
                '[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\n'
                'does = ["swap"]\npart = { weighs = { least = «"5 mm"» } }'
            )
        ],
        [("a mass is expected, but mm is a length", "")],
    ),
    (
        "an unknown bound on a part",
        [
            (
                '[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\n'
                'does = ["swap"]\npart = { weighs = { «min» = "5 kg" } }'
            )
        ],
        [('unknown key "min" in class.allow.part.weighs', "the keys here are least, most, over, under, up_to")],
    ),
    (
        "a share in percent",
        [
            (
                '[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\n'
                'does = ["swap"]\n'
                'part = { share_of_original = { least = «"50%"» } }'
            )
        ],
        [("a plain number is expected here, without quotes and unit", "")],
    ),
    (
        "a material without its list",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { material = «"steel"» }')],
        [('material is a list such as ["steel"], or "as-original"', "")],
    ),
    (
        "a material that is a number",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { material = «7» }')],
        [('material is a list such as ["steel"], or "as-original"', "")],
    ),
    (
        "years of something else",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { years = «"any"» }')],
        [('"model_year" is expected', "")],
    ),
    (
        "a part behind something else",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { behind = «"engine"» }')],
        [('"driver" is expected', "")],
    ),
    (
        "a part of an unknown property",
        [('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\npart = { «colour» = "red" }')],
        [
            (
                'unknown key "colour" in class.allow.part',
                (
                    "the keys here are approval, at, behind, material, material_not, origin, place, "
                    "share_of_original, share_removed, thickness, weighs, weight_removed, within, years"
                ),
            )
        ],
    ),
    (
        "the driver nowhere",
        [('driver = "out"', 'driver = «"in"»')],
        [('one of "aboard", "out" is expected', "")],
    ),
    (
        "a class that says nothing of the driver",
        [('driver = "out"\n', ""), ("[class.weight]", "«[class.weight]»")],
        [('class "road" does not say whether the driver is weighed', 'add driver = "aboard" or driver = "out"')],
    ),
    (
        "a limit without a clause",
        [('clause = "7.1"\n', ""), ('minimum = "900 kg"', 'minimum = «"900 kg"»')],
        [('class "road" states this without a clause', 'add clause = "..." to its weight')],
    ),
    (
        "a driver out who counts",
        [('driver = "out"', 'driver = "out"\ndriver_counts_as = «"75 kg"»')],
        [("a driver who is out of the car counts as nothing", "")],
    ),
    (
        "a driver out by another class, who counts in this one",
        [
            (
                '[[class]]\nid = "van"\ntitle = "Van"\nlike = "road"\n'
                '[class.weight]\nclause = "8.1"\ndriver_counts_as = «"75 kg"»'
            )
        ],
        [('in class "van" the driver is out, so counts as nothing', "")],
    ),
    (
        "fuel as in no tank",
        [('driver = "out"', 'driver = "out"\nfuel = «"some"»')],
        [(('"some" is not an amount of fuel: write a volume such as "12 L", or "full" or "empty" or "as-raced"'), "")],
    ),
    (
        "fuel that is a mass",
        [('driver = "out"', 'driver = "out"\nfuel = «"10 kg"»')],
        [("a volume is expected, but kg is a mass", "")],
    ),
    (
        "without a kind that there is not",
        [('driver = "out"', 'driver = "out"\nwithout = [«"stowage.spare-weel"»]')],
        [
            (
                'there is no kind "stowage.spare-weel"',
                'did you mean "stowage.spare-wheel" or "stowage.spare-wheel-clamp"?',
            )
        ],
    ),
    (
        "ballast that is not allowed, in places",
        [('driver = "out"', 'driver = "out"\nballast = «{ allowed = false, most = "40 kg" }»')],
        [("ballast that is not allowed has no places and no most", "")],
    ),
    (
        "ballast, allowed or not unknown",
        [('driver = "out"', 'driver = "out"\n«ballast» = { most = "40 kg" }')],
        [('the key "allowed" is missing in class.weight.ballast', "")],
    ),
    (
        "ballast in a place that there is not",
        [('driver = "out"', 'driver = "out"\nballast = { allowed = true, places = [«"boot-floor"»] }')],
        [
            (
                'there is no kind "boot-floor"',
                'did you mean "interior.floor.boot-board" or "interior.floor.boot-carpet"?',
            )
        ],
    ),
    (
        "an axle limit of nothing",
        [('driver = "out"', 'driver = "out"\nfront_axle = «{}»')],
        [("an axle limit states least or most", "")],
    ),
    (
        "an axle limit that is a mass",
        [('driver = "out"', 'driver = "out"\nfront_axle = «"500 kg"»')],
        [("a table is expected", "")],
    ),
    (
        "a limit of two forms",
        [('"900 kg"', '«{ axles = true, fact = "kerb_mass" }»')],
        [
            (
                (
                    "a limit is an amount, or one table of these: by with over_up_to, by with cases, per "
                    "with rate, fact with times or plus, axles"
                ),
                "",
            )
        ],
    ),
    (
        "a limit of no form",
        [('"900 kg"', "«{}»")],
        [
            (
                (
                    "a limit is an amount, or one table of these: by with over_up_to, by with cases, per "
                    "with rate, fact with times or plus, axles"
                ),
                "",
            )
        ],
    ),
    (
        "an amount with a least",
        [('"900 kg"', '{ amount = "900 kg", least = «"800 kg"» }')],
        [("an amount that is the same for every car needs no least", "")],
    ),
    (
        "axles that are false",
        [('"900 kg"', "{ axles = «false» }")],
        [("true is expected", "")],
    ),
    (
        "a limit by bands with a rate",
        [('"900 kg"', '{ by = "displacement", over_up_to = [["0 L", "2 L", "900 kg"]], rate = «"11 kg/kW"» }')],
        [('"rate" does not go with "over_up_to" in a limit', "")],
    ),
    (
        "bands of nothing named",
        [('"900 kg"', '«{ over_up_to = [["0 L", "2 L", "900 kg"]] }»')],
        [('a limit by bands names its fact: by = "..."', "")],
    ),
    (
        "cases of nothing named",
        [('"900 kg"', '«{ cases = { front = "900 kg" } }»')],
        [('a limit by cases names its fact: by = "..."', "")],
    ),
    (
        "a rate per something without size",
        [('"900 kg"', '{ per = «"gearbox"», rate = "11 kg/kW" }')],
        [('gearbox is neither a power nor a volume: per takes one, such as per = "power"', "")],
    ),
    (
        "a rate per a fact that there is not",
        [('"900 kg"', '{ per = «"powr"», rate = "11 kg/kW" }')],
        [('there is no fact "powr"', 'did you mean "power"?')],
    ),
    (
        "a rate without its unit",
        [('"900 kg"', '{ per = "power", rate = «11» }')],
        [("a mass per power needs its unit, in quotes", "")],
    ),
    (
        "a rate of another measure",
        [('"900 kg"', '{ per = "power", rate = «"11 kg/L"» }')],
        [("a mass per power is expected, but kg/L is a mass per volume", "")],
    ),
    (
        "no rate at all",
        [('"900 kg"', '«{ per = "power" }»')],
        [('a limit per something names its rate: rate = "..."', "")],
    ),
    (
        "a share of what is no mass",
        [('"900 kg"', '{ fact = «"power"», times = 0.95 }')],
        [('power is not a mass: fact takes a mass, such as "kerb_mass"', "")],
    ),
    (
        "a share of a fact that there is not",
        [('"900 kg"', '{ fact = «"curb_mass"», times = 0.95 }')],
        [('there is no fact "curb_mass"', 'did you mean "kerb_mass"?')],
    ),
    (
        "a share below zero",
        [('"900 kg"', '{ fact = "kerb_mass", times = «-1» }')],
        [("times is zero or more", "")],
    ),
    (
        "bands of what has no size",
        [('"900 kg"', '{ by = «"gearbox"», over_up_to = [["0 L", "2 L", "900 kg"]] }')],
        [("gearbox has no size, so it cannot be banded: use cases", "")],
    ),
    (
        "bands of a fact that there is not",
        [('"900 kg"', '{ by = «"displacment"», over_up_to = [["0 L", "2 L", "900 kg"]] }')],
        [('there is no fact "displacment"', 'did you mean "displacement"?')],
    ),
    (
        "no bands",
        [('"900 kg"', '{ by = "displacement", over_up_to = «[]» }')],
        [("over_up_to lists no band", "")],
    ),
    (
        "a band of one figure",
        [('"900 kg"', '{ by = "displacement", over_up_to = [«["900 kg"]»] }')],
        [("a band is [over, up to, mass]; the last may be [over, mass]", "")],
    ),
    (
        "a first band without an upper end",
        [('"900 kg"', '{ by = "displacement", over_up_to = [«["0 L", "900 kg"]», ["2 L", "950 kg"]] }')],
        [("a band is [over, up to, mass]; the last may be [over, mass]", "")],
    ),
    (
        "a band with a bad figure",
        [('"900 kg"', '{ by = "displacement", over_up_to = [["0 L", «"2 kg"», "900 kg"]] }')],
        [("displacement: a volume is expected, but kg is a mass", "")],
    ),
    (
        "a band with a bad mass",
        [('"900 kg"', '{ by = "displacement", over_up_to = [["0 L", "2 L", «"900"»]] }')],
        [('a unit is expected after the number: write "900 kg", for example', "")],
    ),
    (
        "a band that ends before it begins",
        [('"900 kg"', '{ by = "displacement", over_up_to = [«["2 L", "1 L", "900 kg"]»] }')],
        [("this band ends where it begins or before: write [over, up to, mass]", "")],
    ),
    (
        "bands that overlap",
        [('"900 kg"', ('{ by = "displacement", over_up_to = [["0 L", "2 L", "900 kg"], «["1.9 L", "950 kg"]»] }'))],
        [("this band overlaps another one", "")],
    ),
    (
        "cases of a fact that there is not",
        [('"900 kg"', '{ by = «"drive"», cases = { front = "900 kg" } }')],
        [('there is no fact "drive"', 'did you mean "final_drive" or "driven_wheels"?')],
    ),
    (
        "two cases that cannot be",
        [
            (
                '"900 kg"',
                ('{ by = "driven_wheels", cases = { front = "900 kg", «rare» = "950 kg", «none» = "800 kg" } }'),
            )
        ],
        [
            ('driven_wheels is one of "front", "rear", "all"', ""),
            ('driven_wheels is one of "front", "rear", "all"', ""),
        ],
    ),
    (
        "a case stated twice",
        [('"900 kg"', '{ by = "cylinders", cases = { 4 = "900 kg", «04» = "950 kg" } }')],
        [("this case is written twice", "")],
    ),
    (
        "a case of yes",
        [('"900 kg"', '{ by = "insured", cases = { «yes» = "900 kg" } }')],
        [("insured is true or false", "")],
    ),
    (
        "a case without a mass",
        [('"900 kg"', '{ by = "driven_wheels", cases = { front = «"light"» } }')],
        [('a mass is expected, such as "12.5 kg", not "light"', "")],
    ),
    (
        "an axle limit that is a sum",
        [('driver = "out"', 'driver = "out"\nfront_axle = { least = «{ axles = true }» }')],
        [("the sum of the axle limits cannot be an axle limit", "")],
    ),
    (
        "a sum of axle limits that are not there",
        [('"900 kg"', "««{ axles = true }»»")],
        [
            ('in class "road" there is no front_axle with least to add up', ""),
            ('in class "road" there is no rear_axle with least to add up', ""),
        ],
    ),
    (
        "an adjustment of nothing",
        [('driver = "out"', 'driver = "out"\nadjust = [«{ if = { seats = 2 } }»]')],
        [('the key "add" is missing in [[class.weight.adjust]]', "")],
    ),
    (
        "an adjustment by a length",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = «"25 mm"» }]')],
        [("a mass is expected, but mm is a length", "")],
    ),
    (
        "an adjustment by a rate in nothing known",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = «"1 kg/m"» }]')],
        [("a power is expected, but m is a length", "")],
    ),
    (
        "an adjustment of a rate that there is not",
        [('driver = "out"', 'driver = "out"\nadjust = [«{ add = "0.5 kg/kW" }»]')],
        [('in class "road" the minimum has no such rate to change', "")],
    ),
    (
        "an adjustment by a fact that there is not",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = { fact = «"sucess_mass"» } }]')],
        [('there is no fact "sucess_mass"', 'did you mean "success_mass"?')],
    ),
    (
        "an adjustment by what is no mass",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = { fact = «"seats"» } }]')],
        [("seats is not a mass, so it cannot be added to a limit", "")],
    ),
    (
        "an adjustment by a fact and something unknown",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = { fact = "success_mass", «least» = "5 kg" } }]')],
        [('unknown key "least" in class.weight.adjust.add', "the keys here are amount, fact, most")],
    ),
    (
        "an adjustment of an empty table",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = «{}» }]')],
        [('add is an amount, or names a fact: add = { fact = "success_mass" }', "")],
    ),
    (
        "an adjustment by an amount and a fact",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = «{ amount = "5 kg", fact = "success_mass" }» }]')],
        [('add is an amount, or names a fact: add = { fact = "success_mass" }', "")],
    ),
    (
        "an adjustment by an amount with a cap",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = { amount = "5 kg", «most» = "4 kg" } }]')],
        [("most caps what a fact adds; an amount needs none", "")],
    ),
    (
        "an adjustment of an axle by a rate that it has not",
        [
            (
                'driver = "out"',
                (
                    'driver = "out"\nfront_axle = { least = "400 kg" }\n'
                    'adjust = [«{ add = "5 kg/L", of = "front_axle" }»]'
                ),
            )
        ],
        [('in class "road" the front_axle has no such rate to change', "")],
    ),
    (
        "an adjustment of a limit that there is not",
        [('driver = "out"', 'driver = "out"\nadjust = [«{ add = "5 kg", of = "maximum" }»]')],
        [('in class "road" there is no maximum to adjust', "")],
    ),
    (
        "an adjustment of an axle without a least",
        [
            (
                'driver = "out"',
                ('driver = "out"\nfront_axle = { most = "500 kg" }\nadjust = [«{ add = "5 kg", of = "front_axle" }»]'),
            )
        ],
        [('in class "road" the front_axle has no least to adjust', "")],
    ),
    (
        "an adjustment of something else",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = "5 kg", of = «"ballast"» }]')],
        [('one of "minimum", "maximum", "front_axle", "rear_axle" is expected', "")],
    ),
    (
        "an adjustment with a bad condition",
        [('driver = "out"', 'driver = "out"\nadjust = [{ add = "5 kg", if = { «gearbx» = "manual" } }]')],
        [('there is no fact "gearbx"', 'did you mean "gearbox" or "gears"?')],
    ),
    (
        "a further limit of nothing",
        ['«[[class.limit]]»\nclause = "7.8"\ndriver = "out"'],
        [("a limit states minimum, maximum, front_axle or rear_axle", "")],
    ),
    (
        "a further limit without a clause",
        ['[[class.«limit»]]\ndriver = "out"\nminimum = "1 t"'],
        [('the key "clause" is missing in [[class.limit]]', "")],
    ),
    (
        "a further limit that says nothing of the driver",
        [('[[class]]\nid = "van"\ntitle = "Van"\n«[[class.limit]]»\nclause = "8.1"\nminimum = "1 t"')],
        [('in class "van" it is not said whether the driver is weighed', 'add driver = "aboard" or driver = "out"')],
    ),
    (
        "what came off, weighed with a driver",
        [('[[class.limit]]\nclause = "7.8"\ntaken_off = ["interior"]\nmaximum = "45 kg"\n«driver» = "out"')],
        [('"driver" does not go with taken_off: nothing is put on a scale', "")],
    ),
    (
        "what came off from nowhere",
        ['[[class.limit]]\nclause = "7.8"\ntaken_off = [«"cabin"»]\nmaximum = "45 kg"'],
        [('there is no kind "cabin"', 'did you mean "interior" or "electrical.loom.cabin"?')],
    ),
    (
        "a fact that there is not",
        ['[[class.enter]]\nclause = "7.0"\nmust = { «seets» = 4 }'],
        [('there is no fact "seets"', 'did you mean "seats"?')],
    ),
    (
        "a fact with nothing near",
        ['[[class.enter]]\nclause = "7.0"\nmust = { «zzz» = 4 }'],
        [('there is no fact "zzz"', "tarebook facts lists them; a book may declare its own with [[fact]]")],
    ),
    (
        "a choice that there is not",
        ['[[class.enter]]\nclause = "7.0"\nmust = { driven_wheels = «"rare"» }'],
        [('driven_wheels is one of "front", "rear", "all"', "")],
    ),
    (
        "a choice that there is not, in a list",
        ['[[class.enter]]\nclause = "7.0"\nmust = { driven_wheels = ["front", «"four"»] }'],
        [('driven_wheels is one of "front", "rear", "all"', "")],
    ),
    (
        "an empty list of values",
        ['[[class.enter]]\nclause = "7.0"\nmust = { driven_wheels = «[]» }'],
        [("driven_wheels is compared with an empty list", "")],
    ),
    (
        "a number in quotes",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = «"4"» }'],
        [("seats is a plain number, without quotes and unit", "")],
    ),
    (
        "bounds on a choice",
        ['[[class.enter]]\nclause = "7.0"\nmust = { gearbox = «{ least = 4 }» }'],
        [("gearbox has no size: compare it with a value or a list of values", "")],
    ),
    (
        "bounds that say nothing",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = «{}» }'],
        [("bounds on seats are missing: least, most, over, under, up_to", "")],
    ),
    (
        "a bound that there is not",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = { «at_least» = 4 } }'],
        [('unknown bound "at_least" on seats', 'did you mean "least"?')],
    ),
    (
        "a bound with a bad unit",
        [('[[class.enter]]\nclause = "7.0"\nmust = { displacement = { over = "0 L", up_to = «"1600 c3"» } }')],
        [('displacement: "c3" is no unit of volume: did you mean "cm3"?', "")],
    ),
    (
        "a bound that is yes or no",
        ['[[class.enter]]\nclause = "7.0"\nmust = { insured = «{ least = true }» }'],
        [("insured has no size: compare it with a value or a list of values", "")],
    ),
    (
        "a bound on a date that is none",
        ['[[class.enter]]\nclause = "7.0"\nmust = { first_registered = { least = «1990» } }'],
        [("first_registered is a date such as 1996-05-31, without quotes", "")],
    ),
    (
        "an age and a bound",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                "must = { first_registered = «{ age = { over = 25 }, least = 1990-01-01 }» }"
            )
        ],
        [("age stands alone: write a second entry under all = [..] for another bound", "")],
    ),
    (
        "an age that is a number",
        ['[[class.enter]]\nclause = "7.0"\nmust = { first_registered = { age = «25» } }'],
        [("age holds bounds in years, such as { over = 25 }", "")],
    ),
    (
        "an age in words",
        [('[[class.enter]]\nclause = "7.0"\nmust = { first_registered = { age = { over = «"25 years"» } } }')],
        [("first_registered.age is a plain number, without quotes and unit", "")],
    ),
    (
        "an age of what is no date",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = { «age» = { over = 25 } } }'],
        [('unknown bound "age" on seats', "bounds are least, most, over, under, up_to")],
    ),
    (
        "an age misspelt",
        [('[[class.enter]]\nclause = "7.0"\nmust = { first_registered = { «aged» = { over = 25 } } }')],
        [('unknown bound "aged" on first_registered', 'did you mean "age"?')],
    ),
    (
        "an age bounded by another figure",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                'must = { first_registered = { age = { over = «{ as_made = "seats" }» } } }'
            )
        ],
        [("an age is bounded by a plain number of years", "")],
    ),
    (
        "bounds that nothing can meet",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = «{ least = 5, most = 4 }» }'],
        [("no seats can lie within these bounds", "")],
    ),
    (
        "bounds that nothing can meet, by their ends",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = «{ over = 4, most = 4 }» }'],
        [("no seats can lie within these bounds", "")],
    ),
    (
        "a bound by a fact that there is not",
        [('[[class.enter]]\nclause = "7.0"\nmust = { track_front = { most = { as_made = «"track_frnt"» } } }')],
        [('there is no fact "track_frnt"', 'did you mean "track_front"?')],
    ),
    (
        "a bound by another measure",
        [('[[class.enter]]\nclause = "7.0"\nmust = { track_front = { most = { as_made = «"kerb_mass"» } } }')],
        [("track_front cannot be bounded by kerb_mass: they are not of one measure", "")],
    ),
    (
        "a bound by a date",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                'must = { first_registered = { least = { as_made = «"production_from"» } } }'
            )
        ],
        [("first_registered cannot be bounded by production_from: they are not of one measure", "")],
    ),
    (
        "a bound that names no fact",
        [('[[class.enter]]\nclause = "7.0"\nmust = { track_front = { most = «{ plus = "25 mm" }» } }')],
        [('a bound that is a table names a fact, such as { as_made = "track_front" }', "")],
    ),
    (
        "a bound with an unknown key",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                'must = { track_front = { most = { as_made = "track_front", «pluss» = "25 mm" } } }'
            )
        ],
        [('unknown key "pluss" in a bound', 'did you mean "plus"?')],
    ),
    (
        "a bound plus another measure",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                'must = { track_front = { most = { as_made = "track_front", plus = «"25 kg"» } } }'
            )
        ],
        [("a length is expected, but kg is a mass", "")],
    ),
    (
        "a bound plus a text",
        [('[[class.enter]]\nclause = "7.0"\nmust = { seats = { most = { as_made = "seats", plus = «"two"» } } }')],
        [("plus is a plain number here", "")],
    ),
    (
        "a bound by a number",
        ['[[class.enter]]\nclause = "7.0"\nmust = { seats = { most = { as_made = «4» } } }'],
        [("a fact is named by a text in quotes", "")],
    ),
    (
        "any of no list",
        ['[[class.enter]]\nclause = "7.0"\nmust = { any = «{ seats = 4 }» }'],
        [("any holds a list of tables, such as any = [{ seats = 4 }, { doors = 5 }]", "")],
    ),
    (
        "any of nothing",
        ['[[class.enter]]\nclause = "7.0"\nmust = { any = «[]» }'],
        [("any holds a list of tables, such as any = [{ seats = 4 }, { doors = 5 }]", "")],
    ),
    (
        "all of what are no tables",
        ['[[class.enter]]\nclause = "7.0"\nmust = { all = «["seats"]» }'],
        [("all holds a list of tables, such as all = [{ seats = 4 }, { doors = 5 }]", "")],
    ),
    (
        "not of a list",
        ['[[class.enter]]\nclause = "7.0"\nmust = { not = «[{ seats = 4 }]» }'],
        [("not holds a table, such as not = { seats = 4 }", "")],
    ),
    (
        "as_made of a kind that came off",
        ['[[class.enter]]\nclause = "7.0"\nmust = { as_made = «{ removed = "interior" }» }'],
        [("as_made reads facts only: fitted, removed and the like belong outside it", "")],
    ),
    (
        "fitted nothing",
        ['[[class.enter]]\nclause = "7.0"\nmust = { fitted = «[]» }'],
        [("fitted names no kind", "")],
    ),
    (
        "fitted a number",
        ['[[class.enter]]\nclause = "7.0"\nmust = { fitted = «7» }'],
        [("a kind is a text in quotes", "")],
    ),
    (
        "fitted a kind that there is not",
        ['[[class.enter]]\nclause = "7.0"\nmust = { fitted = «"safty.cage"» }'],
        [('there is no kind "safty.cage"', 'did you mean "safety.cage"?')],
    ),
    (
        "removed kinds that there are not",
        ['[[class.enter]]\nclause = "7.0"\nmust = { removed = ["interior", «"intrior.floor"»] }'],
        [('there is no kind "intrior.floor"', 'did you mean "interior.floor" or "interior.floor.carpet"?')],
    ),
    (
        "a condition of nothing",
        ['[[class.enter]]\nclause = "7.0"\nmust = «{}»'],
        [("this condition says nothing", "name a fact, such as { seats = 4 }, or take it out")],
    ),
    (
        "a not of nothing",
        ['[[class.enter]]\nclause = "7.0"\nmust = { not = «{}» }'],
        [("this condition says nothing", "name a fact, such as { seats = 4 }, or take it out")],
    ),
    (
        "a condition that is a text",
        ['[[class.enter]]\nclause = "7.0"\nmust = «"seats = 4"»'],
        [("a table is expected", "")],
    ),
    (
        "no must",
        ['[[class.«enter»]]\nclause = "7.0"'],
        [('the key "must" is missing in [[class.enter]]', "")],
    ),
    (
        "deep down",
        [('[[class.enter]]\nclause = "7.0"\nmust = { any = [{ all = [{ not = { «dors» = 3 } }] }, { seats = 4 }] }')],
        [('there is no fact "dors"', 'did you mean "doors"?')],
    ),
    (
        "money in two currencies",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                'must = { all = [{ price_new = { most = "9000 EUR" } }, { price_new = { least = «"100 '
                'GBP"» } }] }'
            )
        ],
        [("price_new is compared in EUR elsewhere: keep to one currency", "")],
    ),
    (
        "five mistakes of form",
        [
            ('"2027"', "«2027»"),
            ('silence = "forbids"', 'silence = «"no"»'),
            ('type = "choice"', 'type = «"choise"»'),
            ('clause = "5.1"', "clause = «5.1»"),
            ('does = ["remove"]\n\n[[class]]', 'does = «"remove"»\n\n[[class]]'),
        ],
        [
            ("a text in quotes is expected", ""),
            ('silence is "forbids" or "permits", or a table that names each action, not "no"', ""),
            (
                (
                    'one of "yes-no", "number", "count", "choice", "text", "mass", "length", "volume", '
                    '"power", "money", "date" is expected'
                ),
                'did you mean "choice"?',
            ),
            ('a clause is written in quotes, "5.1": without them 4.10 and 4.1 are the same number', ""),
            ('does is a list such as ["remove"], or "anything"', ""),
        ],
    ),
    (
        "five mistakes of reference",
        [
            ("{ from = 2027-01-01 }", "«{ from = 2027-01-01, until = 2026-12-31 }»"),
            ('kinds = ["stowage"]', 'kinds = [«"stowge"»]'),
            ('uses = ["cabin"]', 'uses = [«"cabins"»]\ndrops = [«"9"»]'),
            ('"900 kg"', '{ per = «"seats"», rate = "11 kg/kW" }'),
        ],
        [
            ("this edition ends before it begins", ""),
            ('there is no kind "stowge"', 'did you mean "stowage"?'),
            ('there is no group "cabins"', 'did you mean "cabin"?'),
            ('there is no clause "9"', "there are 5.1, 7.1, 7.2, silence"),
            ('seats is neither a power nor a volume: per takes one, such as per = "power"', ""),
        ],
    ),
    (
        "four conditions",
        [
            (
                '[[class.enter]]\nclause = "7.0"\n'
                'must = { «seets» = 4, gearbox = «"manuel"», fitted = «"cage-of-steel"», insured = «1» }'
            )
        ],
        [
            ('there is no fact "seets"', 'did you mean "seats"?'),
            (
                (
                    'gearbox is one of "manual", "sequential", "automated-manual", "dual-clutch", '
                    '"automatic", "stepless", "single-speed"; did you mean "manual"?'
                ),
                "",
            ),
            ('there is no kind "cage-of-steel"', "tarebook kinds lists them"),
            ("insured is true or false", ""),
        ],
    ),
    (
        "three in one class as a whole",
        [
            ('driver = "out"\n', ""),
            ('clause = "7.1"\n', ""),
            ("[class.weight]", "«[class.weight]»"),
            ('minimum = "900 kg"', 'minimum = «"900 kg"»'),
            ('[[class.allow]]\nclause = "7.3"\nkinds = ["glass"]\ndoes = ["swap"]\nfinish = [«"shiny"»]'),
        ],
        [
            ('class "road" does not say whether the driver is weighed', 'add driver = "aboard" or driver = "out"'),
            ('class "road" states this without a clause', 'add clause = "..." to its weight'),
            ('there is no finish "shiny" in class "road"', "write it as [[class.finish]] or [[group.finish]]"),
        ],
    ),
]


def test_the_sound_file_is_sound():
    assert parse_rules(RULES).class_ids == ("road",)


@pytest.mark.parametrize(
    ("edits", "said"), [pytest.param(edits, said, id=what.replace(" ", "-")) for what, edits, said in CASES]
)
def test_a_mistake_in_a_rule_set(edits, said):
    spoiled = spoil(RULES, *edits)
    assert mistakes_of(lambda: parse_rules(spoiled.text)) == expected(spoiled, said)


def test_a_rule_set_without_a_class():
    spoiled = spoil("«f»" + RULES[1 : RULES.index("[[class]]")])
    said = [("a rule set describes at least one class: [[class]]", "")]
    assert mistakes_of(lambda: parse_rules(spoiled.text)) == expected(spoiled, said)
