"""What is asked of a panel and of a section when a design is drawn up by form: in the trade's words, kind by kind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.designs import LINE_KINDS, STRIP_KINDS
from service.web.design_lengths import shown_unit
from service.web.words import KIND_WORDS

FieldSort = Literal["line", "long", "number", "whole", "choice", "tick", "lines", "ticks"]
Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Field:
    """One thing asked: `name` is its place in the design's text, `sort` how it is typed."""

    name: str
    label: str
    sort: FieldSort
    hint: str = ""
    unit: str = ""
    options: Options = ()
    needed: bool = False
    rows: int = 3

    @property
    def shown_unit(self) -> str:
        """The unit that is typed: a length is typed in the studio's."""
        return shown_unit(self.unit)


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together, under one heading; `quiet` ones are folded away until something is said in them."""

    heading: str
    fields: tuple[Field, ...]
    quiet: bool = False


SIDES: Options = (("front", "the front"), ("back", "the back"), ("both", "both: a sleeve, or all round"))
DIRECTIONS: Options = (
    ("across", "across: weft threads are withdrawn"),
    ("down", "down: warp threads are withdrawn"),
)
TUCK_DIRECTIONS: Options = (("across", "across the cloth"), ("down", "down the cloth"))
EDGES: Options = (("top", "the top"), ("bottom", "the bottom"), ("left", "the left"), ("right", "the right"))
STOP_LINES: Options = (
    ("0", "none: threads run out at both ends"),
    ("1", "one: threads run out at the other end"),
    ("2", "two: one at each end"),
)
LEFT_OVER: Options = (
    ("", "ask each time it is made"),
    ("shorter", "end the band some threads sooner"),
    ("longer", "run it some threads longer"),
    ("spread", "spread them one by one over the bundles"),
    ("into_seam", "let them vanish in the seam"),
)
FOLDED_KINDS = ("hem_band", "tuck_band")
KINDS: Options = tuple(KIND_WORDS.items())
KIND_HINTS: Mapping[str, str] = {
    "hem_band": "One edge is knotted, and each knot catches the hem.",
    "ladder": "Both edges are knotted, the same bundles on each.",
    "ladder_paired": "A ladder whose bundles are knotted again in pairs between the edges.",
    "serpentine": "The second edge splits each bundle, half to one side and half to the other.",
    "alternating": "One thread knots bundles at the upper and the lower edge by turns.",
    "tuck_band": "A tuck whose front and back layer are caught together in each knot.",
    "tuck": "A plain fold, stitched along one thread.",
    "binding": "Bias strip round an edge, straight or curved.",
    "seam": "Two edges joined.",
    "lace": "Lace whipped to an edge.",
    "motif": "Embroidered, each one counted.",
    "closure": "Buttons, loops, ties: each one counted.",
}

PANEL_FACTS = Group(
    "The panel",
    (
        Field("name", "Name", "line", needed=True),
        Field("side", "Seen from", "choice", options=SIDES),
    ),
)
PANEL_BLOCK = Group(
    "The block and the pattern inside it",
    (
        Field("cloth", "Cloth", "choice"),
        Field(
            "block_width_mm",
            "Width of the block",
            "number",
            "The piece cut off the bolt and worked, larger than the pattern all round.",
            "mm",
            needed=True,
        ),
        Field("block_height_mm", "Height of the block, along the warp", "number", unit="mm", needed=True),
        Field(
            "on_fold",
            "Drawn on the fold",
            "tick",
            "Draw the right half only, from the block’s middle and back to it. The left half follows.",
        ),
        Field(
            "outline",
            "Cutting line of the pattern",
            "long",
            "Its points, measured as the block is, across then down from its upper left corner, going round clockwise.",
            needed=True,
            rows=6,
        ),
    ),
)
GROWS_BY: Options = (("body", "with the body"), ("head", "with the head: a bonnet, a collar"))
PANEL_SIZES = Group("In another size", (Field("grows_by", "It grows", "choice", options=GROWS_BY),))
PANEL_PLACE = Group(
    "Where it stands in the drawing of the garment",
    (
        Field("at_mm", "From the left", "number", unit="mm"),
        Field("at_down_mm", "From the top", "number", unit="mm"),
    ),
)

_THREAD = Field("thread", "Working thread", "line")
_OPENING = Field(
    "opening", "The head goes through this edge", "tick", "In another size, the opening grows with the head."
)
_NOTES = Group(
    "Notes",
    (
        Field("note", "Note for whoever works it", "long"),
        Field("cautions", "Cautions", "lines", "One on each line; they stand before the work."),
    ),
    quiet=True,
)


def placement_fields(kind: str, direction: str) -> tuple[Field, ...]:
    """What is asked of where a section lies on one panel."""
    if kind in STRIP_KINDS:
        return _strip_placement(kind, direction)
    if kind in LINE_KINDS:
        return (
            Field(
                "along",
                "Runs along the cutting line from, to",
                "line",
                "Two points of the cutting line, measured as the block is, like 3,12 3,24: the section follows the "
                "line clockwise from the first to the second. The same point twice goes all round. Three points or "
                "more are a line of their own.",
            ),
            _seams(),
        )
    return (
        Field(
            "points",
            "Stands at",
            "line",
            "A point for each, measured as the block is, across then down from its upper left corner, like 12,8 12,11.",
        ),
    )


def _seams() -> Field:
    return Field("seams_mm", "Lost in joining seams", "number", "What its length here loses in seams.", "mm")


def _strip_placement(kind: str, direction: str) -> tuple[Field, ...]:
    edges = EDGES[:2] if direction == "across" else EDGES[2:]
    what = "tuck" if kind == "tuck" else "band"
    begin = "left" if direction == "across" else "top"
    return (
        Field("edge", "Placed from", "choice", options=edges),
        Field(
            "distance_mm",
            "How far inside",
            "number",
            f"From the cutting line’s outermost point on that side to the {what}’s nearer edge.",
            "mm",
        ),
        Field(
            "from_mm",
            f"Begins, from the block’s {begin}",
            "number",
            "Left empty, it begins at the cutting line.",
            "mm",
        ),
        Field("to_mm", f"Ends, from the block’s {begin}", "number", "Left empty, it runs to the cutting line.", "mm"),
        _seams(),
    )


def section_groups(kind: str, cloths: Options, corners: Options) -> tuple[Group, ...]:
    """What is asked of a section of this kind, its place apart."""
    if kind in BAND_KINDS:
        length = _length(with_threads=True)
        return (_band_threads(kind), _band_work(kind), length, *corner_groups(kind, corners), _NOTES)
    if kind == "tuck":
        depth = Field("depth_mm", "Depth, fold to stitched line", "number", unit="mm", needed=True)
        return (Group("The tuck", (depth, _THREAD)), _length(), _NOTES)
    if kind == "binding":
        return (_binding(cloths), _length(), _NOTES)
    if kind == "lace":
        width = Field("finished_width_mm", "Width of the lace", "number", unit="mm")
        return (Group("The lace", (width, _THREAD)), _length(), _NOTES)
    if kind == "seam":
        return (Group("The seam", (_THREAD, _OPENING)), _length(), _NOTES)
    number = Field("number", "How many", "whole", "Only where their points are not given above.")
    return (Group("How many", (number, _THREAD)), _NOTES)


def _band_threads(kind: str) -> Group:
    fields = [
        Field("withdraw_threads", "Threads withdrawn", "whole", unit="threads", needed=True),
        Field(
            "bundle_threads",
            "Standing threads in a bundle",
            "whole",
            "Four by common practice; in a tuck, that many from each layer.",
            "threads",
        ),
        Field(
            "left_over",
            "Threads left over from whole bundles",
            "choice",
            "What is done with them when the count does not come out even.",
            options=LEFT_OVER,
        ),
        Field("stop_lines", "Stop lines", "choice", "Edge-stitched before anything is clipped.", options=STOP_LINES),
        Field("closed_round", "A closed round, meeting its own beginning", "tick"),
    ]
    if kind == "ladder_paired":
        rows = (("1", "one row"), ("2", "two rows"))
        fields.append(Field("pair_rows", "Bundles knotted again in pairs in", "choice", options=rows))
    if kind == "tuck_band":
        fields.append(Field("depth_mm", "Depth of the tuck, fold to knotted line", "number", unit="mm", needed=True))
        fields.append(Field("opening_inside", "The drawn opening lies inside the tuck", "tick"))
    if kind in FOLDED_KINDS:
        fields.append(
            Field(
                "catch_threads",
                "Threads of the fold that a knot catches",
                "whole",
                "About two by common practice.",
                "threads",
            )
        )
    return Group("Its threads", tuple(fields))


def _band_work(kind: str) -> Group:
    sides = (("", "as she likes"), ("right", "the right side"), ("wrong", "the wrong side"))
    ways = (("", "as she likes"), ("left to right", "left to right"), ("right to left", "right to left"))
    loops = (("", "as she likes"), ("clockwise", "clockwise"), ("anticlockwise", "anticlockwise"))
    hoop = () if kind in FOLDED_KINDS else (Field("hoop", "Worked in a hoop", "tick"),)
    return Group(
        "How it is worked",
        (
            Field("side_worked", "Worked from", "choice", options=sides),
            Field("work_direction", "Knots go", "choice", options=ways),
            Field("loop_direction", "The loop is laid", "choice", options=loops),
            *hoop,
            _THREAD,
            Field(
                "clip_inside_threads",
                "Clipped inside the stop line by",
                "whole",
                "None clips right behind the stitches; one or two threads inside is safer for a beginner’s hand.",
                "threads",
            ),
            Field("folded_first", "A facing is folded and basted before this band is placed inside its edge", "tick"),
        ),
    )


def _length(*, with_threads: bool = False) -> Group:
    length = Field(
        "length_mm",
        "Length",
        "number",
        "Only where it is not the length that lies inside the cutting line.",
        "mm",
    )
    threads = Field("standing_threads", "or its standing threads", "whole", unit="threads")
    return Group("A length of its own", (length, *((threads,) if with_threads else ())), quiet=True)


def corner_groups(kind: str, others: Options) -> tuple[Group, ...]:
    """What is asked about the corners of a section: all that a mirror does not take over from what it mirrors."""
    if not others or kind not in BAND_KINDS:
        return ()
    field = Field(
        "corner_with",
        "It makes a corner with",
        "ticks",
        "Two bands may cross only at a corner, each with two stop lines of its own.",
        options=others,
    )
    return (Group("Corners", (field,), quiet=True),)


def _binding(cloths: Options) -> Group:
    return Group(
        "The binding",
        (
            Field("cloth", "Cut from", "choice", options=(("", "the panel’s own cloth"), *cloths)),
            Field("finished_width_mm", "Finished width", "number", unit="mm"),
            Field("binding_seam_mm", "Seam it is sewn on with", "number", "Left empty, the finished width.", "mm"),
            Field("joins", "Joins in the strip", "whole"),
            _THREAD,
            _OPENING,
        ),
    )


def on_panel(fields: Sequence[Field], panel: str) -> tuple[Field, ...]:
    """The same fields asked for one panel of several."""
    return tuple(replace(field, name=f"on.{panel}.{field.name}") for field in fields)


def labels(groups: Sequence[Group]) -> Mapping[str, str]:
    """By field, what it is called."""
    return {field.name: field.label for group in groups for field in group.fields}
