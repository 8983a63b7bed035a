"""What takes a part through that may not go by itself; said wherever one is refused for being small."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.engine.part_limits import shortest_held
from preflight.quantities import Kind, show

if TYPE_CHECKING:
    from preflight.shop.machine import Machine


def carrier_words(machine: Machine) -> str:
    """The carrier, as long as the hold-down needs it (common practice, no source)."""
    spacing = machine.conveyor.hold_down_spacing
    if spacing is None:
        return "On a carrier board, its stop strip lower than the finished part."
    least = show(shortest_held(spacing.value), Kind.LENGTH, machine.units)
    return f"On a carrier board at least {least} long, its stop strip lower than the finished part."
