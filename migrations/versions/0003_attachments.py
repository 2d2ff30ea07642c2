"""Photos and files attached to reports; the files themselves lie beside the register.

Revision: 0003, after 0002.
"""

import sqlalchemy as sa
from alembic import op

from pmsched.store.triggers import trigger_sql

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

Id = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


# Every append-only table of it and its unique keys, made in this form.
APPEND_ONLY = {
    "attachment": [("id",), ("replaces_id",)],
}


def upgrade() -> None:
    op.create_table(
        "attachment",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("report_id", Id, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_attachment_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_attachment_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["report_id"], ["report.id"], name=op.f("fk_attachment_report_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attachment")),
    )
    op.create_index("ix_attachment_fact_id", "attachment", ["fact_id"], unique=False)
    op.create_index(op.f("ix_attachment_report_id"), "attachment", ["report_id"], unique=False)
    op.create_index(
        "uq_attachment_replaces_id",
        "attachment",
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
