"""What is done at the table in state_machine.py: counted, taken back, counted again, handed over, finished."""

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule
from sqlmodel import col, select

from service.errors import Refusal
from service.reckoning.sharps_out import Sharps
from service.records.tables import Section, Tally
from service.studio import standing
from service.studio.handovers import CountedIn, Offer, offer, send_back, take
from service.studio.log import TallyAsk, add_tally, take_back
from service.studio.recount import Recount, recount_section
from service.studio.sharps import Found, find_missing
from service.studio.travelling import count_in
from tests.faults.book import PLACE, WHO, Book
from tests.faults.plain_studio import DONE_ONCE, OPEN, UNDONE, PlainPiece
from tests.serving import START

SHARE = st.sampled_from([0.4, 1.0, 1.0, 1.0, 1.3])
NEVER_UNPICKED = frozenset({"cut_block", "clip", "withdraw"})


class Work(Book):
    """Counting, handing over and finishing, by anybody."""

    @rule(place=PLACE, who=WHO, share=SHARE, at=st.integers(0, 40), kind=st.sampled_from(["work"] * 5 + ["unpick"]), overruled=st.booleans(), more=st.booleans())  # fmt: skip
    def count(self, place: int, who: str, share: float, at: int, kind: str, *, overruled: bool, more: bool) -> None:
        """Somebody counts on a step: the next one mostly, or some other; or unpicks."""
        garment_id, piece = self.piece(place)
        step_id = where_the_work_is(piece, at, kind)
        step, by = piece.steps[step_id], self.who(who)
        room = step.quantity - step.done if kind == "work" else step.done
        tenths = max(10, int(room * share) // 10 * 10)
        asked = TallyAsk(
            self.key(), Decimal(tenths) / 10, kind, more_on_cloth=more, overrule="seen" if overruled else ""
        )
        change = tenths if kind == "work" else -tenths
        given = self.tried(lambda db: add_tally(db, by, step_id, asked, START))
        may = piece.state in OPEN and (by.is_owner or piece.in_hands(by.stitcher_id or 0, step.panel))
        may_be_more = more and kind == "work" and step.unit not in DONE_ONCE
        fits = step.done + change >= 0 and (step.done + change <= step.quantity or may_be_more)
        if isinstance(given, Refusal):
            passes = by.is_owner and overruled and step.operation not in NEVER_UNPICKED
            assert not (may and fits and passes), given
            return
        assert may
        assert fits
        self._counted(garment_id, step_id, change, kind)
        again = self.tried(lambda db: add_tally(db, by, step_id, asked, START), told=False)
        assert again == given
        other = TallyAsk(asked.key, asked.counted + 1, kind)
        assert isinstance(self.tried(lambda db: add_tally(db, by, step_id, other, START)), Refusal)

    def _counted(self, garment_id: int, step_id: int, change: int, kind: str) -> None:
        piece = self.model.pieces[garment_id]
        self.model.counts += 1
        with self.database.reading() as db:
            newest = db.exec(select(Tally.id).order_by(col(Tally.id).desc())).first()
        if kind == "work" and newest is not None:
            self.model.tallies[newest] = (garment_id, step_id)
        self.read_quantities(garment_id)
        piece.counted(step_id, change, kind)

    @rule(place=PLACE, most=st.sampled_from([3, 8, 100]))
    def work_on(self, place: int, most: int) -> None:
        """The owner does the next steps whole, or all of them."""
        garment_id, piece = self.piece(place)
        left = [key for key, step in piece.steps.items() if step.done < step.quantity]
        for step_id in left[:most]:
            amount = piece.steps[step_id].quantity - piece.steps[step_id].done
            if isinstance(self._whole(step_id, amount), Refusal):
                return
            self._counted(garment_id, step_id, amount, "work")

    def _whole(self, step_id: int, amount: int) -> Any:
        asked = TallyAsk(self.key(), Decimal(amount) / 10)
        return self.tried(lambda db: add_tally(db, self.owner, step_id, asked, START))

    @precondition(lambda self: self.model.tallies)
    @rule(place=PLACE)
    def counter(self, place: int) -> None:
        """A wrong entry is taken back, once."""
        tally_id = list(self.model.tallies)[-1 - place % len(self.model.tallies)]
        garment_id, step_id = self.model.tallies[tally_id]
        with self.database.reading() as db:
            tenths = db.get_one(Tally, tally_id).counted_tenths
        given = self.tried(lambda db: take_back(db, self.owner, tally_id, self.key(), START))
        if isinstance(given, Refusal):
            return
        assert self.model.pieces[garment_id].state in OPEN
        del self.model.tallies[tally_id]
        self._counted(garment_id, step_id, -tenths, "counter")
        twice = self.tried(lambda db: take_back(db, self.owner, tally_id, self.key(), START))
        assert isinstance(twice, Refusal)

    @rule(place=PLACE, at=PLACE, threads=st.integers(6, 14))
    def recount(self, place: int, at: int, threads: int) -> None:
        """A band's threads are counted again."""
        garment_id, _ = self.piece(place)
        with self.database.reading() as db:
            found = select(Section.id).where(
                Section.garment_id == garment_id, col(Section.withdrawn_threads).is_not(None)
            )
            bands = db.exec(found.order_by(col(Section.id))).all()
        section_id = bands[at % len(bands)] or 0
        again = Recount("counted again", withdrawn_threads=threads)
        if not isinstance(self.tried(lambda db: recount_section(db, self.owner, section_id, again, START)), Refusal):
            self.read_quantities(garment_id)

    @rule(place=PLACE, who=WHO, to=st.sampled_from(["shelf", "wren", "ida"]), one=st.none() | PLACE, needles=st.integers(0, 2))  # fmt: skip
    def offer(self, place: int, who: str, to: str, one: int | None, needles: int) -> None:
        """Panels, or all of it, are offered to other hands."""
        garment_id, piece = self.piece(place)
        by, receiver = self.who(who), {"shelf": None, "wren": self.wren.stitcher_id, "ida": self.ida.stitcher_id}[to]
        chosen = frozenset(piece.holders) if one is None else frozenset({list(piece.holders)[one % len(piece.holders)]})
        panels = frozenset() if one is None else chosen
        asked = Offer(garment_id, receiver, panels, needles_out=needles)
        given = self.tried(lambda db: offer(db, by, asked, START))
        may = piece.may_offer(chosen, receiver, None if by.is_owner else by.stitcher_id)
        assert isinstance(given, Refusal) is not may, given
        if may:
            piece.offers[given.id] = piece.offered(chosen, receiver, by.id, needles)

    @rule(place=PLACE, who=WHO, counted=st.integers(0, 2))
    def take(self, place: int, who: str, counted: int) -> None:
        """An offer is taken by whoever it is for."""
        if (found := self.offered_at(place)) is None:
            return
        piece, key, offered = found
        by = self.who(who)
        given = self.tried(lambda db: take(db, by, key, CountedIn(counted, 0), START))
        receiver = by.is_owner if offered.to is None else by.stitcher_id == offered.to
        assert isinstance(given, Refusal) is not (receiver and piece.may_take(offered, counted)), given
        if not isinstance(given, Refusal):
            piece.take(offered, counted, by.id)

    @rule(place=PLACE, who=WHO)
    def send_back(self, place: int, who: str) -> None:
        """An offer is sent back by either side."""
        if (found := self.offered_at(place)) is None:
            return
        _, key, offered = found
        by = self.who(who)
        given = self.tried(lambda db: send_back(db, by, key, "not now", START))
        party = offered.is_of(by.id, by.stitcher_id, is_owner=by.is_owner)
        assert isinstance(given, Refusal) is not (party and offered.state == "offered"), given
        if not isinstance(given, Refusal):
            offered.state = "sent back"

    @rule(place=PLACE)
    def find_the_needle(self, place: int) -> None:
        """What was missing at a handover is found."""
        if (found := self.offered_at(place)) is None or found[2].state != "taken":
            return
        _, key, offered = found
        given = self.tried(lambda db: find_missing(db, self.owner, key, Found(1, 0, "in the hem"), START))
        assert isinstance(given, Refusal) is (offered.missing == 0), given
        offered.missing -= not isinstance(given, Refusal)

    @rule(place=PLACE, who=WHO, whose=WHO)
    def count_needles_in(self, place: int, who: str, whose: str) -> None:
        """What came with a piece is counted in by whoever took it, or by the owner."""
        garment_id, piece = self.piece(place)
        by, of = self.who(who), self.who(whose).id
        out = piece.out.get(of, 0)
        given = self.tried(lambda db: count_in(db, by, garment_id, of, Sharps(out, 0), START), told=False)
        may = out > 0 and piece.state in UNDONE and (by.is_owner or by.id == of)
        assert isinstance(given, Refusal) is not may, given
        if may:
            piece.out[of] = 0

    @rule(place=PLACE)
    def finish(self, place: int) -> None:
        """A garment on which nothing is left is finished, and then delivered."""
        garment_id, piece = self.piece(place)
        done = self.tried(lambda db: standing.finish(db, garment_id, self.owner.id, START))
        may = piece.state in OPEN and piece.is_worked and piece.may_leave
        assert isinstance(done, Refusal) is not may, done
        if not may:
            return
        piece.state = "finished"
        given = self.tried(lambda db: standing.deliver(db, garment_id, self.owner.id, START))
        assert not isinstance(given, Refusal), given
        piece.state = "delivered"


def where_the_work_is(piece: PlainPiece, at: int, kind: str) -> int:
    """Mostly where the work has come to: the first step that is not finished, or the last that is begun."""
    keys = list(piece.steps)
    if at < len(keys) // 4:
        return keys[at]
    if kind == "work":
        return next((key for key, step in piece.steps.items() if step.done < step.quantity), keys[-1])
    return next((key for key in reversed(keys) if piece.steps[key].done), keys[0])
