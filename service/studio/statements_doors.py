"""What must always hold of who comes in."""

from service.studio.statements import Statement

DOORS = (
    Statement(
        "nobody whose account is switched off is signed in anywhere",
        """
        select login_session.id from login_session join account on account.id = login_session.account_id
        where login_session.ended_at is null and not account.active
        """,
    ),
    Statement(
        "no script acts for an account that is switched off",
        """
        select access_token.id from access_token join account on account.id = access_token.account_id
        where access_token.ended_at is null and not account.active
        """,
    ),
    Statement(
        "no account has two links that could set its password",
        """
        select max(id) from way_in where used_at is null and withdrawn_at is null
        group by account_id having count(*) > 1
        """,
    ),
)
