"""Why a family of bars cannot be drawn up, and what would let it."""

from collections.abc import Callable, Sequence

from advisor.drafting.parts import fills
from advisor.drafting.schema import DraftRequest
from advisor.errors import Fault, NoRecipeFits
from advisor.frozen import dataclass
from advisor.recipe.grams import listed
from advisor.recipe.request import KnownMaterials
from advisor.rulebook.drafts import FamilyRules
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import Finding
from advisor.schema.refusal import ConflictingDemand


class Unfit(Exception):
    """A family that does not fit; why is found out where it is told.

    ``far`` is how many parts are missing, what gives the family its name counted twice.
    """

    def __init__(self, far: int, error: Callable[[], NoRecipeFits]) -> None:
        super().__init__()
        self.far = far
        self.error = error


@dataclass(frozen=True)
class Refusals:
    """What stands in the way of a family, by what was asked."""

    wanted: DraftRequest
    known: KnownMaterials
    rules: Rulebook

    def missing(self, family: FamilyRules, *parts: str) -> Unfit:
        """Return why a family of which some parts cannot be filled does not fit."""
        far = len(parts) + (family.part[0].name in parts)
        return Unfit(far, lambda: self._nothing_is(family, parts))

    def _nothing_is(self, family: FamilyRules, parts: Sequence[str]) -> NoRecipeFits:
        """Return the error for a family of which some parts cannot be filled."""
        text = self.rules.drafts.text
        ways = {part: self._way_out(family, part) for part in parts}
        wished = text["wished"] if any(way != text["put"] for way in ways.values()) else ""
        told = text["missing"].format(name=family.name, part=listed(parts), wished=wished)
        faults = [Fault("/shelf", f"holds no {part}", way) for part, way in ways.items()]
        return self._refused(family, told, faults, parts)

    def does_not_fit(self, family: FamilyRules, bad: Sequence[Finding]) -> NoRecipeFits:
        """Return the error for a family whose bar has something that speaks against it."""
        text, features = self.rules.drafts.text, self.wanted.features
        told = text["unfit"].format(name=family.name, why=" ".join(one.text for one in bad))
        faults = []
        for one in bad:
            at = [f"/features/{key}" for key in one.about if key in features]
            hint = text["unfit_hint" if at else "unfit_shelf"]
            faults += [Fault(where, text["not_so"], hint) for where in at or ["/shelf"]]
        return self._refused(family, told, faults, [one.text for one in bad])

    def _refused(
        self, family: FamilyRules, told: str, faults: Sequence[Fault], demands: Sequence[str]
    ) -> NoRecipeFits:
        conflict = [
            ConflictingDemand(
                demand=said, value=0.0, unit="%", kind="dough", where=fault.where, source=family.source
            )
            for said, fault in zip(demands, faults, strict=False)
        ]
        return NoRecipeFits(
            told,
            faults,
            conflict=conflict,
            nearest=None,
            advice=(),
            rules_version=self.rules.edition,
        )

    def _way_out(self, family: FamilyRules, name: str) -> str:
        """Return what fills a part after all: what stands on the shelf and does not do yet, or another."""
        text, claims = self.rules.drafts.text, self.rules.claims.claim
        part = next((one for one in family.part if one.name == name), None)
        shelf = self.known.all((key, f"/shelf/{i}") for i, key in enumerate(self.wanted.shelf)).values()

        def does(one: Ingredient) -> bool:
            if part is None:
                return one.main_role == "preservative"
            return fills(part.model_copy(update={"forms": ()}), one)

        near = sorted((one for one in shelf if does(one)), key=lambda one: one.key)
        broken = [claims[claim] for claim in self.wanted.wishes.claims]
        unsure = [one for one in near if not all(claim.kept_by(one.material) for claim in broken)]
        if unsure:
            promise = listed(c.name for c in broken if not all(c.kept_by(one.material) for one in unsure))
            return text["no_statement"].format(names=listed(one.name for one in unsure), promise=promise)
        coarse = [one.name for one in near if one.coarse]
        return text["too_coarse"].format(names=listed(coarse)) if coarse else text["put"]
