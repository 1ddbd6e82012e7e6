"""All checks of sense on one edition of a book."""

from collections.abc import Callable, Iterator

from tarebook.proofread.bands import limits_with_gaps, minima_over_maxima
from tarebook.proofread.clauses import clauses_outside_their_holder, clauses_used_twice
from tarebook.proofread.entering import classes_that_nobody_can_enter
from tarebook.proofread.findings import Blemish
from tarebook.proofread.impossible import bounds_that_no_part_keeps, conditions_that_never_hold
from tarebook.proofread.inheriting import overrides_that_change_nothing
from tarebook.proofread.precedence import rules_that_come_to_nothing
from tarebook.proofread.reach import finishes_never_owed, groups_that_do_not_reach
from tarebook.proofread.study import Study
from tarebook.rules.reading import RuleSet

CHECKS: tuple[Callable[[Study], Iterator[Blemish]], ...] = (
    conditions_that_never_hold,
    bounds_that_no_part_keeps,
    rules_that_come_to_nothing,
    limits_with_gaps,
    minima_over_maxima,
    classes_that_nobody_can_enter,
    clauses_outside_their_holder,
    clauses_used_twice,
    groups_that_do_not_reach,
    finishes_never_owed,
    overrides_that_change_nothing,
)


def blemishes(rules: RuleSet) -> list[Blemish]:
    """The mistakes of sense in one edition, by place: those in the book's own file first, then those in bulletins."""
    study = Study(rules)
    found = {each for check in CHECKS for each in check(study)}
    own = rules.source.name
    return sorted(
        found, key=lambda each: (each.file != own, each.file, each.line, each.column, each.what, each.sentence)
    )
