"""What the page at the table tells of a step: its passes with their bundles, a needleful, what may be taken back."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from service.drawing.rows import Row, rows_of
from service.drawing.shown import ShownBand
from service.drawing.thread_close_up import passes_of
from service.languages.spoken import Typed, said
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BUNDLES_GATHERED
from service.reckoning.gates import KNOTS
from service.reckoning.in_hand import fitted, pass_in_hand, units_in_needleful
from service.reckoning.operations import operation_named
from service.records.queries.table import OwnEntry
from service.records.tables import Section
from service.web.amount_words import shown_amount, unit_of, unit_word
from service.web.step_words import Work, drawn_section, facts_of, shown_band

UM_PER_MM = 1000
TENTHS = 10


@dataclass(frozen=True, slots=True)
class Pass:
    """One way along the section: what it is called, how much of the step it is, and its bundles' threads."""

    words: str
    whole: float
    sizes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class InHand:
    """The step as it lies in the hand: its passes, the one being worked and how much of it is done, as they are shown.

    `one` and `several` are what is counted, `of_bundles` whether each is a bundle; `needleful` how many a needleful
    works, where that says anything.
    """

    passes: tuple[Pass, ...]
    at: int
    done: float
    one: str
    several: str
    needleful: int | None
    leftwards: bool
    of_bundles: bool = False

    @property
    def now(self) -> Pass:
        """The pass being worked."""
        return self.passes[self.at]

    @property
    def before(self) -> float:
        """How much of the step the passes before it are."""
        return sum(each.whole for each in self.passes[: self.at])

    @property
    def left(self) -> float:
        """What is left of that pass."""
        return self.now.whole - self.done

    @property
    def next_ten(self) -> int | None:
        """The next whole ten of it, before its end."""
        ten = (int(self.done) // 10 + 1) * 10
        return ten if ten < self.now.whole else None

    @property
    def after_needleful(self) -> float | None:
        """The number reached by a needleful more, before its end."""
        if self.needleful is None or self.done + self.needleful >= self.now.whole:
            return None
        return self.done + self.needleful


def in_hand(work: Work) -> InHand:
    """The step in hand."""
    step, section = work.step, work.section
    found = _passes(work)
    wholes = fitted([each.whole for each in found], step.quantity_tenths / 10)
    unit = step.unit
    passes = tuple(
        Pass(said(each.words), shown_amount(whole, unit), each.sizes)
        for each, whole in zip(found, wholes, strict=False)
    )
    at, done = pass_in_hand(wholes, step.done_tenths / 10)
    one, several = _counted_things(work)
    return InHand(
        passes=passes,
        at=at,
        done=shown_amount(round(done, 1), unit),
        one=said(one),
        several=said(several),
        of_bundles=one == "bundle",
        needleful=_needleful(step.operation, section, unit),
        leftwards=section is not None and section.work_direction == "right to left",
    )


def _needleful(operation: str, section: Section | None, unit: str) -> int | None:
    most = units_in_needleful(operation, _width_mm(operation, section))
    return None if most is None else max(1, int(shown_amount(most, unit)))


def as_data(hand: InHand) -> str:
    """The same for the page's script, as JSON."""
    return _json(asdict(hand))


def _passes(work: Work) -> tuple[Pass, ...]:
    section, operation, whole = work.section, work.step.operation, work.step.quantity_tenths / 10
    if section is None or section.kind not in BAND_KINDS or not section.bundles:
        return (Pass("", whole),)
    band = shown_band(section, drawn_section(work.garment.document, section.key))
    if operation in KNOTS:
        rows = rows_of(band.kind, band.sizes, pair_rows=band.pair_rows, closed_round=band.closed_round)
        own = [row for row in rows if row.operation == operation]
        found = tuple(_pass_of_row(row, place, own) for place, row in enumerate(own))
        return found or (Pass("", whole),)
    return _passes_of_threads(band, operation, whole)


def _passes_of_threads(band: ShownBand, operation: str, whole: float) -> tuple[Pass, ...]:
    try:
        names = passes_of(band, operation)
    except Wrong:
        return (Pass("", whole),)
    return tuple(Pass(name if len(names) > 1 else "", float(band.withdraw_threads)) for name in names)


def _pass_of_row(row: Row, place: int, own: list[Row]) -> Pass:
    sizes = tuple(end - start for start, end in zip(row.edges, row.edges[1:], strict=False))
    return Pass(_row_words(row, place, len(own)), float(row.knots), sizes[::-1] if row.turned else sizes)


def _row_words(row: Row, place: int, of: int) -> str:
    if of == 1:
        return ""
    if row.operation == "pair_knot":
        return "First row" if place == 0 else "Second row"
    return "Second edge, work turned" if row.turned else "First edge"


def _counted_things(work: Work) -> tuple[str, str]:
    """What is counted, one and several: bundles where every knot ties one."""
    section, operation = work.section, work.step.operation
    if section is not None and operation in KNOTS - BUNDLES_GATHERED.keys() and section.kind != "serpentine":
        return "bundle", "bundles"
    if operation == "pair_knot":
        return "pair", "pairs"
    unit = unit_word(work.step)
    return unit_of(10, unit), unit_of(20, unit)


def _width_mm(operation: str, section: Section | None) -> float | None:
    """The width one unit takes, as the reckoning of working thread asks for it."""
    if section is None or operation not in KNOTS or not section.bundles or not section.length_um:
        return None
    if operation == "alternating_knot":
        return None if section.width_um is None else section.width_um / UM_PER_MM
    bundle_mm = section.length_um / section.bundles / UM_PER_MM
    return bundle_mm * BUNDLES_GATHERED.get(operation, 1)


def cautions_of(work: Work) -> list[str]:
    """What must be known before the first stitch or snip of a step, so that nothing is spoilt."""
    always = ["This cannot be undone."] if operation_named(work.step.operation).cannot_be_undone else []
    drawn = None if work.section is None else drawn_section(work.garment.document, work.section.key)
    return always if drawn is None else [*always, *map(Typed, drawn.cautions)]


def makes_bundles(work: Work) -> bool:
    """Whether this step is making the bundles of a row, so that it can still be steered."""
    section, step = work.section, work.step
    if section is None or section.kind not in BAND_KINDS or step.operation not in KNOTS - BUNDLES_GATHERED.keys():
        return False
    return 0 < step.done_tenths < (section.bundles or 0) * TENTHS


def hoop_of(work: Work) -> str:
    """Whether it is worked in a hoop, where that is of account."""
    found = dict(facts_of(work)).get("Hoop")
    if found is None:
        return ""
    return "Work in a hoop." if found == "in a hoop" else "Work without a hoop."


def needle_time(seconds: int) -> str:
    """Time at it, in whole minutes.

    >>> needle_time(0), needle_time(20), needle_time(2520), needle_time(5700), needle_time(7200)
    ('', '1 min', '42 min', '1 h 35 min', '2 h')
    """
    minutes = -(-seconds // 60)
    hours, rest = divmod(minutes, 60)
    return " ".join([f"{hours} h"] * bool(hours) + [f"{rest} min"] * bool(rest))


def undo_as_data(entries: Sequence[OwnEntry]) -> str:
    """One's own counts that may be taken back, for the page's script, the newest first."""
    return _json([{"key": entry.key, "counted": entry.counted_tenths / 10} for entry in entries])


def _json(value: object) -> str:
    return json.dumps(value, separators=(",", ":"))
