"""JSON Schemas of the car file, the rule set and the bulletin: their tables, and what no annotation of those says.

A key whose annotation leaves its value open (`Any`) has its form here.
"""

import typing

from tarebook.car.models import CarFile
from tarebook.facts import BUILTIN
from tarebook.fields import QUANTITY_FORMS
from tarebook.rules.bulletins import BulletinFile
from tarebook.rules.classes import RULE_LISTS
from tarebook.rules.models import Adjust, Rules, RulesFile, WeightTerms
from tarebook.show.condition_schemas import definitions, facts_schema
from tarebook.show.key_meanings import read_meanings
from tarebook.show.table_schemas import ByHand, TableSchemas
from tarebook.tables import Schema, Table, fields_of

_CONDITION: Schema = {"$ref": "#/$defs/Condition"}
_FACTS: Schema = {"$ref": "#/$defs/Facts"}
_BAND: Schema = {"type": "array", "items": {"oneOf": list(QUANTITY_FORMS)}, "minItems": 2, "maxItems": 3}
_BY_HAND: ByHand = {
    **{(table, "if"): _CONDITION for table in ("Rule", "Adjust", "FurtherLimit", "Counts")},
    ("Must", "must"): _CONDITION,
    ("CarFile", "facts"): _FACTS,
    ("Job", "sets"): _FACTS,
    ("Example", "facts"): _FACTS,
    ("LimitForm", "over_up_to"): {
        "type": "array",
        "items": {**_BAND, "examples": [["0 cm3", "1400 cm3", "880 kg"], ["1400 cm3", "970 kg"]]},
        "minItems": 1,
    },
    ("LimitForm", "rate"): {"type": "string"},
    ("Tank", "density"): {"type": "string", "examples": ["745 kg/m3"]},
    ("Tank", "density_within"): {"type": "string", "examples": ["20 kg/m3"]},
    ("OwnFact", "default"): {"oneOf": [{"type": word} for word in ("string", "number", "boolean")]},
    ("Amend", "set"): {"type": "object", "additionalProperties": True, "minProperties": 1},
}


def car_schema() -> Schema:
    """The schema of a car file."""
    return _tables(model_year=False).whole(CarFile)


def rules_schema() -> Schema:
    """The schema of a rule set."""
    return _tables().whole(RulesFile)


def bulletin_schema() -> Schema:
    """The schema of a bulletin."""
    tables = _tables()
    tables.write_by_hand("Amend", "add", _added(tables))
    return tables.whole(BulletinFile)


def _tables(*, model_year: bool = True) -> TableSchemas:
    """A car file states the model year elsewhere than among its facts."""
    meanings = read_meanings()
    facts = [fact for fact in BUILTIN.values() if model_year or fact.id != "model_year"]
    return TableSchemas(meanings, _BY_HAND, {**definitions(meanings), "Facts": facts_schema(facts)})


def _added(tables: TableSchemas) -> Schema:
    """The rules that a bulletin adds: their clause is that of the amendment, unless they name one."""
    models = {field.key: field.annotation for field in fields_of(Rules)}
    forms: dict[str, tuple[type[Table], type[Table]]] = {
        form: (typing.get_args(models[form])[0], Rules) for form in RULE_LISTS
    }
    forms["adjust"] = (Adjust, WeightTerms)
    properties = {}
    for form, (table, holder) in forms.items():
        one = tables.reference(table, f"Added{table.__name__}", optional=["clause"])
        properties[form] = tables.describe({"oneOf": [one, {"type": "array", "items": one}]}, holder, form)
    return {"type": "object", "properties": properties, "additionalProperties": False, "minProperties": 1}
