"""The distributions behind samples and intervals, without a library that takes long to load.

Hypergeometric terms start at their greatest and end where they no longer count, so that a stock of
a million fish takes no longer than a garden pond. The incomplete beta function is the continued
fraction of textbooks; its quantile, and that of Student's t, are found by halving.
"""

from __future__ import annotations

import math
from collections.abc import Callable

_SMALLEST = 1e-300
_NEGLIGIBLE = 1e-18
_ROUNDS = 500


def log_choose(n: int, k: int) -> float:
    """The natural logarithm of "n choose k".

    Parameters
    ----------
    n, k
        Whole numbers, 0 <= k <= n [count].

    Returns
    -------
    float
        ln(n! / (k! (n - k)!)) [-]; for n up to a million good to 1e-8.

    Examples
    --------
    >>> round(math.exp(log_choose(5, 2)), 9)
    10.0
    """
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def caught(
    population: int, diseased: int, drawn: int, kept: float = 1.0
) -> tuple[int, list[float]]:
    """The chances of catching so many diseased fish, each times `kept` to that number.

    Parameters
    ----------
    population, diseased, drawn
        Fish in all, diseased among them, and drawn without putting back [count].
    kept
        Factor for each diseased fish caught [-]: 1 for the plain distribution, the chance that a
        test overlooks a diseased fish for the chance that it overlooks all of them.

    Returns
    -------
    tuple of int and list
        The number caught that the first chance belongs to, and the chances [-] from there on; those
        left out at both ends sum to less than 1e-15 of the whole.
    """
    low = max(0, drawn - (population - diseased))
    high = min(drawn, diseased)
    if kept <= 0.0:
        high = min(high, 0)
        if low > high:
            return low, [0.0]

    def ratio(k: int) -> float:
        return (
            kept
            * (diseased - k)
            * (drawn - k)
            / ((k + 1) * (population - diseased - drawn + k + 1))
        )

    first, last = low, high  # the first k whose next term is smaller
    while first < last:
        middle = (first + last) // 2
        if ratio(middle) < 1.0:
            last = middle
        else:
            first = middle + 1
    peak = first
    height = (
        log_choose(diseased, peak)
        + log_choose(population - diseased, drawn - peak)
        - log_choose(population, drawn)
        + (peak * math.log(kept) if peak else 0.0)
    )
    top = math.exp(height) if height > -700.0 else 0.0
    if not top:
        return peak, [0.0]
    above, term, k = [top], top, peak
    while k < high:
        term *= ratio(k)
        if term < top * _NEGLIGIBLE:
            break
        above.append(term)
        k += 1
    below, term, k = [], top, peak
    while k > low:
        term /= ratio(k - 1)
        if term < top * _NEGLIGIBLE:
            break
        below.append(term)
        k -= 1
    return k, below[::-1] + above


def at_most(positive: int, population: int, diseased: int, drawn: int) -> float:
    """The chance that no more than so many of the fish drawn are diseased.

    Parameters
    ----------
    positive
        Diseased fish among those drawn [count].
    population, diseased, drawn
        Fish in all, diseased among them, and drawn without putting back [count].

    Returns
    -------
    float
        A probability [-].
    """
    first, terms = caught(population, diseased, drawn)
    return min(1.0, math.fsum(terms[: max(0, positive - first + 1)]))


def beta_share(x: float, a: float, b: float) -> float:
    """The regularized incomplete beta function I_x(a, b).

    Parameters
    ----------
    x
        Where, 0 to 1 [-].
    a, b
        The parameters, above 0 [-].

    Returns
    -------
    float
        A probability [-], good to 1e-12 for parameters up to 1e5.

    Notes
    -----
    Continued fraction by the modified method of Lentz, as textbooks of numerical methods give it
    (Press et al., Numerical Recipes, chapter 6; from memory).

    Examples
    --------
    >>> round(beta_share(0.5, 2.0, 2.0), 12), beta_share(0.0, 1.0, 3.0)
    (0.5, 0.0)
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
        + a * math.log(x) + b * math.log1p(-x)
    )  # fmt: skip
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(x, a, b) / a
    return 1.0 - front * _fraction(1.0 - x, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    upper, lower = 1.0, _clear(1.0 - (a + b) * x / (a + 1.0))
    lower = 1.0 / lower
    value = lower
    for m in range(1, _ROUNDS):
        for step in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            lower = 1.0 / _clear(1.0 + step * lower)
            upper = _clear(1.0 + step / upper)
            value *= upper * lower
        if abs(upper * lower - 1.0) < 1e-15:
            break
    return value


def _clear(value: float) -> float:
    return value if abs(value) > _SMALLEST else _SMALLEST


def halved(reached: Callable[[float], bool], low: float, high: float) -> float:
    """Where something that is false at the low end becomes true, by halving.

    Parameters
    ----------
    reached
        Whether a place [unit of the ends] is above the one sought.
    low, high
        The ends between which it lies [unit of what is sought].

    Returns
    -------
    float
        The place [unit of the ends], as near as such numbers go.
    """
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if reached(middle):
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def beta_quantile(share: float, a: float, b: float) -> float:
    """Where the beta distribution has so much below it.

    Parameters
    ----------
    share
        A probability, 0 to 1 [-].
    a, b
        The parameters, above 0 [-].

    Returns
    -------
    float
        The quantile, 0 to 1 [-].

    Examples
    --------
    >>> round(beta_quantile(0.95, 1.0, 60.0), 4)
    0.0487
    """
    return halved(lambda x: beta_share(x, a, b) >= share, 0.0, 1.0)


def t_quantile(share: float, degrees: float) -> float:
    """Where Student's t distribution has so much below it.

    Parameters
    ----------
    share
        A probability between 0.5 and 1 [-].
    degrees
        Degrees of freedom, above 0 [-].

    Returns
    -------
    float
        The quantile [-].

    Examples
    --------
    >>> round(t_quantile(0.975, 14.0), 6)
    2.144787
    """
    x = beta_quantile(2.0 * (1.0 - share), 0.5 * degrees, 0.5)
    return math.sqrt(degrees * (1.0 - x) / x) if x > 0.0 else math.inf
