"""Reads rules/ whole into the shapes of its files, where no kept copy stands for them."""

from collections.abc import Iterable, Mapping

from advisor.rulebook import (
    acidity,
    bench,
    bowl,
    costing,
    dough,
    drafts,
    drying,
    feels,
    label,
    levels,
    pairs,
    program,
    substances,
    substitution,
    weighing,
)
from advisor.rulebook.compatibility import pairs_of
from advisor.rulebook.ingredient import compile_material
from advisor.rulebook.kept import apart, digest_of
from advisor.rulebook.law_files import LawWords, read_laws
from advisor.rulebook.library import SourcesFile, library
from advisor.rulebook.load import Rulebook
from advisor.rulebook.naming import plain
from advisor.rulebook.reader import parsed, shaped
from advisor.rulebook.table import Edition
from advisor.schema.material import Material


def read(texts: Mapping[str, str]) -> Rulebook:
    """Return the rules of some texts, by their paths within rules/.

    Raises
    ------
    RulesError
        A file is missing, is no TOML, or an entry does not say what it must.
    """
    tables = {name: parsed(name, text) for name, text in texts.items() if name.endswith(".toml")}
    spoken = shaped(feels.FeelsFile, "feels.toml", tables)
    words = {"feel": tuple(spoken.feel), "sign": tuple(spoken.sign)}
    figures = shaped(dough.DoughRules, "dough.toml", tables, words)
    stated = shaped(pairs.PairsFile, "pairs.toml", tables)
    known = shaped(substances.SubstancesFile, "substances.toml", tables).by_name()
    materials = library(tables, shaped(SourcesFile, "sources.toml", tables).root)
    return Rulebook(
        edition=f"{shaped(Edition, 'edition.toml', tables).edition}+{digest_of(texts)[:12]}",
        dough=figures,
        program=shaped(program.ProgramRules, "program.toml", tables),
        feels=spoken,
        bench=shaped(bench.BenchFile, "bench.toml", tables, words),
        bowl=shaped(bowl.BowlRules, "bowl.toml", tables),
        cautions=shaped(bench.CautionsFile, "cautions.toml", tables),
        in_use=shaped(feels.InUseRules, "in_use.toml", tables, words),
        findings=shaped(levels.FindingsFile, "findings.toml", tables),
        pairs=pairs_of(stated),
        stated=stated,
        frames=shaped(levels.FramesFile, "frames.toml", tables),
        assessed=shaped(levels.AssessedFile, "assessed.toml", tables),
        drying=shaped(drying.DryingRules, "drying.toml", tables),
        label=shaped(label.LabelRules, "label.toml", tables),
        acidity=shaped(acidity.AcidityRules, "acidity.toml", tables),
        preservation=shaped(acidity.PreservationRules, "preservation.toml", tables),
        strength=shaped(levels.StrengthRules, "strength.toml", tables),
        record=shaped(weighing.RecordRules, "record.toml", tables),
        weighing=shaped(weighing.WeighingRules, "weighing.toml", tables),
        rework=shaped(costing.ReworkRules, "rework.toml", tables),
        day=shaped(weighing.DayRules, "day.toml", tables),
        claims=shaped(label.ClaimsFile, "claims.toml", tables),
        drafts=shaped(drafts.DraftRules, "drafts.toml", tables),
        costing=shaped(costing.CostingRules, "costing.toml", tables),
        substitution=shaped(substitution.SubstitutionRules, "substitution.toml", tables),
        substances=known,
        law_texts=read_laws(tables, texts, known, _innocent(materials.values())),
        law_words=shaped(LawWords, "law/verdicts.toml", tables).text,
        ingredients=apart({key: compile_material(one, figures) for key, one in materials.items()}),
    )


def _innocent(materials: Iterable[Material]) -> frozenset[str]:
    """Return the plain names of what the library's materials hold that are no preservatives."""
    others = (material for material in materials if "preservative" not in material.roles)
    return frozenset(plain(name) for material in others for name in material.composition)
