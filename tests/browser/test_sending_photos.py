"""Photos sent from a phone: made small there first, one after the other, and kept on the page when the net is cut."""

import io
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from typing import cast

import pytest
from PIL import Image
from playwright.sync_api import Browser, FilePayload, Page, expect
from sqlmodel import col, select

from service.records.db import Database
from service.records.photo_store import store_beside
from service.records.tables import Account, Photo
from service.studio.pictures import Picture, name_of, picture_of
from service.studio.sign_in import begin_session
from service.web import uploads
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.building import a_garment
from tests.counting import number
from tests.photographs import photo, photo_with_everything
from tests.serving import OWNER, Live, serving

LARGE = photo(3000, 2000)


def _file(name: str, content: bytes, kind: str = "image/jpeg") -> FilePayload:
    return cast("FilePayload", {"name": name, "mimeType": kind, "buffer": content})


@pytest.fixture
def live(sqlite_database: Database) -> Iterator[Live]:
    """A running service."""
    with serving(sqlite_database) as running:
        yield running


def _phone(browser: Browser, live: Live, *, scripted: bool = True) -> Page:
    with live.database.writing() as db:
        account = db.exec(select(Account).where(Account.email == OWNER)).one()
        secret = begin_session(db, number(account), datetime.now(UTC))
        bib = number(a_garment(db, "bib"))
    context = browser.new_context(
        viewport={"width": 390, "height": 844},
        has_touch=True,
        is_mobile=True,
        reduced_motion="reduce",
        color_scheme="dark",
        java_script_enabled=scripted,
        base_url=live.url,
    )
    context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
    page = context.new_page()
    page.goto(f"/garments/{bib}/photos")
    return page


def _sides(sent: bytes) -> tuple[int, int]:
    return Image.open(io.BytesIO(sent)).size


def _kept(live: Live) -> list[Photo]:
    with live.database.reading() as db:
        return list(db.exec(select(Photo).order_by(col(Photo.id))))


def test_photos_are_made_small_on_the_phone_and_what_is_refused_stays_with_its_reason(
    browser: Browser, live: Live, monkeypatch: pytest.MonkeyPatch
) -> None:
    arrived: list[bytes] = []

    def heard(sent: bytes) -> Picture:
        arrived.append(sent)
        return picture_of(sent)

    monkeypatch.setattr(uploads, "picture_of", heard)
    page = _phone(browser, live)
    with closing(page.context):
        watch = Watch(page, with_rules=True)
        page.reload()  # the rules are in every page that is opened from now on
        watch.look("no photos yet")
        page.get_by_label("Words under them").fill("The hem, pinned")
        page.get_by_label("Photos from this device").set_input_files(
            [
                _file("large.jpg", LARGE),
                _file("words.jpg", b"plain words"),
                _file("turned.jpg", photo_with_everything()),
            ]
        )
        page.get_by_role("button", name="Put them into the book").click()
        expect(page.locator(".gallery img")).to_have_count(2)
        expect(page.locator(".sending .error")).to_contain_text("not a photo in JPEG, PNG or WebP")
        expect(page.get_by_text("2 photos are in the book. 1 not: see above.")).to_be_visible()
        large, turned = _kept(live)
        assert (large.width, large.height, large.caption) == (2048, 1365, "The hem, pinned")
        assert (turned.width, turned.height) == (48, 64)
        assert [_sides(sent) for sent in (arrived[0], arrived[2])] == [(2048, 1365), (48, 64)]
        assert b"Exif" not in arrived[2], "where it was taken never leaves the phone"
        watch.look("one refused")
        watch.touch("one refused")
        page.get_by_role("button", name="Leave out words.jpg").press("Enter")
        expect(page.locator(".sending li")).to_have_count(0)
        assert [fault for fault in watch.faults if "415" not in fault] == []


def test_a_cut_net_keeps_the_photo_on_the_page_until_it_is_sent_again(browser: Browser, live: Live) -> None:
    page = _phone(browser, live)
    with closing(page.context):
        page.context.set_offline(True)
        page.get_by_label("Or take one now").set_input_files([_file("camera.jpg", LARGE)])
        page.get_by_role("button", name="Put them into the book").click()
        expect(page.locator(".sending .error")).to_contain_text("It is still here")
        assert _kept(live) == []
        page.context.set_offline(False)
        page.get_by_role("button", name="Put them into the book").click()
        expect(page.locator(".gallery img")).to_have_count(1)
        expect(page.get_by_text("1 photo is in the book.")).to_be_visible()
        (row,) = _kept(live)
        assert store_beside(live.database.url).read(name_of(row.sha256, "large")).startswith(b"\xff\xd8")


def test_without_a_script_the_plain_form_sends_several(browser: Browser, live: Live) -> None:
    page = _phone(browser, live, scripted=False)
    with closing(page.context):
        page.get_by_label("Photos from this device").set_input_files(
            [_file("a.jpg", photo(shade=1)), _file("b.png", photo(kind="PNG", shade=2), "image/png")]
        )
        page.get_by_role("button", name="Put them into the book").click()
        expect(page.locator(".gallery img")).to_have_count(2)
        assert len(_kept(live)) == 2
