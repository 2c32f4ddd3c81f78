"""Pages of one design in its sizes: drawn side by side to one scale, what each takes, one kept by itself."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup

from service.drawing.from_plan import shown_panels
from service.drawing.size_drawing import size_drawings
from service.languages.spoken import said
from service.reckoning.designs import ClothCounts, Design
from service.reckoning.growth_tables import ATTRIBUTION
from service.reckoning.sizes import size_words
from service.records.tables import Studio
from service.studio import designs
from service.studio.cloth import shrink_percents
from service.studio.sizes import USUAL_WIDTH_MM, EverySize, InSize, Length, OnCloth, in_every_size, keep_size
from service.web.deps import Id, Now, OwnerDesk, Reads, SignedInDesk, Writes
from service.web.design_pages import Told, findings_of
from service.web.forms import Form
from service.web.making import ShelfCloth, cloth_fields, shelf_of
from service.web.words import KIND_WORDS, cloth_length, hours, measure, tidy

router = APIRouter(include_in_schema=False, prefix="/designs/{design_id}/sizes")

PAGE = "designs/sizes.html"
UM_PER_MM = 1000
RULES = {
    "height": (
        "Widths grow by the girth, lengths by the height, necks and bonnets by the head.",
        f"Head, and weight for the girth, at the age whose median length is that height: {ATTRIBUTION}",
        "That the girth goes as the root of weight by length is geometry.",
        "What of a garment grows by which is common practice, no source.",
    ),
    "bust": (
        "Widths grow by the bust, lengths by a quarter of that, the neck not at all.",
        "Common practice, no source.",
    ),
    "side": ("All of it grows by the side of the square.", "This is arithmetic."),
}
ALWAYS = "Threads withdrawn, bundles, tucks, hems, bindings and seams stay as drawn up; bands are counted out anew."


@dataclass(frozen=True, slots=True)
class SizeShown:
    """One size as the page shows it."""

    size_cm: int
    words: str
    is_own: bool
    drawing: Markup
    knots: str
    hours: str
    to_buy: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a ledger whose columns are the sizes; a cell says a figure and what stands beside it."""

    name: str
    about: str
    cells: tuple[tuple[str, str], ...]


@router.get("")
def show_sizes(desk: SignedInDesk, db: Reads, design_id: Id) -> Response:
    assert desk.studio
    row = designs.design_with(db, design_id)
    form = Form(dict(desk.request.query_params))
    shelf = shelf_of(db)
    design = designs.drawn_up(row.document).design
    every = in_every_size(db, row, _cloths(form, design, shelf))
    found = every.drawn if every else ()
    return desk.page(
        PAGE,
        "designs",
        status=422 if form.wrong else 200,
        block="sizes",
        row=row,
        form=form,
        design=design,
        sizes=_shown(every, desk.studio) if every else (),
        undrawn=every.undrawn if every else (),
        rules=(*RULES[every.sizes.by], ALWAYS) if every else (),
        told=_told(found),
        blocks=tuple(_blocks(found, desk.studio)),
        bands=tuple(_bands(found)),
        usual_width=measure(USUAL_WIDTH_MM * UM_PER_MM, desk.studio.length_unit, 0),
        **cloth_fields(desk.studio, form, shelf, design),
    )


@router.post("/{size_cm}/keep")
def keep_in_size(desk: OwnerDesk, db: Writes, at: Now, design_id: Id, size_cm: Id) -> Response:
    return desk.go(f"/designs/{keep_size(db, design_id, size_cm, at).id}/change")


def _cloths(form: Form, design: Design, shelf: Sequence[ShelfCloth]) -> dict[str, OnCloth]:
    """The cloths chosen from the shelf, by role; a sentence at the field for one that cannot be planned on."""
    chosen: dict[str, OnCloth] = {}
    for role in (cloth.role for cloth in design.cloths):
        name = f"cloth.{role}"
        if not form.raw(name):
            continue
        item = next((one for one in shelf if str(one.cloth.id) == form.raw(name)), None)
        if item is None:
            form.fault(name, "Choose a cloth from the shelf.")
        elif item.counts.warp is None or item.counts.weft is None:
            form.fault(name, "Count this cloth’s warp and weft first: nothing is planned on a guess.")
        else:
            chosen[role] = _on(item)
    return chosen


