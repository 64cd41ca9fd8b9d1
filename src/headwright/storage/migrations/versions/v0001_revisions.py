"""The table of revisions: every record, every state of it, nothing overwritten."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "revision",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("tag", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("time", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("schema_version", sa.Integer, nullable=False),
        sa.Column("body", sa.Text),
        sa.Column("body_hash", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_revision"),
        sa.CheckConstraint("length(kind) BETWEEN 1 AND 64", name="ck_revision_kind_length"),
        sa.CheckConstraint("length(tag) BETWEEN 1 AND 64", name="ck_revision_tag_length"),
        sa.CheckConstraint("revision >= 1", name="ck_revision_counts_from_one"),
        sa.CheckConstraint(
            "(body IS NULL) = (body_hash IS NULL)", name="ck_revision_body_with_hash"
        ),
        sa.UniqueConstraint("kind", "tag", "revision", name="uq_revision_kind_tag_revision"),
    )
    op.execute(
        "CREATE TRIGGER revision_no_update BEFORE UPDATE ON revision "
        "BEGIN SELECT RAISE(ABORT, 'revision is append-only'); END"
    )
    op.execute(
        "CREATE TRIGGER revision_no_delete BEFORE DELETE ON revision "
        "BEGIN SELECT RAISE(ABORT, 'revision is append-only'); END"
    )
    op.execute(
        "CREATE TRIGGER revision_no_replace BEFORE INSERT ON revision "
        "WHEN EXISTS (SELECT 1 FROM revision WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'revision is append-only'); END"
    )
    op.execute(
        "CREATE TRIGGER revision_in_order BEFORE INSERT ON revision "
        "WHEN NEW.revision <> 1 + (SELECT coalesce(max(revision), 0) FROM revision "
        "WHERE kind = NEW.kind AND tag = NEW.tag) "
        "BEGIN SELECT RAISE(ABORT, 'revisions are counted without gaps'); END"
    )
