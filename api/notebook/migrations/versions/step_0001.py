"""The first tables: shops with their keys, own materials, lots, bench tests and doughs."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, and the one shop there is without keys."""
    op.create_table(
        "shops",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("changes", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shops")),
    )
    op.create_table(
        "answered",
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=255), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("address", sa.String(length=300), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_answered_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("shop", "key", name=op.f("pk_answered")),
    )
    op.create_index(op.f("ix_answered_made_at"), "answered", ["made_at"], unique=False)
    op.create_table(
        "doughs",
        sa.Column("place", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("tag", sa.String(length=40), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_doughs_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("place", name=op.f("pk_doughs")),
        sa.UniqueConstraint("shop", "id", name=op.f("uq_doughs_shop")),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_doughs_shop_place", "doughs", ["shop", "place"], unique=False)
    op.create_table(
        "keys",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("label", sa.String(length=200), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("revoked_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_keys_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_keys")),
        sa.UniqueConstraint("digest", name=op.f("uq_keys_digest")),
    )
    op.create_table(
        "links",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("expires_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_links_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_links")),
    )
    op.create_table(
        "lots",
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("material", sa.String(length=100), nullable=False),
        sa.Column("lot", sa.String(length=100), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_lots_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("shop", "material", "lot", name=op.f("pk_lots")),
    )
    op.create_table(
        "materials",
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=100), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_materials_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("shop", "key", name=op.f("pk_materials")),
    )
    op.create_table(
        "uptake_tests",
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("material", sa.String(length=100), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shop"], ["shops.id"], name=op.f("fk_uptake_tests_shop"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("shop", "material", name=op.f("pk_uptake_tests")),
    )
    op.create_table(
        "dough_lots",
        sa.Column("dough", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("material", sa.String(length=100), nullable=False),
        sa.Column("lot", sa.String(length=100), nullable=False),
        sa.ForeignKeyConstraint(
            ["dough"], ["doughs.place"], name=op.f("fk_dough_lots_dough"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("dough", "material", name=op.f("pk_dough_lots")),
    )
    op.create_index("ix_dough_lots_material", "dough_lots", ["material", "lot"], unique=False)
    op.execute("INSERT INTO shops (id, name, changes) VALUES ('local', '', 0)")
    if op.get_bind().dialect.name == "sqlite":
        op.execute("PRAGMA application_id = 1146049863")
