"""An invented hall of any number of gates: two of a sander, two make-up gates, the others strangers."""

from __future__ import annotations

from math import sqrt

from preflight.shop.extraction import Extraction

OWN = ("gate-0", "gate-1")


def hall(gates: int) -> Extraction:
    """A main with a trunk for every eight gates; the last two gates are make-up gates into the main."""
    trunks = max(1, gates // 8)
    full = gates * 1000.0
    runs = [{"id": "main", "into": "collector", "diameter": f"{117 * sqrt(gates):.0f} mm", "length": "14 m", "k": 0.5}]
    runs += [
        {"id": f"trunk-{n}", "into": "main", "diameter": "345 mm", "length": "9 m", "k": 0.4} for n in range(trunks)
    ]
    runs += [
        {
            "id": f"drop-{n}",
            "into": f"trunk-{n % trunks}" if n < gates - 2 else "main",
            "diameter": "160 mm",
            "length": f"{3 + n % 5} m",
            "k": 0.9,
        }
        for n in range(gates)
    ]
    return Extraction.model_validate(
        {
            "schema": 1,
            "name": "Generated hall",
            "fan": [
                [f"{full * x:.0f} m3/h", f"{3700 * (1 - 0.8 * (x / 1.6) ** 2):.0f} Pa"]
                for x in (0, 0.3, 0.6, 0.9, 1.2, 1.6)
            ],
            "filter": {"linear": f"300 Pa at {full:.0f} m3/h"},
            "bin": {"volume": "2000 L"},
            "runs": runs,
            "gates": [
                {
                    "id": f"gate-{n}",
                    "run": f"drop-{n}",
                    "hood_k": 0.65,
                    "leak": 0.03,
                    "machine": "bay-two" if n < len(OWN) else f"machine {n}",
                    "make_up": n >= gates - 2,
                }
                for n in range(gates)
            ],
        }
    )
