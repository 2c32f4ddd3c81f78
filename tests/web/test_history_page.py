"""A garment's history, day by day: who did what, corrections to be seen as such, nothing of the client for a stitcher."""

import re
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import httpx2
import pytest
from sqlalchemy import event
from sqlmodel import select

from service.records.db import Database, Writing
from service.records.photo_store import store_beside
from service.records.queries.history import history_of
from service.records.tables import Panel, Section, Tally
from service.studio import standing
from service.studio.log import add_tally, take_back
from service.studio.photos import NewPhotos, Shows, add_photos, show_to_client
from service.studio.pictures import picture_of
from service.studio.recount import Recount, recount_section
from service.web.history_words import Sitting, days_of
from tests.building import a_garment
from tests.counting import ask, count, number, person, step, stitcher_id
from tests.photographs import photo
from tests.serving import OWNER, SECOND, STITCHER, Live

MONDAY = datetime(2026, 9, 14, 18, 0, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")


def _in_hands(db: Writing, email: str) -> int:
    garment_id = number(a_garment(db, "bib"))
    for panel in db.exec(select(Panel).where(Panel.garment_id == garment_id)):
        panel.holder_id = stitcher_id(db, email)
    db.flush()
    return garment_id


def _worked(db: Writing) -> int:
    """A bib on which three evenings were spent: counts, one taken back, an overrule, a recount, work undone."""
    bib = _in_hands(db, STITCHER)
    hers, owner = person(db, STITCHER), person(db, OWNER)
    for place, name in enumerate(("cut_block", "wash", "press", "trace")):
        count(db, hers, step(db, bib, name), 1, MONDAY + timedelta(minutes=place), minutes=Decimal(10))
    mark = step(db, bib, "mark")
    for place in range(3):
        count(db, hers, mark, 2, MONDAY + timedelta(minutes=30 + 5 * place), minutes=Decimal(5))
    tuesday = MONDAY + timedelta(days=1)
    count(db, hers, mark, 4, tuesday, minutes=Decimal(7))
    wrong = db.exec(select(Tally.id).where(Tally.step_id == mark.id, Tally.counted_tenths == 40)).one()
    assert wrong is not None
    take_back(db, hers, wrong, "taken back", tuesday + timedelta(minutes=3))
    clip = step(db, bib, "clip")
    count(db, owner, clip, 1, tuesday + timedelta(minutes=9), overrule="The edge is a selvedge", minutes=Decimal(1))
    late = tuesday + timedelta(days=2)
    add_tally(db, hers, number(mark), ask(1, at=tuesday + timedelta(minutes=20)), late)
    band = db.exec(select(Section).where(Section.garment_id == bib, Section.kind == "ladder")).first()
    assert band is not None
    assert band.standing_threads is not None
    assert band.id is not None
    counted = Recount("counted twice along the fold", standing_threads=band.standing_threads - 8)
    recount_section(db, hers, band.id, counted, tuesday + timedelta(minutes=40))
    return bib


@pytest.fixture
def bib(live: Live) -> int:
    """The worked bib of the running studio."""
    with live.database.writing() as db:
        return _worked(db)


@contextmanager
def _counted_queries(database: Database) -> Iterator[list[str]]:
    said: list[str] = []

    def hear(*about: object) -> None:
        said.append(str(about[2]))

    event.listen(database.reader, "before_cursor_execute", hear)
    yield said
    event.remove(database.reader, "before_cursor_execute", hear)


def _lines(page: str, day: str) -> list[str]:
    """The lines of one day as somebody reads them."""
    section = page.split(f"<h2>{day}</h2>")[1].partition("</section>")[0]
    found = re.findall(r"<li>(.*?)</li>", section, re.DOTALL)
    return [re.sub(r"\s+", " ", re.sub(r"<(?!s>|/s>)[^>]*>", "", line)).strip() for line in found]


def test_each_day_tells_who_did_what_how_much_and_how_long_with_corrections_to_be_seen(
    owner: httpx2.Client, bib: int
) -> None:
    page = owner.get(f"/garments/{bib}/history").text
    assert page.index("15 September 2026") < page.index("14 September 2026")
    monday = _lines(page, "14 September 2026")
    assert monday[0] == "19:00 Wren Hallam: cut the block, Bib: 1 panel in 10 min"
    assert monday[-1].endswith("6 cm in 15 min (3 counts, the last at 19:40)")
    tuesday = " | ".join(_lines(page, "15 September 2026"))
    assert "<s>4 cm</s>, taken back later in 7 min" in tuesday
    assert "takes back 4 cm of 15 Sep 26" in tuesday
    assert "Ottilie Brook: clip" in tuesday
    assert "The order of work was passed over: The edge is a selvedge" in tuesday
    assert "counted again" in tuesday
    assert "counted twice along the fold" in tuesday
    assert "written down on 17 September 2026" in tuesday
    assert "55 min of work" in page
    assert "1 min of work" in page, "what was taken back does not count"


def test_photos_and_states_stand_in_the_day_and_what_the_client_sees_is_the_owners_alone(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, bib: int
) -> None:
    with live.database.writing() as db:
        new = NewPhotos(Shows(bib), [picture_of(photo())], "the hem")
        kept = number(*add_photos(db, store_beside(live.database.url), person(db, STITCHER), new, MONDAY))
        show_to_client(db, person(db, OWNER), kept, shown=True, at=MONDAY + timedelta(minutes=1))
        standing.call_off(db, bib, "The family moved away", person(db, OWNER).id, MONDAY + timedelta(days=2))
    page = owner.get(f"/garments/{bib}/history").text
    assert f'src="/photos/{kept}/small" width="64" height="48" loading="lazy"' in page
    assert "19:01 Ottilie Brook: photo shown to the client" in _lines(page, "14 September 2026")
    assert _lines(page, "16 September 2026") == ["19:00 Ottilie Brook: called off The family moved away"]
    hers = stitcher.get(f"/garments/{bib}/history").text
    assert f"/photos/{kept}/small" in hers
    for private in ("client", "Hester", "Christening", "£"):
        assert private not in hers.partition("<h1>")[2]


def test_a_history_is_for_the_owner_and_whoever_holds_the_piece(
    owner: httpx2.Client, second: httpx2.Client, live: Live, bib: int
) -> None:
    address = f"/garments/{bib}/history"
    assert second.get(address).status_code == 404
    with closing(live.visitor()) as nobody:
        assert nobody.get(address).headers["location"] == f"/login?next={address}"
    assert owner.get("/garments/999999/history").status_code == 404
    assert "mistyped" in owner.get(f"{address}?before=yesterday").text
    assert "There is nothing older." in owner.get(f"{address}?before=2020-01-01").text
    assert f'href="{address}"' in owner.get(f"/garments/{bib}").text
    with live.database.writing() as db:
        empty = number(a_garment(db))
    assert "Nothing is written down yet." in owner.get(f"/garments/{empty}/history").text


def test_seven_days_are_told_at_a_time_and_every_day_once(database: Database) -> None:
    with database.writing() as db:
        bib = _in_hands(db, SECOND)
        hers = person(db, SECOND)
        for name in ("cut_block", "wash", "press", "trace"):
            count(db, hers, step(db, bib, name), 1, MONDAY - timedelta(days=30))
        for day in range(9):
            # 22:30 and 23:30 UTC lie on two days in London's summer.
            for hour in (22.5, 23.5):
                at = MONDAY.replace(hour=0) + timedelta(days=day, hours=hour)
                count(db, hers, step(db, bib, "mark"), 1, at, minutes=Decimal(1))
    with database.reading() as db:
        newest = history_of(db, bib, LONDON)
        older = history_of(db, bib, LONDON, newest.days[-1])
        assert (len(newest.days), newest.further) == (7, True)
        assert (len(older.days), older.further) == (4, False)
        assert list(newest.days + older.days) == sorted(newest.days + older.days, reverse=True)
        assert len({entry.id for entry in (*newest.entries, *older.entries)}) == 22
        told = days_of(newest, LONDON)
        assert [len(day.lines) for day in told] == [1, *[2] * 6]
        assert all(isinstance(line, Sitting) for day in told for line in day.lines)


def test_a_longer_history_takes_no_more_questions(owner: httpx2.Client, live: Live, bib: int) -> None:
    with _counted_queries(live.database) as few:
        owner.get(f"/garments/{bib}/history")
    with live.database.writing() as db:
        for day in range(12):
            count(db, person(db, STITCHER), step(db, bib, "mark"), 1, MONDAY + timedelta(days=5 + day))
    with _counted_queries(live.database) as many:
        owner.get(f"/garments/{bib}/history")
    assert len(many) == len(few)
