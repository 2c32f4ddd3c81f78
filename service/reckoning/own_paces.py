"""One stitcher's own paces, operation by operation: for her and the owner, never beside another's."""

from dataclasses import dataclass
from statistics import median

from service.reckoning.operations import OPERATIONS, Unit
from service.reckoning.paces import Range, pace_range
from service.reckoning.rates import Pace
from service.reckoning.rates_fit import Fit


@dataclass(frozen=True, slots=True)
class OwnPace:
    """Seconds a unit of one operation, on the cloth that she usually does it on; None where that makes no difference.

    `days` are the days of it in the log.
    """

    operation: str
    unit: Unit
    days: int
    threads_per_cm: float | None
    seconds: Range


def own_paces(known: Fit, stitcher: str) -> tuple[OwnPace, ...]:
    """Return the paces of whatever this stitcher has logged, in the order of the table of operations."""
    hers: dict[str, list[float]] = {}
    for block in known.blocks:
        if block.pace.stitcher == stitcher:
            hers.setdefault(block.pace.operation, []).append(block.pace.threads_per_cm)
    return tuple(_own(known, stitcher, name, hers[name]) for name in OPERATIONS if name in hers)


def _own(known: Fit, stitcher: str, name: str, counts: list[float]) -> OwnPace:
    usual = median(counts)
    operation = OPERATIONS[name]
    seconds = pace_range(known, Pace(stitcher, name, usual))
    return OwnPace(name, operation.unit, len(counts), usual if operation.exposure else None, seconds)
