"""The studio's own record: the pieces finished last, what each took, and what was to be foreseen before it."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from service.reckoning.hindsight import begun_on, hindsight
from service.reckoning.rates import LoggedWork, Prior
from service.reckoning.track_record import Finished, Record, record

LAST_PIECES = 20
A_LITTLE = 1.1


@dataclass(frozen=True, slots=True)
class Piece:
    """A finished garment looked back on; `entries` are how many of its log were read."""

    garment_id: int
    name: str
    finished_at: datetime
    entries: int
    hours: Finished

    @property
    def verdict(self) -> str:
        """How it fell against the range foreseen, in words."""
        hours = self.hours
        if hours.actual_hours < hours.p10_hours:
            return "a little quicker" if hours.actual_hours * A_LITTLE > hours.p10_hours else "quicker"
        if hours.actual_hours > hours.p90_hours:
            return "a little longer" if hours.actual_hours < hours.p90_hours * A_LITTLE else "longer"
        return "inside"


@dataclass(frozen=True, slots=True)
class StudioRecord:
    """The pieces finished last, the latest first."""

    pieces: tuple[Piece, ...]

    @property
    def held(self) -> Record:
        """How many fell inside their range, and the widening that follows."""
        return record([piece.hours for piece in self.pieces])


def look_back(
    own_log: Callable[[], Iterable[LoggedWork]],
    finished: Sequence[Any],
    before: StudioRecord,
    guessed: Callable[[date], Prior],
) -> StudioRecord:
    """Look back on the garments finished; what was worked out `before` is kept while their own log is the same.

    `guessed` tells what was guessed at the end of the day before a piece was begun.
    """
    known = {(piece.garment_id, piece.finished_at, piece.entries): piece for piece in before.pieces}
    many = Counter(entry.garment for entry in own_log()) if finished else Counter()
    log: list[LoggedWork] = []
    pieces = []
    for row in finished:
        entries = many[str(row.id)]
        piece = known.get((row.id, row.finished_at, entries))
        if piece is None and entries:
            log = log or list(own_log())
        if piece is None and (begun := begun_on(log, str(row.id))) is not None:
            hours = hindsight(log, str(row.id), guessed(begun))
            piece = Piece(row.id, row.name, row.finished_at, entries, hours)
        if piece is not None:
            pieces.append(piece)
    return StudioRecord(tuple(pieces))
