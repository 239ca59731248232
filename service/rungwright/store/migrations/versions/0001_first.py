"""Sections, cupboards, lessons, runs, kept answers, keys and the log"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "workspaces",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("label", sa.String(length=80), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_workspaces")),
    )
    op.create_table(
        "cupboards",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(length=80), nullable=False),
        sa.Column("materials", sa.Text(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_cupboards_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cupboards")),
    )
    with op.batch_alter_table("cupboards", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_cupboards_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "keys",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("label", sa.String(length=80), nullable=False),
        sa.Column("role", sa.String(length=20), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_keys_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_keys")),
        sa.UniqueConstraint("digest", name=op.f("uq_keys_digest")),
    )
    with op.batch_alter_table("keys", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_keys_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "log",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("caller", sa.String(length=60), nullable=True),
        sa.Column("did", sa.String(length=40), nullable=False),
        sa.Column("what", sa.String(length=40), nullable=False),
        sa.Column("entry_id", sa.String(length=60), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_log_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log")),
    )
    with op.batch_alter_table("log", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_log_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "repeats",
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("caller", sa.String(length=60), nullable=False),
        sa.Column("repeat_key", sa.String(length=200), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("made_id", sa.String(length=60), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_repeats_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("workspace_id", "caller", "repeat_key", name=op.f("pk_repeats")),
    )
    op.create_table(
        "sections",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("owner_id", sa.String(length=60), nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("cupboard_id", sa.String(length=60), nullable=True),
        sa.Column("follows_id", sa.String(length=60), nullable=True),
        sa.Column("roster_class", sa.String(length=64), nullable=True),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cupboard_id"], ["cupboards.id"], name=op.f("fk_sections_cupboard_id_cupboards")),
        sa.ForeignKeyConstraint(["follows_id"], ["sections.id"], name=op.f("fk_sections_follows_id_sections")),
        sa.ForeignKeyConstraint(["owner_id"], ["keys.id"], name=op.f("fk_sections_owner_id_keys")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_sections_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sections")),
        sa.UniqueConstraint("workspace_id", "roster_class", name=op.f("uq_sections_workspace_id")),
    )
    with op.batch_alter_table("sections", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sections_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "answers",
        sa.Column("place", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("reader", sa.String(length=60), nullable=False),
        sa.Column("section_id", sa.String(length=60), nullable=True),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("explanation", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["section_id"], ["sections.id"], name=op.f("fk_answers_section_id_sections")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_answers_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("place", name=op.f("pk_answers")),
        sa.UniqueConstraint("workspace_id", "id", "reader", name=op.f("uq_answers_workspace_id")),
    )
    with op.batch_alter_table("answers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_answers_section_id"), ["section_id"], unique=False)

    op.create_table(
        "lessons",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("section_id", sa.String(length=60), nullable=False),
        sa.Column("cupboard_id", sa.String(length=60), nullable=False),
        sa.Column("recommendation_id", sa.String(length=60), nullable=True),
        sa.Column("taught_on", sa.Date(), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("materials", sa.Text(), nullable=False),
        sa.Column("taken", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cupboard_id"], ["cupboards.id"], name=op.f("fk_lessons_cupboard_id_cupboards")),
        sa.ForeignKeyConstraint(["section_id"], ["sections.id"], name=op.f("fk_lessons_section_id_sections")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_lessons_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lessons")),
    )
    with op.batch_alter_table("lessons", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lessons_cupboard_id"), ["cupboard_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lessons_section_id"), ["section_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lessons_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "needs",
        sa.Column("section_id", sa.String(length=60), nullable=False),
        sa.Column("support", sa.String(length=60), nullable=False),
        sa.Column("students", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["section_id"], ["sections.id"], name=op.f("fk_needs_section_id_sections")),
        sa.PrimaryKeyConstraint("section_id", "support", name=op.f("pk_needs")),
    )
    op.create_table(
        "runs",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("section_id", sa.String(length=60), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("taught_on", sa.Date(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["section_id"], ["sections.id"], name=op.f("fk_runs_section_id_sections")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_runs_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_runs")),
    )
    with op.batch_alter_table("runs", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_runs_section_id"), ["section_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_runs_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "decisions",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("place", sa.String(length=60), nullable=False),
        sa.Column("proposal", sa.String(length=60), nullable=False),
        sa.Column("lever", sa.String(length=60), nullable=False),
        sa.Column("rule", sa.String(length=200), nullable=False),
        sa.Column("choice", sa.String(length=20), nullable=False),
        sa.Column("value", sa.Text(), nullable=True),
        sa.Column("reason", sa.String(length=60), nullable=True),
        sa.Column("note", sa.String(length=500), nullable=True),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["place"], ["answers.place"], name=op.f("fk_decisions_place_answers")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_decisions_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_decisions")),
    )
    with op.batch_alter_table("decisions", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_decisions_place"), ["place"], unique=False)
        batch_op.create_index(batch_op.f("ix_decisions_workspace_id"), ["workspace_id"], unique=False)

    op.create_table(
        "past_runs",
        sa.Column("run_id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("workspace_id", sa.String(length=60), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("replaced_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name=op.f("fk_past_runs_run_id_runs")),
        sa.ForeignKeyConstraint(["workspace_id"], ["workspaces.id"], name=op.f("fk_past_runs_workspace_id_workspaces")),
        sa.PrimaryKeyConstraint("run_id", "version", name=op.f("pk_past_runs")),
    )


def downgrade() -> None:
    op.drop_table("past_runs")
    with op.batch_alter_table("decisions", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_decisions_workspace_id"))
        batch_op.drop_index(batch_op.f("ix_decisions_place"))

    op.drop_table("decisions")
    with op.batch_alter_table("runs", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_runs_workspace_id"))
        batch_op.drop_index(batch_op.f("ix_runs_section_id"))

    op.drop_table("runs")
    op.drop_table("needs")
    with op.batch_alter_table("lessons", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lessons_workspace_id"))
        batch_op.drop_index(batch_op.f("ix_lessons_section_id"))
        batch_op.drop_index(batch_op.f("ix_lessons_cupboard_id"))

    op.drop_table("lessons")
    with op.batch_alter_table("answers", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_answers_section_id"))

    op.drop_table("answers")
    with op.batch_alter_table("sections", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sections_workspace_id"))

    op.drop_table("sections")
    op.drop_table("repeats")
    with op.batch_alter_table("log", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_log_workspace_id"))

    op.drop_table("log")
    with op.batch_alter_table("keys", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_keys_workspace_id"))

    op.drop_table("keys")
    with op.batch_alter_table("cupboards", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_cupboards_workspace_id"))

    op.drop_table("cupboards")
    op.drop_table("workspaces")
