"""A bare car to import into, and short ways to read a CSV text into it. Everything here is invented."""

from tarebook.car.reading import Car, parse_car
from tarebook.car.spreadsheet import Plan, Table, export_csv, parse_csv, plan_import, recognised
from tarebook.toml_source import MistakesFound, render

CAR = """\
format = "tarebook-car/1"
[car]
name = "Sandpiper"
[units]
money = "EUR"
[[scale]]
id = "kitchen"
resolution = "1 g"
"""


def car(body: str = "") -> Car:
    return parse_car(CAR + body, "car.toml")


def table(text: str | bytes, which: str = "part", name: str = "sheet.csv") -> Table:
    content = text.encode() if isinstance(text, str) else text
    return recognised(parse_csv(content, name), "job" if which == "job" else "part")


def plan(text: str | bytes, body: str = "", which: str = "part", **more) -> Plan:
    return plan_import(car(body), [table(text, which)], **more)


def added(text: str | bytes, body: str = "", which: str = "part") -> list[dict]:
    """The entries that a CSV text adds, as the car file has them afterwards."""
    found = plan(text, body, which)
    return found.edited.after.data.get(which, [])[len(car(body).source.data.get(which, [])) :]


def refused(text: str | bytes, body: str = "", which: str = "part") -> list[str]:
    """What is said of a CSV text that is refused: each mistake and its hint, without the excerpt."""
    try:
        plan(text, body, which)
    except MistakesFound as found:
        shown = [render(each).split("\n") for each in found.mistakes]
        return [
            lines[0] + (f" | {each.hint}" if each.hint else "")
            for lines, each in zip(shown, found.mistakes, strict=True)
        ]
    raise AssertionError("the text was taken")


def exported(body: str, which: str = "part", **more) -> str:
    return export_csv(car(body), "job" if which == "job" else "part", **more)
