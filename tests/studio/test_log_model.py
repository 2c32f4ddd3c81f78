"""Counts, counters, unpicks and recounts in any order do what a plain model of one band on one panel does."""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Any

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st
from sqlmodel import select

from service.errors import Refusal
from service.records.chain import seal_new_events
from service.records.db import Database, Reading, Writing
from service.records.tables import Cloth, Garment, Panel, Section, Step
from service.studio.log import add_tally
from service.studio.proofs import prove
from service.studio.recount import Recount, recount_section
from service.studio.sign_in import Person
from tests.building import a_garment
from tests.counting import ask, number, person, step
from tests.serving import OWNER, START

STEPS = ("cut_block", "mark", "edge_stitch", "clip", "withdraw", "ladder_knot")
LENGTHS = ("mark", "edge_stitch")
GONE = ("cut_block", "clip", "withdraw")
WARP, WEFT, BUNDLE, STOP_LINES = 20, 19, 4, 2


@dataclass(frozen=True)
class Act:
    """Somebody counts a share of what is left (or done) of a step, or a little too much; or recounts the band."""

    kind: str
    step: str
    share: Fraction
    extra: int
    more_on_cloth: bool
    standing: int | None
    withdrawn: int | None


ACTS = st.lists(
    st.builds(
        Act,
        kind=st.sampled_from(["work", "work", "work", "work", "counter", "unpick", "recount"]),
        step=st.sampled_from(["where the work is"] * 8 + list(STEPS)),
        share=st.sampled_from([Fraction(1, 3), Fraction(1), Fraction(1)]),
        extra=st.sampled_from([0, 0, 0, 0, 3]),
        more_on_cloth=st.booleans(),
        standing=st.one_of(st.none(), st.integers(300, 340)),
        withdrawn=st.one_of(st.none(), st.integers(6, 14)),
    ),
    min_size=15,
    max_size=30,
)


@dataclass(frozen=True)
class Band:
    """The bib's upper ladder and its block, in tenths: the model says what may be done, by rules of its own."""

    quantity: dict[str, int]
    done: dict[str, int] = field(default_factory=lambda: dict.fromkeys(STEPS, 0))
    standing: int = 320
    withdrawn: int = 10
    blocks_cut: int = 0

    def counted(self, name: str, change: int, kind: str, *, more: bool) -> "Band | None":
        """The band after the count, None where it must be refused."""
        moved = replace(self, done=self.done | {name: self.done[name] + change})
        if kind == "unpick" and name in GONE:
            return None
        if not all(
            moved.holds(later, before)
            for later in STEPS
            for before in STEPS
            if name == (later if change > 0 else before)
        ):
            return None
        if moved.done[name] < 0:
            return None
        if moved.done[name] > self.quantity[name]:
            if not more or name == "cut_block":
                return None
            moved = moved.with_more(name, self.clips_each)
        cut = {"work": 1, "counter": -1, "unpick": 0}[kind] if name == "cut_block" else 0
        return replace(moved, blocks_cut=self.blocks_cut + cut)

    def holds(self, later: str, before: str) -> bool:
        if later == before or self.done[later] <= 0:
            return True
        whole = self.done[before] >= self.quantity[before]
        if before == "cut_block":
            return whole
        if (later, before) in {("clip", "edge_stitch"), ("ladder_knot", "withdraw")}:
            return whole
        if (later, before) == ("withdraw", "clip"):
            return self.done["withdraw"] // 10 <= self.done["clip"] // 10 // self.clips_each
        return True

    def reached(self, kind: str) -> str:
        """The first step that is not finished; to take something back, the last that is begun."""
        if kind == "work":
            return next((name for name in STEPS if self.done[name] < self.quantity[name]), STEPS[-1])
        return next((name for name in reversed(STEPS) if self.done[name] > 0), STEPS[0])

    @property
    def clips_each(self) -> int:
        return max(1, round(self.quantity["clip"] / self.quantity["withdraw"]))

    def with_more(self, name: str, clips_each: int) -> "Band":
        quantity = self.quantity | {name: self.done[name]}
        if name == "clip":
            threads = ceil(self.done["clip"] / 10 / clips_each)
            quantity["withdraw"] = max(quantity["withdraw"], 10 * threads)
        return replace(self, quantity=quantity)

    def recounted(self, standing: int | None, withdrawn: int | None) -> "Band | None":
        """The band after a recount: odd threads end it sooner, as drawn up."""
        if standing is None and withdrawn is None:
            return None
        bundles = (standing or self.standing) // BUNDLE
        threads = withdrawn or self.withdrawn
        length_cm, width_cm = Fraction(bundles * BUNDLE, WARP), Fraction(threads, WEFT)
        planned = {
            "cut_block": 10,
            "mark": ceil(10 * (2 * length_cm + STOP_LINES * width_cm)),
            "edge_stitch": ceil(10 * STOP_LINES * width_cm),
            "clip": 10 * STOP_LINES * threads,
            "withdraw": 10 * threads,
            "ladder_knot": 20 * bundles,
        }
        if self.done["ladder_knot"] > planned["ladder_knot"]:
            return None
        quantity = {}
        for name in STEPS:
            finished = self.done[name] > 0 and self.done[name] >= self.quantity[name]
            stays = name in LENGTHS and finished
            quantity[name] = self.done[name] if stays else max(planned[name], self.done[name])
        return replace(self, quantity=quantity, standing=bundles * BUNDLE, withdrawn=threads)