def _on(item: ShelfCloth) -> OnCloth:
    assert item.counts.warp
    assert item.counts.weft
    cloth = item.cloth
    counts = ClothCounts(item.counts.warp.threads_per_cm, item.counts.weft.threads_per_cm)
    return OnCloth(counts, cloth.width_um / UM_PER_MM, shrink_percents(cloth))


def _shown(every: EverySize, studio: Studio) -> tuple[SizeShown, ...]:
    sizes, found = every.sizes, every.drawn
    names = [f"{found[0].design.name}, {said(size_words(sizes, one.size_cm))}" for one in found]
    drawings = size_drawings([shown_panels(one.plan) for one in found], names)
    return tuple(
        SizeShown(
            one.size_cm,
            one.design.size if one.size_cm == sizes.own_cm else size_words(sizes, one.size_cm),
            one.size_cm == sizes.own_cm,
            Markup(drawing),  # noqa: S704 (SVG of our own)
            tidy(one.plan.knots_after, 0),
            hours(one.plan.seconds_after * 1000),
            tuple((length.role, _bought(length, studio)) for length in one.to_buy),
        )
        for one, drawing in zip(found, drawings, strict=True)
    )


def _told(found: Sequence[InSize]) -> tuple[tuple[str, tuple[Told, ...]], ...]:
    """What was noticed, led by the sizes it is true of; what is true of some sizes alike is told once."""
    sizes: dict[Told, list[str]] = {}
    for one in found:
        for told in findings_of(one.plan.sections):
            sizes.setdefault(told, []).append(str(one.size_cm))
    by_sizes: dict[str, tuple[Told, ...]] = {}
    for told, true_of in sizes.items():
        words = "every size" if len(true_of) == len(found) else ", ".join(true_of)
        by_sizes[words] = (*by_sizes.get(words, ()), told)
    return tuple(by_sizes.items())


def _bought(length: Length, studio: Studio) -> str:
    if length.buy_mm is None:
        return f"cannot be laid: {length.why}"
    return cloth_length(length.buy_mm * UM_PER_MM, studio.length_unit)


def _blocks(found: Sequence[InSize], studio: Studio) -> Iterator[Row]:
    """The blocks to cut, tucks unmade, mirrored panels with the one they mirror."""
    if not found:
        return
    mirrored = [panel.mirror_of for panel in found[0].design.panels if panel.mirror_of]
    for at, panel in enumerate(found[0].design.panels):
        if not panel.mirror_of:
            plans = [one.plan.panels[at] for one in found]
            sizes = tuple(
                (f"{_side(plan.cut_width_mm, studio)} × {_side(plan.cut_height_mm, studio)}", "") for plan in plans
            )
            yield Row(panel.name, "and its mirror" if panel.key in mirrored else "", sizes)


def _side(length_mm: float, studio: Studio) -> str:
    return measure(length_mm * UM_PER_MM, studio.length_unit).removesuffix(f" {studio.length_unit}")


def _bands(found: Sequence[InSize]) -> Iterator[Row]:
    """The bundles of every band, mirrors told once."""
    if not found:
        return
    for at, section in enumerate(found[0].plan.sections):
        if section.design.is_band and not section.mirror_of:
            yield Row(section.name, KIND_WORDS[section.kind], tuple(_bundles(one, at) for one in found))


def _bundles(one: InSize, at: int) -> tuple[str, str]:
    after = one.plan.sections[at].after
    if after.bundles is None:
        return "–", ""
    if after.bundle_sizes:
        return f"{after.bundles} of {min(after.bundle_sizes)}", f"or {max(after.bundle_sizes)}"
    beside = f"{after.left_over_threads} beside" if after.left_over_threads else ""
    return f"{after.bundles} of {after.bundle_threads}", beside
