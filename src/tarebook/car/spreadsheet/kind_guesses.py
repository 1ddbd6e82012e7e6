"""Which kind of the tree a title probably means. A guess is only ever a proposal."""

from __future__ import annotations

import re

from tarebook.kinds import KindTree

MOST_GUESSES = 300  # in one file: beyond these, looking takes time, and nobody looks through them
_MOST_WORDS = 5
_SHORTEST = 3  # characters of a word that may stand alone


class KindGuesses:
    """Guesses from one tree; each title is looked up once."""

    def __init__(self, tree: KindTree) -> None:
        self._tree = tree
        self._known: dict[str, str] = {}
        self._searched: dict[str, str] = {}

    @property
    def full(self) -> bool:
        """Whether no more titles are looked up."""
        return len(self._known) >= MOST_GUESSES

    def guess(self, title: str) -> str:
        """The path of the kind that fits a title best, or "" if none fits (or too many were looked up)."""
        wanted = title.casefold().strip()
        if wanted in self._tree:
            return wanted
        if wanted not in self._known:
            if self.full:
                return ""
            self._known[wanted] = self._look(wanted)
        return self._known[wanted]

    def _look(self, title: str) -> str:
        """By the title up to its first comma or bracket; then by ever shorter runs of its words, last ones first."""
        head = re.split(r"[,;:(\[]", title, maxsplit=1)[0]
        words = re.findall(r"[\w']+", head.replace("-", " "))[:_MOST_WORDS]
        for size in range(len(words), 0, -1):
            for start in range(len(words) - size, -1, -1):
                phrase = " ".join(words[start : start + size])
                if len(phrase) < _SHORTEST:
                    continue
                for each in dict.fromkeys((phrase, phrase.removesuffix("s"))):
                    if found := self._search(each):
                        return found
        return ""

    def _search(self, phrase: str) -> str:
        if phrase not in self._searched:
            found = self._tree.search(phrase)
            self._searched[phrase] = found[0].path if found else ""
        return self._searched[phrase]
