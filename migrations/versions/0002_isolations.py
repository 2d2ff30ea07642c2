"""Machines that are isolated, opened up or not to be started, and when that ended.

Revision: 0002, after 0001.
"""

import sqlalchemy as sa
from alembic import op

from pmsched.store.triggers import trigger_sql

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

Id = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


# Every append-only table of it and its unique keys, made in this form.
APPEND_ONLY = {
    "isolation": [("id",), ("replaces_id",)],
    "isolation_end": [("id",), ("replaces_id",)],
}


def upgrade() -> None:
    op.create_table(
        "isolation",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("machine_id", Id, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("begun_at", sa.BigInteger(), nullable=False),
        sa.Column("offset_minutes", sa.BigInteger(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("tag", sa.Text(), nullable=True),
        sa.Column("back_on", sa.Date(), nullable=True),
        sa.CheckConstraint("kind IN ('isolated', 'opened', 'not to be started')", name=op.f("ck_isolation_kind")),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_isolation_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_isolation_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_isolation_machine_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_isolation")),
    )
    op.create_index(op.f("ix_isolation_machine_id"), "isolation", ["machine_id"], unique=False)
    op.create_index(
        "uq_isolation_replaces_id",
        "isolation",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "isolation_end",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("isolation_id", Id, nullable=False),
        sa.Column("ended_at", sa.BigInteger(), nullable=False),
        sa.Column("offset_minutes", sa.BigInteger(), nullable=False),
        sa.Column("tried", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_isolation_end_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_isolation_end_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["isolation_id"], ["isolation.id"], name=op.f("fk_isolation_end_isolation_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_isolation_end")),
    )
    op.create_index(op.f("ix_isolation_end_isolation_id"), "isolation_end", ["isolation_id"], unique=False)
    op.create_index(
        "uq_isolation_end_replaces_id",
        "isolation_end",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )

    dialect = op.get_bind().dialect.name
    for table, keys in APPEND_ONLY.items():
        for statements in trigger_sql(table, keys, dialect).values():
            for statement in statements:
                op.execute(statement)


def downgrade() -> None:
    """Not possible: facts are never removed. Restore the copy made before the upgrade."""
    raise NotImplementedError
