"""The handover sheet: from its text alone the next bundle, edge, direction, stitch, thread and catch of all six kinds."""

import io
import re
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pypdf
import pytest
import segno
from sqlmodel import col, select

from service.drawing.stitch_words import stitch_order
from service.papers.qr import QUIET
from service.reckoning.gates import KNOTS
from service.records.db import Writing, open_database
from service.records.tables import Garment, Handover, Section, Step
from service.studio.handovers import CountedIn, Offer, Tools, offer, pass_on, take
from tests.building import a_garment
from tests.counting import count, number, person, work_on
from tests.serving import OWNER, SECOND, START, STITCHER, Live, serving
from tests.shelf import words_of

# By kind: the design it is in, its knots done so far, and what is next of it.
NEXT = {
    "hem_band": ("handkerchief", 13, "Knot the hem edge: bundle 14 of {bundles} is next, along the hem."),
    "ladder": ("handkerchief", 1, "Knot the edges: bundle 2 of {bundles} is next, first edge."),
    "ladder_paired": ("handkerchief", 3, "Knot in pairs: pair 4 of {pairs} is next, pairs, "),
    "serpentine": (
        "handkerchief",
        5,
        "Knot the edges: knot 6 of {split} is next, second edge, work turned: half of one bundle and half of the next.",
    ),
    "alternating": ("handkerchief", 7, "Knot by turns: bundle 8 of {bundles} is next, upper edge."),
    "tuck_band": (
        "yoke_dress",
        9,
        "Knot the tuck: bundle 10 of {bundles} is next, along the tuck, both layers together.",
    ),
}


def _begin(db: Writing, garment_id: int, kind: str, knots: int) -> Section:
    """Work the first section of that kind up to so many of its last knots; a split second edge has its first done."""
    found = (
        select(Section).where(Section.garment_id == garment_id, Section.kind == kind).order_by(col(Section.position))
    )
    section = db.exec(found).first()
    assert section is not None
    owner = person(db, OWNER)
    steps = list(db.exec(select(Step).where(Step.section_id == section.id).order_by(col(Step.position))))
    last = [row for row in steps if row.operation in KNOTS][-1]
    before = (section.bundles or 0) if kind == "serpentine" else 0
    for row in steps[: steps.index(last)]:
        count(db, owner, row, row.quantity_tenths / 10, overrule="for the sheet")
    count(db, owner, last, before + knots, overrule="for the sheet")
    return section


@pytest.fixture(scope="module")
def running(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """One service with two pieces on their way from Wren to Ida, a band of each kind begun in them."""
    path = tmp_path_factory.mktemp("sheet") / "studio.sqlite"
    shutil.copyfile(sqlite_template, path)
    with serving(open_database(f"sqlite:///{path}")) as live:
        with live.database.writing() as db:
            owner, wren, ida = (person(db, email) for email in (OWNER, STITCHER, SECOND))
            for design in ("handkerchief", "yoke_dress"):
                piece = number(a_garment(db, design))
                pass_on(db, owner, wren, Offer(piece, wren.stitcher_id), START)
                work_on(db, owner, piece, lambda row: row.section_id is not None)
                begun = [_begin(db, piece, kind, done) for kind, (of, done, _) in NEXT.items() if of == design]
                tools = {number(each): Tools(f"reel for {each.kind}", "sharps No 9") for each in begun}
                offer(db, wren, Offer(piece, ida.stitcher_id, needles_out=2, pins_out=9, tools=tools), START)
        yield live


@pytest.fixture(scope="module")
def ida(running: Live) -> Iterator[httpx2.Client]:
    """The receiver, signed in once."""
    with closing(running.signed_in(SECOND)) as client:
        yield client


def _on_the_way(live: Live, design: str) -> tuple[int, int]:
    """The handover from Wren to Ida of the garment of that design, and the garment."""
    name = design.replace("_", " ")
    with live.database.reading() as db:
        rows = db.exec(
            select(Handover.id, Handover.garment_id, Garment.name).join(Garment).where(Handover.needles_out == 2)
        )
        return next((one, garment) for one, garment, called in rows if name in called.lower() and one is not None)


def _text(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages))


@pytest.fixture(scope="module")
def texts(running: Live, ida: httpx2.Client) -> dict[str, str]:
    """What the sheets say, by design."""
    found = {}
    for design in ("handkerchief", "yoke_dress"):
        answer = ida.get(f"/handovers/{_on_the_way(running, design)[0]}/sheet.pdf")
        assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
        found[design] = _text(answer.content)
    return found


def _section(live: Live, design: str, kind: str) -> Section:
    with live.database.reading() as db:
        found = select(Section).where(Section.garment_id == _on_the_way(live, design)[1], Section.kind == kind)
        section = db.exec(found.order_by(col(Section.position))).first()
        assert section is not None
        db.expunge(section)
        return section


