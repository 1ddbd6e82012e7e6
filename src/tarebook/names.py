"""Which known name was probably meant: the suggestions at the end of error messages."""

from collections.abc import Iterable

# Nothing that people mistype is longer, and the comparison below is not free.
_LONGEST = 100
_NEAR_ENOUGH = 0.6
# Beside a very good match, weak ones only distract.
_BEHIND_THE_BEST = 0.2


def nearest(name: str, known: Iterable[str], most: int = 3) -> list[str]:
    """The known names most like `name`, best first, at most `most` of them; perhaps none.

    Case does not count. A dotted path is also compared by its last element alone, and a known name that
    contains every word of `name` is near too: `bonnet` finds `body.bonnet`.
    """
    from difflib import SequenceMatcher

    wanted = name.casefold().strip()
    if not wanted or len(wanted) > _LONGEST:
        return []
    words = wanted.translate(str.maketrans("._-", "   ")).split()
    tail = wanted.rpartition(".")[2]
    whole_matcher, tail_matcher = SequenceMatcher(b=wanted), SequenceMatcher(b=tail)

    def likeness(matcher: SequenceMatcher[str], other: str) -> float:
        matcher.set_seq1(other)
        # The two quick figures are upper bounds of the slow one.
        if matcher.real_quick_ratio() < _NEAR_ENOUGH or matcher.quick_ratio() < _NEAR_ENOUGH:
            return 0.0
        return matcher.ratio()

    scored = []
    for candidate in dict.fromkeys(known):
        folded = candidate.casefold()
        score = likeness(whole_matcher, folded)
        last = folded.rpartition(".")[2]
        if last != folded or tail != wanted:
            score = max(score, 0.95 * likeness(tail_matcher, last))
        if len(wanted) > 2 and words and all(word in folded for word in words):
            score = max(score, 0.75 + 0.2 * min(1.0, len(wanted) / len(folded)))
        if score >= _NEAR_ENOUGH:
            scored.append((score, candidate))
    if not scored:
        return []
    scored.sort(key=lambda pair: -pair[0])  # a stable sort: equals keep the order of `known`
    least = scored[0][0] - _BEHIND_THE_BEST
    return [candidate for score, candidate in scored[:most] if score >= least]


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """A question such as `did you mean "body.bonnet"?`, or "" where nothing known is near."""
    quoted = [f'"{candidate}"' for candidate in nearest(name, known)]
    if not quoted:
        return ""
    *others, last = quoted
    return f"did you mean {', '.join(others)} or {last}?" if others else f"did you mean {last}?"
