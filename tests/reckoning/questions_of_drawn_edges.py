"""Questions on the very edge of a rule of cloth, designs and lines, for the answers kept in full."""

from dataclasses import replace
from typing import Any

from service.reckoning import (
    depths,
    fit_garment,
    folded,
    laying,
    layout,
    outlines,
    packing,
    path_text,
    piecing,
    placing,
    section_work,
    sizes,
    spaces,
    tucks,
)
from service.reckoning.blocks import Block
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import ClothCounts, Faults, PanelDesign, Placement, SectionDesign
from service.reckoning.shapes import Rect
from tests.reckoning.good_questions import GOOD
from tests.reckoning.in_full import Questions, each
from tests.reckoning.questions_of_figures import FITTED

SQUARE = ((0.0, 0.0), (50.0, 0.0), (50.0, 80.0), (0.0, 80.0))
HEM = SectionDesign("front.hem", "Hem", "hem_band", direction="across", withdraw_threads=6)
TUCK = SectionDesign("front.tuck", "Tuck", "tuck", direction="across", depth_mm=0.2)
PANEL = PanelDesign("front", "Front", "front", "gown", 50.0, 80.0)
FORTY = "0,0 20,0 20,40 0,40"


def of_edges_drawn() -> Questions:
    """Those of cloth, designs and lines."""
    return {**_cloth(), **_designs(), **_lines()}


def _cloth() -> Questions:
    laid = GOOD["cloth"][1]
    plain = layout.ClothAsk((Block("front", 300.0, 500.0, 3, on_fold=True), Block("cuff", 100.0, 60.0, 5)), 1000.0)
    ways: dict[str, Any] = {
        "no shrinking": plain,
        "only along the weft": replace(plain, shrink_weft_percent=1.0),
        "just wide enough": replace(plain, cloth_width_mm=600.0),
        "a hair too narrow": replace(plain, cloth_width_mm=599.999),
        "all selvedge": replace(plain, selvedge_mm=500.0),
        "all but the selvedge": replace(plain, selvedge_mm=200.0),
        "too many": replace(plain, blocks=(Block("cuff", 10.0, 6.0, 501),)),
        "none": replace(plain, blocks=()),
        "no height": replace(plain, blocks=(Block("cuff", 10.0, 0.0),)),
        "a fold of several": replace(
            plain, blocks=(*plain.blocks, Block("yoke", 200.0, 300.0, 2, on_fold=True), Block("strip", 40.0, 900.0, 3))
        ),
    }
    packed: tuple[Any, ...] = (
        ([(10, 5), (10, 5), (20, 3)], 20),
        ([(6, 7), (5, 5), (4, 3), (7, 2), (3, 3), (8, 4), (2, 9)], 10),
        ([(7, 3), (3, 7), (5, 5), (5, 5), (2, 8), (8, 2), (4, 4), (6, 1)], 11),
        ([(1, 1)] * 9, 3),
        ([(9, 2), (9, 2), (4, 6), (6, 4), (5, 3)], 13),
        ([(5, 5), (6, 6), (7, 7), (8, 8), (3, 4), (4, 3), (2, 2)], 12),
        ([(3, 2)] * 7 + [(2, 3)] * 7 + [(5, 1)] * 7, 10),
        ([(6, 7), (5, 5), (4, 3)], 10, [(4, 0, 6), (0, 6, 4)]),
        ([(3, 7), (3, 5), (2, 3), (4, 1)], 10, [(0, 0, 3), (6, 3, 4), (2, 7, 3)]),
        ([(5, 5), (5, 6), (5, 2)], 10, [(2, 0, 5), (0, 5, 5)]),
        ([(5, 6), (5, 5), (5, 2)], 10, [(0, 0, 5), (2, 5, 5)]),
        ([], 10),
    )
    return {
        **each("packed", packing.pack, *packed),
        **each("least length", packing.least_length, *((sizes_, width) for sizes_, width, *_ in packed)),
        **{f"laid, {name}": (layout.plan_cloth, ask) for name, ask in ways.items()},
        **{f"laid folded, {name}": (folded.plan_folded, ask) for name, ask in ways.items()},
        "as many as can be": (
            lambda copies: layout.plan_cloth(replace(plain, blocks=(Block("cuff", 10.0, 6.0, copies),))).length_mm,
            500,
        ),
        **each("widths", layout.compare_widths, (laid, (1.0,)), (laid, (1.0, 2.0, 900.0, 1400.0)), (laid, (1.0,) * 5)),
        **each("in micrometres", layout.um, (25.4,), (0.0004,), (0.0006,)),
        **each("join", piecing.join_of, (36.0, 17.9), (36.0, 18.0), (36.0, 40.0)),
        **each("across", tucks.tucks_across, (300.0, 20.0, 20.0), (300.0, 20.0, 290.0), (20.0, 20.0, 5.0)),
        **each(
            "tucks",
            tucks.plan_tucks,
            (tucks.TucksAsk(2, 5.0, 20.0, 100.0, 10.0),),
            (tucks.TucksAsk(2, 5.1, 20.0, 100.0, 10.0),),
            (tucks.TucksAsk(2, 4.9, 20.0, 100.0, 9.9),),
            (tucks.TucksAsk(1, 30.0, 20.0, 50.0),),
            (tucks.TucksAsk(1, 20.0, 20.0, 50.0, None, 25.0),),
            (tucks.TucksAsk(1, 20.0, 20.0, 50.0, None, 25.1),),
            (tucks.TucksAsk(3, 4.0, 20.0, 40.0, 20.0, 0.0),),
            (tucks.TucksAsk(3, 4.0, 20.0, 39.9, 20.0, 0.0),),
            (tucks.TucksAsk(3, 4.0, 20.0, 60.0, 20.0, 10.0),),
            (tucks.TucksAsk(3, 4.0, 20.0, 60.0, 20.0, 10.1),),
            (tucks.TucksAsk(2, 0.2, 20.0, 100.0, 20.0),),
            (tucks.TucksAsk(2, 4.0, 20.0, 100.0, 20.0, 0.2),),
            (tucks.TucksAsk(3, 4.13, 7.0, 255.0, 31.1, 6.0, opening_inside=True),),
            (tucks.TucksAsk(3, 4.0, 20.0, 28.0, 10.0, 2.0, opening_inside=True),),
        ),
    }


