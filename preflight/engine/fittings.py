"""Loss coefficients of common fittings and hoods, and roughness of duct materials, as data with their source.

They are defaults for a profile: handbooks differ by 20 to 40 % for the same fitting, and a coefficient fitted
from one good reading on the real branch beats any of them.
"""

from __future__ import annotations

from dataclasses import dataclass

_MEMORY = "industrial-ventilation practice, from memory"
_RENNELS = "Rennels' method as in the fluids library, D 0.15 m, f 0.02, friction of the bend included"
_MITRE = "between 0.90 (Crane's method) and 1.52 (Miller's, wall 0.15 mm) as in the fluids library, D 0.15 m"
_CFR = "29 CFR 1910.94(b)(3)(ii)"
_SECOND = "industrial-ventilation handbook value, seen in a secondary source"
_ASHRAE = "ASHRAE duct roughness categories, seen in a secondary source"


@dataclass(frozen=True)
class Fitting:
    """A fitting of a run, or a hood's entry."""

    kind: str
    k: float
    """Loss in velocity pressures of the duct it belongs to; may be negative for a converging junction."""

    source: str


@dataclass(frozen=True)
class Material:
    """A duct's wall."""

    name: str
    roughness: float
    """m"""

    source: str


def _fittings(*rows: tuple[str, float, str]) -> dict[str, Fitting]:
    return {kind: Fitting(kind, k, source) for kind, k, source in rows}


FITTINGS = _fittings(
    ("elbow 90, R/D 1.0", 0.34, _RENNELS),
    ("elbow 90, R/D 1.5", 0.24, _RENNELS),
    ("elbow 90, R/D 2.0", 0.22, _RENNELS),
    ("elbow 90, R/D 2.5", 0.22, _RENNELS),
    ("elbow 60, R/D 1.5", 0.16, f"0.67 of the 90 elbow: {_MEMORY}"),
    ("elbow 45, R/D 1.5", 0.17, _RENNELS),
    ("elbow 30, R/D 1.5", 0.08, f"0.33 of the 90 elbow: {_MEMORY}"),
    ("elbow 90, mitred", 1.20, _MITRE),
    ("branch entry 15", 0.09, _MEMORY),
    ("branch entry 30", 0.18, _MEMORY),
    ("branch entry 45", 0.28, _MEMORY),
    ("branch entry 60", 0.44, _MEMORY),
    ("branch entry 90", 1.00, _MEMORY),
)
"""By the name a profile uses. A branch entry is charged to the branch, not to the run it enters."""

HOOD_ENTRIES = _fittings(
    ("belt hood, straight take-off", 0.65, _CFR),
    ("belt hood, tapered take-off", 0.45, _CFR),
    ("plain duct end", 0.93, _SECOND),
    ("flanged duct end", 0.49, _SECOND),
    ("round taper 45", 0.15, _SECOND),
    ("rectangular taper 45", 0.25, _SECOND),
    ("slot or orifice", 1.78, _MEMORY),
    ("bellmouth", 0.04, _MEMORY),
)
"""Entry losses by the kind of hood."""

MATERIALS = {
    name: Material(name, millimetres / 1000.0, source)
    for name, millimetres, source in (
        (
            "galvanised",
            0.15,
            "fluids library: galvanised iron 0.152 mm, Idelchik's new galvanised sheet 0.15 mm",
        ),
        ("galvanised, long seam", 0.09, _ASHRAE),
        ("galvanised spiral", 0.12, f"upper end of 0.061 to 0.122 mm; {_ASHRAE}"),
        ("spiral corrugated", 0.9, f"upper end of 0.55 to 0.91 mm; {_ASHRAE}"),
        ("commercial steel", 0.046, _ASHRAE),
        ("plastic pipe", 0.046, f"upper end of 0.009 to 0.046 mm; {_ASHRAE}"),
        ("flexible hose, stretched", 0.9, _ASHRAE),
        ("flexible hose, slack", 3.0, "common practice, from memory"),
    )
}
"""Duct walls by the name a profile uses."""
