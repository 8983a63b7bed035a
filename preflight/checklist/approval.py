"""Which profiles of a machine stand as a lead approved them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.checklist.register import Register
    from preflight.shop.view import ShopView


def unapproved(register: Register, view: ShopView) -> tuple[str, ...]:
    """A sentence for each profile that is not as a lead approved it; none in a shop without people."""
    said = [register.standing(f"machines/{view.machine_id}", view.machine_sha256)]
    if view.extraction is not None:
        said.append(register.standing(f"extraction/{view.machine.extraction}", view.extraction_sha256))
    return tuple(text for text in said if text)
