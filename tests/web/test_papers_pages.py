"""A garment's papers as pages and as PDF: care card, label, work slip, and the file of its commission."""

import html
import io
import re
from collections.abc import Iterator
from contextlib import closing

import httpx2
import pypdf
import pytest
from sqlmodel import select

from service.papers.paper import Ledger, Paper, Part, paper_pdf
from service.records.tables import Cloth, ClothFibre, ClothSwatch, Commission, Event, Garment, RiskConsidered, Section
from tests.serving import OWNER, START, STITCHER, Live


@pytest.fixture(scope="module")
def owner(with_a_gown: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(with_a_gown.signed_in(OWNER)) as client:
        yield client


def words_of(page: httpx2.Response) -> str:
    main = page.text.partition('<main id="main"')[2].partition("</body>")[0]
    main = re.sub(r"<(svg|title|desc)\b.*?</\1>", "", main, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def text_of(answer: httpx2.Response) -> str:
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_the_care_card_speaks_to_the_client_and_the_maker_s_duties_stand_beside_it_with_their_sources(
    with_a_gown: Live, owner: httpx2.Client
) -> None:
    page = words_of(owner.get("/garments/1/care-card"))
    assert "Fine linen: No washing was tried on this cloth yet." in page
    with with_a_gown.database.writing() as db:
        for system in ("warp", "weft"):
            db.add(
                ClothSwatch(
                    cloth_id=1,
                    system=system,
                    before_um=500_000,
                    after_um=485_000,
                    washed="by hand at 40 °C",
                    measured_at=START,
                )
            )
    page = words_of(owner.get("/garments/1/care-card"))
    assert "a swatch was washed on 1 September 2026: by hand at 40 °C. It changed by −3.0 % along the warp" in page
    assert "For a child under three (the age is not written down, so the youngest is thought of)" in page
    assert "Longer than 64.8 cm" in page
    assert "(16 CFR 1615.1(c) on infants' garments; the rest is common practice, no source)" in page
    assert "not legal advice" in page
    card = text_of(owner.get("/garments/1/care-card.pdf"))
    assert "a swatch was washed on 1 September 2026" in card
    assert "keep it away from candles and flame" in card
    assert "not a promise of safety" in card
    for of_the_maker in ("CFR", "EN 1", "no source", "before sale", "Fine linen", "sell", "Wash a swatch", "lead test"):
        assert of_the_maker not in card
    adult = words_of(owner.get("/garments/1/care-card?for=adult"))
    assert "For an adult" in adult
    assert "Longer than 64.8 cm" not in adult
    assert owner.get("/garments/1/care-card?for=cat").status_code == 404


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
@pytest.mark.parametrize("path", ["garments/1/care-card", "garments/1/label", "sections/1/slip", "commissions/1/file"])
def test_every_paper_is_printed_tagged_and_titled_as_its_page(owner: httpx2.Client, path: str, paper: str) -> None:
    answer = owner.get(f"/{path}.pdf", params={"paper": paper})
    pdf = pypdf.PdfReader(io.BytesIO(answer.content))
    assert "'/Marked': True" in str(pdf.root_object["/MarkInfo"])
    assert pdf.metadata is not None
    title = str(pdf.metadata.title)
    assert f"<h1>{html.escape(title, quote=False)}</h1>" in owner.get(f"/{path}").text.replace("&#39;", "'")
    assert title in text_of(answer)
    assert round(float(pdf.pages[0].mediabox.height)) == {"a4": 842, "us-letter": 792}[paper]


def test_a_paper_of_an_unknown_size_is_refused(owner: httpx2.Client) -> None:
    answer = owner.get("/garments/1/label.pdf?paper=a3")
    assert answer.status_code == 404
    assert "a4, us-letter" in answer.text


def test_the_work_slip_says_counts_steps_and_the_knot_in_its_order(with_a_gown: Live, owner: httpx2.Client) -> None:
    with with_a_gown.database.reading() as db:
        section = db.exec(select(Section).where(Section.kind == "serpentine")).first()
    assert section is not None
    said = text_of(owner.get(f"/sections/{section.id}/slip.pdf"))
    assert f"{section.standing_threads} threads in {section.bundles} bundles of {section.bundle_threads}" in said
    assert f"{section.withdrawn_threads} threads" in said
    assert "1. Out of the edge of the cloth, before the bundle." in said
    assert "Withdraw: cannot be undone. Count twice before the first." in said
    assert "Count needles and pins out" in said


def test_the_label_is_lines_to_sew_in_and_says_what_is_still_missing(owner: httpx2.Client) -> None:
    page = words_of(owner.get("/garments/1/label"))
    assert "Larkfield Whitework May 2027 No. 1 linen" in page
    assert "The place is not written down yet" in page
    assert "The fibres of Fine linen are not stated by percent." in page
    answer = owner.post(
        "/settings/maker",
        data={"place": "Larkfield, England", "postal_address": "1 Mill Lane\nLarkfield", "electronic_address": ""},
    )
    assert answer.status_code == 303
    page = words_of(owner.get("/garments/1/label"))
    assert "Larkfield Whitework 1 Mill Lane Larkfield Made in Larkfield, England, May 2027 No. 1 linen" in page
    assert "not written down yet" not in page
    empty = owner.post("/settings/maker", data={"place": " "})
    assert empty.status_code == 422
    assert "Enter the place." in empty.text


def test_fibres_come_to_a_hundred_and_are_told_the_largest_first(with_a_gown: Live, owner: httpx2.Client) -> None:
    short = owner.post(
        "/cloth/1/fibres", data={"fibre-1": "linen", "share-1": "60", "fibre-2": "cotton", "share-2": "30"}
    )
    assert short.status_code == 422
    assert "The shares must come to 100 %; these come to 90 %." in short.text
    assert 'value="cotton"' in short.text
    twice = owner.post(
        "/cloth/1/fibres", data={"fibre-1": "linen", "share-1": "60", "fibre-2": "Linen", "share-2": "40"}
    )
    assert "Name each fibre once." in twice.text
    half = owner.post("/cloth/1/fibres", data={"fibre-1": "linen", "share-1": ""})
    assert half.status_code == 422
    mixed = {"fibre-1": "cotton", "share-1": "45.5", "fibre-2": "linen", "share-2": "54,5"}
    assert owner.post("/cloth/1/fibres", data=mixed).status_code == 303
    assert "54.5 % linen, 45.5 % cotton" in words_of(owner.get("/cloth/1"))
    assert "54.5 % linen, 45.5 % cotton" in words_of(owner.get("/garments/1/care-card"))
    with with_a_gown.database.reading() as db:
        assert [row.share_bp for row in db.exec(select(ClothFibre).order_by(ClothFibre.fibre))] == [4550, 5450]
        assert (
            db.exec(select(Event.after).where(Event.action == "fibres stated")).one()
            == '{"cotton": 4550, "linen": 5450}'
        )


def test_risks_are_written_down_kept_in_the_file_and_set_aside(with_a_gown: Live, owner: httpx2.Client) -> None:
    page = words_of(owner.get("/commissions/1/file"))
    assert "Kept until ten years from delivery; nothing is delivered yet" in page
    assert "None is written down yet." in page
    empty = owner.post("/garments/1/risks", data={"risk": "Ribbon at the neck", "answer": ""})
    assert empty.status_code == 422
    assert "Ribbon at the neck" in empty.text
    assert "Enter what was done about it." in empty.text
    owner.post("/garments/1/risks", data={"risk": "Ribbon at the neck", "answer": "Stitched down, ends of 5 cm"})
    assert "Ribbon at the neck Stitched down, ends of 5 cm Ottilie Brook" in words_of(owner.get("/commissions/1/file"))
    assert "Ribbon at the neck" in text_of(owner.get("/commissions/1/file.pdf"))
    with with_a_gown.database.reading() as db:
        risk = db.exec(select(RiskConsidered)).one()
    assert owner.post(f"/risks/{risk.id}/set-aside").status_code == 303
    assert owner.post(f"/risks/{risk.id}/set-aside").status_code == 409
    assert "Stitched down" not in words_of(owner.get("/commissions/1/file"))


def test_the_file_is_kept_ten_years_from_the_last_delivery(with_a_gown: Live, owner: httpx2.Client) -> None:
    with with_a_gown.database.writing() as db:
        garment = db.exec(select(Garment)).one()
        garment.delivered_at = START.replace(year=2028, month=2, day=29)
        db.add(garment)
    assert "Kept until 1 March 2038" in words_of(owner.get("/commissions/1/file"))


def test_a_stitcher_sees_papers_of_what_she_holds_and_never_the_file(with_a_gown: Live) -> None:
    with closing(with_a_gown.signed_in(STITCHER)) as stitcher:
        for path in ("garments/1/papers", "garments/1/care-card", "garments/1/label.pdf", "sections/1/slip"):
            assert stitcher.get(f"/{path}").status_code == 404, path
        for path in ("commissions/1/file", "commissions/1/file.pdf", "cloth/1/fibres", "settings/maker"):
            assert stitcher.get(f"/{path}").status_code == 403, path


def test_the_lightest_cloth_asks_for_a_burn_test(with_a_gown: Live, owner: httpx2.Client) -> None:
    with with_a_gown.database.writing() as db:
        cloth = db.exec(select(Cloth)).first()
        assert cloth is not None
        cloth.weight_mg_per_m2 = 80_000
        db.add(cloth)
    assert "lighter than 88 g per square metre" in words_of(owner.get("/garments/1/care-card"))


def test_an_older_child_is_known_by_its_birthday(with_a_gown: Live, owner: httpx2.Client) -> None:
    with with_a_gown.database.writing() as db:
        commission = db.exec(select(Commission)).one()
        commission.child_born = START.date().replace(year=2022)
        db.add(commission)
    assert "For an older child" in words_of(owner.get("/garments/1/care-card"))


def test_a_ledger_without_a_row_says_that_there_is_nothing() -> None:
    paper = Paper("Sheet", "Studio", "Told.", (Part("What is left", ledger=Ledger(("Part", "Left to do"), ())),))
    said = pypdf.PdfReader(io.BytesIO(paper_pdf(paper))).pages[0].extract_text()
    assert "Nothing." in said
    assert "Left to do" not in said
