"""Words whose list stands in the rules: feels and signs."""

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError, core_schema

_LISTED_AS = "x-words"


@dataclass(frozen=True)
class WordOf:
    """Marks a text that must be one of the rules' words of a kind.

    The words come with the validation, as ``context={"words": rulebook.words}``; without them any text that
    is written as a word is taken.
    """

    kind: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        """Look the word up after it was read."""
        return core_schema.with_info_after_validator_function(self._known, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Describe it by its kind, until ``spelled_out`` names the words."""
        return {"type": "string", _LISTED_AS: self.kind}

    def _known(self, value: str, info: ValidationInfo) -> str:
        known = (info.context or {}).get("words", {}).get(self.kind)
        if known is not None and value not in known:
            *most, last = map(repr, known)
            expected = f"{', '.join(most)} or {last}" if most else last
            raise PydanticCustomError("word", "Input should be {expected}", {"expected": expected})
        return value


_Word = Annotated[str, Field(strict=True, pattern=r"^[a-z0-9]+(_[a-z0-9]+)*$", max_length=64)]
Feel = Annotated[_Word, WordOf("feel")]
Sign = Annotated[_Word, WordOf("sign")]


def spelled_out(schema: Any, words: Any) -> Any:
    """Return a JSON schema in which each kind of word is the list of its words.

    Examples
    --------
    >>> spelled_out({"type": "string", "x-words": "feel"}, {"feel": ("too_wet", "too_dry")})
    {'type': 'string', 'enum': ['too_wet', 'too_dry']}
    """
    if isinstance(schema, list):
        return [spelled_out(one, words) for one in schema]
    if not isinstance(schema, dict):
        return schema
    found = {name: spelled_out(value, words) for name, value in schema.items() if name != _LISTED_AS}
    if _LISTED_AS in schema:
        found["enum"] = list(words[schema[_LISTED_AS]])
    return found
