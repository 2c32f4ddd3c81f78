"""Designs as records and as text: read with every fault named, written one way only."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.design_faults import faults_of
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import (
    ClothCounts,
    ClothDesign,
    Design,
    Edge,
    Faults,
    PanelDesign,
    Placement,
    SectionDesign,
)

DESIGNS = sorted((Path(__file__).parents[2] / "seed_data" / "designs").glob("*.toml"))

BIB = """key = "bib"
name = "Bib"

[cloths.bib]
name = "Linen"
warp_per_cm = 20
weft_per_cm = 19

[panels.front]
name = "Front"
side = "front"
cloth = "bib"
block_width_mm = 220
block_height_mm = 260
outline = "20,20 200,20 200,240 20,240"

[panels.front.sections.hem]
name = "Hem"
kind = "hem_band"
direction = "across"
edge = "bottom"
distance_mm = 30
withdraw_threads = 5

[sections.neck]
name = "Neck binding"
kind = "binding"

[sections.neck.on.front]
along = "20,20 200,20"
"""


def faults(text: str) -> dict[str, str]:
    with pytest.raises(Faults) as refused:
        read_design(text)
    return {wrong.field: wrong.sentence for wrong in refused.value.wrongs}


@pytest.mark.parametrize("path", DESIGNS, ids=[path.stem for path in DESIGNS])
def test_every_demo_design_reads_and_writes_byte_for_byte(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    design = read_design(text)
    assert write_design(design) == text
    assert design.key == path.stem


def test_text_is_read_into_its_records() -> None:
    design = read_design(BIB)
    assert design.panel("front").block_width_mm == 220
    assert design.counts("bib") == ClothCounts(20, 19)
    assert design.every_section == (
        SectionDesign(
            "front.hem",
            "Hem",
            "hem_band",
            placements=(Placement("front", "bottom", 30),),
            direction="across",
            withdraw_threads=5,
        ),
        SectionDesign(
            "neck", "Neck binding", "binding", "garment", placements=(Placement("front", along="20,20 200,20"),)
        ),
    )


@pytest.mark.parametrize(
    ("old", "new", "field", "words"),
    [
        ('name = "Bib"', "", "name", "is needed"),
        ('key = "bib"', 'key = "My bib"', "key", "small letters"),
        ("warp_per_cm = 20", "warp_per_cm = 0", "cloths.bib.warp_per_cm", "above zero"),
        ("warp_per_cm = 20", "warp_per_cm = nan", "cloths.bib.warp_per_cm", "must be a number"),
        ("warp_per_cm = 20", 'warp_per_cm = "20"', "cloths.bib.warp_per_cm", "must be a number"),
        ("warp_per_cm = 20", "warp_per_cm = true", "cloths.bib.warp_per_cm", "must be a number"),
        ("warp_per_cm = 20", "warp_per_cm = 1" + "0" * 400, "cloths.bib.warp_per_cm", "smaller"),
        ('side = "front"', 'side = "inside"', "panels.front.side", "one of front, back, both"),
        ('cloth = "bib"', 'cloth = "silk"', "panels.front.cloth", "no cloth called"),
        ("block_width_mm = 220", "block_width_mm = -220", "panels.front.block_width_mm", "above zero"),
        ("20,20 200,20 200,240", "20,20 200,20 900,240", "panels.front.outline", "stay on the block"),
        ('kind = "hem_band"', 'kind = "hemstitch"', "panels.front.sections.hem.kind", "one of hem_band, ladder"),
        ("withdraw_threads = 5", "", "panels.front.sections.hem.withdraw_threads", "is needed for a hem band"),
        (
            "withdraw_threads = 5",
            "withdraw_threads = 5.0",
            "panels.front.sections.hem.withdraw_threads",
            "whole number",
        ),
        ("withdraw_threads = 5", "withdraw_threads = -5", "panels.front.sections.hem.withdraw_threads", "at least 1"),
        ("withdraw_threads = 5", "withdraw = 5", "panels.front.sections.hem.withdraw", "not known"),
        ('edge = "bottom"', 'edge = "left"', "panels.front.sections.hem.edge", "the top or the bottom"),
        ('edge = "bottom"', "", "panels.front.sections.hem.edge", "the top or the bottom"),
        ("distance_mm = 30", "distance_mm = -1", "panels.front.sections.hem.distance_mm", "at least 0"),
        ("distance_mm = 30", "distance_mm = 30\nhoop = true", "panels.front.sections.hem.hoop", "without a hoop"),
        ("distance_mm = 30", "distance_mm = 30\nnumber = 3", "panels.front.sections.hem.number", "has none"),
        ("distance_mm = 30", "from_mm = 90\nto_mm = 80", "panels.front.sections.hem.to_mm", "beyond from_mm"),
        ("distance_mm = 30", 'along = "0,0 9,9"', "panels.front.sections.hem.along", "bind a curved edge in bias"),
        (
            "distance_mm = 30",
            "standing_threads = 9\nlength_mm = 9",
            "panels.front.sections.hem.standing_threads",
            "one",
        ),
        ("distance_mm = 30", 'corner_with = ["neck.line"]', "panels.front.sections.hem.corner_with", "no section"),
        ("distance_mm = 30", 'explained = { A = "b" }', "panels.front.sections.hem.explained", "small letters"),
        ("distance_mm = 30", 'explained = "yes"', "panels.front.sections.hem.explained", "say why"),
        ("distance_mm = 30", 'cautions = "hot"', "panels.front.sections.hem.cautions", "a list"),
        ("[sections.neck.on.front]", "[sections.neck.on.back]", "sections.neck.on.back", "no panel called"),
        ('along = "20,20 200,20"', "", "sections.neck.along", "along which line"),
        ('along = "20,20 200,20"', 'along = "20,20 100,100"', "sections.neck.on.front.along", "not on the outline"),
        ('along = "20,20 200,20"', 'along = "20,20 200"', "sections.neck.on.front.along", "an x and a y"),
        ('kind = "binding"', 'kind = "binding"\ncloth = "silk"', "sections.neck.cloth", "no cloth called"),
        (
            "[panels.front.sections.hem]",
            "[panels.front.sections.Hem]",
            "panels.front.sections.Hem.key",
            "small letters",
        ),
    ],
)
def test_fault_in_a_text_is_named_by_its_place_with_a_sentence(old: str, new: str, field: str, words: str) -> None:
    assert BIB.count(old) > 0
    found = faults(BIB.replace(old, new, 1))
    assert list(found) == [field]
    assert words in found[field]


def test_all_faults_are_told_at_once() -> None:
    text = BIB.replace('side = "front"', 'side = "inside"').replace('kind = "binding"', 'kind = "edging"')
    assert list(faults(text.replace('name = "Linen"', "name = 3"))) == [
        "cloths.bib.name",
        "panels.front.side",
        "sections.neck.kind",
    ]


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("", "key"),
        ("key = ", "text"),
        ("a = [" * 20_000, "text"),
        ("x" * 300_000, "text"),
        (BIB + "\nsize = 3" + "0" * 5000, "text"),
        ("panels = 3\n" + BIB.partition("[panels")[0], "panels"),
        (BIB.replace("[sections.neck.on.front]\nalong", "on"), "sections.neck.on"),
    ],
    ids=["nothing", "not TOML", "nested deeply", "too long", "a number too long", "no tables", "no tables of its own"],
)
def test_text_that_is_no_design_is_refused(text: str, field: str) -> None:
    assert field in faults(text)


def test_more_sections_than_a_garment_has_are_refused() -> None:
    tables = "\n".join(
        f'[panels.p{panel}.sections.s{number}]\nname="a"\nkind="seam"\nlength_mm=1'
        for panel in range(3)
        for number in range(150)
    )
    panels = "\n".join(
        f'[panels.p{panel}]\nname="P"\nside="front"\ncloth="bib"\nblock_width_mm=9\nblock_height_mm=9\noutline="0,0 9,0 9,9"'
        for panel in range(3)
    )
    assert faults(BIB.partition("[panels")[0] + panels + "\n" + tables) == {
        "sections": "there are 450; at most 400 can be planned"
    }


def bib(*sections: SectionDesign, panels: tuple[PanelDesign, ...] = ()) -> Design:
    design = read_design(BIB)
    front = replace(design.panels[0], sections=(*design.panels[0].sections, *sections))
    return replace(design, panels=(front, *panels))


@pytest.mark.parametrize(
    ("section", "field", "words"),
    [
        (SectionDesign("front.hem", "Hem", "hem_band", mirror_of="front.hem"), "panels.front.sections.hem", "2 of"),
        (
            SectionDesign("front.a", "A", "hem_band", mirror_of="front.b"),
            "panels.front.sections.a.mirror_of",
            "no sect",
        ),
        (
            SectionDesign("front.a", "A", "hem_band", mirror_of="front.a"),
            "panels.front.sections.a.mirror_of",
            "no sect",
        ),
        (SectionDesign("front.a", "A", "ladder", mirror_of="front.hem"), "panels.front.sections.a.kind", "hem_band"),
        (
            SectionDesign("front.a", "A", "hem_band", mirror_of="front.hem", withdraw_threads=4),
            "panels.front.sections.a.withdraw_threads",
            "is taken from",
        ),
        (SectionDesign("front.a", "A", "seam", length_mm=9), "panels.front.sections.a.on", "which panel"),
        (
            SectionDesign("front.a", "A", "motif", placements=(Placement("front"),)),
            "panels.front.sections.a.points",
            "their number",
        ),
        (
            SectionDesign("front.a", "A", "tuck_band", placements=(Placement("front", points="9,9"),)),
            "panels.front.sections.a.points",
            "a tuck band does not stand at points",
        ),
        (
            SectionDesign("front.a", "A", "tuck_band", placements=(Placement("front", "top"),), direction="across"),
            "panels.front.sections.a.withdraw_threads",
            "is needed",
        ),
        (SectionDesign("back.a", "A", "seam", length_mm=9), "panels.back.sections.a", "must belong to 'front'"),
    ],
    ids=[
        "same name",
        "no such",
        "itself",
        "other kind",
        "own measures",
        "no panel",
        "no points",
        "points of a band",
        "no threads",
        "elsewhere",
    ],
)
def test_section_that_cannot_stand_is_a_fault(section: SectionDesign, field: str, words: str) -> None:
    found = {wrong.field: wrong.sentence for wrong in faults_of(bib(section))}
    assert words in found[field]


@pytest.mark.parametrize(
    ("panel", "words"),
    [
        (PanelDesign("back", "Back", "back", mirror_of="side"), "no panel"),
        (PanelDesign("back", "Back", "back", mirror_of="back"), "no panel"),
        (PanelDesign("back", "Back", "back", mirror_of="front", outline="0,0 9,0 9,9"), "none of its own"),
    ],
    ids=["no such", "itself", "own outline"],
)
def test_panel_that_mirrors_nothing_is_a_fault(panel: PanelDesign, words: str) -> None:
    found = {wrong.field: wrong.sentence for wrong in faults_of(bib(panels=(panel,)))}
    assert words in found["panels.back.mirror_of"]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: ClothCounts(20, float("inf")), "weft_per_cm"),
        (lambda: ClothDesign("", "Linen", ClothCounts(20, 20)), "role"),
        (lambda: Placement("front", distance_mm=float("nan")), "distance_mm"),
        (lambda: SectionDesign("a", "", "seam"), "name"),
        (lambda: SectionDesign("a", "A", "seam", stop_lines=3), "stop_lines"),
        (lambda: SectionDesign("a", "A", "seam", bundle_threads=0), "bundle_threads"),
        (lambda: PanelDesign("a", "A", "front", "gown", 10, 10, "0,0 9,0 9,9", at_mm=(0, float("nan"))), "at_mm"),
        (lambda: Design("a", "A", (), ()), "cloths"),
    ],
)
def test_record_of_nonsense_is_refused_by_its_field(make: object, field: str) -> None:
    assert callable(make)
    with pytest.raises(Wrong) as refused:
        make()
    assert refused.value.field == field


KEYS = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)
WORDS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30).filter(lambda words: words.strip())
LENGTHS = st.one_of(st.integers(1, 500), st.floats(0.1, 500))
COUNTS = st.builds(ClothCounts, st.floats(5, 60), st.floats(5, 60))


@st.composite
def bands(draw: st.DrawFn, key: str) -> SectionDesign:
    across = draw(st.booleans())
    edges: tuple[Edge, Edge] = ("top", "bottom") if across else ("left", "right")
    return SectionDesign(
        key=f"front.{key}",
        name=draw(WORDS),
        kind=draw(st.sampled_from(["hem_band", "ladder", "serpentine", "alternating"])),
        placements=(Placement("front", draw(st.sampled_from(edges)), draw(LENGTHS), to_mm=draw(LENGTHS)),),
        direction="across" if across else "down",
        withdraw_threads=draw(st.integers(1, 40)),
        bundle_threads=draw(st.integers(2, 6)),
        stop_lines=draw(st.integers(0, 2)),
        left_over=draw(st.sampled_from(["shorter", "longer", "spread", "into_seam", None])),
        cautions=tuple(draw(st.lists(WORDS, max_size=2))),
        explained=tuple(draw(st.dictionaries(KEYS, WORDS, max_size=2)).items()),
        note=draw(st.text(st.characters(exclude_categories=["Cs"]), max_size=60)),
    )


@st.composite
def designs(draw: st.DrawFn) -> Design:
    keys = draw(st.lists(KEYS, unique=True, max_size=4))
    front = PanelDesign(
        "front",
        draw(WORDS),
        draw(st.sampled_from(["front", "back", "both"])),
        "gown",
        600,
        600.5,
        draw(st.sampled_from(["0,0 500,0 500,500 0,500", "M 0,0 H 500 C 500,100 480,300 500,500 H 0 Z"])),
        at_mm=(draw(st.integers(-500, 500)), draw(st.floats(-500, 500))),
        sections=tuple(draw(bands(key)) for key in keys),
    )
    others = (PanelDesign("back", draw(WORDS), "back", mirror_of="front"),) if draw(st.booleans()) else ()
    neck = SectionDesign("neck", "Neck", "binding", "garment", (Placement("front", along="0,0 500,0"),))
    cloth = ClothDesign("gown", draw(WORDS), draw(COUNTS))
    return Design(
        draw(KEYS), draw(WORDS), (cloth,), (front, *others), (neck,), draw(st.text("ab\n", max_size=4)), draw(WORDS)
    )


@given(designs())
def test_design_written_and_read_is_the_same_and_its_text_too(design: Design) -> None:
    text = write_design(design)
    assert read_design(text) == design
    assert write_design(read_design(text)) == text


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_with_faults(text: str) -> None:
    with pytest.raises(Faults) as refused:
        read_design(text)
    assert all(wrong.sentence for wrong in refused.value.wrongs)
