"""The WHO Child Growth Standards by day, day 0 to 730: the one adapter on the package that carries them.

Length is lying length. Geneva 2006 (length, weight) and 2007 (head; the year from memory).
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Literal

Sex = Literal["girl", "boy"]
What = Literal["length", "head", "weight"]

LAST_DAY = 730
ATTRIBUTION = (
    "WHO Child Growth Standards, WHO Multicentre Growth Reference Study Group, "
    "World Health Organization, Geneva, 2006 and 2007."
)
_SEX = {"girl": "female", "boy": "male"}
_MM_PER_CM = 10
_G_PER_KG = 1000


@dataclass(frozen=True, slots=True)
class Lms:
    """One day of a table: skewness, median in mm or g, and coefficient of variation."""

    skew: float
    median: float
    variation: float


def lms_on(what: What, sex: Sex, day: int) -> Lms:
    """Return the table's row for a day from 0 to 730; raises KeyError beyond it.

    >>> lms_on("length", "girl", 274)
    Lms(skew=1.0, median=701.463, variation=0.03444)
    """
    if not 0 <= day <= LAST_DAY:
        raise KeyError(day)
    row = _table(what)[_SEX[sex]][day]
    scale = _G_PER_KG if what == "weight" else _MM_PER_CM
    return Lms(float(row["l"]), float(row["m"] * scale), float(row["s"]))


@cache
def _table(what: What) -> dict[str, dict[int, dict[str, Decimal]]]:
    from pygrowup.tables.by_day import hcfa, lfa, wfa

    tables = {"length": lfa.DATA, "head": hcfa.DATA, "weight": wfa.DATA}
    found: dict[str, dict[int, dict[str, Decimal]]] = tables[what]
    return found
