"""
Django forms as JSON Schema, as far as a description of addresses needs it.

The dialect is that of OpenAPI 3.1: JSON Schema 2020-12, https://json-schema.org/draft/2020-12.
"""

from collections.abc import Iterable
from typing import Any, cast

from django import forms

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
KEY: Schema = {"type": "string", "format": "uuid"}
MOMENT: Schema = {"type": "string", "format": "date-time"}
FILE: Schema = {"type": "string", "contentMediaType": "application/octet-stream"}


def whole(least: int = 0, most: int | None = None) -> Schema:
    return {"type": "integer", "minimum": least} | ({} if most is None else {"maximum": most})


def an_object(properties: dict[str, Schema], *, optional: tuple[str, ...] = ()) -> Schema:
    """An object that holds all of `properties`, except those that may be missing."""
    required = [name for name in properties if name not in optional]
    return {"type": "object", "properties": properties, "required": required}


def a_list(of: Schema, most: int | None = None) -> Schema:
    return {"type": "array", "items": of} | ({} if most is None else {"maxItems": most})


def _number(field: forms.IntegerField) -> Schema:
    limits = {"minimum": field.min_value, "maximum": field.max_value}
    return {"type": "integer"} | {
        name: limit for name, limit in limits.items() if limit is not None
    }


def or_none(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}


def of_form(form: type[forms.Form], **nested: Schema) -> Schema:
    """
    What a form takes; `nested` says it for fields of which the form itself does not tell.

    Required is what the form refuses to do without. A field that may be missing may be null too.
    """
    fields = form.base_fields
    optional = tuple(name for name, field in fields.items() if not field.required)
    properties = {name: nested.get(name) or _of_field(field) for name, field in fields.items()}
    return an_object(
        {name: or_none(one) if name in optional else one for name, one in properties.items()},
        optional=optional,
    )


def _of_field(field: forms.Field) -> Schema:
    match field:
        case forms.UUIDField():
            return KEY
        case forms.ChoiceField():
            choices = cast(Iterable[tuple[Any, Any]], field.choices)
            return {"type": "string", "enum": [str(value) for value, _ in choices if value]}
        case forms.IntegerField():
            return _number(field)
        case forms.BooleanField():
            return {"type": "boolean"}
        case forms.DateTimeField():
            return MOMENT
        case forms.FileField():
            return FILE
        case forms.CharField() if field.max_length:
            return TEXT | {"maxLength": field.max_length}
    return TEXT
