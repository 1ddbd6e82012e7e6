"""How many builds are judged in a second: against one class, and against every class of the demo.

Run as a script. Beside them runs a yardstick, a plain Python loop that compares 20 numbers with 20 bounds and nothing
else: no rules, no precedence, no uncertainty, no findings. It does far less; it says how fast this machine and this
Python are, so that the ratio can be compared between machines. The car and the books are read before the clock starts;
the whole demo prepares its classes while it runs, the one class is prepared before.
"""

import datetime
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "src"))

from tarebook.api import check, facing, load_car, load_rules  # noqa: E402
from tarebook.judge.judging import judge  # noqa: E402

DAY = datetime.date(2026, 11, 25)
ROUNDS = 15
CLASS = "road-modified"
NUMBERS = [float(number) for number in range(20)]
BOUNDS = [number + 0.5 for number in NUMBERS]


def compare_twenty() -> bool:
    return all(number <= bound for number, bound in zip(NUMBERS, BOUNDS, strict=True))


def rate(work: Callable[[], object], count: int, least: float = 0.05) -> float:
    """How many a second, where one call of `work` does `count`; calls go on for `least` seconds."""
    calls = 0
    start = time.perf_counter()
    while (elapsed := time.perf_counter() - start) < least:
        work()
        calls += 1
    return calls * count / elapsed


def main() -> None:
    car = load_car(ROOT / "src" / "tarebook" / "demo" / "car.toml")
    rules = load_rules(ROOT / "rulesets")
    builds = car.inventory.build_names()
    prepared, before, _ = facing(car, rules, CLASS, on=DAY)
    situations = [before.situation(build, DAY) for build in builds]
    classes = sum(len(edition.class_ids) for edition in rules)

    def one_class(*, words: bool) -> None:
        for situation in situations:
            row = judge(prepared, situation)
            if words:
                assert row.findings

    def whole_demo() -> None:
        assert len(check(car, rules, on=DAY, build=builds).rows) == classes * len(builds)

    def whole_demo_in_words() -> None:
        assert all(row.findings for row in check(car, rules, on=DAY, build=builds).rows)

    works: dict[str, tuple[Callable[[], object], int]] = {
        f"one class ({CLASS}), prepared, verdicts alone": (lambda: one_class(words=False), len(builds)),
        f"one class ({CLASS}), prepared, findings in words": (lambda: one_class(words=True), len(builds)),
        f"the whole demo ({classes} classes), verdicts alone": (whole_demo, classes * len(builds)),
        f"the whole demo ({classes} classes), findings in words": (whole_demo_in_words, classes * len(builds)),
        "yardstick: 20 comparisons in plain Python": (compare_twenty, 1),
    }
    for work, _ in works.values():
        work()
    rates: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(ROUNDS):
        for name, (work, count) in works.items():
            rates[name].append(rate(work, count))
    medians = {name: statistics.median(found) for name, found in rates.items()}
    *_, yardstick = medians
    print(f"A second, by the median of {ROUNDS} rounds in turn; one is a build judged against a class:")
    for name, median in medians.items():
        behind = f"  a yardstick takes 1/{medians[yardstick] / median:.0f} of its time" if name != yardstick else ""
        print(f"  {name:58} {median:12,.0f}{behind}")
    print(
        "The yardstick compares 20 numbers with 20 bounds, as the barest hand-written check would. A judgement\n"
        "decides every change by precedence, weighs the build with its uncertainty, and tells what is unknown;\n"
        "the ratio says what that costs, not that the two do the same."
    )


if __name__ == "__main__":
    main()
