"""Conditions that can never hold, and bounds that no part can keep."""

from collections.abc import Iterator

from tarebook.meaning.words import part_text
from tarebook.proofread.findings import Blemish
from tarebook.proofread.study import Study
from tarebook.rules.classes import all_rules


def conditions_that_never_hold(study: Study) -> Iterator[Blemish]:
    for path, node in study.rules.nodes.items():
        if study.never_holds(node):
            clause = study.clause_at(path)
            about = "What clause {} demands" if path[-1] == "must" else "The condition of clause {}"
            sentence = f"{about.format(clause)} can never hold: {study.words(node)}."
            yield study.blemish(path, "never-holds", clause, sentence)


def bounds_that_no_part_keeps(study: Study) -> Iterator[Blemish]:
    for _, rule, path in all_rules(study.file):
        bounds = getattr(rule, "part", None)
        if study.never_holds(None, bounds):
            words = part_text(bounds, study.rules.tree, study.units)
            sentence = f"No part can keep the bounds of clause {rule.clause}: {words}."
            yield study.blemish((*path, "part"), "never-holds", rule.clause, sentence)
