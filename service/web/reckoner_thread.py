"""The reckoner's page for working thread: how much, in how many needlefuls, how many skeins."""

from dataclasses import dataclass

from service.reckoning.asked import Wrong
from service.reckoning.operations import OPERATIONS
from service.reckoning.thread import LONGEST_NEEDLEFUL_MM, ThreadAsk, ThreadPlan, Worked, plan_thread, used_ratio
from service.reckoning.thread_rates import THREAD_RATES
from service.records.db import Reading
from service.records.tables import Studio
from service.studio.thread_used import learned_by_thread, learned_of
from service.studio.thread_work import ThreadWork, thread_work
from service.web.amount_words import counted, kept_of_one, shown_amount
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_making import (
    FINE_UNIT,
    LONG_UNIT,
    Answer,
    Filling,
    Page,
    Source,
    as_typed,
    filled_rows,
    mm_of,
    plain,
    rows_of,
)
from service.web.words import cloth_length, measure, operation

ROWS = ("operation", "quantity", "width")
TYPED = ("quantity", "width")
MOST_ROWS = 60
FIELDS = {
    "skein_mm": "skein",
    "needleful_mm": "needleful",
    "operations": "quantity-1",
    "used_mm": "used_last",
    "reckoned_mm": "reckoned_last",
}
SEWN = tuple(name for name in OPERATIONS if name in THREAD_RATES)


@dataclass(frozen=True, slots=True)
class Use:
    """The thread that one row of work leaves in the cloth."""

    words: str
    amount: str
    length: str
    known: str


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    return {"needleful": as_typed(LONGEST_NEEDLEFUL_MM, studio.length_unit)}


def answer(form: Form, studio: Studio) -> Answer | None:
    """The thread that this work takes."""
    rows = filled_rows(form, TYPED, MOST_ROWS)
    ask = _ask(form, studio, rows)
    if ask is None:
        return None
    try:
        plan = plan_thread(ask)
    except Wrong as wrong:
        put(form, wrong, {**FIELDS, **_fields_of(wrong.field, rows)})
        return None
    unit = studio.length_unit
    figures = (
        ("Thread, tails included", cloth_length(plan.working_thread_mm * 1000, unit)),
        ("Needlefuls", str(plan.needlefuls)),
        ("Skeins", str(plan.skeins)),
    )
    return Answer(_told(ask, plan, studio), figures, plan.findings, (), (), _uses(ask, plan, unit))


def learned(db: Reading, studio: Studio, source: Source | None, at: int) -> dict[str, str]:
    """What was reckoned and really used of this thread before; of all threads where nothing is known of it."""
    threads = list(_work_of(source)) if source else []
    thread = threads[at] if at < len(threads) else None
    found = learned_of(learned_by_thread(db), thread)
    if found is None:
        return {}
    unit = LONG_UNIT[studio.length_unit]
    return {
        "reckoned_last": as_typed(found.reckoned_um / 1000, unit, 3),
        "used_last": as_typed(found.used_um / 1000, unit, 3),
    }


def work_rows(form: Form) -> tuple[int, ...]:
    """The rows of work to show."""
    return rows_of(form, TYPED, MOST_ROWS)


def _ask(form: Form, studio: Studio, rows: list[int]) -> ThreadAsk | None:
    long_unit = LONG_UNIT[studio.length_unit]
    skein = mm_of(form, "skein", long_unit, called="the length of a skein")
    needleful = mm_of(form, "needleful", studio.length_unit, called="the needleful")
    if not rows:
        form.fault("quantity-1", "Enter one row of work at least.")
    work = tuple(_worked(form, studio, at) for at in rows)
    correction = _correction(form, long_unit)
    if form.wrong or skein is None or needleful is None:
        return None
    return ThreadAsk(work, skein, needleful, correction)


def _worked(form: Form, studio: Studio, at: int) -> Worked:
    name = form.choice(f"operation-{at}", SEWN, called="what is worked")
    quantity = form.decimal(f"quantity-{at}", called="how much of it", most=1e6)
    width = mm_of(form, f"width-{at}", FINE_UNIT[studio.length_unit], called="the width", needed=False)
    kept = (
        0.0 if quantity is None else float(quantity * kept_of_one(OPERATIONS[name].unit if name in OPERATIONS else ""))
    )
    return Worked(name, kept, width)


def _correction(form: Form, long_unit: str) -> float | None:
    """What was really used for each length reckoned, before; None where nothing is said."""
    reckoned = mm_of(form, "reckoned_last", long_unit, called="what was reckoned", needed=False)
    used = mm_of(form, "used_last", long_unit, called="what was used", needed=False)
    if (reckoned is None) != (used is None) and not form.wrong:
        form.fault("used_last", "Fill in both, what was reckoned and what was used, or neither.")
    if reckoned is None or used is None:
        return None
    try:
        return used_ratio(reckoned, used)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
        return None


def _fields_of(field: str, rows: list[int]) -> dict[str, str]:
    parts = field.split(".")
    return {field: f"{parts[2]}-{rows[int(parts[1])]}".replace("width_mm", "width")} if len(parts) == 3 else {}


def _told(ask: ThreadAsk, plan: ThreadPlan, studio: Studio) -> str:
    unit = studio.length_unit
    skeins = "1 skein" if plan.skeins == 1 else f"{plan.skeins} skeins"
    needlefuls = "1 needleful" if plan.needlefuls == 1 else f"{plan.needlefuls} needlefuls"
    size = "" if any(use.uncut for use in plan.by_operation) else f" of {measure(ask.needleful_mm * 1000, unit)}"
    return f"{skeins}: {cloth_length(plan.working_thread_mm * 1000, unit)} in {needlefuls}{size}."


def _uses(ask: ThreadAsk, plan: ThreadPlan, unit: str) -> tuple[Use, ...]:
    return tuple(
        Use(
            operation(use.operation),
            counted(round(worked.quantity * 10), OPERATIONS[use.operation].unit),
            cloth_length(use.thread_mm * 1000, unit),
            "learned" if ask.correction is not None else "a guess" if use.guessed else "by its stitch",
        )
        for worked, use in zip(ask.operations, plan.by_operation, strict=True)
    )


def fill(source: Source) -> tuple[Filling, ...]:
    """The sewing of the garment, thread by thread as its design names them."""
    return tuple(_filling(source.studio, thread, rows) for thread, rows in _work_of(source).items())


def _work_of(source: Source) -> ThreadWork:
    return thread_work(source.parts.sections, source.parts.steps, source.drawn)


def _filling(studio: Studio, thread: str, rows: dict[tuple[str, float | None], float]) -> Filling:
    fields = {}
    for at, ((name, width_mm), quantity) in enumerate(list(rows.items())[:MOST_ROWS], 1):
        fields[f"operation-{at}"] = name
        fields[f"quantity-{at}"] = plain(shown_amount(quantity, OPERATIONS[name].unit))
        fields[f"width-{at}"] = "" if width_mm is None else as_typed(width_mm, FINE_UNIT[studio.length_unit])
    note = "Fill in how long a skein of it is. All of the work is counted, what is done already too."
    return Filling(thread or "sewing without a named thread", fields, note)


PAGE = Page(
    "thread",
    frozenset({"skein", "needleful", "reckoned_last", "used_last", *ROWS}),
    usual,
    answer,
    fill,
    {"work_rows": work_rows, "sewn": SEWN},
    learned=learned,
)
