"""What one start-up sees of the shop: its machine, its duct system, and the cards the sheet names."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.defaults import DENSITIES, DENSITY

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.shop.extraction import Extraction
    from preflight.shop.machine import Machine
    from preflight.shop.named import NamesBelt, NamesJob


@dataclass(frozen=True, slots=True)
class ShopView:
    """Profiles and cards by id, with the digests of the bytes they were read from."""

    machine: Machine
    machine_sha256: str
    machine_id: str = ""
    """File stem of the profile."""
    extraction: Extraction | None = None
    extraction_sha256: str = ""
    jobs: Mapping[str, JobCard] = field(default_factory=dict)
    belts: Mapping[str, BeltCard] = field(default_factory=dict)
    raw: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    """The files as plain tables, "machine", "extraction", "jobs/<id>", "belts/<id>": the limits of the day."""

    def job(self, sheet: NamesJob) -> JobCard | None:
        """The job card that the sheet names or holds."""
        return sheet.job if isinstance(sheet.job, JobCard) else self.jobs.get(sheet.job or "")

    def belt(self, on: NamesBelt | None) -> BeltCard | None:
        """The belt card that the sheet names or holds for a head."""
        if on is None or on.card is None:
            return None
        return on.card if isinstance(on.card, BeltCard) else self.belts.get(on.card)

    def density(self, job: JobCard | None) -> tuple[float, str]:
        """Density of the job's material in kg/m3, and where it comes from."""
        if job is not None and job.density is not None:
            return job.density.value, "job card"
        known = DENSITIES.get(job.material.casefold()) if job is not None else None
        if known is not None:
            return known, "default: table of species, from memory"
        return DENSITY, "default: from memory, material not in the table"
