"""Two hundred random ledgers against two independent ways of propagating uncertainty.

One draws every source at random (Monte Carlo, JCGM 101:2008, GUM Supplement 1); the other is the Python library
`uncertainties`, which keeps track of common sources by itself.
"""

import math

import numpy as np
import pytest
import uncertainties
from ledgers import car_of, mass_by_formula, random_ledger

from support import OnScales
from tarebook.car.reading import parse_car
from tarebook.quantities import parse_quantity
from tarebook.weight.measured import Measured, Share, from_readings
from tarebook.weight.student import quantile
from tarebook.weight.terms import Weighed

SEEDS = range(200)
DRAWS = 20_000


def measured(ledger) -> Measured:
    scales = OnScales(car_of(ledger))
    answer = scales.ledger.mass(scales.configuration, Weighed())
    assert answer.mass is not None, answer.missing
    return answer.mass


@pytest.mark.parametrize("seed", SEEDS)
def test_mass_and_uncertainty_by_random_draws(seed):
    ledger = random_ledger(seed)
    generator = np.random.default_rng(seed)
    drawn: dict[str, np.ndarray] = {}

    def errors(name, shape, size):
        if name not in drawn:
            even = generator.uniform(-size, size, DRAWS) if shape == "even" else generator.normal(0.0, size, DRAWS)
            drawn[name] = even
        return drawn[name]

    sample = mass_by_formula(ledger, errors)
    mass = measured(ledger)
    # Of n draws, a mean has a standard error of u / sqrt(n), and a standard deviation one of at most u / sqrt(2 n).
    assert float(mass.value) == pytest.approx(float(sample.mean()), abs=5 * mass.u / math.sqrt(DRAWS))
    assert mass.u == pytest.approx(float(sample.std(ddof=1)), rel=5 / math.sqrt(2 * DRAWS))


@pytest.mark.parametrize("seed", SEEDS)
def test_mass_uncertainty_and_degrees_by_the_library(seed):
    ledger = random_ledger(seed)
    known: dict[str, uncertainties.UFloat] = {}

    def errors(name, shape, size):
        if not size:
            return 0.0
        if name not in known:
            known[name] = uncertainties.ufloat(0.0, size / math.sqrt(3) if shape == "even" else size, name)
        return known[name]

    expected = mass_by_formula(ledger, errors)
    mass = measured(ledger)
    assert float(mass.value) == pytest.approx(expected.nominal_value, rel=1e-12)
    assert mass.u == pytest.approx(expected.std_dev, rel=1e-9)
    # Welch and Satterthwaite over the independent sources; only the spread of n readings has finite degrees, n - 1.
    below = sum(
        u**4 / int(source.tag.rpartition(" ")[2])
        for source, u in expected.error_components().items()
        if source.tag.startswith("spread ")
    )
    degrees = expected.std_dev**4 / below if below else math.inf
    assert mass.degrees == pytest.approx(degrees, rel=1e-6)


def test_the_random_ledgers_hold_every_sort_of_source():
    shares = {name for seed in SEEDS for name in measured(random_ledger(seed)).shares}
    for start in ("readings of p", "resolution of weighing w ", "estimate of p", "scale pads", "gain of scale kitchen"):
        assert any(name.startswith(start) for name in shares), start
    assert {"density under [tank]", "fuel at inspection", "fuel in weighing w", "readings of the driver"} <= shares


def test_the_interval_of_few_readings_holds_the_mass_as_often_as_it_says():
    # JCGM 101, by repeating the experiment: four corners, three readings each, in a spread that nobody knows. Welch and
    # Satterthwaite are an approximation; with the normal 1.96 in place of t it would be 91 %.
    generator = np.random.default_rng(7)
    spreads, corners, trials = (0.2, 0.3, 0.3, 0.4), 4, 4000
    inside = {"t": 0, "normal": 0}
    for _ in range(trials):
        readings = generator.normal(0.0, np.array(spreads)[:, None], (corners, 3))
        u = readings.std(axis=1, ddof=1) / math.sqrt(3)
        whole = Measured(0, {f"corner {index}": Share(float(each), 2) for index, each in enumerate(u)})
        error = abs(float(readings.mean(axis=1).sum()))
        inside["t"] += error <= quantile(0.975, whole.degrees) * whole.u
        inside["normal"] += error <= quantile(0.975, math.inf) * whole.u
    assert 0.945 < inside["t"] / trials < 0.975
    assert inside["normal"] / trials < 0.925


@pytest.mark.parametrize(("count", "printed"), [(2, 12.71), (3, 4.30), (4, 3.18), (5, 2.78), (6, 2.57)])
def test_few_readings_of_one_thing_widen_the_interval_as_the_t_table_says(count, printed):
    # Two readings 2 g apart or more, all others in the middle; the resolution is too fine to count.
    readings = ["4.999 kg", "5.001 kg", *["5.000 kg"] * (count - 2)]
    scale = parse_car(
        'format = "tarebook-car/1"\ncar = { name = "Plover" }\nscale = [{ id = "s", resolution = "1 mg" }]'
    ).file.scale[0]
    mass = from_readings([parse_quantity(each, "mass") for each in readings], scale, "p")
    spread = math.sqrt(2e-6 / (count - 1))
    assert mass.u == pytest.approx(spread / math.sqrt(count), rel=1e-4)
    assert mass.degrees == pytest.approx(count - 1, rel=1e-3)
    assert quantile(0.975, mass.degrees) * mass.u == pytest.approx(printed * spread / math.sqrt(count), rel=2e-3)
