"""The reckoner's page for the fit on the day: how large to cut for a child of that age."""

from service.reckoning.asked import Wrong
from service.reckoning.fit import FitAsk, Measured, fit_on_the_day
from service.reckoning.fit_garment import MadeFor, garment_findings
from service.reckoning.growth_tables import Sex, What
from service.records.tables import Studio
from service.web.fit_words import SOURCE, fit_shown
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_making import Answer, Page, mm_of

SEXES: dict[str, Sex] = {"girl": "girl", "boy": "boy"}
READINGS: tuple[What, ...] = ("length", "head", "weight")
CALLED: dict[str, str] = {"length": "the length", "head": "the head", "weight": "the weight"}
FIELDS = {"sex": "sex", "born": "born", "on": "on", "gestation_weeks": "weeks", "length_cm": "made_for"}
MOST_KG = 40


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    del studio
    return {}


def answer(form: Form, studio: Studio) -> Answer | None:
    """What is likely on the day, and whether a garment of a given size will do."""
    ask, made_for = _ask(form, studio), _made_for(form, studio)
    if ask is None or form.wrong:
        return None
    try:
        fit = fit_on_the_day(ask)
        shown = fit_shown(fit, studio, made_for)
        findings = (*garment_findings(fit, made_for), *shown.findings)
    except Wrong as wrong:
        put(form, wrong, {**FIELDS, **_fields_of(wrong.field, ask)})
        return None
    return Answer(shown.told, (("Size class", shown.size),), findings, (), (shown.drawing,), shown.lines)


def _ask(form: Form, studio: Studio) -> FitAsk | None:
    sex = SEXES.get(form.choice("sex", SEXES, called="girl or boy"))
    born = form.day("born", called="the day of birth")
    on = form.day("on", called="the day it is worn")
    weeks = form.decimal("weeks", called="the weeks at birth", most=60, needed=False)
    measured = tuple(reading for what in READINGS for reading in _reading(form, studio, what))
    if form.wrong or sex is None or born is None or on is None:
        return None
    return FitAsk(sex, born, on, measured, None if weeks is None else float(weeks), born_is_due=form.ticked("due"))


def _reading(form: Form, studio: Studio, what: What) -> tuple[Measured, ...]:
    value = read_value(form, what, what, studio, needed=False)
    day = form.day(f"{what}_on", called="the day of the reading", needed=bool(form.raw(what)))
    return () if value is None or day is None else (Measured(what, value, day),)


def read_value(form: Form, field: str, what: str, studio: Studio, *, needed: bool = True) -> float | None:
    """A reading as typed: lying length or head in mm, weight in g."""
    if what == "weight":
        kg = form.decimal(field, called="the weight", most=MOST_KG, needed=needed, above=True)
        return None if kg is None else float(kg) * 1000
    return mm_of(form, field, studio.length_unit, called=CALLED[what], needed=needed)


def _made_for(form: Form, studio: Studio) -> MadeFor:
    made = mm_of(form, "made_for", studio.length_unit, called="the size of the garment", needed=False)
    return MadeFor(None if made is None else made / 10)


def _fields_of(field: str, ask: FitAsk) -> dict[str, str]:
    """The form's name for what is wrong with a reading, or with having any."""
    parts = field.split(".")
    if parts[0] != "measured":
        return {}
    what = ask.measured[int(parts[1]) if len(parts) == 3 else 0].what
    return {field: f"{what}_on" if parts[-1] == "on" else what}


PAGE = Page(
    "fit",
    frozenset({"sex", "born", "due", "on", "weeks", "made_for", *READINGS, *(f"{what}_on" for what in READINGS)}),
    usual,
    answer,
    context={"source": SOURCE},
    is_kept=False,
)
