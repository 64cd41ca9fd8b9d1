"""The tables of the shop book.

Both tables only ever grow. A record is saved by adding a revision; taken off the rack by adding
one without a body; attachments likewise. Triggers refuse any change of what is written, whatever
program tries it.

A new book is made from this description; an older one is brought to it by the migrations. A test
holds both to the same result.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = ["TRIGGERS", "attachment", "metadata", "revision", "version_stamp"]

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    }
)

revision = Table(
    "revision",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("tag", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("author", Text, nullable=False),
    Column("time", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("schema_version", Integer, nullable=False),
    Column("body", Text),
    Column("body_hash", Text),
    CheckConstraint("length(kind) BETWEEN 1 AND 64", name="kind_length"),
    CheckConstraint("length(tag) BETWEEN 1 AND 64", name="tag_length"),
    CheckConstraint("revision >= 1", name="counts_from_one"),
    CheckConstraint("(body IS NULL) = (body_hash IS NULL)", name="body_with_hash"),
    UniqueConstraint("kind", "tag", "revision"),
)

attachment = Table(
    "attachment",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("tag", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("time", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("media_type", Text),
    Column("size", Integer),
    Column("sha256", Text),
    CheckConstraint("length(name) BETWEEN 1 AND 200", name="name_length"),
    CheckConstraint(
        "(sha256 IS NULL) = (size IS NULL) AND (sha256 IS NULL) = (media_type IS NULL)",
        name="whole_or_removed",
    ),
    ForeignKeyConstraint(
        ["kind", "tag", "revision"], ["revision.kind", "revision.tag", "revision.revision"]
    ),
    Index("ix_attachment_kind_tag", "kind", "tag"),
)

version_stamp = Table(
    "alembic_version",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)


TRIGGERS: Final = {
    "revision": (
        "CREATE TRIGGER revision_no_update BEFORE UPDATE ON revision "
        "BEGIN SELECT RAISE(ABORT, 'revision is append-only'); END",
        "CREATE TRIGGER revision_no_delete BEFORE DELETE ON revision "
        "BEGIN SELECT RAISE(ABORT, 'revision is append-only'); END",
        # INSERT OR REPLACE would delete without asking the trigger above.
        "CREATE TRIGGER revision_no_replace BEFORE INSERT ON revision "
        "WHEN EXISTS (SELECT 1 FROM revision WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'revision is append-only'); END",
        "CREATE TRIGGER revision_in_order BEFORE INSERT ON revision "
        "WHEN NEW.revision <> 1 + (SELECT coalesce(max(revision), 0) FROM revision "
        "WHERE kind = NEW.kind AND tag = NEW.tag) "
        "BEGIN SELECT RAISE(ABORT, 'revisions are counted without gaps'); END",
    ),
    "attachment": (
        "CREATE TRIGGER attachment_no_update BEFORE UPDATE ON attachment "
        "BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END",
        "CREATE TRIGGER attachment_no_delete BEFORE DELETE ON attachment "
        "BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END",
        "CREATE TRIGGER attachment_no_replace BEFORE INSERT ON attachment "
        "WHEN EXISTS (SELECT 1 FROM attachment WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END",
    ),
}
"""The triggers of each table, to be made again after a migration rebuilds the table."""
