"""JSON Schema (draft 2020-12) of the athlete and club files, so that editors help while typing.

Made from the same models that check the files (schema.py), with what those leave to Python:
the lifts there are, the file's unit, lists and blocks that may be left blank. An editor sees
most mistakes; `profilegen check` sees all. Only the spelling of lifts is stricter here than
there: ids, names and aliases as they are, without other capitals or hyphens.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from profilegen.history import plausible
from profilegen.history.lift_names import CLEAN_AND_JERK
from profilegen.history.records import Units
from profilegen.history.schema import AthleteFile, ClubFile, LiftName
from profilegen.history.schema_files import ATHLETE_SCHEMA, CLUB_SCHEMA
from profilegen.norms.catalogue import Lift
from profilegen.units import kg_to_lb

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_LIFT_WORDS = next(part for part in get_args(LiftName) if isinstance(part, FieldInfo)).description
_WEB_ADDRESS = "^[Hh][Tt][Tt][Pp][Ss]?://[^ ]"
_NULL = {"type": "null"}
_RANGES_KG: Mapping[str, tuple[float, float]] = {
    "": plausible.ANY_LOAD_KG,
    "body_mass": plausible.BODY_MASS_RANGE_KG,
    "target_total": plausible.TARGET_TOTAL_RANGE_KG,
}
"""By what stands before the unit in a key: `kg`, `body_mass_kg`, `target_total_kg`."""

Node = dict[str, Any]


def schema_files(lifts: Mapping[str, Lift]) -> dict[str, str]:
    """The text of each schema file by its name; `lifts` with the club's own ones."""
    written = {
        ATHLETE_SCHEMA: _athlete_schema(lifts.values()),
        CLUB_SCHEMA: _club_schema(lifts.values()),
    }
    return {
        name: json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
        for name, schema in written.items()
    }


def _athlete_schema(lifts: Iterable[Lift]) -> Node:
    whole = _from_model(AthleteFile)
    defs: Node = _lift_defs(lifts)
    units: tuple[Units, ...] = ("kg", "lb")
    for unit in units:
        defs |= _in_unit(whole, unit)
    return {
        "$schema": _DRAFT,
        "title": "Athlete file",
        "type": "object",
        "if": {"required": ["units"], "properties": {"units": {"const": "lb"}}},
        "then": {"$ref": f"#/$defs/{_named('AthleteFile', 'lb')}"},
        "else": {"$ref": f"#/$defs/{_named('AthleteFile', 'kg')}"},
        "$defs": defs,
    }


def _club_schema(lifts: Iterable[Lift]) -> Node:
    defs = _from_model(ClubFile)
    root = defs.pop("ClubFile")
    costs = root["properties"]["test_cost"]
    for part in costs["anyOf"]:
        if part != _NULL:
            part["propertyNames"] = {"$ref": "#/$defs/lift"}
    return {"$schema": _DRAFT, **root, "title": "Club file", "$defs": _lift_defs(lifts) | defs}


def _lift_defs(lifts: Iterable[Lift]) -> Node:
    """The names a lift may be written by; ids first, because editors offer them in order."""
    known = list(lifts)
    ids = [lift.id for lift in known]
    more = [name for lift in known for name in (lift.name, *lift.aliases)]
    words = {"description": _LIFT_WORDS}
    single = list(dict.fromkeys([*ids, *more]))
    return {
        "lift": words | {"enum": [CLEAN_AND_JERK, *single]},
        "single_lift": words | {"enum": single},
    }


def _from_model(model: type[BaseModel]) -> Node:
    """All blocks of a file by the name of their model, the file itself included."""
    raw = model.model_json_schema()
    defs: Node = raw.pop("$defs", {})
    defs[model.__name__] = raw
    return {name: _block(name, definition) for name, definition in defs.items()}


