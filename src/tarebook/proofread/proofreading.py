"""All checks of sense on one edition of a book."""

from collections.abc import Callable, Iterator

from tarebook.proofread.bands import limits_with_gaps, minima_over_maxima
from tarebook.proofread.clauses import clauses_outside_their_holder, clauses_used_twice
from tarebook.proofread.entering import classes_that_nobody_can_enter
from tarebook.proofread.findings import Blemish
from tarebook.proofread.impossible import bounds_that_no_part_keeps, conditions_that_never_hold
from tarebook.proofread.inheriting import overrides_that_change_nothing
from tarebook.proofread.precedence import BY_SILENCE, rules_that_come_to_nothing
from tarebook.proofread.reach import finishes_never_owed, groups_that_do_not_reach
from tarebook.proofread.study import Study
from tarebook.rules.reading import RuleSet

Check = Callable[[Study], Iterator[Blemish]]
# These find what is wrong with what is there, whatever else there is.
OF_WHAT_IS_THERE: tuple[Check, ...] = (
    conditions_that_never_hold,
    bounds_that_no_part_keeps,
    rules_that_come_to_nothing,
    minima_over_maxima,
    classes_that_nobody_can_enter,
    clauses_outside_their_holder,
    clauses_used_twice,
)
# These find what is wanting, or comes to nothing beside all the rest, so that nothing may be missing.
OF_THE_WHOLE: tuple[Check, ...] = (
    limits_with_gaps,
    groups_that_do_not_reach,
    finishes_never_owed,
    overrides_that_change_nothing,
)


def blemishes(rules: RuleSet, *, whole: bool = True) -> list[Blemish]:
    """The mistakes of sense in one edition, by place: those in the book's own file first, then those in bulletins.

    Where `rules` are not the `whole` edition, only those are told that its missing pieces cannot explain.
    """
    study = Study(rules)
    checks = (*OF_WHAT_IS_THERE, *OF_THE_WHOLE) if whole else OF_WHAT_IS_THERE
    found = {each for check in checks for each in check(study) if whole or each.what != BY_SILENCE}
    own = rules.source.name
    return sorted(
        found, key=lambda each: (each.file != own, each.file, each.line, each.column, each.what, each.sentence)
    )
