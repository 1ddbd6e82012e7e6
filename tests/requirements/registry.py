"""Which case shows which requirement. A case takes the example of the page, as text, and judges cars by it."""

from collections.abc import Callable

Case = Callable[[str], None]
CASES: dict[str, Case] = {}


def requirement(name: str) -> Callable[[Case], Case]:
    """The case of that row of the table; there is just one for each."""

    def kept(case: Case) -> Case:
        assert name not in CASES, name
        CASES[name] = case
        return case

    return kept
