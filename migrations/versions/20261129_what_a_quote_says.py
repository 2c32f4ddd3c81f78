"""what a quote says of its day and its people; the week in a client's window

Revision: 0006, after 0005. Only adds columns.
What was written so far takes its commission's day and names as they are now; the seals there are do not cover them.
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

NAMES = ("client_name", "title", "occasion", "studio_name", "made_by")
OF_COMMISSION = "(select {0} from commission where commission.id = quote.commission_id)"
CLIENT = (
    "(select client.name from commission join client on client.id = commission.client_id"
    " where commission.id = quote.commission_id)"
)


def upgrade() -> None:
    op.add_column("quote", sa.Column("wanted_on", sa.Date(), nullable=True))
    for name in NAMES:
        op.add_column("quote", sa.Column(name, sa.String(), server_default=sa.text("('')"), nullable=False))
    held = sa.Column("week_held", sa.Boolean(), server_default=sa.text("(false)"), nullable=False)
    op.add_column("commission", held)
    op.add_column("commission", sa.Column("week_let_to", sa.Date(), nullable=True))
    write_what_is_known(op.get_bind())


def downgrade() -> None:
    for name in ("week_let_to", "week_held"):
        op.drop_column("commission", name)
    for name in (*reversed(NAMES), "wanted_on"):
        op.drop_column("quote", name)


def write_what_is_known(connection: sa.Connection) -> None:
    """The day in every quote; the names in those that were sent."""
    connection.execute(sa.text(f"update quote set wanted_on = {OF_COMMISSION.format('wanted_on')}"))
    studio = connection.execute(sa.text("select name from studio")).scalar() or ""
    maker = connection.execute(sa.text("select postal_address, electronic_address from maker")).first() or ("", "")
    lines = [line.strip(" ,") for line in maker[0].splitlines()]
    connection.execute(
        sa.text(
            f"update quote set client_name = {CLIENT}, title = {OF_COMMISSION.format('title')},"
            f" occasion = {OF_COMMISSION.format('occasion')}, studio_name = :studio, made_by = :made_by"
            " where state <> 'draft'"
        ),
        {"studio": studio, "made_by": ", ".join(part for part in (studio, *lines, maker[1]) if part) + "."},
    )
