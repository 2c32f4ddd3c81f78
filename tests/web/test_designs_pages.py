"""Designs on their pages: looked through, drawn up by form, taken as text and brought in again."""

import re
from html import unescape

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Design, Garment, Studio
from tests.building import a_design, a_garment
from tests.serving import Live
from tests.web.forms_on_pages import form_to

BEGUN = {
    "name": "Small bib",
    "size": "Neck 30 cm",
    "role": "bib",
    "cloth_name": "Fine linen",
    "warp": "20",
    "weft": "19",
    "panel": "Front",
    "side": "front",
    "block_width_mm": "220",
    "block_height_mm": "260",
}
HEM = {
    "name": "Hem",
    "kind": "hem_band",
    "direction": "across",
    "edge": "bottom",
    "distance_mm": "30",
    "withdraw_threads": "6",
    "bundle_threads": "4",
    "stop_lines": "0",
    "left_over": "shorter",
    "catch_threads": "2",
}


@pytest.fixture
def gown(live: Live) -> str:
    """The page of the day gown."""
    with live.database.writing() as db:
        return f"/designs/{a_design(db).id}"


def _begun(owner: httpx2.Client) -> str:
    answer = owner.post("/designs", data=BEGUN)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].removesuffix("/change")


def _kept(live: Live) -> list[Design]:
    with live.database.reading() as db:
        return list(db.exec(select(Design).order_by(Design.id)))  # type: ignore[arg-type]


