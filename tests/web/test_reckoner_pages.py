"""The reckoner's pages for making, over HTTP: answers in words, wrong input at its field, a garment's own numbers, keeping."""

import html
import re
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from sqlmodel import select

from service.records.db import open_database
from service.records.tables import Garment, KeptResult
from service.web.reckoner_keeping import PAGES
from tests.building import a_garment
from tests.serving import OWNER, SECOND, Live, serving

# National Instructional Media Institute, CITS Dress Making, Trade Practical, p. 209, exercise 48.
TUCKS = {"tucks": "16", "depth": "2", "count": "20", "count_unit": "cm", "width": "28", "spacing": "16"}
USUAL: dict[str, dict[str, str]] = {"tucks": TUCKS}


@pytest.fixture(scope="module")
def running(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """One service for all of these, with a christening gown being made; what is kept stays among its own tests."""
    path = tmp_path_factory.mktemp("making") / "studio.sqlite"
    shutil.copyfile(sqlite_template, path)
    with serving(open_database(f"sqlite:///{path}")) as live:
        with live.database.writing() as db:
            a_garment(db, "christening_gown")
        yield live


@pytest.fixture(scope="module")
def owner(running: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(running.signed_in(OWNER)) as client:
        yield client


@pytest.fixture(scope="module")
def gown(running: Live) -> int:
    """The number of the gown being made."""
    with running.database.reading() as db:
        number = db.exec(select(Garment.id)).one()
    assert number is not None
    return number


def words_of(page: str) -> str:
    """The page's main part without its markup."""
    main = page.partition('<main id="main"')[2].partition("</main>")[0]
    main = re.sub(r"<(svg|title|desc)\b.*?</\1>", "", main, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def asked(owner: httpx2.Client, name: str, status: int = 200, **more: str) -> str:
    page = owner.get(f"/reckoner/{name}", params={**USUAL[name], **more})
    assert page.status_code == status, page.text
    return page.text


def fault_of(page: str, field: str) -> str:
    found = re.search(rf'id="e-{field}"><span class="unseen">Error: </span>(.*?)</p>', page)
    assert found is not None, words_of(page)
    return html.unescape(found.group(1))


def kept(running: Live) -> list[KeptResult]:
    with running.database.reading() as db:
        return list(db.exec(select(KeptResult)))


@pytest.mark.parametrize("name", USUAL)
def test_a_question_not_asked_yet_has_no_fault_and_no_answer(owner: httpx2.Client, name: str) -> None:
    page = owner.get(f"/reckoner/{name}")
    assert page.status_code == 200
    assert 'id="answer"' not in page.text
    assert 'class="error-summary"' not in page.text
    assert f"<h1>{PAGES[name].words}</h1>" in page.text if name in PAGES else True


@pytest.mark.parametrize("name", USUAL)
def test_an_answer_is_drawn_and_told_in_words(owner: httpx2.Client, name: str) -> None:
    page = asked(owner, name)
    assert 'id="answer"' in page
    assert "<svg" in page.partition('class="answer"')[2]
    assert "<script" not in page.partition("<main")[2]


@pytest.mark.parametrize("name", USUAL)
@pytest.mark.parametrize("typed", ["-1", "NaN", "words", "1e400", "9" * 400])
def test_no_field_of_any_page_takes_nonsense(owner: httpx2.Client, name: str, typed: str) -> None:
    for field, usual in USUAL[name].items():
        if re.fullmatch(r"[\d.]+", usual):
            page = asked(owner, name, 422, **{field: typed})
            assert fault_of(page, field)
            assert 'id="answer"' not in page


def test_a_stranger_is_sent_to_sign_in(running: Live) -> None:
    with closing(running.visitor()) as visitor:
        assert visitor.get("/reckoner/tucks", params=TUCKS).status_code == 303


def test_tucks_tell_the_block_and_every_line_by_thread(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "tucks"))
    assert "Cut the block 34.4 cm wide: 16 tucks take up 6.4 cm." in page
    assert "Fold, tuck 9 200 " not in page
    assert "Knotted line, tuck 9 16 8 mm Fold, tuck 9 20 10 mm Knotted line, tuck 9 24 12 mm" in page
    assert "trace neck and shoulder only as a guide" in page
    assert "Baldt, Clothing for Women, 1916" in page


def test_tucks_deeper_than_half_the_spacing_are_told_at_the_depth(owner: httpx2.Client) -> None:
    page = asked(owner, "tucks", 422, depth="9")
    assert fault_of(page, "depth") == "This must be at most half the spacing (16 mm), not 9."


def test_a_gowns_own_tucks_are_filled_in_and_answered(owner: httpx2.Client, gown: int) -> None:
    page = owner.get("/reckoner/tucks", params={"garment": gown}).text
    words = words_of(page)
    assert "Filled in from" in words
    assert "Skirt front: 2 tucks 6 mm deep" in words
    assert "2 tucks take up 2.4 cm" in words
    assert f'href="/garments/{gown}/reckoned"' in page
    other = words_of(owner.get("/reckoner/tucks", params={"garment": gown, "of": 2}).text)
    assert "Filled in from Christening gown with bands round the skirt: Skirt front: 1 tuck 12 mm deep" in other


def test_another_ones_garment_is_not_filled_in(running: Live, gown: int) -> None:
    with closing(running.signed_in(SECOND)) as client:
        assert client.get("/reckoner/tucks", params={"garment": gown}).status_code == 404
        assert client.get(f"/garments/{gown}/reckoned").status_code == 404
        body = {**TUCKS, "garment": str(gown)}
        assert client.post("/reckoner/tucks/keep", data=body).status_code == 404


@pytest.mark.parametrize("garment", ["0", "999", "first", "-1", "9" * 30, "²"])
def test_an_unknown_garment_is_told_so(owner: httpx2.Client, garment: str) -> None:
    page = owner.get("/reckoner/tucks", params={"garment": garment})
    assert page.status_code == 404
    assert "There is no such garment." in page.text


@pytest.mark.parametrize("name", [name for name in USUAL if name != "fit"])
def test_an_answer_is_kept_with_the_garment_and_can_be_asked_again(
    running: Live, owner: httpx2.Client, gown: int, name: str
) -> None:
    page = asked(owner, name, garment=str(gown))
    form = page.partition(f'action="/reckoner/{name}/keep"')[2].partition("</form>")[0]
    hidden = {
        html.unescape(field): html.unescape(value)
        for field, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form)
    }
    before = len(kept(running))
    answer = owner.post(f"/reckoner/{name}/keep", data=hidden)
    assert answer.status_code == 303, answer.text
    assert len(kept(running)) == before + 1
    told = html.unescape(re.findall(r'id="answer">(.*?)</p>', page)[0])
    shown = owner.get(answer.headers["location"]).text
    assert told in html.unescape(shown)
    again = html.unescape(
        re.findall(
            rf'href="(/reckoner/{name}\?[^"]*garment=[^"]*&[^"]*|/reckoner/{name}\?[^"]*&amp;garment=\d+)"', shown
        )[0]
    )
    assert told in html.unescape(owner.get(again).text)


@pytest.mark.parametrize(
    ("name", "body", "status"),
    [
        pytest.param("tucks", {**TUCKS, "depth": "90"}, 422, id="an answer that cannot be"),
        pytest.param("tucks", {}, 422, id="nothing asked"),
        pytest.param("spells", TUCKS, 404, id="an unknown question"),
    ],
)
def test_what_cannot_be_answered_is_not_kept(
    running: Live, owner: httpx2.Client, gown: int, name: str, body: dict[str, str], status: int
) -> None:
    before = len(kept(running))
    answer = owner.post(f"/reckoner/{name}/keep", data={**body, "garment": str(gown)})
    assert answer.status_code == status
    assert len(kept(running)) == before


def test_only_the_pages_own_fields_are_kept(running: Live, owner: httpx2.Client, gown: int) -> None:
    owner.post("/reckoner/tucks/keep", data={**TUCKS, "garment": str(gown), "diary": "a secret"})
    assert "a secret" not in kept(running)[-1].asked
