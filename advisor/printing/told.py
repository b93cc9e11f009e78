"""What an answer is told by: the names of materials, and what was asked."""

import re
import shlex
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.frozen import cached_property, dataclass, field, replace
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.findings import Sensitivity, Shift, TextItem

PROGRAM = "dough-advisor"
_BRACKET = re.compile(r" \(((?:[^()]|\([^()]*\))*)\)")


@dataclass(frozen=True)
class Told:
    """The request behind an answer, in a maker's words.

    Parameters
    ----------
    body : mapping
        The request.
    rulebook : Rulebook
    notebook : Notebook, optional
    typed : sequence of str
        The verb, the file and the options that asked it, for hints; empty where none can be repeated.
    keys : bool
        Whether materials go by their keys and sentences carry their ids.

    Examples
    --------
    >>> told = Told({"recipe": {"name": "Mill Pond bar"}, "report": {"feel": "too_wet"}})
    >>> told.head
    'Mill Pond bar, too wet, clearly'
    >>> told.name("rose-clay")
    'Rose clay'
    """

    body: Mapping[str, Any]
    rulebook: Rulebook = field(default_factory=load_rulebook)
    notebook: Notebook | None = None
    typed: tuple[str, ...] = ()
    keys: bool = False

    @cached_property
    def _inline(self) -> dict[str, str]:
        return {one["key"]: one["name"] for one in self.body.get("materials") or ()}

    def name(self, key: str) -> str:
        """Return what a material is called; a key nobody knows stays."""
        if self.keys:
            return key
        own = self.notebook.get(key) if self.notebook is not None else None
        known = own or self.rulebook.ingredients.get(key)
        return self._inline.get(key) or (known.material.name if known is not None else key)

    def short(self, key: str) -> str:
        """Return what sentences call a material."""
        return replace(self, keys=False).name(key).split(",")[0]

    def apart(self, keys: Sequence[str]) -> dict[str, str]:
        """Return what materials are called side by side: the short name where only one bears it."""
        short = Counter(map(self.short, keys))
        return {key: self.short(key) if short[self.short(key)] == 1 else self.name(key) for key in keys}

    def texts(self, items: Iterable[TextItem | Sensitivity | Shift]) -> tuple[str, ...]:
        """Return the sentences of items: without their sources, and with their ids where keys are shown."""
        return tuple(
            f"{self.plain(one.text)} [{one.id}]"
            if self.keys and isinstance(one, TextItem)
            else self.plain(one.text)
            for one in items
        )

    def plain(self, text: str) -> str:
        """Return a sentence without the sources in brackets, which explanations and forms carry.

        Examples
        --------
        >>> head = load_rulebook().laws["eu"].head
        >>> Told({}).plain(f"It may be 1 % at most ({head.cited('Annex V, 29')}).")
        'It may be 1 % at most.'
        """
        return _BRACKET.sub(
            lambda found: "" if found[1].startswith(self._cited) else f" ({self.plain(found[1])})", text
        )

    def asked(self, question: TextItem) -> str:
        """Return a question in a few words, with the option that answers it."""
        [known] = [one for one in self.rulebook.bench.question if one.id == question.id]
        return known.short + (f" (--{known.unless[0].replace('_', '-')})" if known.unless else "")

    @cached_property
    def _cited(self) -> tuple[str, ...]:
        """The sources of a law or an assessment, with which a bracket begins."""
        heads = [*self.rulebook.law_texts.files.values()]
        acts = {act.source for head in heads for act in (*head.duty, *head.announced)}
        return (*acts, *(one.source for one in heads), *(one.source for one in self.rulebook.assessed.remark))

    def next(self, *words: str, then: str = "") -> str:
        """Return the command to type next: these words after the program's name, or what was typed again.

        The answer of what was typed is handed on to ``then``. Empty where what was typed cannot be repeated.

        Examples
        --------
        >>> Told({}, typed=("correct", "my bar.csv", "--feel", "too_wet")).next(then="weigh -")
        "dough-advisor correct 'my bar.csv' --feel too_wet --json | dough-advisor weigh -"
        >>> Told({}).next(then="weigh -")
        ''
        """
        if not self.typed:
            return ""
        said = words or self.typed
        if not then:
            return shlex.join((PROGRAM, *said))
        return f"{shlex.join((PROGRAM, *said, '--json'))} | {PROGRAM} {then}"

    def again(self, verb: str, *words: str, without: str = "") -> str:
        """Return what was typed with another verb, the words after it whose option was not typed.

        ``without`` is an option that the other verb has not, which goes with its value.

        Examples
        --------
        >>> told = Told({}, typed=("add", "bar.csv", "--lost", "2", "--degree", "slight"))
        >>> told.again("correct", "--feel", "too_dry", without="--lost")
        'dough-advisor correct bar.csv --degree slight --feel too_dry'
        """
        said = [
            word
            for word, before in zip(self.typed[1:], self.typed, strict=False)
            if not without or (without not in (word, before) and not word.startswith(f"{without}="))
        ]
        there = any(word.partition("=")[0] == words[0] for word in said)
        return self.next(verb, *said, *(() if there else words))

    @property
    def to_weigh(self) -> str:
        """The command that writes the weigh sheet of what is answered."""
        batch, balance = (
            self.body.get(field) or usual for field, usual in (("batch_grams", 1000), ("balance_step", 0.1))
        )
        return self.next(then=f"weigh - --batch {batch:g} --balance {balance:g}")

    @property
    def file(self) -> str:
        """The file the request came from."""
        return self.typed[1] if len(self.typed) > 1 else "FILE"

    @property
    def head(self) -> str:
        """Which recipe, and which report on it."""
        report = self.body.get("report") or {}
        feel = self.rulebook.feels.feel.get(report.get("feel", ""))
        recipe = (self.body.get("recipe") or {}).get("name") or "This recipe"
        if feel is None:
            return str(recipe)
        degree = self.rulebook.feels.degree[report.get("degree") or "clear"].name
        return f"{recipe}, {feel.name.lower()}" + (f", {degree}" if feel.asks_degree else "")

    def feel(self, word: str | None) -> str:
        """Return how a dough felt, in words."""
        known = self.rulebook.feels.feel.get(word or "")
        return "not judged" if known is None else known.name.lower()
