"""Photos on pages: sent by a plain form, looked at, shown to the client or taken out; and everything that can go wrong."""

import socket
from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from sqlmodel import col, select

from service.records.photo_store import FolderStore, store_beside
from service.records.tables import Handover, HandoverPanel, Panel, Photo, Section
from service.web.guard import HEADERS
from tests.building import a_garment
from tests.counting import number, person, step, stitcher_id
from tests.photographs import HEIC, SVG, huge_png, photo, photo_with_everything
from tests.serving import OWNER, START, STITCHER, Live

Files = list[tuple[str, tuple[str, bytes, str]]]


@pytest.fixture
def bib(live: Live) -> int:
    """A bib in the stitcher's hands."""
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        for panel in db.exec(select(Panel).where(Panel.garment_id == garment_id)):
            panel.holder_id = stitcher_id(db, STITCHER)
        return garment_id


def _files(*contents: bytes, name: str = "hem.jpg") -> Files:
    return [("photos", (name, content, "image/jpeg")) for content in contents]


def _send(client: httpx2.Client, garment_id: int, files: Files, **typed: str) -> httpx2.Response:
    return client.post(f"/garments/{garment_id}/photos", data={"caption": "", "of": "garment", **typed}, files=files)


def _kept(live: Live) -> list[Photo]:
    with live.database.reading() as db:
        return list(db.exec(select(Photo).order_by(col(Photo.id))))


def _stored(live: Live) -> list[str]:
    return sorted(name for name, _ in store_beside(live.database.url).names())


def test_several_photos_are_sent_at_once_and_shown_newest_first(owner: httpx2.Client, live: Live, bib: int) -> None:
    with live.database.reading() as db:
        section = db.exec(select(Section).where(Section.garment_id == bib)).first()
    assert section is not None
    answer = _send(
        owner,
        bib,
        _files(photo(), photo(400, 300, kind="PNG")),
        caption="Before <pressing>",
        of=f"section-{section.id}",
    )
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/garments/{bib}/photos?of=section-{section.id}#gallery"
    first, second = _kept(live)
    assert [(row.section_id, row.caption, row.for_client) for row in (first, second)] == [
        (section.id, "Before <pressing>", False)
    ] * 2
    page = owner.get(f"/garments/{bib}/photos").text
    assert page.index(f"/photos/{second.id}/small") < page.index(f"/photos/{first.id}/small")
    assert f'src="/photos/{second.id}/small" width="320" height="240" loading="lazy"' in page
    assert "Before &lt;pressing&gt;" in page
    assert section.name in page
    assert len(_stored(live)) == 6


