"""Which rules beat which, compared between two editions; and which duties and limits rules are bound to."""

from collections.abc import Iterable, Iterator

from tarebook.judge.wording import listed
from tarebook.revise.provision import MOST_BONDS, Provision, compete
from tarebook.revise.wording import clauses, duty_text
from tarebook.rules.classes import clause_covers

Pair = tuple[Provision, Provision]


class Bonds:
    """The provisions of a class that stand in both editions, in pairs; asked what differs in how they are bound."""

    def __init__(self, pairs: list[Pair]) -> None:
        self.new_of = {id(old): new for old, new in pairs}
        self.old_of = {id(new): old for old, new in pairs}
        self._deciding = [(old, new) for old, new in pairs if old.decides and new.decides]
        self._ranks: dict[int, list[str]] = {}
        for winner, note in self._rank_notes():
            self._ranks.setdefault(id(winner), []).append(note)

    def notes(self, old: Provision, new: Provision) -> list[str]:
        """What differs between a pair in its bonds and in its rank, in words."""
        return [*self._bonds(old, new), *self._ranks.get(id(new), ())]

    def _bonds(self, old: Provision, new: Provision) -> Iterator[str]:
        names = dict.fromkeys((*old.links, *new.links))
        if any(each.despite and "despite" not in each.links for each in (old, new)):
            names.pop("despite", None)
            if set(old.despite) != set(new.despite):
                named = [f"clause {listed(each.despite)}" if each.despite else "none" for each in (new, old)]
                yield f"clauses that it beats, whatever the kinds: now {named[0]} (before, {named[1]})"
        for name in names:
            kept = [self.new_of[id(each)] for each in old.links.get(name, ()) if id(each) in self.new_of]
            gained = _but_for(new.links.get(name, ()), kept)
            lost = _but_for(kept, new.links.get(name, ()))
            if name == "finish":
                if gained:
                    yield f"it now obliges {listed(map(duty_text, gained))}"
                if lost:
                    yield f"it no longer obliges {listed(duty_text(self.old_of[id(each)]) for each in lost)}"
            elif name == "limit":
                if gained:
                    yield f"it now belongs to {clauses(gained)}"
            else:
                # What the words of `despite` cover either way is no change of this rule.
                gained = [each for each in gained if not _covered(old, self.old_of.get(id(each), each))]
                lost = [each for each in lost if not _covered(new, each)]
                if gained:
                    yield f"it now beats {clauses(gained)}, whatever the kinds"
                if lost:
                    yield f"it no longer beats {clauses(lost)} whatever the kinds"

    def _rank_notes(self) -> Iterator[tuple[Provision, str]]:
        """What a rule beats now, or no longer, because it stands elsewhere."""
        was, now = (_ranks(side) for side in zip(*self._deciding, strict=True)) if self._deciding else ({}, {})
        reranked = [pair for pair in self._deciding if was[id(pair[0])] != now[id(pair[1])]]
        if len(reranked) * len(self._deciding) > MOST_BONDS:
            yield from ((new, "it stands nearer or farther than it did") for _, new in reranked)
            return
        seen: set[frozenset[int]] = set()
        for old, new in reranked:
            for other_old, other_new in self._deciding:
                both = frozenset((id(new), id(other_new)))
                if other_new is new or both in seen or _come_to_the_same(new, other_new):
                    continue
                seen.add(both)
                if compete(old, other_old) and compete(new, other_new):
                    yield from _turned((old, new), (other_old, other_new))


def _turned(one: Pair, other: Pair) -> Iterator[tuple[Provision, str]]:
    was, now = _prevails(one[0], other[0]), _prevails(one[1], other[1])
    where = ""
    if was == now == 0 and _share(one[0], other[0]) and _share(one[1], other[1]):
        was, now = _nearer(one[0], other[0]), _nearer(one[1], other[1])
        where = " where both speak of one kind"
    if was == now:
        return
    if now:
        winner, loser = (one, other) if now > 0 else (other, one)
        yield winner[1], f"it now beats clause {loser[1].clause}{where or ', as its group prevails'}"
    else:
        winner, loser = (one, other) if was > 0 else (other, one)
        yield winner[1], f"it no longer beats clause {loser[1].clause}{where}"


def _but_for(these: Iterable[Provision], those: Iterable[Provision]) -> list[Provision]:
    others = {id(each) for each in those}
    return [each for each in these if id(each) not in others]


def _covered(rule: Provision, other: Provision) -> bool:
    return any(clause_covers(clause, other.clause) for clause in rule.despite)


def _ranks(rules: tuple[Provision, ...]) -> dict[int, tuple[bool, int]]:
    """Whether each rule prevails, and how many ranks are nearer than its own."""
    orders = sorted({each.order for each in rules})
    return {id(each): (each.prevails, orders.index(each.order)) for each in rules}


def _prevails(one: Provision, other: Provision) -> int:
    return int(one.prevails) - int(other.prevails)


def _nearer(one: Provision, other: Provision) -> int:
    return (one.order < other.order) - (one.order > other.order)


def _share(one: Provision, other: Provision) -> bool:
    return bool(set(one.kinds) & set(other.kinds))


def _come_to_the_same(one: Provision, other: Provision) -> bool:
    """Whether it does not matter which of two rules decides: both forbid, or both allow and ask for nothing."""
    if one.form == other.form == "ban":
        return True
    plain = [
        each.form == "allow" and not any(each.aspects[name].meaning for name in ("only", "ask"))
        for each in (one, other)
    ]
    return all(plain) and not one.links.get("finish") and not other.links.get("finish")
