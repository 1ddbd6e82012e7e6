"""The tree of component kinds: which names there are, what each means, and what to take care of.

The data stands in `kinds.toml`; its head says what each key means.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

EVERYTHING = "everything"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of component.

    `path` is its dotted name; `factory` says whether a road car has it from the factory: "always",
    "sometimes" or "never". `cautions` are whole sentences. `mass_range` (kg) and `along` (share of the
    wheelbase behind the front axle) are rough, for plausibility questions only. `words` are other words that
    people search by. `own` kinds were declared by a car or a book. A `leaf` is a thing; the rest are mere
    groupings: the sum of what stands under them. Own kinds are things, and a thing stays one when own kinds
    are put under it.
    """

    path: str
    title: str
    factory: str
    cautions: tuple[str, ...] = ()
    mass_range: tuple[Fraction, Fraction] | None = None
    along: float | None = None
    words: tuple[str, ...] = ()
    own: bool = False
    leaf: bool = True


def covers(kind: str, other: str) -> bool:
    """Whether `other` is `kind` itself or stands under it; "everything" covers all."""
    return kind == EVERYTHING or (other.startswith(kind) and other[len(kind) : len(kind) + 1] in ("", "."))


class KindTree:
    """An immutable tree of kinds. Paths keep the order of the data file, own kinds after those.

    `get`, `under` and `things_under` raise KeyError for a path that is not in the tree; "everything" is the
    root for the latter two, but is no kind itself.
    """

    __slots__ = ("_below", "_cautions", "_entries", "_groupings", "_kinds", "_own", "_things", "_under")

    def __init__(
        self,
        entries: Mapping[str, Mapping[str, Any]],
        cautions: Mapping[str, str],
        own: Mapping[str, Kind] | None = None,
    ) -> None:
        """`entries` and `cautions` as the data file has them: kinds are made of them when asked for."""
        self._entries = entries
        self._cautions = cautions
        self._groupings = {path.rpartition(".")[0] for path in entries}
        self._own = dict(own or {})
        self._kinds = dict(self._own)
        self._under: dict[str, tuple[str, ...]] = {}
        self._below: dict[str, list[str]] | None = None
        self._things: dict[str, tuple[str, ...]] = {}

    def __contains__(self, path: object) -> bool:
        return path in self._entries or path in self._own

    def get(self, path: str) -> Kind:
        """The kind of that exact path."""
        kind = self._kinds.get(path)
        if kind is None:
            kind = self._kinds[path] = self._make(path)
        return kind

    def _make(self, path: str) -> Kind:
        entry = self._entries[path]
        mass = entry.get("mass")
        return Kind(
            path=path,
            title=entry["title"],
            factory=entry["factory"],
            cautions=tuple(self._cautions[name] for name in entry.get("cautions", ())),
            mass_range=mass and (_kilograms(mass[0]), _kilograms(mass[1])),
            along=entry.get("along"),
            words=tuple(entry.get("words", ())),
            leaf=path not in self._groupings,
        )

    def paths(self) -> tuple[str, ...]:
        """Every path."""
        return self.under(EVERYTHING)

    def under(self, path: str) -> tuple[str, ...]:
        """The kind itself and then everything below it, at any depth; "everything" gives all paths."""
        if path == EVERYTHING:
            return (*self._entries, *self._own)
        if path not in self:
            raise KeyError(path)
        found = self._under.get(path)
        if found is None:
            found = self._under[path] = (path, *self._all_below().get(path, ()))
        return found

    def _all_below(self) -> dict[str, list[str]]:
        """By branch, everything below it; worked out for the whole tree in one go."""
        if self._below is None:
            self._below = {}
            for path in (*self._entries, *self._own):
                end = path.rfind(".")
                while end > 0:
                    self._below.setdefault(path[:end], []).append(path)
                    end = path.rfind(".", 0, end)
        return self._below

    def things_under(self, path: str) -> tuple[str, ...]:
        """Those of `under(path)` that are things, not mere groupings."""
        found = self._things.get(path)
        if found is None:
            found = tuple(other for other in self.under(path) if other not in self._groupings)
            self._things[path] = found
        return found

    def parents(self, path: str) -> tuple[str, ...]:
        """The branches above a path, nearest first; empty for a top branch."""
        above = []
        while path := path.rpartition(".")[0]:
            above.append(path)
        return tuple(above)

    def extended(self, kinds: Iterable[Kind]) -> "KindTree":
        """A tree with these own kinds added, in any order; each takes on the cautions of the branch above it.

        ValueError, with one sentence: a name that is malformed, that is taken, or with no branch above it.
        """
        added = self._checked(tuple(kinds))
        own = dict(self._own)
        # Branches before what stands under them.
        for kind in sorted(added, key=lambda kind: kind.path.count(".")):
            branch = kind.path.rpartition(".")[0]
            above = own[branch] if branch in own else self.get(branch)
            cautions = tuple(dict.fromkeys((*kind.cautions, *above.cautions)))
            own[kind.path] = replace(kind, cautions=cautions, own=True, leaf=True)
        return KindTree(self._entries, self._cautions, own)

    def _checked(self, kinds: tuple[Kind, ...]) -> tuple[Kind, ...]:
        given: set[str] = set()
        names = {kind.path for kind in kinds}
        for kind in kinds:
            path = kind.path
            if not _well_formed(path):
                raise ValueError(
                    f'"{path}" is no name for a kind: write lower-case words joined by hyphens, with dots '
                    'between levels, such as "interior.dash.clock"'
                )
            if path in self or path in given:
                raise ValueError(f'the kind "{path}" is already there: choose another name')
            given.add(path)
            branch = path.rpartition(".")[0]
            if branch not in self and branch not in names:
                raise ValueError(self._no_branch(path, branch))
        return kinds

    def _no_branch(self, path: str, branch: str) -> str:
        if not branch:
            return f'the kind "{path}" needs a branch above it: put it under one, such as "interior.{path}"'
        hint = self.suggest(branch) or "name a branch of the tree"
        return f'the kind "{path}" has no branch "{branch}" above it: {hint}'

    def suggest(self, path: str) -> str:
        """A question such as `did you mean "body.bonnet"?` for a name that is no kind, or "" if none is near.

        Other words count too: "hood" is asked back as "body.bonnet".
        """
        from tarebook.names import nearest

        meant: dict[str, list[str]] = {known: [known] for known in self.paths()}
        for known in self.paths():
            for word in (known.rpartition(".")[2], *self.get(known).words):
                meant.setdefault(word, []).append(known)
        wanted = path.casefold()
        names = [wanted] if wanted in meant else nearest(wanted, meant)
        found = dict.fromkeys(known for name in names for known in meant[name])
        *others, last = [f'"{known}"' for known in found][:3] or [""]
        if not last:
            return ""
        return f"did you mean {', '.join(others)} or {last}?" if others else f"did you mean {last}?"

    def search(self, word: str) -> list[Kind]:
        """The kinds whose path, title or other words hold `word` (every word of it), best first."""
        wanted = word.casefold().replace("-", " ").split()
        if not wanted:
            return []
        phrase = " ".join(wanted)
        ranked = []
        for path in self.paths():
            kind = self.get(path)
            rank = _rank(kind, phrase, wanted)
            if rank is not None:
                ranked.append((rank, kind))
        ranked.sort(key=lambda pair: pair[0])  # a stable sort: equals keep the order of the tree
        return [kind for _, kind in ranked]


@cache  # few masses, many kinds
def _kilograms(text: str) -> Fraction:
    from tarebook.quantities import parse_quantity

    return parse_quantity(text, "mass").value


def _well_formed(path: str) -> bool:
    import re

    return re.fullmatch(r"[a-z][a-z0-9-]*(\.[a-z][a-z0-9-]*)*", path) is not None


def _rank(kind: Kind, phrase: str, wanted: list[str]) -> int | None:
    """How well a kind answers a search: 0 is best, None not at all."""
    path = kind.path.replace("-", " ")
    title, words = kind.title.casefold(), [word.replace("-", " ") for word in kind.words]
    if path == phrase:
        return 0
    if path.rpartition(".")[2] == phrase or title == phrase:
        return 1
    if phrase in words:
        return 2
    if phrase in path:
        return 3
    if phrase in title:
        return 4
    everything = " ".join((path, title, *words))
    return 5 if all(word in everything for word in wanted) else None


@cache
def builtin() -> KindTree:
    """The tree that comes with the program."""
    import tomli

    entries = tomli.loads((Path(__file__).parent / "kinds.toml").read_text(encoding="utf-8"))
    return KindTree(entries, entries.pop("cautions"))
