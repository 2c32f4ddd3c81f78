"""what a cloth shrinks may be not known

Revision: 0007, after 0006. Only adds columns.
Where a swatch was washed and showed nothing, the cloth is known to shrink by nothing; any other nothing is not known.
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

SYSTEMS = ("warp", "weft")
MEASURED = {
    "warp": (
        "update cloth set keeps_its_warp = true where shrink_warp_bp = 0"
        " and exists (select 1 from cloth_swatch where cloth_swatch.cloth_id = cloth.id)"
    ),
    "weft": (
        "update cloth set keeps_its_weft = true where shrink_weft_bp = 0"
        " and exists (select 1 from cloth_swatch where cloth_swatch.cloth_id = cloth.id)"
    ),
}


def upgrade() -> None:
    for system in SYSTEMS:
        kept = sa.Column(f"keeps_its_{system}", sa.Boolean(), server_default=sa.text("(false)"), nullable=False)
        op.add_column("cloth", kept)
        op.get_bind().execute(sa.text(MEASURED[system]))


def downgrade() -> None:
    for system in reversed(SYSTEMS):
        op.drop_column("cloth", f"keeps_its_{system}")