def _block(name: str, raw: Node) -> Node:
    """One block: keys with nothing after them only where the loader lets that pass."""
    properties = {key: _tidy(value) for key, value in raw["properties"].items()}
    required = raw.get("required", [])
    for key, value in properties.items():
        may_be_blank = value.get("type") in ("array", "object") or "$ref" in value
        if (may_be_blank and key not in required and name != "QuestionEntry") or key == "notes":
            properties[key] = {"anyOf": [value, _NULL]}
            if "description" in value:
                properties[key] |= {"description": value.pop("description")}
    block: Node = {"type": "object", "description": raw["description"]} if name else {}
    block |= {"properties": properties, "additionalProperties": False}
    if required:
        block["required"] = list(required)
    return block | _rules(name)


def _rules(name: str) -> Node:
    """What no type of a single key can say."""
    if name == "QuestionEntry":
        return {"minProperties": 1, "maxProperties": 1}
    if name == "SetEntry":
        missed = {"required": ["missed"], "properties": {"missed": {"not": {"const": False}}}}
        efforts = ("effort", "in_reserve", "looked", "share")
        return {
            "if": missed,
            "then": {"not": {"anyOf": [{"required": [key]} for key in efforts]}},
        }
    return {}


def _tidy(value: Any) -> Any:
    """Without titles, without defaults that mean nothing, without `or nothing`."""
    if isinstance(value, list):
        return [_tidy(item) for item in value]
    if not isinstance(value, dict):
        return value
    options = [option for option in value.get("anyOf", []) if option != _NULL]
    if len(options) == 1:
        rest = {key: part for key, part in value.items() if key != "anyOf"}
        return _tidy({**options[0], **rest})
    if value.get("description") == _LIFT_WORDS:
        return {"$ref": "#/$defs/lift", "description": _LIFT_WORDS}
    tidy = {key: _tidy(part) for key, part in value.items() if key not in ("title", "default")}
    if tidy.get("format") == "uri":
        tidy["pattern"] = _WEB_ADDRESS
    if options:
        tidy["anyOf"] = _tidy(options)
    if isinstance(value.get("default"), str | int | float) and value["default"] != "":
        tidy["default"] = value["default"]
    return tidy


def _in_unit(blocks: Node, unit: Units) -> Node:
    """The blocks as they are in a file of one unit; those alike in both keep their name."""
    other = "lb" if unit == "kg" else "kg"
    changing = {name for name, block in blocks.items() if f'{other}"' in json.dumps(block)}
    grew = True
    while grew:
        more = {
            name
            for name, block in blocks.items()
            if any(f'"#/$defs/{used}"' in json.dumps(block) for used in changing)
        }
        grew = not more <= changing
        changing |= more
    in_unit: Node = {}
    for name, block in blocks.items():
        text = json.dumps(block)
        for used in changing:
            text = text.replace(f'"#/$defs/{used}"', f'"#/$defs/{_named(used, unit)}"')
        own: Node = json.loads(text)
        _keep_unit(name, own, unit, other)
        in_unit[_named(name, unit) if name in changing else name] = own
    return in_unit


def _keep_unit(name: str, block: Node, unit: Units, other: str) -> None:
    properties: Node = block["properties"]
    for key in list(properties):
        stem, _, last = f"_{key}".rpartition("_")
        stem = stem.removeprefix("_")
        if last == other:
            del properties[key]
        elif last == unit and stem in _RANGES_KG:
            low, high = _RANGES_KG[stem]
            if unit == "lb":
                low, high = round(kg_to_lb(low), 1), round(kg_to_lb(high), 1)
            properties[key] |= {"minimum": low, "maximum": high}
    if name in ("SetEntry", "BestEntry"):
        block["required"] = [*block["required"], unit]
    if name == "SessionEntry":
        block["anyOf"] = [{"required": [key]} for key in ("sets", f"body_mass_{unit}", "note")]
    if name == "AvoidEntry":
        properties["lift"]["$ref"] = "#/$defs/single_lift"
    if name == "AthleteFile" and unit == "lb":
        properties["units"] = {"const": "lb", "description": "lb"}


def _named(block: str, unit: Units) -> str:
    return f"{block}_{unit}"