def _faults(text: str) -> object:
    try:
        return read_design(text)
    except Faults as faults:
        return tuple(map(str, faults.wrongs))


def _designs() -> Questions:
    start = (
        'key = "bib"\nname = "Bib"\n[cloths.gown]\nname = "Linen"\nwarp_per_cm = 20\nweft_per_cm = 19\n'
        '[panels.front]\nname = "Front"\nside = "front"\ncloth = "gown"\nblock_width_mm = 20\nblock_height_mm = 40\n'
        f'outline = "{FORTY}"\n'
    )
    hem = (
        '[panels.front.sections.hem]\nname = "Hem"\nkind = "hem_band"\ndirection = "across"\nedge = "bottom"\n'
        "withdraw_threads = 3\ndistance_mm = 9\nstop_lines = 0\n"
    )
    whole = start + hem
    texts = {
        "whole": whole,
        "nested": f"a = {'[' * 3000}",
        "not tables": whole + "[sections]\nneck = 3\n",
        "cloths a word": 'key = "a"\nname = "A"\ncloths = "linen"\n',
        "a huge number": whole.replace("weft_per_cm = 19", f"weft_per_cm = 1{'0' * 400}"),
        "explained as a word": whole + 'explained = "so"\n',
        "explained by a number": whole + "explained = { left_over = 3 }\n",
        "explained": whole + 'explained = { left_over = "It runs into the seam." }\n',
        "at one number": whole.replace('cloth = "gown"', 'cloth = "gown"\nat_mm = [1]'),
        "at two words": whole.replace('cloth = "gown"', 'cloth = "gown"\nat_mm = ["a", "b"]'),
        "cautions a word": whole + 'cautions = "hot"\n',
        "hoop of a hem": whole + "hoop = true\n",
        "standing and length": whole + "standing_threads = 20\nlength_mm = 10\n",
        "many parts": start + "".join(hem.replace(".hem]", f".hem{at}]") for at in range(201)),
        "many sections": start
        + "".join(hem.replace(".hem]", f".hem{at}]") for at in range(200))
        + "".join(
            f'[panels.{name}]\nname = "Back"\nside = "back"\nmirror_of = "front"\n' for name in ("back", "other")
        ),
        "long words": whole + f'note = "{"a" * 10_001}"\n',
        "on two panels": whole + '[sections.neck]\nname = "Neck"\nkind = "seam"\n[sections.neck.on.back]\n',
        "along nothing": whole + '[sections.neck]\nname = "Neck"\nkind = "seam"\n[sections.neck.on.front]\n',
        "along off it": whole
        + '[sections.neck]\nname = "Neck"\nkind = "seam"\n[sections.neck.on.front]\nalong = "9,9 20,0"\n',
        "points of a seam": whole
        + '[sections.neck]\nname = "Neck"\nkind = "seam"\nlength_mm = 9\n[sections.neck.on.front]\npoints = "9,9"\n',
        "a motif along": whole
        + '[sections.star]\nname = "Star"\nkind = "motif"\nnumber = 1\n[sections.star.on.front]\nalong = "0,0 20,0"\n',
        "points unread": whole
        + '[sections.star]\nname = "Star"\nkind = "motif"\n[sections.star.on.front]\npoints = "M 1"\n',
        "an edge of a seam": whole
        + '[sections.neck]\nname = "Neck"\nkind = "seam"\nlength_mm = 9\n[sections.neck.on.front]\nedge = "top"\n',
        "a mirror of two": whole
        + '[sections.one]\nname = "One"\nkind = "seam"\n[sections.one.on.front]\nalong = "0,0 20,0"\n'
        + '[sections.two]\nname = "Two"\nkind = "seam"\nmirror_of = "one"\n[sections.two.on.front]\n'
        + "[sections.two.on.back]\n"
        + '[panels.back]\nname = "Back"\nside = "back"\nmirror_of = "front"\n',
        "a mirror with its own": whole
        + '[panels.back]\nname = "Back"\nside = "back"\nmirror_of = "front"\noutline = "0,0 9,9 0,9"\n',
        "a mirror of a mirror": whole
        + '[panels.back]\nname = "Back"\nside = "back"\nmirror_of = "front"\n'
        + '[panels.other]\nname = "Other"\nside = "back"\nmirror_of = "back"\n',
        "a mirror of nothing": whole + '[panels.back]\nname = "Back"\nside = "back"\nmirror_of = "none"\n',
        "mirrors in a ring": start
        + hem.replace('kind = "hem_band"', 'kind = "hem_band"\nmirror_of = "front.other"')
        + '[panels.front.sections.other]\nname = "Other"\nkind = "hem_band"\nmirror_of = "front.hem"\n',
        "a corner with nothing": whole + 'corner_with = ["front.none"]\n',
        "a cloth unknown": whole.replace('cloth = "gown"', 'cloth = "lace"'),
        "a binding's cloth unknown": whole
        + '[sections.neck]\nname = "Neck"\nkind = "binding"\ncloth = "lace"\n[sections.neck.on.front]\n'
        + 'along = "0,0 20,0"\n',
    }
    odd = read_design(whole)
    named = replace(odd, note='a\x01b\x7fc\t"\\\nnext', name="Bib Ü")
    return {
        **{f"text, {name}": (lambda which: _faults(texts[which]), name) for name in texts},
        "written": (write_design, named),
        "panel at three": (lambda at: replace(PANEL, at_mm=at), (1.0, 2.0, 3.0)),
        **each("sized", lambda size, to: sizes.sized(replace(odd, size=size), to), ("one", 68), ("68", 70), ("68", 68)),
        **each(
            "made for",
            lambda length, head: fit_garment.garment_findings(FITTED, fit_garment.MadeFor(length, head)),
            (FITTED.length_mm.middle / 10, None),
            (FITTED.length_mm.allow[1] / 10, None),
            ((FITTED.length_mm.likely[1] + 60) / 10, None),
            (None, FITTED.head_mm.middle / 10),
            (None, FITTED.head_mm.allow[1] / 10),
            (None, (FITTED.head_mm.likely[1] + 20) / 10),
            (0.0, None),
            (None, 0.0),
        ),
    }


