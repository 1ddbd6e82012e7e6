"""Changes to a car file that leave everything else in it as it was.

before = load_car("heron.toml")
change = AddEntries("part", [{"id": "carpet", "kind": "interior.floor.carpet", "mass": "4.2 kg"}])
after = edited(before.source, [change])     # refuses what is unsound; nothing is written yet
write_edited("heron.toml", after)           # all of it or nothing
"""

from tarebook.car.editing.changes import AddEntries, AddToList, Change, ReplaceKey, SetKey
from tarebook.car.editing.checked import Edited, edited
from tarebook.car.editing.refusals import EditRefused
from tarebook.car.editing.writing import write_edited

__all__ = [
    "AddEntries",
    "AddToList",
    "Change",
    "EditRefused",
    "Edited",
    "ReplaceKey",
    "SetKey",
    "edited",
    "write_edited",
]
