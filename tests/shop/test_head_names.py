"""Words that no head may be called."""

from __future__ import annotations

from preflight.sheet import TensionReadings
from preflight.shop.head_names import TENSION_KEYS, is_claimed


def test_the_tension_tables_own_keys_are_all_claimed() -> None:
    assert set(TENSION_KEYS) == set(TensionReadings.model_fields)
    assert all(is_claimed(key) for key in TENSION_KEYS)


def test_numbers_and_plain_names_are_free() -> None:
    assert not any(is_claimed(name) for name in ("1", "2", "A", "left drum"))
