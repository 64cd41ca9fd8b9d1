"""The table of attachments: which file, by the hash of its content, belongs to which record."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "attachment",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("tag", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("time", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text),
        sa.Column("size", sa.Integer),
        sa.Column("sha256", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_attachment"),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name="ck_attachment_name_length"),
        sa.CheckConstraint(
            "(sha256 IS NULL) = (size IS NULL) AND (sha256 IS NULL) = (media_type IS NULL)",
            name="ck_attachment_whole_or_removed",
        ),
        sa.ForeignKeyConstraint(
            ["kind", "tag", "revision"],
            ["revision.kind", "revision.tag", "revision.revision"],
            name="fk_attachment_kind_tag_revision",
        ),
    )
    op.create_index("ix_attachment_kind_tag", "attachment", ["kind", "tag"])
    op.execute(
        "CREATE TRIGGER attachment_no_update BEFORE UPDATE ON attachment "
        "BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END"
    )
    op.execute(
        "CREATE TRIGGER attachment_no_delete BEFORE DELETE ON attachment "
        "BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END"
    )
    op.execute(
        "CREATE TRIGGER attachment_no_replace BEFORE INSERT ON attachment "
        "WHEN EXISTS (SELECT 1 FROM attachment WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END"
    )