def test_a_photo_is_served_small_middle_and_large_to_those_who_may_see_it_and_to_nobody_else(
    owner: httpx2.Client, stitcher: httpx2.Client, second: httpx2.Client, live: Live, bib: int
) -> None:
    _send(stitcher, bib, _files(photo_with_everything()))
    (row,) = _kept(live)
    for size in ("small", "middle", "large"):
        address = f"/photos/{row.id}/{size}"
        answer = owner.get(address)
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox; frame-ancestors 'none'"
        assert answer.headers["cache-control"] == "private, max-age=3600"
        assert answer.headers["vary"] == "Cookie, Authorization"
        assert dict(HEADERS)[b"x-content-type-options"].decode() == answer.headers["x-content-type-options"]
        for left in (b"Exif", b"Hester", b"taken at home"):
            assert left not in answer.content
        again = owner.get(address, headers={"If-None-Match": answer.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")
        assert stitcher.get(address).content == answer.content
        assert second.get(address).status_code == 404
        with closing(live.visitor()) as nobody:
            assert nobody.get(address).headers["location"] == f"/login?next={address}"
    assert owner.get(f"/photos/{row.id}/../../studio.sqlite").status_code == 404
    assert owner.get(f"/photos/{row.id}/huge").status_code == 404
    assert second.get(f"/photos/{row.id}").status_code == 404
    assert second.get(f"/garments/{bib}/photos").status_code == 404
    assert _send(second, bib, _files(photo())).status_code == 404


def test_a_stitcher_offered_a_piece_sees_its_photos(
    second: httpx2.Client, owner: httpx2.Client, live: Live, bib: int
) -> None:
    _send(owner, bib, _files(photo()))
    with live.database.writing() as db:
        to = stitcher_id(db, "second@studio.example")
        db.add(Handover(garment_id=bib, to_id=to, offered_by=person(db, OWNER).id, offered_at=START))
    (row,) = _kept(live)
    assert second.get(f"/photos/{row.id}/small").status_code == 200


def test_the_owner_says_what_a_client_may_see_and_a_stitcher_is_not_asked(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, bib: int
) -> None:
    _send(stitcher, bib, _files(photo()), caption="The hem")
    (row,) = _kept(live)
    assert "For the studio alone." in owner.get(f"/photos/{row.id}").text
    assert stitcher.post(f"/photos/{row.id}/show", data={"shown": "yes"}).status_code == 403
    assert owner.post(f"/photos/{row.id}/show", data={"shown": "yes"}).status_code == 303
    assert "The client may see it." in owner.get(f"/photos/{row.id}").text
    assert "the client may see it" in owner.get(f"/garments/{bib}/photos").text
    for page in (f"/photos/{row.id}", f"/garments/{bib}/photos"):
        assert "client may see it" not in stitcher.get(page).text
    owner.post(f"/photos/{row.id}/show", data={})
    assert not _kept(live)[0].for_client


def test_words_are_changed_and_a_photo_is_taken_out_with_its_picture(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, bib: int
) -> None:
    _send(owner, bib, _files(photo()))
    (row,) = _kept(live)
    assert stitcher.post(f"/photos/{row.id}/caption", data={"caption": "Mine"}).status_code == 403
    assert stitcher.post(f"/photos/{row.id}/take-out").status_code == 403
    long = owner.post(f"/photos/{row.id}/caption", data={"caption": "x" * 501})
    assert long.status_code == 422
    assert "Keep the words to 500 characters" in long.text
    assert "x" * 501 in long.text
    owner.post(f"/photos/{row.id}/caption", data={"caption": "The back"})
    assert "<h1>The back</h1>" in owner.get(f"/photos/{row.id}").text
    assert owner.post(f"/photos/{row.id}/take-out").headers["location"] == f"/garments/{bib}/photos"
    assert _stored(live) == []
    assert "no such photo in the book" in owner.get(f"/photos/{row.id}").text
    assert owner.get(f"/photos/{row.id}/small").status_code == 404
    assert owner.post(f"/photos/{row.id}/take-out").status_code == 404


WHOLE = photo(400, 300, quality=95)


REFUSED: list[tuple[Files, int, str]] = [
    ([], 422, "Choose at least one photo."),
    (_files(b"", name=""), 422, "Choose at least one photo."),
    (_files(b""), 422, "nothing of it arrived"),
    (_files(b"plain words"), 415, "not a photo in JPEG, PNG or WebP"),
    (_files(SVG, name="hem.svg"), 415, "not a photo in JPEG, PNG or WebP"),
    (_files(HEIC, name="IMG_1.HEIC"), 415, "most compatible format"),
    (_files(huge_png()), 413, "too many pixels"),
    (_files(WHOLE[: len(WHOLE) // 2]), 422, "cut short or damaged"),
    (_files(b"\xff\xd8\xff" + b"\0" * 20_000_001), 413, "at most 20 MB are taken"),
    (_files(*[photo()] * 13), 413, "up to 12 at once"),
    (_files(photo(), b"plain words", name="../../x/notes.txt"), 415, "notes.txt: This is not a photo"),
]


def test_what_cannot_be_taken_is_said_at_the_field_and_nothing_is_kept_or_lost(
    owner: httpx2.Client, live: Live, bib: int
) -> None:
    for files, status, words in REFUSED:
        answer = _send(owner, bib, files, caption="Typed before")
        assert (answer.status_code, words in answer.text) == (status, True), words
        # Without any file the client sends another kind of form, which is not read.
        assert ('value="Typed before"' in answer.text) is bool(files), words
        assert "<title>Error: Photos" in answer.text
        assert _kept(live) == []
        assert _stored(live) == []


def test_more_than_can_be_sent_at_once_is_told_in_a_sentence_while_the_words_stay(
    owner: httpx2.Client, bib: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.web.uploads.MOST_SENT", 300_000)
    answer = _send(owner, bib, _files(b"\xff" * 2_500_000), caption="Typed before")
    assert answer.status_code == 413
    assert "That is too much at once" in answer.text
    assert 'value="Typed before"' in answer.text


def test_a_part_that_is_none_of_the_garment_is_refused(owner: httpx2.Client, live: Live, bib: int) -> None:
    for of, sent, asked in (
        ("section-999999", 422, 404),
        ("handover-1", 422, 404),
        ("step-x", 422, 200),
        ("elsewhere", 422, 200),
        ("section-" + "9" * 40, 422, 200),
    ):
        assert _send(owner, bib, _files(photo()), of=of).status_code == sent, of
        assert owner.get(f"/garments/{bib}/photos", params={"of": of}).status_code == asked, of
    assert _kept(live) == []
    assert _stored(live) == []


def test_a_step_of_the_garment_can_be_shown(owner: httpx2.Client, live: Live, bib: int) -> None:
    with live.database.reading() as db:
        wash = number(step(db, bib, "wash"))
    assert (
        f'<option value="step-{wash}" selected>wash</option>'
        in owner.get(f"/garments/{bib}/photos?of=step-{wash}").text
    )
    assert _send(owner, bib, _files(photo()), of=f"step-{wash}").status_code == 303
    assert [row.step_id for row in _kept(live)] == [wash]


def test_a_connection_cut_midway_leaves_nothing(owner: httpx2.Client, live: Live, bib: int) -> None:
    host, port = live.url.removeprefix("http://").split(":")
    body = b'--x\r\nContent-Disposition: form-data; name="photos"; filename="a.jpg"\r\n\r\n' + WHOLE
    cookie = "; ".join(f"{name}={value}" for name, value in owner.cookies.items())
    head = (
        f"POST /garments/{bib}/photos HTTP/1.1\r\nHost: {host}:{port}\r\nCookie: {cookie}\r\n"
        f"Content-Type: multipart/form-data; boundary=x\r\nContent-Length: {len(body) + 200}\r\n\r\n"
    )
    for share in (0.1, 0.5, 0.99):
        with socket.create_connection((host, int(port)), timeout=10) as line:
            line.sendall(head.encode() + body[: int(len(body) * share)])
    assert owner.get(f"/garments/{bib}/photos").status_code == 200
    assert _kept(live) == []
    assert _stored(live) == []


def test_the_script_is_answered_with_the_part_of_the_page(owner: httpx2.Client, bib: int) -> None:
    asks = {"HX-Request": "true", "HX-Target": "photos"}
    address = f"/garments/{bib}/photos"
    kept = owner.post(address, headers=asks, data={"caption": "The hem", "of": "garment"}, files=_files(photo()))
    assert kept.status_code == 200
    assert kept.text.startswith('<div id="photos">')
    assert "The hem" in kept.text
    refused = owner.post(address, headers=asks, data={"caption": "", "of": "garment"}, files=_files(SVG))
    assert refused.status_code == 415
    assert '<a href="#f-photos">This is not a photo' in refused.text


def test_a_long_gallery_goes_on_page_by_page(owner: httpx2.Client, live: Live, bib: int) -> None:
    _send(owner, bib, _files(photo()))
    (row,) = _kept(live)
    with live.database.writing() as db:
        said = row.model_dump(exclude={"id"})
        db.add_all([Photo.model_validate({**said, "caption": f"photo {place}"}) for place in range(2, 27)])
    newest = owner.get(f"/garments/{bib}/photos").text
    assert newest.count('loading="lazy"') == 24
    last = newest.rpartition("before=")[2].partition('"')[0]
    older = owner.get(f"/garments/{bib}/photos?before={last}").text
    assert older.count('loading="lazy"') == 2
    assert "The newest" in older


@pytest.fixture
def store(live: Live) -> FolderStore:
    """The folder of photos of the running service."""
    found = store_beside(live.database.url)
    assert isinstance(found, FolderStore)
    return found


def test_a_picture_lost_from_the_store_is_told_and_the_pages_stay(
    owner: httpx2.Client, live: Live, bib: int, store: FolderStore
) -> None:
    _send(owner, bib, _files(photo()))
    (row,) = _kept(live)
    for path in Path(store.folder).rglob("*.jpg"):
        path.unlink()
    assert owner.get(f"/photos/{row.id}/small").status_code == 404
    assert owner.get(f"/garments/{bib}/photos").status_code == 200


def test_a_step_and_a_handover_lead_to_their_photos(owner: httpx2.Client, live: Live, bib: int) -> None:
    with live.database.writing() as db:
        wash = number(step(db, bib, "wash"))
        panel = db.exec(select(Panel).where(Panel.garment_id == bib)).one()
        to = stitcher_id(db, "second@studio.example")
        row = Handover(garment_id=bib, to_id=to, offered_by=person(db, OWNER).id, offered_at=START)
        db.add(row)
        db.flush()
        db.add(HandoverPanel(handover_id=number(row), panel_id=number(panel), from_id=panel.holder_id))
        handover = number(row)
    for page, of in ((f"/steps/{wash}", f"step-{wash}"), (f"/handovers/{handover}", f"handover-{handover}")):
        address = f"/garments/{bib}/photos?of={of}"
        assert f'href="{address}"' in owner.get(page).text
        assert f'<option value="{of}" selected>' in owner.get(address).text
