"""Photos: a garment's gallery, one photo, the pictures themselves, and what may be done with them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlmodel import col, select

from service.errors import Conflict, NoRoom, NotFound, Unreadable
from service.languages.spoken import said
from service.records.db import Database, Reading, Writing
from service.records.photo_store import PhotoStore
from service.records.queries.photos import gallery, one_shown
from service.records.tables import Garment, Handover, Section, Step
from service.studio import photos
from service.studio.photos import MOST_WORDS, NewPhotos, Shows
from service.studio.pictures import SIZES, name_of
from service.studio.sign_in import Person
from service.web.deps import Beyond, Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes, the_database
from service.web.forms import Form, Typed
from service.web.uploads import LIMITS, MOST_ANYHOW, Sent, pictures_in, read_sent
from service.web.words import operation

router = APIRouter(include_in_schema=False)
COLUMNS = {"section": "section_id", "step": "step_id", "handover": "handover_id"}
WHOLE = "garment"
# A picture runs nothing, fetches nothing, and is framed by nobody.
PICTURE_POLICY = "default-src 'none'; sandbox; frame-ancestors 'none'"
AN_HOUR = "private, max-age=3600"


def the_store(request: Request) -> PhotoStore:
    """Where this service keeps pictures."""
    store: PhotoStore = request.app.state.photos
    return store


def seen_garment(person: SignedIn, database: Annotated[Database, Depends(the_database)], garment_id: Id) -> Garment:
    """The garment, refused before anything that was sent is read."""
    with database.reading() as db:
        return photos.check_seen(db, person, garment_id)


Store = Annotated[PhotoStore, Depends(the_store)]
Base = Annotated[Database, Depends(the_database)]


async def read_for(request: Request, garment: Annotated[Garment, Depends(seen_garment)]) -> Sent:
    """What was sent for a garment that this person may see."""
    del garment
    return await read_sent(request)


@router.get("/garments/{garment_id}/photos")
def show_photos(
    desk: SignedInDesk,
    db: Reads,
    garment: Annotated[Garment, Depends(seen_garment)],
    of: str = WHOLE,
    before: Beyond = None,
) -> Response:
    return _gallery_page(desk, db, garment, Form({"of": of}), before=before)


@router.post("/garments/{garment_id}/photos", max_body_size=MOST_ANYHOW)
def add_photos(
    desk: SignedInDesk,
    person: SignedIn,
    database: Base,
    store: Store,
    at: Now,
    garment: Annotated[Garment, Depends(seen_garment)],
    sent: Annotated[Sent, Depends(read_for)],
) -> Response:
    status = _taken(sent, _Keeper(database, store, person, garment, at))
    if status == 303 and not desk.wants_block:
        return desk.go(f"/garments/{garment.id}/photos?of={sent.form.raw('of') or WHOLE}#gallery")
    with database.reading() as db:
        return _gallery_page(desk, db, garment, sent.form, status=200 if status == 303 else status)


@router.get("/photos/{photo_id}")
def show_photo(desk: SignedInDesk, person: SignedIn, db: Reads, photo_id: Id) -> Response:
    return _photo_page(desk, person, db, photo_id, None)


@router.post("/photos/{photo_id}/caption")
def change_caption(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, photo_id: Id) -> Response:
    caption = form.text("caption", called="the words", most=MOST_WORDS, needed=False)
    if form.wrong:
        return _photo_page(desk, person, db, photo_id, form, 422)
    photos.caption_photo(db, person, photo_id, caption)
    return desk.go(f"/photos/{photo_id}")


@router.post("/photos/{photo_id}/show")
def show_photo_to_client(
    desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, photo_id: Id
) -> Response:
    photos.show_to_client(db, person, photo_id, shown=form.ticked("shown"), at=at)
    return desk.go(f"/photos/{photo_id}")


@router.post("/photos/{photo_id}/take-out")
def take_photo_out(
    desk: SignedInDesk, person: SignedIn, database: Base, store: Store, at: Now, photo_id: Id
) -> Response:
    with database.writing(person.id) as db:
        out = photos.take_out(db, person, photo_id, at)
        garment_id, digest = out.garment_id, out.sha256
    photos.remove_unused(database, store, [digest])
    return desk.go(f"/garments/{garment_id}/photos")


@router.get("/photos/{photo_id}/{size}")
def show_picture(request: Request, person: SignedIn, database: Base, store: Store, photo_id: Id, size: str) -> Response:
    if size not in SIZES:
        raise NotFound("There is no such size of a photo.")
    with database.reading() as db:
        photo = photos.photo_for(db, person, photo_id)
    headers = {
        "Content-Security-Policy": PICTURE_POLICY,
        "Content-Disposition": f'inline; filename="photo-{photo_id}.jpg"',
        "Cache-Control": AN_HOUR,
        "Vary": "Cookie, Authorization",
        "ETag": f'"{photo.sha256[:32]}-{size}"',
    }
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    return Response(store.read(name_of(photo.sha256, size)), media_type=photo.mime, headers=headers)


@dataclass(frozen=True, slots=True)
class _Keeper:
    """Keeps what one person sends for one garment."""

    database: Database
    store: PhotoStore
    person: Person
    garment: Garment
    at: datetime

    def take(self, sent: Sent) -> int:
        """Take what was sent, or say in its form why not; gives the answer's status."""
        form = sent.form
        caption = form.text("caption", called="the words", most=MOST_WORDS, needed=False)
        shows = self._shows(form)
        if form.wrong:
            return sent.status
        pictures, status = pictures_in(sent)
        if form.errors:
            return status
        self._keep(NewPhotos(shows, pictures, caption))
        form.values["caption"] = ""
        return 303

    def _shows(self, form: Form) -> Shows:
        assert self.garment.id is not None
        part = _part(form.raw("of"))
        if part is None and form.raw("of") not in {"", WHOLE}:
            form.fault("of", "Choose what the photos show.")
        return Shows(self.garment.id, **({part[0]: part[1]} if part else {}))

    def _keep(self, new: NewPhotos) -> None:
        """Keep the pictures, then the records of them; whatever stops that leaves neither."""
        try:
            photos.keep_pictures(self.store, new.pictures)
            with self.database.writing(self.person.id) as db:
                photos.add_photos(db, self.store, self.person, new, self.at)
        except BaseException:
            photos.remove_unused(self.database, self.store, {picture.sha256 for picture in new.pictures})
            raise


