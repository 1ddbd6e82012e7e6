"""Reads one rule-set file as far as it can be read, for proofreading.

A mistake of reading hides what comes after it. So what has a mistake is told and left out, and the rest is read again,
until it can be read or no more can be left out.
"""

from typing import Any, NamedTuple

from tarebook.proofread.findings import Blemish
from tarebook.proofread.mending import WORDS, DataPath, Entry, Step, nameless, steps_for, take
from tarebook.proofread.telling import told
from tarebook.rules.checks import NO_CLASS, UNKNOWN_FINISH
from tarebook.rules.classes import RULE_LISTS
from tarebook.rules.drafts import Draft
from tarebook.rules.reading import RuleSet, rules_from
from tarebook.rules.weight_checks import INCOMPLETE
from tarebook.toml_source import Mistake, MistakesFound, Source

_MOST_READINGS = 12
_MOST_LEFT_OUT = 200  # beyond that many, what is left of a rule set says little
_OF_A_WHOLE_CLASS = (INCOMPLETE, NO_CLASS, UNKNOWN_FINISH)


class LeftOut(NamedTuple):
    """What was left out: the form of rule that it is, "example", or the key that held it; and what was written there.

    `follows` marks what had no mistake of its own, but named something that had.
    """

    form: str
    entry: Any
    follows: bool = False

    @property
    def nameless(self) -> set[str]:
        """The sorts of mistakes that may be there only because nobody knows what it is called."""
        return nameless(self.form, self.entry)

    def names(self, key: str) -> set[str]:
        """The texts that it lists under a key."""
        listed = self.entry.get(key) if isinstance(self.entry, dict) else None
        return {each for each in listed if isinstance(each, str)} if isinstance(listed, list) else set()

    @property
    def called(self) -> set[str]:
        """What other entries may call it: its clause, each that this stands under, its id; of an example, nothing."""
        return set() if self.form == "example" else _called(self.entry)


def _called(value: Any) -> set[str]:
    found: set[str] = set()
    if isinstance(value, dict):
        levels = str(value.get("clause", "")).split(".")
        found = {".".join(levels[:count]) for count in range(1, len(levels) + 1)} | {str(value.get("id", ""))}
    if isinstance(value, dict | list):
        for each in value.values() if isinstance(value, dict) else value:
            found |= _called(each)
    return found - {""}


class Reading(NamedTuple):
    """An edition as far as it could be read.

    Attributes:
        rules: the edition, without the rules, corrections and examples that have mistakes; None where anything else
            has one, as it is then not known what the edition says.
        remains: what could be read all the same, for checks of sense; None where nothing could.
        examples: how many examples the file has, in any state.
        wants_book: it has classes from another book that could not be read, or is not there.
    """

    name: str
    rules: RuleSet | None
    mistakes: tuple[Blemish, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    remains: RuleSet | None = None
    examples: int = 0
    wants_book: bool = False


def salvaged(source: Source) -> Reading:
    """A rule set without what has mistakes, and those mistakes."""
    reading = _Salvage(source).run()
    listed = source.data.get("example")
    return reading._replace(examples=len(listed) if isinstance(listed, list) else 0)


class _Salvage:
    def __init__(self, source: Source) -> None:
        self._name = source.name
        self._draft = Draft(source)
        self._text = source
        self._found: dict[Mistake, Blemish] = {}
        self._left_out: list[LeftOut] = []
        self._gone: set[str] = set()  # what those were called
        self._excused: set[str] = set()  # sorts of mistakes that may be for want of something without a name
        self._whole = True  # but for rules, corrections and examples

    def run(self) -> Reading:
        for _ in range(_MOST_READINGS):
            try:
                rules = rules_from(self._text)
            except MistakesFound as error:
                if not self._leave_out(error.mistakes):
                    break
                self._text = self._draft.source()
            else:
                return self._reading(rules)
        return self._reading(None)

    def _reading(self, remains: RuleSet | None) -> Reading:
        rules = remains if self._whole else None
        return Reading(self._name, rules, tuple(self._found.values()), tuple(self._left_out), remains)

    def _leave_out(self, mistakes: tuple[Mistake, ...]) -> bool:
        """Tell mistakes, and leave out what has them; whether what is left may be read."""
        steps: list[Step] = []
        entries: dict[Entry, bool] = {}  # each with whether it only misses what was left out before
        helped = True
        gone, excused, whole = frozenset(self._gone), frozenset(self._excused), self._whole
        for mistake in mistakes:
            misses = any(f'"{name}"' in mistake.message for name in gone)
            misses = misses or mistake.what in excused or (not whole and mistake.what in _OF_A_WHOLE_CLASS)
            if not misses:
                self._found.setdefault(mistake, told(mistake, self._draft.data))
            taken = steps_for(self._draft.data, mistake.path, misses=misses)
            helped = helped and bool(taken)
            for step in taken:
                steps.append(step)
                if isinstance(step, Entry) and not step.name:
                    entries[step] = entries.get(step, True) and misses
                self._whole = self._whole and _within_the_edition(step, misses)
                if not isinstance(step, Entry) and mistake.what != "written-twice":
                    self._gone |= _called(self._draft.at(step.path)) | _id(self._draft.at(step.path), step.path)
                    if step.path[-1] == "id":
                        self._excused |= nameless(str(step.path[0]), self._draft.at(step.path[:-1]))
        if not helped or len(self._left_out) + len(entries) > _MOST_LEFT_OUT:
            return False
        for entry, misses in entries.items():
            left = LeftOut(str(entry.path[-1]), self._draft.at((*entry.path, entry.number)), misses)
            self._left_out.append(left)
            self._gone |= left.called
            self._excused |= nameless(left.form, left.entry)
        take(self._draft, steps)
        return True


def _within_the_edition(step: Step, misses: bool) -> bool:
    """Whether the edition is still known without this: a rule, a correction, an example, the name of one left out."""
    if not isinstance(step, Entry):
        return step.path[-1] in WORDS and len(step.path) > 3
    if step.name:
        return misses
    return step.path[-1] in (*RULE_LISTS, "adjust", "example")


def _id(value: Any, path: DataPath) -> set[str]:
    return {value} if path[-1] == "id" and isinstance(value, str) and value else set()
