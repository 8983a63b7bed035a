"""The library of faults: each changes a sound set-up and names the findings that it must bring about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.training.faults_bench import FAULTS as BENCH
from preflight.training.faults_doors_shut import FAULTS as DOORS_SHUT
from preflight.training.faults_running import FAULTS as RUNNING

if TYPE_CHECKING:
    from preflight.training.fault import Fault

FAULTS: tuple[Fault, ...] = (*BENCH, *DOORS_SHUT, *RUNNING)
"""In working order."""

BY_ID = {fault.id: fault for fault in FAULTS}


def faults_of(check: str) -> tuple[Fault, ...]:
    """The faults that are to be seen at a station."""
    return tuple(fault for fault in FAULTS if fault.check == check)
