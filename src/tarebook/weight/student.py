"""Student's t distribution: its distribution function and 97.5 % point, for any degrees of freedom above zero.

Written out because a check must start at once and the statistics library that has it takes half a second to load;
the tests hold it against that library and against printed tables.
"""

import math
from functools import lru_cache

_STEPS = 300
_TINY = 1e-300


def chance_below(t: float, degrees: float) -> float:
    """The chance that a t-distributed value is at most `t`. `degrees` may be infinite (the normal distribution)."""
    if math.isinf(t):
        return 1.0 if t > 0 else 0.0
    if math.isinf(degrees) or degrees > 1e9:
        return 0.5 * math.erfc(-t / math.sqrt(2.0))
    tail = 0.5 * _regularised_beta(degrees / (degrees + t * t), degrees / 2.0, 0.5)
    return 1.0 - tail if t > 0 else tail


@lru_cache(maxsize=1024)
def quantile(chance: float, degrees: float) -> float:
    """The t that a share `chance` (above one half, below one) of the distribution lies below."""
    low, high = 0.0, 2.0
    while chance_below(high, degrees) < chance:
        low, high = high, high * 2.0
    t = (low + high) / 2.0
    for _ in range(100):  # Newton's method, held between bounds that close in
        error = chance_below(t, degrees) - chance
        low, high = (low, t) if error > 0 else (t, high)
        step = t - error / _density(t, degrees)
        nearer = step if low < step < high else (low + high) / 2.0
        if abs(nearer - t) <= 1e-14 * t:
            return nearer
        t = nearer
    return t


def _density(t: float, degrees: float) -> float:
    if math.isinf(degrees) or degrees > 1e9:
        return math.exp(-t * t / 2.0) / math.sqrt(2.0 * math.pi)
    log_front = math.lgamma((degrees + 1.0) / 2.0) - math.lgamma(degrees / 2.0) - 0.5 * math.log(degrees * math.pi)
    return math.exp(log_front - (degrees + 1.0) / 2.0 * math.log1p(t * t / degrees))


def _regularised_beta(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function, by its continued fraction (modified Lentz method)."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _beta_fraction(x, a, b) / a
    return 1.0 - front * _beta_fraction(1.0 - x, b, a) / b


def _beta_fraction(x: float, a: float, b: float) -> float:
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    fraction = d
    for m in range(1, _STEPS):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            d = 1.0 + numerator * d
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = 1.0 + numerator / c
            c = c if abs(c) > _TINY else _TINY
            fraction *= c * d
        if abs(c * d - 1.0) < 1e-16:
            break
    return fraction
