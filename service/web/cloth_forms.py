"""What is typed of cloth: its facts, readings over any length, lengths that came or went, a swatch's lengths."""

import re
from fractions import Fraction

from service.reckoning.asked import Wrong
from service.records.tables import Cloth, Studio
from service.records.tables.cloth import SYSTEMS
from service.studio.cloth import ClothFacts, Counting, PlaceRead, shrinkage_known
from service.studio.cloth_lengths import MOVED_KINDS, Moved, MovedKind
from service.studio.cloth_swatches import SwatchLength
from service.web.amount_words import price_to_keep
from service.web.forms import UM_PER, Form
from service.web.manner import typed
from service.web.words import LONG_UNIT, over_length

PLACES = (1, 2, 3, 4, 5)
SWATCH_PLACES = (1, 2, 3)
MOST_OVER_UM = 10_000_000
MOST_THREADS = 100_000
FRACTIONS = str.maketrans({"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", ",": ".", "″": '"'})
LENGTH = re.compile(
    r'(?:(\d{1,6}(?:\.\d{1,6})?) ?)?(?:(\d{1,3})/(\d{1,3}))? ?(mm|cm|m|in|inch|inches|")?', re.IGNORECASE
)
UNIT_OF = {'"': "in", "inch": "in", "inches": "in"}
LIKE = "Write the length with its unit, like 5 cm, 50 mm or 1/4 in."


def facts_from(form: Form, studio: Studio) -> ClothFacts:
    """What is written down of a cloth."""
    width_um = form.length_um("width", studio.length_unit, called="the width", most=1000)
    weight = form.decimal("weight", called="the weight", least=0.001, most=10_000, needed=False)
    return ClothFacts(
        name=form.text("name", called="a name"),
        fibre=form.text("fibre", called="the fibre"),
        width_um=width_um or 0,
        weight_mg_per_m2=None if weight is None else int(weight * 1000),
        shrink_warp_bp=_shrinkage(form, "warp"),
        shrink_weft_bp=_shrinkage(form, "weft"),
        price_minor_per_m=price_to_keep(form.money_minor("price", studio.currency, called="the price"), "m"),
        notes=form.text("notes", called="the notes", most=10_000, needed=False),
    )


def facts_as_typed(cloth: Cloth, studio: Studio, price: str) -> Form:
    """The form as it would have been typed for this cloth."""
    per_unit = UM_PER[studio.length_unit]
    return Form(
        {
            "name": cloth.name,
            "fibre": cloth.fibre,
            "width": _plain(cloth.width_um / per_unit),
            "weight": "" if cloth.weight_mg_per_m2 is None else _plain(cloth.weight_mg_per_m2 / 1000),
            "shrink_warp": percent_typed(shrinkage_known(cloth)[0]),
            "shrink_weft": percent_typed(shrinkage_known(cloth)[1]),
            "price": price,
            "notes": cloth.notes,
        }
    )


def counting_from(form: Form, studio: Studio) -> Counting:
    """The places counted; a row with nothing in it is no place."""
    places = [_place(form, studio, system, at) for system in SYSTEMS for at in PLACES if _is_typed(form, system, at)]
    if not places:
        form.fault("warp-1", "Enter the threads you counted at one place at least.")
    instead = form.ticked("instead")
    reason = form.text("reason", called="the reason", most=1000, needed=False)
    name_places(form)
    return Counting(places, instead, reason)


def name_places(form: Form) -> None:
    """Begin what is wrong at a place with the place's name: two places may be wrong in the same way."""
    for field, sentence in form.errors.items():
        system, _, rest = field.partition("-")
        if system in SYSTEMS and _is_typed(form, system, int(rest[0])):
            form.errors[field] = f"{system.capitalize()}, place {rest[0]}: {sentence[:1].lower()}{sentence[1:]}"


def moved_from(form: Form, studio: Studio) -> Moved:
    """A length that came or went."""
    kinds: dict[str, MovedKind] = {kind: kind for kind in MOVED_KINDS}
    kind = kinds.get(form.choice("kind", kinds, called="whether it came in, was cut or was given back"), "bought")
    length_um = form.length_um("length", LONG_UNIT[studio.length_unit], called="the length")
    garment_id = form.number_of("garment", called="the garment", needed=False)
    return Moved(kind, length_um or 0, form.text("reason", called="the reason", most=1000, needed=False), garment_id)


