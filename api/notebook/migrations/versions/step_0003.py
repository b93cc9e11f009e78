"""Recipes get versions, doughs name theirs, and what a dough took of a lot is known."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table and the columns; the doughs there are were made of no kept recipe and took nothing."""
    op.create_table(
        "recipes",
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=100), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_recipes_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("shop", "key", "version", name=op.f("pk_recipes")),
    )
    op.add_column("doughs", sa.Column("recipe_key", sa.String(length=64), nullable=True))
    op.add_column("doughs", sa.Column("version", sa.Integer(), nullable=True))
    op.create_index("ix_doughs_recipe", "doughs", ["shop", "recipe_key", "version"], unique=False)
    op.add_column("dough_lots", sa.Column("taken_grams", sa.Double(), nullable=False, server_default="0"))
