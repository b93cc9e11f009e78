"""What a version of a recipe comes from, what changed to it, and what was made of it."""

from collections.abc import Callable, Iterable, Iterator

from advisor.recipe.read import read_recipe
from advisor.schema.kept_recipe import DoughMade, MovedLine, RecipeVersion, VersionOf, VersionTold
from advisor.schema.notebook import StoredDough
from advisor.schema.recipe import Recipe

_DECIMALS = 4


def parent_of(version: RecipeVersion) -> VersionOf | None:
    """Return the version another comes from: as it says, else the one before it."""
    if version.descends_from is not None or version.version == 1:
        return version.descends_from
    return VersionOf(recipe_key=version.key, version=version.version - 1)


def version_of(dough: StoredDough) -> VersionOf | None:
    """Return the version of a kept recipe a dough was made of."""
    if dough.recipe_key is None or dough.version is None:
        return None
    return VersionOf(recipe_key=dough.recipe_key, version=dough.version)


def told(
    version: RecipeVersion,
    find: Callable[[VersionOf], RecipeVersion | None],
    doughs: Iterable[StoredDough],
) -> VersionTold:
    """Return a version with what changed to it and the doughs that were made of it.

    Parameters
    ----------
    version : RecipeVersion
    find : callable
        Returns another version, or None where it is no longer kept.
    doughs : iterable of StoredDough
        Those of this version, oldest first.
    """
    parent = parent_of(version)
    before = None if parent is None else find(parent)
    changes = () if before is None else tuple(moved(before.recipe, version.recipe))
    return VersionTold(
        **{name: getattr(version, name) for name in RecipeVersion.model_fields},
        changes=changes,
        doughs=tuple(DoughMade(id=one.id or "", made_on=one.made_on, feel=one.feel) for one in doughs),
    )


def moved(before: Recipe, after: Recipe) -> Iterator[MovedLine]:
    """Yield the lines whose share changed, in the order of the earlier recipe [% of the recipe].

    Examples
    --------
    >>> old = {"lines": [{"material": "kaolin", "percent": 60}, {"material": "water", "percent": 40}]}
    >>> new = {"lines": [{"material": "kaolin", "grams": 70}, {"material": "water", "grams": 30}]}
    >>> [(one.material, one.change) for one in moved(*map(Recipe.model_validate, (old, new)))]
    [('kaolin', 10.0), ('water', -10.0)]
    """
    was, now = read_recipe(before).percents, read_recipe(after).percents
    for key in dict.fromkeys((*was, *now)):
        change = round(now.get(key, 0.0) - was.get(key, 0.0), _DECIMALS)
        if change:
            yield MovedLine(material=key, before=was.get(key, 0.0), after=now.get(key, 0.0), change=change)
