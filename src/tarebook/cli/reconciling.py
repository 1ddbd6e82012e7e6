"""`reconcile`: do the scales agree with the ledger."""

from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import CarArgument, JsonOption, print_json
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car

AGREES, DISAGREES, NOT_KNOWN = 0, 1, 3
UnitsOption = Annotated[
    str | None,
    typer.Option(
        "--units",
        metavar="UNIT",
        help="The unit of mass to print, such as lb. [default: as in the car file]",
        show_default=False,
    ),
]


def reconcile(car: CarArgument, units: UnitsOption = None, as_json: JsonOption = False) -> None:
    """How well the weighings agree with the ledger. The first one is the base of all later ones.

    Exit status: 0 where all agree; 1 where one does not, as something came off, went on or was weighed wrong; 3 where
    none disagrees but not all can be computed, or there is only one weighing.
    """
    from tarebook.api import load_car
    from tarebook.kinds import builtin
    from tarebook.weight.ledger import Ledger
    from tarebook.weight.reconciling import reconcile as answer

    the_car = load_car(car)
    unit = unit_of(units, the_car)
    found = answer(Ledger(the_car.inventory), builtin().extended(the_car.own_kinds))
    if as_json:
        from tarebook.show.reconcile import reconcile_document

        print_json(reconcile_document(found))
    else:
        from tarebook.show.reconcile import reconcile_lines

        print("\n".join(reconcile_lines(found, the_car, unit)))
    raise typer.Exit(NOT_KNOWN if found.agrees is None else AGREES if found.agrees else DISAGREES)


def unit_of(asked: str | None, car: "Car") -> str:
    """The unit of mass to print in: the one asked for, else the car file's. Raises Refused for one that is none."""
    from tarebook.quantities import QuantityError, canonical_unit

    try:
        return canonical_unit(asked, "mass") if asked is not None else car.units.get("mass") or "kg"
    except QuantityError as error:
        raise Refused(f"--units: {error}.") from None
