"""What a command that adds to the car file has to know: taken from its options, or asked for one by one."""

import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car

_FEW = 8  # names, which a question lists

Key = tuple[str, ...]
Values = dict[Key, Any]


class Question(NamedTuple):
    """One thing that a new entry may say, at a key of its table.

    `expects` says what to write. Of `many`, each is
    asked for until an empty answer; `readings` are written without brackets if there is one. A `names` question wants
    the id of such an entry of the file. `empty` is what an empty answer means, where it is not left out. It is asked
    only `when` that holds of the answers before it.
    """

    key: Key
    prompt: str
    expects: str
    form: Literal["text", "date", "whole", "number", "yes-no"] = "text"
    needed: bool = False
    many: bool = False
    readings: bool = False
    names: str = ""
    option: str = ""
    empty: str = ""
    when: Callable[[Values], bool] = lambda values: True

    @property
    def flag(self) -> str:
        """The option or the argument that answers it."""
        return self.option or "--" + self.key[-1].replace("_", "-")

    @property
    def parameter(self) -> str:
        """That option's name within the program."""
        return self.flag.lstrip("-").replace("-", "_").lower()


def terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin is not None and sys.stdin.isatty()


def say(text: str, end: str = "\n") -> None:
    """Say something to the person at the terminal; results go elsewhere."""
    from tarebook.toml_source import show_plain

    print("\n".join(show_plain(line) for line in text.split("\n")), end=end, file=sys.stderr, flush=True)


def answer(prompt: str) -> str:
    """One line that was typed. Raises Refused when there are no more."""
    say(prompt, end=" ")
    line = sys.stdin.readline()
    if not line:
        say("")
        raise Refused("The answers ended before the last question, so nothing was written.")
    return line.strip()


def agreed(prompt: str) -> bool:
    """Whether the answer to a question is yes."""
    while True:
        word = answer(f"{prompt} (yes or no)").casefold()
        if word in ("y", "yes", "n", "no"):
            return word in ("y", "yes")
        say("  Please answer yes or no.")


