"""What must always hold of needles and pins counted at the table."""

from service.studio.statements import Statement

TABLE = (
    Statement(
        "needles and pins are counted in only after they were counted out by the same person",
        """
        select counted.id from needle_count as counted where counted.way = 'in' and not exists (
            select 1 from needle_count as before where before.account_id = counted.account_id
               and before.garment_id = counted.garment_id and before.way = 'out' and before.id < counted.id)
        """,
    ),
    Statement(
        "a count of needles belongs to the garment of its step",
        """
        select needle_count.id from needle_count join step on step.id = needle_count.step_id
        where step.garment_id <> needle_count.garment_id
        """,
    ),
    Statement(
        "the sizes of a band's bundles are one for each bundle",
        """
        select id from section where bundle_sizes <> ''
           and length(bundle_sizes) - length(replace(bundle_sizes, ' ', '')) + 1 <> bundles
        """,
    ),
)
