"""What must always hold in the records, each stated as a query for the rows that break it."""

from dataclasses import dataclass

from sqlmodel import text

from service.records.db import Reading


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing that always holds; `breaking` selects the rows for which it does not."""

    says: str
    breaking: str


@dataclass(frozen=True, slots=True)
class Report:
    """How many statements were checked, and a line for every row that breaks one."""

    proved: int
    faults: tuple[str, ...]


STATEMENTS = (
    Statement(
        "a step's done amount is its work less what was taken back and unpicked",
        """
        select step.id from step left join tally on tally.step_id = step.id group by step.id, step.done_tenths
        having step.done_tenths <> coalesce(
            sum(case when tally.kind = 'work' then tally.counted_tenths else -tally.counted_tenths end), 0)
        """,
    ),
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
)


def prove(db: Reading) -> Report:
    """Check every statement on the data."""
    faults = [
        f"It does not hold that {statement.says}: record {row[0]}."
        for statement in STATEMENTS
        for row in db.connection().execute(text(statement.breaking))
    ]
    return Report(len(STATEMENTS), tuple(faults))
