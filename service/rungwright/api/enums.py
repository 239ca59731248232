"""Closed sets of words get a name in the contract, so that generated clients name them well and keep the names."""

from __future__ import annotations

from typing import Any

_AT = "#/components/schemas/"
_INSIDE = ("anyOf", "items", "prefixItems", "additionalProperties", "propertyNames")


def name_enums(schemas: dict[str, Any]) -> None:
    """Move each set of words written out inside a model to a schema of its own; equal sets share one."""
    known = {_key(s): name for name, s in schemas.items() if "enum" in s}
    for model in sorted(schemas):
        for name, field in list(schemas[model].get("properties", {}).items()):
            schemas[model]["properties"][name] = _moved(field, _named(model, name), schemas, known)


def _moved(field: Any, wanted: str, schemas: dict[str, Any], known: dict[Any, str]) -> Any:
    if isinstance(field, list):
        return [_moved(part, wanted, schemas, known) for part in field]
    if not isinstance(field, dict):
        return field
    if "enum" in field and field.get("type") == "string":
        key = _key(field)
        if key not in known:
            known[key] = wanted
            schemas[wanted] = {"type": "string", "enum": field["enum"], "title": wanted}
        kept = {k: v for k, v in field.items() if k not in ("type", "enum", "title")}
        return {"$ref": _AT + known[key], **kept}
    moved = {k: _moved(v, wanted, schemas, known) if k in _INSIDE else v for k, v in field.items()}
    if patterns := field.get("patternProperties"):
        moved["patternProperties"] = {k: _moved(v, wanted, schemas, known) for k, v in patterns.items()}
    return moved


def _key(schema: dict[str, Any]) -> tuple[str, ...]:
    return tuple(schema["enum"])


def _named(model: str, field: str) -> str:
    return model.removesuffix("Input") + "".join(part.capitalize() for part in field.strip("_").split("_"))
