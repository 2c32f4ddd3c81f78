"""which language

Revision: 0004, after 0003. Must not lose a row and must run with rows in every table.
"""

import sqlalchemy as sa
from alembic import op

revision = '0004'
down_revision = '0003'
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table('studio', schema=None) as batch_op:
        batch_op.add_column(sa.Column('language', sa.String(), server_default='en', nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_studio_language_word'), "language IN ('en', 'de')")


def downgrade() -> None:
    with op.batch_alter_table('studio', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_studio_language_word'), type_='check')
        batch_op.drop_column('language')
