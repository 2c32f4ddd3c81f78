"""The page where a cloth's fibres are stated by percent, and the one that says who the maker is. The owner's alone."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Maker
from service.studio.cloth import cloth_with
from service.studio.fibres import FibreShare, fibres_of, state_fibres
from service.studio.maker import change_maker, maker_of
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed

router = APIRouter(include_in_schema=False)
ROWS = range(1, 5)


@router.get("/cloth/{cloth_id}/fibres")
def show_fibres(desk: OwnerDesk, db: Reads, cloth_id: Id) -> Response:
    stated = fibres_of(db, [cloth_id])[cloth_id]
    values = {f"fibre-{at}": one.fibre for at, one in enumerate(stated, 1)}
    values |= {f"share-{at}": f"{one.share_bp / 100:g}" for at, one in enumerate(stated, 1)}
    return _fibres_page(desk, db, cloth_id, Form(values))


@router.post("/cloth/{cloth_id}/fibres")
def keep_fibres(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, cloth_id: Id) -> Response:
    shares = [share for row in ROWS if (share := _share(form, row)) is not None]
    if not form.wrong:
        try:
            state_fibres(db, owner, cloth_id, shares, at)
        except Unreadable as refused:
            for field, sentence in refused.faults.items():
                form.fault(field, sentence)
    if form.wrong:
        return _fibres_page(desk, db, cloth_id, form, 422)
    return desk.go(f"/cloth/{cloth_id}")


@router.get("/settings/maker")
def show_maker(desk: OwnerDesk, db: Reads) -> Response:
    return desk.page("settings/maker.html", "settings", form=_told(maker_of(db)))


@router.post("/settings/maker")
def keep_maker(desk: OwnerDesk, form: Typed, db: Writes) -> Response:
    place = form.text("place", called="the place", most=200)
    postal = form.text("postal_address", called="the postal address", most=1000, needed=False)
    electronic = form.text("electronic_address", called="the electronic address", most=254, needed=False)
    if form.wrong:
        return desk.page("settings/maker.html", "settings", status=422, form=form)
    change_maker(db, place, postal, electronic)
    return desk.go("/settings")


def _share(form: Form, row: int) -> FibreShare | None:
    fibre = form.text(f"fibre-{row}", called=f"fibre {row}", most=60, needed=bool(form.raw(f"share-{row}")))
    share = form.decimal(f"share-{row}", called=f"the share of fibre {row}", most=100, above=True, needed=bool(fibre))
    return FibreShare(fibre, round(share * 100)) if fibre and share is not None else None


def _fibres_page(desk: Desk, db: Reading | Writing, cloth_id: int, form: Form, status: int = 200) -> Response:
    cloth = cloth_with(db, cloth_id)
    return desk.page("cloth/fibres.html", "cloth", status=status, form=form, cloth=cloth, rows=ROWS)


def _told(maker: Maker) -> Form:
    return Form(
        {
            "place": maker.place,
            "postal_address": maker.postal_address,
            "electronic_address": maker.electronic_address,
        }
    )