def _lines() -> Questions:
    strip = placing.Strip("across", "bottom", (10.0, 16.0))
    gore = ((20.0, 0.0), (60.0, 0.0), (80.0, 100.0), (0.0, 100.0))
    notched = (
        (0.0, 0.0),
        (50.0, 0.0),
        (50.0, 60.0),
        (30.0, 60.0),
        (30.0, 66.0),
        (40.0, 66.0),
        (40.0, 80.0),
        (0.0, 80.0),
    )
    strips = (
        strip,
        replace(strip, edge="top"),
        replace(strip, direction="down", edge="left"),
        replace(strip, direction="down", edge="right", from_mm=20.0),
        replace(strip, from_mm=10.0, to_mm=30.0),
        replace(strip, from_mm=10.0, length_mm=20.0),
        replace(strip, to_mm=40.0, length_mm=20.0),
        replace(strip, length_mm=20.0),
        replace(strip, from_mm=10.0, to_mm=40.0, length_mm=20.0),
        replace(strip, from_mm=-5.0),
        replace(strip, to_mm=90.0),
        replace(strip, length_mm=90.0),
        replace(strip, depth=(90.0, 200.0)),
        replace(strip, from_mm=30.0, to_mm=30.0),
        replace(strip, is_hem=True),
        replace(strip, depth=(0.0, 6.0), is_hem=True),
    )
    depth = depths.drawn_depth(HEM, "across", ClothCounts(20.0, 19.0))
    tucked = replace(TUCK, depth_mm=9.0)
    whole = replace(HEM, placements=(Placement("front", "top"),))
    lay = laying.ToLay(HEM, Placement("front", "bottom", 10.0), SQUARE, depth, 10.0)
    return {
        **each("laid on a square", placing.lay, *((SQUARE, one) for one in strips)),
        **each("laid on a gore", placing.lay, *((gore, one) for one in strips)),
        **each("laid past a notch", placing.lay, *((notched, one) for one in strips)),
        **each(
            "points", placing.points_on, *((SQUARE, Placement("front", points=text)) for text in ("?", "", "1,1 60,1"))
        ),
        **each(
            "carried in depth",
            lambda kind, choice, inside: depths.carried_depth(
                replace(
                    HEM, kind=kind, depth_mm=9.1, opening_inside=inside, withdraw_threads=None if kind == "tuck" else 6
                ),
                "across",
                (ClothCounts(20.0, 19.0), ClothCounts(31.0, 28.0)),
                choice,
            ),
            *((kind, choice, False) for kind in ("tuck", "tuck_band") for choice in ("keep_threads", "keep_width")),
            *(("tuck_band", choice, True) for choice in ("keep_threads", "keep_width")),
        ),
        **each(
            "laid a hair in",
            lambda hair, from_mm, to_mm: placing.lay(
                ((hair, 0.0), (50.0 - hair, 0.0), (50.0 - hair, 80.0), (hair, 80.0)),
                replace(strip, from_mm=from_mm, to_mm=to_mm),
            ),
            *((hair, 0.0, None) for hair in (0.009, 0.01, 0.02)),
            *((hair, None, 50.0) for hair in (0.009, 0.0078125, 0.02)),
        ),
        **each(
            "laid",
            laying.lay_section,
            (lay,),
            (replace(lay, placement=Placement("front")),),
            (replace(lay, section=replace(HEM, direction=None)),),
            (replace(lay, section=tucked, depth=depths.drawn_depth(tucked, "across", ClothCounts(20.0, 19.0))),),
            (laying.ToLay(replace(HEM, kind="seam"), Placement("front", along="0,0 50,0"), SQUARE),),
            (laying.ToLay(replace(HEM, kind="seam"), Placement("front", along="M 0,0 L 90,0"), SQUARE),),
            (laying.ToLay(replace(HEM, kind="motif"), Placement("front", points="0,0 50,0"), SQUARE),),
            (laying.ToLay(replace(HEM, kind="motif"), Placement("front", points="0,0 50,1 51,1"), SQUARE),),
            (laying.ToLay(replace(HEM, kind="motif"), Placement("front"), SQUARE),),
        ),
        **each(
            "stop moved",
            lambda *at: laying.with_stop_moved(replace(lay, placement=at[0]), laying.lay_section(lay), 30.0),
            (Placement("front", "bottom", 10.0),),
            (Placement("front", "bottom", 10.0, 10.0),),
            (Placement("front", "bottom", 10.0, None, 40.0),),
            (Placement("front", "bottom", 10.0, 10.0, 40.0),),
        ),
        **each(
            "along",
            outlines.line_along,
            *((SQUARE, text) for text in ("0,0", "0,0 50,0", "50,0 0,0", "3,40 0,0", "4,40 0,0", "0,0 0,0")),
            *((SQUARE, text) for text in ("M 0,0", "M 0,0 L 9,9", "1,1 2,2 3,3", "25,0 25,0")),
        ),
        **each(
            "outline",
            lambda text, **on: outlines.outline_points(replace(PANEL, outline=text, **on)),
            *((text,) for text in (FORTY, "0,0 0,40 20,40 20,0", "0,0 1,1", "0,0 1,0 1,0.9 0,0.9", "0,0 51,0 51,9")),
            *(
                (text,)
                for text in ("0,0 20,0 20,81", "-1,0 20,0 20,9", "0,0 9,9 9,0 0,9", "0,0 50.01,0 50.01,80.01 0,80")
            ),
        ),
        **each(
            "folded outline",
            lambda text: outlines.outline_points(replace(PANEL, outline=text, on_fold=True)),
            *((text,) for text in ("25,0 40,0 25,9", "24.9,0 40,0 25,9", "25,0 40,0 25.1,9", "25,0 40,0 24.9,5 25,9")),
            *((text,) for text in ("25,0 25,9", "25,0 51,0 25,9", "25.01,0 40,0 24.99,9", "25,0 40,3 40,9 25,9")),
        ),
        **each("line of so many", lambda many: len(path_text.line_of("1,2 " * many, "along")), (4000,), (4001,)),
        **each(
            "curves",
            path_text.line_of,
            *((text,) for text in ("M 0,0 C 0,9 9,9 9,0", "M 0,0 Q 5,9 9,0 H 3 V 4 Z", "M 0,0 C 0,0 9,0 9,0")),
        ),
        **each(
            "overlap",
            lambda *at: placing.crossings({"a": (Rect(0, 0, 9, 9),), "b": (Rect(*at),)}),
            *((9, 0, 12, 9), (8.99, 0, 12, 9), (8.98, 0, 12, 9), (0, 8.98, 9, 12), (0, 9, 9, 12), (3, 3, 4, 4)),
        ),
        **each(
            "spaces of",
            spaces.spaces_between,
            ((spaces.Covered("a", "across", "top", 10, 12), spaces.Covered("b", "across", "top", 12, 20)),),
            ((spaces.Covered("a", "across", "top", 0, 12), spaces.Covered("b", "across", "top", 11, 20)),),
            (
                (
                    spaces.Covered("a", "across", "top", 3, 4, (0.0, 9.0)),
                    spaces.Covered("b", "across", "top", 6, 8, (9.0, 12)),
                ),
            ),
            ((spaces.Covered("a", "across", "top", 3, 4), spaces.Covered("b", "down", "left", 6, 8)),),
            ((spaces.Covered("a", "across", "top", 3, 4), spaces.Covered("b", "across", "bottom", 6, 8)),),
        ),
        "no tuck": (
            lambda ask: section_work.work_on(
                ask,
                ClothCounts(20.0, 19.0),
                section_work.Stretch(90.0, depths.drawn_depth(ask, "across", ClothCounts(20.0, 19.0))),
            ),
            TUCK,
        ),
        **each(
            "recounted",
            lambda section, standing, bundle, way: section_work.replan_section(
                section, ClothCounts(20.0, 19.0), standing_threads=standing, bundle_threads=bundle, way=way
            ),
            (HEM, 99, None, None),
            (HEM, 99, 5, "spread"),
            (replace(HEM, left_over="into_seam"), 99, None, None),
            (HEM, 0, None, None),
            (TUCK, 99, None, None),
            (replace(HEM, direction=None), 99, None, None),
            (replace(HEM, withdraw_threads=None), 99, None, None),
        ),
        **each(
            "carried bundle",
            lambda kind, bundle, choice: section_work.carried_bundle(
                replace(HEM, kind=kind, bundle_threads=bundle),
                "across",
                (ClothCounts(20.0, 19.0), ClothCounts(9, 50)),
                choice,
            ),
            *((kind, bundle, "keep_width") for kind in ("hem_band", "serpentine") for bundle in (1, 4, 5, 7)),
            ("serpentine", 5, "keep_threads"),
        ),
        **each(
            "open ends",
            section_work.open_ends,
            (replace(whole, stop_lines=0),),
            (replace(whole, placements=(Placement("front", "top", 0, 5),)),),
            (replace(whole, stop_lines=0, placements=(Placement("front", "top", 0, 5, 9),)),),
            (replace(whole, stop_lines=2),),
            (replace(whole, stop_lines=0, owner="garment"),),
            (replace(whole, stop_lines=0, closed_round=True),),
        ),
    }
