"""What came off and went on, what it cost, and how far it is to the goal: as text and as JSON."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.car.reading import Car
from tarebook.judge.findings import LimitAnswer, Row
from tarebook.quantities import factor, in_unit
from tarebook.show.text import margin, mass, wrapped
from tarebook.weight.measured import Measured
from tarebook.weight.tallying import NO_DATE, NO_PART, NO_PLACE, NO_ZONE, SEVERAL, Progress, Tally, TallyRow

_BESIDE = {
    NO_ZONE: "in no zone",
    NO_PLACE: "parts without a place",
    NO_DATE: "jobs without a date",
    SEVERAL: "jobs across several of these rows",
    NO_PART: "jobs that changed no mass",
}

_LIMIT_WORDS = {
    "eligible": "kept",
    "not-eligible": "missed",
    "too-close": "too close to call",
    "undecided": "not known",
}


class ClassMinimum(NamedTuple):
    """The minimum of a class, for two builds; a build that has no such limit has None."""

    book: str
    edition: str
    class_id: str
    clause: str
    now: LimitAnswer | None
    planned: LimitAnswer | None


def class_minima(rows: Iterable[Row]) -> list[ClassMinimum]:
    """The minima of the classes, out of the report's rows for the builds "now" and "planned"."""
    found: dict[tuple[str, str, str, str, int], ClassMinimum] = {}
    for row in rows:
        place: dict[str, int] = {}
        for limit in row.limits:
            if limit.which != "minimum":
                continue
            place[limit.clause] = place.get(limit.clause, 0) + 1
            key = (row.book, row.edition, row.class_id, limit.clause, place[limit.clause])
            known = found.get(key) or ClassMinimum(*key[:4], None, None)
            found[key] = known._replace(now=limit) if row.build == "now" else known._replace(planned=limit)
    return list(found.values())


def tally_lines(
    tally: Tally, progress: Progress, minima: list[ClassMinimum] | None, car: Car, unit: str
) -> Iterator[str]:
    """The table and what it leads to, masses in `unit`; `minima` is None where no rules were asked."""
    yield wrapped(
        f"{car.name} ({car.source.name}), build {tally.build}: what came off and went on since the outset, by"
        f" {tally.by}"
    )
    yield ""
    money = tally.currency or "cost"
    heads = [f"off {unit}", f"on {unit}", f"net {unit}", money, "hours", f"{money}/{unit}", f"hours/{unit}"]
    rows = [*tally.rows, tally.total]
    table = [heads, *(_figures(row, unit) for row in rows)]
    widths = [max(len(line[column]) for line in table) for column in range(len(heads))]
    lines = ["  ".join(each.rjust(width) for each, width in zip(line, widths, strict=True)) for line in table]
    yield f"  {lines[0]}"
    for row, line in zip(rows, lines[1:], strict=True):
        yield wrapped(_name(row), f"  {line}   ", " " * (len(line) + 7))
    if not tally.total.came_off and not tally.total.went_on:
        yield wrapped("No job of this build took off or put on anything that was weighed.", "  ")
    for row in tally.rows:
        if row.unweighed:
            yield wrapped(f"Never weighed, so not counted, in {row.id}: {', '.join(row.unweighed)}", "  ", "    ")
    if tally.total.uncosted:
        yield wrapped(f"Jobs that state no cost, counted as nothing: {', '.join(tally.total.uncosted)}", "  ", "    ")
    yield ""
    yield from _progress(tally, progress, unit)
    if minima is not None:
        yield ""
        yield from _minima(minima, unit)


def _name(row: TallyRow) -> str:
    if row.id in _BESIDE:
        return _BESIDE[row.id]
    return f"{row.title} [{row.id}]" if row.title and row.id != "total" else row.title or row.id


def _figures(row: TallyRow, unit: str) -> list[str]:
    per_mass = factor(unit, "mass")
    figures = [
        *(in_unit(each.value, unit, "mass") for each in (row.off, row.on, row.net)),
        row.cost,
        row.hours,
        *(None if each is None else each * per_mass for each in (row.cost_per_kg, row.hours_per_kg)),
    ]
    decimals = (2, 2, 2, 2, 1, 2, 2)
    return ["-" if figure is None else fixed(figure, most) for figure, most in zip(figures, decimals, strict=True)]


def fixed(figure: Fraction, decimals: int) -> str:
    """An exact figure rounded once, half to even, to so many decimals; never "-0.00"."""
    count = round(figure * 10**decimals)
    digits = str(abs(count)).rjust(decimals + 1, "0")
    return f"{'-' if count < 0 else ''}{digits[:-decimals]}.{digits[-decimals:]}"


