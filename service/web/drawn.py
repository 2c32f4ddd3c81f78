"""What the drawings need, built from the records of a garment."""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import cast

from markupsafe import Markup

from service.drawing.garment_map import garment_map
from service.drawing.parts import parts, worked_from
from service.drawing.shown import ShownPanel, ShownSection
from service.drawing.thumbnail import thumbnail
from service.reckoning.designs import Direction, SectionKind, Side
from service.records.queries.drawn import DrawnRows, PanelRow, SectionRow
from service.studio.places import read_outline, read_places

UM_PER_MM = 1000


def small_drawing(rows: DrawnRows, name: str, prefix: str, hand: int | None = None) -> Markup:
    """A garment small, for one row of a ledger; `hand` is the section where a hand is needed now."""
    return Markup(_thumbnail(rows, name, prefix, hand)) if rows.panels else Markup()  # noqa: S704 (SVG of our own)


def large_drawing(rows: DrawnRows, name: str, hand: int | None = None) -> Markup:
    """A garment large, its sections links to where the page writes of them."""
    if not rows.panels:
        return Markup()
    return Markup(_large(rows, name, hand))  # noqa: S704 (SVG of our own, all escaped)


def plain_drawing(rows: DrawnRows, name: str) -> Markup:
    """A garment large, leading nowhere: for somebody outside the workroom."""
    return Markup(_plain(rows, name)) if rows.panels else Markup()  # noqa: S704 (as above)


# The same rows give the same drawing, so one that nobody worked on since is not drawn again.
@lru_cache(maxsize=24)
def _large(rows: DrawnRows, name: str, hand: int | None) -> str:
    href = {section.key: f"/garments/{section.garment_id}#section-{section.id}" for section in rows.sections}
    return garment_map(shown_panels(rows, hand, href), name)


@lru_cache(maxsize=24)
def _plain(rows: DrawnRows, name: str) -> str:
    return garment_map(shown_panels(rows), name, "piece")


@lru_cache(maxsize=400)
def _thumbnail(rows: DrawnRows, name: str, prefix: str, hand: int | None) -> str:
    return thumbnail(shown_panels(rows, hand), name, prefix)


def shown_panels(
    rows: DrawnRows, hand: int | None = None, href: Mapping[str, str] | None = None
) -> tuple[ShownPanel, ...]:
    """The panels to draw, with their sections on them; `hand` is the section where a hand is needed now."""
    lying: dict[str, list[ShownSection]] = {panel.key: [] for panel in rows.panels}
    for section in rows.sections:
        for panel, shown in _on_panels(section, needs_hand=section.id == hand, href=(href or {}).get(section.key, "")):
            lying[panel].append(shown)
    return tuple(_panel(panel, lying[panel.key]) for panel in rows.panels)


def _panel(row: PanelRow, sections: Iterable[ShownSection]) -> ShownPanel:
    return ShownPanel(
        row.key,
        row.name,
        cast("Side", row.side),
        read_outline(row.outline),
        row.block_width_um / UM_PER_MM,
        row.block_height_um / UM_PER_MM,
        (row.at_x_um / UM_PER_MM, row.at_y_um / UM_PER_MM),
        tuple(sections),
    )


def _on_panels(row: SectionRow, *, needs_hand: bool, href: str) -> Iterable[tuple[str, ShownSection]]:
    places = read_places(row.places)
    direction = cast("Direction | None", row.direction)
    done = min(1.0, row.done / row.whole) if row.whole else 0.0
    for place, part in zip(places, parts(places, direction, row.bundles or 0, done), strict=True):
        yield (
            place.panel,
            ShownSection(
                row.key,
                row.name,
                cast("SectionKind", row.kind),
                place.place,
                direction,
                part.bundles,
                part.done_fraction,
                needs_hand=needs_hand and part.reached,
                href=href,
                worked_from=worked_from(row.work_direction, row.side_worked),
            ),
        )
