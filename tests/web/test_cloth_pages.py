"""The cloth shelf on its pages, over HTTP as a browser sends it."""

import re

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Cloth, Studio
from tests.building import a_garment
from tests.serving import START, Live
from tests.shelf import FIVE, holds, linen, words_of


def test_an_empty_shelf_asks_the_owner_for_her_first_cloth(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    assert "Measure your first cloth" in owner.get("/cloth").text
    hers = stitcher.get("/cloth").text
    assert "No cloth is written down yet" in hers
    assert "/cloth/new" not in hers


def test_a_cloth_is_written_down_counted_and_found(owner: httpx2.Client, live: Live) -> None:
    path = linen(owner, on_hand="4.5", weight="118", price="24.50", notes="slubs near one selvedge")
    assert owner.post(f"{path}/count", data=FIVE).headers["location"] == path
    page = words_of(owner.get(path).text)
    assert "Warp 20 per cm 50.8 per in. 5 places, spread ±0.3, 1.6 %." in page
    assert "Weft 19 per cm 48.3 per in." in page
    assert "On hand 4.5 m Weight 118 g per square metre Shrinks along the warp not known" in page
    assert "Price a metre £24.50" in page
    row = words_of(owner.get("/cloth", params={"q": "SLUBS"}).text)
    assert "Fine linen linen 150 cm 20 × 19 per cm 4.5 m" in row
    assert "No cloth found by" in owner.get("/cloth", params={"q": "tweed"}).text
    assert holds(live)


def test_what_is_wrong_is_told_in_the_order_of_the_page(owner: httpx2.Client) -> None:
    answer = owner.post("/cloth", data={"name": "", "fibre": "", "width": "wide", "weight": "light"})
    assert re.findall(r'<li><a href="#f-(\w+)"', answer.text) == ["name", "fibre", "width", "weight"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Enter a name."),
        ({"fibre": ""}, "Enter the fibre."),
        ({"width": ""}, "Enter the width."),
        ({"width": "wide"}, "Enter the width as a number, like 12 or 12.5."),
        ({"width": "0"}, "Width must be above 0."),
        ({"width": "-3"}, "Width must be above 0."),
        ({"width": "NaN"}, "Enter the width as a number, like 12 or 12.5."),
        ({"width": "1e9"}, "Enter the width as a number, like 12 or 12.5."),
        ({"width": "99999"}, "Width must be at most 1,000."),
        ({"on_hand": "-1"}, "Length on hand must be at least 0."),
        ({"weight": "0"}, "Weight must be at least 0.001."),
        ({"weight": "0.0001"}, "Weight must be at least 0.001."),
        ({"shrink_warp": "51"}, "Shrinkage along the warp must be at most 50."),
        ({"price": "1.234"}, "Price has more decimals than GBP allows."),
    ],
)
def test_wrong_facts_come_back_with_a_sentence_and_nothing_is_kept(
    owner: httpx2.Client, typed: dict[str, str], sentence: str
) -> None:
    sent = {"name": "Fine linen", "fibre": "linen", "width": "150", "notes": "keep me", **typed}
    answer = owner.post("/cloth", data=sent)
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "keep me" in answer.text
    assert "Measure your first cloth" in owner.get("/cloth").text


