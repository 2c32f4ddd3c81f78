"""The newest plan of the diary, kept until what it rests on changes; one of these a service."""

from collections.abc import Collection
from datetime import date
from threading import Lock
from time import monotonic, thread_time

from service.reckoning.arrays import Array
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Line, Stretch
from service.reckoning.track_record import widened
from service.records.db import Database, Reading, Writing
from service.records.queries.rates import LogMark
from service.studio.diary import Facts, Foreseen, Part, foresee, learnt_of, parts_of_plan, read_facts
from service.studio.rates import Learned, Learning, whose

QUICK_SECONDS = 0.06  # a plan made within this is made anew whenever it is asked for
RESTS_FOR = 9  # times as long as the last plan took
LOOKS_EVERY = 5  # as many times what the last plan took, before it is looked again whether it is behind

Rest = tuple[Facts, LogMark, float]


class Foresight:
    """Plans made from the records, by what this service has learned so far."""

    def __init__(self, learning: Learning, quick_seconds: float = QUICK_SECONDS) -> None:
        self._learning, self._quick_seconds = learning, quick_seconds
        self._making = Lock()
        self._kept: tuple[Rest, Foreseen] | None = None
        self._took = self._rested_at = self._looked_at = 0.0
        self._hours_by: tuple[LogMark, float] | None = None
        self._hours: dict[tuple[str, str, tuple[Line, ...]], Array] = {}
        self.is_behind = False

    def exact(self, db: Reading | Writing, today: date) -> Foreseen:
        """The plan as the records stand in this session."""
        rest = self._rest(db, today)
        kept = self._kept
        return kept[1] if kept is not None and kept[0] == rest else self._make(db, rest)

    def newest(self, db: Reading | Writing, today: date) -> Foreseen:
        """The plan made last today; made anew when it is behind and making one is quick, else by `catch_up`."""
        kept = self._kept
        if kept is None or kept[0][0].today != today or self._took <= self._quick_seconds:
            return self.exact(db, today)
        if monotonic() >= self._looked_at + LOOKS_EVERY * self._took:
            self.is_behind, self._looked_at = kept[0] != self._rest(db, today), monotonic()
        return kept[1]

    def is_due(self) -> bool:
        """Whether the plan was found behind, and making one has rested long enough."""
        return self.is_behind and monotonic() >= self._rested_at

    def catch_up(self, database: Database, today: date) -> None:
        """Make the plan anew."""
        with database.reading() as db:
            self.exact(db, today)

    def hours_of(self, db: Reading | Writing, parts: Collection[Part]) -> dict[str, Array]:
        """The hours of parts in every draw, each by whoever is to work on it, widened as the studio's record asks."""
        learned, kappa = self._learning.newest(db), self._learning.kappa
        if self._hours_by != (learned.mark, kappa):
            self._hours_by, self._hours = (learned.mark, kappa), {}
        kept = self._hours
        wanted = {part.job: (part.job, _by(part), part.lines) for part in parts}
        missing = [(part, key) for part in parts if (key := wanted[part.job]) not in kept]
        stretches = [Stretch(part.job, part.lines, _by(part), str(part.garment_id)) for part, _ in missing]
        if stretches:
            drawn = widened(drawn_hours(learned.drawn, stretches), kappa)
            kept.update({key: hours for (_, key), hours in zip(missing, drawn, strict=True)})
        return {job: kept[key] for job, key in wanted.items()}

    def _rest(self, db: Reading | Writing, today: date) -> Rest:
        learned: Learned = self._learning.newest(db)
        return read_facts(db, today), learned.mark, self._learning.kappa

    def _make(self, db: Reading | Writing, rest: Rest) -> Foreseen:
        with self._making:
            if self._kept is not None and self._kept[0] == rest:
                return self._kept[1]  # made meanwhile
            began = thread_time()
            facts = rest[0]
            parts = parts_of_plan(db, facts)
            hours = self.hours_of(db, parts.values())
            found = foresee(facts, parts, learnt_of(db, facts), hours)
            self._forget_but(parts)
            self._kept, self.is_behind = (rest, found), False
            self._took = thread_time() - began
            self._rested_at = monotonic() + RESTS_FOR * self._took
            return found

    def _forget_but(self, parts: dict[str, Part]) -> None:
        """Keep the hours of the parts that are, and of those in other hands asked about, not of what is done by now."""
        lines = {job: part.lines for job, part in parts.items()}
        self._hours = {key: hours for key, hours in self._hours.items() if lines.get(key[0]) == key[2]}


def _by(part: Part) -> str:
    return "" if part.hands is None else whose(part.hands.stitcher_id)
