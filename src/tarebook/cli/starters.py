"""`demo`, `new` and `schema`: files to begin with."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from importlib.resources.abc import Traversable


def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to write the demo.")] = Path("tarebook-demo"),
) -> None:
    """Write a demo car and invented rule sets, and check them."""
    import datetime

    from tarebook.api import check, load_car, load_rules
    from tarebook.show.report import TextReport
    from tarebook.toml_source import show_plain

    car, rules = folder / "car.toml", folder / "rulesets"
    _write_new({car: _packaged("demo/car.toml"), **{rules / name: text for name, text in _rule_sets().items()}})
    named = show_plain(str(car))
    print(f"Written: {named} and {show_plain(str(rules))}: a car and three clubs, all invented, to look at and change.")
    print("The reasons behind each verdict, and what may still come out:")
    print(f"  tarebook check {named}")
    print(f"  tarebook removals {named} road-modified")
    print("A club whose book changes by edition and bulletin:")
    changing = show_plain(str(rules / "fernbeck"))
    print(f"  tarebook revise {changing} {changing} --on 2026-10-01 --on 2027-05-01 --car {named}\n")
    the_car, editions = load_car(car), load_rules(rules)
    today = datetime.date.today()
    days = {build.id: build.date or today for build in the_car.file.build} | {"now": today, "planned": today}
    report = check(the_car, editions, on=days, build=the_car.inventory.build_names())
    print("\n".join(TextReport(report, the_car).matrix()))


def new(
    which: Annotated[
        Literal["car", "rules"], typer.Argument(help="The file to begin: car or rules.", show_default=False)
    ],
    path: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FILE]", help="Where to write it. [default: car.toml or rules.toml]", show_default=False
        ),
    ] = None,
) -> None:
    """Write a commented file to begin with."""
    from tarebook.toml_source import show_plain

    target = path or Path(f"{which}.toml")
    _write_new({target: _packaged(f"starters/{which}.toml")})
    print(f"Written: {show_plain(str(target))}. Its comments say what to fill in.")


def schema(
    which: Annotated[
        Literal["car", "rules", "bulletin", "report"],
        typer.Argument(help="What to describe: car, rules, bulletin or report.", show_default=False),
    ],
) -> None:
    """Print a JSON Schema. It describes a file for editors, or the report for other programs."""
    import json

    from tarebook.show.schemas import file_schema, report_schema

    print(json.dumps(report_schema() if which == "report" else file_schema(which), indent=1, ensure_ascii=False))


def _packaged(name: str) -> str:
    from importlib import resources

    return resources.files("tarebook").joinpath(name).read_text(encoding="utf-8")


def _rule_sets() -> dict[str, str]:
    """The example rule sets by their paths: packed into the installed program, or beside the sources of a checkout."""
    from importlib import resources

    packed = resources.files("tarebook").joinpath("rulesets")
    return dict(_texts(packed if packed.is_dir() else Path(__file__).parents[3] / "rulesets"))


def _texts(folder: "Traversable", within: str = "") -> "Iterator[tuple[str, str]]":
    for each in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if each.is_dir():
            yield from _texts(each, f"{within}{each.name}/")
        elif each.name.endswith(".toml"):
            yield within + each.name, each.read_text(encoding="utf-8")


def _write_new(files: dict[Path, str]) -> None:
    """Write files that are not there yet; nothing is written if one is."""
    for path in files:
        if path.exists() or path.is_symlink():
            raise Refused(f"{path} is there already, and nothing is overwritten: name another place.")
    try:
        for path, text in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("x", encoding="utf-8", newline="") as file:
                file.write(text)
    except OSError as error:
        raise Refused(f"{error.filename} cannot be written: {error.strerror}.") from None
