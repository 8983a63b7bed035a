"""Whether one group does a thing more often than another by more than chance: Fisher's exact test."""

from __future__ import annotations

import math


def fisher_tail(hits: int, trials: int, found: int, others: int) -> float:
    """P(at least `hits` of `trials`) when these share one chance with `found` of `others`. ValueError out of range.

    Equation: sum over k >= hits of C(n, k) C(m, K - k) / C(n + m, K), n trials, m others, K all hits: what is known of
    the common chance is used up by K, so none has to be assumed. Fisher 1935, one-sided.

    >>> round(fisher_tail(3, 4, 1, 4), 4)
    0.2429
    """
    if not (0 <= hits <= trials and 0 <= found <= others):
        raise ValueError("hits lie between 0 and the trials")
    if hits == 0:
        return 1.0
    total = hits + found

    def ways(of: int, taken: int) -> float:
        return math.lgamma(of + 1) - math.lgamma(taken + 1) - math.lgamma(of - taken + 1)

    every = ways(trials + others, total)
    top = min(trials, total)
    terms = (math.exp(ways(trials, k) + ways(others, total - k) - every) for k in range(hits, top + 1))
    return min(1.0, math.fsum(terms))
