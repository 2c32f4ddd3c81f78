"""A garment's thread on its page: what is reckoned, what was really used, and the next answer corrected by it."""

import html
import re
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from sqlmodel import col, select

from service.records.db import open_database
from service.records.tables import Step, ThreadUsed
from tests.building import a_garment
from tests.counting import count, number, person, step
from tests.serving import OWNER, SECOND, Live, serving


@pytest.fixture
def running(sqlite_template: Path, tmp_path: Path) -> Iterator[Live]:
    """A service with a day gown of which 100 cm are sewn."""
    shutil.copyfile(sqlite_template, tmp_path / "studio.sqlite")
    with serving(open_database(f"sqlite:///{tmp_path / 'studio.sqlite'}")) as live:
        with live.database.writing() as db:
            garment = number(a_garment(db))
            count(db, person(db, OWNER), step(db, garment, "seam"), 10, overrule="something is to be done")
        yield live


@pytest.fixture
def owner(running: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in."""
    with closing(running.signed_in(OWNER)) as client:
        yield client


def words_of(page: httpx2.Response) -> str:
    main = page.text.partition('<main id="main"')[2].partition("</main>")[0]
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def field_of(page: httpx2.Response) -> tuple[str, str]:
    """The one field that a figure can be typed in, and the thread it is of."""
    at, thread = re.search(r'name="thread-(\d+)" value="([^"]*)"', page.text).groups()  # type: ignore[union-attr]
    return at, html.unescape(thread)


def lines(running: Live) -> list[tuple[int, int | None]]:
    with running.database.reading() as db:
        return [(line.reckoned_um, line.used_um) for line in db.exec(select(ThreadUsed).order_by(col(ThreadUsed.id)))]


def test_what_was_really_used_corrects_the_reckoner_until_it_is_taken_back(owner: httpx2.Client, running: Live) -> None:
    page = owner.get("/garments/1/thread")
    at, thread = field_of(page)
    assert "stitches and guesses, not measured yet" in words_of(page)
    assert "Reckoned for what is done, uncorrected: 0.45 m." in words_of(page)

    told = owner.post("/garments/1/thread", data={f"thread-{at}": thread, f"used-{at}": "0,54"}, follow_redirects=True)
    assert "learned from 1 garment of this thread: 120 % of what is reckoned" in words_of(told)
    assert lines(running) == [(450_000, 540_000)]
    reckoner = owner.get("/reckoner/thread", params={"garment": 1, "of": at})
    assert 'id="f-reckoned_last" name="reckoned_last" type="text" value="0.45"' in reckoner.text
    assert 'id="f-used_last" name="used_last" type="text" value="0.54"' in reckoner.text

    back = owner.post("/garments/1/thread/take-back", data={"thread": thread}, follow_redirects=True)
    assert "stitches and guesses, not measured yet" in words_of(back)
    assert lines(running) == [(450_000, 540_000), (450_000, None)]
    assert 'name="used_last" type="text" value=""' in owner.get("/reckoner/thread").text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("45", "is 100 times what was reckoned: check the unit"),
        ("0.01", "times what was reckoned: check the unit"),
        ("some", "number"),
        ("-1", "above 0"),
        ("nan", "number"),
        ("1e308", ""),
    ],
)
def test_a_figure_that_cannot_be_right_stays_in_its_field_with_a_sentence(
    owner: httpx2.Client, running: Live, typed: str, sentence: str
) -> None:
    at, thread = field_of(owner.get("/garments/1/thread"))
    page = owner.post("/garments/1/thread", data={f"thread-{at}": thread, f"used-{at}": typed})
    found = re.search(rf'id="e-used-{at}">(.*?)</p>', page.text)
    assert (page.status_code, found is not None) == (422, True)
    assert found is None or sentence in html.unescape(found[1])
    assert f'value="{typed}"' in page.text
    assert lines(running) == []


def test_threads_that_changed_meanwhile_and_pieces_in_other_hands_are_refused(
    owner: httpx2.Client, running: Live
) -> None:
    at, _ = field_of(owner.get("/garments/1/thread"))
    changed = owner.post("/garments/1/thread", data={f"thread-{at}": "Wool", f"used-{at}": "0.5"})
    assert (changed.status_code, "threads have changed meanwhile" in changed.text) == (409, True)
    assert owner.post("/garments/1/thread/take-back", data={"thread": "Wool"}).status_code == 404
    with closing(running.signed_in(SECOND)) as second:
        assert second.get("/garments/1/thread").status_code == 404
        assert second.post("/garments/1/thread", data={f"used-{at}": "0.5"}).status_code == 404
    assert lines(running) == []


def test_nothing_is_asked_of_a_thread_that_is_not_sewn_with_yet(owner: httpx2.Client, running: Live) -> None:
    with running.database.writing() as db:
        bib = number(a_garment(db, "bib"))
        assert all(not one.done_tenths for one in db.exec(select(Step).where(Step.garment_id == bib)))
    page = owner.get(f"/garments/{bib}/thread")
    assert "Nothing of it is sewn yet." in words_of(page)
    assert 'name="used-' not in page.text
