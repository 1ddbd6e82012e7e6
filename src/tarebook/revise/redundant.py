"""Kinds that are listed beside a branch over them, and say nothing that the branch does not say."""

from collections.abc import Iterable
from dataclasses import replace

from tarebook.kinds import covers
from tarebook.revise.aspects import Several
from tarebook.revise.provision import MOST_BONDS, Provision

_FORMS = ("allow", "ban", "strip")  # of `need` each kind asks for something of its own


def covered_kinds(kinds: Iterable[str]) -> set[str]:
    """Of some kinds, those that stand under another of them."""
    known = set(kinds)
    return {kind for kind in known if any(other != kind and covers(other, kind) for other in known)}


def without_redundant_kinds(found: list[Provision]) -> list[Provision]:
    """The provisions of one class, each without the kinds that it names beside a branch over them to no effect.

    Such a kind has an effect where another rule speaks of it, too: of the rules that cover a part the one with the
    longest kind decides, so that naming it once more may turn the decision.
    """
    deciding = [each for each in found if each.decides]
    wordy = {id(each): covered_kinds(each.kinds) for each in deciding if each.form in _FORMS}
    wordy = {key: kinds for key, kinds in wordy.items() if kinds}
    if len(wordy) * len(deciding) > MOST_BONDS:
        return found
    return [_without(each, wordy[id(each)], deciding) if id(each) in wordy else each for each in found]


def _without(provision: Provision, kinds: set[str], deciding: list[Provision]) -> Provision:
    rivals = [each for each in deciding if each is not provision and set(each.does) & set(provision.does)]
    if any(_of_fixings(each) for each in (provision, *rivals)):
        return provision
    gone = {kind for kind in kinds if not any(_speaks_of(each, kind) for each in rivals)}
    named = provision.aspects["kinds"]
    assert isinstance(named, Several)
    left = Several(named.meaning - gone, {kind: words for kind, words in named.names.items() if kind not in gone})
    return replace(
        provision,
        aspects={**provision.aspects, "kinds": left},
        subject=frozenset(each for each in provision.subject if _kind_of(each) not in gone),
        kinds=tuple(kind for kind in provision.kinds if kind not in gone),
    )


def _speaks_of(provision: Provision, kind: str) -> bool:
    return any(covers(kind, own) or covers(own, kind) for own in provision.kinds)


def _of_fixings(provision: Provision) -> bool:
    return "fixings" in provision.aspects and bool(provision.aspects["fixings"].meaning)


def _kind_of(subject: object) -> object:
    """The kind in a piece of a subject: of a change, the kind with its action; else the kind itself."""
    return subject[0] if isinstance(subject, tuple) else subject
