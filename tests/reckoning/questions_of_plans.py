"""Three small garments that hold every kind of section, each asked again with one thing of it changed."""

from dataclasses import dataclass, replace

from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_faults import faults_of
from service.reckoning.design_writing import write_design
from service.reckoning.designs import (
    ClothCounts,
    ClothDesign,
    Design,
    PanelDesign,
    Placement,
    SectionDesign,
)
from service.reckoning.mirrors import stands_opposite
from service.reckoning.plans import SectionChoice
from service.reckoning.sizes import sized
from service.reckoning.to_buy import cloth_to_buy
from tests.reckoning.in_full import Questions

NECK = "M 150,60 C 170,60 185,45 190,20 L 280,60 V 380 H 150 Z"
YOKE = "M 150,20 C 180,20 190,60 230,70 L 280,110 V 380 H 150 Z"


@dataclass(frozen=True)
class Carried:
    """A design, the counts of the cloth it is carried to, and the choice for all its sections."""

    design: Design
    onto: ClothCounts
    choice: SectionChoice = SectionChoice()  # noqa: RUF009 - it is frozen


def carried(ask: Carried) -> dict[str, object]:
    """What is wrong with the design, or what comes of it section by section and panel by panel."""
    faults = faults_of(ask.design)
    if faults:
        return {"faults": tuple(map(str, faults))}
    roles = [cloth.role for cloth in ask.design.cloths]
    keys = [section.key for section in ask.design.every_section]
    plan = plan_garment(ask.design, dict.fromkeys(roles, ask.onto), dict.fromkeys(keys, ask.choice))
    return {
        "whole": (plan.knots_before, plan.knots_after, plan.seconds_before, plan.seconds_after, plan.waits),
        **{f"panel {panel.key}": panel for panel in plan.panels},
        **{
            one.key: (
                one.after,
                one.error_mm,
                one.left_over,
                one.left_over_choices,
                one.findings,
                one.places,
                one.steps,
            )
            for one in plan.sections
        },
        **{f"{one.key} as drawn": one.before for one in plan.sections},
        "spaces": plan.spaces,
        "opposite": {panel.key: stands_opposite(ask.design, panel.key) for panel in ask.design.panels},
    }


def _cloths() -> tuple[ClothDesign, ...]:
    return (
        ClothDesign("gown", "Linen", ClothCounts(20.0, 18.5)),
        ClothDesign("lining", "Lawn", ClothCounts(31.0, 28.0)),
    )


def _apron(outline: str = YOKE, neck: str = "150,20 280,110", side: str = "280,110 280,380") -> Design:
    """On the fold, with a hem, a ladder that ends inside and a slit; a back that mirrors a side."""
    hem = SectionDesign(
        "front.hem", "Hem", "hem_band", placements=(Placement("front", "bottom", 30.0),), direction="across",
        withdraw_threads=6, stop_lines=0, catch_threads=2,
    )  # fmt: skip
    ladder = replace(
        hem, key="front.ladder", name="Ladder", kind="ladder", catch_threads=None, stop_lines=2, withdraw_threads=12,
        placements=(Placement("front", "bottom", 60.0, 60.0, 231.0),), clip_inside_threads=2, hoop=True,
        corner_with=("front.slit",),
    )  # fmt: skip
    slit = replace(
        ladder, key="front.slit", name="Slit", kind="serpentine", direction="down", withdraw_threads=9, bundle_threads=6,
        placements=(Placement("front", "left", 20.0, 200.0, 303.0),), corner_with=("front.ladder",), hoop=False,
        left_over="spread",
    )  # fmt: skip
    binding = SectionDesign(
        "neck", "Neck", "binding", "garment", (Placement("front", along=neck),), cloth="lining",
        finished_width_mm=6.0, binding_seam_mm=5.0, joins=1, opening=True,
    )  # fmt: skip
    seam = SectionDesign("side", "Side", "seam", "garment", (Placement("front", along=side, seams_mm=3.0),))
    eyelets = SectionDesign("eyelets", "Eyelets", "motif", "garment", (Placement("front", points="150,90 170,120"),))
    front = PanelDesign(
        "front", "Front", "front", "gown", 300.0, 400.0, outline, on_fold=True, at_mm=(10.0, 5.0),
        sections=(hem, ladder, slit),
    )  # fmt: skip
    return Design("apron", "Apron", _cloths(), (front,), (binding, seam, eyelets))


