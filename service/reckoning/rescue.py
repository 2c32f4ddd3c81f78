"""Ways out when something went wrong with a band or its panel: what each asks for, and why some are closed.

Every way and every caution here is common practice, no source. Times follow from the work that a way adds or drops.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal, get_args

from service.reckoning.asked import Wrong, not_below, whole
from service.reckoning.band_kinds import BandKind
from service.reckoning.operations import tenths_up

Trouble = Literal[
    "working thread broken",
    "broken in withdrawing",
    "clipped wrongly",
    "standing thread cut",
    "shrunk",
    "grown",
    "stained",
]
TROUBLES: tuple[Trouble, ...] = get_args(Trouble)
WayName = Literal[
    "join on",
    "take up again",
    "reweave",
    "widen",
    "move the stop line",
    "smaller bundle",
    "another kind",
    "bind instead",
    "let a tuck down",
    "wash",
    "cover with a motif",
    "new panel",
]
OVERLAP_MM = 20.0  # a woven-in thread runs on past each end, so that it holds: common practice, no source
ENDS = 2
OTHER_KIND: dict[str, BandKind] = {"ladder": "alternating", "serpentine": "ladder", "alternating": "ladder"}
KNOTS_A_BUNDLE = {"hem_band": ("hem_knot", 1), "ladder": ("ladder_knot", 2), "ladder_paired": ("ladder_knot", 2)} | {
    "serpentine": ("ladder_knot", 2),
    "alternating": ("alternating_knot", 1),
    "tuck_band": ("tuck_knot", 1),
}
_OF_TROUBLE: dict[Trouble, tuple[WayName, ...]] = {
    "working thread broken": ("join on",),
    "broken in withdrawing": ("take up again",),
    "clipped wrongly": ("reweave", "widen", "move the stop line", "bind instead", "new panel"),
    "standing thread cut": ("reweave", "smaller bundle", "another kind", "bind instead", "new panel"),
    "shrunk": ("let a tuck down", "bind instead", "new panel"),
    "grown": ("let a tuck down", "new panel"),
    "stained": ("wash", "cover with a motif", "new panel"),
}


@dataclass(frozen=True, slots=True)
class InTrouble:
    """A band and its panel as they stand. Lengths in mm; `matched` is how many mirrors follow what it becomes.

    `tuck_length_mm` is that of the garment's longest plain tuck, None without one; `left` is what is still to do of
    the band, `panel_done` what is done of the panel and its sections, by operation.
    """

    kind: str
    withdrawn_threads: int
    standing_threads: int
    bundle_threads: int
    stop_lines: int
    width_mm: float
    length_mm: float
    matched: int = 0
    knots_begun: bool = False
    cut_out: bool = False
    joined: bool = False
    block_height_mm: float = 0
    cloth_on_hand_mm: float = 0
    tuck_length_mm: float | None = None
    left: dict[str, float] = field(default_factory=dict)
    panel_done: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.kind not in KNOTS_A_BUNDLE:
            raise Wrong("kind", f"{self.kind!r} is no band")
        for name in ("withdrawn_threads", "standing_threads", "bundle_threads"):
            whole(name, getattr(self, name), 1)
        for name in ("width_mm", "length_mm", "block_height_mm", "cloth_on_hand_mm"):
            not_below(name, getattr(self, name))


@dataclass(frozen=True, slots=True)
class Way:
    """One way out: how it is done, the work it adds (below nothing: drops), what the band becomes; or why it is closed.

    `matched` says that mirrors follow. `withdrawn_threads`, `standing_threads` and `kind` are None where they stay.
    """

    name: WayName
    how: str
    work: dict[str, float] = field(default_factory=dict)
    withdrawn_threads: int | None = None
    standing_threads: int | None = None
    kind: BandKind | None = None
    matched: bool = False
    why_not: str = ""

    @property
    def is_open(self) -> bool:
        """Whether it can be taken now."""
        return not self.why_not


def ways_out(trouble: Trouble, band: InTrouble) -> tuple[Way, ...]:
    """Return the ways out of a trouble, the open ones first, each group in the order in which they are usually tried.

    Raises Wrong for a trouble that is not known.

    >>> band = InTrouble("ladder", 10, 320, 4, 2, 5.3, 160)
    >>> [way.name for way in ways_out("standing thread cut", band)]
    ['reweave', 'smaller bundle', 'another kind', 'new panel', 'bind instead']
    """
    if trouble not in _OF_TROUBLE:
        raise Wrong("trouble", f"must be one of {', '.join(TROUBLES)}, not {trouble!r}")
    found = [_WAYS[name](trouble, band) for name in _OF_TROUBLE[trouble]]
    return (*(way for way in found if way.is_open), *(way for way in found if not way.is_open))


def _join_on(_trouble: Trouble, _band: InTrouble) -> Way:
    how = (
        "Unpick the last knots back to one that holds, until the short end can be threaded, and fasten it on the wrong "
        "side. Fasten a new thread beside it and work those bundles again."
    )
    return Way("join on", how, {"fasten_off": ENDS})


def _take_up_again(_trouble: Trouble, _band: InTrouble) -> Way:
    how = (
        "Leave both ends. Lift the same thread with the point of a needle a little further on, clip nothing, and draw "
        "on from there; where it breaks again, lift it again."
    )
    return Way("take up again", how)


def _reweave(trouble: Trouble, band: InTrouble) -> Way:
    along = band.length_mm if trouble == "clipped wrongly" else band.width_mm
    length_cm = tenths_up((along + 2 * OVERLAP_MM) / 10)
    how = (
        f"Draw a thread out of a spare piece of the same cloth and weave it in, over and under as the old one lay, "
        f"{OVERLAP_MM:g} mm past each end; fasten both ends."
    )
    return Way("reweave", how, {"secure": length_cm, "fasten_off": ENDS})


def _widen(_trouble: Trouble, band: InTrouble) -> Way:
    how = "Let the clipped thread, if it lies beside the band, be one more that is withdrawn."
    times = 1 + band.matched
    work = {"withdraw": 1.0 * times, "clip": float(max(band.stop_lines, 1) * times)}
    closed = _edge_is_settled(band)
    return Way("widen", how, work, band.withdrawn_threads + 1, matched=bool(band.matched), why_not=closed)


def _move_stop(_trouble: Trouble, band: InTrouble) -> Way:
    knot, each = KNOTS_A_BUNDLE[band.kind]
    how = "Stitch the stop line anew on the thread one whole bundle further on, and let the band end there."
    times = 1 + band.matched
    width_cm = tenths_up(band.width_mm / 10)
    work = {"edge_stitch": width_cm * times, knot: float(each * times)}
    closed = _edge_is_settled(band) or ("" if band.stop_lines else "This band has no stop line.")
    longer = band.standing_threads + band.bundle_threads
    return Way("move the stop line", how, work, standing_threads=longer, matched=bool(band.matched), why_not=closed)


def _smaller_bundle(_trouble: Trouble, band: InTrouble) -> Way:
    how = "Draw the cut thread out and let its bundle be one thread smaller; the eye does not find it."
    closed = "This panel is cut out, so its counts stay as they were made." if band.cut_out else ""
    return Way("smaller bundle", how, standing_threads=max(band.standing_threads - 1, 1), why_not=closed)


def _another_kind(_trouble: Trouble, band: InTrouble) -> Way:
    kind = OTHER_KIND.get(band.kind)
    closed = _edge_is_settled(band) or ("" if kind else "No other kind has the same threads withdrawn and edges.")
    how = "Work it as the kind named beside it: the same threads are withdrawn, its knots hide the place."
    return Way("another kind", how, _knots_instead(band, kind), kind=kind, matched=bool(band.matched), why_not=closed)


def _knots_instead(band: InTrouble, kind: str | None) -> dict[str, float]:
    bundles = band.standing_threads // band.bundle_threads
    before, each_before = KNOTS_A_BUNDLE[band.kind]
    after, each_after = KNOTS_A_BUNDLE[kind or band.kind]
    times = 1 + band.matched
    work = {before: -float(bundles * each_before * times)}
    work[after] = work.get(after, 0.0) + bundles * each_after * times
    return {name: units for name, units in work.items() if units}


def _bind(_trouble: Trouble, band: InTrouble) -> Way:
    length_cm = tenths_up(band.length_mm / 10)
    work = {name: -units for name, units in band.left.items()}
    for name in ("cut_bias", "stitch_bias", "whip_bias"):
        work[name] = work.get(name, 0.0) + length_cm
    how = "Leave the rest of this band, and cover its edge with a bias binding of the same cloth."
    closed = "It is a band of its own inside the cloth: a binding has no edge there." if band.kind != "hem_band" else ""
    return Way("bind instead", how, work, why_not=closed)


def _let_down(_trouble: Trouble, band: InTrouble) -> Way:
    how = "Unpick the seam of a plain tuck, press the fold out wet, and sew the edge again."
    if band.tuck_length_mm is None:
        return Way("let a tuck down", how, why_not="No plain tuck is drawn into this garment.")
    return Way("let a tuck down", how, {"seam": tenths_up(band.tuck_length_mm / 10), "press": 1.0})


def _wash(_trouble: Trouble, _band: InTrouble) -> Way:
    how = "Wash it at once as the swatch of this cloth was washed, and try what you use on the swatch first."
    return Way("wash", how, {"wash": 1.0, "press": 1.0})


def _cover(_trouble: Trouble, _band: InTrouble) -> Way:
    return Way("cover with a motif", "Embroider a motif over the place, and its mirror.", {"embroider": 2.0})


def _new_panel(_trouble: Trouble, band: InTrouble) -> Way:
    how = "Begin this panel again from the same cloth. What was worked on it stays in the log as undone."
    closed = ""
    if band.joined:
        closed = "It is sewn together, so no panel of it can be begun again by itself."
    elif band.cloth_on_hand_mm < band.block_height_mm:
        short = band.block_height_mm - band.cloth_on_hand_mm
        closed = f"The cloth on the shelf is {short:g} mm too short for another block."
    return Way("new panel", how, {name: units for name, units in band.panel_done.items() if units}, why_not=closed)


def _edge_is_settled(band: InTrouble) -> str:
    if band.cut_out:
        return "This panel is cut out, so its bands stay as they were made."
    return "Its knots are begun: unpick them first, or choose another way." if band.knots_begun else ""


_WAYS: dict[WayName, Callable[[Trouble, InTrouble], Way]] = {
    "join on": _join_on,
    "take up again": _take_up_again,
    "reweave": _reweave,
    "widen": _widen,
    "move the stop line": _move_stop,
    "smaller bundle": _smaller_bundle,
    "another kind": _another_kind,
    "bind instead": _bind,
    "let a tuck down": _let_down,
    "wash": _wash,
    "cover with a motif": _cover,
    "new panel": _new_panel,
}


def cautions(trouble: Trouble) -> Iterator[str]:
    """The cautions of a trouble: what to look at before anything is cut or clipped. Common practice, no source."""
    yield "Stop, lay the needle down and count it; nothing is lost by waiting until daylight."
    if trouble in {"clipped wrongly", "standing thread cut"}:
        yield "Do not pull: a cut thread draws its neighbours with it. Hold both ends with a fine stitch first."
    if trouble == "working thread broken":
        yield "A thread that frays at the eye was drawn through too often: take a shorter needleful, or a larger eye."
    if trouble == "broken in withdrawing":
        yield "Do not pull harder. Look that the thread was clipped, and draw it out in short lengths."
    if trouble in {"shrunk", "grown"}:
        yield "Measure the child and the cloth again before anything is unpicked."
    if trouble == "stained":
        yield "No bleach and no heat on a stain that is not known: heat sets it, and bleach weakens linen."
