"""A real service, driven by its own forms and its JSON as the owner and two stitchers, against the plain model.

state_machine.py drives the studio beneath; this one comes in by the door, so that what a route leaves out, keeps
half, answers wrongly or does not tell of is found too. After every step the records are compared and proved.
"""

import re
import sys
from collections.abc import Mapping
from contextlib import ExitStack, closing
from pathlib import Path
from typing import Any

import httpx2
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule
from sqlmodel import col, select

from service.reckoning.design_text import read_design
from service.records.db import migrate, open_database, sqlite_url
from service.records.tables import Client, Cloth, Design, Garment, Panel, Quote, Section, Step, Tally
from service.studio.sign_in import Person
from tests.building import a_cloth, a_design
from tests.counting import number
from tests.faults.book import DESIGNS, PLACE, WHO, Book, plain_step, steps_of
from tests.faults.book_work import NEVER_UNPICKED, SHARE, where_the_work_is
from tests.faults.machines import measure, run_machine
from tests.faults.plain_studio import OPEN, UNDONE, PlainPiece, PlainQuote
from tests.quoting import charge
from tests.serving import OWNER, SECOND, STITCHER, open_studio, serving
from tests.telling import looked_over

SEE_OTHER, OK = httpx2.codes.SEE_OTHER, httpx2.codes.OK
WANTED_ON = "2027-05-16"


