"""Small examples of what is reckoned on the cloth, each answered by the reckoner itself when the page is made.

Every figure that a page calls the answer comes from the reckoner; the sums beside it are plain arithmetic, so that a
page that no longer agrees with itself shows it. `tests/web/test_guide_page.py` works each one by hand.
"""

import math
from typing import Any

from service.reckoning.bands import BandAsk, apply_choice, plan_band
from service.reckoning.bias import JOIN_SEAM_MM, BiasAsk, plan_bias
from service.reckoning.blocks import Block
from service.reckoning.counts import Reading, count_of, threads_in, width_of
from service.reckoning.growth import GrowthAsk, plan_growth_tucks
from service.reckoning.layout import ClothAsk, plan_cloth
from service.reckoning.shrink import dimensional_change_percent
from service.reckoning.thread import TAILS_MM, ThreadAsk, Worked, plan_thread
from service.reckoning.thread_rates import THREAD_RATES
from service.reckoning.tube import TubeAsk, plan_tube
from service.reckoning.tucks import TucksAsk, plan_tucks, take_up_mm
from service.reckoning.yarn import cover_si

Example = dict[str, Any]


def on_cloth() -> dict[str, Example]:
    """Every example on the cloth, by its name on the page."""
    made = (count, band, carry, left_over, rows, tucks, growth, bias, tube, cloth, thread, yarn)
    return {each.__name__: each() for each in made}


def count() -> Example:
    """Threads counted at three places, and their mean."""
    threads, over_cm = (101, 99, 103), 5
    found = count_of([Reading(each, over_cm * 10) for each in threads])
    places = [each / over_cm for each in threads]
    return {"threads": threads, "over_cm": over_cm, "places": places, "answer": found}


def band() -> Example:
    """A ladder on a cloth of 20 threads one way and 19 the other."""
    plan = plan_band(BandAsk("ladder", 20, 19, width_mm=9, length_mm=160, stop_lines=2))
    work = {each.operation: each.quantity for each in plan.operations}
    return {"ask": plan.ask, "answer": plan, "work": work}


def carry() -> Example:
    """The band of the example before on a finer cloth, kept by its width and by its threads."""
    threads, from_per_cm, to_per_cm = 18, 20, 24
    width_mm = width_of(threads, from_per_cm)
    kept = threads_in(width_mm, to_per_cm)
    return {
        "threads": threads,
        "from_per_cm": from_per_cm,
        "to_per_cm": to_per_cm,
        "width_mm": width_mm,
        "exact": width_mm * to_per_cm / 10,
        "kept": kept,
        "kept_mm": width_of(kept, to_per_cm),
        "off_mm": width_of(kept, to_per_cm) - width_mm,
        "same_threads_mm": width_of(threads, to_per_cm),
    }


def left_over() -> Example:
    """Fifty standing threads in fours, and the ways of coming out even."""
    ask = BandAsk("hem_band", 20, 20, withdraw_threads=4, standing_threads=50)
    paired = BandAsk("ladder_paired", 20, 20, withdraw_threads=18, standing_threads=50)
    ways = {way: apply_choice(ask, way) for way in ("shorter", "longer", "spread", "into_seam")}
    pairs = {way: apply_choice(paired, way) for way in ("shorter", "longer")}
    return {"ask": ask, "odd": plan_band(ask).left_over_threads, "ways": ways, "pairs": pairs}


def rows() -> Example:
    """Two rows of pair knots, on a band deep enough and on one that is not."""
    deep, shallow = (
        plan_band(BandAsk("ladder_paired", per_cm, 20, withdraw_threads=18, standing_threads=96, pair_rows=2))
        for per_cm in (20, 30)
    )
    between = {name: plan.width_mm - 6 for name, plan in (("deep", deep), ("shallow", shallow))}
    return {"deep": deep, "shallow": shallow, "between": between}


def tucks() -> Example:
    """Three tucks on a panel of 20 cm, and one with its opening inside."""
    plan = plan_tucks(TucksAsk(3, 5, 20, 200, spacing_mm=30))
    return {
        "answer": plan,
        "deep_mm": 5,
        "tucks": 3,
        "width_mm": 200,
        "band_mm": 4,
        "inside_mm": take_up_mm(5, 4, opening_inside=True),
    }


def growth() -> Example:
    """Tucks that let a skirt down by five centimetres."""
    return {"let_down_mm": 50, "deepest_mm": 10, "answer": plan_growth_tucks(GrowthAsk(50, 10, 20, above_hem_mm=60))}


def bias() -> Example:
    """A double binding 6 mm wide for an edge of a metre."""
    plan = plan_bias(BiasAsk(6, "double", 1000, cloth_width_mm=600, cloth_height_mm=300))
    whole = [strip for strip in plan.strips if strip.edge_to_edge]
    return {
        "finished_mm": 6,
        "answer": plan,
        "along_mm": plan.cut_width_mm * math.sqrt(2),
        "whole": len(whole),
        "whole_mm": whole[0].length_mm,
        "seam_mm": JOIN_SEAM_MM,
        "lost_mm": 2 * math.sqrt(2) * JOIN_SEAM_MM,
        "strips_mm": sum(plan.strips_mm),
    }


def tube() -> Example:
    """A square sewn into a tube and cut round and round."""
    plan = plan_tube(TubeAsk(25, 2000, join_seam_mm=6, square_mm=260))
    return {"cut_mm": 25, "square_mm": 260, "seam_mm": 6, "along_mm": 25 * math.sqrt(2), "answer": plan}


def cloth() -> Example:
    """A swatch that shrinks, and two blocks cut so much larger."""
    warp = -dimensional_change_percent(500, 480)
    weft = -dimensional_change_percent(500, 490)
    block = Block("front", 392, 720, copies=2)
    ask = ClothAsk((block,), 900, shrink_warp_percent=warp, shrink_weft_percent=weft)
    return {"warp": warp, "weft": weft, "block": block, "ask": ask, "answer": plan_cloth(ask)}


def thread() -> Example:
    """Working thread for ladder knots and a row of pair knots."""
    plan = plan_thread(ThreadAsk((Worked("ladder_knot", 48, 2), Worked("pair_knot", 12, 4)), skein_mm=8000))
    knots, pairs = plan.by_operation
    return {
        "answer": plan,
        "knots_mm": knots.thread_mm,
        "pairs_mm": pairs.thread_mm,
        "one_mm": THREAD_RATES["ladder_knot"].per_unit_mm(2),
        "tails_mm": TAILS_MM,
        "exact": knots.thread_mm / (450 - TAILS_MM),
    }


def yarn() -> Example:
    """How close the threads of one system lie."""
    return {"per_cm": 28, "tex": 20, "answer": cover_si(28, 20)}
