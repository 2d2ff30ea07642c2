"""The first form of a register: entries, facts, and what keeps them.

Revision: 0001, the first.
"""

import sqlalchemy as sa
from alembic import op

from pmsched.store.triggers import trigger_sql

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

Id = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


# Every append-only table and its unique keys, as they are in this form.
APPEND_ONLY = {
    "entry": [("id",), ("book", "no"), ("request_id",)],
    "book": [("id",), ("number",), ("replaces_id",)],
    "site": [("id",), ("number",), ("replaces_id",)],
    "site_revision": [("id",), ("replaces_id",)],
    "clock_change": [("id",), ("replaces_id",)],
    "setting": [("id",), ("replaces_id",)],
    "person": [("id",), ("code", "site_id"), ("replaces_id",)],
    "person_revision": [("id",), ("replaces_id",)],
    "machine": [("id",), ("code", "site_id"), ("replaces_id",)],
    "machine_revision": [("id",), ("replaces_id",)],
    "alias": [("id",), ("replaces_id",)],
    "counter": [("id",), ("code", "site_id"), ("replaces_id",)],
    "counter_revision": [("id",), ("replaces_id",)],
    "meter_period": [("id",), ("replaces_id",)],
    "counts_on": [("id",), ("replaces_id",)],
    "reading": [("id",), ("replaces_id",)],
    "job": [("id",), ("code", "site_id"), ("replaces_id",)],
    "job_revision": [("id",), ("replaces_id",)],
    "job_unit": [("id",), ("replaces_id",)],
    "report": [("id",), ("replaces_id",)],
    "closing": [("id",), ("replaces_id",)],
    "closing_count": [("id",), ("replaces_id",)],
    "part": [("id",), ("replaces_id",), ("serial", "site_id")],
    "part_revision": [("id",), ("replaces_id",)],
    "part_move": [("id",), ("replaces_id",)],
}


