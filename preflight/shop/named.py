"""What a setup sheet names in the shop, as far as the shop has to know: so that no arrow points back to the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.shop.cards import BeltCard, JobCard


class NamesBelt(Protocol):
    """A head with its belt."""

    @property
    def card(self) -> BeltCard | str | None:
        """The card, or its id."""


class NamesJob(Protocol):
    """A sheet with its job."""

    @property
    def job(self) -> JobCard | str | None:
        """The card, or its id."""


class NamesFiles(NamesJob, Protocol):
    """A sheet with everything that is looked up for it."""

    @property
    def machine(self) -> str:
        """Id of the profile, or a path to it."""

    @property
    def belts(self) -> Sequence[NamesBelt]:
        """One a head."""
