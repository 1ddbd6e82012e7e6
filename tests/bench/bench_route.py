"""How long a whole route takes, beside the bare solver on the same matrix.

Run as a script, with numbers of jobs if other than 20, 60 and 150 are wanted. For each, an invented car with so many
jobs, a third of them needing another, some that exclude one another, 40 in 100 of them swaps; and a class with a
minimum, bans, needs and a finish. "route" is everything from the car that was read to the judged answer, with its steps
and what binds it; "bare" is the solver alone, once, on the matrix as it stands in the end. The solver is loaded before
the clock starts. The goal: 60 jobs, proven, in under a second.
"""

import random
import statistics
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

import support  # noqa: E402
from tarebook import api  # noqa: E402
from tarebook.api import Car, RuleSet  # noqa: E402
from tarebook.route.solving import solve  # noqa: E402

ROUNDS = 5
KINDS = (
    "interior.floor.carpet",
    "interior.headliner",
    "interior.console",
    "interior.audio",
    "interior.door-card",
    "interior.trim",
    "interior.dash",
    "stowage.loose",
    "glass.rear",
    "body.bumper.front",
    "exhaust.silencer",
    "climate.heater",
)
CLASS = """
weight = {{ clause = "7", driver = "out", minimum = "{minimum:.1f} kg",
 ballast = {{ allowed = true, most = "20 kg", clause = "7.5" }} }}
[[class.allow]]
clause = "8"
kinds = ["everything"]
does = "anything"
finish = ["floor"]
if = {{ not = {{ fitted = "safety.cage" }} }}
[[class.finish]]
clause = "8.1"
id = "floor"
area = "interior.floor"
by = ["painted"]
[[class.ban]]
clause = "8.2"
kinds = ["interior.dash"]
does = ["remove"]
[[class.need]]
clause = "8.3"
kinds = ["exhaust.silencer"]
"""


def invented(jobs: int) -> tuple[Car, RuleSet]:
    rng = random.Random(jobs)
    text = [
        '[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "5 L"\nincludes = []\n'
        'axles = { front = ["510.2 kg", "510.6 kg", "510.4 kg"], rear = ["440.2 kg", "440.6 kg", "440.4 kg"] }\n'
        '[at_inspection]\nfuel = "5 L"\n'
    ]
    for index in range(jobs):
        mass, kind, swap = rng.uniform(0.5, 12.0), rng.choice(KINDS), rng.random() < 0.4
        text.append(
            f'[[part]]\nid = "p{index}"\nkind = "{kind}"\nat = "{rng.randrange(0, 3000, 50)} mm"\n'
            f'mass = ["{mass:.2f} kg", "{mass + 0.02:.2f} kg"]\n'
        )
        if swap:
            text.append(
                f'[[part]]\nid = "q{index}"\nkind = "{kind}"\norigin = "aftermarket"\nreplaces = "p{index}"\n'
                f'mass = "{mass * 0.6:.2f} kg"\n'
            )
        does = f'fit = ["q{index}"]' if swap else f'off = ["p{index}"]'
        text.append(
            f'[[job]]\nid = "j{index}"\nstate = "maybe"\n{does}\ncost = "{rng.randrange(300)} EUR"\n'
            f"hours = {rng.randrange(1, 12) / 2}\n"
        )
        if index and rng.random() < 0.33:
            text.append(f'needs = ["j{rng.randrange(index)}"]\n')
        elif index and rng.random() < 0.25:
            text.append(f'not_with = ["j{rng.randrange(index)}"]\n')
        if index % 20 == 3:
            text.append('finishes = [{ area = "interior.floor", by = "painted" }]\n')
    car = support.car("".join(text), fuel="petrol", wheelbase="2400 mm")
    return car, support.rules(CLASS.format(minimum=950 - jobs * 1.6))


def main() -> None:
    import highspy

    highspy.Highs()
    print(f"{'jobs':>5} {'route':>9} {'bare':>9} {'ratio':>6}  solves  rows x columns  outcome")
    for jobs in [int(each) for each in sys.argv[1:]] or [20, 60, 150]:
        car, rules = invented(jobs)
        whole, bare = [], []
        for _ in range(ROUNDS):
            start = time.perf_counter()
            answer = api.route(car, rules, "club", on=support.DAY)
            whole.append(time.perf_counter() - start)
            program = answer.search.program
            start = time.perf_counter()
            solve(program, answer.search.forms["cost"].form, [], lambda demand: True, 60.0)
            bare.append(time.perf_counter() - start)
        route, alone = statistics.median(whole), statistics.median(bare)
        size = f"{len(program.rows)} x {len(program.lows)}"
        print(
            f"{jobs:5} {route:8.3f}s {alone:8.3f}s {route / alone:6.1f}  {answer.search.solves:6}  {size:>14}"
            f"  {answer.outcome}"
        )


if __name__ == "__main__":
    main()
