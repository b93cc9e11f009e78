"""Pools the evidence files of many shops into a table of rules: streaming, in parts, flat in memory."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from statistics import NormalDist
from typing import Any, get_args

import numpy as np

from advisor.errors import Fault, InvalidRequest
from advisor.frozen import dataclass
from advisor.pooling.population import Population, Shop, Tally, fitted, surprise, tally
from advisor.pooling.shared import CENTRE, SharedEvidence
from advisor.rulebook.load import Rulebook
from advisor.schema.recipe import Method

_PART = 500
_FIRST = 2000
_TOO_FAR = 5.0
_LEVEL = 0.8
_TOLD = 5

Each = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]


@dataclass(frozen=True)
class Pooled:
    """A population fitted to many shops, and the files that were turned away with the reason."""

    keys: tuple[str, ...]
    population: Population
    refused: tuple[str, ...]
    edition: str

    def toml(self) -> str:
        """Return the table of rules that ``load_rulebook`` takes beside the packaged ones."""
        reach = NormalDist().inv_cdf((1 + _LEVEL) / 2)
        shops = int(self.population.shops[0])
        lines = [
            f"# What the doughs of {shops} shops say, on the logarithm; mean and spread (sd) among shops.",
            'basis = "pooled"',
            f'source = "the judged doughs of {shops} shops, pooled"',
            f'rules_version = "{self.edition}"',
        ]
        rows = zip(self.keys, self.population.mean, self.population.spread, strict=True)
        for place, (key, mean, spread) in enumerate(rows):
            if self.population.shops[place]:
                off = reach * math.sqrt(self.population.covariance[place, place])
                lines += [
                    f'\n[among_shops."{key}"]',
                    f"mean = {mean:.6f} # {_LEVEL:.0%} interval {mean - off:+.4f} to {mean + off:+.4f}",
                    f"sd = {spread:.6f}",
                    f"shops = {int(self.population.shops[place])}",
                ]
        return "\n".join(lines) + "\n"


def pool(files: Sequence[Path], rulebook: Rulebook, each: Each = map) -> Pooled:
    """Return the population that the evidence of many shops speaks for.

    Parameters
    ----------
    files : sequence of Path
        As ``share_evidence`` writes them, one a shop.
    rulebook : Rulebook
        Whose powders and first guesses they are about.
    each : callable
        Like ``map``: lets a pool of processes or a cluster do the parts.

    Raises
    ------
    InvalidRequest
        If no file can be used.

    Notes
    -----
    The spreads are fitted to the first two thousand shops that can be read, those aside that contradict the
    rules' own guess, for one such shop would widen the spread until it fits; then every file is read once, in
    parts, and the means follow from all of them. A file that is broken, of other rules, or farther from the
    population than chance explains (five standard deviations) is turned away by name.
    """
    first, keys = _first_guess(rulebook)
    place = {key: at for at, key in enumerate(keys)}
    read = list(_read(files[:_FIRST], place, rulebook.edition))
    begun = [one for _, one in read if isinstance(one, Shop)]
    if not begun:
        faults = [Fault(str(path), str(why), "share the evidence anew") for path, why in read[:_TOLD]]
        raise InvalidRequest("None of the files holds evidence that fits these rules.", faults)
    likely = [one for one in begun if surprise(one, first) <= _TOO_FAR]
    among = fitted(likely or begun, first)
    kept = [one for one in begun if surprise(one, among) <= _TOO_FAR]
    among = fitted(kept, first)
    total = Tally.empty(len(keys))
    parts = (files[start : start + _PART] for start in range(0, len(files), _PART))
    for found in each(partial(_counted, among=among, place=place, edition=rulebook.edition), parts):
        total.add(found)
    return Pooled(keys, total.population(first), tuple(total.refused), rulebook.edition)


def _counted(files: Sequence[Path], among: Population, place: dict[str, int], edition: str) -> Tally:
    """Return the tally of some files, with those turned away named."""
    kept, refused = [], []
    for path, found in _read(files, place, edition):
        if isinstance(found, str):
            refused.append(f"{path}: {found}")
        elif surprise(found, among) > _TOO_FAR:
            refused.append(f"{path}: it contradicts what the others say")
        else:
            kept.append(found)
    told = tally(kept, among)
    told.refused = refused
    return told


def _read(files: Iterable[Path], place: dict[str, int], edition: str) -> Iterator[tuple[Path, Shop | str]]:
    """Read evidence, file by file; what cannot be used is answered with the reason."""
    for path in files:
        try:
            shared = SharedEvidence.model_validate_json(path.read_bytes())
            if shared.rules_version != edition:
                yield path, f"it is of other rules, {shared.rules_version}"
            elif unknown := [key for key in shared.keys if key not in place]:
                yield path, f"it names what these rules do not know, {unknown[0]}"
            else:
                yield path, Shop(tuple(place[key] for key in shared.keys), *shared.information())
        except (OSError, ValueError) as fault:
            yield path, f"it is no evidence ({type(fault).__name__})"


def _first_guess(rulebook: Rulebook) -> tuple[Population, tuple[str, ...]]:
    """Return what the rules believe of the centre, of powders and of methods."""
    dough = rulebook.dough
    sds = {CENTRE: dough.prior.centre_sd}
    sds |= {key: one.uptake_sd for key, one in sorted(rulebook.ingredients.items()) if one.uptake_sd > 0}
    methods = (f"method:{one}" for one in get_args(Method) if one != dough.pooling.usual_method)
    sds |= dict.fromkeys(methods, dough.pooling.method_sd)
    spread = np.array(list(sds.values()))
    mean = np.zeros(len(spread))
    mean[0] = dough.prior.centre_mean
    return Population(mean, spread, np.diag(spread**2), np.zeros(len(mean))), tuple(sds)
