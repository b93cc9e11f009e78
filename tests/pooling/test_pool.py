"""From shop to shop: what is handed on and what is not, and a population that comes back from what was handed on."""

import json
import tomllib

import numpy as np
import pytest
from distributed import LocalCluster

from advisor.errors import InvalidRequest, RulesError
from advisor.experiment.window import window_of
from advisor.learning import Dough
from advisor.pooling.pool import pool
from advisor.pooling.population import Population, Shop, fitted, surprise, tally
from advisor.pooling.shared import CENTRE, SharedEvidence, share_evidence
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import load_rulebook, with_pooled
from advisor.sweeps.cluster import Cluster

BOOK = load_rulebook()
POWDERS = ("isethionate-powder", "kaolin", "rice-flour", "corn-starch")
BORDERS = BOOK.dough.classes.thresholds
MEAN = np.array([0.05, 0.20, -0.15, 0.10, -0.10])
SPREAD = np.array([0.10, 0.08, 0.08, 0.08, 0.08])


def shop(seed, mean=MEAN, spread=SPREAD, doughs=20):
    rng = np.random.default_rng([71, seed])
    true = mean + spread * rng.normal(size=5)
    usual, made = rng.dirichlet((6, 2, 2, 2)), []
    for _ in range(doughs):
        shares, off = rng.dirichlet(30 * usual + 0.2), rng.normal(0, 0.08)
        outcome = int(np.searchsorted(BORDERS, off + 0.03 * rng.logistic())) + 1
        index = float(true[0] + shares @ true[1:] + off)
        made.append(Dough(index, dict(zip(POWDERS, shares.tolist(), strict=True)), outcome))
    return Notebook(BOOK.dough, BOOK.ingredients, doughs=tuple(made)), true, usual


