"""What there is to say about a weighing, a part, a job and a scale, in the order in which it is asked and written."""

from tarebook.cli.logbook.questions import Key, Question, Values

_MASSES = 'a mass with its unit, such as "13.4 kg"'
_PLACES = 'a length with its unit, such as "2800 mm"'
_DAYS = "a day, such as 2027-04-10"

_ID = Question(("id",), "Its name in the file", "lower-case letters, digits, hyphens", needed=True)
_TITLE = Question(("title",), "What you call it", "any text")
_NOTE = Question(("note",), "A note", "any text")
_SCALE = Question(("scale",), "On which scale", "the name of a scale of the file", names="scale")


def _load(key: Key, prompt: str, *, needed: bool) -> Question:
    return Question(key, prompt, _MASSES, many=True, readings=True, needed=needed)


LOADS: dict[str, tuple[str, ...]] = {
    "corners": ("front_left", "front_right", "rear_left", "rear_right"),
    "axles": ("front", "rear"),
    "total": (),
}


def weighing_questions(form: str) -> list[Question]:
    loads = [_load((form, each), each.replace("_", " ").capitalize(), needed=True) for each in LOADS[form]] or [
        _load(("total",), "The whole car", needed=True)
    ]
    return [
        _ID._replace(needed=False, empty="the day"),
        Question(("date",), "On which day", _DAYS, "date", empty="today"),
        _SCALE,
        *loads,
        Question(("fuel",), "How much fuel was in it", 'a volume such as "12 L", or full or empty'),
        Question(("fuel_within",), "How far off may that be", 'a volume such as "2 L"'),
        Question(("driver_aboard",), "Was the driver aboard", "yes or no", "yes-no"),
        Question(("co_driver_aboard",), "Was the co-driver aboard", "yes or no", "yes-no"),
        Question(("includes",), "Which jobs had been done", "the name of a job", many=True, names="job"),
        _NOTE,
    ]


def _weighed(values: Values) -> bool:
    return ("mass",) in values or ("mass_together",) in values


PART_QUESTIONS = (
    _ID,
    Question(("kind",), "Its kind", "a name that tarebook kinds WORD finds", needed=True),
    _TITLE,
    Question(("count",), "How many pieces", "a whole number, if there are several", "whole"),
    Question(("mass",), "Its mass", _MASSES, many=True, readings=True, when=lambda values: ("count",) not in values),
    Question(("mass_each",), "The mass of single pieces", _MASSES, many=True, readings=True),
    Question(
        ("mass_together",),
        "The mass of all pieces together",
        _MASSES,
        many=True,
        readings=True,
        when=lambda values: ("count",) in values,
    ),
    Question(
        ("estimate", "mass"),
        "A judged mass",
        _MASSES,
        option="--estimate",
        when=lambda values: not _weighed(values),
    ),
    Question(
        ("estimate", "within"),
        "How far off may that be",
        _MASSES,
        when=lambda values: ("estimate", "mass") in values,
    ),
    _SCALE._replace(when=lambda values: _weighed(values)),
    Question(("at",), "How far behind the front axle", f"{_PLACES}, below zero ahead of it"),
    Question(("right",), "How far right of the middle", f"{_PLACES}, below zero to the left"),
    Question(("origin",), "Who made it", "factory or aftermarket"),
    Question(("replaces",), "What it takes the place of", "the name of a part, or a kind"),
    Question(("belongs_to",), "The part that it belongs to", "the name of a part", names="part"),
    Question(("material",), "Its material", "any text"),
    Question(("thickness",), "How thick", 'a length such as "4 mm"'),
    Question(("years",), "Model years", "a year, such as 1998", "whole", many=True),
    Question(("approval",), "Approval marks", "a mark, as the book writes it", many=True),
    Question(("place",), "The kind that it sits on", "a kind"),
    Question(("kept",), "Where you keep it", "any text"),
    Question(("gone",), "Is it sold or scrapped", "yes or no", "yes-no"),
    _NOTE,
)
ASKED_OF_A_PART = frozenset(
    {"id", "kind", "title", "count", "mass", "mass_together", "estimate", "scale", "at", "right", "origin", "replaces"}
    | {"kept", "note"}
)

JOB_QUESTIONS = (
    _ID,
    _TITLE,
    Question(("state",), "How far is it", "done, planned or maybe", needed=True),
    Question(
        ("date",), "When was it done", _DAYS, "date", empty="today", when=lambda values: values[("state",)] == "done"
    ),
    Question(("off",), "Which parts it takes off", "the name of a part", many=True, names="part"),
    Question(("fit",), "Which parts it fits", "the name of a part", many=True, names="part"),
    Question(("cost",), "What it costs", 'an amount such as "140 EUR"'),
    Question(("returns",), "What the parts that came off fetch", 'an amount such as "40 EUR"'),
    Question(("hours",), "How many hours", "a plain number such as 1.5", "number"),
    Question(("needs",), "Which jobs it needs", "the name of a job", many=True, names="job"),
    Question(("not_with",), "Which jobs it cannot stand with", "the name of a job", many=True, names="job"),
    Question(("tools",), "What you need for it", "any text", many=True, option="--tool"),
    _NOTE,
)

SCALE_QUESTIONS = (
    _ID,
    _TITLE,
    Question(("resolution",), "Its smallest step", 'a mass with its unit, such as "1 g"', needed=True),
    Question(("capacity",), "The most that it weighs", _MASSES),
    Question(("check", "known"), "A known mass put on it", _MASSES),
    Question(("check", "read"), "What it showed then", _MASSES),
    Question(("check", "u"), "The standard uncertainty of that", 'a mass with its unit, such as "1 g"'),
    _NOTE,
)
