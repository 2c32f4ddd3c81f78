"""The reckoner's pages and the marking sheet in a studio that measures in inches."""

import html
import re

import httpx2
import pytest

from service.records.tables import Studio
from tests.building import a_garment
from tests.serving import Live

INCH_MM = 25.4


@pytest.fixture
def gown(live: Live) -> int:
    """The number of a christening gown in a studio of inches."""
    with live.database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.length_unit = studio.count_unit = "in"
        db.add(studio)
        garment = a_garment(db, "christening_gown")
        assert garment.id is not None
        return garment.id


def words_of(page: httpx2.Response) -> str:
    assert page.status_code == 200, page.text
    main = page.text.partition('<main id="main"')[2].partition("</main>")[0]
    main = re.sub(r"<(svg|title|desc)\b.*?</\1>", "", main, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def test_a_gowns_tucks_are_filled_in_and_answered_in_inches(owner: httpx2.Client, gown: int) -> None:
    page = owner.get("/reckoner/tucks", params={"garment": gown})
    assert 'name="depth" type="text" value="0.2362"' in page.text  # 6 mm
    assert 'name="count" type="text" value="48.26"' in page.text  # 19 to the cm
    assert "2 tucks take up 0.94 in" in words_of(page)  # twice 6 mm, twice


def test_an_answer_typed_in_inches_is_the_published_one(owner: httpx2.Client, gown: int) -> None:
    # National Instructional Media Institute, Trade Practical: four tucks of an eighth inch take an inch.
    asked = {"tucks": "4", "depth": "0.125", "count": "50", "count_unit": "in", "width": "8", "garment": str(gown)}
    assert "Cut the block 9 in wide: 4 tucks take up 1 in." in words_of(owner.get("/reckoner/tucks", params=asked))


def test_a_quarter_inch_double_bias_is_cut_an_inch_and_a_half_wide(owner: httpx2.Client, gown: int) -> None:
    del gown
    asked = {"finished": "0.25", "fold": "double", "edge": "40", "join_seam": "0.25", "cloth_width": "45"}
    assert "Cut the strips 1.5 in wide" in words_of(owner.get("/reckoner/bias", params=asked))


def test_cloth_is_bought_in_yards(owner: httpx2.Client, gown: int) -> None:
    page = words_of(owner.get("/reckoner/cloth", params={"garment": gown}))
    assert re.search(r"Buy [\d.]+ yd: the blocks take [\d.]+ in\.", page)


def test_thread_and_yarn_open_with_the_gowns_numbers(owner: httpx2.Client, gown: int) -> None:
    assert "Length of a skein needed yd" in words_of(owner.get("/reckoner/thread", params={"garment": gown}))
    yarn = owner.get("/reckoner/yarn", params={"garment": gown}).text
    assert 'name="warp_count" type="text" value="50.8"' in yarn


def test_the_marking_sheet_is_in_inches_and_threads(owner: httpx2.Client, gown: int) -> None:
    page = words_of(owner.get(f"/garments/{gown}/marking-sheet"))
    assert re.search(r"1\. Upper tuck seam line top 1104 weft 22\.87\d? 2 layers none", page)
    assert pytest.approx(22.878, abs=0.001) == 581.1 / INCH_MM
    assert "27.559 in wide" in page
