"""What must always hold in the records and can be said as a query for the rows that break it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing that always holds; `breaking` selects the numbers of the records for which it does not."""

    says: str
    breaking: str


LOG = (
    Statement(
        "a step's done amount is its work less what was taken back and unpicked",
        """
        select step.id from step left join tally on tally.step_id = step.id group by step.id, step.done_tenths
        having step.done_tenths <> coalesce(
            sum(case when tally.kind = 'work' then tally.counted_tenths else -tally.counted_tenths end), 0)
        """,
    ),
    Statement(
        "no more of a step is done than there is of it",
        "select id from step where done_tenths > quantity_tenths or done_tenths < 0",
    ),
    Statement(
        "a tally belongs to the garment of its step",
        "select tally.id from tally join step on step.id = tally.step_id where step.garment_id <> tally.garment_id",
    ),
    Statement(
        "a counter that names an entry takes it back whole, on the same step",
        """
        select tally.id from tally join tally as wrong on wrong.id = tally.counters_id
        where tally.kind <> 'counter' or wrong.kind <> 'work' or wrong.step_id <> tally.step_id
           or wrong.counted_tenths <> tally.counted_tenths
        """,
    ),
    Statement(
        "whoever passed over the order of work wrote a reason, and it is kept",
        """
        select tally.id from tally where tally.overruled and (length(trim(tally.reason)) = 0 or not exists (
            select 1 from event where event.object_kind = 'step' and event.object_id = tally.step_id
               and event.action = 'overruled the order of work' and event.reason = tally.reason))
        """,
    ),
)
SHELF = (
    Statement(
        "cloth on hand is the sum of what came and went",
        """
        select cloth.id from cloth left join cloth_use on cloth_use.cloth_id = cloth.id
        group by cloth.id, cloth.on_hand_um having cloth.on_hand_um <> coalesce(sum(cloth_use.change_um), 0)
        """,
    ),
    Statement(
        "a supply on hand is the sum of what came and went",
        """
        select supply.id from supply left join supply_use on supply_use.supply_id = supply.id
        group by supply.id, supply.on_hand_thousandths
        having supply.on_hand_thousandths <> coalesce(sum(supply_use.change_thousandths), 0)
        """,
    ),
    Statement(
        "a panel has used the cloth of the blocks cut for it, with what they shrink by, less those of a wrong entry",
        """
        select panel.id from panel
        left join (select panel_id, sum(change_um) as used_um from cloth_use where panel_id is not null
                   group by panel_id) as used on used.panel_id = panel.id
        left join (select step.panel_id, sum(case tally.kind when 'work' then tally.counted_tenths
                          when 'counter' then -tally.counted_tenths else 0 end) as cut_tenths
                   from tally join step on step.id = tally.step_id where step.operation = 'cut_block'
                   group by step.panel_id) as cut on cut.panel_id = panel.id
        where -coalesce(used.used_um, 0) * 10 not between panel.cut_height_um * coalesce(cut.cut_tenths, 0)
              and 2 * panel.cut_height_um * coalesce(cut.cut_tenths, 0)
        """,
    ),
)
GARMENTS = (
    Statement(
        "a step's panel and section are of its own garment",
        """
        select step.id from step left join panel on panel.id = step.panel_id
        left join section on section.id = step.section_id
        where panel.garment_id <> step.garment_id or section.garment_id <> step.garment_id
           or (section.id is not null and coalesce(section.panel_id, 0) <> coalesce(step.panel_id, 0))
        """,
    ),
    Statement(
        "the steps of a garment stand in one order",
        "select min(id) from step group by garment_id, position having count(*) > 1",
    ),
    Statement(
        "mirrored sections take one choice",
        """
        select section.id from section
        join section as first on first.garment_id = section.garment_id and first.key = section.mirror_of
        where first.kind <> section.kind
           or coalesce(first.direction, '') <> coalesce(section.direction, '')
           or coalesce(first.depth_choice, '') <> coalesce(section.depth_choice, '')
           or coalesce(first.bundle_choice, '') <> coalesce(section.bundle_choice, '')
           or coalesce(first.stop_lines, -1) <> coalesce(section.stop_lines, -1)
        """,
    ),
    Statement(
        "a garment is wanted on the day of its commission",
        """
        select garment.id from garment join commission on commission.id = garment.commission_id
        where commission.wanted_on <> garment.wanted_on
        """,
    ),
    Statement(
        "a garment's state agrees with its dates",
        """
        select id from garment where case state
            when 'finished' then finished_at is null or delivered_at is not null or called_off_at is not null
            when 'delivered' then finished_at is null or delivered_at is null or called_off_at is not null
            when 'called off' then called_off_at is null or delivered_at is not null
            else finished_at is not null or delivered_at is not null or called_off_at is not null end
        """,
    ),
    Statement(
        "nothing is done on a garment that is only planned",
        """
        select distinct garment.id from garment join step on step.garment_id = garment.id
        where garment.state = 'planned' and step.done_tenths > 0
        """,
    ),
    Statement(
        "every step of a finished garment is done",
        """
        select distinct garment.id from garment join step on step.garment_id = garment.id
        where garment.state in ('finished', 'delivered') and step.done_tenths < step.quantity_tenths
        """,
    ),
)
HANDS = (
    Statement(
        "the panels of a joined garment are cut out and in the hands that hold it",
        """
        select distinct garment.id from garment join panel on panel.garment_id = garment.id
        join step on step.panel_id = panel.id and step.section_id is null and step.operation = 'cut_out'
        where garment.joined_at is not null
          and (coalesce(panel.holder_id, 0) <> coalesce(garment.holder_id, 0)
               or step.done_tenths < step.quantity_tenths)
        """,
    ),
    Statement(
        "panels all cut out and in the same hands are joined",
        """
        select garment.id from garment join panel on panel.garment_id = garment.id
        join step on step.panel_id = panel.id and step.section_id is null and step.operation = 'cut_out'
        where garment.joined_at is null group by garment.id
        having min(coalesce(panel.holder_id, 0)) = max(coalesce(panel.holder_id, 0))
           and sum(case when step.done_tenths < step.quantity_tenths then 1 else 0 end) = 0
        """,
    ),
    Statement(
        "a garment has one holder only once it is joined",
        "select id from garment where joined_at is null and holder_id is not null",
    ),
)
STATEMENTS = (*LOG, *SHELF, *GARMENTS, *HANDS)