def _in_records(db: Writing, garment_id: int) -> Band:
    rows = {name: step(db, garment_id, name, "" if name == "cut_block" else "bib.upper") for name in STEPS}
    section = db.exec(select(Section).where(Section.garment_id == garment_id, Section.key == "bib.upper")).one()
    panel = db.exec(select(Panel).where(Panel.garment_id == garment_id)).one()
    cloth = db.get_one(Cloth, panel.cloth_id, populate_existing=True)
    assert section.standing_threads is not None
    assert section.withdrawn_threads is not None
    return Band(
        quantity={name: row.quantity_tenths for name, row in rows.items()},
        done={name: row.done_tenths for name, row in rows.items()},
        standing=section.standing_threads,
        withdrawn=section.withdrawn_threads,
        blocks_cut=(4_000_000 - cloth.on_hand_um) // panel.cut_height_um,
    )


def _tried(db: Writing, who: Person, garment_id: int, band: Band, act: Act) -> tuple[Band | None, Any]:
    """What the model makes of the act, and how to do it in the studio."""
    if act.kind == "recount":
        section = db.exec(select(Section).where(Section.garment_id == garment_id, Section.key == "bib.upper")).one()
        recount = Recount("counted again", act.standing, act.withdrawn)
        return band.recounted(act.standing, act.withdrawn), lambda: recount_section(
            db, who, number(section), recount, START
        )
    name = band.reached(act.kind) if act.step not in STEPS else act.step
    room = band.quantity[name] - band.done[name] if act.kind == "work" else band.done[name]
    unit = 1 if name in LENGTHS else 10
    tenths = max(unit, int(room * act.share) // unit * unit) + act.extra * unit
    row = step(db, garment_id, name, "" if name == "cut_block" else "bib.upper")
    said = ask(1, counted=Decimal(tenths) / 10, kind=act.kind, more_on_cloth=act.more_on_cloth)
    change = tenths if act.kind == "work" else -tenths
    return band.counted(name, change, act.kind, more=act.more_on_cloth), lambda: add_tally(
        db, who, number(row), said, START
    )


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ACTS)
def test_any_order_of_counts_does_what_the_plain_model_does(database: Database, acts: list[Act]) -> None:
    with database.writing() as db:
        garment_id, who = number(a_garment(db, "bib")), person(db, OWNER)
        band = _in_records(db, garment_id)
        for act in acts:
            after, do = _tried(db, who, garment_id, band, act)
            allowed = True
            point = db.begin_nested()
            try:
                do()
                point.commit()
            except Refusal:
                allowed = False
                point.rollback()
            event(f"{act.kind} {'counted' if allowed else 'refused'}")
            assert allowed == (after is not None), (act, band)
            band = band if after is None else after
            assert _in_records(db, garment_id) == band
        seal_new_events(db)
        assert prove(Reading(db)).faults == ()
        garment = db.get_one(Garment, garment_id)
        steps = db.exec(select(Step).where(Step.garment_id == garment_id)).all()
        assert garment.left_ms == sum(
            ((row.quantity_tenths - row.done_tenths) * row.unit_ms + 5) // 10 for row in steps
        )
        db.rollback()