class Asking:
    """The questions about one new entry of a table of a car file."""

    def __init__(self, car: "Car", table: str, questions: Iterable[Question], *, sure: bool) -> None:
        self.car = car
        self.table = table
        self.questions = list(questions)
        self.sure = sure

    def from_options(self, options: dict[str, Any]) -> Values:
        """The values of options, by their names; those not given are left out. Raises Refused, and names the option."""
        from tarebook.car.editing.answers import Unfit

        values: Values = {}
        for question in self.questions:
            texts = options.get(question.parameter)
            if not texts:
                continue
            if texts is True:
                values[question.key] = True
                continue
            try:
                if question.many:
                    values[question.key] = [self._value(question, each, self.sure) for each in texts]
                else:
                    values[question.key] = self._value(question, texts, self.sure)
            except Unfit as unfit:
                hint = " If a rule set declares it, add --sure." if question.key == ("kind",) else ""
                raise Refused(f"{question.flag}: {sentence(str(unfit))}{hint}") from None
        return values

    def missing(self, values: Values) -> list[Question]:
        """The questions that need an answer and have none."""
        return [each for each in self.questions if each.needed and each.key not in values]

    def refuse_missing(self, values: Values) -> None:
        """Refuse if something needed is missing and nobody is there to be asked."""
        if missing := self.missing(values):
            flags = ", ".join(each.flag for each in missing)
            raise Refused(f"Needed as well: {flags}. (On a terminal, you are asked.)")

    def ask(self, question: Question, values: Values) -> None:
        """Ask until the answer fits. An empty one leaves the key out; so do names of which the file has none."""
        if question.names and not question.needed and not getattr(self.car.file, question.names):
            return
        found = self._many(question) if question.many else self._one(question)
        if found is None:
            values.pop(question.key, None)
        else:
            values[question.key] = found

    def ask_key(self, key: Key, values: Values) -> None:
        """Ask for the value at a key until there is one."""
        question = next(each for each in self.questions if each.key == key)
        self.ask(question._replace(needed=True), values)

    def ask_masses_again(self, values: Values) -> None:
        """Ask once more for every mass that was given."""
        for question in self.questions:
            if question.key in values and (question.readings or question.key[0] == "estimate"):
                self.ask(question, values)

    def entry(self, values: Values) -> dict[str, Any]:
        """The entry that the values make, its keys in the order of the questions."""
        made: dict[str, Any] = {}
        for question in self.questions:
            value = values.get(question.key)
            if value is None:
                continue
            if question.readings and len(value) == 1:
                value = value[0]
            table = made
            for step in question.key[:-1]:
                table = table.setdefault(step, {})
            table[question.key[-1]] = value
        return made

    def _one(self, question: Question) -> Any:
        left = "needed" if question.needed else f"empty: {question.empty}" if question.empty else "or leave it empty"
        prompt = f"{question.prompt}? {self._expected(question)} ({left}):"
        return self._fitting(question, prompt, not question.needed)

    def _many(self, question: Question) -> list[Any] | None:
        left = "needed" if question.needed else "or leave it empty"
        found: list[Any] = []
        prompt = f"{question.prompt}? {self._expected(question)} ({left}):"
        while (value := self._fitting(question, prompt, bool(found) or not question.needed)) is not None:
            found.append(value)
            prompt = "  and another? (empty: no more)"
        return found or None

    def _expected(self, question: Question) -> str:
        """What to write; which names there are, if they are few."""
        known = [entry.id for entry in getattr(self.car.file, question.names)] if question.names else []
        return f"{question.expects}: {', '.join(known)}" if 0 < len(known) <= _FEW else question.expects

    def _fitting(self, question: Question, prompt: str, may_be_empty: bool) -> Any:
        from tarebook.car.editing.answers import Unfit

        before = ""
        while True:
            text = answer(prompt)
            if not text:
                if may_be_empty:
                    return None
                say("  This is needed.")
                continue
            try:
                return self._value(question, text, self.sure or text == before)
            except Unfit as unfit:
                say(f"  {sentence(str(unfit))}")
                if question.key == ("kind",) and "." in text:
                    say("  If a rule set declares it, write it once more.")
                before = text

    def _value(self, question: Question, text: str, insisted: bool) -> Any:
        """The value of an answer. Raises Unfit."""
        from tarebook.car.editing.answers import typed

        listed = question.many and not question.readings
        value = typed(self.table, question.key, text, self.car.units, question.form, listed=listed)
        if question.names:
            known_entry(self.car, question.names, value)
        elif question.key == ("id",):
            self._not_taken(value)
        elif question.key == ("kind",):
            self._known_kind(value, insisted)
        return value

    def _not_taken(self, name: str) -> None:
        from tarebook.car.editing.answers import Unfit

        for index, entry in enumerate(getattr(self.car.file, self.table)):
            if entry.id == name:
                line = self.car.source.line((self.table, index, "id"))
                raise Unfit(f'the file has a {self.table} "{name}" already, on line {line}')

    def _known_kind(self, kind: str, insisted: bool) -> None:
        from tarebook.car.editing.answers import Unfit

        tree = tree_of(self.car)
        if kind not in tree and not (insisted and "." in kind):
            raise Unfit(f'there is no kind "{kind}": {tree.suggest(kind) or "tarebook kinds WORD finds them"}')


def known_entry(car: "Car", table: str, name: str) -> int:
    """Which of the entries of a table has that id. Raises Unfit, with the nearest, if none has."""
    from tarebook.car.editing.answers import Unfit
    from tarebook.names import did_you_mean

    known = [entry.id for entry in getattr(car.file, table)]
    if name in known:
        return known.index(name)
    listed = f"there are {', '.join(known[:8])}" if known else "the file has none yet"
    raise Unfit(f'there is no {table} "{name}": {did_you_mean(name, known) or listed}')


def tree_of(car: "Car") -> Any:
    """The kinds that a car file may name: those that come with the program and its own."""
    from tarebook.kinds import builtin

    return builtin().extended(car.own_kinds) if car.own_kinds else builtin()


def questioned(asked: list[str], *, interactive: bool, sure: bool) -> bool:
    """Whether all is kept that looks like a slip: asked for at a terminal, else only said.

    Raises Refused where all was given on the command line, and the person at the terminal does not keep it.
    """
    if sure:
        return True
    for each in asked:
        if not interactive:
            say(f"Please look again: {each}")
            if terminal() and not agreed("  Keep it?"):
                raise Refused("Nothing was written.")
        elif not agreed(f"  {sentence(each)} Keep it?"):
            return False
    return True


def ask_again(asking: Asking, wrong: Iterable[Any], values: Values) -> bool:
    """Ask once more what led to mistakes at these places of the new entry; whether there was anything to ask."""
    new = (asking.table, len(getattr(asking.car.file, asking.table)))
    keys = {path[2] for path in wrong if path is not None and len(path) > 2 and path[:2] == new}
    again = [each for each in asking.questions if each.key[0] in keys and each.when(values)]
    for question in again:
        asking.ask(question, values)
    return bool(again)


def sentence(text: str) -> str:
    """A text with a capital at its beginning and a stop at its end."""
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!")) else f"{text}."
