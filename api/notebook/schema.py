"""The tables of the notebook; the migrations lead to exactly these."""

import sqlalchemy as sa

NEWEST = "0003"
APPLICATION = 0x444F5547

metadata = sa.MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
    }
)


def _shop(*, primary: bool = True) -> sa.Column[str]:
    of = sa.ForeignKey("shops.id", ondelete="CASCADE")
    return sa.Column("shop", sa.String(40), of, primary_key=primary, nullable=False)


def _name(name: str, length: int = 100) -> sa.Column[str]:
    return sa.Column(name, sa.String(length), primary_key=True)


def _body() -> sa.Column[str]:
    return sa.Column("body", sa.Text, nullable=False)


shops = sa.Table(
    "shops",
    metadata,
    sa.Column("id", sa.String(40), primary_key=True),
    sa.Column("name", sa.String(200), nullable=False),
    sa.Column("changes", sa.BigInteger, nullable=False),
)
keys = sa.Table(
    "keys",
    metadata,
    sa.Column("id", sa.String(40), primary_key=True),
    _shop(primary=False),
    sa.Column("digest", sa.String(64), nullable=False, unique=True),
    sa.Column("label", sa.String(200), nullable=False),
    sa.Column("made_at", sa.BigInteger, nullable=False),
    sa.Column("revoked_at", sa.BigInteger),
    sa.Column("role", sa.String(10), nullable=False, server_default="owner"),
    sa.Column("used_at", sa.BigInteger),
    sa.Column("ends_at", sa.BigInteger),
)
links = sa.Table(
    "links",
    metadata,
    sa.Column("digest", sa.String(64), primary_key=True),
    _shop(primary=False),
    sa.Column("expires_at", sa.BigInteger, nullable=False),
)
materials = sa.Table("materials", metadata, _shop(), _name("key"), _body())
lots = sa.Table("lots", metadata, _shop(), _name("material"), _name("lot"), _body())
uptake_tests = sa.Table("uptake_tests", metadata, _shop(), _name("material"), _body())
recipes = sa.Table(
    "recipes",
    metadata,
    _shop(),
    _name("key"),
    sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
    _body(),
)
doughs = sa.Table(
    "doughs",
    metadata,
    sa.Column("place", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True),
    _shop(primary=False),
    sa.Column("id", sa.String(64), nullable=False),
    sa.Column("tag", sa.String(40), nullable=False),
    _body(),
    sa.Column("recipe_key", sa.String(64)),
    sa.Column("version", sa.Integer),
    sa.UniqueConstraint("shop", "id"),
    sa.Index("ix_doughs_shop_place", "shop", "place"),
    sa.Index("ix_doughs_recipe", "shop", "recipe_key", "version"),
    sqlite_autoincrement=True,
)
dough_lots = sa.Table(
    "dough_lots",
    metadata,
    sa.Column("dough", sa.ForeignKey("doughs.place", ondelete="CASCADE"), primary_key=True),
    _name("material"),
    sa.Column("lot", sa.String(100), nullable=False),
    sa.Column("taken_grams", sa.Double, nullable=False, server_default="0"),
    sa.Index("ix_dough_lots_material", "material", "lot"),
)
answered = sa.Table(
    "answered",
    metadata,
    _shop(),
    _name("key", 255),
    sa.Column("digest", sa.String(64), nullable=False),
    sa.Column("address", sa.String(300), nullable=False),
    sa.Column("made_at", sa.BigInteger, nullable=False, index=True),
    _body(),
)
replaced = sa.Table(
    "replaced",
    metadata,
    _shop(),
    sa.Column("made_at", sa.BigInteger, nullable=False),
    _body(),
)
