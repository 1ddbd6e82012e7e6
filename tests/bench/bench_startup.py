"""How long two commands take, beside what the libraries under them take to be imported.

Run as a script. All four run in turn, many times over, so that whatever else the machine does falls on all of them;
the ratios are of medians.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SOURCES = Path(__file__).parents[2] / "src"
# As Python is set where nobody changed it: it keeps what it has compiled, and writes in blocks.
SETTINGS = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONUNBUFFERED": ""}
ROUNDS = 15
PROGRAM = [sys.executable, "-m", "tarebook"]


def seconds(command: list[str], compiled: str) -> float:
    """The wall-clock time of one run, from start to end of the process; what it compiles is kept in `compiled`."""
    environment = {**os.environ, **SETTINGS, "PYTHONPATH": str(SOURCES), "PYTHONPYCACHEPREFIX": compiled}
    start = time.perf_counter()
    done = subprocess.run(command, env=environment, capture_output=True, check=False)
    elapsed = time.perf_counter() - start
    if done.returncode not in (0, 1, 3):
        sys.exit(f"{' '.join(command)} left with {done.returncode}:\n{done.stderr.decode()}")
    return elapsed


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo"
        compiled = f"{folder}/compiled"
        seconds([*PROGRAM, "demo", str(demo)], compiled)
        libraries = "import typer; from pydantic import BaseModel"
        commands = {
            "tarebook --help": [*PROGRAM, "--help"],
            "python -c 'import typer'": [sys.executable, "-c", "import typer"],
            "tarebook check, on the demo": [*PROGRAM, "check", str(demo / "car.toml"), "--on", "2026-11-25"],
            f"python -c '{libraries}'": [sys.executable, "-c", libraries],
        }
        for command in commands.values():  # once to fill the caches of files and of compiled modules
            seconds(command, compiled)
        runs: dict[str, list[float]] = {name: [] for name in commands}
        for _ in range(ROUNDS):
            for name, command in commands.items():
                runs[name].append(seconds(command, compiled))
    medians = {name: statistics.median(times) for name, times in runs.items()}
    print(f"Median of {ROUNDS} runs of each, in turn (lowest to highest):")
    for name, times in runs.items():
        print(f"  {name:58} {medians[name] * 1000:6.0f} ms ({min(times) * 1000:.0f} to {max(times) * 1000:.0f})")
    names = list(commands)
    print("Ratios:")
    for asked, yardstick in (names[0:2], names[2:4]):
        print(f"  {asked} to {yardstick}: {medians[asked] / medians[yardstick]:.2f}")


if __name__ == "__main__":
    main()
