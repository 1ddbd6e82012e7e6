"""What does not reach where it should: safety rules that leave out a class, groups and finishes that nothing uses."""

import re
from collections.abc import Iterator

from tarebook.proofread.findings import Blemish
from tarebook.proofread.study import Study
from tarebook.rules.classes import Path
from tarebook.rules.models import Group

MOST_TOLD = 100  # classes that one group does not reach
SAFETY = re.compile(r"(?<![a-z])safety(?![a-z])")


def groups_that_do_not_reach(study: Study) -> Iterator[Blemish]:
    uses = {each.id: frozenset(study.uses(each.id)) for each in study.file.class_}
    for index, group in enumerate(study.file.group):
        if group.everywhere:
            continue
        path: Path = ("group", index)
        without = [place for place, each in enumerate(study.file.class_) if group.id not in uses[each.id]]
        if len(without) == len(study.file.class_):
            sentence = f'No class uses the group "{group.id}": add it to the uses of a class, or take it out.'
            yield study.blemish((*path, "id"), "unused-group", group.clause, sentence)
        elif group.prevails or _is_of_safety(group):
            for place in without[:MOST_TOLD]:
                each = study.file.class_[place]
                named = f"clause {study.cited(group.clause, path)}" if group.clause else study.place(path)
                sentence = (
                    f'The group "{group.id}" of safety rules, {named}, does not reach class "{each.id}":'
                    " add it to the uses of the class, or let it be everywhere."
                )
                yield study.blemish(("class", place, "id"), "safety-not-reached", each.clause, sentence, group.clause)


def _is_of_safety(group: Group) -> bool:
    return any(SAFETY.search(text.casefold()) for text in (group.id, group.title))


def finishes_never_owed(study: Study) -> Iterator[Blemish]:
    obliged: dict[Path, bool] = {}
    for full in study.classes:
        named = {name for placed in full.rules["allow"] for name in placed.rule.finish}
        for placed in full.rules["finish"]:
            if placed.rule.if_ is None:
                obliged[placed.path] = obliged.get(placed.path, False) or placed.rule.id in named
    for path, is_obliged in obliged.items():
        if not is_obliged:
            _, number, _, index = path
            assert isinstance(number, int) and isinstance(index, int)
            holder = (study.file.group if path[0] == "group" else study.file.class_)[number]
            duty = holder.finish[index]
            sentence = (
                f'Nothing obliges the finish "{duty.id}" of clause {duty.clause}: it has no if,'
                " and no allowance names it under finish."
            )
            yield study.blemish(path, "finish-never-owed", duty.clause, sentence)
