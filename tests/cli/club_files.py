"""A small car and two editions of a book, as texts. Car, club and classes are invented."""

CAR = """\
format = "tarebook-car/1"
[car]
name = "Wren"
goal = { mass = "850 kg" }
[facts]
displacement = "1398 cm3"
doors = 3
[at_inspection]
fuel = "5 L"
[[weighing]]
id = "first"
date = 2026-03-01
total = ["900.2 kg", "900.0 kg", "899.8 kg"]
fuel = "5 L"
[[part]]
id = "carpet"
kind = "interior.floor.carpet"
title = "Cabin carpet"
mass = "4.00 kg"
[[part]]
id = "boot-carpet"
kind = "interior.floor.boot-carpet"
title = "Boot carpet"
mass = "1.60 kg"
[[part]]
id = "console"
kind = "interior.console"
title = "Centre console"
mass = "2.40 kg"
[[part]]
id = "audio"
kind = "interior.audio"
title = "Radio"
mass = "2.00 kg"
[[part]]
id = "spare-wheel"
kind = "stowage.spare-wheel"
title = "Spare wheel"
mass = "14.00 kg"
kept = "loft"
[[job]]
id = "strip-cabin"
state = "done"
date = 2026-03-10
off = ["carpet", "spare-wheel"]
[[job]]
id = "strip-boot"
state = "planned"
off = ["boot-carpet"]
[[job]]
id = "strip-console"
state = "maybe"
off = ["console"]
[[build]]
id = "spring"
jobs = ["strip-boot", "strip-console"]
date = 2027-04-10
"""
BOOK_2026 = """\
format = "tarebook-rules/1"
[book]
id = "tern-moor"
title = "Tern Moor Motor Circle"
edition = "2026"
clause = "1.1"
in_force = { from = 2020-01-01, until = 2026-12-31 }
silence = "forbids"
[[group]]
id = "stripping"
everywhere = true
[[group.allow]]
clause = "2.1"
kinds = ["interior.floor", "stowage"]
does = ["remove"]
says = "Carpets and stowage may come out."
[[class]]
id = "free"
title = "Free"
[class.weight]
clause = "3.1"
driver = "out"
minimum = "800 kg"
[[class]]
id = "heavy"
title = "Heavy"
[class.weight]
clause = "4.1"
driver = "out"
minimum = "950 kg"
[[class.ban]]
clause = "4.2"
kinds = ["stowage.spare-wheel"]
does = ["remove"]
says = "The spare wheel stays."
[[class.ask]]
clause = "4.9"
says = "The car looks tidy."
[[class]]
id = "brink"
title = "Brink"
[class.weight]
clause = "5.1"
driver = "out"
minimum = "882 kg"
[[class]]
id = "sheet"
title = "Sheet"
[class.weight]
clause = "6.1"
driver = "out"
minimum = "800 kg"
[[class.require]]
clause = "6.2"
must = { seats = { least = 4 } }
says = "Four seats."
[[class.allow]]
clause = "6.3"
kinds = ["interior.audio"]
does = ["remove"]
if = { seats = { least = 5 } }
"""
BOOK_2027 = (
    BOOK_2026.replace('edition = "2026"', 'edition = "2027"')
    .replace("{ from = 2020-01-01, until = 2026-12-31 }", "{ from = 2027-01-01 }")
    .replace('id = "brink"', 'id = "verge"')
    .replace('title = "Brink"', 'title = "Verge"')
    .replace(
        'says = "Carpets and stowage may come out."',
        'says = "Carpets, stowage and console may come out."',
    )
    .replace('"interior.floor", "stowage"]', '"interior.floor", "interior.console", "stowage"]')
)
