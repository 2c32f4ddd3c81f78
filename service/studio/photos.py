"""Photos of the work: kept with a garment, or with one section, step or handover of it; shown to the client or not."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlmodel import col, func, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Database, Reading, Writing
from service.records.photo_store import PhotoStore
from service.records.queries.standing import is_seen_by
from service.records.tables import Event, Garment, Handover, Photo, Section, Step
from service.studio.pictures import SIZES, Picture, name_of
from service.studio.sign_in import Person

MOST_AT_ONCE = 12
MOST_OF_A_GARMENT = 1000
MOST_WORDS = 500
SHOWN = "photo shown to the client"
KEPT_BACK = "photo kept for the studio"
TAKEN_OUT = "photo taken out"
STRAY_AFTER = timedelta(hours=24)
PARTS: dict[str, type[Section | Step | Handover]] = {"section_id": Section, "step_id": Step, "handover_id": Handover}


@dataclass(frozen=True, slots=True)
class Shows:
    """What a photo shows: a garment, or one section, step or handover of it."""

    garment_id: int
    section_id: int | None = None
    step_id: int | None = None
    handover_id: int | None = None

    @property
    def part(self) -> tuple[str, int] | None:
        """The column and number of what it shows more nearly, if anything."""
        named = ((column, getattr(self, column)) for column in PARTS)
        return next(((column, number) for column, number in named if number is not None), None)


@dataclass(frozen=True, slots=True)
class NewPhotos:
    """Pictures to keep, what they show, and the words under them."""

    shows: Shows
    pictures: Sequence[Picture]
    caption: str = ""


def check_seen(db: Reading | Writing, person: Person, garment_id: int) -> Garment:
    """The garment, refused when it is unknown or neither in this person's hands nor offered to them."""
    garment = db.get(Garment, garment_id)
    if garment is None or not (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)):
        raise NotFound("There is no such garment among those you may see.")
    return garment


def check_shows(db: Reading | Writing, person: Person, shows: Shows) -> Garment:
    """The garment shown, refused when this person may not see it or the part is none of it."""
    garment = check_seen(db, person, shows.garment_id)
    for column, table in PARTS.items():
        number = getattr(shows, column)
        part: Any = None if number is None else db.get(table, number)
        if number is not None and (part is None or part.garment_id != garment.id):
            raise Unreadable({"of": "Choose a part of this garment."})
    if sum(getattr(shows, column) is not None for column in PARTS) > 1:
        raise Unreadable({"of": "Choose one part of this garment."})
    return garment


def add_photos(db: Writing, store: PhotoStore, person: Person, new: NewPhotos, at: datetime) -> list[Photo]:
    """Keep pictures with what they show, for the studio alone. The same picture of the same part is kept once.

    Keeping them in the store before (`keep_pictures`) spares the writer's turn; what is there already is not
    written again. Should the caller's turn end in a refusal, `remove_unused` takes the pictures away.
    """
    check_shows(db, person, new.shows)
    if not new.pictures:
        raise Unreadable({"photos": "Choose at least one photo."})
    if len(new.caption) > MOST_WORDS:
        raise Unreadable({"caption": f"Keep the words to {MOST_WORDS} characters."})
    _take_turn(db)
    _check_room(db, new.shows.garment_id, len(new.pictures))
    keep_pictures(store, new.pictures)
    return [_kept_once(db, person, new, picture, at) for picture in new.pictures]


def keep_pictures(store: PhotoStore, pictures: Sequence[Picture]) -> None:
    """Put pictures into the store, whole and synced, before any record speaks of them."""
    for picture in pictures:
        for size, name in picture.names.items():
            store.keep(name, picture.contents[size])


def photos_of(db: Reading | Writing, shows: Shows, *, for_client: bool = False) -> list[Photo]:
    """The photos of a garment or of one part of it, the oldest first; only those the client may see, when asked."""
    found = select(Photo).where(Photo.garment_id == shows.garment_id, col(Photo.taken_out_at).is_(None))
    if shows.part is not None:
        column, number = shows.part
        found = found.where(getattr(Photo, column) == number)
    if for_client:
        found = found.where(col(Photo.for_client))
    return list(db.exec(found.order_by(col(Photo.id))))


def photo_for(db: Reading | Writing, person: Person, photo_id: int) -> Photo:
    """A photo in the book, refused when it shows what this person may not see."""
    photo = db.get(Photo, photo_id)
    if photo is None or photo.taken_out_at is not None:
        raise NotFound("There is no such photo in the book.")
    check_seen(db, person, photo.garment_id)
    return photo


def show_to_client(db: Writing, person: Person, photo_id: int, *, shown: bool, at: datetime) -> Photo:
    """Say whether the client may be shown a photo; only the owner says so."""
    if not person.is_owner:
        raise NotAllowed("Only the owner decides what a client is shown.")
    photo = photo_for(db, person, photo_id)
    if photo.for_client != shown:
        photo.for_client = shown
        _tell(db, person, photo, SHOWN if shown else KEPT_BACK, at)
    return photo


