"""Ladders that are kept, what stood there before, and sections on their rungs"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "ladders",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_ladders_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ladders")),
    )
    with op.batch_alter_table("ladders", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_ladders_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "past_ladders",
        sa.Column("ladder_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("published", sa.Integer(), nullable=True),
        sa.Column("replaced_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["ladder_id"], ["ladders.id"], name=op.f("fk_past_ladders_ladder_id_ladders")),
        sa.ForeignKeyConstraint(
            ["workspace_id"], ["workspaces.id"], name=op.f("fk_past_ladders_workspace_id_workspaces")
        ),
        sa.PrimaryKeyConstraint("ladder_id", "version", name=op.f("pk_past_ladders")),
    )
    op.create_table(
        "rung_places",
        sa.Column("ladder_id", sa.String(length=60), nullable=False),
        sa.Column("section_id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("now_on", sa.String(length=60), nullable=True),
        sa.Column("week", sa.Date(), nullable=True),
        sa.Column("met", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["ladder_id"], ["ladders.id"], name=op.f("fk_rung_places_ladder_id_ladders")),
        sa.ForeignKeyConstraint(["section_id"], ["sections.id"], name=op.f("fk_rung_places_section_id_sections")),
        sa.ForeignKeyConstraint(
            ["workspace_id"], ["workspaces.id"], name=op.f("fk_rung_places_workspace_id_workspaces")
        ),
        sa.PrimaryKeyConstraint("ladder_id", "section_id", name=op.f("pk_rung_places")),
    )
    with op.batch_alter_table("rung_places", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_rung_places_section_id"), ["section_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("rung_places", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_rung_places_section_id"))

    op.drop_table("rung_places")
    op.drop_table("past_ladders")
    with op.batch_alter_table("ladders", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_ladders_workspace_id"))

    op.drop_table("ladders")
