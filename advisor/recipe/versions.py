"""What a version of a recipe comes from, what changed to it, and what was made of it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Literal

from advisor.recipe.read import read_recipe
from advisor.recipe.request import read_request
from advisor.schema.findings import MovedLine
from advisor.schema.notebook import (
    BarTested,
    DoughMade,
    RecipeVersion,
    StoredDough,
    VersionOf,
    VersionTold,
)
from advisor.schema.recipe import Recipe

_DECIMALS = 4
Fields = Mapping[str, Any]


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


def past(
    key: str, versions: Iterable[RecipeVersion | Fields], doughs: Iterable[StoredDough | Fields]
) -> list[VersionTold]:
    """Return the versions of a recipe, oldest first, with what changed and what was made of each.

    Parameters
    ----------
    key : str
        Of the recipe.
    versions, doughs : iterable
        As the notebook keeps them; those of other recipes too.

    Raises
    ------
    InvalidRequest

    Examples
    --------
    >>> old = [{"material": "kaolin", "percent": 60}, {"material": "water", "percent": 40}]
    >>> new = [{"material": "kaolin", "percent": 70}, {"material": "water", "percent": 30}]
    >>> of = {"key": "weir-bar", "kept_on": "2031-03-09"}
    >>> kept = [{**of, "version": at, "recipe": {"lines": lines}} for at, lines in ((1, old), (2, new))]
    >>> made = [{"recipe": {"lines": new}, "recipe_key": "weir-bar", "version": 2, "outcome": "workable"}]
    >>> last = past("weir-bar", kept, made)[-1]
    >>> [(one.material, one.change) for one in last.changes], [one.feel for one in last.doughs]
    ([('kaolin', 10.0), ('water', -10.0)], ['workable'])
    """
    read = [read_request(RecipeVersion, one) for one in versions]
    every = {VersionOf(recipe_key=one.key, version=one.version): one for one in read}
    made: dict[VersionOf, list[StoredDough]] = {of: [] for of in every}
    for dough in (read_request(StoredDough, one) for one in doughs):
        of = version_of(dough)
        if of in made:
            made[of].append(dough)
    own = sorted((one for one in every.values() if one.key == key), key=lambda one: one.version)
    return [_told(one, every, made) for one in own]


def _told(
    version: RecipeVersion,
    every: Mapping[VersionOf, RecipeVersion],
    made: Mapping[VersionOf, Sequence[StoredDough]],
) -> VersionTold:
    parent = parent_of(version)
    before = None if parent is None else every.get(parent)
    doughs = made[VersionOf(recipe_key=version.key, version=version.version)]
    return VersionTold(
        **{name: getattr(version, name) for name in RecipeVersion.model_fields},
        changes=() if before is None else tuple(moved(before.recipe, version.recipe)),
        doughs=tuple(DoughMade(id=one.id or "", made_on=one.made_on, feel=one.feel) for one in doughs),
        bar_tests=tuple(_tested(doughs, () if parent is None else made.get(parent, ()))),
    )


def _tested(doughs: Iterable[StoredDough], earlier: Iterable[StoredDough]) -> Iterator[BarTested]:
    """Yield what bars gave in each test, held beside those of the version before."""
    last = _bars(earlier)
    for test, values in sorted(_bars(doughs).items()):
        before = last.get(test)
        against: Literal["less", "more", "same"] | None = None
        if before is not None:
            shift, both = _mean(values) - _mean(before), max(_spread(values), _spread(before))
            against = "same" if abs(shift) <= both else "more" if shift > 0 else "less"
        yield BarTested(
            test=test,
            mean=round(_mean(values), _DECIMALS),
            spread=round(_spread(values), _DECIMALS),
            bars=len(values),
            against_last=against,
        )


def _bars(doughs: Iterable[StoredDough]) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for dough in doughs:
        for one in dough.bar_tests:
            found.setdefault(one.test, []).extend(one.values)
    return found


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _spread(values: Sequence[float]) -> float:
    return max(values) - min(values)


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
