"""Keys get a role, an end and a last use; what was replaced by an import is kept once."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns and the table; every key there is was its shop's own, so it is an owner's."""
    op.add_column("keys", sa.Column("role", sa.String(length=10), nullable=False, server_default="owner"))
    op.add_column("keys", sa.Column("used_at", sa.BigInteger(), nullable=True))
    op.add_column("keys", sa.Column("ends_at", sa.BigInteger(), nullable=True))
    op.create_table(
        "replaced",
        sa.Column("shop", sa.String(length=40), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop"], ["shops.id"], name=op.f("fk_replaced_shop"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("shop", name=op.f("pk_replaced")),
    )
