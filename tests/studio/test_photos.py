"""Photos in the book: whose they are, what they show, who is shown them, and what is in the store because of them."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlmodel import col, select

from service.errors import Conflict, NoRoom, NotAllowed, NotFound, Refusal, Unreadable
from service.records.db import Database, Writing
from service.records.photo_store import FolderStore
from service.records.tables import Event, Handover, HandoverPanel, Panel, Photo, Section
from service.studio import photos
from service.studio.photos import NewPhotos, Shows
from service.studio.pictures import Picture, picture_of
from service.studio.proofs import prove
from service.studio.statements import Statement
from service.studio.statements_photos import PHOTOS
from tests.building import a_garment
from tests.counting import number, person, step, stitcher_id
from tests.photographs import photo
from tests.serving import OWNER, SECOND, START, STITCHER

LATER = START + timedelta(hours=2)


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    """An empty folder of photos."""
    return FolderStore(tmp_path / "photos")


def _bib(db: Writing, holder: str = "") -> int:
    garment_id = number(a_garment(db, "bib"))
    if holder:
        for panel in db.exec(select(Panel).where(Panel.garment_id == garment_id)):
            panel.holder_id = stitcher_id(db, holder)
    db.flush()
    return garment_id


def _picture(shade: int = 0) -> Picture:
    return picture_of(photo(shade=shade))


def _add(db: Writing, store: FolderStore, email: str, shows: Shows, *shades: int) -> list[int]:
    new = NewPhotos(shows, [_picture(shade) for shade in shades or (0,)], "the hem")
    return [number(row) for row in photos.add_photos(db, store, person(db, email), new, START)]


def _names(store: FolderStore) -> list[str]:
    return sorted(name for name, _ in store.names())


def _refused(db: Writing, store: FolderStore, email: str, shows: Shows, kind: type[Refusal]) -> str:
    with pytest.raises(kind) as refused:
        _add(db, store, email, shows)
    assert list(db.exec(select(Photo))) == []
    assert _names(store) == []
    return refused.value.sentence


def test_photos_are_kept_with_what_they_show_for_the_studio_alone(database: Database, store: FolderStore) -> None:
    with database.writing() as db:
        bib = _bib(db)
        section = db.exec(select(Section.id).where(Section.garment_id == bib)).first()
        handover = Handover(garment_id=bib, offered_by=person(db, OWNER).id, offered_at=START)
        db.add(handover)
        db.flush()
        panel = db.exec(select(Panel.id).where(Panel.garment_id == bib)).one()
        assert panel is not None
        db.add(HandoverPanel(handover_id=number(handover), panel_id=panel))
        parts = {
            "garment": Shows(bib),
            "section": Shows(bib, section_id=section),
            "step": Shows(bib, step_id=number(step(db, bib, "wash"))),
            "handover": Shows(bib, handover_id=number(handover)),
        }
        kept = {what: _add(db, store, OWNER, shows, shade) for shade, (what, shows) in enumerate(parts.items())}
        for what, shows in parts.items():
            found = [photo.id for photo in photos.photos_of(db, shows)]
            assert found == ([row for rows in kept.values() for row in rows] if what == "garment" else kept[what])
            assert photos.photos_of(db, shows, for_client=True) == []
        row = db.get_one(Photo, kept["garment"][0])
        assert (row.width, row.height, row.mime, row.caption, row.at) == (64, 48, "image/jpeg", "the hem", START)
        assert row.size_bytes == sum(map(len, _picture().contents.values()))
    with database.reading() as db:
        assert prove(db).faults == ()
        assert list(photos.lost_pictures(db, store)) == []
    assert len(_names(store)) == 4 * 3


def test_the_same_picture_of_the_same_part_is_kept_once(database: Database, store: FolderStore) -> None:
    with database.writing() as db:
        bib = _bib(db)
        first = _add(db, store, OWNER, Shows(bib))
        assert _add(db, store, OWNER, Shows(bib), 0, 0) == first * 2
        assert _add(db, store, OWNER, Shows(bib, step_id=number(step(db, bib, "wash")))) != first
        assert len(list(db.exec(select(Photo)))) == 2
    assert len(_names(store)) == 3


def test_a_stitcher_keeps_photos_of_what_is_in_her_hands_or_offered_to_her(
    database: Database, store: FolderStore
) -> None:
    with database.writing() as db:
        bib = _bib(db)
        assert "among those you may see" in _refused(db, store, STITCHER, Shows(bib), NotFound)
        db.add(
            Handover(garment_id=bib, to_id=stitcher_id(db, STITCHER), offered_by=person(db, OWNER).id, offered_at=START)
        )
        db.flush()
        (offered,) = _add(db, store, STITCHER, Shows(bib))
        assert photos.photo_for(db, person(db, STITCHER), offered).id == offered
        with pytest.raises(NotFound):
            photos.photo_for(db, person(db, SECOND), offered)


def test_a_part_of_another_garment_is_refused(database: Database, store: FolderStore) -> None:
    with database.writing() as db:
        bib, gown = _bib(db), number(a_garment(db))
        sections = [db.exec(select(Section.id).where(Section.garment_id == each)).first() for each in (bib, gown)]
        assert "part of this garment" in _refused(db, store, OWNER, Shows(bib, section_id=sections[1]), Unreadable)
        assert "part of this garment" in _refused(db, store, OWNER, Shows(bib, step_id=2_000_000), Unreadable)
        wash = number(step(db, bib, "wash"))
        two = Shows(bib, section_id=sections[0], step_id=wash)
        assert "one part" in _refused(db, store, OWNER, two, Unreadable)
        _refused(db, store, OWNER, Shows(2_000_000), NotFound)


def test_a_garment_takes_no_more_photos_than_can_be_looked_through(
    database: Database, store: FolderStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photos, "MOST_OF_A_GARMENT", 2)
    with database.writing() as db:
        bib = _bib(db)
        _add(db, store, OWNER, Shows(bib), 1, 2)
        with pytest.raises(Conflict, match="at most 2 photos"):
            _add(db, store, OWNER, Shows(bib), 3)


def test_only_the_owner_lets_a_client_be_shown_a_photo_and_it_is_written_down(
    database: Database, store: FolderStore
) -> None:
    with database.writing() as db:
        bib = _bib(db, STITCHER)
        (kept,) = _add(db, store, STITCHER, Shows(bib))
        owner = person(db, OWNER)
        with pytest.raises(NotAllowed, match="Only the owner decides"):
            photos.show_to_client(db, person(db, STITCHER), kept, shown=True, at=LATER)
        photos.show_to_client(db, owner, kept, shown=True, at=LATER)
        photos.show_to_client(db, owner, kept, shown=True, at=LATER)
        assert [row.id for row in photos.photos_of(db, Shows(bib), for_client=True)] == [kept]
        photos.show_to_client(db, owner, kept, shown=False, at=LATER)
        assert photos.photos_of(db, Shows(bib), for_client=True) == []
        told = db.exec(select(Event.action).where(Event.object_kind == "photo").order_by(col(Event.id)))
        assert list(told) == [photos.SHOWN, photos.KEPT_BACK]


def test_a_photo_taken_out_is_gone_from_the_store_unless_another_shares_its_picture(
    database: Database, store: FolderStore
) -> None:
    with database.writing() as db:
        bib = _bib(db, STITCHER)
        (first,) = _add(db, store, OWNER, Shows(bib))
        (other,) = _add(db, store, STITCHER, Shows(bib, step_id=number(step(db, bib, "wash"))))
        hers, his = person(db, STITCHER), person(db, OWNER)
        with pytest.raises(NotAllowed, match="whoever added"):
            photos.take_out(db, hers, first, LATER)
        photos.show_to_client(db, his, other, shown=True, at=LATER)
        out = photos.take_out(db, hers, other, LATER)
        assert (out.taken_out_at, out.taken_out_by, out.for_client) == (LATER, hers.id, False)
        digest = out.sha256
    photos.remove_unused(database, store, [digest])
    assert len(_names(store)) == 3
    with database.writing() as db:
        photos.take_out(db, his, first, LATER)
        with pytest.raises(NotFound, match="no such photo in the book"):
            photos.photo_for(db, his, first)
    photos.remove_unused(database, store, [digest])
    assert _names(store) == []
    with database.reading() as db:
        assert prove(db).faults == ()


def test_what_a_refused_change_left_in_the_store_can_be_taken_away(database: Database, store: FolderStore) -> None:
    with database.writing() as db:
        _add(db, store, OWNER, Shows(_bib(db)))
        db.rollback()
    assert len(_names(store)) == 3
    photos.remove_unused(database, store, [_picture().sha256])
    assert _names(store) == []


def test_sweeping_removes_what_a_cut_left_a_day_ago_and_nothing_else(database: Database, store: FolderStore) -> None:
    with database.writing() as db:
        _add(db, store, OWNER, Shows(_bib(db)))
    photos.keep_pictures(store, [_picture(9)])
    (store.folder / "ab").mkdir(exist_ok=True)
    (store.folder / "ab" / "abab.jpg.1234.part").write_bytes(b"half")
    now = datetime.now(UTC)
    assert photos.sweep(database, store, now) == 0
    assert len(_names(store)) == 7
    assert photos.sweep(database, store, now + timedelta(hours=25)) == 1
    assert _names(store) == sorted(_picture().names.values())


def test_a_lost_picture_is_told_by_the_check(database: Database, store: FolderStore) -> None:
    with database.writing() as db:
        (kept,) = _add(db, store, OWNER, Shows(_bib(db)))
    store.remove(_picture().names["middle"])
    with database.reading() as db:
        assert list(photos.lost_pictures(db, store)) == [
            f"It does not hold that every photo in the book has its pictures: record {kept}, middle."
        ]


def test_no_room_in_the_store_leaves_no_record(
    database: Database, store: FolderStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    with database.writing() as db:
        bib = _bib(db)
    monkeypatch.setattr(store, "keep", lambda *_: (_ for _ in ()).throw(NoRoom("There is no room left.")))
    with pytest.raises(NoRoom), database.writing() as db:
        _add(db, store, OWNER, Shows(bib))
    with database.reading() as db:
        assert list(db.exec(select(Photo))) == []


BROKEN = [
    "update photo set section_id = (select max(id) from section)",
    "update photo set step_id = (select min(id) from step where garment_id = 1), section_id = (select min(id) from section where garment_id = 1)",
    "update photo set taken_out_at = '2026-09-01'",
]


@pytest.mark.parametrize(
    ("statement", "breaking"), list(zip(PHOTOS, BROKEN, strict=True)), ids=[it.says for it in PHOTOS]
)
def test_a_photo_broken_by_hand_is_seen(
    sqlite_database: Database, store: FolderStore, statement: Statement, breaking: str
) -> None:
    with sqlite_database.writing() as db:
        _add(db, store, OWNER, Shows(_bib(db)))
        a_garment(db)
        db.connection().execute(text(breaking))
    with sqlite_database.reading() as db:
        assert any(statement.says in fault for fault in prove(db).faults)
