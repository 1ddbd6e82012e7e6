"""What a class says of weight: each key of `weight`, each adjustment, and each further limit."""

from collections.abc import Hashable, Iterator
from typing import Any

from tarebook.meaning.words import amount_text, inside, limit_text
from tarebook.quantities import Quantity
from tarebook.revise.amounts import meaning_of
from tarebook.revise.aspects import Aspect, Figure, Flag, Phrase, Several
from tarebook.revise.provision import Provision
from tarebook.revise.reader import Reader
from tarebook.rules.classes import Path, Placed
from tarebook.rules.models import Adjust, FurtherLimit

LIMITS = ("minimum", "maximum")
AXLES = ("front_axle", "rear_axle")
TERMS = ("driver", "driver_counts_as", "co_driver", "fuel", "without", "allowance", "scale_u")
UNLESS_STATED: dict[str, Hashable] = {
    "co_driver": "out",
    "fuel": "as-raced",
    "without": frozenset(),
    "allowance": 0,
    "scale_u": None,
}
NAMES = {
    "minimum": "minimum",
    "maximum": "maximum",
    "front_axle.least": "least load on the front axle",
    "front_axle.most": "greatest load on the front axle",
    "rear_axle.least": "least load on the rear axle",
    "rear_axle.most": "greatest load on the rear axle",
}
_OF = {"front_axle": NAMES["front_axle.least"], "rear_axle": NAMES["rear_axle.least"]}
_FUEL = {
    "as-raced": "with the fuel with which it raced",
    "empty": "with an empty tank",
    "full": "with a full tank",
}


def weight_provisions(reader: Reader) -> Iterator[Provision]:
    """The provisions of a class that speak of weight."""
    full = reader.full
    for key, entry in full.weight.items():
        form, clause, path = f"weight.{key}", entry.clause or _class_clause(reader), entry.path
        subject: frozenset[Hashable] = frozenset((key,))
        if key == "adjust":
            for adjust, where in entry.value:
                yield _adjust(reader, adjust, where, clause)
        elif key == "ballast":
            yield reader.provision(
                form,
                clause,
                path,
                subject,
                _ballast(reader, entry.value),
                kinds=("ballast",),
                does=("fit",),
                order=entry.rank.order,
                prevails=entry.prevails,
            )
        elif key in (*LIMITS, *AXLES):
            figures = _figures(reader, {key: entry.value}, path[:-1])
            yield reader.provision(form, clause, path, subject, figures)
        elif key in TERMS:
            aspect = _term(reader, key, entry.value)
            if aspect.meaning != UNLESS_STATED.get(key):
                yield reader.provision(form, clause, path, subject, {key: aspect})
    for placed in full.rules["limit"]:
        limit = _further(reader, placed)
        yield limit
        for index, adjust in enumerate(placed.rule.adjust or ()):
            own = _adjust(reader, adjust, (*placed.path, "adjust", index), placed.rule.clause)
            own.links["limit"] = (limit,)
            yield own


def _class_clause(reader: Reader) -> str:
    return reader.full.clause or reader.rules.file.book.clause


def _figures(reader: Reader, stated: dict[str, Any], path: Path) -> dict[str, Aspect]:
    """The limits among some keys, each end of an axle by itself."""
    found: dict[str, Aspect] = {}
    for key in stated:
        if key in LIMITS:
            found[key] = _figure(reader, key, (*path, key))
        elif key in AXLES:
            for end in ("least", "most"):
                found[f"{key}.{end}"] = _figure(reader, f"{key}.{end}", (*path, key, end))
    return found


def _figure(reader: Reader, name: str, path: Path) -> Figure:
    rules = reader.rules
    spec = rules.limits.get(path)
    meaning = None if spec is None else meaning_of(spec, rules.facts)
    words = "" if spec is None else limit_text(spec, rules.facts, reader.units)
    return Figure(meaning, NAMES[name], spec, words, rules.facts, reader.units)