def test_a_garment_planned_on_older_counts_is_named_on_the_cloth(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        garment = a_garment(db)
        name, garment_id, cloth_id = garment.name, garment.id, db.exec(select(Cloth.id)).one()
    assert "Planned on older counts" not in owner.get(f"/cloth/{cloth_id}").text
    again = {"over": "10 cm", "warp-1": "206", "weft-1": "194", "instead": "yes", "reason": "washed"}
    owner.post(f"/cloth/{cloth_id}/count", data=again)
    page = owner.get(f"/cloth/{cloth_id}").text
    assert f'<a href="/garments/{garment_id}"><strong>{name}</strong></a>' in page
    assert "Planned on 20 × 19 threads per cm (warp × weft); the cloth now counts 20.6 × 19.4 per cm." in page
    assert name not in stitcher.get(f"/cloth/{cloth_id}").text


def test_a_cloth_is_changed_put_away_and_put_back(owner: httpx2.Client) -> None:
    path = linen(owner, price="24.50", shrink_warp="3.25")
    form = owner.get(f"{path}/change").text
    for value in ("Fine linen", "150", "3.25", "24.50"):
        assert f'value="{value}"' in form
    changed = {"name": "Gown linen", "fibre": "linen", "width": "148.5", "shrink_warp": "3.25"}
    assert owner.post(f"{path}/change", data=changed).status_code == 303
    page = words_of(owner.get(path).text)
    assert "Width 148.5 cm" in page
    assert "Shrinks along the warp 3.25 % Shrinks along the weft not known: nothing is added when it is cut" in page
    assert owner.post(f"{path}/change", data={**changed, "name": ""}).status_code == 422
    owner.post(f"{path}/put-away", data={"away": "yes"})
    assert "Gown linen" not in owner.get("/cloth").text
    assert "Gown linen" in owner.get("/cloth?away=true").text
    owner.post(f"{path}/put-away", data={})
    assert "Gown linen" in owner.get("/cloth").text


def test_a_stitcher_reads_cloth_but_sees_no_price_and_changes_no_length(
    owner: httpx2.Client, stitcher: httpx2.Client
) -> None:
    path = linen(owner, price="24.50", on_hand="3")
    page = stitcher.get(path).text
    assert "Fine linen" in page
    assert "24.50" not in page
    assert "Price" not in page
    for address in (f"{path}/length", f"{path}/change", f"{path}/swatch", "/cloth/new"):
        assert stitcher.get(address).status_code == 403
    for act in ("length", "measured", "change", "swatch", "put-away"):
        assert stitcher.post(f"{path}/{act}", data={"kind": "bought", "length": "1"}).status_code == 403
    assert stitcher.post("/cloth", data={"name": "x", "fibre": "x", "width": "1"}).status_code == 403
    assert "On hand 3 m" in words_of(owner.get(path).text)


@pytest.mark.parametrize("act", ["", "/count", "/length", "/swatch", "/change"])
@pytest.mark.parametrize("number", ["999", "abc", "0", "99999999999999999999"])
def test_an_unknown_cloth_is_not_found(owner: httpx2.Client, number: str, act: str) -> None:
    assert owner.get(f"/cloth/{number}{act}").status_code == 404


@pytest.mark.parametrize("act", ["count", "length", "measured", "swatch", "change", "put-away"])
def test_nothing_is_done_to_an_unknown_cloth(owner: httpx2.Client, act: str) -> None:
    typed = {
        "over": "5 cm",
        "warp-1": "100",
        "kind": "bought",
        "length": "1",
        "measured": "1",
        "why": "x",
        "name": "x",
        "fibre": "x",
        "width": "1",
        "warp-1-before": "50",
        "warp-1-after": "49",
        "weft-1-before": "50",
        "weft-1-after": "49",
    }
    assert owner.post(f"/cloth/999/{act}", data=typed).status_code == 404


def test_the_found_part_of_the_shelf_is_that_of_the_page(owner: httpx2.Client) -> None:
    linen(owner)
    part = owner.get("/cloth", headers={"HX-Request": "true", "HX-Target": "found"})
    assert part.text.strip().startswith('<div id="found"')
    assert part.text.strip() in owner.get("/cloth").text


def test_a_full_shelf_is_told_page_by_page(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        for number in range(51):
            db.add(Cloth(name=f"Lawn {number:02}", fibre="cotton", width_um=900_000, created_at=START))
    first = owner.get("/cloth", params={"q": "lawn"}).text
    assert (first.count('data-head="Fibre"'), "Lawn 50" in first) == (50, False)
    further = re.search(r'href="(/cloth\?[^"]+after=\d+)"', first)
    assert further
    second = owner.get(further[1].replace("&amp;", "&")).text
    assert (second.count('data-head="Fibre"'), "Lawn 50" in second) == (1, True)


def test_a_studio_that_measures_in_inches_reads_and_types_inches_and_yards(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.length_unit = studio.count_unit = "in"
        db.add(studio)
    path = linen(owner, width="59", on_hand="2")
    assert 'value="1 in"' in owner.get(f"{path}/count").text
    owner.post(f"{path}/count", data={"over": "1", "warp-1": "50", "weft-1": "12", "weft-1-over": "1/4"})
    page = words_of(owner.get(path).text)
    assert "Width 59 in On hand 2 yd" in page
    assert "Warp 50 per in 19.7 per cm" in page
    assert "Weft 48 per in" in page
    assert "weft, 12 over ¼ in" in page


def test_shrinkage_left_empty_stays_not_known_and_nothing_said_is_nothing(owner: httpx2.Client) -> None:
    path = linen(owner, shrink_warp="3")
    assert "Shrinks along the weft not known: nothing is added when it is cut" in words_of(owner.get(path).text)
    form = owner.get(f"{path}/change").text
    assert re.search(r'name="shrink_warp"[^>]* value="3"', form)
    assert re.search(r'name="shrink_weft"[^>]* value=""', form)
    said = {"name": "Fine linen", "fibre": "linen", "width": "150", "shrink_warp": "3", "shrink_weft": "0"}
    assert owner.post(f"{path}/change", data=said).status_code == 303
    assert "Shrinks along the weft 0 %" in words_of(owner.get(path).text)
    assert re.search(r'name="shrink_weft"[^>]* value="0"', owner.get(f"{path}/change").text)
    asked = {"cloth_width": "150", "width-1": "40", "height-1": "52"}
    both = words_of(owner.get("/reckoner/cloth", params=asked).text)
    assert "What the cloth shrinks is not known, so nothing is added for it." in both
    one = words_of(owner.get("/reckoner/cloth", params=asked | {"shrink_warp": "3"}).text)
    assert "What the cloth shrinks along the weft is not known, so nothing is added for it." in one
    none = words_of(owner.get("/reckoner/cloth", params=asked | {"shrink_warp": "3", "shrink_weft": "0"}).text)
    assert "is not known, so nothing is added" not in none