@pytest.mark.parametrize("kind", NEXT)
def test_the_next_knot_can_be_made_from_the_text_alone(running: Live, texts: dict[str, str], kind: str) -> None:
    design, _, following = NEXT[kind]
    section, text = _section(running, design, kind), texts[design]
    bundles = section.bundles or 0
    head = f"Where it stopped: {section.name} ("
    assert text.count(head) == 1
    stop = text.partition(head)[2].partition("Where it stopped: ")[0].partition("The stitch: ")[0]
    assert following.format(bundles=bundles, pairs=bundles // 2, split=bundles + 1) in stop
    assert f"Direction worked {section.work_direction}" in stop
    assert (
        f"Counted from the {section.work_direction.partition(' ')[0]}, as the edge being worked lies nearest you"
        in stop
    )
    assert f"Side facing the {section.side_worked} side" in stop
    assert f"Thread reel for {kind}" in stop
    assert "Needle sharps No 9" in stop
    assert f"Bundle {section.bundle_threads} threads" in stop
    caught = f"{section.catch_threads} threads of the edge" if section.catch_threads else "the edge of the"
    assert f"Catch {caught}" in stop
    for at, sentence in enumerate(stitch_order(kind, section.catch_threads).steps, 1):
        assert f"{at}. {sentence}" in text


def test_counts_hours_day_and_needles_stand_on_it(texts: dict[str, str]) -> None:
    text = texts["handkerchief"]
    assert "Wanted on 16 May 2027" in text
    assert re.search(r"Hours left likely \d+ to \d+ h, at Ida Thorne’s pace, mostly guesses", text)
    assert "Counted out 2 needles and 9 pins" in text
    assert re.search(r"Left of it: knot the edges \d+ knots", text)
    assert "from Wren Hallam to Ida Thorne. Offered 1 Sep 26, 10:00." in text


def test_every_caution_names_its_source(texts: dict[str, str]) -> None:
    assert "the needle rule of garment factories, NIMI, CITS Dress Making" in texts["yoke_dress"]
    assert "A magnet does not find brass" in texts["yoke_dress"]
    assert "These are reminders, not legal advice; check local rules." in texts["yoke_dress"]


def test_it_is_tagged_titled_and_comes_on_both_papers(running: Live, ida: httpx2.Client) -> None:
    address = f"/handovers/{_on_the_way(running, 'yoke_dress')[0]}/sheet.pdf"
    for paper, (wide, high) in (("a4", (210, 297)), ("us-letter", (215.9, 279.4))):
        pdf = pypdf.PdfReader(io.BytesIO(ida.get(address, params={"paper": paper}).content))
        box = pdf.pages[0].mediabox
        assert [float(side) * 25.4 / 72 for side in (box.width, box.height)] == pytest.approx([wide, high], abs=0.1)
        assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]  # type: ignore[index]  # a tagged file says so here
        assert str(pdf.metadata and pdf.metadata.title).startswith("Handover sheet: Yoke dress")
    assert ida.get(address, params={"paper": "a0"}).status_code == 404


def test_the_code_leads_to_the_page_of_the_piece(running: Live, ida: httpx2.Client) -> None:
    handover, garment = _on_the_way(running, "handkerchief")
    page = ida.get(f"/handovers/{handover}/sheet").text
    path = re.search(r'class="qr-modules" d="([^"]+)"', page)
    assert path
    dark = {(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", path[1])}
    code = segno.make(f"{running.url}/garments/{garment}", error="m", micro=False)
    asked = {(x + QUIET, y + QUIET) for y, row in enumerate(code.matrix) for x, is_dark in enumerate(row) if is_dark}
    assert dark == asked
    assert f"{running.url}/garments/{garment}" in page
    assert ida.get(f"/garments/{garment}").status_code == 200


def test_the_page_says_what_the_paper_says(running: Live, ida: httpx2.Client, texts: dict[str, str]) -> None:
    page = words_of(ida.get(f"/handovers/{_on_the_way(running, 'handkerchief')[0]}/sheet").text)
    for said in ("Knot the hem edge: bundle 14 of", "Thread reel for serpentine", "2 needles and 9 pins"):
        assert said in page
        assert said in texts["handkerchief"]


def test_a_band_not_knotted_yet_tells_where_its_knots_begin(running: Live, ida: httpx2.Client) -> None:
    with running.database.writing() as db:
        owner, receiver = person(db, OWNER), person(db, SECOND)
        bib = number(a_garment(db, "bib"))
        work_on(db, owner, bib, lambda row: row.operation == "clip")
        handover = offer(db, owner, Offer(bib, receiver.stitcher_id), START)
        found = select(Section).where(Section.garment_id == bib, Section.kind == "ladder")
        bundles = db.exec(found.order_by(col(Section.position))).one().bundles
        number_of = number(handover)
    text = _text(ida.get(f"/handovers/{number_of}/sheet.pdf").content)
    assert "Clip: clip 1 of " in text
    assert "Soon, and cannot be undone: clip, Upper ladder. Count twice first." in text
    assert f"The knots after that: knot the edges, bundle 1 of {bundles}, first edge, counted from the " in text


def test_once_it_is_taken_the_sheet_keeps_the_place(running: Live, ida: httpx2.Client) -> None:
    handover, garment = _on_the_way(running, "yoke_dress")
    with running.database.writing() as db:
        receiver = person(db, SECOND)
        take(db, receiver, handover, CountedIn(2, 9), START)
        found = (
            select(Step).where(Step.garment_id == garment, Step.operation == "tuck_knot").order_by(col(Step.position))
        )
        knots = db.exec(found).first()
        assert knots is not None
        count(db, person(db, OWNER), knots, 20, overrule="for the sheet")
    text = _text(ida.get(f"/handovers/{handover}/sheet.pdf").content)
    assert "Knot the tuck: bundle 10 of" in text
    assert "Counted in 2 needles and 9 pins" in text