def _plain(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def test_an_empty_list_offers_the_one_next_thing(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    assert "Choose one that is ready" in owner.get("/designs").text
    page = stitcher.get("/designs").text
    assert "No design is drawn up yet." in page
    assert "/designs/new" not in page


def test_the_list_shows_each_design_drawn_small_with_its_figures(owner: httpx2.Client, gown: str) -> None:
    page = owner.get("/designs").text
    row = re.search(r"<tr role=\"row\">.*?</tr>", page.split("<tbody")[1], re.DOTALL)
    assert row
    assert 'class="d-thumb"' in row[0]
    assert f'href="{gown}"' in row[0]
    assert re.search(r'data-head="Panels">2<', row[0])
    assert re.search(r'data-head="Sections">15<', row[0])


def test_a_design_is_found_by_name_only(owner: httpx2.Client, gown: str) -> None:
    assert gown in owner.get("/designs", params={"q": "DAY g"}).text
    assert "No design found by" in owner.get("/designs", params={"q": "%"}).text
    assert owner.get("/designs?state=lost").status_code == 404


def test_a_long_list_goes_on_by_name(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        for number in range(52):
            design = a_design(db, "bib")
            design.name = f"Bib {number:02}"
            db.add(design)
    first = owner.get("/designs").text
    further = re.search(r'href="(/designs\?[^"]*after=\d+)"', first)
    assert further
    second = owner.get(unescape(further[1])).text
    assert re.findall(r">(Bib \d\d)</a>", first) == [f"Bib {number:02}" for number in range(50)]
    assert re.findall(r">(Bib \d\d)</a>", second) == ["Bib 50", "Bib 51"]


def test_a_design_shows_its_drawing_panels_counts_and_findings(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/designs/{a_design(db, 'handkerchief').id}"
    page = stitcher.get(path).text
    assert 'class="d-map"' in page
    assert page.count('class="d-panel"') == 1
    assert "Two rows of knots would lie only 0.364 mm apart" in page
    assert f"{path}/change" not in page
    assert f'href="{path}/text"' in page


@pytest.mark.parametrize(("key", "tucked"), [("boys_shirt", True), ("day_gown", False)])
def test_only_of_a_tucked_panel_is_said_that_its_tucks_are_made(owner: httpx2.Client, key: str, tucked: bool) -> None:
    page = owner.get(owner.post("/designs/ready", data={"key": key}).headers["location"]).text
    panels = re.findall(r'<p class="quiet">[^<]*Cut from [^<]*</p>', page)
    assert panels
    assert any("its tucks made" in each for each in panels) is tucked
    assert any("its tucks made" not in each for each in panels)


def test_a_design_is_begun_with_one_plain_panel(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    assert "Small bib" in owner.get(f"{path}/change").text
    (row,) = _kept(live)
    assert row.key == "small_bib"
    assert 'outline = "20,20 200,20 200,240 20,240"' in row.document


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Enter name of the design."),
        ({"warp": "many"}, "Enter warp threads as a number"),
        ({"warp": ""}, "Enter the warp threads per cm."),
        ({"warp": "-4"}, "Warp threads: must be above zero, not -4 per cm."),
        ({"block_width_mm": "0"}, "Enter the width of the block."),
        ({"block_width_mm": "NaN"}, "Enter width of the block as a number"),
        ({"block_height_mm": "99999999"}, "must be at most 10,000."),
        ({"side": "inside"}, "Choose seen from."),
    ],
)
def test_a_wrong_beginning_comes_back_as_typed(
    owner: httpx2.Client, live: Live, typed: dict[str, str], sentence: str
) -> None:
    answer = owner.post("/designs", data={**BEGUN, **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "Neck 30 cm" in answer.text
    assert _kept(live) == []


def test_a_band_is_added_by_form_and_lies_in_the_design(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    answer = owner.post(f"{path}/add-section?panel=front", data=HEM)
    assert answer.status_code == 303, answer.text
    page = _plain(owner.get(path).text)
    assert "Hem hem band 6 3.2 mm 360 180 mm 90 of 4 90" in page
    (row,) = _kept(live)
    assert '[panels.front.sections.hem]\nname = "Hem"\nkind = "hem_band"\ndirection = "across"' in row.document


def test_looking_keeps_nothing_and_shows_the_counts_as_typed(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    before = _kept(live)[0].document
    look = f"{path}/add-section/look?panel=front"
    whole = owner.post(look, data=HEM)
    assert whole.status_code == 200
    assert "As typed, not kept yet." in whole.text
    beside = owner.post(look, data=HEM, headers={"HX-Request": "true", "HX-Target": "beside"})
    assert beside.text.strip().startswith('<aside id="beside"')
    assert "Standing threads 360, 180 mm" in _plain(beside.text)
    assert "Bundles 90 of 4" in _plain(beside.text)
    fields = owner.post(look, data={**HEM, "kind": "tuck"}, headers={"HX-Request": "true", "HX-Target": "fields"})
    assert fields.text.strip().startswith('<div id="fields"')
    assert "Depth, fold to stitched line" in fields.text
    assert 'id="f-withdraw_threads"' not in fields.text
    assert _kept(live)[0].document == before


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"withdraw_threads": ""}, "Threads withdrawn: is needed for a hem band."),
        ({"withdraw_threads": "0"}, "Threads withdrawn: must be at least 1, not 0."),
        ({"withdraw_threads": "six"}, "Enter threads withdrawn as a number"),
        ({"withdraw_threads": "1e9"}, "Enter threads withdrawn as a number"),
        ({"bundle_threads": "2000"}, "Standing threads in a bundle: must be at most 1000"),
        ({"distance_mm": "-5"}, "How far inside: must be at least 0 mm, not -5 mm."),
        ({"distance_mm": "inf"}, "Enter how far inside as a number"),
        ({"edge": "left"}, "What runs across is placed from the top or the bottom: choose one of them."),
        ({"edge": "inside"}, "Choose placed from."),
        ({"from_mm": "90", "to_mm": "40"}, "must lie beyond from_mm"),
        ({"stop_lines": "7"}, "Choose stop lines."),
        ({"length_mm": "90", "standing_threads": "40"}, "give the standing threads or the length, one of the two"),
    ],
)
def test_a_wrong_section_comes_back_at_its_field(
    owner: httpx2.Client, live: Live, typed: dict[str, str], sentence: str
) -> None:
    path = _begun(owner)
    before = _kept(live)[0].document
    answer = owner.post(f"{path}/add-section?panel=front", data={**HEM, "note": "thread over thread", **typed})
    assert answer.status_code == 422
    assert sentence in unescape(answer.text)
    assert "thread over thread" in answer.text
    assert "As it was last kept" in answer.text
    assert 'class="d-panel"' in answer.text
    assert _kept(live)[0].document == before


def test_an_edge_of_the_other_direction_stays_chosen_and_is_told_once(owner: httpx2.Client) -> None:
    path = _begun(owner)
    typed = {**HEM, "direction": "down"}
    page = owner.post(f"{path}/add-section?panel=front", data=typed).text
    sentence = "What runs down is placed from the left or the right: choose one of them."
    assert page.count(f'<a href="#f-edge">{sentence}</a>') == 1
    assert f"{sentence}</p>" in page
    assert '<option value="bottom" selected>the bottom</option>' in page
    part = owner.post(
        f"{path}/add-section/look?panel=front", data=typed, headers={"hx-request": "true", "hx-target": "beside"}
    ).text
    assert part.count(f'<a href="#f-edge">{sentence}</a>') == 1
    others = owner.post(
        f"{path}/add-section/look?panel=front", data=typed, headers={"hx-request": "true", "hx-target": "fields"}
    ).text
    assert sentence not in others
    edges = others.partition('name="edge"')[2].partition("</select>")[0]
    assert re.findall(r'<option value="(\w+)"', edges) == ["left", "right"]


@pytest.mark.parametrize("unit", ["cm", "in"])
@pytest.mark.parametrize("key", ["day_gown", "christening_gown", "blouse", "handkerchief", "boys_shirt"])
def test_keeping_every_form_untouched_changes_nothing(owner: httpx2.Client, live: Live, key: str, unit: str) -> None:
    with live.database.writing() as db:
        db.get_one(Studio, 1).length_unit = unit
        path = f"/designs/{a_design(db, key).id}"
    before = owner.get(f"{path}/text").text
    hub = owner.get(f"{path}/change").text
    pages = sorted(set(re.findall(rf'href="({path}/(?:panels|sections)/[^"#/]+)"', hub)))
    assert len(pages) > 3
    for page in [f"{path}/change", *pages]:
        answer = owner.post(page, data=form_to(owner.get(page).text, page))
        assert answer.status_code == 303, (page, re.findall(r'class="error"[^>]*>.*?</p>', answer.text))
        assert answer.headers["location"].startswith(path)
    assert owner.get(f"{path}/text").text == before


def test_a_section_of_the_joined_garment_lies_on_the_panels_ticked(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    neck = {"name": "Neck", "kind": "binding", "finished_width_mm": "5", "lies.front": "yes"}
    answer = owner.post(f"{path}/add-section", data={**neck, "on.front.along": "60,20 160,20"})
    assert answer.status_code == 303, answer.text
    assert '[sections.neck.on.front]\nalong = "60,20 160,20"' in _kept(live)[0].document
    far = owner.post(f"{path}/add-section", data={**neck, "on.front.along": "60,90 160,90"})
    assert far.status_code == 422
    assert "has a point at 60,90 mm that is not on the outline" in far.text
    nowhere = owner.post(f"{path}/add-section", data={"name": "Neck", "kind": "seam", "length_mm": "100"})
    assert "Lies on: say which panel it lies on." in nowhere.text


def test_a_mirror_takes_everything_from_the_other(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    side = {**HEM, "name": "Side, right", "kind": "ladder", "direction": "down", "edge": "right", "catch_threads": ""}
    assert owner.post(f"{path}/add-section?panel=front", data=side).status_code == 303
    mirror = {"name": "Side, left", "mirror_of": "front.side_right"}
    assert owner.post(f"{path}/add-section?panel=front", data=mirror).status_code == 303
    back = {"name": "Back", "side": "back", "mirror_of": "front", "at_mm": "0", "at_down_mm": "0"}
    assert owner.post(f"{path}/add-panel", data=back).status_code == 303
    page = _plain(owner.get(path).text)
    assert "Side, left ladder, mirrored" in page
    assert "Sections 4" in page


def test_a_panel_is_added_shaped_and_refused_when_its_line_is_wrong(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    back = {"name": "Back", "side": "back", "cloth": "bib", "block_width_mm": "220", "block_height_mm": "260"}
    assert owner.post(f"{path}/add-panel", data=back).status_code == 303
    shaped = {**back, "outline": "M 110,20 H 200 V 240 H 110 Z", "on_fold": "yes", "at_mm": "5", "at_down_mm": "-3.5"}
    assert owner.post(f"{path}/panels/back", data=shaped).status_code == 303
    assert 'outline = "M 110,20 H 200 V 240 H 110 Z"\non_fold = true\nat_mm = [5, -3.5]' in _kept(live)[0].document
    answer = owner.post(f"{path}/panels/back", data={**shaped, "outline": "0,0 300,0 300,50"})
    assert answer.status_code == 422
    assert "Cutting line of the pattern: must begin and end on the fold" in answer.text
    assert "0,0 300,0 300,50" in answer.text


def test_parts_are_moved_and_taken_out(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    owner.post(f"{path}/add-section?panel=front", data=HEM)
    owner.post(f"{path}/add-section?panel=front", data={**HEM, "name": "Second", "distance_mm": "60"})
    owner.post(f"{path}/sections/front.second/move", data={"way": "up"})
    document = _kept(live)[0].document
    assert document.index("sections.second]") < document.index("sections.hem]")
    owner.post(f"{path}/sections/front.second/take-out")
    assert "sections.second]" not in _kept(live)[0].document
    refused = owner.post(f"{path}/panels/front/take-out")
    assert refused.status_code == 409
    assert "Front is the only panel" in refused.text
    assert owner.post(f"{path}/sections/front.gone/take-out").status_code == 404
    assert owner.post(f"{path}/panels/gone/move", data={"way": "up"}).status_code == 404


def test_a_part_that_others_need_stays(owner: httpx2.Client, live: Live, gown: str) -> None:
    refused = owner.post(f"{gown}/panels/front/take-out")
    assert refused.status_code == 409
    assert "Front is still needed by:" in refused.text


def test_cloths_are_changed_added_and_done_without(owner: httpx2.Client, live: Live) -> None:
    path = _begun(owner)
    facts = {"name": "Small bib", "cloths.bib.name": "Fine linen", "cloths.bib.warp_per_cm": "20.5"}
    facts["cloths.bib.weft_per_cm"] = "19"
    added = {"added_role": "Binding", "added_name": "Batiste", "added_warp": "40", "added_weft": "38"}
    assert owner.post(f"{path}/change", data={**facts, **added}).status_code == 303
    document = _kept(live)[0].document
    assert "warp_per_cm = 20.5" in document
    assert '[cloths.binding]\nname = "Batiste"\nwarp_per_cm = 40' in document
    wrong = owner.post(f"{path}/change", data={**facts, **added, "added_role": "Lining", "added_warp": "0"})
    assert wrong.status_code == 422
    facts |= {"cloths.binding.name": "Batiste", "cloths.binding.warp_per_cm": "40", "cloths.binding.weft_per_cm": "38"}
    used = owner.post(f"{path}/change", data={**facts, "without.bib": "yes"})
    assert used.status_code == 422
    assert "there is no cloth called &#39;bib&#39;" in used.text
    assert owner.post(f"{path}/change", data={**facts, "without.binding": "yes"}).status_code == 303
    assert "cloths.binding" not in _kept(live)[0].document


def test_a_design_in_use_is_redrawn_and_its_garment_keeps_the_old_one(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = a_garment(db)
        old, document = f"/designs/{garment.design_id}", garment.document
        number = garment.id
    text = owner.get(f"{old}/text").text
    answer = owner.post(f"{old}/change-text", data={"text": text.replace("Day gown", "Summer gown")})
    new = answer.headers["location"]
    assert new != old
    assert [row.state for row in _kept(live)] == ["redrawn", "current"]
    with live.database.reading() as db:
        assert db.get_one(Garment, number).document == document
    assert f'href="{new}"' in owner.get(old).text
    assert old not in owner.get("/designs").text
    assert old in owner.get("/designs?state=redrawn").text
    refused = owner.post(f"{old}/change-text", data={"text": text})
    assert refused.status_code == 409
    assert "change the newer one" in refused.text


def test_a_design_is_copied_put_away_and_put_back(owner: httpx2.Client, live: Live, gown: str) -> None:
    copied = owner.post(f"{gown}/copy").headers["location"]
    assert re.search(r"<h1>Change Day gown with[^<]*, copy</h1>", owner.get(copied).text)
    assert owner.post(f"{gown}/put-away", data={"away": "yes"}).status_code == 303
    assert f'"{gown}"' not in owner.get("/designs").text
    assert f'"{gown}"' in owner.get("/designs?state=away").text
    assert owner.get(f"{gown}/change").status_code == 409
    owner.post(f"{gown}/put-away", data={})
    assert f'"{gown}"' in owner.get("/designs").text


@pytest.mark.parametrize(
    "path", ["/designs/99", "/designs/99/text", "/designs/99/change", "/designs/99/panels/front", "/designs/x"]
)
def test_an_unknown_design_is_not_found(owner: httpx2.Client, path: str) -> None:
    assert owner.get(path).status_code == 404


@pytest.mark.parametrize("part", ["panels/none", "sections/front.none", "sections/none", "add-section?panel=none"])
def test_an_unknown_part_is_not_found(owner: httpx2.Client, gown: str, part: str) -> None:
    assert owner.get(f"{gown}/{part}").status_code == 404


def test_only_the_owner_changes_a_design(stitcher: httpx2.Client, gown: str, live: Live) -> None:
    for path in ("/designs/new", "/designs/import", f"{gown}/change", f"{gown}/change-text", f"{gown}/add-panel"):
        assert stitcher.get(path).status_code == 403
    for path in (
        f"{gown}/copy",
        f"{gown}/put-away",
        f"{gown}/change",
        f"{gown}/panels/front/take-out",
        "/designs/import",
    ):
        assert stitcher.post(path, data={"name": "Hers", "text": "x"}).status_code == 403
    assert [row.state for row in _kept(live)] == ["current"]
