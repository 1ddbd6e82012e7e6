"""The weight of a class as a whole, with what it has by `like` and from groups: is all said that a limit needs?"""

from typing import Any, Protocol

from tarebook.rules.classes import ClassInFull
from tarebook.rules.limits import LimitSpec, Linear, SumOfAxles
from tarebook.rules.models import Adjust

Path = tuple[str | int, ...]
WEIGHED_KEYS = ("minimum", "maximum", "front_axle", "rear_axle")
INCOMPLETE = "incomplete-weight"  # the sort of its mistakes


class Note(Protocol):
    """Notes a mistake at a place."""

    def __call__(self, path: Path, message: str, hint: str = "", *, what: str) -> None: ...


class WeightChecks:
    """Checks the weight of classes; `limits` are the limit forms of the file by their paths."""

    def __init__(self, note: Note, limits: dict[Path, LimitSpec]) -> None:
        self._note = note
        self._limits = limits

    def run(self, full: ClassInFull) -> None:
        """Note what is wrong."""
        weight = full.weight
        if any(key in weight for key in WEIGHED_KEYS) or "ballast" in weight:
            first = next(weight[key] for key in (*WEIGHED_KEYS, "ballast") if key in weight)
            if "driver" not in weight and any(key in weight for key in WEIGHED_KEYS):
                self._note(
                    first.path[:3],
                    f'class "{full.id}" does not say whether the driver is weighed',
                    'add driver = "aboard" or driver = "out"',
                    what=INCOMPLETE,
                )
            for key in (*WEIGHED_KEYS, "ballast"):
                if key in weight and weight[key].clause is None:
                    self._note(
                        weight[key].path,
                        f'class "{full.id}" states this without a clause',
                        'add clause = "..." to its weight',
                        what=INCOMPLETE,
                    )
        driver = weight["driver"].value if "driver" in weight else None
        counts_as = weight.get("driver_counts_as")
        if driver == "out" and counts_as is not None and counts_as.rank.order <= weight["driver"].rank.order:
            said = f'in class "{full.id}" the driver is out, so counts as nothing'
            self._note(counts_as.path, said, what=INCOMPLETE)
        terms = {key: weight[key].value for key in WEIGHED_KEYS if key in weight}
        adjusts = weight["adjust"].value if "adjust" in weight else []
        self._adjusts_fit(full, terms, {key: weight[key].path for key in terms}, adjusts)
        for placed in full.rules["limit"]:
            limit = placed.rule
            if limit.taken_off is None and limit.driver is None and driver is None:
                self._note(
                    placed.path,
                    f'in class "{full.id}" it is not said whether the driver is weighed',
                    'add driver = "aboard" or driver = "out"',
                    what=INCOMPLETE,
                )
            own = {key: getattr(limit, key) for key in WEIGHED_KEYS if getattr(limit, key) is not None}
            self._adjusts_fit(
                full,
                own,
                {key: (*placed.path, key) for key in own},
                [(adjust, (*placed.path, "adjust", index)) for index, adjust in enumerate(limit.adjust or ())],
            )

    def _adjusts_fit(
        self,
        full: ClassInFull,
        terms: dict[str, Any],
        paths: dict[str, Path],
        adjusts: list[tuple[Adjust, Path]],
    ) -> None:
        for key in ("minimum", "maximum"):
            spec = self._limits.get(paths[key]) if key in terms else None
            if spec is not None and isinstance(spec.form, SumOfAxles):
                for axle in ("front_axle", "rear_axle"):
                    word = "least" if key == "minimum" else "most"
                    if axle not in terms or getattr(terms[axle], word) is None:
                        said = f'in class "{full.id}" there is no {axle} with {word} to add up'
                        self._note(paths[key], said, what=INCOMPLETE)
        for adjust, path in adjusts:
            if adjust.of not in terms:
                self._note(path, f'in class "{full.id}" there is no {adjust.of} to adjust', what=INCOMPLETE)
                continue
            on_axle = adjust.of in ("front_axle", "rear_axle")
            if on_axle and terms[adjust.of].least is None:
                self._note(path, f'in class "{full.id}" the {adjust.of} has no least to adjust', what=INCOMPLETE)
            elif adjust.add.amount is not None and adjust.add.amount.dimension != "mass":
                spec = self._limits.get((*paths[adjust.of], "least") if on_axle else paths[adjust.of])
                if (
                    spec is None
                    or not isinstance(spec.form, Linear)
                    or spec.form.rate_of != adjust.add.amount.dimension
                ):
                    said = f'in class "{full.id}" the {adjust.of} has no such rate to change'
                    self._note(path, said, what=INCOMPLETE)