def swatch_from(form: Form, studio: Studio) -> list[SwatchLength]:
    """The swatch's lengths; a row with nothing in it was not measured."""
    lengths = []
    for system in SYSTEMS:
        rows = [at for at in SWATCH_PLACES if form.raw(f"{system}-{at}-before") or form.raw(f"{system}-{at}-after")]
        for at in rows or SWATCH_PLACES[:1]:
            before = _swatch_length(form, studio, f"{system}-{at}-before", "the length before washing")
            after = _swatch_length(form, studio, f"{system}-{at}-after", "the length after washing")
            lengths.append(SwatchLength(system, before, after))
    for field, sentence in form.errors.items():
        along, _, rest = field.partition("-")
        if along in SYSTEMS:
            form.errors[field] = f"{along.capitalize()}, length {rest[0]}: {sentence[:1].lower()}{sentence[1:]}"
    return lengths


def put_wrong(form: Form, wrong: Wrong) -> None:
    """Put what the reckoning refuses of a swatch at the field it was typed in."""
    system = "weft" if wrong.field.startswith("weft") else "warp"
    when = "before" if "before" in wrong.field else "after"
    form.fault(f"{system}-1-{when}", wrong.sentence[:1].upper() + wrong.sentence[1:] + ".")


def length_over(form: Form, field: str, unit: str) -> int | None:
    """A length written with or without its unit, whole, decimal or as a fraction, in whole micrometres.

    >>> form = Form({"a": "5 cm", "b": "1/4 in", "c": "1 1/2", "d": "½"})
    >>> [length_over(form, field, "in") for field in "abcd"]
    [50000, 6350, 38100, 12700]
    """
    typed = " ".join(form.raw(field).translate(FRACTIONS).split())
    found = LENGTH.fullmatch(typed)
    if not found or not (found[1] or found[2]) or found[3] == "0" * len(found[3] or "x"):
        form.fault(field, LIKE)
        return None
    value = Fraction(found[1] or 0) + (Fraction(int(found[2]), int(found[3])) if found[2] else 0)
    written = (found[4] or unit).lower()
    um = round(value * UM_PER[UNIT_OF.get(written, written)])
    if not 0 < um <= MOST_OVER_UM:
        form.fault(field, "Count over more than nothing and at most 10 m.")
        return None
    return um


def over_to_begin_with(studio: Studio, last_over_um: int | None) -> str:
    """The length first offered to count over: the last one used on this cloth, else a usual one."""
    if last_over_um:
        return over_length(last_over_um, studio.count_unit)
    return "1 in" if studio.count_unit == "in" else "5 cm"


def _is_typed(form: Form, system: str, at: int) -> bool:
    return any(form.raw(f"{system}-{at}{part}") for part in ("", "-over", "-place"))


def _place(form: Form, studio: Studio, system: str, at: int) -> PlaceRead:
    field = f"{system}-{at}"
    threads = form.whole(field, called="the threads counted", least=1, most=MOST_THREADS)
    over_field = f"{field}-over" if form.raw(f"{field}-over") else "over"
    over_um = length_over(form, over_field, studio.count_unit)
    place = form.text(f"{field}-place", called="the place", most=100, needed=False)
    return PlaceRead(system, threads or 1, over_um or 1, place, field)


def _swatch_length(form: Form, studio: Studio, field: str, called: str) -> int:
    return form.length_um(field, studio.length_unit, called=called, most=390) or 1


def _shrinkage(form: Form, system: str) -> int | None:
    value = form.decimal(f"shrink_{system}", called=f"the shrinkage along the {system}", most=50, needed=False)
    return None if value is None else int(value * 100)


def percent_typed(basis_points: int | None) -> str:
    """Hundredths of a per cent as they would be typed; nothing where they are not known."""
    return "" if basis_points is None else _plain(basis_points / 100)


def _plain(value: float) -> str:
    return typed(float(value))
