"""A step held to be counted on: its garment, all its lines and whose hands it is in, read by two statements.

The first holds the garment; the second reads what may have changed while another held it. None of it is a record's own
object, because every count reads all steps of its garment.
"""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, bindparam, select
from sqlmodel import SQLModel

from service.errors import NotAllowed, NotFound
from service.studio.lines import STEPS, Line, lines_from
from service.studio.sign_in import Person

_GARMENT, _STEP, _PANEL, _TALLY, _STUDIO = (
    SQLModel.metadata.tables[name].c for name in ("garment", "step", "panel", "tally", "studio")
)
_OF_STEP = select(_STEP.garment_id).where(_STEP.id == bindparam("step_id")).scalar_subquery()
_HOLD = (
    select(_GARMENT.id, _GARMENT.state, _GARMENT.wanted_on, _GARMENT.holder_id, _GARMENT.joined_at.is_not(None))
    .where(_GARMENT.id == _OF_STEP)
    .with_for_update()
)
_READ = (
    STEPS.add_columns(
        _PANEL.holder_id,
        select(_STUDIO.usual_minutes_a_day).scalar_subquery(),
        select(_TALLY.body_sha256).where(_TALLY.key == bindparam("key")).scalar_subquery(),
    )
    .where(_STEP.garment_id == bindparam("garment_id"))
    .order_by(_STEP.position)
)
NO_STEP = "There is no such step."
OTHER_HANDS = "This is not in your hands, so it cannot be counted by you. Ask the owner to give it to you."


@dataclass(frozen=True, slots=True)
class Held:
    """A step and its garment as they are while nobody else may change them.

    `holder_id` is who holds its panel, or once they are joined the garment; `seen` is the digest of what the asked key
    already counted.
    """

    garment_id: int
    state: str
    wanted_on: date
    usual_minutes: int
    holder_id: int | None
    panel_id: int | None
    lines: list[Line]
    place: int
    seen: str | None

    @property
    def line(self) -> Line:
        """The step itself."""
        return self.lines[self.place]


def is_hers(person: Person, holder_id: int | None) -> bool:
    """Whether this person may count on what is in these hands: the owner always, nobody else on the shelf's."""
    return person.is_owner or (person.stitcher_id is not None and holder_id == person.stitcher_id)


def held_step(connection: Connection, person: Person, step_id: int, key: str = "") -> Held:
    """The step, held for this change; refused when unknown or in other hands."""
    garment = connection.execute(_HOLD, {"step_id": step_id}).first()
    if garment is None:
        raise NotFound(NO_STEP)
    garment_id, state, wanted_on, holder_id, is_joined = garment
    rows = connection.execute(_READ, {"garment_id": garment_id, "key": key}).all()
    place = next(place for place, row in enumerate(rows) if row.id == step_id)
    panel_id, (panel_holder_id, usual_minutes, seen) = rows[place].panel_id, rows[place][-3:]
    held = Held(
        garment_id=garment_id,
        state=state,
        wanted_on=wanted_on,
        usual_minutes=usual_minutes,
        holder_id=holder_id if is_joined or panel_id is None else panel_holder_id,
        panel_id=panel_id,
        lines=lines_from(rows),
        place=place,
        seen=seen,
    )
    if not is_hers(person, held.holder_id):
        raise NotAllowed(OTHER_HANDS)
    return held