def file_of(folder, name, evidence):
    path = folder / f"{name}.json"
    path.write_text(evidence if isinstance(evidence, str) else evidence.model_dump_json(), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shops")
    return [file_of(folder, seed, share_evidence(shop(seed)[0], BOOK.edition)) for seed in range(60)]


def test_what_is_handed_on_names_no_recipe_no_material_of_the_shops_own_and_no_lot():
    secret = {"kaolin": 0.3, "my-secret-clay": 0.7, "kaolin#lot-7": 0.3, "method:mixer": 1.0}
    own = {"my-secret-clay": BOOK.ingredients["kaolin"]}
    made = (Dough(0.1, secret, 4),) * 5
    told = share_evidence(Notebook(BOOK.dough, BOOK.ingredients, own, doughs=made), BOOK.edition)
    assert told.keys == (CENTRE, "kaolin", "method:mixer")
    assert set(json.loads(told.model_dump_json())) == {
        "format", "rules_version", "keys", "mean", "covariance", "prior_mean", "prior_sd",
    }  # fmt: skip
    with pytest.raises(ValueError, match="No judged dough"):
        share_evidence(Notebook(BOOK.dough, BOOK.ingredients), BOOK.edition)


def test_the_prior_is_taken_out_again():
    book = shop(1)[0]
    told = share_evidence(book, BOOK.edition)
    precision, pull = told.information()
    prior = np.array(told.prior_sd) ** -2.0
    covariance = np.linalg.inv(precision + np.diag(prior))
    assert covariance == pytest.approx(np.array(told.covariance), abs=1e-6)
    assert covariance @ (pull + prior * np.array(told.prior_mean)) == pytest.approx(told.mean, abs=1e-4)
    assert np.linalg.eigvalsh(precision)[0] > -1e-6 * np.linalg.eigvalsh(precision)[-1]


def test_means_and_spreads_of_known_shops_come_back():
    rng = np.random.default_rng(2)
    shops, true = [], np.array([0.1, -0.2, 0.3])
    for _ in range(800):
        precision = np.diag(rng.uniform(50, 400, 3))
        own = true + np.array([0.2, 0.1, 0.05]) * rng.normal(size=3)
        told = own + rng.normal(size=3) / np.sqrt(np.diag(precision))
        shops.append(Shop((0, 1, 2), precision, precision @ told))
    first = Population(np.zeros(3), np.full(3, 0.3), np.eye(3), np.zeros(3))
    found = fitted(shops, first)
    assert found.spread == pytest.approx([0.2, 0.1, 0.05], rel=0.15)
    off = (found.mean - true) / np.sqrt(np.diag(found.covariance))
    assert np.abs(off).max() < 3
    halves = tally(shops[:300], found)
    halves.add(tally(shops[300:], found))
    assert halves.pull == pytest.approx(tally(shops, found).pull)
    assert max(surprise(one, found) for one in shops) < 5
    strange = Shop((0, 1, 2), np.eye(3) * 400, 400 * np.array([2.0, 2.0, -2.0]))
    assert surprise(strange, found) > 5


def test_what_no_shop_tells_of_stays_as_first_guessed():
    first = Population(np.zeros(4), np.full(4, 0.3), np.diag(np.full(4, 0.09)), np.zeros(4))
    told = Shop((1, 3), np.array([[90.0, 20.0], [20.0, 40.0]]), np.array([9.0, 2.0]))
    found = tally([told], first).population(first)
    whole = np.linalg.inv(tally([told], first).weight + np.diag(first.spread**-2.0))
    assert found.covariance == pytest.approx(whole, abs=1e-12)
    assert found.mean[[0, 2]] == pytest.approx(0.0)


def test_pooled_shops_tell_where_a_new_shop_is_workable(shared):
    pooled = pool(shared, BOOK)
    among = pooled.population
    at = [pooled.keys.index(key) for key in (CENTRE, *POWDERS)]
    assert np.all(among.shops[at] == len(shared))
    off = []
    for seed in range(500, 540):
        _, true, usual = shop(seed, doughs=0)
        off.append(np.concatenate(((1.0,), usual)) @ (true - among.mean[at]))
    assert abs(np.mean(off)) < 0.06
    assert np.std(off) < 1.25 * np.hypot(0.10, 0.06)
    assert among.spread[at[0]] == pytest.approx(0.10, abs=0.05)


def test_broken_strange_and_contradicting_files_are_turned_away_by_name(shared, tmp_path):
    good = SharedEvidence.model_validate_json(shared[0].read_bytes())
    strange = [
        file_of(tmp_path, "broken", "{"),
        file_of(tmp_path, "form", shared[0].read_text("utf-8").replace('"format":1', '"format":true')),
        file_of(tmp_path, "sizes", good.model_copy(update={"mean": good.mean[:-1]})),
        file_of(tmp_path, "older", good.model_copy(update={"rules_version": "2020.1.1+0"})),
        file_of(tmp_path, "foreign", good.model_copy(update={"keys": ("centre", *"abcd")})),
        file_of(tmp_path, "grams", good.model_copy(update={"mean": tuple(5.0 + one for one in good.mean)})),
    ]
    pooled = pool([*shared, *strange], BOOK)
    assert [one.split(".json")[0].rsplit("/", 1)[-1] for one in pooled.refused] == [
        one.stem for one in strange
    ]
    assert pooled.population.shops[0] == len(shared)
    with pytest.raises(InvalidRequest):
        pool(strange[:3], BOOK)


@pytest.mark.parametrize("off", [-5.0, -2.0, 2.0, 5.0])
def test_a_file_far_off_does_not_hide_itself(shared, tmp_path, off):
    few = shared[:12]
    evidence = [SharedEvidence.model_validate_json(one.read_bytes()) for one in few]
    moved = [one.model_copy(update={"mean": (off + one.mean[0], *one.mean[1:])}) for one in evidence]
    for place, one in enumerate(moved):
        strange = file_of(tmp_path, f"off{place}", one)
        assert pool([*few, strange], BOOK).refused == (f"{strange}: it contradicts what the others say",)


@pytest.mark.slow
def test_a_cluster_pools_the_same(shared):
    with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as local:
        cluster = Cluster(local.scheduler_address)
        assert pool(shared, BOOK, cluster.each).toml() == pool(shared, BOOK).toml()
        cluster.close()


def test_the_pooled_table_is_loaded_beside_the_rules(shared, tmp_path):
    path = tmp_path / "pooled.toml"
    path.write_text(pool(shared, BOOK).toml(), encoding="utf-8")
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    book = with_pooled(BOOK, path)
    told = {one.method: one for one in window_of(rulebook=book).by_method}
    assert table["basis"] == "pooled"
    assert told["hand"].centre == pytest.approx(np.exp(table["among_shops"][CENTRE]["mean"]), abs=1e-3)
    assert told["hand"].high / told["hand"].low < 1.5
    assert book.edition != BOOK.edition
    path.write_text(path.read_text(encoding="utf-8").replace(BOOK.edition, "2020.1.1+0"), encoding="utf-8")
    with pytest.raises(RulesError, match="other rules"):
        with_pooled(BOOK, path)
