"""What must always hold of photos."""

from service.studio.statements import Statement

PHOTOS = (
    Statement(
        "a photo shows a part of its own garment",
        """
        select photo.id from photo left join section on section.id = photo.section_id
        left join step on step.id = photo.step_id left join handover on handover.id = photo.handover_id
        where section.garment_id <> photo.garment_id or step.garment_id <> photo.garment_id
           or handover.garment_id <> photo.garment_id
        """,
    ),
    Statement(
        "a photo shows one part at most",
        """
        select id from photo where (case when section_id is null then 0 else 1 end)
            + (case when step_id is null then 0 else 1 end) + (case when handover_id is null then 0 else 1 end) > 1
        """,
    ),
    Statement(
        "who took a photo out of the book is written down with the day",
        "select id from photo where (taken_out_at is null) <> (taken_out_by is null)",
    ),
)
