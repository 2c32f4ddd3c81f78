"""What of a garment its cautions turn on, read from its records."""

from collections.abc import Sequence

from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.cautions import Part, Wearer, Worn, parts_named, wearer_on
from service.reckoning.design_text import design_on_record
from service.records.db import Reading, Writing
from service.records.tables import Cloth, Commission, Garment, Panel, Section
from service.studio.places import read_outline

UM_PER_MM = 1000


def worn_of(
    db: Reading | Writing, garment: Garment, panels: Sequence[Panel], sections: Sequence[Section], wearer: Wearer | None
) -> Worn:
    """What a garment has and who wears it: by the child's age on the day unless the wearer is named."""
    commission = db.get_one(Commission, garment.commission_id)
    weights = [
        cloth.weight_mg_per_m2
        for number in dict.fromkeys(panel.cloth_id for panel in panels)
        if (cloth := db.get_one(Cloth, number)).weight_mg_per_m2 is not None
    ]
    said = [garment.name, design_on_record(garment.document).name, *(section.name for section in sections)]
    open_work: frozenset[Part] = frozenset({"open work"} if any(one.kind in BAND_KINDS for one in sections) else ())
    return Worn(
        wearer=wearer or wearer_on(commission.child_born, garment.wanted_on),
        parts=parts_named(said) | open_work,
        length_mm=_length_mm(panels),
        lightest_g_per_m2=min(weight / 1000 for weight in weights if weight is not None) if weights else None,
    )


def _length_mm(panels: Sequence[Panel]) -> float | None:
    """How long the garment is drawn, front or back, whichever is longer; a panel of both sides counts to each."""
    longest = 0.0
    for side in ("front", "back"):
        ends = [
            panel.at_y_um / UM_PER_MM + y
            for panel in panels
            if panel.side in {side, "both"}
            for _, y in read_outline(panel.outline)
        ]
        longest = max(longest, max(ends) - min(ends) if ends else 0.0)
    return longest or None
