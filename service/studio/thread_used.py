"""Working thread that a garment really took, and what the studio learns from it for the next reckoning."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, func, select

from service.errors import Conflict, NotFound
from service.reckoning.designs import SectionDesign
from service.reckoning.thread import LONGEST_SKEIN_MM, ThreadAsk, Worked, plan_thread, used_ratio
from service.records.db import Reading, Writing
from service.records.queries.garments import Parts
from service.records.tables import Garment, ThreadUsed
from service.studio.thread_shelf import settle_with_shelf
from service.studio.thread_work import ThreadWork, thread_work


@dataclass(frozen=True, slots=True)
class ThreadReckoned:
    """One thread of a garment: what the reckoner says, uncorrected, of all of its work and of what is done."""

    thread: str
    whole_um: int
    done_um: int


@dataclass(frozen=True, slots=True)
class Learned:
    """What the studio really used of what was reckoned, over so many garments; of that thread or of all."""

    reckoned_um: int
    used_um: int
    garments: int
    is_of_thread: bool

    @property
    def ratio(self) -> float:
        """Thread really used for each length reckoned."""
        return used_ratio(self.reckoned_um / 1000, self.used_um / 1000)


def threads_reckoned(parts: Parts, drawn: Mapping[str, SectionDesign]) -> list[ThreadReckoned]:
    """Every thread that a garment is sewn with, in the order its steps name them."""
    whole = _lengths_um(thread_work(parts.sections, parts.steps, drawn))
    done = _lengths_um(thread_work(parts.sections, parts.steps, drawn, done_only=True))
    return [ThreadReckoned(thread, length_um, done.get(thread, 0)) for thread, length_um in whole.items()]


def told_of(db: Reading | Writing, garment_id: int) -> dict[str, ThreadUsed]:
    """The line that counts of each thread of a garment."""
    lines = db.exec(select(ThreadUsed).where(ThreadUsed.garment_id == garment_id).order_by(col(ThreadUsed.id)))
    newest = {line.thread: line for line in lines}
    return {thread: line for thread, line in newest.items() if line.used_um is not None}


def tell_used(
    db: Writing, garment_id: int, reckoned: ThreadReckoned, used_um: int, account_id: int, at: datetime
) -> ThreadUsed:
    """Write down what was really used for what is done by now, and take it off the shelf; raises Wrong for a slip."""
    if db.get(Garment, garment_id) is None:
        raise NotFound("There is no such garment.")
    if not reckoned.done_um:
        raise Conflict("Nothing is sewn with this thread yet: write down what it took when some of it is done.")
    used_ratio(reckoned.done_um / 1000, used_um / 1000)
    line = ThreadUsed(
        garment_id=garment_id,
        thread=reckoned.thread,
        reckoned_um=reckoned.done_um,
        used_um=used_um,
        account_id=account_id,
        at=at,
    )
    db.add(line)
    settle_with_shelf(db, garment_id, reckoned.thread, used_um, account_id, at)
    db.flush()
    return line


def take_back_used(db: Writing, garment_id: int, thread: str, account_id: int, at: datetime) -> None:
    """Let what was said of a thread count no more; the line itself stays."""
    line = told_of(db, garment_id).get(thread)
    if line is None:
        raise NotFound("Nothing is written down of this thread.")
    db.add(
        ThreadUsed(
            garment_id=garment_id,
            thread=thread,
            reckoned_um=line.reckoned_um,
            used_um=None,
            account_id=account_id,
            at=at,
        )
    )
    settle_with_shelf(db, garment_id, thread, 0, account_id, at)
    db.flush()


def learned_by_thread(db: Reading | Writing) -> dict[str, Learned]:
    """What is learned of each thread that something is written down of."""
    newest = select(func.max(ThreadUsed.id)).group_by(col(ThreadUsed.garment_id), col(ThreadUsed.thread))
    sums = (
        select(ThreadUsed.thread, func.sum(ThreadUsed.reckoned_um), func.sum(ThreadUsed.used_um), func.count())
        .where(col(ThreadUsed.id).in_(newest), col(ThreadUsed.used_um).is_not(None))
        .group_by(col(ThreadUsed.thread))
        .order_by(col(ThreadUsed.thread))
    )
    found = db.exec(sums).all()
    return {
        thread: Learned(int(said), int(used or 0), number, is_of_thread=True) for thread, said, used, number in found
    }


def learned_of(known: Mapping[str, Learned], thread: str | None = None) -> Learned | None:
    """What is learned of this thread; where nothing is, or none is named, of all threads together."""
    if thread is not None and thread in known:
        return known[thread]
    if not known:
        return None
    every = known.values()
    return Learned(
        sum(one.reckoned_um for one in every),
        sum(one.used_um for one in every),
        sum(one.garments for one in every),
        is_of_thread=False,
    )


def ratio_of(known: Mapping[str, Learned], thread: str) -> float | None:
    """The correction for this thread, as the reckoner takes it."""
    found = learned_of(known, thread)
    return found.ratio if found else None


def _lengths_um(work: ThreadWork) -> dict[str, int]:
    return {
        thread: round(
            1000
            * plan_thread(
                ThreadAsk(
                    tuple(Worked(name, amount, width) for (name, width), amount in rows.items()), LONGEST_SKEIN_MM
                )
            ).working_thread_mm
        )
        for thread, rows in work.items()
    }
