"""Copying and mirroring parts of a design in one press, and having it in its other sizes."""

import re
from datetime import timedelta
from html import unescape

import httpx2
import pytest
from sqlmodel import select

from service.reckoning.design_text import read_design
from service.reckoning.sizes import sized
from service.records.tables import ClothReading, Commission, Design, Garment, Panel
from tests.building import a_cloth, a_commission, a_design
from tests.counting import number
from tests.serving import Live
from tests.web.forms_on_pages import form_to


@pytest.fixture
def gown(live: Live) -> str:
    """The page of the day gown."""
    with live.database.writing() as db:
        return f"/designs/{a_design(db).id}"


def _documents(live: Live) -> list[str]:
    with live.database.reading() as db:
        return [row.document for row in db.exec(select(Design).order_by(Design.id))]  # type: ignore[arg-type]


def _plain(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def test_a_copied_section_stands_behind_itself_and_opens_to_be_placed(
    owner: httpx2.Client, live: Live, gown: str
) -> None:
    answer = owner.post(f"{gown}/sections/front.ladder/copy")
    assert answer.headers["location"] == f"{gown}/sections/front.ladder_above_the_hem_copy"
    page = _plain(owner.get(answer.headers["location"]).text)
    assert "This section lies over Ladder above the hem: move one of them" in page
    sections = read_design(_documents(live)[0]).panel("front").sections
    assert [one.key for one in sections[:3]] == ["front.ladder", "front.ladder_above_the_hem_copy", "front.hem"]
    assert sections[1].withdraw_threads == sections[0].withdraw_threads
    assert owner.post(f"{gown}/sections/front.gone/copy").status_code == 404


def test_a_section_is_mirrored_in_one_press_and_stays_a_mirror(owner: httpx2.Client, live: Live, gown: str) -> None:
    for key in ("back.cuff_right", "front.cuff_left"):
        assert owner.post(f"{gown}/sections/{key}/take-out").status_code == 303
    assert owner.post(f"{gown}/sections/front.cuff_right/mirror").headers["location"] == f"{gown}/change#parts"
    mirror = next(one for one in read_design(_documents(live)[0]).every_section if one.key == "front.cuff_left")
    assert (mirror.name, mirror.mirror_of) == ("Cuff, left", "front.cuff_right")


def test_a_mirror_keeps_the_corner_it_makes_when_its_form_is_kept(owner: httpx2.Client, live: Live, gown: str) -> None:
    with live.database.writing() as db:
        row = db.get_one(Design, int(gown.rpartition("/")[2]))
        said = 'mirror_of = "front.cuff_right"\n'  # the front's other cuff says so first
        row.document = row.document.replace(said, f'{said}corner_with = ["front.ladder"]\n', 1)
        db.add(row)
    address = f"{gown}/sections/front.cuff_left"
    before = _documents(live)
    typed = form_to(owner.get(address).text, address)
    assert typed["corner_with"] == ["front.ladder"]
    assert owner.post(address, data=typed).status_code == 303
    assert [read_design(each) for each in _documents(live)] == [read_design(each) for each in before]


def test_a_joined_section_is_mirrored_onto_the_panels_that_mirror_its_own(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        design = a_design(db, "boys_shirt")
        before = read_design(design.document)
        path = f"/designs/{design.id}"
    owner.post(f"{path}/sections/armhole_left/take-out")
    owner.post(f"{path}/sections/armhole_right/mirror")
    after = read_design(_documents(live)[0])
    mirror = next(one for one in after.sections if one.name == "Setting in the sleeve, left")
    as_drawn = next(one for one in before.sections if one.key == "armhole_left")
    assert [one.panel for one in mirror.placements] == [one.panel for one in as_drawn.placements]
    assert mirror.mirror_of == "armhole_right"


def test_a_panel_is_mirrored_with_all_its_sections_to_the_other_side(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        design = a_design(db, "yoke_dress")
        text = design.document
        design.document = text[: text.index("[panels.yoke_left]")] + text[text.index("[sections.side_right]") :]
        design.document = re.sub(r"\n\[sections\.\w+\.on\.yoke_left\]\n(?:\w+ = .*\n)?", "", design.document)
        design.document = design.document[: design.document.index("[sections.hem]")]
        path = f"/designs/{design.id}"
        db.add(design)
    assert owner.post(f"{path}/panels/yoke_right/mirror").status_code == 303
    left = read_design(_documents(live)[0]).panel("yoke_back_left")
    assert (left.name, left.mirror_of, left.side) == ("Yoke back, left", "yoke_right", "back")
    assert left.at_mm == read_design(text).panel("yoke_left").at_mm
    assert "mirror" not in re.findall(r'action="[^"]*/panels/skirt_front/([^"]+)"', owner.get(f"{path}/change").text)


def test_a_mirror_is_offered_only_where_it_changes_something(owner: httpx2.Client, gown: str) -> None:
    page = owner.get(f"{gown}/change").text
    for key in ("front.cuff_right", "front.cuff_left", "front.hem"):  # it has one; it is one; it lies even
        assert f"/sections/{key}/mirror" not in page
    for key in ("back.cuff_right", "front.cuff_left"):
        owner.post(f"{gown}/sections/{key}/take-out")
    assert f'action="{gown}/sections/front.cuff_right/mirror"' in owner.get(f"{gown}/change").text


def test_sizes_stand_side_by_side_with_what_each_takes(owner: httpx2.Client, gown: str) -> None:
    page = owner.get(f"{gown}/sizes")
    assert page.status_code == 200
    drawings = re.findall(r'class="d-size" viewBox="[^"]* ([\d.]+) ([\d.]+)"', page.text)
    assert len(drawings) == 6
    assert len(set(drawings)) == 1  # all views of one size: equally wide, they are to one scale
    text = _plain(page.text)
    assert "62, newborn to three months 1,196" in text
    assert "86, body length up to 86 cm" in text
    assert "WHO Child Growth Standards" in text
    assert "common practice, no source" in text


def test_sizes_are_reckoned_on_a_cloth_from_the_shelf(owner: httpx2.Client, live: Live, gown: str) -> None:
    with live.database.writing() as db:
        fine, uncounted = a_cloth(db, "Fine lawn", warp=300, weft=280), a_cloth(db, "New bolt")
        for reading in db.exec(select(ClothReading).where(ClothReading.cloth_id == uncounted.id)):
            db.delete(reading)
        on_fine, on_new = ({"cloth.gown": str(cloth.id)} for cloth in (fine, uncounted))
    asks = {"HX-Request": "true", "HX-Target": "sizes"}
    block = owner.get(f"{gown}/sizes", params=on_fine, headers=asks).text
    assert block.strip().startswith('<div id="sizes"')
    assert "1,784" in block
    assert "1,196" not in block
    missing = owner.get(f"{gown}/sizes", params={"cloth.gown": "999"})
    assert missing.status_code == 422
    assert "Choose a cloth from the shelf." in missing.text
    assert "nothing is planned on a guess" in owner.get(f"{gown}/sizes", params=on_new).text


def test_what_is_noticed_in_every_size_is_told_once(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/designs/{a_design(db, 'handkerchief').id}"
    text = _plain(owner.get(f"{path}/sizes").text)
    assert text.count("Two rows of knots would lie only") == 1
    assert "To know of every size" in text


def test_the_size_is_asked_with_what_the_child_is_reckoned_to_need(owner: httpx2.Client, live: Live, gown: str) -> None:
    with live.database.writing() as db:
        commission_id = number(a_commission(db))
        path = f"/commissions/{commission_id}/make"
    asked = {"design": gown.rpartition("/")[2]}
    assert "Reckoned for the day" not in owner.get(path, params=asked).text
    with live.database.writing() as db:
        commission = db.get_one(Commission, commission_id)
        commission.child_sex, commission.child_born = "girl", commission.wanted_on - timedelta(days=330)
        db.add(commission)
    assert "Reckoned for the day: size 74, or 80 to have room." in owner.get(path, params=asked).text


def test_a_size_that_cannot_be_drawn_by_rule_says_so_and_is_not_made(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        design = a_design(db, "blouse")
        # so narrow a shoulder that a neck which stays as it is would reach past it
        design.document = design.document.replace('size = "Bust 88 cm"', 'size = "Bust 100 cm"').replace(
            "L 482,64\nC 466,130 474,206", "L 382,32\nC 382,130 474,206"
        )
        design.document = re.sub(r"\[sections\.(shoulder|armhole)_\w+[.\w]*\]\n(?:\w+ = .*\n)*\n?", "", design.document)
        db.add(design)
        path, commission, cloth = f"/designs/{number(design)}", number(a_commission(db)), str(number(a_cloth(db)))
    page = owner.get(f"{path}/sizes")
    assert page.status_code == 200
    assert "80: In this size it cannot be drawn by rule: panels.front.outline must go round" in _plain(page.text)
    asked = {"design": path.rpartition("/")[2], "size": "80", "cloth.blouse": cloth}
    refused = owner.post(f"/commissions/{commission}/make", data=asked)
    assert refused.status_code == 422
    assert "Copy the design and redraw it." in refused.text
    assert owner.post(f"{path}/sizes/80/keep").status_code == 422


def test_a_size_is_kept_as_a_design_of_its_own(owner: httpx2.Client, live: Live, gown: str) -> None:
    kept = owner.post(f"{gown}/sizes/74/keep").headers["location"]
    assert re.search(r"<h1>Change Day gown with[^<]*, 74</h1>", owner.get(kept).text)
    first, second = _documents(live)
    assert read_design(second).panels == sized(read_design(first), 74).panels
    assert owner.post(f"{gown}/sizes/75/keep").status_code == 422


def test_a_design_without_a_size_to_scale_from_says_what_to_write(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        design = a_design(db)
        design.document = design.document.replace('size = "62, newborn to three months"\n', "")
        db.add(design)
        path = f"/designs/{design.id}"
    assert f'href="{path}/change#f-size"' in owner.get(f"{path}/sizes").text
    assert "change#f-size" not in stitcher.get(f"{path}/sizes").text
    assert stitcher.post(f"{path}/sizes/74/keep").status_code == 403


def test_a_garment_made_in_another_size_keeps_that_size_and_its_drawing(
    owner: httpx2.Client, live: Live, gown: str
) -> None:
    with live.database.writing() as db:
        cloth, commission = str(number(a_cloth(db))), number(a_commission(db))
    assert (
        f"/commissions/{commission}/make?design={gown.rpartition('/')[2]}&amp;size=74"
        in owner.get(f"{gown}/make?size=74").text
    )
    chosen = {"design": gown.rpartition("/")[2], "size": "74", "cloth.gown": cloth, "cloth.binding": cloth}
    page = owner.get(f"/commissions/{commission}/make", params=chosen)
    assert '<option value="74" selected>' in page.text
    assert owner.post(f"/commissions/{commission}/make", data={**chosen, "size": "75"}).status_code == 422
    assert owner.post(f"/commissions/{commission}/make", data=chosen).status_code == 303
    owner.post(f"{gown}/change", data={"name": "Summer gown"})
    expected = sized(read_design(_documents(live)[0]), 74)
    with live.database.reading() as db:
        garment = db.exec(select(Garment)).one()
        front = db.exec(select(Panel).where(Panel.key == "front")).one()
        assert garment.size == "74, body length up to 74 cm"
        assert read_design(garment.document) == expected
        assert front.block_height_um == expected.panel("front").block_height_mm * 1000
