"""Needs as a table."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from simstore.study.size.need import Sizes

if TYPE_CHECKING:
    import pandas as pd


def tables_of(found: Sizes) -> dict[str, pd.DataFrame]:
    """Make the table: one row for each kind and metal class."""
    import pandas as pd

    rows = [
        {
            "kind": one.kind, "metal": one.metal, "enclosures": one.enclosures, "packet": one.packet,
            "packet_kg": one.packet_kg, "filled_kg": one.filled_kg, "middle_packets": one.middle_packets,
            "leaky_packets": one.leaky_packets, "fits_packets": one.fits_packets,
            "lasts_weeks": None if math.isinf(one.lasts_weeks) else one.lasts_weeks, "third_kg": one.third_kg,
            "formula_kg": one.formula_kg,
        }
        for one in found.needs
    ]  # fmt: skip
    table = pd.DataFrame(rows, columns=list(rows[0]) if rows else ["kind"])
    counts = [name for name in ("middle_packets", "leaky_packets") if name in table]
    return {"sizes": table.astype(dict.fromkeys(counts, "Int64"))}
