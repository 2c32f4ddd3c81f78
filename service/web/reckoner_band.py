"""The reckoner's page for a band: whether its bundles come out even, and what to do when they do not."""

from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response

from service.drawing.finished_band import finished_band
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.bands import BandAsk, BandPlan, LeftOverChoice, plan_band
from service.reckoning.guesses import Guesses, count_felt, seconds_for
from service.reckoning.operations import Amount
from service.records.tables import Studio
from service.studio.guesses import guesses_of
from service.web.deps import Reads, SignedInDesk
from service.web.forms import Form
from service.web.reckoner import asked, put
from service.web.reckoner_counts import FINE_UNIT, count_from

router = APIRouter(include_in_schema=False, prefix="/reckoner")
FIELDS = {
    **{
        name: name
        for name in ("kind", "withdraw_threads", "standing_threads", "bundle_threads", "stop_lines", "pair_rows")
    },
    "withdrawn_threads_per_cm": "withdrawn_count",
    "standing_threads_per_cm": "standing_count",
    "width_mm": "width",
    "length_mm": "length",
}
USUAL = {"kind": "hem_band", "bundle_threads": "4", "stop_lines": "1", "pair_rows": "1"}
WAYS = {
    "shorter": "Stop the band sooner",
    "longer": "Let it run on",
    "spread": "Spread the odd threads over the bundles",
    "into_seam": "Let them run into a seam",
}


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way out of what is odd: in words, and the address where it is reckoned; none where it stays as it is."""

    choice: LeftOverChoice
    words: str
    sizes: str
    href: str


@dataclass(frozen=True, slots=True)
class Work:
    """So much of one operation, and the guess of its time."""

    amount: Amount
    guess_ms: float


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The band as planned, the ways out, the work of it, the picture."""

    plan: BandPlan
    is_even: bool
    ways: tuple[WayOut, ...]
    work: tuple[Work, ...]
    all_ms: float
    drawing: str


@router.get("/band")
def show_band(desk: SignedInDesk, db: Reads) -> Response:
    assert desk.studio
    form = asked(desk, {**USUAL, "count_unit": desk.studio.count_unit})
    is_asked = "bundle_threads" in desk.request.query_params
    found = _reckoned(form, desk.studio, guesses_of(db)) if is_asked else None
    status = 422 if form.wrong else 200
    width_unit = FINE_UNIT[desk.studio.length_unit]
    return desk.page(
        "reckoner/band.html", "reckoner", status=status, form=form, found=found, kinds=BAND_KINDS, width_unit=width_unit
    )


def _reckoned(form: Form, studio: Studio, guesses: Guesses) -> Reckoned | None:
    ask = _ask(form, studio)
    if ask is None or form.wrong:
        return None
    try:
        plan = plan_band(ask)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
        return None
    work = tuple(Work(amount, 1000 * _guess(plan, amount, guesses)) for amount in plan.operations)
    is_even = not any(finding.waits for finding in plan.findings)
    ways = tuple(_way_out(form, choice) for choice in plan.choices)
    return Reckoned(plan, is_even, ways, work, sum(part.guess_ms for part in work), finished_band(plan))


def _ask(form: Form, studio: Studio) -> BandAsk | None:
    kinds: dict[str, BandKind] = {kind: kind for kind in BAND_KINDS}
    kind = kinds.get(form.choice("kind", kinds, called="a kind of band"))
    withdrawn = count_from(form, "withdrawn_count", "count_unit", called="the count of the threads withdrawn")
    standing = count_from(form, "standing_count", "count_unit", called="the count of the standing threads")
    width_um = form.length_um("width", FINE_UNIT[studio.length_unit], called="the width", needed=False)
    length_um = form.length_um("length", studio.length_unit, called="the length", needed=False)
    _one_of_two(form, "withdraw_threads", "width", "Fill in the threads to withdraw or the width, one of the two.")
    _one_of_two(form, "standing_threads", "length", "Fill in the standing threads or the length, one of the two.")
    stop_lines = form.choice("stop_lines", ("0", "1", "2"), called="how many stop lines the band has")
    pair_rows = form.choice("pair_rows", ("1", "2"), called="one row of pairs or two")
    withdraw_threads = form.whole("withdraw_threads", called="the threads to withdraw", least=1, needed=False)
    standing_threads = form.whole("standing_threads", called="the standing threads", least=1, needed=False)
    bundle_threads = form.whole("bundle_threads", called="the threads of a bundle", least=1)
    if form.wrong or kind is None or withdrawn is None or standing is None or bundle_threads is None:
        return None
    return BandAsk(
        kind,
        withdrawn,
        standing,
        withdraw_threads=withdraw_threads,
        width_mm=None if width_um is None else width_um / 1000,
        standing_threads=standing_threads,
        length_mm=None if length_um is None else length_um / 1000,
        bundle_threads=bundle_threads,
        stop_lines=int(stop_lines),
        closed_round=form.ticked("closed_round"),
        pair_rows=int(pair_rows),
        into_seam=form.ticked("into_seam"),
    )


def _one_of_two(form: Form, threads: str, length: str, sentence: str) -> None:
    if bool(form.raw(threads)) == bool(form.raw(length)):
        form.fault(threads, sentence)


def _guess(plan: BandPlan, amount: Amount, guesses: Guesses) -> float:
    felt = count_felt(amount.operation, plan.ask.withdrawn_threads_per_cm, plan.ask.standing_threads_per_cm)
    return seconds_for(amount.operation, amount.quantity, felt, plan.length_mm, guesses)


def _way_out(form: Form, choice: LeftOverChoice) -> WayOut:
    sizes = " and ".join(f"{size}" for size in sorted(set(choice.bundle_sizes)))
    changed: dict[str, str] = {}
    if choice.way in {"shorter", "longer"}:
        changed = {"standing_threads": str(choice.standing_threads), "length": ""}
    elif choice.way == "into_seam":
        changed = {"into_seam": "yes"}
    href = f"/reckoner/band?{urlencode({**form.values, **changed})}" if changed else ""
    return WayOut(choice, WAYS[choice.way], sizes, href)
