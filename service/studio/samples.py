"""The receiver's sample row, and how it lies beside the giver's work."""

from dataclasses import dataclass
from datetime import datetime

from service.errors import Conflict, NotAllowed, Unreadable
from service.reckoning.findings import Finding
from service.reckoning.tension import Sample, tension_finding, uneven_finding
from service.records.db import Writing
from service.records.tables import Handover
from service.records.tables.handovers import MOST_BUNDLES_TENTHS
from service.studio.handovers import handover_with
from service.studio.sign_in import Person
from service.studio.standing import locked_garment

TENTHS = 10


@dataclass(frozen=True, slots=True)
class Bundles:
    """Bundles on 50 mm at two places, in tenths."""

    first_tenths: int
    second_tenths: int


def keep_sample(db: Writing, person: Person, handover_id: int, bundles: Bundles, at: datetime) -> Finding | None:
    """Write the receiver's sample down, the newest in place of the one before; a finding when the hands differ."""
    locked_garment(db, handover_with(db, handover_id).garment_id)
    handover = db.get_one(Handover, handover_id, populate_existing=True)
    if not person.is_owner and person.stitcher_id != handover.to_id:
        raise NotAllowed("The sample row is worked by whoever took the piece.")
    if handover.state != "taken":
        raise Conflict("Take the piece first; then work the sample row on the spare cloth.")
    fields = {"sample_first": bundles.first_tenths, "sample_second": bundles.second_tenths}
    if faults := {
        field: f"Count from 0.1 to {MOST_BUNDLES_TENTHS // TENTHS} bundles."
        for field, tenths in fields.items()
        if not 1 <= tenths <= MOST_BUNDLES_TENTHS
    }:
        raise Unreadable(faults)
    handover.sample_first_tenths, handover.sample_second_tenths = bundles.first_tenths, bundles.second_tenths
    handover.sampled_at = at
    db.add(handover)
    db.flush()
    return tension_of(handover)


def tension_of(handover: Handover) -> Finding | None:
    """A finding when the sample's places lie more than 5 % apart, or both together from the work; else None."""
    given = _sample(handover.given_first_tenths, handover.given_second_tenths)
    taken = _sample(handover.sample_first_tenths, handover.sample_second_tenths)
    if taken is None:
        return None
    return uneven_finding(taken) or (None if given is None else tension_finding(given, taken))


def _sample(first_tenths: int | None, second_tenths: int | None) -> Sample | None:
    if first_tenths is None or second_tenths is None:
        return None
    return Sample(first_tenths / TENTHS, second_tenths / TENTHS)
