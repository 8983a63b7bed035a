"""What a machine's newest records say of its state, out of the index: as `checklist.past` has it, without its files.

Reading sixty records as TOML takes half a second a machine; their outlines take a few milliseconds.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from preflight.checklist.past import MOST, REPAIR, RUN, START_UPS, Past

if TYPE_CHECKING:
    import sqlite3


def outlined(connection: sqlite3.Connection, machine: str, most: int = MOST) -> Past:
    """The past of a machine as far as stops that stand and due items need it.

    The records in it are short: kind, time, findings that a repair clears, items done, hours and area, repairs.
    """
    found: dict[str, list[dict[str, Any]]] = {"started": [], RUN: [], REPAIR: []}
    sql = "SELECT document FROM outlines WHERE machine = ? ORDER BY sequence DESC"
    for (text,) in connection.execute(sql, (machine,)):
        if len(found["started"]) == most:
            break
        record = json.loads(text)
        kind = record["record"]["kind"]
        found["started" if kind in START_UPS else kind].append(record)
    return Past(tuple(found["started"]), runs=tuple(found[RUN]), repairs=tuple(found[REPAIR]))
