"""Dust from the cut: how much, how thick it is in the air of the hoods, and when the bin is full.

Not a safety assessment: the figures tell when to reduce the cut, the cover or the feed, or to ask.
"""

from __future__ import annotations

import math


def dust_rate(density: float, width: float, removal: float, feed_speed: float, cover: float = 1.0) -> float:
    """Wood turned to dust: ṁ = ρ·W·a·v_f·cover, kg/s.

    `density` of the wood kg/m³, `width` sanded m, `removal` a pass m, `feed_speed` m/s, all not negative;
    `cover` the share of the width and time with wood under the belt, 0 to 1. Outside, ValueError.
    Source: mass balance.

    >>> round(dust_rate(650.0, 0.94, 0.0005, 6.0 / 60.0) * 60.0, 2)  # kg a minute
    1.83
    """
    for name, value in (
        ("density of the wood", density),
        ("width", width),
        ("removal", removal),
        ("feed speed", feed_speed),
    ):
        if not 0.0 <= value < math.inf:
            raise ValueError(f"{name} must not be negative, got {value:g}")
    if not 0.0 <= cover <= 1.0:
        raise ValueError(f"cover must be from 0 to 1, got {cover:g}")
    return density * width * removal * feed_speed * cover


def dust_per_air(rate: float, flow: float) -> float:
    """Dust in the air drawn at the hoods: c = ṁ/Q, kg/m³ (times 1000: g/m³).

    `rate` kg/s, not negative; `flow` m³/s, more than zero; else ValueError.

    >>> round(dust_per_air(0.03, 0.75), 9)
    0.04
    """
    if not 0.0 <= rate < math.inf:
        raise ValueError(f"dust rate must not be negative, got {rate:g} kg/s")
    if not 0.0 < flow < math.inf:
        raise ValueError(f"there is no dust per air without air: flow must be more than 0, got {flow:g} m³/s")
    return rate / flow


def bin_fill_time(volume: float, share_full: float, low_density: float, rate: float) -> float:
    """Time until the bin is full: t = V·(1 − share)·ρ_loose/ṁ, s; infinite when no dust comes.

    `volume` of the bin m³ and `low_density` of loose dust kg/m³, both more than zero (a low density is the
    cautious choice: the bin fills sooner); `share_full` 0 to 1; `rate` kg/s, not negative. Else ValueError.

    >>> round(bin_fill_time(0.208, 0.0, 200.0, 1.83 / 60.0) / 60.0)  # minutes
    23
    """
    if not (0.0 < volume < math.inf and 0.0 < low_density < math.inf):
        raise ValueError("volume of the bin and density of loose dust must be more than 0")
    if not 0.0 <= share_full <= 1.0:
        raise ValueError(f"how full the bin is must be from 0 to 1, got {share_full:g}")
    if not 0.0 <= rate < math.inf:
        raise ValueError(f"dust rate must not be negative, got {rate:g} kg/s")
    held = volume * (1.0 - share_full) * low_density
    return held / rate if rate > 0.0 else math.inf