def upgrade() -> None:
    op.create_table(
        "entry",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("book", sa.BigInteger(), nullable=False),
        sa.Column("no", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.BigInteger(), nullable=False),
        sa.Column("offset_minutes", sa.Integer(), nullable=False),
        sa.Column("deed", sa.Text(), nullable=False),
        sa.Column("person_id", Id, nullable=False),
        sa.Column("rank", sa.Text(), nullable=False),
        sa.Column("request_id", sa.Text(), nullable=True),
        sa.Column("last_id", sa.BigInteger(), nullable=False),
        sa.Column("form", sa.Integer(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("prev_hash", sa.LargeBinary(), nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
        sa.UniqueConstraint("book", "no", name=op.f("uq_entry_book_no")),
    )
    op.create_index(op.f("ix_entry_recorded_at"), "entry", ["recorded_at"], unique=False)
    op.create_index(
        "uq_entry_request_id", "entry", ["request_id"], unique=True, sqlite_where=sa.text("request_id IS NOT NULL")
    )
    op.create_table(
        "local",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_local")),
    )
    op.create_table(
        "book",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("site_number", sa.BigInteger(), nullable=False),
        sa.Column("opening", sa.BigInteger(), nullable=False),
        sa.Column("uid", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("continues_book", sa.BigInteger(), nullable=True),
        sa.Column("continues_no", sa.BigInteger(), nullable=True),
        sa.Column("continues_hash", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_book_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_book_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_book")),
        sa.UniqueConstraint("number", name=op.f("uq_book_number")),
    )
    op.create_index(
        "uq_book_replaces_id", "book", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "setting",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("value", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_setting_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_setting_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_setting")),
    )
    op.create_index(
        "uq_setting_replaces_id",
        "setting",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "site",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_site_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_site_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site")),
        sa.UniqueConstraint("number", name=op.f("uq_site_number")),
    )
    op.create_index(
        "uq_site_replaces_id", "site", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "clock_change",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("offset_minutes", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_clock_change_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_clock_change_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_clock_change_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clock_change")),
    )
    op.create_index(op.f("ix_clock_change_at"), "clock_change", ["at"], unique=False)
    op.create_index(
        "uq_clock_change_replaces_id",
        "clock_change",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "machine",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_machine_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_machine_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_machine_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_machine")),
        sa.UniqueConstraint("code", "site_id", name=op.f("uq_machine_code_site_id")),
    )
    op.create_index(
        "uq_machine_replaces_id",
        "machine",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "part",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_part_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_part_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_part_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
        sa.UniqueConstraint("serial", "site_id", name=op.f("uq_part_serial_site_id")),
    )
    op.create_index(
        "uq_part_replaces_id", "part", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "person",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_person_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_person_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_person_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("code", "site_id", name=op.f("uq_person_code_site_id")),
    )
    op.create_index(
        "uq_person_replaces_id", "person", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "site_revision",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_site_revision_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_site_revision_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_site_revision_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site_revision")),
    )
    op.create_index(
        op.f("ix_site_revision_site_id_valid_from_id"), "site_revision", ["site_id", "valid_from", "id"], unique=False
    )
    op.create_index(
        "uq_site_revision_replaces_id",
        "site_revision",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "alias",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("machine_id", Id, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_alias_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_alias_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_alias_machine_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alias")),
    )
    op.create_index(op.f("ix_alias_machine_id"), "alias", ["machine_id"], unique=False)
    op.create_index(
        "uq_alias_replaces_id", "alias", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "counter",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("machine_id", Id, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_counter_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_counter_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_counter_machine_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_counter_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_counter")),
        sa.UniqueConstraint("code", "site_id", name=op.f("uq_counter_code_site_id")),
    )
    op.create_index(
        "uq_counter_replaces_id",
        "counter",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "job",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("site_id", Id, nullable=False),
        sa.Column("machine_id", Id, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_job_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_job_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_job_machine_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_job_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("code", "site_id", name=op.f("uq_job_code_site_id")),
    )
    op.create_index(
        "uq_job_replaces_id", "job", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "machine_revision",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("machine_id", Id, nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("parent_id", Id, nullable=True),
        sa.Column("walking_order", sa.BigInteger(), nullable=False),
        sa.Column("critical", sa.Boolean(), nullable=False),
        sa.Column("department", sa.Text(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_machine_revision_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_machine_revision_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_machine_revision_machine_id")),
        sa.ForeignKeyConstraint(["parent_id"], ["machine.id"], name=op.f("fk_machine_revision_parent_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_machine_revision")),
    )
    op.create_index(
        op.f("ix_machine_revision_machine_id_valid_from_id"),
        "machine_revision",
        ["machine_id", "valid_from", "id"],
        unique=False,
    )
    op.create_index(
        "uq_machine_revision_replaces_id",
        "machine_revision",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "part_move",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("part_id", Id, nullable=False),
        sa.Column("machine_id", Id, nullable=True),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("moved_on", sa.Date(), nullable=False),
        sa.Column("since_overhaul", sa.BigInteger(), nullable=True),
        sa.Column("since_new", sa.BigInteger(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_part_move_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_part_move_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_part_move_machine_id")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_part_move_part_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part_move")),
    )
    op.create_index(op.f("ix_part_move_part_id_moved_on"), "part_move", ["part_id", "moved_on"], unique=False)
    op.create_index(
        "uq_part_move_replaces_id",
        "part_move",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "part_revision",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("part_id", Id, nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_part_revision_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_part_revision_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_part_revision_part_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part_revision")),
    )
    op.create_index(
        op.f("ix_part_revision_part_id_valid_from_id"), "part_revision", ["part_id", "valid_from", "id"], unique=False
    )
    op.create_index(
        "uq_part_revision_replaces_id",
        "part_revision",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "person_revision",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("person_id", Id, nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("rank", sa.Text(), nullable=False),
        sa.Column("department", sa.Text(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_person_revision_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_person_revision_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_person_revision_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person_revision")),
    )
    op.create_index(
        op.f("ix_person_revision_person_id_valid_from_id"),
        "person_revision",
        ["person_id", "valid_from", "id"],
        unique=False,
    )
    op.create_index(
        "uq_person_revision_replaces_id",
        "person_revision",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "counter_revision",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("counter_id", Id, nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("reads", sa.Text(), nullable=False),
        sa.Column("walking_order", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_counter_revision_version"),
        ),
        sa.ForeignKeyConstraint(["counter_id"], ["counter.id"], name=op.f("fk_counter_revision_counter_id")),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_counter_revision_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_counter_revision")),
    )
    op.create_index(
        op.f("ix_counter_revision_counter_id_valid_from_id"),
        "counter_revision",
        ["counter_id", "valid_from", "id"],
        unique=False,
    )
    op.create_index(
        "uq_counter_revision_replaces_id",
        "counter_revision",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "counts_on",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("machine_id", Id, nullable=False),
        sa.Column("counter_id", Id, nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("share_num", sa.BigInteger(), nullable=False),
        sa.Column("share_den", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_counts_on_version"),
        ),
        sa.ForeignKeyConstraint(["counter_id"], ["counter.id"], name=op.f("fk_counts_on_counter_id")),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_counts_on_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_counts_on_machine_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_counts_on")),
    )
    op.create_index(op.f("ix_counts_on_machine_id"), "counts_on", ["machine_id"], unique=False)
    op.create_index(
        "uq_counts_on_replaces_id",
        "counts_on",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "job_revision",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("job_id", Id, nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("department", sa.Text(), nullable=False),
        sa.Column("rank", sa.Text(), nullable=False),
        sa.Column("critical", sa.Boolean(), nullable=False),
        sa.Column("class_item", sa.Boolean(), nullable=False),
        sa.Column("cautions", sa.Text(), nullable=False),
        sa.Column("steps", sa.Text(), nullable=False),
        sa.Column("needs", sa.Text(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_job_revision_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_job_revision_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_revision_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_revision")),
    )
    op.create_index(
        op.f("ix_job_revision_job_id_valid_from_id"), "job_revision", ["job_id", "valid_from", "id"], unique=False
    )
    op.create_index(
        "uq_job_revision_replaces_id",
        "job_revision",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "job_unit",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("job_id", Id, nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_job_unit_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_job_unit_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_unit_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_unit")),
    )
    op.create_index(op.f("ix_job_unit_job_id"), "job_unit", ["job_id"], unique=False)
    op.create_index(
        "uq_job_unit_replaces_id",
        "job_unit",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "meter_period",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("counter_id", Id, nullable=False),
        sa.Column("start", sa.BigInteger(), nullable=False),
        sa.Column("dial_start", sa.BigInteger(), nullable=False),
        sa.Column("base", sa.BigInteger(), nullable=False),
        sa.Column("factor_num", sa.BigInteger(), nullable=False),
        sa.Column("factor_den", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_meter_period_version"),
        ),
        sa.ForeignKeyConstraint(["counter_id"], ["counter.id"], name=op.f("fk_meter_period_counter_id")),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_meter_period_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meter_period")),
    )
    op.create_index(op.f("ix_meter_period_counter_id"), "meter_period", ["counter_id"], unique=False)
    op.create_index(
        "uq_meter_period_replaces_id",
        "meter_period",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "reading",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("counter_id", Id, nullable=False),
        sa.Column("read_at", sa.BigInteger(), nullable=False),
        sa.Column("offset_minutes", sa.BigInteger(), nullable=False),
        sa.Column("dial", sa.BigInteger(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("held_for", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.CheckConstraint("status IN ('accepted', 'held', 'stand-in')", name=op.f("ck_reading_status")),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_reading_version"),
        ),
        sa.ForeignKeyConstraint(["counter_id"], ["counter.id"], name=op.f("fk_reading_counter_id")),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_reading_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
    )
    op.create_index(op.f("ix_reading_counter_id_read_at_id"), "reading", ["counter_id", "read_at", "id"], unique=False)
    op.create_index("ix_reading_fact_id", "reading", ["fact_id"], unique=False)
    op.create_index("ix_reading_held", "reading", ["counter_id"], unique=False, sqlite_where=sa.text("status = 'held'"))
    op.create_index(
        "uq_reading_replaces_id",
        "reading",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "report",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("job_id", Id, nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=False),
        sa.Column("done_at", sa.BigInteger(), nullable=False),
        sa.Column("offset_minutes", sa.BigInteger(), nullable=False),
        sa.Column("time_stated", sa.Boolean(), nullable=False),
        sa.Column("done_by", sa.Text(), nullable=False),
        sa.Column("condition", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_report_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_report_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_report_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_report")),
    )
    op.create_index("ix_report_fact_id", "report", ["fact_id"], unique=False)
    op.create_index(op.f("ix_report_job_id_done_at"), "report", ["job_id", "done_at"], unique=False)
    op.create_index(
        "uq_report_replaces_id", "report", ["replaces_id"], unique=True, sqlite_where=sa.text("replaces_id IS NOT NULL")
    )
    op.create_table(
        "closing",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("job_id", Id, nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("kind", sa.BigInteger(), nullable=False),
        sa.Column("done_on", sa.Date(), nullable=False),
        sa.Column("done_at", sa.BigInteger(), nullable=False),
        sa.Column("report_id", Id, nullable=True),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_closing_version"),
        ),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_closing_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_closing_job_id")),
        sa.ForeignKeyConstraint(["report_id"], ["report.id"], name=op.f("fk_closing_report_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_closing")),
    )
    op.create_index("ix_closing_fact_id", "closing", ["fact_id"], unique=False)
    op.create_index(
        op.f("ix_closing_job_id_unit_done_at_id"), "closing", ["job_id", "unit", "done_at", "id"], unique=False
    )
    op.create_index(op.f("ix_closing_report_id"), "closing", ["report_id"], unique=False)
    op.create_index(
        "uq_closing_replaces_id",
        "closing",
        ["replaces_id"],
        unique=True,
        sqlite_where=sa.text("replaces_id IS NOT NULL"),
    )
    op.create_table(
        "closing_count",
        sa.Column("id", Id, autoincrement=False, nullable=False),
        sa.Column("entry_id", Id, nullable=False),
        sa.Column("fact_id", Id, nullable=False),
        sa.Column("replaces_id", Id, nullable=True),
        sa.Column("struck", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("closing_id", Id, nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("reading_1", Id, nullable=True),
        sa.Column("reading_2", Id, nullable=True),
        sa.CheckConstraint("basis IN ('typed', 'reading', 'between')", name=op.f("ck_closing_count_basis")),
        sa.CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name=op.f("ck_closing_count_version"),
        ),
        sa.ForeignKeyConstraint(["closing_id"], ["closing.id"], name=op.f("fk_closing_count_closing_id")),
        sa.ForeignKeyConstraint(
            ["entry_id"], ["entry.id"], name=op.f("fk_closing_count_entry_id"), initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["reading_1"], ["reading.id"], name=op.f("fk_closing_count_reading_1")),
        sa.ForeignKeyConstraint(["reading_2"], ["reading.id"], name=op.f("fk_closing_count_reading_2")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_closing_count")),
    )
    op.create_index(op.f("ix_closing_count_closing_id"), "closing_count", ["closing_id"], unique=False)
    op.create_index("ix_closing_count_fact_id", "closing_count", ["fact_id"], unique=False)
    op.create_index(
        "ix_closing_count_reading_1",
        "closing_count",
        ["reading_1"],
        unique=False,
        sqlite_where=sa.text("reading_1 IS NOT NULL"),
    )
    op.create_index(
        "ix_closing_count_reading_2",
        "closing_count",
        ["reading_2"],
        unique=False,
        sqlite_where=sa.text("reading_2 IS NOT NULL"),
    )
    op.create_index(
        "uq_closing_count_replaces_id",
        "closing_count",
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
