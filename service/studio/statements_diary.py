"""What must always hold of what is planned ahead."""

from service.studio.statements import Statement

DIARY = (
    Statement(
        "hands are planned for a panel of that garment, or for the garment joined",
        """
        select planned_hands.id from planned_hands join panel on panel.id = planned_hands.panel_id
        where panel.garment_id <> planned_hands.garment_id
        """,
    ),
    Statement(
        "a plan for other hands ends after it was made",
        "select id from planned_hands where ended_at < at",
    ),
    Statement(
        "a calendar's address ends after it was made",
        "select id from calendar_link where ended_at < created_at",
    ),
)
