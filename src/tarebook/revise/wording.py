"""Sentences for changes: a provision as a whole where it is new or gone, what differs where it changed."""

from collections.abc import Callable

from tarebook.judge.wording import GERUND, listed
from tarebook.revise.aspects import Aspect, Demand, Figure, Phrase, Several
from tarebook.revise.provision import Provision, the_kind
from tarebook.rules.models import ACTIONS


def added(provision: Provision) -> str:
    return stopped(f"New: {statement(provision)}")


def withdrawn(provision: Provision) -> str:
    return stopped(f"Withdrawn: {statement(provision)}")


def changed(old: Provision, new: Provision, differing: list[str], notes: list[str]) -> str:
    """What differs between two provisions: the named aspects, and `notes` on what they are linked to."""
    if new.form == "silence":
        (name,) = differing
        was, now = _words(old, name), _words(new, name)
        return f"Where the book is silent, {GERUND[name]} is now {now}; before, it was {was}."
    told = _aspects(old, new, differing)
    if new.form.startswith("weight.") and all(isinstance(new.aspects[name], Figure) for name in differing):
        return " ".join([*told, *(f"{_capital(note)}." for note in notes)])
    parts = [
        each[0].lower() + each[1:].rstrip(".").replace(". The ", "; the ") if each[:4] == "The " else each
        for each in told
    ]
    return stopped(f"{_capital(_head(old, new))}: {'; '.join([*parts, *notes])}")


def stopped(text: str) -> str:
    """The sentence with its full stop, unless it ends with one that is quoted."""
    return text if text.endswith(('."', '?"', '!"')) else f"{text}."


def _aspects(old: Provision, new: Provision, differing: list[str]) -> list[str]:
    """The words for each differing aspect; that a clause became exclusive goes without saying where "only" is said."""
    said_only = any(_words(new, name).startswith("only ") for name in differing if name in ("if", "part"))
    shown = [name for name in differing if not (name == "only" and said_only and new.aspects["only"].meaning)]
    if new.form == "weight.ballast" and not new.aspects["allowed"].meaning and "allowed" in differing:
        shown = ["allowed"]  # how much of it and where has no object any more
    labels = _LABELS if new.form == "limit" else {}
    return [labels.get(name, "") + _change(new.aspects[name], old.aspects[name]) for name in shown]


_LABELS = {
    "driver": "the driver, ",
    "driver_counts_as": "what the driver counts as, ",
    "co_driver": "the co-driver, ",
    "fuel": "weighed ",
    "without": "weighed without: ",
    "allowance": "tolerance ",
    "scale_u": "the official's scale, ",
    "taken_off": "what came off: ",
}


def _change(new: Aspect, old: Aspect) -> str:
    # Aspects of one name are of one sort in both editions, which their types do not tell.
    return new.change_from(old)  # type: ignore[arg-type]


def _words(provision: Provision, name: str) -> str:
    aspect = provision.aspects[name]
    return aspect.words if isinstance(aspect, Phrase | Figure | Demand) else ""


def _names(provision: Provision, name: str) -> list[str]:
    aspect = provision.aspects[name]
    assert isinstance(aspect, Several)
    return list(aspect.names.values())


def _holds(provision: Provision, name: str) -> bool:
    return name in provision.aspects and bool(provision.aspects[name].meaning)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _after(provision: Provision, *names: str, comma: bool = False) -> str:
    """The words of some phrases, where there are any, after a statement."""
    joint = ", " if comma else " "
    return "".join(f"{joint}{words}" for name in names if (words := _words(provision, name)))


def doing(does: list[str], kinds: list[str]) -> str:
    """ "removing or swapping the carpet"."""
    if len(does) == len(ACTIONS):
        return f"any change to {listed(kinds, 'or')}"
    return f"{listed(does, 'or')} {listed(kinds, 'or')}"


# ---- a provision as a whole


def statement(provision: Provision) -> str:
    """All that a provision says, as a statement without its full stop."""
    state = _STATEMENTS.get(provision.form)
    return state(provision) if state is not None else f"{_head(provision, provision)} is so declared"


def _figures(provision: Provision) -> str:
    figures = [each for each in provision.aspects.values() if isinstance(each, Figure) and each.spec is not None]
    return listed(f"the {each.name} is {each.words}" for each in figures)


def _ballast(provision: Provision) -> str:
    word = "allowed" if _holds(provision, "allowed") else "forbidden"
    return f"ballast is {word}{_after(provision, 'most', 'places', comma=True)}"


def _adjust(provision: Provision) -> str:
    limit = provision.links.get("limit")
    whose = f" of clause {limit[0].clause}" if limit else ""
    return f"{_words(provision, 'add')} is added to the {_words(provision, 'of')}{whose}{_after(provision, 'if')}"


def _limit(provision: Provision) -> str:
    stated = {
        "driver": "driver {}",
        "driver_counts_as": "driver counted as {}",
        "co_driver": "co-driver {}",
        "fuel": "{}",
        "allowance": "with a tolerance of {}",
        "scale_u": "on a scale uncertain by {}",
    }
    terms = [
        pattern.format(words)
        for name, pattern in stated.items()
        if name in provision.aspects and not provision.aspects[name].unsaid and (words := _words(provision, name))
    ]
    if not getattr(provision.aspects.get("without"), "unsaid", True) and _holds(provision, "without"):
        terms.append(f"without {listed(_names(provision, 'without'))}")
    off = f" on what came off {listed(_names(provision, 'taken_off'), 'or')}" if _holds(provision, "taken_off") else ""
    with_terms = "".join(f", {each}" for each in terms)
    return f"a further limit{off}{_after(provision, 'if')}: {_figures(provision)}{with_terms}"


