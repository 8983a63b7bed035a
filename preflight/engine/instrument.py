"""What a caliper can and cannot prove."""

from __future__ import annotations

import math
from typing import Literal

from preflight.engine.thickness import Estimate

Decision = Literal["within", "beyond", "cannot tell"]


def reading_uncertainty(resolution: float, accuracy: float | None = None) -> float:
    """Standard uncertainty of one reading, m: √((r / √12)² + (a / √3)²).

    Resolution r and accuracy ±a are taken as rectangular (ISO/IEC Guide 98-3, from memory). An accuracy that is
    not given counts as one step of the display: common practice, no source. Both in m; r > 0, a ≥ 0.

    >>> round(reading_uncertainty(0.1e-3) * 1e6, 1)
    64.5
    """
    accuracy = resolution if accuracy is None else accuracy
    if not (0 < resolution < math.inf and 0 <= accuracy < math.inf):
        raise ValueError("the resolution must be above zero and the accuracy not negative")
    return math.sqrt(resolution**2 / 12 + accuracy**2 / 3)


def decide(estimate: Estimate, limit: float) -> Decision:
    """Is |value| within ±limit, beyond it, or too near to tell at about 95 %? limit in m, above zero.

    >>> decide(Estimate(0.05e-3, 0.01e-3), 0.1e-3), decide(Estimate(0.09e-3, 0.01e-3), 0.1e-3)
    ('within', 'cannot tell')
    """
    if not limit > 0:
        raise ValueError("a limit must be above zero")
    size = abs(estimate.value)
    if size + estimate.expanded <= limit:
        return "within"
    return "beyond" if size - estimate.expanded > limit else "cannot tell"


def can_prove(estimate: Estimate, limit: float) -> bool:
    """Could these readings prove ±limit even if the value came out as zero? limit in m, above zero.

    >>> can_prove(Estimate(0.0, 0.08e-3), 0.1e-3)
    False
    """
    return decide(Estimate(0.0, estimate.uncertainty), limit) == "within"
