"""JSON Schemas (2020-12) of the files that people write and of the report that the program prints."""

from typing import Any

DRAFT = "https://json-schema.org/draft/2020-12/schema"
VERDICTS = ["eligible", "not-eligible", "too-close", "undecided"]
RESULTS = ["violation", "undecided", "owed", "allowed", "met", "ask", "too-close"]
_TEXT: dict[str, Any] = {"type": "string"}
_TEXTS: dict[str, Any] = {"type": "array", "items": _TEXT}
_FIGURE: dict[str, Any] = {"type": ["number", "null"]}
_MAYBE: dict[str, Any] = {"type": ["string", "null"]}


def _table(properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(properties)}


def report_schema() -> dict[str, Any]:
    """What `check --json` prints. Keys may be added in later versions, so unknown keys are allowed."""
    source = _table({"file": _TEXT, "line": {"type": "integer", "minimum": 1}})
    limit = _table(
        {
            "clause": _TEXT,
            "which": _TEXT,
            **dict.fromkeys(
                ("limit_kg", "mass_kg", "mass_u_kg", "margin_kg", "margin_low_kg", "margin_high_kg"), _FIGURE
            ),
            "chance": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
            "verdict": {"enum": VERDICTS},
            "bulletins": _TEXTS,
            "source": source,
        }
    )
    finding = _table(
        {
            "result": {"enum": RESULTS},
            "clause": _TEXT,
            "clauses": _TEXTS,
            "form": _TEXT,
            "part": _MAYBE,
            "kind": _MAYBE,
            "does": {"enum": ["remove", "swap", "fit", "lighten", "move", None]},
            "says": _TEXT,
            "sentence": {"type": "string", "minLength": 1},
            "facts": {"type": "object", "additionalProperties": _TEXT},
            "unknown": _TEXTS,
            "duties": _TEXTS,
            "contested": _TEXTS,
            "bulletins": _TEXTS,
            "source": source,
        }
    )
    without = _table({"number": _TEXT, "verdict": {"enum": [*VERDICTS, None]}})
    row = _table(
        {
            "book": _TEXT,
            "edition": _TEXT,
            "class": _TEXT,
            "title": _TEXT,
            "build": _TEXT,
            "on": {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"},
            "verdict": {"enum": VERDICTS},
            "to_ask": {"type": "integer", "minimum": 0},
            "facts_to_find": _TEXTS,
            "without_bulletin": {"type": "array", "items": without},
            "limits": {"type": "array", "items": limit},
            "findings": {"type": "array", "items": finding},
        }
    )
    bulletin = _table({"number": _TEXT, "proposed": {"type": "boolean"}, "file": _TEXT, "sha256": _TEXT})
    book = _table(
        {
            "book": _TEXT,
            "title": _TEXT,
            "edition": _TEXT,
            "bulletins": _TEXTS,
            "bulletin_files": {"type": "array", "items": bulletin},
            "file": _TEXT,
            "sha256": _TEXT,
        }
    )
    receipt = _table(
        {
            "tool_version": _TEXT,
            "on": _TEXTS,
            "car": _table({"name": _TEXT, "file": _TEXT, "sha256": _TEXT}),
            "rules": {"type": "array", "items": book},
        }
    )
    whole = _table(
        {"format": {"const": "tarebook-report/1"}, "receipt": receipt, "rows": {"type": "array", "items": row}}
    )
    return {"$schema": DRAFT, "title": "A tarebook report", **whole}


def file_schema(which: str) -> dict[str, Any]:
    """The schema of a car file ("car"), a rule set ("rules") or a bulletin ("bulletin"), for editors."""
    from tarebook.show.file_schemas import bulletin_schema, car_schema, rules_schema

    title, made = {
        "car": ("A tarebook car file", car_schema),
        "rules": ("A tarebook rule set", rules_schema),
        "bulletin": ("A tarebook bulletin", bulletin_schema),
    }[which]
    return {"$schema": DRAFT, "title": title, **made()}