def _allow(provision: Provision) -> str:
    text = f"{doing(_names(provision, 'does'), _names(provision, 'kinds'))} is allowed"
    where, part = _words(provision, "if"), _words(provision, "part")
    text += f" {where} and {part.removeprefix('only ')}" if where and part else _after(provision, "if", "part")
    text += _after(provision, "ask", comma=True)
    if _holds(provision, "fixings"):
        text += ", also of what belongs to such a part"
    duties = [duty_text(duty) for duty in provision.links.get("finish", ())]
    return text + (f"; it obliges {listed(duties)}" if duties else "") + _beaten(provision)


def _ban(provision: Provision) -> str:
    text = f"{doing(_names(provision, 'does'), _names(provision, 'kinds'))} is forbidden"
    text += _after(provision, "if", "part")
    if _holds(provision, "fixings"):
        text += ", also of what belongs to such a part"
    return text + _beaten(provision)


def _beaten(provision: Provision) -> str:
    return f"; it beats {clauses(provision.links['despite'])}" if provision.links.get("despite") else ""


def clauses(provisions: tuple[Provision, ...] | list[Provision]) -> str:
    return f"clause {listed(dict.fromkeys(each.clause for each in provisions))}"


def _need(provision: Provision) -> str:
    kinds = _names(provision, "kinds")
    each = provision.aspects["at_least"].meaning == "each"
    what = listed(kinds) if each else f"{_words(provision, 'at_least').removesuffix(' of them')} of {listed(kinds)}"
    whole = ", complete as the factory gave it" if _holds(provision, "whole") else ""
    return f"the car must have {what}{whole}{_after(provision, 'part', 'if', comma=True)}{_beaten(provision)}"


def _strip(provision: Provision) -> str:
    kinds = listed(_names(provision, "kinds"), "or")
    return f"the car must not have {kinds}{_after(provision, 'if', comma=True)}{_beaten(provision)}"


def duty_text(provision: Provision) -> str:
    """ "a finish of the floor, painted or covered"."""
    return f"a finish of {_words(provision, 'area')}, {listed(sorted(_names(provision, 'by')), 'or')}"


_STATEMENTS: dict[str, Callable[[Provision], str]] = {
    "weight.minimum": _figures,
    "weight.maximum": _figures,
    "weight.front_axle": _figures,
    "weight.rear_axle": _figures,
    "weight.driver": lambda each: f"the driver is {_words(each, 'driver')} when the car is weighed",
    "weight.driver_counts_as": lambda each: f"the driver counts as {_words(each, 'driver_counts_as')}",
    "weight.co_driver": lambda each: f"the co-driver is {_words(each, 'co_driver')} when the car is weighed",
    "weight.fuel": lambda each: f"the car is weighed {_words(each, 'fuel')}",
    "weight.without": lambda each: f"the car is weighed without {listed(_names(each, 'without'))}",
    "weight.allowance": lambda each: f"{_words(each, 'allowance')} of tolerance in the car's favour",
    "weight.scale_u": lambda each: f"the official's scale is uncertain by {_words(each, 'scale_u')}",
    "weight.ballast": _ballast,
    "adjust": _adjust,
    "limit": _limit,
    "counts": lambda each: f"{_words(each, 'fact')} counts {_words(each, 'times')}{_after(each, 'if')}",
    "enter": lambda each: f"to enter, a car needs {_words(each, 'must')}",
    "require": lambda each: f"the car must have {_words(each, 'must')}",
    "allow": _allow,
    "ban": _ban,
    "need": _need,
    "strip": _strip,
    "finish": lambda each: f"{duty_text(each)}{_after(each, 'if', comma=True)}",
    "ask": lambda each: f"a person judges {_words(each, 'says')}{_after(each, 'if')}",
}


# ---- what a changed provision is about


def _head(old: Provision, new: Provision) -> str:
    form = new.form
    if form in ("allow", "ban"):
        speaks_of = doing(_common(old, new, "does"), _common(old, new, "kinds"))
        return speaks_of if form == "allow" else f"the ban on {speaks_of}"
    if form in ("need", "strip"):
        duty = "to have" if form == "need" else "to be without"
        return f"the duty {duty} {listed(_common(old, new, 'kinds'))}"
    if form == "adjust":
        return f"what is added to the {_words(old, 'of')}"
    if form == "counts":
        return f"how {_words(old, 'fact')} counts"
    if form == "finish":
        return f"the finish of {_words(old, 'area')}"
    if form == "fact":
        return f'the fact "{new.id}"'
    if form == "kind":
        return the_kind(new.id, new.tree)
    return _HEADS[form]


_HEADS = {
    "weight.driver": "the driver, when the car is weighed",
    "weight.driver_counts_as": "what the driver counts as",
    "weight.co_driver": "the co-driver, when the car is weighed",
    "weight.fuel": "how the car is weighed",
    "weight.without": "taken out before the car is weighed",
    "weight.allowance": "the tolerance in the car's favour",
    "weight.scale_u": "the uncertainty of the official's scale",
    "weight.ballast": "ballast",
    "limit": "the further limit",
    "enter": "what a car needs to enter",
    "require": "what the car must have",
    "ask": "what a person judges",
}


def _common(old: Provision, new: Provision, name: str) -> list[str]:
    """The names that both have, in the order of the new one; those of the old one where they share none."""
    mine, theirs = new.aspects[name], old.aspects[name]
    assert isinstance(mine, Several)
    assert isinstance(theirs, Several)
    return [words for each, words in mine.names.items() if each in theirs.meaning] or list(theirs.names.values())
