"""What an edit changes in a file, line by line, before it is written."""

from tarebook.car.editing import Edited
from tarebook.toml_source import show_plain

_AROUND = 2  # unchanged lines shown on either side


def diff_lines(edited: Edited) -> list[str]:
    """The unified diff of the file as it is and as it would be, every line of it printable."""
    from difflib import unified_diff

    name = edited.before.name
    before, after = _lines(edited.before.text), _lines(edited.after.text)
    found = unified_diff(before, after, name, f"{name} (with the change)", n=_AROUND, lineterm="")
    return [show_plain(line) for line in found]


def _lines(text: str) -> list[str]:
    """The lines of a text, without their line ends: that those stay as they are is seen to elsewhere."""
    lines = [line.removesuffix("\r") for line in text.split("\n")]
    return lines[:-1] if not lines[-1] else lines
