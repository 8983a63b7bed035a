"""The extraction profile: fan, filter, bin, and the tree of runs with its gates."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from preflight.quantities import Kind, QuantityError, parse
from preflight.shop.fields import (
    AirFlow,
    AirSpeedLimit,
    BulkDensity,
    Density,
    DuctPressure,
    Length,
    Share,
    Strict,
    Temperature,
    Volume,
)


@dataclass(frozen=True, slots=True)
class DropAtFlow:
    """A pressure drop at a stated flow, written "150 Pa at 6000 m3/h"."""

    drop: float
    """Pa."""
    flow: float
    """m3/s, above zero."""
    text: str

    @classmethod
    def read(cls, raw: object) -> DropAtFlow:
        """Parse the text; the message names the form wanted."""
        if isinstance(raw, DropAtFlow):
            return raw
        parts = re.split(r"\s+at\s+", raw) if isinstance(raw, str) else []
        if len(parts) != 2:
            raise PydanticCustomError("drop", 'a drop at a flow is wanted, as in "150 Pa at 6000 m3/h"')
        try:
            drop, flow = parse(parts[0], Kind.DUCT_PRESSURE), parse(parts[1], Kind.AIR_FLOW)
        except QuantityError as error:
            raise PydanticCustomError("drop", "{message}", {"message": str(error)}) from error
        if flow.value <= 0 or drop.value < 0:
            raise PydanticCustomError("drop", "the flow must be above zero and the drop not below it")
        return cls(drop.value, flow.value, str(raw))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(cls.read)


FanPoint = Annotated[tuple[AirFlow, DuctPressure], Field(strict=False)]


class AirState(Strict):
    """Air that the fan moves."""

    temperature: Temperature | None = None
    altitude: Length | None = None


class Filter(Strict):
    """Media (linear) and housing (quadratic) drop; scaled to the drop read today."""

    linear: DropAtFlow | None = None
    quadratic: DropAtFlow | None = None
    clean_drop: DuctPressure | None = None
    at_flow: AirFlow | None = None
    """Flow at which `clean_drop` and `change_drop` hold."""
    change_drop: DuctPressure | None = None


class Bin(Strict):
    """Where the dust lands."""

    volume: Volume
    low_density: BulkDensity | None = None
    """Loose bulk density of this dust, taken low."""


class Fitting(Strict):
    """A fitting of the table, or one with a stated loss coefficient."""

    kind: str
    count: Annotated[int, Field(ge=1, le=1000)] = 1
    k: Annotated[float, Field(ge=-1000, le=1000, strict=False)] | None = None
    source: str = ""


class Run(Strict):
    """A round run that carries air toward the collector."""

    id: str
    into: str
    """The next run, or "collector"."""
    diameter: Length
    length: Length
    roughness: Length | None = None
    material: str | None = None
    fittings: Annotated[tuple[Fitting, ...], Field(max_length=100, strict=False)] = ()
    k: Annotated[float, Field(ge=0, le=1000, strict=False)] | None = None
    exception: SlowMain | None = None


class SlowMain(Strict):
    """A lead's dated permission for a main that is always slow, shown at every run."""

    reason: str
    by: str
    until: date


class HoodStatic(Strict):
    """Static pressure at the hood tap when all was well."""

    baseline: DuctPressure
    flow: AirFlow
    taken: date
    by: str = ""


class Gate(Strict):
    """A blast gate and the hood behind it."""

    id: str
    run: str
    hood_k: Annotated[float, Field(ge=0, le=1000, strict=False)]
    leak: Share = 0.0
    """Share of the open area left when closed."""
    machine: str = ""
    design_flow: AirFlow | None = None
    stays_open: bool = False
    make_up: bool = False
    hood_static: HoodStatic | None = None


class Protection(Strict):
    """Approved explosion protection, as the shop states it."""

    what: str
    by: str
    date: date


class Extraction(Strict):
    """One extraction profile file."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    name: str
    air: AirState = AirState()
    velocity: AirSpeedLimit | None = None
    velocity_damp: AirSpeedLimit | None = None
    fan: Annotated[tuple[FanPoint, ...], Field(min_length=4, max_length=100, strict=False)]
    """Flow and pressure, by rising flow."""
    filter: Filter = Filter()
    bin: Bin | None = None
    explosive_limit: Density | None = None
    """Assumed lower explosive limit of this dust in air."""
    protection: Protection | None = None
    runs: Annotated[tuple[Run, ...], Field(min_length=1, max_length=300, strict=False)]
    gates: Annotated[tuple[Gate, ...], Field(min_length=1, max_length=100, strict=False)]

    @property
    def detects_sparks(self) -> bool:
        """Whether the stated protection names spark detection."""
        return self.protection is not None and "spark" in self.protection.what.lower()

    def gate(self, gate_id: str) -> Gate | None:
        """The gate of that id, or None."""
        return next((gate for gate in self.gates if gate.id == gate_id), None)

    def run(self, run_id: str) -> Run | None:
        """The run of that id, or None."""
        return next((run for run in self.runs if run.id == run_id), None)


Run.model_rebuild()
