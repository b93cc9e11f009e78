"""Judges swaps without the program: rows written out from the rules files, proved by scipy."""

import csv
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import linprog

import rules

ROOT = Path(rules.__file__).parent
Line = tuple[Mapping[str, float], float, float, str]


@lru_cache(maxsize=32)
def table(name: str) -> dict[str, Any]:
    return tomllib.loads((ROOT / name).read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def library() -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for path in sorted((ROOT / "materials").glob("*.toml")):
        found |= tomllib.loads(path.read_text(encoding="utf-8"))
    return found


def figure(block: Mapping[str, Any], name: str, default: float = 0.0) -> float:
    value = block.get(name, default)
    return float(value["typical"] if isinstance(value, Mapping) else value)


def liquid(block: Mapping[str, Any], *, cold: bool = False) -> float:
    form, melts = block["form"], block.get("melts_c")
    if form in ("liquid", "paste"):
        return 1.0
    if form in ("powder", "granule", "flake") or (form == "hard_solid" and melts is None):
        return 0.0
    return float(not cold or (form == "soft_solid" and melts is not None and melts <= 20))


def held_share(block: Mapping[str, Any]) -> float:
    """Share of the water that leaves, at the cautious end."""
    kind = block.get("water_kind") or ("free" if block["form"] in ("liquid", "paste") else "moisture")
    if not block.get("water_kind") and kind == "free" and block["roles"][0] == "humectant":
        kind = "held"
    return float(table("dough.toml")["water"][kind]["high"])


def water(block: Mapping[str, Any]) -> float:
    return figure(block, "water", block["composition"].get("Aqua", 0.0)) / 100


def active(block: Mapping[str, Any], *, cationic: bool = False) -> float:
    refats = "emollient" in block["roles"] and {"primary_surfactant", "co_surfactant"} & set(block["roles"])
    if refats or (block.get("charge") == "cationic") is not cationic:
        return 0.0
    return figure(block, "active") / 100


def klass(block: Mapping[str, Any]) -> str:
    charge = block.get("charge", "none")
    return "amphoteric" if charge == "zwitterionic" else str(charge)


def component(block: Mapping[str, Any], *names: str) -> float:
    wanted = {name.casefold() for name in names}
    return sum(v for k, v in block["composition"].items() if k.casefold() in wanted) / 100


def uptake(block: Mapping[str, Any]) -> float:
    priors = table("dough.toml")["form_prior"]["uptake"]
    return figure(block, "uptake", priors.get(block["form"], 0.0)) * (1 - liquid(block))


def wetting(block: Mapping[str, Any]) -> float:
    priors = table("dough.toml")["form_prior"]["wetting"]
    return figure(block, "wetting", priors.get(block["form"], 1.0)) * liquid(block)


def watery(block: Mapping[str, Any]) -> float:
    role = block["roles"][0]
    if role == "humectant":
        return float(table("dough.toml")["cohesion"]["humectant_counts"])
    extract = role == "featured" and block["composition"].get("Aqua", 0.0) > 50
    return float(extract or role in ("primary_surfactant", "co_surfactant", "water"))


def oil(block: Mapping[str, Any]) -> float:
    return float(block["form"] in ("liquid", "paste", "soft_solid") and block["roles"][0] == "emollient")


def lever(block: Mapping[str, Any]) -> bool:
    held = table("program.toml")["held"]
    solid = component(block, *held["components"]) * 100 >= held["at_least_percent"]
    return not solid and block["roles"][0] not in held["roles"]


def may_join(block: Mapping[str, Any]) -> bool:
    """No salt, sugar, gum, silica or poison comes off the shelf as a powder, and nothing that is no lever."""
    surfactant = {"primary_surfactant", "co_surfactant"} & set(block["roles"])
    sugar = component(block, *table("program.toml")["never_new"]["powders"]) >= 0.5
    dry, poisons = liquid(block) < 1, table("program.toml")["never_new"]["dry_hazards"]
    poison = any(code in hazard for hazard in block.get("hazards", ()) for code in poisons)
    return lever(block) and not (dry and ((block.get("soluble") and not surfactant) or sugar or poison))


def work(block: Mapping[str, Any], missing: Mapping[str, Any]) -> float:
    """How much of what the missing material did a point of another does."""
    role = missing["roles"][0]
    washed = active(missing) + active(missing, cationic=True)
    if role in ("primary_surfactant", "co_surfactant") and washed:
        return active(block) + active(block, cationic=True)
    if role in ("acid", "base", "chelator"):
        own, other = equivalents(missing, role), equivalents(block, role)
        return (1 - water(missing)) * other / own if own and other else 1 - water(block)
    level = missing.get("use", {}).get("min")
    if role == "preservative" and level:
        return 1 / (block.get("use", {}).get("min") or level)
    own = purposes(missing)
    if not own or own != purposes(block):
        return 1.0
    if any(purpose["counted"] == "dose" for purpose in own):
        return level / block["use"]["min"]
    names = [name for purpose in own for name in purpose["components"]]
    return component(block, *names) / component(missing, *names)


def mainly(block: Mapping[str, Any]) -> str:
    parts = {name: share for name, share in block["composition"].items() if name != "Aqua"}
    return max(parts, key=lambda name: parts[name], default="Aqua")


def purposes(block: Mapping[str, Any]) -> list[dict[str, Any]]:
    rules = table("substitution.toml")
    least = rules["bounds"]["purpose_from_percent"] / 100
    return [one for one in rules["purpose"] if component(block, *one["components"]) >= least]


def equivalents(block: Mapping[str, Any], kind: str) -> float:
    """How much acid or alkali a gram of a material brings [mol], as far as it is known."""
    movers = [mover for mover in table("acidity.toml")["mover"] if mover["kind"] == kind]
    return sum(
        block["composition"].get(mover["component"], 0.0) / 100 * mover["equivalents"] / mover["molar_mass"]
        for mover in movers
    )


def stands(side: Mapping[str, Any], block: Mapping[str, Any]) -> bool:
    if side.get("charges") and (
        block.get("charge", "none") not in side["charges"] or not figure(block, "active")
    ):
        return False
    if side.get("roles") and not set(side["roles"]) & set(block["roles"]):
        return False
    if side.get("forms") and block["form"] not in side["forms"]:
        return False
    if side.get("components"):
        return 100 * component(block, *side["components"]) >= side.get("at_least_percent", 0.001)
    return True


def counted(side: Mapping[str, Any], block: Mapping[str, Any]) -> float:
    """Return how much of a material counts on a side (0..1, or mol in a gram)."""
    if not stands({**side, "components": ()}, block):
        return 0.0
    if side.get("molar_masses"):
        return sum(component(block, name) / mass for name, mass in side["molar_masses"].items())
    if side.get("components"):
        held = component(block, *side["components"])
        if 100 * held >= side.get("at_least_percent", 0.001):
            return held
        return 1 - water(block) if set(side.get("or_roles", ())) & set(block["roles"]) else 0.0
    return figure(block, "active") / 100 if side.get("charges") else 1.0


def enough(part: Mapping[str, Any], amount: float) -> bool:
    return amount > part.get("over_percent", 0.0) and amount >= part.get("from_percent", 0.0)


def forbidden(
    one: Mapping[str, Any], other: Mapping[str, Any], percents: tuple[float, float] | None = None
) -> str | None:
    """Name the pair two materials make, at these percents or at their usual most."""
    rules = table("pairs.toml")
    usual = (one.get("use", {}).get("max", 100), other.get("use", {}).get("max", 100))
    most = usual if percents is None else percents
    for pair in rules["pair"]:
        if pair["refuse"] == "never":
            continue
        for blocks, used in (((one, other), most), ((other, one), most[::-1])):
            held = [
                counted(rules["side"][pair[place]["of"]], block)
                * (amount if pair["refuse"] == "as_used" else 100)
                for place, block, amount in zip(("first", "second"), blocks, used, strict=True)
            ]
            if not all(
                enough(pair[place], amount) for place, amount in zip(("first", "second"), held, strict=True)
            ):
                continue
            if held[0] >= pair.get("mole_ratio_from", 0.0) * held[1]:
                return str(pair["id"])
    return None


def listed(market: str) -> list[dict[str, str]]:
    """Rows with a maximum for hands and body, as they stand in the lists of a market."""
    rows: list[dict[str, str]] = []
    for name in ("preservatives", "restricted"):
        path = ROOT / "law" / market / f"{name}.csv"
        if path.exists():
            rows += csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    here = ("", "hand_and_body")
    return [
        row
        for row in rows
        if row["max"] and row["used_on"].split(" | ")[0] in here and row["purpose"] != "other"
    ]


def unlisted(block: Mapping[str, Any], market: str) -> bool:
    """Tell whether a material holds what stands neither in a market's preservatives nor in its head."""
    path = ROOT / "law" / market / "preservatives.csv"
    text = path.read_text(encoding="utf-8") + (path.parent / "market.toml").read_text(encoding="utf-8")
    return any(name.casefold() not in text.casefold() for name in block["composition"])


def legal(market: str) -> list[tuple[str, dict[str, float], float]]:
    """Limits of a market as (id, weight of each component, maximum)."""
    if market == "none":
        return []
    named = {entry["name"].casefold(): entry for entry in table("substances.toml")["substance"]}
    limits = []
    for limit in listed("eu" if market == "uk" else market):
        weights = {}
        for name in limit["components"].split(" | "):
            entry = named.get(name.casefold(), {})
            acid = entry.get("acid")
            weights[name.casefold()] = (
                entry.get("acid_count", 1) * named[acid.casefold()]["molar_mass"] / entry["molar_mass"]
                if limit["as"] == "acid" and acid
                else 1.0
            )
        limits.append((limit["id"], weights, float(limit["max"])))
    return limits


@dataclass(frozen=True)
class Judge:
    """A recipe, what is missing, and what else may be used, as the request gave it."""

    percents: Mapping[str, float]
    missing: str
    shelf: Sequence[str] = ()
    wishes: Mapping[str, Any] = field(default_factory=dict)
    inline: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def of(self, key: str) -> Mapping[str, Any]:
        return self.inline.get(key) or library()[key]

    def keys(self, replaced: Sequence[str]) -> list[str]:
        others = [key for key in self.percents if key != self.missing] + list(replaced)
        usable = [
            key
            for key in self.shelf
            if key not in self.percents
            and may_join(self.of(key))
            and not any(forbidden(self.of(key), self.of(o)) for o in others)
        ]
        return sorted({*self.percents, *replaced, *usable})

    def held(self, key: str) -> tuple[float, float]:
        """Between which percents a line stays that is no lever: the law brings it down, its working level up."""
        at, room, own = self.percents.get(key, 0.0), table("program.toml")["held"]["law_room"], self.percents
        low, high = at, at
        if self.of(key)["roles"][0] == "preservative" and at:
            high = max(at, self.of(key).get("use", {}).get("min", 0.0))
        for _, weights, most in legal(self.wishes.get("market", "none")):
            counted = {
                k: sum(v * weights.get(n.casefold(), 0.0) for n, v in self.of(k)["composition"].items())
                for k in own
            }
            made = sum(counted[k] * own[k] for k in own) / 100
            left = sum((1 - held_share(self.of(k)) * water(self.of(k))) * own[k] for k in own)
            for value in (made, 100 * made / left):
                if counted.get(key) and value > most:
                    low = min(low, at * most / value * (1 - room))
        return low, high

    def sum(self, figure_of: Any, amounts: Mapping[str, float]) -> float:
        return float(sum(figure_of(self.of(key)) * amount for key, amount in amounts.items()))

    def rows(self, replaced: Sequence[str]) -> list[Line]:
        """Every demand as (coefficients, low, high, name), without the total."""
        keys, own = self.keys(replaced), self.percents
        dough, bounds = table("dough.toml"), table("substitution.toml")["bounds"]
        of, inf = self.of, float("inf")
        rows: list[Line] = [({self.missing: 1.0}, 0.0, 0.0, "missing")]

        strength = self.sum(active, own)
        band = self.wishes.get("active") or {"min": strength - 0.1, "max": strength + 0.1}
        low, high = band.get("min", 0.0), band.get("max", 100.0)
        rows.append(({k: active(of(k)) for k in keys}, low, high, "active"))

        def washes(block: Mapping[str, Any]) -> float:
            surfactant = {"primary_surfactant", "co_surfactant"} & set(block["roles"])
            return active(block) if surfactant and "emollient" not in block["roles"] else 0.0

        primary = self.sum(washes, own)
        if primary and low <= strength <= high:
            share = bounds["primary_share"]
            rows.append(
                ({k: washes(of(k)) for k in keys}, primary * (1 - share), primary * (1 + share), "primary")
            )

        demand, liquids = self.sum(uptake, own), self.sum(wetting, own)
        if demand and liquids:
            index, keep = liquids / demand, dough["steps"]["keep_band"]
            rows.append(
                ({k: wetting(of(k)) - index * (1 + keep) * uptake(of(k)) for k in keys}, -inf, 0.0, "wetting")
            )
            rows.append(
                ({k: wetting(of(k)) - index * (1 - keep) * uptake(of(k)) for k in keys}, 0.0, inf, "wetting")
            )
            kept = dough["steps"]["powder_kept_at_least"] * demand
            rows.append(({k: uptake(of(k)) for k in keys}, kept, inf, "powder kept"))
            wet = self.sum(lambda block: wetting(block) * watery(block), own) / liquids
            least = min(dough["cohesion"]["watery_share_at_least"], wet)
            rows.append(({k: wetting(of(k)) * (watery(of(k)) - least) for k in keys}, 0.0, inf, "watery"))
            powder = self.sum(lambda block: 1 - liquid(block), own)
            most = max(dough["cohesion"]["oil_per_powder_at_most"], self.sum(oil, own) / powder)
            rows.append(({k: oil(of(k)) - most * (1 - liquid(of(k))) for k in keys}, -inf, 0.0, "oil"))

        gone = of(self.missing)
        shares = {key: work(of(key), gone) for key in replaced}
        had = sum(share * own.get(key, 0.0) for key, share in shares.items())
        wanted = work(gone, gone) * own[self.missing]
        role = gone["roles"][0]
        group = next(one for one in table("substitution.toml")["group"] if one["role"] == role)
        low, high = bounds["function_at_least"], bounds["function_at_most"]
        own_purposes = purposes(gone)
        if own_purposes:
            same = all(purposes(of(key)) == own_purposes for key in replaced)
        else:
            same = not group.get("by_purpose") or {mainly(of(key)) for key in replaced} == {mainly(gone)}
        if same and "within" in group:
            low, high = 1 - group["within"], 1 + group["within"]
        least = low * wanted
        if gone["roles"][0] == "preservative" and gone.get("use", {}).get("min"):
            least = max(least, min(1.0, wanted))
        rows.append((shares, had + least, had + high * wanted, "function"))

        classes = {klass(of(key)) for key in (*replaced, self.missing)}
        pair = {
            charge: {k: active(of(k)) if klass(of(k)) == charge else 0.0 for k in keys}
            for charge in ("anionic", "amphoteric")
        }
        before = {charge: sum(pair[charge][k] * own.get(k, 0.0) for k in keys) for charge in pair}
        if all(before.values()) and (len(classes) == 1 or not classes & {"anionic", "amphoteric"}):
            ratio, share = before["anionic"] / before["amphoteric"], bounds["balance_share"]
            for factor, ends in ((1 - share, (0.0, inf)), (1 + share, (-inf, 0.0))):
                mixed = {k: pair["anionic"][k] - factor * ratio * pair["amphoteric"][k] for k in keys}
                rows.append((mixed, *ends, "balance"))

        for name, weights, most in legal(self.wishes.get("market", "none")):
            counted = {
                k: sum(v / 100 * weights.get(n.casefold(), 0.0) for n, v in of(k)["composition"].items())
                for k in keys
            }
            rows.append((counted, -inf, most, f"law {name} as made"))
            dried = {k: 100 * counted[k] - most * (1 - held_share(of(k)) * water(of(k))) for k in keys}
            rows.append((dried, -inf, 0.0, f"law {name} as dried"))

        fixed, lines = self.wishes.get("fixed", []), self.wishes.get("lines", {})
        for key in keys:
            at, block = own.get(key, 0.0), of(key)
            if key in fixed:
                rows.append(({key: 1.0}, at, at, f"fixed {key}"))
            if key in lines:
                rows.append(({key: 1.0}, lines[key].get("min", 0.0), lines[key].get("max", 100.0), key))
            if key == self.missing:
                continue
            use = block.get("use", {})
            if key not in replaced and key not in fixed and key not in lines and not lever(block):
                rows.append(({key: 1.0}, *self.held(key), f"no lever {key}"))
            if block["roles"][0] == "humectant" and key not in lines:
                least = at * table("program.toml")["moves"]["humectant_at_least"]
                rows.append(({key: 1.0}, least, inf, f"humectant {key}"))
            if key not in lines and use:
                low, high = use.get("min"), use.get("max")
                rows.append(
                    (
                        {key: 1.0},
                        0.0 if low is None else min(low, at),
                        inf if high is None else max(high, at),
                        f"use {key}",
                    )
                )
            if block["roles"][0] == "preservative" and use.get("min") and at >= use["min"]:
                rows.append(({key: 1.0}, use["min"], inf, f"preserved {key}"))
        for name, wished in self.wishes.get("components", {}).items():
            counted = {k: component(of(k), name) for k in keys}
            rows.append((counted, wished.get("min", 0.0), wished.get("max", 100.0), name))
        return rows

    def possible(self, replaced: Sequence[str]) -> bool:
        """Tell by scipy whether any recipe meets every row."""
        keys = self.keys(replaced)
        above, bounds = [], []
        for coefficients, low, high, _ in self.rows(replaced):
            line = np.array([coefficients.get(key, 0.0) for key in keys])
            if high < float("inf"):
                above.append(line)
                bounds.append(high)
            if low > -float("inf"):
                above.append(-line)
                bounds.append(-low)
        found = linprog(
            np.zeros(len(keys)),
            A_ub=np.array(above),
            b_ub=np.array(bounds),
            A_eq=np.ones((1, len(keys))),
            b_eq=[100.0],
            bounds=(0, None),
            method="highs",
        )
        return bool(found.status == 0)

    def broken(
        self, amounts: Mapping[str, float], replaced: Sequence[str], within: float = 1e-6
    ) -> list[str]:
        """Name the rows a recipe breaks."""
        faults = []
        for coefficients, low, high, name in self.rows(replaced):
            value = sum(c * amounts.get(key, 0.0) for key, c in coefficients.items())
            if value > high + within or value < low - within:
                faults.append(f"{name}: {value:.6f} not in {low:.6f}..{high:.6f}")
        used = [key for key, amount in amounts.items() if amount > 0]
        for place, key in enumerate(used):
            for other in used[place + 1 :]:
                pair = forbidden(self.of(key), self.of(other), (amounts[key], amounts[other]))
                if pair and not (key in self.percents and other in self.percents):
                    faults.append(f"pair {pair}: {key} with {other}")
        return faults