def _progress(tally: Tally, progress: Progress, unit: str) -> Iterator[str]:
    here, outset = progress.here.mass, progress.outset.mass
    if here is None:
        reasons = "; ".join(missing.sentence for missing in progress.here.missing)
        yield wrapped(f"What build {tally.build} weighs is not known: {reasons}.")
        return
    began = "" if outset is None else f"; at the outset {mass(float(outset.value), unit)}"
    yield wrapped(
        f"The car alone, with the fuel of the inspection, build {tally.build}: {mass(float(here.value), unit)}"
        f" (u {mass(here.u, unit, 2)}){began}."
    )
    to_go, done = progress.to_go, progress.share_done
    if to_go is not None and progress.goal is not None:
        way = "" if done is None else f", {100 * done:.0f} % of the way"
        left = "to go" if to_go.value > 0 else "beyond it"
        yield wrapped(
            f"Goal {mass(float(progress.goal), unit)}: {mass(abs(float(to_go.value)), unit)} {left}{way}.", "", "  "
        )
    over = progress.over_listed
    if over is not None and progress.listed is not None:
        side = "heavier" if over.value > 0 else "lighter"
        yield wrapped(
            f"Listed kerb mass {mass(float(progress.listed), unit)}: the car is {mass(abs(float(over.value)), unit)}"
            f" {side}. What a listed figure counts in, fuel or a driver, its source says.",
            "",
            "  ",
        )


def _minima(minima: list[ClassMinimum], unit: str) -> Iterator[str]:
    if not minima:
        yield wrapped("No class of these rules has a minimum.")
        return
    yield "Margins to the minimum of each class"
    for each in minima:
        told = [f"{build} {_margin(limit, unit)}" for build, limit in (("now", each.now), ("planned", each.planned))]
        yield wrapped(f"{each.class_id} ({each.book}, clause {each.clause}): {', '.join(told)}", "  ", "      ")


def _margin(limit: LimitAnswer | None, unit: str) -> str:
    if limit is None:
        return "no such limit"
    if limit.margin_kg is None:
        return "not known"
    return f"{margin(limit.margin_kg, unit)} ({_LIMIT_WORDS[limit.verdict]})"


def tally_document(tally: Tally, progress: Progress, minima: list[ClassMinimum] | None) -> dict[str, Any]:
    """The answer as JSON."""
    document: dict[str, Any] = {
        "format": "tarebook-tally/1",
        "by": tally.by,
        "build": tally.build,
        "currency": tally.currency,
        "rows": [_row_document(row) for row in tally.rows],
        "total": _row_document(tally.total),
        "progress": {
            "outset_kg": _value(progress.outset.mass),
            "mass_kg": _value(progress.here.mass),
            "u_kg": None if progress.here.mass is None else progress.here.mass.u,
            "goal_kg": None if progress.goal is None else float(progress.goal),
            "to_go_kg": _value(progress.to_go),
            "share_done": progress.share_done,
            "kerb_mass_kg": None if progress.listed is None else float(progress.listed),
            "over_kerb_mass_kg": _value(progress.over_listed),
            "missing": [missing.sentence for missing in progress.here.missing],
        },
    }
    if minima is not None:
        document["minima"] = [
            {
                "book": each.book,
                "edition": each.edition,
                "class": each.class_id,
                "clause": each.clause,
                "now": _limit_document(each.now),
                "planned": _limit_document(each.planned),
            }
            for each in minima
        ]
    return document


def _row_document(row: TallyRow) -> dict[str, Any]:
    return {
        "id": row.id,
        "title": row.title,
        "off_kg": float(row.off.value),
        "on_kg": float(row.on.value),
        "net_kg": float(row.net.value),
        "net_u_kg": row.net.u,
        "cost": float(row.cost),
        "hours": float(row.hours),
        "cost_per_kg": None if row.cost_per_kg is None else float(row.cost_per_kg),
        "hours_per_kg": None if row.hours_per_kg is None else float(row.hours_per_kg),
        "unweighed": row.unweighed,
        "without_cost": row.uncosted,
    }


def _limit_document(limit: LimitAnswer | None) -> dict[str, Any] | None:
    if limit is None:
        return None
    return {"limit_kg": limit.limit_kg, "margin_kg": limit.margin_kg, "verdict": limit.verdict}


def _value(known: Measured | None) -> float | None:
    return None if known is None else float(known.value)