def _sleeve() -> Design:
    """A tuck, a tuck with a band in it and a paired ladder on one panel, its mirror, and closures."""
    tuck = SectionDesign(
        "left.tuck", "Tuck", "tuck", placements=(Placement("left", "top", 40.0),), direction="across", depth_mm=6.3,
    )  # fmt: skip
    band = replace(
        tuck, key="left.band", name="Tuck band", kind="tuck_band", placements=(Placement("left", "top", 90.0),),
        withdraw_threads=5, depth_mm=9.0, stop_lines=0, left_over="into_seam", catch_threads=3,
    )  # fmt: skip
    paired = replace(
        tuck, key="left.paired", name="Paired", kind="ladder_paired", placements=(Placement("left", "right", 18.0),),
        direction="down", depth_mm=None, withdraw_threads=14, pair_rows=2, stop_lines=1,
    )  # fmt: skip
    own = SectionDesign(
        "right.far", "Far", "hem_band", placements=(Placement("right", "bottom", 25.0),), direction="across",
        withdraw_threads=4, stop_lines=0,
    )  # fmt: skip
    left = PanelDesign(
        "left", "Left", "front", "gown", 160.0, 260.0, "10,10 150,10 140,250 20,250", at_mm=(0.0, 0.0),
        sections=(tuck, band, paired),
    )  # fmt: skip
    right = PanelDesign("right", "Right", "back", mirror_of="left", at_mm=(200.0, 4.0))
    cuff = replace(left, key="cuff", name="Cuff", side="both", sections=(replace(own, key="cuff.far",
        placements=(Placement("cuff", "bottom", 25.0),)),), at_mm=(170.0, 0.0), grows_by="head")  # fmt: skip
    buttons = SectionDesign("buttons", "Buttons", "closure", "garment", (Placement("left"),), number=3)
    lace = SectionDesign(
        "lace", "Lace", "lace", "garment", (Placement("left", along="10,10 150,10"),), finished_width_mm=12.0,
    )  # fmt: skip
    return Design("sleeve", "Sleeve", _cloths()[:1], (left, right, cuff), (buttons, lace))


def _round() -> Design:
    """Bands of the joined garment that go round two panels, one of them mirrored on the other side."""
    body = PanelDesign("front", "Front", "front", "gown", 220.0, 300.0, "10,10 210,10 210,290 10,290")
    back = replace(body, key="back", name="Back", side="back", cloth="lining", block_width_mm=226.0)
    both = (Placement("front", "bottom", 70.0, seams_mm=10.0), Placement("back", "bottom", 70.0, seams_mm=10.0))
    band = SectionDesign(
        "band", "Band", "alternating", "garment", both, direction="across", withdraw_threads=8, closed_round=True,
        left_over="spread",
    )  # fmt: skip
    close = replace(band, key="close", name="Close", kind="ladder", left_over=None, pair_rows=1, standing_threads=603,
        placements=tuple(replace(one, distance_mm=62.0) for one in both))  # fmt: skip
    down = SectionDesign(
        "front.down", "Down", "hem_band", placements=(Placement("front", "left", 25.0, 40.0),), direction="down",
        withdraw_threads=3, stop_lines=1, length_mm=90.0,
    )  # fmt: skip
    other = SectionDesign("front.other", "Other", "hem_band", placements=(Placement("front"),), mirror_of="front.down")
    front = replace(body, sections=(down, other))
    return Design("skirt", "Skirt", _cloths(), (front, back), (band, close))


def _grown(asked: tuple[Design, int]) -> str:
    design, size_cm = asked
    return write_design(sized(design if design.size else replace(design, size="68"), size_cm))


def _to_buy(role: str) -> object:
    """The cloth of an apron whose neck is bound in the cloth of its front."""
    apron = _apron()
    neck, *others = apron.sections
    own = replace(apron, sections=(replace(neck, cloth=""), *others))
    return cloth_to_buy(plan_garment(own, own_cloths(own)), role, 1400.0, (4.0, 2.5))


def of_plans() -> Questions:
    """The three, each on a finer and a coarser cloth."""
    drawn = {"bib": _apron(NECK, "150,60 190,20", "280,60 280,380"), "sleeve": _sleeve(), "skirt": _round()}
    return {
        **{f"grown to {to} cm, {name}": (_grown, (design, to)) for name, design in drawn.items() for to in (56, 86)},
        **{f"for a bust, {name}": (_grown, (replace(design, size="bust 88"), 96)) for name, design in drawn.items()},
        **{f"cloth to buy for the {role}": (_to_buy, role) for role in ("gown", "lining")},
        "apron": (carried, Carried(_apron(), ClothCounts(27.3, 24.0))),
        "sleeve": (carried, Carried(_sleeve(), ClothCounts(14.0, 15.5), SectionChoice(bundle="keep_width"))),
        "skirt": (carried, Carried(_round(), ClothCounts(12.2, 33.0), SectionChoice("keep_threads", accepted=True))),
    }
