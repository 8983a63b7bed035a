"""Tail probabilities that the flags are made of, in plain arithmetic."""

from __future__ import annotations

import functools
import math


def binomial_tail(hits: int, trials: int, chance: float) -> float:
    """P(at least `hits` of `trials`) when each has `chance`. ValueError out of range.

    Equation: sum over k >= hits of C(n, k) p^k (1-p)^(n-k), the first term from log-gamma,
    the others by their ratio.

    >>> round(binomial_tail(3, 10, 0.1), 4)
    0.0702
    """
    if trials < 0 or not 0 <= chance <= 1:
        raise ValueError("trials cannot be negative and a chance lies in 0 to 1")
    if hits <= 0:
        return 1.0
    if hits > trials or chance == 0:
        return 0.0
    if chance == 1:
        return 1.0
    odds = chance / (1 - chance)
    if hits <= trials * chance:  # the other side is the shorter sum
        term = total = _binomial_term(hits - 1, trials, chance)
        for k in range(hits - 1, 0, -1):
            term *= k / ((trials - k + 1) * odds)
            total += term
        return max(0.0, 1 - total)
    term = total = _binomial_term(hits, trials, chance)
    for k in range(hits, trials):
        term *= (trials - k) / (k + 1) * odds
        total += term
        if term < total * 1e-17:
            break
    return min(1.0, total)


def _binomial_term(hits: int, trials: int, chance: float) -> float:
    ways = math.lgamma(trials + 1) - math.lgamma(hits + 1) - math.lgamma(trials - hits + 1)
    return math.exp(ways + hits * math.log(chance) + (trials - hits) * math.log1p(-chance))


def chi_square_tail(statistic: float, degrees: int) -> float:
    """P(chi-square with `degrees` > `statistic`). ValueError for a negative statistic or no degree.

    Equation: for even degrees exp(-x/2) sum (x/2)^j / j!, for odd ones erfc(sqrt(x/2)) plus the half-integer terms
    (the regularised upper incomplete gamma function Q(k/2, x/2)).

    >>> round(chi_square_tail(21.666, 9), 4)
    0.01
    """
    if statistic < 0 or degrees < 1:
        raise ValueError("a chi-square is not negative and has at least one degree of freedom")
    half = statistic / 2
    if degrees % 2 == 0:
        total, shape = math.exp(-half), 1.0
    else:
        total, shape = math.erfc(math.sqrt(half)), 0.5
    term_shape = shape
    if half == 0:
        return 1.0
    while term_shape < degrees / 2:
        total += math.exp(term_shape * math.log(half) - half - math.lgamma(term_shape + 1))
        term_shape += 1
    # for even degrees the loop begins at 1, exp(-half) is the term of 0
    return min(1.0, total)


@functools.lru_cache(maxsize=4096)
def highest_chance(hits: int, trials: int, doubt: float = 0.01) -> float:
    """The largest chance that makes at most `hits` of `trials` no rarer than `doubt` (Clopper and Pearson 1934).

    1.0 without trials. Found by halving; ValueError for hits beyond the trials.

    >>> round(highest_chance(0, 60, 0.05), 4)
    0.0487
    """
    if not 0 <= hits <= trials:
        raise ValueError("hits lie between 0 and the trials")
    if hits == trials:
        return 1.0
    low, high = hits / trials, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        if 1 - binomial_tail(hits + 1, trials, middle) > doubt:
            low = middle
        else:
            high = middle
    return high


def lowest_chance(hits: int, trials: int, doubt: float = 0.01) -> float:
    """The smallest chance that makes at least `hits` of `trials` no rarer than `doubt`; 0.0 without hits."""
    return 1 - highest_chance(trials - hits, trials, doubt) if trials else 0.0
