"""Laws of quantities: any text gives a value or a clear error, texts and values round trip, definitions are exact.

Outside sources: `pint` (general-purpose unit library, its own definition file) and `scipy.constants` (CODATA and
the legal definitions of inch, pound, standard gravity).
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import pint
import pytest
import scipy.constants
from hypothesis import example, given
from hypothesis import strategies as st

from preflight.quantities import Kind, Quantity, QuantityError, parse, show, show_beside
from preflight.units import BY_SPELLING, UNITS, Unit, find

KINDS = st.sampled_from(list(Kind))
SYSTEMS = st.sampled_from(["metric", "inch"])
PIECES = st.lists(
    st.sampled_from(
        [
            "1",
            "905",
            "3/4",
            "7/0",
            "-",
            "+",
            ".",
            ",",
            " ",
            "1/8",
            "½",
            "'",
            '"',
            "mm",
            "in",
            "ft",
            "psi",
            "1/min",
            "e5",
            "nan",
            "inf",
            "_",
            "°C",
            "m3/h",
            "wg",
            "\n",
            "\xa0",
            "٣",
            "\x00",
            "�",
            "″",
            "−",
            "²",
            "Pa",
            "%",
        ]
    ),
    max_size=8,
).map("".join)


@given(st.one_of(st.text(max_size=60), PIECES), KINDS, st.booleans())
@example("9" * 4400, Kind.LENGTH, False)
@example("1'1'1 in", Kind.LENGTH, False)
@example("\ud800 mm", Kind.LENGTH, False)
def test_any_text_is_a_value_or_a_clear_error(text: str, kind: Kind, shown: bool) -> None:
    try:
        found = parse(text, kind, kind.metric if shown else None)
    except QuantityError as error:
        message: str | None = str(error)
    else:
        message = None
        assert math.isfinite(found.value)
        assert found.kind is kind
        assert find(found.unit) is not None
        assert "\n" not in found.text
        again = parse(found.text, kind)
        assert (again.value, again.unit) == (found.value, found.unit)
    assert message is None or 0 < len(message) < 400


def units_of(kind: Kind) -> list[Unit]:
    return [unit for unit in UNITS if unit.dimension == kind.dimension]


@given(KINDS, st.data(), st.decimals(0, 10**6, places=4))
def test_a_number_in_any_unit_is_converted_exactly_and_rounded_once(
    kind: Kind, data: st.DataObject, number: object
) -> None:
    unit = data.draw(st.sampled_from(units_of(kind)))
    found = parse(f"{number} {unit.name}", kind)
    exact = Fraction(str(number)) * unit.factor + unit.offset
    assert found.value == float(exact)
    assert found.to(unit.name) == pytest.approx(float(str(number)), rel=1e-12, abs=1e-9)


@given(KINDS, SYSTEMS, st.floats(1e-3, 1e6))
def test_what_is_shown_reads_back_as_the_value_to_the_decimals_shown(kind: Kind, system: str, value: float) -> None:
    text = show(value, kind, system)
    unit = BY_SPELLING[kind.unit_in(system)]
    if value < unit.offset:
        return  # below the zero of the scale: shown with a minus sign, not a reading
    step = Fraction(1, 10**unit.decimals) * unit.factor
    assert abs(parse(text, kind).value - value) <= float(step) * 0.5 * (1 + 1e-9) + abs(value) * 1e-12


@given(KINDS, SYSTEMS, st.floats(0.1, 1e5), st.floats(-1e-3, 1e-3))
def test_two_values_that_differ_visibly_read_differently_to_the_same_decimals(
    kind: Kind, system: str, value: float, off: float
) -> None:
    other = value * (1 + off)
    unit = BY_SPELLING[kind.unit_in(system)]
    if abs(value - other) > float(unit.factor) * 10.0 ** (-unit.decimals - 4):
        text = show_beside(value, other, kind, system)
        told = [more for more in range(6) if text == show(value, kind, system, more=more)]
        assert any(text != show(other, kind, system, more=more) for more in told)


@given(st.integers(0, 3000), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch_are_exact(whole: int, top: int, bottom: int) -> None:
    exact = (whole + Fraction(top, bottom)) * Fraction(254, 10000)
    for text in (f"{whole} {top}/{bottom} in", f'{whole}-{top}/{bottom}"'):
        assert parse(text, Kind.LENGTH).value == float(exact)


@given(st.integers(1, 9999), st.integers(0, 99))
def test_a_decimal_comma_is_a_decimal_point(whole: int, hundredths: int) -> None:
    comma, point = (parse(f"{whole}{mark}{hundredths:02d} mm", Kind.LENGTH) for mark in ",.")
    assert comma.value == point.value


PINT_NAMES = {
    "mm": "mm", "in": "inch", "thou": "thou", "cm": "cm", "m": "m", "µm": "micrometer", "ft": "foot",
    "bar": "bar", "psi": "psi", "kPa": "kPa", "MPa": "MPa", "Pa": "Pa", "mbar": "mbar", "in wg": "inH2O",
    "m3/h": "m**3/hour", "cfm": "foot**3/minute", "m3/s": "m**3/s", "m3/min": "m**3/minute", "L/s": "liter/s",
    "m/s": "m/s", "m/min": "m/minute", "fpm": "foot/minute", "mm/s": "mm/s", "N": "N", "kN": "kN",
    "lbf": "force_pound", "N/mm": "N/mm", "N/m": "N/m", "kN/m": "kN/m", "lbf/in": "force_pound/inch", "A": "A",
    "kW": "kW", "W": "W", "hp": "horsepower", "s": "s", "min": "minute", "h": "hour", "d": "day", "kg": "kg",
    "g": "g", "lb": "pound", "oz": "ounce", "kg/m3": "kg/m**3", "lb/ft3": "pound/foot**3", "g/cm3": "g/cm**3",
    "g/m3": "g/m**3", "m2": "m**2", "ft2": "foot**2", "L": "liter", "m3": "m**3", "ft3": "foot**3", "gal": "gallon",
}  # fmt: skip
SI = {
    "length": "m", "pressure": "Pa", "air flow": "m**3/s", "speed": "m/s", "force": "N", "line tension": "N/m",
    "current": "A", "power": "W", "time": "s", "mass": "kg", "density": "kg/m**3", "area": "m**2", "volume": "m**3",
}  # fmt: skip


@pytest.fixture(scope="module")
def registry() -> Any:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit.name in PINT_NAMES], ids=lambda unit: unit.name)
def test_factors_agree_with_pint(unit: Unit, registry: Any) -> None:
    theirs = registry.Quantity(1.0, PINT_NAMES[unit.name]).to(SI[unit.dimension]).magnitude
    assert float(unit.factor) == pytest.approx(theirs, rel=1e-12)


def test_temperatures_agree_with_pint(registry: Any) -> None:
    for ours, theirs in (("°C", "degC"), ("°F", "degF")):
        for number in (-40, 0, 20, 68, 212):
            expected = registry.Quantity(number, theirs).to("kelvin").magnitude
            assert parse(f"{number} {ours}", Kind.TEMPERATURE).value == pytest.approx(expected, rel=1e-13)


def test_every_unit_but_four_scales_of_pure_number_is_checked_against_pint() -> None:
    unchecked = {unit.name for unit in UNITS} - set(PINT_NAMES)
    assert unchecked == {"rpm", "1/s", "°C", "°F", "K", "Shore A", "%"}


@pytest.mark.parametrize(
    ("unit", "constant"),
    [
        ("in", scipy.constants.inch),
        ("ft", scipy.constants.foot),
        ("thou", scipy.constants.mil),
        ("psi", scipy.constants.psi),
        ("bar", scipy.constants.bar),
        ("lb", scipy.constants.lb),
        ("oz", scipy.constants.oz),
        ("lbf", scipy.constants.lbf),
        ("hp", scipy.constants.hp),
        ("gal", scipy.constants.gallon),
        ("L", scipy.constants.liter),
        ("min", scipy.constants.minute),
        ("h", scipy.constants.hour),
        ("d", scipy.constants.day),
    ],
)
def test_factors_agree_with_scipy_constants(unit: str, constant: float) -> None:
    assert float(BY_SPELLING[unit].factor) == pytest.approx(constant, rel=1e-14)


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        ("in", Fraction(254, 10000)),  # international inch, 25.4 mm exactly (1959)
        ("lb", Fraction("0.45359237")),  # international pound, exactly (1959)
        ("lbf", Fraction("0.45359237") * Fraction("9.80665")),  # standard gravity, exactly (CGPM 1901)
        ("in wg", Fraction("249.08891")),  # conventional inch of water
        ("fpm", Fraction("0.00508")),
        ("cfm", Fraction("0.028316846592") / 60),  # cubic foot, exactly
        ("gal", Fraction("0.003785411784")),  # 231 cubic inches, exactly
    ],
)
def test_definitions_are_exact(unit: str, factor: Fraction) -> None:
    assert BY_SPELLING[unit].factor == factor


def test_every_spelling_finds_its_own_unit_in_any_case_that_is_not_ambiguous() -> None:
    for unit in UNITS:
        for spelling in (unit.name, *unit.spellings):
            assert find(spelling) is unit
            assert find(f" {spelling} ") is unit


def test_equal_quantities_are_equal_values() -> None:
    assert parse("5 mm", Kind.LENGTH) == Quantity(0.005, Kind.LENGTH, "mm", "5 mm")


@given(st.one_of(st.text(max_size=60), PIECES, st.integers(30, 42).map(lambda n: "1" * n)), KINDS, st.booleans())
@example("1" * 38, Kind.PRESSURE, True)
def test_the_text_that_is_kept_reads_as_the_same_value(text: str, kind: Kind, shown: bool) -> None:
    try:
        found = parse(text, kind, kind.metric if shown else None)
    except QuantityError:
        return
    again = parse(found.text, kind)
    assert (again.value, again.unit, again.text) == (found.value, found.unit, found.text)
