"""The bulletin file: an amendment of one edition in the season, or a proposal, as written."""

import datetime
from typing import Annotated, Any, Literal

from tarebook.fields import Clause, Identifier
from tarebook.rules.models import InForce
from tarebook.tables import NotEmpty, Table, read_file
from tarebook.toml_source import MistakesFound, Source

FORMAT = "tarebook-bulletin/1"


class Amend(Table):
    """One change of the text: keys that are set, entries that are added, or a clause that is withdrawn."""

    clause: Clause
    class_: str | None = None
    group: str | None = None
    set_: dict[str, Any] | None = None
    add: dict[str, Any] | None = None
    withdraw: Literal[True] | None = None
    says: str = ""


class BulletinFile(Table):
    """The whole bulletin file. Bare numbers in it are in the units of the book that it amends."""

    format: Literal["tarebook-bulletin/1"]
    amends: Identifier
    edition: str
    number: Annotated[str, NotEmpty()]
    status: Literal["in-force", "proposed"]
    in_force: InForce | None = None
    title: str = ""
    note: str = ""
    amend: Annotated[list[Amend], NotEmpty()]


class Bulletin:
    """One bulletin, read and checked by itself; whether it fits its edition shows when it is applied."""

    def __init__(self, file: BulletinFile, source: Source) -> None:
        self.file = file
        self.source = source

    @property
    def number(self) -> str:
        return self.file.number

    @property
    def proposed(self) -> bool:
        return self.file.status == "proposed"

    @property
    def order(self) -> tuple[datetime.date, bool, int, str]:
        """Bulletins apply by date, then by number: whole numbers as such, before other numbers."""
        begins = self.file.in_force.from_ if self.file.in_force else datetime.date.min
        whole = self.number.isascii() and self.number.isdigit()
        return begins, not whole, int(self.number) if whole else 0, self.number

    def covers(self, day: datetime.date) -> bool:
        """Whether it holds on a day; both ends count. A proposal without a date holds on every day of its edition."""
        in_force = self.file.in_force
        if in_force is None:
            return True
        return in_force.from_ <= day and (in_force.until is None or day <= in_force.until)


def bulletin_from(source: Source) -> Bulletin:
    """Read a bulletin. Raises MistakesFound with all that is wrong in it by itself."""
    file, mistakes = read_file(BulletinFile, source, {})
    if file is None:
        raise MistakesFound(mistakes)

    def note(path: tuple[str | int, ...], message: str, hint: str = "", *, key: bool = False) -> None:
        mistakes.append(source.mistake(path, message, hint, key=key))

    if file.in_force is None and file.status == "in-force":
        note((), "a bulletin in force says from when: in_force = { from = 2027-06-01 }", key=True)
    if file.in_force is not None and file.in_force.until is not None and file.in_force.until < file.in_force.from_:
        note(("in_force",), "this bulletin ends before it begins")
    for index, amend in enumerate(file.amend):
        path = ("amend", index)
        stated = [key for key in ("set", "add", "withdraw") if key in source.data["amend"][index]]
        if len(stated) != 1:
            note(path, "an amendment says just one of set, add and withdraw", "write a second [[amend]] for the other")
        if amend.class_ is not None and amend.group is not None:
            note((*path, "group"), "an amendment is of a class or of a group, not of both", key=True)
        for key in ("set", "add"):
            if key in stated and not source.data["amend"][index][key]:
                note((*path, key), f"{key} is empty")
    if mistakes:
        raise MistakesFound(mistakes)
    return Bulletin(file, source)