def caption_photo(db: Writing, person: Person, photo_id: int, caption: str) -> Photo:
    """Write other words under a photo: the owner, or whoever added it."""
    photo = photo_for(db, person, photo_id)
    _check_may_change(person, photo)
    photo.caption = caption
    db.add(photo)
    return photo


def take_out(db: Writing, person: Person, photo_id: int, at: datetime) -> Photo:
    """Take a photo out of the book: the owner, or whoever added it. `remove_unused` then removes its picture."""
    photo = photo_for(db, person, photo_id)
    _check_may_change(person, photo)
    photo.taken_out_at, photo.taken_out_by, photo.for_client = at, person.id, False
    _tell(db, person, photo, TAKEN_OUT, at)
    return photo


def may_change(person: Person, photo: Photo) -> bool:
    """Whether this person may write other words under a photo or take it out."""
    return person.is_owner or photo.account_id == person.id


def remove_unused(database: Database, store: PhotoStore, digests: Collection[str]) -> None:
    """Remove from the store what no photo in the book uses any more."""
    for digest in digests:
        with database.writing() as db:  # nobody adds the same picture meanwhile
            _take_turn(db)
            if db.exec(_in_the_book(digest)).first() is None:
                for size in SIZES:
                    store.remove(name_of(digest, size))


def sweep(database: Database, store: PhotoStore, at: datetime) -> int:
    """Remove what a cut left behind in the store a day ago or longer; gives how many pictures that were."""
    old = {name for name, since in store.names() if since < at - STRAY_AFTER}
    with database.reading() as db:
        used = set(db.exec(select(Photo.sha256).where(col(Photo.taken_out_at).is_(None))))
    half = {name for name in old if not name.endswith(".jpg")}
    stray = {name.partition("-")[0] for name in old - half} - used
    remove_unused(database, store, stray)
    for name in half:
        store.remove(name)
    return len(stray)


def lost_pictures(db: Reading, store: PhotoStore) -> Iterator[str]:
    """A line for every photo in the book of which a size is not in the store."""
    there = {name for name, _ in store.names()}
    kept = select(Photo.id, Photo.sha256).where(col(Photo.taken_out_at).is_(None)).order_by(col(Photo.id))
    for number, digest in db.exec(kept):
        for size in SIZES:
            if name_of(digest, size) not in there:
                yield f"It does not hold that every photo in the book has its pictures: record {number}, {size}."


def _take_turn(db: Writing) -> None:
    """Hold back whoever else adds or removes pictures. SQLite has one writer at a time anyhow."""
    if db.get_bind().dialect.name != "sqlite":
        db.connection().exec_driver_sql("LOCK TABLE photo IN SHARE ROW EXCLUSIVE MODE")


def _in_the_book(digest: str) -> Any:
    return select(Photo.id).where(Photo.sha256 == digest, col(Photo.taken_out_at).is_(None))


def _check_room(db: Writing, garment_id: int, more: int) -> None:
    counted = select(func.count()).where(Photo.garment_id == garment_id, col(Photo.taken_out_at).is_(None))
    if db.exec(counted).one() + more > MOST_OF_A_GARMENT:
        raise Conflict(f"A garment keeps at most {MOST_OF_A_GARMENT} photos. Take some out first.")


def _kept_once(db: Writing, person: Person, new: NewPhotos, picture: Picture, at: datetime) -> Photo:
    shows = new.shows
    alike = select(Photo).where(Photo.sha256 == picture.sha256, Photo.garment_id == shows.garment_id)
    for column in PARTS:
        alike = alike.where(col(getattr(Photo, column)).is_not_distinct_from(getattr(shows, column)))
    photo = db.exec(alike.where(col(Photo.taken_out_at).is_(None))).first()
    if photo is not None:
        photo.caption = photo.caption or new.caption
        return photo
    photo = Photo(
        garment_id=shows.garment_id,
        section_id=shows.section_id,
        step_id=shows.step_id,
        handover_id=shows.handover_id,
        sha256=picture.sha256,
        size_bytes=sum(map(len, picture.contents.values())),
        width=picture.width,
        height=picture.height,
        caption=new.caption,
        account_id=person.id,
        at=at,
    )
    db.add(photo)
    db.flush()
    return photo


def _check_may_change(person: Person, photo: Photo) -> None:
    if not may_change(person, photo):
        raise NotAllowed("Only the owner, or whoever added a photo, changes it.")


def _tell(db: Writing, person: Person, photo: Photo, action: str, at: datetime) -> None:
    assert photo.id is not None
    db.add(photo)
    db.add(
        Event(
            at=at,
            account_id=person.id,
            garment_id=photo.garment_id,
            action=action,
            object_kind="photo",
            object_id=photo.id,
        )
    )
