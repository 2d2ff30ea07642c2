"""${message}

Revision: ${up_revision}, after ${down_revision | comma,n}
"""

from alembic import op
import sqlalchemy as sa

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    """Not possible: facts are never removed. Restore the copy made before the upgrade."""
    raise NotImplementedError
