"""Quantities: what people write, what is refused with what message, how a value is shown."""

from __future__ import annotations

import pytest

from preflight.quantities import Kind, QuantityError, computed, parse, show, show_beside
from preflight.units import UNITS


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # inch 25.4 mm, foot 0.3048 m, pound 0.45359237 kg, standard gravity 9.80665 m/s2: definitions
        ("75 1/8 in", Kind.LENGTH, 1.908175),
        ("75-1/8 in", Kind.LENGTH, 1.908175),
        ("75⅛ in", Kind.LENGTH, 1.908175),
        ("3/4 in", Kind.LENGTH, 0.01905),
        ('½"', Kind.LENGTH, 0.0127),
        ("1905 mm", Kind.LENGTH, 1.905),
        ("1905,5mm", Kind.LENGTH, 1.9055),
        ("24 thou", Kind.LENGTH, 0.0006096),
        ('.024"', Kind.LENGTH, 0.0006096),
        (",5 mm", Kind.LENGTH, 0.0005),
        ("6' 2\"", Kind.LENGTH, 1.8796),
        ("6 ft 2 1/2 in", Kind.LENGTH, 1.8923),
        ("6'", Kind.LENGTH, 1.8288),
        ("50 µm", Kind.LENGTH, 50e-6),
        ("50 um", Kind.LENGTH, 50e-6),
        ("52 psi", Kind.PRESSURE, 52 * 6894.757293168361),
        ("4,1 bar", Kind.PRESSURE, 410000.0),
        ("1000 cfm", Kind.AIR_FLOW, 0.4719474432),
        ("2400 m3/h", Kind.AIR_FLOW, 2 / 3),
        ("2400 m³/h", Kind.AIR_FLOW, 2 / 3),
        ("2.5 in wg", Kind.DUCT_PRESSURE, 622.722275),
        ('2.5"wg', Kind.DUCT_PRESSURE, 622.722275),
        ("-2.5 in. w.g.", Kind.DUCT_PRESSURE, -622.722275),
        ("20 fpm", Kind.FEED_SPEED, 0.1016),
        ("6 m/min", Kind.FEED_SPEED, 0.1),
        ("1480 rpm", Kind.ROTATION, 1480 / 60),
        ("1480 1/min", Kind.ROTATION, 1480 / 60),
        ("1480 /min", Kind.ROTATION, 1480 / 60),
        ("1480", Kind.ROTATION, 1480 / 60),
        ("9.2", Kind.CURRENT, 9.2),
        ("-400 N", Kind.FORCE, -400.0),
        ("−400 N", Kind.FORCE, -400.0),
        ("20 °C", Kind.TEMPERATURE, 293.15),
        ("-5 °C", Kind.TEMPERATURE, 268.15),
        ("68 F", Kind.TEMPERATURE, 293.15),
        ("80 shore a", Kind.HARDNESS, 80.0),
        ("15 hp", Kind.POWER, 15 * 745.6998715822702),
        ("14 h", Kind.HOURS, 50400.0),
        ("+5 MM", Kind.LENGTH, 0.005),
    ],
)
def test_what_people_write_is_understood(text: str, kind: Kind, value: float) -> None:
    assert parse(text, kind).value == pytest.approx(value, rel=1e-14)


def test_the_text_is_kept_as_typed() -> None:
    assert parse("  4,1 bar ", Kind.PRESSURE).text == "4,1 bar"
    assert str(parse("75 1/8 in", Kind.LENGTH)) == "75 1/8 in"


def test_a_line_break_or_a_hard_space_becomes_one_space_in_the_kept_text() -> None:
    assert parse("75\n1/8\u00a0in", Kind.LENGTH).text == "75 1/8 in"


def test_inch_and_metric_spellings_of_one_length_are_the_same_float() -> None:
    assert parse("75 in", Kind.LENGTH).value == parse("1905 mm", Kind.LENGTH).value


def test_a_bare_number_takes_the_unit_that_the_field_shows() -> None:
    reading = parse("4,3", Kind.PRESSURE, "bar")
    assert (reading.value, reading.unit, reading.text) == (430000.0, "bar", "4,3 bar")


