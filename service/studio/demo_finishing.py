"""The finishing lists of the demo's finished pieces, each thing on them seen to."""

from datetime import datetime

from service.records.db import Writing
from service.records.queries.garments import parts_of
from service.studio.finishing import Check, see_to, wanted
from service.studio.sign_in import Person

NOTES = {"measured": "length and neck as promised, to half a centimetre", "photos": "taken on film, in the album"}


def see_to_all(db: Writing, person: Person, garment_id: int, at: datetime) -> None:
    """Write the whole list of a garment down as seen to."""
    parts = parts_of(db, garment_id)
    for what in wanted(parts.sections, parts.steps):
        see_to(db, person, garment_id, Check(what, "", done=True, note=NOTES.get(what, "")), at)
