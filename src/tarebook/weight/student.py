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
    if degrees > 1e4:
        return _near_normal(t, degrees)
    if degrees > 30.0 and abs(t) > 100.0:
        return float(t > 0)  # the tail is below 1e-38
    tail = 0.5 * _regularised_beta(degrees / (degrees + t * t), degrees / 2.0, 0.5)
    return 1.0 - tail if t > 0 else tail


def _near_normal(t: float, degrees: float) -> float:
    """The chance for many degrees of freedom: the normal one, and its corrections in 1/degrees."""
    normal = 0.5 * math.erfc(-t / math.sqrt(2.0))
    if math.isinf(degrees):
        return normal
    density = math.exp(-t * t / 2.0) / math.sqrt(2.0 * math.pi)
    first = (t**3 + t) / 4.0
    second = (3.0 * t**7 - 5.0 * t**5 - 7.0 * t**3 - 3.0 * t) / 96.0
    return normal - density * (first / degrees + second / degrees**2)


@lru_cache(maxsize=1024)
def quantile(chance: float, degrees: float) -> float:
    """The t that a share `chance` (above one half, below one) of the distribution lies below."""
    low, high = 0.0, math.inf
    if degrees < 4.0:
        high = 2.0
        while chance_below(high, degrees) < chance:
            low, high = high, high * 2.0
        t = (low + high) / 2.0
    else:
        t = _expanded(1.0 if math.isinf(degrees) else quantile(chance, math.inf), degrees)
        if 1000.0 < degrees < math.inf:
            return t  # the expansion is out by less than one part in 1e9 here
    for _ in range(100):  # Newton's method, held between bounds that close in
        error = chance_below(t, degrees) - chance
        low, high = (low, t) if error > 0 else (t, high)
        step = t - error / _density(t, degrees)
        if abs(step - t) <= 1e-8 * t:  # the next step would be below rounding
            return step
        t = step if low < step < high else (low + min(high, 2.0 * t)) / 2.0
    return t


def _expanded(z: float, degrees: float) -> float:
    """The t that belongs to a normal z, roughly: the expansion in 1/degrees (Abramowitz and Stegun 26.7.5)."""
    if math.isinf(degrees):
        return z
    first = (z**3 + z) / 4.0
    second = (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    third = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    return z + first / degrees + second / degrees**2 + third / degrees**3


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
