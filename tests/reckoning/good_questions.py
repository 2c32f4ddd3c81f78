"""Good questions of every kind, a walk over the figures in one, and the refusal of a bad one in words."""

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import date
from typing import Any

from service.reckoning import (
    bands,
    bias,
    blocks,
    counts,
    dates,
    designs,
    fit,
    growth,
    layout,
    price,
    rates,
    shrink,
    stopping,
    tension,
    thread,
    track_record,
    tube,
    tucks,
    yarn,
)
from service.reckoning.asked import Wrong
from service.reckoning.capacity import Stitcher
from service.reckoning.paces import Range

FAR = 10**15
MAY = date(2027, 5, 3)
BAND_DRAWN = designs.SectionDesign(
    "band",
    "Band",
    "ladder",
    placements=(designs.Placement("front", "top", 50, 10, 300, seams_mm=5),),
    withdraw_threads=12,
    standing_threads=96,
    length_mm=300,
    catch_threads=2,
    depth_mm=5,
    finished_width_mm=6,
    binding_seam_mm=6,
    number=3,
)
# One good question of each kind; every figure in it is made none, too small and too large in turn.
GOOD: dict[str, tuple[Callable[[Any], object], Any]] = {
    "band by threads": (bands.plan_band, bands.BandAsk("ladder", 20, 19, withdraw_threads=12, standing_threads=96)),
    "band by width": (bands.plan_band, bands.BandAsk("hem_band", 20, 19, width_mm=6, length_mm=300)),
    "bias": (
        bias.plan_bias,
        bias.BiasAsk(6, "double", 1000, 1500, 400, binding_seam_mm=5, keep_clear_at_mm=(500,)),
    ),
    "cloth": (layout.plan_cloth, layout.ClothAsk((blocks.Block("front", 400, 700, 2),), 1400, 5, 4, 3)),
    "dates": (
        dates.reckon_dates,
        dates.DatesAsk(
            MAY,
            (Stitcher("Ada", (4.0, 4.0, 0.0, 5.0, 5.0, 1.0, 0.0)),),
            (dates.Job("a", "gown", "Ada", 12.0), dates.Job("b", "gown", "Ada", Range(5.0, 8.0, 12.0))),
        ),
    ),
    "fit": (
        fit.fit_on_the_day,
        fit.FitAsk("girl", date(2026, 1, 1), date(2026, 10, 2), (fit.Measured("length", 620, date(2026, 4, 2)),), 39),
    ),
    "growth": (growth.plan_growth_tucks, growth.GrowthAsk(50, 10, 20, 60, 25)),
    "price": (price.reckon_price, price.PriceAsk(40, 44, 2500, 300, 9000, 15, 100, (50, 50))),
    "alteration": (price.reckon_alteration, price.AlterationAsk(40, 44, 2500, 300, 900, 15, 500, 100)),
    "swatch": (shrink.shrink_test, shrink.Swatch((250, 250), (245, 244), (250,), (248,))),
    "thread": (thread.plan_thread, thread.ThreadAsk((thread.Worked("hem_knot", 10, 2),), 8000, 400, 1.1)),
    "counts of a cloth": (lambda asked: asked, designs.ClothCounts(20, 19)),
    "a band drawn up": (lambda asked: asked, BAND_DRAWN),
    "a panel drawn up": (lambda asked: asked, designs.PanelDesign("front", "Front", "front", "body", 300, 400)),
    "two counts of a stitch": (lambda asked: asked, tension.Sample(30, 31)),
    "a band in hand": (lambda asked: asked, stopping.BandInHand("ladder", (4, 4), 12, 1, pair_rows=1)),
    "readings": (lambda asked: counts.count_of((asked,)), counts.Reading(100, 50)),
    "a finished garment": (track_record.surprise, track_record.Finished(20, 10, 5, 20)),
    "a yarn": (lambda asked: yarn.weight_g_per_m2(asked, yarn.Threads(19, 25, 4)), yarn.Threads(20, 25, 4)),
    "logged work": (
        lambda asked: rates.check_logged(asked, "log", rates.Prior()),
        rates.LoggedWork(MAY, "Ada", "withdraw", 20, "gown", 40, 30, 250),
    ),
    "tube": (tube.plan_tube, tube.TubeAsk(36, 2000, 6, 600)),
    "tucks": (tucks.plan_tucks, tucks.TucksAsk(5, 4, 20, 300, 20, 2)),
}


Changed = Callable[[float], Any]


def places(ask: object) -> Iterator[tuple[str, Changed]]:
    """Every figure in a question: its path, and what gives the question with another figure there."""
    if isinstance(ask, tuple):
        parts = [(str(at), one, _in_tuple(ask, at)) for at, one in enumerate(ask)]
    elif is_dataclass(ask) and not isinstance(ask, type):
        parts = [(field.name, getattr(ask, field.name), _in_record(ask, field.name)) for field in fields(ask)]
    else:
        parts = []
    for name, one, put in parts:
        if isinstance(one, int | float) and not isinstance(one, bool):
            yield name, put
        for path, other in places(one):
            yield f"{name}.{path}", _both(put, other)


def _in_tuple(ask: tuple[Any, ...], at: int) -> Changed:
    return lambda value: (*ask[:at], value, *ask[at + 1 :])


def _in_record(ask: Any, name: str) -> Changed:
    return lambda value: replace(ask, **{name: value})


def _both(put: Changed, other: Changed) -> Changed:
    return lambda value: put(other(value))


def told(reckon: Callable[[], object]) -> str:
    """The field and the sentence of the refusal; "" when it is answered."""
    try:
        reckon()
    except Wrong as wrong:
        return f"{wrong.field}: {wrong.sentence}"
    return ""


def odd(value: object) -> Any:
    """A value of another kind than is asked for, as it may come from outside."""
    return value
