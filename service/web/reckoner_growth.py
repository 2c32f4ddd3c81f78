"""The reckoner's page for growth tucks: plain tucks above a hem, to be let out as the child grows."""

from service.languages.spoken import said
from service.reckoning.asked import Wrong
from service.reckoning.growth import GrowthAsk, GrowthPlan, plan_growth_tucks
from service.records.tables import Studio
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_counts import count_from
from service.web.reckoner_making import FINE_UNIT, Answer, Filling, Page, Source, mm_of, plain
from service.web.words import fine, measure, per

FIELDS = {
    "let_down_mm": "let_down",
    "deepest_mm": "deepest",
    "threads_per_cm": "count",
    "above_hem_mm": "above_hem",
    "spacing_mm": "spacing",
}
PER_INCH = {"cm": 1.0, "in": 2.54}


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    return {"count_unit": studio.count_unit}


def answer(form: Form, studio: Studio) -> Answer | None:
    """The fewest equal tucks that let a skirt down by so much."""
    ask = _ask(form, studio)
    if ask is None:
        return None
    try:
        plan = plan_growth_tucks(ask)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
        return None
    return Answer(_told(plan, studio), _figures(plan, studio), (), plan.notes, (), plan.lines)


def _ask(form: Form, studio: Studio) -> GrowthAsk | None:
    unit, fine_unit = studio.length_unit, FINE_UNIT[studio.length_unit]
    let_down = mm_of(form, "let_down", unit, called="how far it is to be let down")
    deepest = mm_of(form, "deepest", fine_unit, called="the deepest tuck")
    per_cm = count_from(form, "count", "count_unit", called="the count")
    above = mm_of(form, "above_hem", unit, called="the place of the lowest tuck")
    spacing = mm_of(form, "spacing", fine_unit, called="the spacing", needed=False)
    if form.wrong or let_down is None or deepest is None or per_cm is None or above is None:
        return None
    return GrowthAsk(let_down, deepest, per_cm, above, spacing)


def _told(plan: GrowthPlan, studio: Studio) -> str:
    tucks = "1 tuck" if plan.tucks == 1 else f"{plan.tucks} tucks"
    longer = measure(plan.take_up_mm * 1000, studio.length_unit, 2)
    return f"{tucks} of {plan.depth_threads} threads: cut the skirt {longer} longer."


def _figures(plan: GrowthPlan, studio: Studio) -> tuple[tuple[str, str], ...]:
    unit = studio.length_unit
    steps = ", ".join(measure(length * 1000, unit, 2) for length in plan.lets_down_mm[:12])
    more = " and so on" if len(plan.lets_down_mm) > 12 else ""
    return (
        ("Depth of each, seam to fold", f"{plan.depth_threads} threads, {fine(plan.depth_mm, unit)}"),
        ("Taken up", fine(plan.take_up_mm, unit)),
        ("Let out one by one, it hangs lower by", steps + more),
    )


def fill(source: Source) -> tuple[Filling, ...]:
    """The count along the hem of each of the garment's cloths."""
    unit = source.studio.count_unit
    counts = dict.fromkeys((panel.weft_per_cm, source.cloths[panel.cloth_id].name) for panel in source.parts.panels)
    return tuple(
        Filling(
            f"{name}, {said('weft')} {said(per(weft, unit))}",
            {"count_unit": unit, "count": plain(weft * PER_INCH[unit])},
            "Fill in how far it is to be let down, how deep a tuck may be, and where the lowest lies.",
        )
        for weft, name in counts
    )


PAGE = Page("growth", frozenset({*FIELDS.values(), "count_unit"}), usual, answer, fill)
