"""The tables of a register. Fact tables are only ever added to; what is not a fact stands apart at the end.

Every fact row has ``id``; ``entry_id``, the signed act that added it; ``fact_id``, the id of its first version, to
which every reference points; ``replaces_id``, the version just before it; ``struck``; and the ``reason`` of a later
version. Column names are the names in the entry bodies and are frozen. Instants are UTC epoch seconds, dates ship's
dates, amounts on counters integers (seconds for hours).
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

Id = BigInteger().with_variant(Integer, "sqlite")

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

ENTRY = Table(
    "entry",
    metadata,
    Column("id", Id, primary_key=True, autoincrement=False),
    Column("book", BigInteger, nullable=False),
    Column("no", Integer, nullable=False),
    Column("recorded_at", BigInteger, nullable=False),
    Column("offset_minutes", Integer, nullable=False),
    Column("deed", Text, nullable=False),
    # Not a foreign key: the first entry brings its own signer, and tables may not refer in a ring. ``verify`` looks.
    Column("person_id", Id, nullable=False),
    Column("rank", Text, nullable=False),
    Column("request_id", Text),
    Column("last_id", BigInteger, nullable=False),
    Column("form", Integer, nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("prev_hash", LargeBinary, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    UniqueConstraint("book", "no"),
    # Found by time when somebody asks what was known on a day.
    Index(None, "recorded_at"),
)

FACTS: dict[str, Table] = {}


def _ref(name: str, target: str, *, nullable: bool = False) -> Column[Any]:
    return Column(name, Id, ForeignKey(f"{target}.id"), nullable=nullable)


def _text(name: str, *, nullable: bool = False) -> Column[Any]:
    return Column(name, Text, nullable=nullable)


def _int(name: str, *, nullable: bool = False) -> Column[Any]:
    return Column(name, BigInteger, nullable=nullable)


def _day(name: str, *, nullable: bool = False) -> Column[Any]:
    return Column(name, Date, nullable=nullable)


def _flag(name: str) -> Column[Any]:
    return Column(name, Boolean(create_constraint=False), nullable=False)


def _fact(name: str, *items: Column[Any] | Index | UniqueConstraint | CheckConstraint) -> Table:
    """A fact table: the common columns, its own, and the rule that a later version says why."""
    table = Table(
        name,
        metadata,
        Column("id", Id, primary_key=True, autoincrement=False),
        # Checked at the commit: a deed may look at its own facts before its entry is written.
        Column("entry_id", Id, ForeignKey("entry.id", deferrable=True, initially="DEFERRED"), nullable=False),
        Column("fact_id", Id, nullable=False),
        Column("replaces_id", Id),
        _flag("struck"),
        Column("reason", Text),
        *items,
        CheckConstraint(
            "(replaces_id IS NULL AND fact_id = id AND NOT struck) OR (replaces_id IS NOT NULL AND reason IS NOT NULL)",
            name="version",
        ),
    )
    # Corrections are few: an index of them alone stays small, and every question asks it.
    _given_only(f"uq_{name}_replaces_id", table.c.replaces_id, unique=True)
    FACTS[name] = table
    return table


def _given_only(name: str, column: Column[Any], *, unique: bool = False) -> None:
    """An index that leaves out the rows where the column is not given (PostgreSQL keeps them, to no harm)."""
    Index(name, column, unique=unique, sqlite_where=column.is_not(None))


def _revision(name: str, of: str, *items: Column[Any]) -> Table:
    """Revisions of a definition: each acts from its ``valid_from`` on; found by (owner, valid_from, id)."""
    owner = f"{of}_id"
    return _fact(name, _ref(owner, of), _day("valid_from"), *items, Index(None, owner, "valid_from", "id"))


BOOK = _fact(
    "book",
    _int("number"), _int("site_number"), _int("opening"), _text("uid"), _text("why"),
    _int("continues_book", nullable=True), _int("continues_no", nullable=True), _text("continues_hash", nullable=True),
    UniqueConstraint("number"),
)  # fmt: skip
SITE = _fact("site", _int("number"), UniqueConstraint("number"))
SITE_REVISION = _revision("site_revision", "site", _text("name"))
CLOCK_CHANGE = _fact("clock_change", _ref("site_id", "site"), _int("at"), _int("offset_minutes"), Index(None, "at"))
SETTING = _fact("setting", _text("name"), _day("valid_from"), _int("value"))

PERSON = _fact("person", _ref("site_id", "site"), _text("code"), UniqueConstraint("code", "site_id"))
PERSON_REVISION = _revision(
    "person_revision", "person", _text("name"), _text("rank"), _text("department"), _flag("active")
)

MACHINE = _fact("machine", _ref("site_id", "site"), _text("code"), UniqueConstraint("code", "site_id"))
MACHINE_REVISION = _revision(
    "machine_revision", "machine",
    _text("name"), _ref("parent_id", "machine", nullable=True), _int("walking_order"),
    _flag("critical"), _text("department"), _flag("active"),
)  # fmt: skip
ALIAS = _fact("alias", _ref("machine_id", "machine"), _text("name"), Index(None, "machine_id"))

COUNTER = _fact(
    "counter",
    _ref("site_id", "site"), _ref("machine_id", "machine"), _text("code"), _text("unit"),
    UniqueConstraint("code", "site_id"),
)  # fmt: skip
COUNTER_REVISION = _revision("counter_revision", "counter", _text("name"), _text("reads"), _int("walking_order"))
METER_PERIOD = _fact(
    "meter_period",
    _ref("counter_id", "counter"), _int("start"), _int("dial_start"), _int("base"),
    _int("factor_num"), _int("factor_den"), Index(None, "counter_id"),
)  # fmt: skip
COUNTS_ON = _fact(
    "counts_on",
    _ref("machine_id", "machine"), _ref("counter_id", "counter"), _day("from_on"),
    _int("share_num"), _int("share_den"), Index(None, "machine_id"),
)  # fmt: skip
READING = _fact(
    "reading",
    _ref("counter_id", "counter"), _int("read_at"), _int("offset_minutes"), _int("dial"),
    _text("status"), _text("held_for", nullable=True), _text("note", nullable=True),
    Index(None, "counter_id", "read_at", "id"),
    CheckConstraint("status IN ('accepted', 'held', 'stand-in')", name="status"),
)  # fmt: skip
Index(
    "ix_reading_held",
    READING.c.counter_id,
    sqlite_where=READING.c.status == "held",
)

JOB = _fact(
    "job", _ref("site_id", "site"), _ref("machine_id", "machine"), _text("code"), UniqueConstraint("code", "site_id")
)  # fmt: skip
JOB_REVISION = _revision(
    "job_revision", "job",
    _text("title"), _text("rule"), _text("department"), _text("rank"), _flag("critical"), _flag("class_item"),
    _text("cautions"), _text("steps"), _text("needs"), _flag("active"),
)  # fmt: skip
JOB_UNIT = _fact("job_unit", _ref("job_id", "job"), _text("unit"), Index(None, "job_id"))
REPORT = _fact(
    "report",
    _ref("job_id", "job"), _text("outcome"), _day("done_on"), _int("done_at"), _int("offset_minutes"),
    _flag("time_stated"), _text("done_by"), _text("condition", nullable=True), _text("remarks", nullable=True),
    Index(None, "job_id", "done_at"),
)  # fmt: skip
CLOSING = _fact(
    "closing",
    _ref("job_id", "job"), _text("unit"), _int("kind"), _day("done_on"), _int("done_at"),
    _ref("report_id", "report", nullable=True),
    Index(None, "job_id", "unit", "done_at", "id"), Index(None, "report_id"),
)  # fmt: skip
CLOSING_COUNT = _fact(
    "closing_count",
    _ref("closing_id", "closing"), _text("unit"), _int("total"), _text("basis"),
    _ref("reading_1", "reading", nullable=True), _ref("reading_2", "reading", nullable=True),
    Index(None, "closing_id"),
    CheckConstraint("basis IN ('typed', 'reading', 'between')", name="basis"),
)  # fmt: skip
_given_only("ix_closing_count_reading_1", CLOSING_COUNT.c.reading_1)
_given_only("ix_closing_count_reading_2", CLOSING_COUNT.c.reading_2)

PART = _fact("part", _ref("site_id", "site"), _text("serial"), UniqueConstraint("serial", "site_id"))
PART_REVISION = _revision("part_revision", "part", _text("name"))
PART_MOVE = _fact(
    "part_move",
    _ref("part_id", "part"), _ref("machine_id", "machine", nullable=True), _text("place"), _day("moved_on"),
    _int("since_overhaul", nullable=True), _int("since_new", nullable=True), _text("note", nullable=True),
    Index(None, "part_id", "moved_on"),
)  # fmt: skip

ISOLATION = _fact(
    "isolation",
    _ref("machine_id", "machine"), _text("kind"), _int("begun_at"), _int("offset_minutes"), _text("why"),
    _text("tag", nullable=True), _day("back_on", nullable=True),
    Index(None, "machine_id"),
    CheckConstraint("kind IN ('isolated', 'opened', 'not to be started')", name="kind"),
)  # fmt: skip
ISOLATION_END = _fact(
    "isolation_end",
    _ref("isolation_id", "isolation"), _int("ended_at"), _int("offset_minutes"), _text("tried", nullable=True),
    Index(None, "isolation_id"),
)  # fmt: skip

ATTACHMENT = _fact(
    "attachment",
    _ref("report_id", "report"), _text("name"), _text("media_type"), _int("size"), _text("sha256"),
    Index(None, "report_id"),
)  # fmt: skip

_given_only("uq_entry_request_id", ENTRY.c.request_id, unique=True)
for _versioned in (READING, REPORT, CLOSING, CLOSING_COUNT, ATTACHMENT):
    # Corrected one by one: their newest version is looked for.
    Index(f"ix_{_versioned.name}_fact_id", _versioned.c.fact_id)

# Not a fact: which book this copy of the register writes in. A restored copy writes in a new one.
LOCAL = Table("local", metadata, Column("name", Text, primary_key=True), Column("value", Text, nullable=False))

APPEND_ONLY: dict[str, Table] = {"entry": ENTRY, **FACTS}
