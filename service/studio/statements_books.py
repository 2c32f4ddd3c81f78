"""What must always hold of the books."""

from service.studio.statements import Statement

BOOKS = (
    Statement(
        "a payment taken back from a stitcher is taken back whole",
        """
        select entry.id from stitcher_payment as entry
        left join stitcher_payment as wrong on wrong.id = entry.counters_id
        where entry.kind = 'counter' and (wrong.kind <> 'paid' or wrong.stitcher_id <> entry.stitcher_id
              or wrong.amount_minor <> entry.amount_minor)
        """,
    ),
)
