"""The marking sheet of a garment, as a page and as PDF: every line by mm and by thread, on A4 and on Letter."""

import html
import io
import re
from collections.abc import Iterator
from contextlib import closing

import httpx2
import pypdf
import pytest
from sqlmodel import select

from service.records.tables import ClothReading, Garment, Panel
from tests.serving import OWNER, SECOND, START, STITCHER, Live

POINTS_PER_MM = 72 / 25.4


@pytest.fixture(scope="module")
def owner(with_a_gown: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(with_a_gown.signed_in(OWNER)) as client:
        yield client


@pytest.fixture(scope="module")
def path(with_a_gown: Live) -> str:
    """The address of the gown's sheet."""
    with with_a_gown.database.reading() as db:
        return f"/garments/{db.exec(select(Garment.id)).one()}/marking-sheet"


def words_of(page: httpx2.Response) -> str:
    main = page.text.partition('<main id="main"')[2].partition("</main>")[0]
    main = re.sub(r"<(svg|title|desc)\b.*?</\1>", "", main, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def pdf_of(owner: httpx2.Client, path: str, paper: str) -> pypdf.PdfReader:
    answer = owner.get(f"{path}.pdf", params={"paper": paper})
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    return pypdf.PdfReader(io.BytesIO(answer.content))


def text_of(pdf: pypdf.PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pdf.pages))


def test_every_line_stands_on_the_page_by_mm_and_by_thread(owner: httpx2.Client, path: str) -> None:
    page = words_of(owner.get(path))
    # 6 mm at 19 weft threads to the cm are 11 threads; each tuck moves what is below it on by twice that.
    assert "1. Upper tuck seam line top 1104 weft 581.1 2 layers none" in page
    assert "2. Upper tuck fold top 1115 weft 586.8 2 layers none" in page
    assert "3. Upper tuck seam line top 1126 weft 592.6 2 layers none" in page
    assert "Ladder, right of the front left edge of the drawn strip left 388 warp 194 1 layer in a hoop" in page
    assert "Block as cut, before its tucks: 700 mm wide, 907.37 mm along the warp" in page


def test_what_must_be_known_beside_the_lines_is_told(owner: httpx2.Client, path: str) -> None:
    page = words_of(owner.get(path))
    assert "Trace neck, shoulder and outline only as a guide now: the tucks move them." in page
    assert "Placket: fold and baste the facing first" in page
    assert "Hem round the skirt upper edge of the drawn strip (when the panels are joined)" in page
    assert "Spray between the ladders: motif at 170 mm from the left and 114 mm from the top." in page
    assert "Serpentine round the skirt 18 threads 12 threads" in page  # the conversion table


def test_the_drawing_has_a_number_for_every_line(owner: httpx2.Client, path: str) -> None:
    page = owner.get(path).text
    sections = page.split('<section class="marked-panel">')[1:]
    for section in sections:
        numbered = len(re.findall(r'<th scope="row" role="rowheader"><div>\d+\.', section))
        assert section.count('class="d-number"') == numbered
        assert section.count("tick-box") == numbered


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"), [("a4", 210, 297), ("us-letter", 215.9, 279.4)], ids=["A4", "Letter"]
)
def test_the_pdf_is_of_its_paper_tagged_titled_and_its_text_can_be_selected(
    owner: httpx2.Client, path: str, paper: str, width_mm: float, height_mm: float
) -> None:
    pdf = pdf_of(owner, path, paper)
    box = pdf.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(
        (width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM), abs=0.5
    )
    assert "'/Marked': True" in str(pdf.root_object["/MarkInfo"])
    assert "/StructTreeRoot" in pdf.root_object
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Marking sheet: Christening gown with bands round the skirt"
    text = text_of(pdf)
    assert "Upper tuck: seam line top 1104 weft 581.1 2 layers none" in text
    assert "100 mm, in cm" in text
    assert "weft, 19 threads to the cm" in text
    assert "Print at 100 %" in text


def test_the_bar_is_printed_true_to_size(owner: httpx2.Client, path: str) -> None:
    pdf = pdf_of(owner, path, "a4")
    found: dict[str, float] = {}

    def see(text: str, matrix: list[float], _text_matrix: list[float], _font: object, _size: float) -> None:
        if text.strip() in {"1", "9"}:
            found.setdefault(text.strip(), matrix[4])

    pdf.pages[0].extract_text(visitor_text=see)
    # From the middle of the 1 to the middle of the 9, figures of one width.
    assert (found["9"] - found["1"]) / POINTS_PER_MM == pytest.approx(80, abs=0.05)


def test_a_cloth_counted_again_is_told_on_the_sheet(with_a_gown: Live, owner: httpx2.Client, path: str) -> None:
    with with_a_gown.database.writing() as db:
        cloth_id = db.exec(select(Panel.cloth_id)).first()
        assert cloth_id is not None
        for reading in db.exec(select(ClothReading).where(ClothReading.system == "weft")):
            reading.set_aside = True
            db.add(reading)
        db.add(ClothReading(cloth_id=cloth_id, system="weft", threads=205, over_um=100_000, read_at=START))
    assert "the cloth now counts 20 × 20.5" in words_of(owner.get(path))
    assert "the cloth now counts 20 × 20.5" in text_of(pdf_of(owner, path, "a4"))


def test_only_who_holds_it_sees_it(with_a_gown: Live, path: str) -> None:
    for email in (STITCHER, SECOND):
        with closing(with_a_gown.signed_in(email)) as client:
            assert client.get(path).status_code == 404
            assert client.get(f"{path}.pdf").status_code == 404
    with closing(with_a_gown.visitor()) as visitor:
        assert visitor.get(f"{path}.pdf").status_code == 303


@pytest.mark.parametrize("address", ["/garments/999/marking-sheet", "/garments/999/marking-sheet.pdf"])
def test_an_unknown_garment_is_told_so(owner: httpx2.Client, address: str) -> None:
    answer = owner.get(address)
    assert answer.status_code == 404
    assert "There is no such garment." in answer.text


def test_an_unknown_paper_is_told_so(owner: httpx2.Client, path: str) -> None:
    answer = owner.get(f"{path}.pdf", params={"paper": "papyrus"})
    assert answer.status_code == 404
    assert "a4, us-letter" in answer.text
