"""Words for an edition of a book as it was judged by."""

from tarebook.judge.wording import listed
from tarebook.rules.reading import RuleSet


def edition_text(rules: RuleSet) -> str:
    """Which edition of which book, with which bulletins."""
    counted = [each.number for each in rules.bulletins if not each.proposed]
    proposed = [each.number for each in rules.bulletins if each.proposed]
    with_them = f" with bulletin{'s' * (len(counted) > 1)} {listed(counted)}" if counted else ""
    with_them += f"{', and' if counted else ''} as proposed in {listed(proposed)}" if proposed else ""
    return f"{rules.file.book.title}, edition {rules.edition}{with_them}"
