"""what was done stays

Revision: 0002a, after 0002. Must not lose a row and must run with rows in every table.
Events are sealed into a chain, those there are first; triggers refuse to alter or remove them. Only the words of a
reason may be erased, with the salt of their digest.
"""

import hashlib
import json
import secrets
from datetime import UTC

import sqlalchemy as sa
from alembic import op

revision = '0002a'
down_revision = '0002'
branch_labels = None
depends_on = None

EVENT = sa.table(
    'event',
    sa.column('id', sa.Integer()),
    sa.column('at', sa.DateTime(timezone=True)),
    *(sa.column(name, sa.Integer()) for name in ('account_id', 'garment_id', 'object_id')),
    *(sa.column(name, sa.String()) for name in ('action', 'object_kind', 'before', 'after', 'reason')),
)
COVERED = ('id', 'at', 'account_id', 'garment_id', 'action', 'object_kind', 'object_id', 'before', 'after')
SEAL = ('id', 'event_id', 'reason_sha256', 'previous_sha256', 'sha256')


def upgrade() -> None:
    op.create_table('last_seal',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('seals', sa.BigInteger(), nullable=False),
    sa.Column('sha256', sa.String(), nullable=False),
    sa.CheckConstraint('id = 1', name=op.f('ck_last_seal_only_one')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_last_seal'))
    )
    seals = op.create_table('event_seal',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('event_id', sa.Integer(), nullable=False),
    sa.Column('salt', sa.String(), nullable=False),
    sa.Column('reason_sha256', sa.String(), nullable=False),
    sa.Column('previous_sha256', sa.String(), nullable=False),
    sa.Column('sha256', sa.String(), nullable=False),
    sa.ForeignKeyConstraint(['event_id'], ['event.id'], name=op.f('fk_event_seal_event_id')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_event_seal')),
    sa.UniqueConstraint('event_id', name=op.f('uq_event_seal_event_id')),
    sa.UniqueConstraint('previous_sha256', name=op.f('uq_event_seal_previous_sha256'))
    )
    seal_what_is_there(op.get_bind(), seals)
    for statement in GUARDS[op.get_bind().dialect.name]:
        op.execute(statement)


def downgrade() -> None:
    for statement in UNGUARDED[op.get_bind().dialect.name]:
        op.execute(statement)
    op.drop_table('event_seal')
    op.drop_table('last_seal')


def seal_what_is_there(connection: sa.Connection, seals: sa.Table) -> None:
    """Seal the events written so far, in the order of their numbers."""
    place, previous = 0, ''
    found = connection.execute(sa.select(*(EVENT.c[name] for name in (*COVERED, 'reason'))).order_by(EVENT.c.id))
    while some := found.fetchmany(2000):
        rows = []
        for number, at, *rest, reason in some:
            salt, place = secrets.token_hex(16), place + 1
            moment = (at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)).isoformat()
            of_reason = hashlib.sha256(f'{salt} {reason}'.encode()).hexdigest()
            line = json.dumps([previous, number, moment, *rest, of_reason], ensure_ascii=False, separators=(',', ':'))
            row = {'id': place, 'event_id': number, 'salt': salt, 'reason_sha256': of_reason}
            rows.append(row | {'previous_sha256': previous, 'sha256': hashlib.sha256(line.encode()).hexdigest()})
            previous = rows[-1]['sha256']
        connection.execute(sa.insert(seals), rows)
    if place:
        last = sa.text('insert into last_seal (id, seals, sha256) values (1, :seals, :sha256)')
        connection.execute(last, {'seals': place, 'sha256': previous})


def as_it_was(columns: tuple[str, ...], same: str) -> str:
    """The condition that none of these columns changes."""
    return ' and '.join(f'new."{column}" {same} old."{column}"' for column in columns)


def guards_of_sqlite() -> tuple[str, ...]:
    events, seals = as_it_was(COVERED, 'is'), as_it_was(SEAL, 'is')
    return (
        f"""create trigger event_not_altered before update on event
        when not ({events} and (new.reason is old.reason or new.reason is 'erased'))
        begin select raise(abort, 'an event is never altered'); end""",
        """create trigger event_not_removed before delete on event
        begin select raise(abort, 'an event is never removed'); end""",
        f"""create trigger event_seal_not_altered before update on event_seal
        when not ({seals} and (new.salt is old.salt or new.salt is ''))
        begin select raise(abort, 'a seal is never altered'); end""",
        """create trigger event_seal_not_removed before delete on event_seal
        begin select raise(abort, 'a seal is never removed'); end""",
    )


def guards_of_postgresql() -> tuple[str, ...]:
    events, seals = as_it_was(COVERED, 'is not distinct from'), as_it_was(SEAL, 'is not distinct from')
    said = """create function what_was_done_stays() returns trigger language plpgsql as
        $$ begin raise exception 'what was done is never altered or removed' using errcode = 'check_violation'; end $$"""
    refuse = 'execute function what_was_done_stays()'
    return (
        said,
        f"""create trigger event_not_altered before update on event for each row
        when (not ({events} and (new.reason = old.reason or new.reason = 'erased'))) {refuse}""",
        f'create trigger event_not_removed before delete on event for each row {refuse}',
        f"""create trigger event_seal_not_altered before update on event_seal for each row
        when (not ({seals} and (new.salt = old.salt or new.salt = ''))) {refuse}""",
        f'create trigger event_seal_not_removed before delete on event_seal for each row {refuse}',
        f'create trigger event_not_emptied before truncate on event for each statement {refuse}',
        f'create trigger event_seal_not_emptied before truncate on event_seal for each statement {refuse}',
    )


GUARDS = {'sqlite': guards_of_sqlite(), 'postgresql': guards_of_postgresql()}
NAMES = {'event': ('not_altered', 'not_removed'), 'event_seal': ('not_altered', 'not_removed')}
EMPTIED = ('drop trigger event_not_emptied on event', 'drop trigger event_seal_not_emptied on event_seal')
UNGUARDED = {
    'sqlite': tuple(f'drop trigger {table}_{name}' for table, names in NAMES.items() for name in names),
    'postgresql': (
        *(f'drop trigger {table}_{name} on {table}' for table, names in NAMES.items() for name in names),
        *EMPTIED,
        'drop function what_was_done_stays()',
    ),
}
