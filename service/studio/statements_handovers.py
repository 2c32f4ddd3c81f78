"""What must always hold of handovers."""

from service.studio.statements import Statement

HANDOVERS = (
    Statement(
        "a panel is where the last handover of it that was taken left it",
        """
        select panel.id from panel
        join (select handover_panel.panel_id, max(handover.id) as last_id from handover_panel
              join handover on handover.id = handover_panel.handover_id where handover.state = 'taken'
              group by handover_panel.panel_id) as newest on newest.panel_id = panel.id
        join handover on handover.id = newest.last_id
        where coalesce(panel.holder_id, 0) <> coalesce(handover.to_id, 0)
        """,
    ),
    Statement(
        "a panel is marked as offered while its handover is, and no longer",
        """
        select handover_panel.id from handover_panel join handover on handover.id = handover_panel.handover_id
        where handover_panel.is_open <> (handover.state = 'offered')
        """,
    ),
    Statement(
        "a handover's panels and places are of its own garment",
        """
        select handover.id from handover
        left join handover_panel on handover_panel.handover_id = handover.id
        left join panel on panel.id = handover_panel.panel_id
        left join handover_place on handover_place.handover_id = handover.id
        left join section on section.id = handover_place.section_id
        left join step on step.id = handover_place.step_id
        where panel.id is null or panel.garment_id <> handover.garment_id
           or section.garment_id <> handover.garment_id or step.section_id <> section.id
        """,
    ),
    Statement(
        "no needle or pin is missing from a garment that is delivered",
        """
        select garment.id from garment join handover on handover.garment_id = garment.id
        where garment.state = 'delivered' and handover.state = 'taken'
          and (handover.needles_out > handover.needles_in + handover.needles_found
               or handover.pins_out > handover.pins_in + handover.pins_found)
        """,
    ),
    Statement(
        "every part of a needle broken at a garment that is delivered was found",
        """
        select broken_sharp.id from broken_sharp join garment on garment.id = broken_sharp.garment_id
        where garment.state = 'delivered' and broken_sharp.found_at is null
        """,
    ),
    Statement(
        "nothing of a garment that is gone is offered to anybody",
        """
        select handover.id from handover join garment on garment.id = handover.garment_id
        where handover.state = 'offered' and garment.state in ('delivered', 'called off')
        """,
    ),
)