def test_a_unit_typed_in_a_field_of_another_unit_counts() -> None:
    assert parse("62 psi", Kind.PRESSURE, "bar").unit == "psi"


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("1905", Kind.LENGTH, "which unit? Write '1905 mm' or '1905 in'"),
        ("52", Kind.PRESSURE, "'52 bar' or '52 psi'"),
        ("52 mm", Kind.PRESSURE, "'mm' is a length; a pressure is wanted, in bar, psi"),
        ("2 in", Kind.DUCT_PRESSURE, "'in' is a length"),
        ("20 bar", Kind.LENGTH, "'bar' is a pressure; a length is wanted, in mm, in"),
        ("-5 mm", Kind.LENGTH, "below zero"),
        ("-0.1 bar", Kind.PRESSURE, "below zero"),
        ("nan", Kind.LENGTH, "not a number with a unit"),
        ("inf mm", Kind.LENGTH, "not a number with a unit"),
        ("-inf", Kind.FORCE, "not a number with a unit"),
        ("1_0 mm", Kind.LENGTH, "cannot be read as one number"),
        ("1.905,5 mm", Kind.LENGTH, "no separators for thousands"),
        ("1,905.5 mm", Kind.LENGTH, "no separators for thousands"),
        ("1,905 mm", Kind.LENGTH, "could be 1905 or 1.905"),
        ("1'905 mm", Kind.LENGTH, "cannot be read as feet and inches"),
        ("1'905", Kind.LENGTH, "cannot be read as feet and inches"),
        ("5 ft 3 ft", Kind.LENGTH, "cannot be read as feet and inches"),
        ("1 905 mm", Kind.LENGTH, "two numbers"),
        ("3/0 in", Kind.LENGTH, "divides by zero"),
        ("5 mmm", Kind.LENGTH, "Did you mean 'mm'?"),
        ("5 mPa", Kind.PRESSURE, "not a unit known here"),
        ("1e3 mm", Kind.LENGTH, "not a unit known here"),
        ("٣ mm", Kind.LENGTH, "not a number"),
        ("mm", Kind.LENGTH, "not a number"),
        ("", Kind.LENGTH, "Nothing typed; a length is wanted, in mm, in"),
        ("   ", Kind.AIR_FLOW, "an air flow is wanted, in m3/h, cfm"),
        ("9" * 41, Kind.LENGTH, "too long"),
        ("-274 °C", Kind.TEMPERATURE, "below absolute zero"),
        ("5 m", Kind.TIME, "'m' is a length"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_says_what_would_be(text: str, kind: Kind, says: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse(text, kind)
    assert says in str(refused.value)
    assert refused.value.exit_status == 3


def test_a_field_that_shows_its_unit_offers_it_first() -> None:
    with pytest.raises(QuantityError, match="a length is wanted, in in, mm"):
        parse("", Kind.LENGTH, "in")


def test_minus_zero_is_zero() -> None:
    assert parse("-0 mm", Kind.LENGTH).value == 0.0


def test_a_quantity_is_not_converted_to_a_unit_of_another_dimension() -> None:
    with pytest.raises(ValueError, match="bar does not measure a length"):
        parse("5 mm", Kind.LENGTH).to("bar")


@pytest.mark.parametrize(
    ("value", "kind", "system", "text"),
    [
        (1.908175, Kind.LENGTH, "inch", "75.125 in"),
        (1.90818, Kind.LENGTH, "metric", "1908.18 mm"),
        (0.00016764, Kind.LENGTH, "inch", "0.0066 in"),
        (0.0, Kind.LENGTH, "metric", "0 mm"),
        (-1e-9, Kind.DUCT_PRESSURE, "metric", "0 Pa"),
        (430000.0, Kind.PRESSURE, "metric", "4.3 bar"),
        (430000.0, Kind.PRESSURE, "inch", "62.4 psi"),
        (0.1, Kind.FEED_SPEED, "inch", "20 fpm"),
        (293.15, Kind.TEMPERATURE, "inch", "68 °F"),
    ],
)
def test_a_value_is_shown_in_the_shops_units(value: float, kind: Kind, system: str, text: str) -> None:
    assert show(value, kind, system) == text


def test_a_value_just_below_a_limit_never_reads_like_the_limit() -> None:
    assert show_beside(17.76, 17.8, Kind.AIR_SPEED) == "17.76 m/s"
    assert show_beside(17.8, 17.8, Kind.AIR_SPEED) == "17.8 m/s"
    assert show_beside(17.7999, 17.8, Kind.AIR_SPEED) == "17.7999 m/s"


def test_a_computed_quantity_carries_the_text_it_is_shown_as() -> None:
    found = computed(0.0254, Kind.LENGTH, "inch")
    assert (found.text, found.unit) == ("1 in", "in")


def test_every_kind_is_shown_in_units_of_its_own_dimension() -> None:
    dimensions = {unit.name: unit.dimension for unit in UNITS}
    for kind in Kind:
        assert dimensions[kind.metric] == dimensions[kind.inch] == kind.dimension
        assert kind.bare is None or dimensions[kind.bare] == kind.dimension