def _taken(sent: Sent, keeper: _Keeper) -> int:
    """The answer's status; what is refused is said in the form."""
    try:
        return keeper.take(sent)
    except Unreadable as refused:
        for field, sentence in refused.faults.items():
            sent.form.fault(field, sentence)
        return refused.status
    except (Conflict, NoRoom) as refused:
        sent.form.fault("photos", refused.sentence)
        return refused.status
    finally:
        sent.close()


def _part(of: str) -> tuple[str, int] | None:
    """The column and number of what is shown, from a word like section-12."""
    word, _, number = of.partition("-")
    if word not in COLUMNS or not (number.isascii() and number.isdigit() and len(number) < 10):
        return None
    return COLUMNS[word], int(number)


def _gallery_page(
    desk: Desk, db: Reading, garment: Garment, form: Form, *, before: int | None = None, status: int = 200
) -> Response:
    assert garment.id is not None
    offered = _offered(db, garment.id, form.raw("of"))
    part = _part(form.raw("of"))
    if part is not None and form.raw("of") not in dict(offered):
        if not form.errors:
            raise NotFound("There is no such part of this garment.")
        part = None
    shown, more = gallery(db, garment.id, part, before)
    return desk.page(
        "photos/photos.html",
        "table",
        status=status,
        block="photos",
        wrong=form.wrong,
        form=form,
        garment=garment,
        offered=offered,
        part=dict(offered).get(form.raw("of"), "") if part else "",
        photos=shown,
        further=shown[-1].id if more else None,
        later=before is not None,
        limits=LIMITS,
    )


def _offered(db: Reading, garment_id: int, of: str) -> list[tuple[str, str]]:
    """What the photos may show: the garment, its sections, and the step or handover one comes from."""
    found = select(Section.id, Section.name).where(Section.garment_id == garment_id).order_by(col(Section.position))
    options = [(WHOLE, said("the whole garment")), *((f"section-{number}", name) for number, name in db.exec(found))]
    column, number = _part(of) or ("", 0)
    if column == "step_id":
        step = db.get(Step, number)
        if step is not None and step.garment_id == garment_id:
            options.append((of, said(operation(step.operation))))
    if column == "handover_id":
        handover = db.get(Handover, number)
        if handover is not None and handover.garment_id == garment_id:
            options.append((of, said("a handover")))
    return options


def _photo_page(
    desk: Desk, person: Person, db: Reading | Writing, photo_id: int, form: Form | None, status: int = 200
) -> Response:
    photo = photos.photo_for(db, person, photo_id)
    return desk.page(
        "photos/photo.html",
        "table",
        status=status,
        photo=one_shown(db, photo_id),
        garment=db.get_one(Garment, photo.garment_id),
        form=form or Form({"caption": photo.caption}),
        may_change=photos.may_change(person, photo),
    )
