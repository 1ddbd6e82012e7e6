"""A small invented car file in both ways of writing it, and a short way to edit it."""

from tarebook.car.editing import edited
from tarebook.car.reading import parse_car

HEAD = 'format = "tarebook-car/1"\n\n[car]\nname = "Wren"\n'
BLOCKS = (
    HEAD
    + """
# ---- Parts
[[part]]
id = "carpet"              # in the loft
kind = "interior.floor.carpet"
mass = "4.00 kg"
# a note at the end of the carpet

# The console, weighed twice.
[[part]]
id = "console"
kind = "interior.console"
mass = [
    "2.40 kg",   # cold
    "2.41 kg",
]

# ---- Jobs
[[job]]
id = "strip"
state = "planned"
off = ["carpet"]
"""
)
INLINE = """\
format = "tarebook-car/1"
car = { name = "Wren" }
part = [
  { id = "carpet", kind = "interior.floor.carpet", mass = "4.00 kg" }, # in the loft
  { id = "console", kind = "interior.console", mass = ["2.40 kg"] }    # no comma here
  # the end
]
job = [{ id = "strip", state = "planned", off = ["carpet"] }]
"""
MAT = {"id": "mat", "kind": "stowage.loose", "mass": "1.5 kg"}


def after(text, *changes):
    """The text after changes."""
    return edited(parse_car(text, "wren.toml").source, changes).after.text
