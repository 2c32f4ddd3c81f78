"""days of the log, handovers that are open

Revision: 0005, after 0004. Only adds indexes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

OF_HOURS = ("seconds", "kind", "counters_id", "id")
SHORT = sa.text("needles_out > needles_in + needles_found OR pins_out > pins_in + pins_found")
NO_STITCHER = sa.text("stitcher_id IS NULL")


def upgrade() -> None:
    op.create_index("ix_tally_days_of_stitcher", "tally", ["stitcher_id", "at", *OF_HOURS])
    op.create_index(
        "ix_tally_days_of_no_stitcher",
        "tally",
        ["account_id", "at", *OF_HOURS, "stitcher_id"],
        sqlite_where=NO_STITCHER,
        postgresql_where=NO_STITCHER,
    )
    op.create_index("ix_handover_state_id", "handover", ["state", "id"])
    op.create_index("ix_handover_short", "handover", ["id"], sqlite_where=SHORT, postgresql_where=SHORT)


def downgrade() -> None:
    op.drop_index("ix_handover_short", table_name="handover")
    op.drop_index("ix_handover_state_id", table_name="handover")
    op.drop_index("ix_tally_days_of_no_stitcher", table_name="tally")
    op.drop_index("ix_tally_days_of_stitcher", table_name="tally")
