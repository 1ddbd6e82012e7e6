"""Lays a bulletin over an edition: its text is edited where it is written, before `like` and `uses`."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from tarebook.names import did_you_mean
from tarebook.rules.bulletins import Amend, Bulletin
from tarebook.rules.classes import RULE_LISTS, clause_covers
from tarebook.rules.drafts import Draft
from tarebook.toml_source import Mistake, MistakesFound, Source

Path = tuple[str | int, ...]
_OWN_CLAUSE = ("ballast", "front_axle", "rear_axle")  # keys of `weight` that may name a clause of their own
_NO_KEYS = ("clause", "says")  # of `weight`: they say nothing by themselves


class Entry(NamedTuple):
    """A piece of the text that has a clause: a rule, a correction, a key of `weight`."""

    clause: str
    path: Path


def amended_source(source: Source, bulletin: Bulletin) -> Source:
    """The text of an edition with a bulletin applied to it, not yet read again.

    Raises MistakesFound where the bulletin does not fit: no such clause, class or group, or several places for one
    `set`.
    """
    amending = _Amending(source, bulletin)
    for index, amend in enumerate(bulletin.file.amend):
        amending.apply(amend, ("amend", index))
    if amending.mistakes:
        raise MistakesFound(amending.mistakes)
    return amending.draft.source()


class _Amending:
    def __init__(self, source: Source, bulletin: Bulletin) -> None:
        self.draft = Draft(source)
        self.bulletin = bulletin
        self.mistakes: list[Mistake] = []

    def apply(self, amend: Amend, here: Path) -> None:
        """Apply one amendment, which stands at `here` in the bulletin."""
        holders = self._holders(amend, here)
        if not holders:
            return
        if amend.withdraw:
            self._withdraw(amend, holders, here)
        elif amend.add is not None:
            self._add(amend, holders, here)
        else:
            for key, value in (amend.set_ or {}).items():
                if key == "weight" and isinstance(value, dict):
                    for each in value:
                        self._set_weight(amend, holders, f"weight.{each}", value[each], (*here, "set", key, each))
                elif key.startswith("weight."):
                    self._set_weight(amend, holders, key, value, (*here, "set", key))
                else:
                    self._set(amend, holders, key, value, (*here, "set", key))

    # --- Where

    def _note(self, path: Path, message: str, hint: str = "", *, key: bool = False) -> None:
        self.mistakes.append(self.bulletin.source.mistake(path, message, hint, key=key, what="bulletin-does-not-fit"))

    def _tables(self, name: str) -> list[dict[str, Any]]:
        entries = self.draft.data.get(name, [])
        return [each for each in entries if isinstance(each, dict)] if isinstance(entries, list) else []

    def _holders(self, amend: Amend, here: Path) -> list[Path]:
        """The classes and groups that an amendment speaks of; with neither named, all."""
        for name, wanted in (("class", amend.class_), ("group", amend.group)):
            if wanted is not None:
                known = [each.get("id") for each in self._tables(name)]
                if wanted in known:
                    return [(name, known.index(wanted))]
                words = [each for each in known if isinstance(each, str)]
                hint = did_you_mean(wanted, words) or f"there are {', '.join(words[:8])}"
                self._note((*here, name), f'{self._edition} has no {name} "{wanted}"', hint)
                return []
        return [(name, index) for name in ("group", "class") for index in range(len(self._tables(name)))]

    @property
    def _edition(self) -> str:
        file = self.bulletin.file
        return f'edition {file.edition} of "{file.amends}"'

    def _reach(self, index: int) -> list[Path]:
        """The class and everything that it has by `like` and from groups, nearest first."""
        classes, groups = self._tables("class"), self._tables("group")
        by_id = {each.get("id"): place for place, each in enumerate(classes)}
        found: list[Path] = []
        used: list[Path] = []
        at: int | None = index
        while at is not None and ("class", at) not in found:
            each = classes[at]
            found.append(("class", at))
            for place, group in enumerate(groups):
                if group.get("everywhere") or group.get("id") in each.get("uses", ()):
                    used.append(("group", place))
            at = by_id.get(each.get("like"))
        return [*found, *dict.fromkeys(used)]

    # --- What has a clause

    def _rules(self, holder: Path) -> Iterator[Entry]:
        """The rules of a class or group, and the corrections and keys that name a clause of their own."""
        table = self.draft.at(holder)
        for form in RULE_LISTS:
            for index, rule in enumerate(table.get(form, ())):
                path = (*holder, form, index)
                yield Entry(str(rule.get("clause", "")), path)
                yield from self._corrections(path)
        weight = table.get("weight", {})
        yield from self._corrections((*holder, "weight"))
        for key in _OWN_CLAUSE:
            if isinstance(weight.get(key), dict) and "clause" in weight[key]:
                yield Entry(weight[key]["clause"], (*holder, "weight", key))

    def _corrections(self, path: Path) -> Iterator[Entry]:
        for index, adjust in enumerate((self.draft.at(path) or {}).get("adjust") or ()):
            if "clause" in adjust:
                yield Entry(adjust["clause"], (*path, "adjust", index))

    def _weight_keys(self, holder: Path) -> Iterator[Entry]:
        """The keys of `weight`, each with the clause that states it."""
        weight = self.draft.at((*holder, "weight")) or {}
        for key, value in weight.items():
            if key not in _NO_KEYS:
                own = value.get("clause") if key in _OWN_CLAUSE and isinstance(value, dict) else None
                yield Entry(str(own or weight.get("clause", "")), (*holder, "weight", key))

    def _entries(self, holder: Path) -> Iterator[Entry]:
        yield from self._rules(holder)
        yield from self._weight_keys(holder)

    def _no_clause(self, amend: Amend, here: Path) -> None:
        known = {
            each.clause
            for name in ("group", "class")
            for at in range(len(self._tables(name)))
            for each in self._entries((name, at))
        }
        where = f' in class "{amend.class_}"' if amend.class_ else f' in group "{amend.group}"' if amend.group else ""
        if any(clause_covers(amend.clause, clause) for clause in known):
            hint = "the clause stands elsewhere in the book: name another class or group, or neither for everywhere"
        else:
            hint = did_you_mean(amend.clause, sorted(known - {""}))
        self._note((*here, "clause"), f'{self._edition} has no clause "{amend.clause}"{where}', hint)

    # --- withdraw

    def _withdraw(self, amend: Amend, holders: list[Path], here: Path) -> None:
        taken = [self._take_out(holder, amend.clause) for holder in holders]
        found = any(taken)
        if amend.class_ is not None:
            found |= self._drop_inherited(amend, holders[0], here)
        found |= self._take_chapters(amend, holders, here)
        if not found:
            self._no_clause(amend, here)
            return
        self._forget_references()

    def _take_out(self, holder: Path, clause: str) -> bool:
        gone = [each.path for each in self._rules(holder) if clause_covers(clause, each.clause)]
        whole = [path for path in gone if not any(path[:length] in gone for length in range(len(path)))]
        for path in sorted(whole, key=_backwards):
            if isinstance(path[-1], int):
                self.draft.remove(path[:-1], path[-1])
            else:
                self.draft.drop(path)
        keys = [each.path for each in self._weight_keys(holder) if clause_covers(clause, each.clause)]
        for path in keys:
            self.draft.drop(path)
        if keys and not any(self._weight_keys(holder)):
            self.draft.drop((*holder, "weight"))
        return bool(gone or keys)

    def _drop_inherited(self, amend: Amend, holder: Path, here: Path) -> bool:
        index = holder[1]
        assert isinstance(index, int)
        inherited = (each for path in self._reach(index)[1:] for each in self._entries(path))
        if not any(clause_covers(amend.clause, each.clause) for each in inherited):
            return False
        place = (*holder, "drops")
        if self.draft.at(place) is None:
            self.draft.put(place, [], self.bulletin.source, (*here, "clause"))
        drops = self.draft.at(place)
        if amend.clause not in drops:
            self.draft.put((*place, len(drops)), amend.clause, self.bulletin.source, (*here, "clause"))
        return True

    def _take_chapters(self, amend: Amend, holders: list[Path], here: Path) -> bool:
        """A class or group whose own chapter is withdrawn goes as a whole."""
        found = False
        for name, index in sorted(holders, key=_backwards):
            table = self.draft.at((name, index))
            chapter = table.get("clause")
            if not isinstance(chapter, str) or not clause_covers(amend.clause, chapter):
                continue
            if name == "class":
                like = [each["id"] for each in self._tables("class") if each.get("like") == table["id"]]
                if like:
                    said = f'class "{table["id"]}" cannot be withdrawn: class "{like[0]}" is like it'
                    self._note((*here, "clause"), said, "withdraw its clauses one by one")
                    continue
            assert isinstance(index, int)
            self.draft.remove((name,), index)
            for place, each in enumerate(self._tables("class") if name == "group" else ()):
                uses = each.get("uses", [])
                if table["id"] in uses:
                    self.draft.remove(("class", place, "uses"), uses.index(table["id"]))
            found = True
        return found

    def _forget_references(self) -> None:
        """What named a clause or a finish that is no longer in the book names it no more."""
        holders = [(name, at) for name in ("group", "class") for at in range(len(self._tables(name)))]
        clauses = {each.clause for holder in holders for each in self._entries(holder)}
        clauses |= {each["clause"] for name in ("group", "class") for each in self._tables(name) if "clause" in each}
        clauses |= {str(self.draft.at((*holder, "weight", "clause"))) for holder in holders}
        clauses.add(str(self.draft.at(("book", "clause"))))

        def known(clause: object) -> bool:
            return isinstance(clause, str) and any(clause_covers(clause, each) for each in clauses)

        for holder in holders:
            self._keep((*holder, "drops"), known)
            for entry in list(self._rules(holder)):
                self._keep((*entry.path, "despite"), known)
                if entry.path[-2] == "allow":
                    self._keep((*entry.path, "finish"), self._obliged(holder))

    def _keep(self, path: Path, wanted: Any) -> None:
        listed = self.draft.at(path)
        for index in reversed(range(len(listed or ()))):
            if not wanted(listed[index]):
                self.draft.remove(path, index)

    def _obliged(self, holder: Path) -> Any:
        """Whether some class that has the rules of this holder has a finish of that name."""
        reaching = [self._reach(index) for index in range(len(self._tables("class")))]
        finishes = {
            finish.get("id")
            for reach in reaching
            if holder in reach
            for path in reach
            for finish in self.draft.at(path).get("finish", ())
        }
        return finishes.__contains__

    # --- add

    def _add(self, amend: Amend, holders: list[Path], here: Path) -> None:
        assert amend.add is not None
        known = [*RULE_LISTS, "adjust"]
        for form, added in amend.add.items():
            place = (*here, "add", form)
            if form not in known:
                hint = did_you_mean(form, known) or f"what can be added is {', '.join(known)}"
                self._note(place, f'unknown key "{form}" in add', hint, key=True)
                continue
            for number, entry in enumerate(added if isinstance(added, list) else [added]):
                at = (*place, number) if isinstance(added, list) else place
                if not isinstance(entry, dict):
                    self._note(at, f"a table is expected: {form} = {{ .. }}, or a list of tables")
                    continue
                if amend.class_ or amend.group:
                    self._append(holders[0], form, entry, amend, at, here)
                elif form == "adjust":
                    self._note(at, "a correction is added to a class or a group: name it")
                else:
                    self._append(self._everywhere(here), form, entry, amend, at, here)

    def _append(self, holder: Path, form: str, entry: dict[str, Any], amend: Amend, at: Path, here: Path) -> None:
        source = self.bulletin.source
        if form == "adjust":
            if not self._own_weight_key(holder, "adjust", here):
                self.draft.put((*holder, "weight", "adjust"), [], source, at)
            holder = (*holder, "weight")
        path = (*holder, form)
        if self.draft.at(path) is None:
            self.draft.put(path, [], source, at)
        where = (*path, len(self.draft.at(path)))
        self.draft.put(where, entry, source, at)
        if "clause" not in entry:
            self.draft.put((*where, "clause"), amend.clause, source, (*here, "clause"))

    def _everywhere(self, here: Path) -> Path:
        """A group of the bulletin's own that holds in every class."""
        name = "bulletin-" + "".join(
            each if each.isalnum() and each.isascii() else "-" for each in self.bulletin.number
        )
        groups = self._tables("group")
        for index, group in enumerate(groups):
            if group.get("id") == name.lower():
                return ("group", index)
        if "group" not in self.draft.data:
            self.draft.put(("group",), [], self.bulletin.source, here)
        path = ("group", len(groups))
        self.draft.put(path, {"id": name.lower(), "everywhere": True}, self.bulletin.source, here)
        return path

    # --- set

    def _set(self, amend: Amend, holders: list[Path], key: str, value: Any, at: Path) -> None:
        here = at[:2]
        places = [each.path for holder in holders for each in self._rules(holder) if each.clause == amend.clause]
        if not places:
            places = [holder for holder in holders if self.draft.at(holder).get("clause") == amend.clause]
            if not places and self.draft.at(("book", "clause")) == amend.clause and not (amend.class_ or amend.group):
                places = [("book",)]
        if len(places) == 1:
            self._set_at(places[0], key.split("."), value, at)
        elif places:
            lines = ", ".join(str(self.draft.source().line(path)) for path in places)
            self._note(
                (*here, "clause"),
                f"clause {amend.clause} is written in {len(places)} places (lines {lines}), and set changes just one",
                "name the class or the group, or withdraw the clause and add it anew",
            )
        elif amend.class_ is not None and self._inherits(holders[0], amend.clause):
            self._note(
                (*here, "clause"),
                f'class "{amend.class_}" has clause {amend.clause} from elsewhere, so there is nothing to set in it',
                "amend it where it is written, or withdraw it here and add another",
            )
        elif any(each.clause == amend.clause for holder in holders for each in self._weight_keys(holder)):
            self._note(at, f'what stands in weight is set by its whole name: "weight.{key}"', key=True)
        else:
            self._no_clause(amend, here)

    def _inherits(self, holder: Path, clause: str) -> bool:
        index = holder[1]
        assert isinstance(index, int)
        return any(each.clause == clause for path in self._reach(index)[1:] for each in self._entries(path))

    def _set_at(self, place: Path, keys: list[str], value: Any, at: Path) -> None:
        for depth, key in enumerate(keys[:-1]):
            inner = self.draft.at((*place, key))
            if inner is None:
                self.draft.put((*place, key), {}, self.bulletin.source, at)
            elif not isinstance(inner, dict):
                shown = ".".join(keys[: depth + 1])
                self._note(at, f'"{shown}" is no table here, so it has no "{keys[depth + 1]}"', key=True)
                return
            place = (*place, key)
        self.draft.put((*place, keys[-1]), value, self.bulletin.source, at)

    def _set_weight(self, amend: Amend, holders: list[Path], dotted: str, value: Any, at: Path) -> None:
        here = at[:2]
        keys = dotted.split(".")[1:]
        named = amend.class_ is not None or amend.group is not None
        standing = [(holder, clause) for holder in holders if (clause := self._states(holder, keys[0], named))]
        related = [holder for holder, clause in standing if _related(clause, amend.clause)]
        if not related and standing and named:
            clause = standing[0][1]
            self._note((*here, "clause"), f"weight.{keys[0]} stands in clause {clause} here, not in {amend.clause}")
            return
        if not standing and named and self._has_clause(holders[0], amend.clause):
            related = holders
        if not related:
            self._no_clause(amend, here)
            return
        for holder in related:
            if self.draft.at((*holder, "weight")) is None:
                self.draft.put((*holder, "weight"), {"clause": amend.clause}, self.bulletin.source, (*here, "clause"))
            if len(keys) > 1:
                self._own_weight_key(holder, keys[0], here)
            self._set_at((*holder, "weight"), keys, value, at)

    def _states(self, holder: Path, key: str, inherited: bool) -> str | None:
        """The clause under which a holder, or what a class has by `like` and from groups, states a key of weight."""
        index = holder[1]
        assert isinstance(index, int)
        reach = self._reach(index) if inherited and holder[0] == "class" else [holder]
        for path in reach:
            for each in self._weight_keys(path):
                if each.path[-1] == key:
                    return each.clause
        return None

    def _has_clause(self, holder: Path, clause: str) -> bool:
        index = holder[1]
        assert isinstance(index, int)
        reach = self._reach(index) if holder[0] == "class" else [holder]
        return any(_related(each.clause, clause) for path in reach for each in self._entries(path) if each.clause)

    def _own_weight_key(self, holder: Path, key: str, here: Path) -> bool:
        """Make sure that a holder states a key of weight itself, copied from where it has it; False: it has none."""
        if self.draft.at((*holder, "weight")) is None:
            self.draft.put((*holder, "weight"), {}, self.bulletin.source, (*here, "clause"))
        if self.draft.at((*holder, "weight", key)) is not None:
            return True
        index = holder[1]
        assert isinstance(index, int)
        for path in self._reach(index)[1:] if holder[0] == "class" else ():
            value = self.draft.at((*path, "weight", key))
            if value is not None:
                clause = self.draft.at((*path, "weight", "clause"))
                source, place = self.draft.origin((*path, "weight", key))
                self.draft.put((*holder, "weight", key), value, source, place)
                if self.draft.at((*holder, "weight", "clause")) is None and clause is not None:
                    self.draft.put((*holder, "weight", "clause"), clause, self.bulletin.source, (*here, "clause"))
                return True
        return False


def _related(one: str, other: str) -> bool:
    return clause_covers(one, other) or clause_covers(other, one)


def _backwards(path: Path) -> tuple[tuple[bool, int], ...]:
    """A sort key that puts later entries of a list first, so that taking one out moves none that is still to go."""
    return tuple((True, -step) if isinstance(step, int) else (False, 0) for step in path)