def _term(reader: Reader, key: str, value: Any, unsaid: bool = False) -> Aspect:
    """One of the keys that say what is weighed."""
    if key == "without":
        kinds = reader.all_of(value or [])
        return Several(kinds.meaning, kinds.names, unsaid)
    if value is None:
        default = UNLESS_STATED.get(key)
        return Phrase(default, _FUEL["as-raced"] if key == "fuel" else str(default or ""), "not fixed", unsaid)
    if not isinstance(value, Quantity):
        return Phrase(value, _FUEL[value] if key == "fuel" else value, "", unsaid)
    text = amount_text(value.value, value.dimension, reader.units.get(value.dimension))
    return Phrase(value.value, f"with {text} of fuel" if key == "fuel" else text, "not fixed", unsaid)


def _ballast(reader: Reader, ballast: Any) -> dict[str, Aspect]:
    most = ballast.most
    words = "" if most is None else f"at most {_mass(reader, most)}"
    places = reader.all_of(ballast.places or [])
    return {
        "allowed": Flag(ballast.allowed, "now allowed", "no longer allowed"),
        "most": Phrase(None if most is None else most.value, words, "of any mass"),
        "places": Phrase(places.meaning, f"only at {_either(places)}" if places.meaning else "", "at any place"),
    }


def _either(kinds: Several) -> str:
    return " or ".join(kinds.names.values())


def _mass(reader: Reader, quantity: Quantity) -> str:
    return amount_text(quantity.value, "mass", reader.units.get("mass"))


def _adjust(reader: Reader, adjust: Adjust, path: Path, clause: str) -> Provision:
    added = adjust.add
    of = _OF.get(adjust.of, adjust.of)
    meaning: Hashable
    if added.amount is not None:
        amount = added.amount
        meaning = (amount.dimension, amount.value)
        words = amount_text(amount.value, amount.dimension, amount.unit)
    else:
        assert added.fact is not None
        most = added.most
        meaning = (added.fact, None if most is None else most.value)
        cap = "" if most is None else f" (at most {_mass(reader, most)})"
        words = f"the {inside(reader.rules.facts[added.fact].title)}{cap}"
    aspects: dict[str, Aspect] = {
        "add": Phrase(meaning, words),
        "of": Phrase(adjust.of, of),
        "if": reader.case(path),
    }
    return reader.provision("adjust", adjust.clause or clause, path, frozenset((adjust.of,)), aspects)


def _further(reader: Reader, placed: Placed[FurtherLimit]) -> Provision:
    limit, weight = placed.rule, reader.full.weight
    own = {name: getattr(limit, name) for name in limit.stated if getattr(limit, name) is not None}
    aspects = _figures(reader, {key: own[key] for key in (*LIMITS, *AXLES) if key in own}, placed.path)
    for key in (*LIMITS, *AXLES):
        for name in (key,) if key in LIMITS else (f"{key}.least", f"{key}.most"):
            aspects.setdefault(name, Figure(None, NAMES[name], None, "", reader.rules.facts, reader.units))
    taken_off = reader.all_of(limit.taken_off or [])
    aspects["taken_off"] = taken_off
    for key in TERMS:
        if limit.taken_off is not None and key != "allowance":
            continue
        if (
            limit.taken_off is None
            and key not in own
            and not (key == "driver_counts_as" and own.get("driver") == "out")
        ):
            inherited = weight[key].value if key in weight else None
            aspects[key] = _term(reader, key, inherited, unsaid=True)
        else:
            aspects[key] = _term(reader, key, own.get(key))
    aspects["if"] = reader.case(placed.path)
    limits: set[Hashable] = {key for key in (*LIMITS, *AXLES) if key in own}
    return reader.provision(
        "limit",
        limit.clause,
        placed.path,
        frozenset(limits | {("taken off", kind) for kind in taken_off.meaning}),
        aspects,
    )
