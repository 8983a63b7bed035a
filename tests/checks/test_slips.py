"""Slips of the unit: asked about when the limit makes them likely, and only then."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.checks.finding import Verdict
from preflight.checks.slips import slip
from preflight.quantities import Kind, parse
from preflight.shop.limits import Limit


def limit(kind: Kind, low: str = "", high: str = "") -> Limit:
    return Limit(low=parse(low, kind) if low else None, high=parse(high, kind) if high else None)


def asked(text: str, kind: Kind, low: str = "", high: str = "", units: str = "metric") -> str:
    found = slip("subject", "Reading", parse(text, kind), limit(kind, low, high), units, "stock.shortest")
    if found is None:
        return ""
    assert found.verdict is Verdict.OPEN
    assert found.asks == "stock.shortest"
    return found.statement


@pytest.mark.parametrize(
    ("text", "kind", "low", "high", "meant"),
    [
        ("0.5 mm", Kind.LENGTH, "", "0.05 mm", "0.05 mm"),
        ("190 mm", Kind.LENGTH, "1893 mm", "1907 mm", "1900 mm"),
        ("1900 in", Kind.LENGTH, "1893 mm", "1907 mm", "1900 mm"),
        ("75 mm", Kind.LENGTH, "1893 mm", "1907 mm", "75 in"),
        ("4.3 psi", Kind.PRESSURE, "3.9 bar", "4.7 bar", "4.3 bar"),
        ("60 bar", Kind.PRESSURE, "55 psi", "65 psi", "60 psi"),
        ("43 bar", Kind.PRESSURE, "3.9 bar", "4.7 bar", "4.3 bar"),
        ("0.62 bar", Kind.PRESSURE, "5.5 bar", "", "6.2 bar"),
        ("2 in wg", Kind.DUCT_PRESSURE, "", "3 Pa", "2 Pa"),
        ("20 fpm", Kind.AIR_SPEED, "17.8 m/s", "", "20 m/s"),
    ],
)
def test_a_likely_slip_is_asked_about(text: str, kind: Kind, low: str, high: str, meant: str) -> None:
    assert asked(text, kind, low, high) == f"Reading: {text} read; was {meant} meant?"


@pytest.mark.parametrize(
    ("text", "kind", "low", "high"),
    [
        ("1900 mm", Kind.LENGTH, "1893 mm", "1907 mm"),  # inside
        ("1893 mm", Kind.LENGTH, "1893 mm", "1907 mm"),  # exactly on the limit is inside
        ("1913 mm", Kind.LENGTH, "1893 mm", "1907 mm"),  # plainly a wrong belt
        ("5.2 bar", Kind.PRESSURE, "5.5 bar", ""),  # a low supply, not a slip
        ("0.06 mm", Kind.LENGTH, "", "0.05 mm"),  # a little too much, not a slip
    ],
)
def test_a_reading_that_is_plainly_itself_is_not_asked_about(text: str, kind: Kind, low: str, high: str) -> None:
    assert asked(text, kind, low, high) == ""


@given(st.floats(0.001, 1e6), st.floats(0.001, 1e3), st.floats(1.0, 2.0))
def test_nothing_inside_its_limit_is_ever_asked_about(value: float, low: float, ratio: float) -> None:
    bounds = Limit(low=parse(f"{low:.6f} mm", Kind.LENGTH), high=parse(f"{low * ratio:.6f} mm", Kind.LENGTH))
    reading = parse(f"{value:.6f} mm", Kind.LENGTH)
    assert bounds.floor is not None
    assert bounds.ceiling is not None
    found = slip("s", "Reading", reading, bounds, "metric", "k")
    if bounds.floor <= reading.value <= bounds.ceiling:
        assert found is None
    elif found is not None:
        tens = any(bounds.floor * 0.999999 <= reading.value * f <= bounds.ceiling * 1.000001 for f in (0.1, 10))
        inches = bounds.floor * 0.999999 <= reading.value * 25.4 <= bounds.ceiling * 1.000001
        assert tens or inches