class Doorway(Book):
    """What everybody does, by the service's own pages and JSON."""

    def __init__(self) -> None:
        super().__init__()
        self.open = ExitStack()
        self.shoulder = self.open.enter_context(looked_over())
        live = self.open.enter_context(serving(self.database))
        self.clients = {
            email: self.open.enter_context(closing(live.signed_in(email))) for email in (OWNER, STITCHER, SECOND)
        }

    def teardown(self) -> None:
        """Whatever was changed was told of; leave nothing behind."""
        self.open.close()
        super().teardown()
        assert self.shoulder.faults == []

    def sent(self, who: Person, path: str, *, told: bool = True, **body: Any) -> httpx2.Response:
        """What is answered to a form or JSON; what is done is told in the log, and what is refused leaves nothing."""
        before = self.told_so_far()
        answer = self.clients[who.email].post(path, **body)
        assert answer.status_code < httpx2.codes.INTERNAL_SERVER_ERROR, answer.text
        now = self.told_so_far()
        assert now > before or not self.done(answer) or not told, f"{path}: a change that nothing tells of"
        assert now == before or self.done(answer), f"{path}: refused, and yet something was kept"
        return answer

    @staticmethod
    def done(answer: httpx2.Response) -> bool:
        """Whether it was done: a form leads on, JSON says what is there now."""
        return answer.status_code in {SEE_OTHER, OK}

    def post(self, path: str, **fields: str) -> str:
        """A form of the owner's that must be taken; gives where it leads."""
        answer = self.sent(self.owner, path, data=fields)
        assert answer.status_code == SEE_OTHER, answer.text
        return str(answer.headers["location"])

    def make(self, design: str) -> None:
        """A client, her commission and a garment, each by its form."""
        with self.database.reading() as db:
            row = db.exec(select(Design).where(Design.key == design)).one()
            cloth = db.exec(select(Cloth.id)).first()
            roles = {f"cloth.{drawn.role}": str(cloth) for drawn in read_design(row.document).cloths}
        at = len(self.model.commissions) + 1
        client = self.post("/clients", name=f"Hester Vane the {at}th of the book", phone="01 234")
        client_id = _last_number(client)
        commission = self.post("/commissions", client=str(client_id), title=f"A {design}", wanted_on=WANTED_ON)
        self.model.commissions[_last_number(commission)] = (client_id, "asked")
        garment = self.post(f"{commission}/make", design=str(row.id), **roles)
        self._plain_piece(_last_number(garment))

    def _plain_piece(self, garment_id: int) -> None:
        with self.database.reading() as db:
            panels = db.exec(select(Panel).where(Panel.garment_id == garment_id)).all()
            steps = {number(step): plain_step(step) for step in steps_of(db, garment_id)}
            holders: dict[int, int | None] = {number(panel): panel.holder_id for panel in panels}
            commission = db.get_one(Garment, garment_id).commission_id
        self.model.pieces[garment_id] = PlainPiece(commission, steps, holders)

    @rule(place=PLACE, who=WHO, share=SHARE, at=st.integers(0, 40), kind=st.sampled_from(["work"] * 5 + ["unpick"]), overruled=st.booleans(), by_form=st.booleans())  # fmt: skip
    def count(self, place: int, who: str, share: float, at: int, kind: str, *, overruled: bool, by_form: bool) -> None:
        """Somebody counts, by the form of the step's page or by JSON, and sends it twice."""
        garment_id, piece = self.piece(place)
        step_id = where_the_work_is(piece, at, kind)
        step, by = piece.steps[step_id], self.who(who)
        room = step.quantity - step.done if kind == "work" else step.done
        tenths = max(10, int(room * share) // 10 * 10)
        change = tenths if kind == "work" else -tenths
        path, body = self._count_asked(step_id, tenths, kind, overruled=overruled, by_form=by_form)
        answer = self.sent(by, path, **body)
        may = piece.state in OPEN and (by.is_owner or piece.in_hands(by.stitcher_id or 0, step.panel))
        fits = 0 <= step.done + change <= step.quantity
        if not self.done(answer):
            passes = by.is_owner and overruled and step.operation not in NEVER_UNPICKED and kind == "work"
            assert not (may and fits and passes), answer.text
            return
        assert may
        assert fits
        self.counted(garment_id, step_id, change, kind)
        again = self.sent(by, path, told=False, **body)
        assert self.done(again) or by_form, again.text

    def _count_asked(
        self, step_id: int, tenths: int, kind: str, *, overruled: bool, by_form: bool
    ) -> tuple[str, Mapping[str, Any]]:
        key, amount = self.key(), f"{tenths / 10:g}"
        if by_form and kind == "work":
            return f"/steps/{step_id}/count", {
                "data": {"key": key, "counted": amount, **({"overrule": "seen"} if overruled else {})}
            }
        if by_form:
            return f"/steps/{step_id}/unpick", {"data": {"key": key, "unpicked": amount, "why": "a slip"}}
        said = {"key": key, "counted": float(amount), "kind": kind, "overrule": "seen" if overruled else ""}
        return f"/api/steps/{step_id}/tallies", {"json": said}

    def counted(self, garment_id: int, step_id: int, change: int, kind: str) -> None:
        """So much more or less is done."""
        self.model.counts += 1
        with self.database.reading() as db:
            newest = db.exec(select(Tally.id).order_by(col(Tally.id).desc())).first()
        if kind == "work" and newest is not None:
            self.model.tallies[newest] = (garment_id, step_id)
        self.read_quantities(garment_id)
        self.model.pieces[garment_id].counted(step_id, change, kind)

    @rule(place=PLACE, most=st.sampled_from([2, 5, 12]))
    def work_on(self, place: int, most: int) -> None:
        """The owner does the next steps whole."""
        garment_id, piece = self.piece(place)
        left = [key for key, step in piece.steps.items() if step.done < step.quantity]
        for step_id in left[:most]:
            amount = piece.steps[step_id].quantity - piece.steps[step_id].done
            said = {"key": self.key(), "quick": "end"}
            if not self.done(self.sent(self.owner, f"/steps/{step_id}/count", data=said)):
                return
            self.counted(garment_id, step_id, amount, "work")

    @precondition(lambda self: self.model.tallies)
    @rule(place=PLACE)
    def counter(self, place: int) -> None:
        """A wrong entry is taken back by its form, once."""
        tally_id = list(self.model.tallies)[-1 - place % len(self.model.tallies)]
        garment_id, step_id = self.model.tallies[tally_id]
        with self.database.reading() as db:
            tenths = db.get_one(Tally, tally_id).counted_tenths
        asked = {"entry": str(tally_id), "key": self.key()}
        if not self.done(self.sent(self.owner, f"/steps/{step_id}/take-back", data=asked)):
            return
        assert self.model.pieces[garment_id].state in OPEN
        del self.model.tallies[tally_id]
        self.counted(garment_id, step_id, -tenths, "counter")
        twice = {"entry": str(tally_id), "key": self.key()}
        assert not self.done(self.sent(self.owner, f"/steps/{step_id}/take-back", data=twice))

    @rule(place=PLACE, at=PLACE, threads=st.integers(6, 14))
    def recount(self, place: int, at: int, threads: int) -> None:
        """A band's threads are counted again by the form on the page of one of its steps."""
        garment_id, _ = self.piece(place)
        with self.database.reading() as db:
            bands = select(Step.id).join(Section, col(Section.id) == Step.section_id)
            bands = bands.where(Section.garment_id == garment_id, col(Section.withdrawn_threads).is_not(None))
            found = db.exec(bands.order_by(col(Step.id))).all()
        asked = {"withdrawn_threads": str(threads), "recount_reason": "counted again"}
        if self.done(self.sent(self.owner, f"/steps/{found[at % len(found)]}/recount", told=False, data=asked)):
            self.read_quantities(garment_id)

    @rule(place=PLACE, who=WHO, to=st.sampled_from([STITCHER, SECOND]), one=st.none() | PLACE, needles=st.integers(0, 2))  # fmt: skip
    def offer(self, place: int, who: str, to: str, one: int | None, needles: int) -> None:
        """Panels, or all of it, are offered to a stitcher; nobody offers to herself."""
        garment_id, piece = self.piece(place)
        by, receiver = self.who(who), self.who(to).stitcher_id
        if by.stitcher_id == receiver:
            return
        chosen = frozenset(piece.holders) if one is None else frozenset({list(piece.holders)[one % len(piece.holders)]})
        asked = {
            "garment": garment_id,
            "panels": "all" if one is None else sorted(chosen),
            "to": to,
            "needles_out": needles,
            "pins_out": 0,
        }
        answer = self.sent(by, "/api/handovers", json=asked)
        may = piece.may_offer(chosen, receiver, None if by.is_owner else by.stitcher_id)
        assert self.done(answer) is may, answer.text
        if may:
            piece.offers[answer.json()["id"]] = piece.offered(chosen, receiver, by.id, needles)

    @rule(place=PLACE, who=WHO, counted=st.integers(0, 2), by_form=st.booleans())
    def take(self, place: int, who: str, counted: int, *, by_form: bool) -> None:
        """An offer is taken by whoever it is for."""
        if (found := self.offered_at(place)) is None:
            return
        piece, key, offered = found
        by, said = self.who(who), {"needles_in": counted, "pins_in": 0}
        form = {name: str(value) for name, value in said.items()}
        body, path = ({"data": form}, "") if by_form else ({"json": said}, "/api")
        answer = self.sent(by, f"{path}/handovers/{key}/take", **body)
        assert self.done(answer) is (by.stitcher_id == offered.to and piece.may_take(offered, counted)), answer.text
        if self.done(answer):
            piece.take(offered, counted, by.id)

    @rule(place=PLACE, who=WHO)
    def send_back(self, place: int, who: str) -> None:
        """An offer is sent back by either side."""
        if (found := self.offered_at(place)) is None:
            return
        _, key, offered = found
        by = self.who(who)
        answer = self.sent(by, f"/handovers/{key}/send-back", data={"reason": "not now"})
        party = offered.is_of(by.id, by.stitcher_id, is_owner=by.is_owner)
        assert self.done(answer) is (party and offered.state == "offered"), answer.text
        if self.done(answer):
            offered.state = "sent back"

    @rule(place=PLACE, kind=st.sampled_from(["quotes", "quotes", "alterations"]))
    def draw_up(self, place: int, kind: str) -> None:
        """A quote or an alteration is drawn up, or the draft there is looked at."""
        commission, word = self.commission(place), kind.removesuffix("s")
        drafts = self.model.quotes_of(commission, word, "draft")
        answer = self.sent(self.owner, f"/commissions/{commission}/{kind}", told=not drafts)
        if not self.done(answer):
            agreed = self.model.quotes_of(commission, "quote", "accepted")
            over = self.model.state_of(commission) in {"closed", "called off"}
            left = any(piece.state in UNDONE for piece in self.model.of(commission))
            assert over or not left or bool(agreed) is (kind == "quotes"), answer.text
        elif not drafts:
            key = _last_number(answer.headers["location"])
            with self.database.reading() as db:
                row = db.get_one(Quote, key)
                self.model.quotes[key] = PlainQuote(commission, word, row.version, row.total_minor)

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE)
    def send(self, place: int) -> None:
        """A draft is sent and sealed."""
        key, quote = self.quote(place)
        answer = self.sent(self.owner, f"/quotes/{key}/send", data={"version": str(quote.version), "unpriced": "yes"})
        if not self.done(answer):
            return
        assert quote.state == "draft"
        self.model.send(quote)
        with self.database.reading() as db:
            quote.seal = db.get_one(Quote, key).sealed_sha256

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE, off=st.sampled_from([0, 0, 0, 1]))
    def accept(self, place: int, off: int) -> None:
        """The owner writes a yes down, for the total that was sent or for another."""
        key, quote = self.quote(place)
        yes = {"name": "Hester Vane", "version": str(quote.version), "total": str(quote.total + off)}
        answer = self.sent(self.owner, f"/quotes/{key}/accept", data=yes)
        may = self.model.may_accept(quote) and not off
        assert self.done(answer) is may, answer.text
        if may:
            self.model.accept(quote)

    @rule(place=PLACE)
    def come_to_terms(self, place: int) -> None:
        """One way through from a draft to the yes, so that runs come further."""
        commission = self.commission(place)
        self.draw_up(place, "quotes")
        for newest, quote in enumerate(reversed(self.model.quotes.values())):
            if (quote.commission, quote.kind, quote.state) == (commission, "quote", "draft"):
                self.send(newest)
                self.accept(newest, 0)
                return

    @rule(place=PLACE, sure=PLACE)
    def call_off(self, place: int, sure: int) -> None:
        """Now and then a commission is called off."""
        if sure < 8:
            return
        commission = self.commission(place)
        answer = self.sent(self.owner, f"/commissions/{commission}/call-off", data={"reason": "she moves away"})
        assert self.done(answer) is self.model.call_off(commission), answer.text

    @rule(place=PLACE, called_off=st.booleans())
    def erase(self, place: int, *, called_off: bool) -> None:
        """A client's data is erased, unless something of hers is open."""
        client, _ = self.model.commissions[self.commission(place)]
        if called_off:
            self.call_off(place, sure=8)
        with self.database.reading() as db:
            name = db.get_one(Client, client).name
        answer = self.sent(self.owner, f"/clients/{client}/erase", data={"name": name, "sure": "yes"})
        assert self.done(answer) is self.model.may_erase(client), answer.text
        if self.done(answer):
            self.model.erased.add(client)
            self.sealed_again()


def _last_number(address: str) -> int:
    return int(re.findall(r"\d+", address)[-1])


def prepared(folder: Path) -> Path:
    """A studio with cloth and designs that charges and has nothing to do yet, to begin every run from."""
    migrate(sqlite_url(folder))
    database = open_database(sqlite_url(folder))
    open_studio(database)
    with database.writing() as db:
        charge(db)
        a_cloth(db, metres=400)
        for design in DESIGNS:
            a_design(db, design)
    database.close()
    return folder / "studio.sqlite"


def run(template: Path, runs: int, steps: int, *, same: bool) -> None:
    """So many runs of at most so many steps; the same ones each time when asked so."""
    run_machine(Doorway, template, runs, steps, same=same)


if __name__ == "__main__":
    sys.exit(measure("over HTTP", prepared, run, 200, 40, sys.argv[1:]))
