"""A studio's book and the plain model beside it, and what is compared after every step of state_machine.py."""

import itertools
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sqlmodel import SQLModel, col, func, select

from service.errors import Refusal
from service.records.db import Database, Reading, Writing, open_database
from service.records.photo_store import FolderStore
from service.records.tables import Client, Commission, Event, Garment, Panel, Quote, Step, Tally
from service.studio.money_owed import owed_of
from service.studio.proofs import prove
from service.studio.sign_in import Person
from tests.building import a_garment
from tests.counting import number, person
from tests.faults.plain_studio import PlainOffer, PlainPiece, PlainQuote, PlainStep, PlainStudio
from tests.serving import OWNER, SECOND, STITCHER

PLACE = st.integers(0, 11)
WHO = st.sampled_from(["owner", "owner", STITCHER, SECOND])
DESIGNS = ("bib", "bonnet")
MOST_PIECES = 4
KEYS = itertools.count(1)


class Book(RuleBasedStateMachine):
    """The studio's book, what the model says of it, and how both are compared."""

    template: Path

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="slbook"))
        self.places = itertools.count(1)
        self.model = PlainStudio()
        self.open_at(self.folder / "first")
        shutil.copyfile(self.template, self.data / "studio.sqlite")
        self.backups: list[tuple[Path, PlainStudio]] = []
        with self.database.reading() as db:
            self.owner, self.wren, self.ida = (person(db, email) for email in (OWNER, STITCHER, SECOND))

    def open_at(self, data: Path) -> None:
        """Go on with the studio in this folder."""
        data.mkdir(exist_ok=True)
        self.data, self.store = data, FolderStore(data / "photos")
        self.database: Database = open_database(f"sqlite:///{data / 'studio.sqlite'}")

    def teardown(self) -> None:
        """Leave nothing behind."""
        self.database.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def tried(self, act: Callable[[Writing], Any], *, told: bool = True) -> Any:
        """What the act gives, or its refusal; whatever is kept is told in the log, and nothing else is."""
        before, given = self.told_so_far(), self._given(act)
        is_refused = isinstance(given, Refusal)
        assert self.told_so_far() == before or not is_refused, given
        assert self.told_so_far() > before or is_refused or not told, "a change that nothing tells of"
        return given

    def _given(self, act: Callable[[Writing], Any]) -> Any:
        try:
            with self.database.writing() as db:
                given = act(db)
                if isinstance(given, SQLModel):
                    db.flush()
                    db.refresh(given)
                    db.expunge(given)
                return given
        except Refusal as refused:
            return refused

    def told_so_far(self) -> int:
        """How many lines the logs of work and of changes have."""
        with self.database.reading() as db:
            return sum(db.exec(select(func.count()).select_from(table)).one() for table in (Event, Tally))

    def who(self, named: str) -> Person:
        """Somebody of the studio."""
        return {"owner": self.owner, STITCHER: self.wren, SECOND: self.ida}[named]

    def piece(self, place: int) -> tuple[int, PlainPiece]:
        """One of the garments."""
        return list(self.model.pieces.items())[place % len(self.model.pieces)]

    def offered_at(self, place: int) -> tuple[PlainPiece, int, PlainOffer] | None:
        """A piece and what is or was offered of it, the newest first."""
        found = [(piece, key, each) for piece in self.model.pieces.values() for key, each in piece.offers.items()]
        return found[-1 - place % len(found)] if found else None

    def commission(self, place: int) -> int:
        """One of the commissions."""
        return list(self.model.commissions)[place % len(self.model.commissions)]

    def quote(self, place: int) -> tuple[int, PlainQuote]:
        """One of the quotes, the newest first."""
        return list(self.model.quotes.items())[-1 - place % len(self.model.quotes)]

    def sealed_again(self) -> None:
        """The names went out of sealed quotes, so their seals are new; all else in them stays."""
        with self.database.reading() as db:
            for key, quote in self.model.quotes.items():
                if self.model.commissions[quote.commission][0] in self.model.erased:
                    quote.seal = db.get_one(Quote, key).sealed_sha256

    def key(self) -> str:
        """A key that nobody used."""
        return f"book {next(KEYS)}"

    @initialize(design=st.sampled_from(DESIGNS))
    def begin(self, design: str) -> None:
        """Every run has a piece to work on."""
        self.make(design)

    @rule(design=st.sampled_from(DESIGNS))
    def make_a_garment(self, design: str) -> None:
        """A client, her commission, and a garment of it."""
        if len(self.model.pieces) < MOST_PIECES:
            self.make(design)

    def make(self, design: str) -> None:
        """All three, as tests build them."""
        with self.database.writing() as db:
            garment = a_garment(db, design)
            garment_id, commission = number(garment), db.get_one(Commission, garment.commission_id)
            db.get_one(Client, commission.client_id).name = f"Hester Vane the {commission.client_id}th of the book"
            self.model.commissions[garment.commission_id] = (commission.client_id, commission.state)
        with self.database.reading() as db:
            panels = db.exec(select(Panel).where(Panel.garment_id == garment_id)).all()
            steps = {number(row): plain_step(row) for row in steps_of(db, garment_id)}
            holders: dict[int, int | None] = {number(panel): panel.holder_id for panel in panels}
            self.model.pieces[garment_id] = PlainPiece(self.commission_of(db, garment_id), steps, holders)

    def commission_of(self, db: Reading, garment_id: int) -> int:
        """Which commission a garment is of."""
        return db.get_one(Garment, garment_id).commission_id

    def read_quantities(self, garment_id: int) -> None:
        """After cloth was counted otherwise: how much there is to do now, and which steps are new."""
        piece = self.model.pieces[garment_id]
        with self.database.reading() as db:
            for row in steps_of(db, garment_id):
                known = piece.steps.setdefault(number(row), plain_step(row))
                known.quantity = row.quantity_tenths

    @invariant()
    def everything_stands_as_the_model_says(self) -> None:
        """The records say what the model says, and prove what must always hold."""
        with self.database.reading() as db:
            for garment_id, piece in self.model.pieces.items():
                self._piece_stands(db, garment_id, piece)
            assert db.exec(select(func.count()).select_from(Tally)).one() == self.model.counts
            commissions = {number(row): row.state for row in db.exec(select(Commission))}
            assert commissions == {key: state for key, (_, state) in self.model.commissions.items()}
            quotes = {number(row): (row.state, row.version, row.total_minor) for row in db.exec(select(Quote))}
            assert quotes == {key: (q.state, q.version, q.total) for key, q in self.model.quotes.items()}
            sealed = {number(row): row.sealed_sha256 for row in db.exec(select(Quote))}
            assert sealed == {key: quote.seal for key, quote in self.model.quotes.items()}
            owed = {key: owed.owed_minor for key, owed in owed_of(db, commissions).items()}
            assert owed == {key: self.model.owed(key) for key in commissions}
            names = {number(row): row.name for row in db.exec(select(Client))}
            assert all("Hester" not in names[client] for client in self.model.erased)
            assert prove(db).faults == ()

    def _piece_stands(self, db: Reading, garment_id: int, piece: PlainPiece) -> None:
        garment = db.get_one(Garment, garment_id)
        assert (garment.state, garment.holder_id, garment.joined_at is not None) == (
            piece.state,
            piece.holder,
            piece.joined,
        )
        panels = db.exec(select(Panel).where(Panel.garment_id == garment_id))
        assert {number(panel): panel.holder_id for panel in panels} == piece.holders
        found = {number(row): (row.done_tenths, row.quantity_tenths) for row in steps_of(db, garment_id)}
        assert found == {key: (step.done, step.quantity) for key, step in piece.steps.items()}


def plain_step(row: Step) -> PlainStep:
    """A step as the model knows it."""
    return PlainStep(row.operation, row.unit, row.panel_id, row.quantity_tenths, row.done_tenths)


def steps_of(db: Reading, garment_id: int) -> list[Step]:
    """A garment's steps in their order."""
    return list(db.exec(select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))))
