"""A teacher's own lines on sheets, and who is signed in"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "own_lines",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("section_id", sa.String(length=60), nullable=False),
        sa.Column("challenge", sa.String(length=60), nullable=False),
        sa.Column("sheet", sa.String(length=20), nullable=False),
        sa.Column("language", sa.String(length=8), nullable=False),
        sa.Column("edits", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["section_id"], ["sections.id"], name=op.f("fk_own_lines_section_id_sections")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_own_lines_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_lines")),
        sa.UniqueConstraint("section_id", "challenge", "sheet", "language", name=op.f("uq_own_lines_section_id")),
    )
    with op.batch_alter_table("own_lines", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_own_lines_section_id"), ["section_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_own_lines_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "sign_ins",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("key_id", sa.String(length=60), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["key_id"], ["keys.id"], name=op.f("fk_sign_ins_key_id_keys")),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_sign_ins")),
    )
    with op.batch_alter_table("sign_ins", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sign_ins_key_id"), ["key_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("sign_ins", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sign_ins_key_id"))

    op.drop_table("sign_ins")
    with op.batch_alter_table("own_lines", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_own_lines_workspace_id"))
        batch_op.drop_index(batch_op.f("ix_own_lines_section_id"))

    op.drop_table("own_lines")
