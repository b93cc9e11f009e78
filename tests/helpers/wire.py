"""What of a description of the API is on the wire: fields by their place, which must be sent, and the words they take."""

import json
import sys
from collections.abc import Iterator
from typing import Any

Wire = dict[str, dict[str, Any]]


def wire(described: dict[str, Any]) -> Wire:
    """Return every operation with its query, the fields it takes and the fields of each of its answers."""
    schemas = described["components"]["schemas"]
    found: Wire = {}
    for path, methods in described["paths"].items():
        for method, operation in methods.items():
            one: dict[str, Any] = {"query": {}}
            for parameter in operation.get("parameters", ()):
                if parameter["in"] == "query":
                    one["query"][parameter["name"]] = sorted(parameter["schema"].get("enum", ()))
            bodies = {"sent": operation.get("requestBody", {}), **operation["responses"]}
            for name, body in bodies.items():
                for media, content in body.get("content", {}).items():
                    fields, needed = {}, []
                    for place, words, required in places(content["schema"], schemas):
                        fields[place] = sorted({*fields.get(place, ()), *words})
                        needed += [place] if required else []
                    one[f"{name} {media}"] = fields
                    if name == "sent":
                        one["needed"] = sorted({*one.get("needed", ()), *needed})
            found[f"{method.upper()} {path}"] = one
    return found


def places(
    schema: Any, schemas: Any, at: str = "", required: bool = False
) -> Iterator[tuple[str, list[str], bool]]:
    """Yield every place of a schema with the words it takes and whether it must be there."""
    if not isinstance(schema, dict):
        return
    if "$ref" in schema:
        schema = schemas[schema["$ref"].rpartition("/")[2]]
    words = schema.get("enum") or ([schema["const"]] if "const" in schema else [])
    if schema.get("type") == "string" and "enum" not in schema:
        words = [*words, *schema.get("examples", ())]
    yield at, [str(word) for word in words], required
    for below in ("anyOf", "oneOf", "allOf"):
        for one in schema.get(below, ()):
            yield from places(one, schemas, at, required)
    for name, one in schema.get("properties", {}).items():
        yield from places(one, schemas, f"{at}/{name}", name in schema.get("required", ()))
    for one in (schema.get("items"), *schema.get("prefixItems", ())):
        yield from places(one, schemas, f"{at}/-")
    yield from places(schema.get("additionalProperties"), schemas, f"{at}/*")


def packed(found: Wire) -> str:
    """Return the wire as text; lists of fields that several operations share stand once."""
    shared: dict[str, int] = {}
    operations = {}
    for name, one in found.items():
        operations[name] = {
            part: shared.setdefault(json.dumps(value, separators=(",", ":")), len(shared))
            for part, value in one.items()
        }
    lines = ",\n".join(shared)
    rest = ",\n".join(f"{json.dumps(name)}:{json.dumps(parts)}" for name, parts in operations.items())
    return f'{{"parts":[\n{lines}\n],"operations":{{\n{rest}\n}}}}\n'


def unpacked(text: str) -> Wire:
    """Return the wire that ``packed`` made text of."""
    found = json.loads(text)
    return {
        name: {part: found["parts"][index] for part, index in parts.items()}
        for name, parts in found["operations"].items()
    }


if __name__ == "__main__":
    sys.stdout.write(packed(wire(json.load(sys.stdin))))
