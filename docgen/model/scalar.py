"""What single values of a source may look like: names, words, numbers, days, each with its JSON Schema.

Every scalar of a source arrives as the text that was typed, so each type here says how its text is read. The schema
describes what an editor sees, which reads YAML 1.2: there `2.1` is a number and `true` a truth value.
"""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError, core_schema

from docgen.model.text import Run
from docgen.model.text import Words as _Words

LONGEST = 2000
"""Characters of one text: far more than anybody reads aloud, and an end to what a hostile file can cost."""
TEXT = {"type": ["string", "number", "boolean"], "minLength": 1, "maxLength": LONGEST}
"""Words as JSON Schema: a text that looks like a number needs no quotes."""
NAME = r"^(?!(true|false|null)$)[a-z][a-z0-9]*(-[a-z0-9]+)*$"
LANGUAGE = r"^[a-z]{2,3}(-[A-Z][a-z]{3})?(-([A-Z]{2}|[0-9]{3}))?$"


def trouble(kind: str, message: str, hint: str = "", **context: Any) -> PydanticCustomError:
    """An error of a value: `kind` becomes the rule, `message` may name `{context}`."""
    return PydanticCustomError(kind, message, {"hint": hint, **context})


class Words(_Words):
    """Inline Markdown of a field, parsed by the function the reader passes as context `inline`."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        def parse(value: Any, info: ValidationInfo) -> _Words:
            if isinstance(value, _Words):
                return value
            if not isinstance(value, str):
                raise PydanticCustomError("words", "a text was expected")
            if not value.strip():
                raise trouble("empty-value", "this text is empty", "write the words, or delete the line")
            _long(value)
            inline = (info.context or {}).get("inline")
            return inline(value) if inline else _Words(value, (Run(value),))

        return core_schema.with_info_plain_validator_function(
            parse, serialization=core_schema.plain_serializer_function_ser_schema(lambda w: w.source)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {**TEXT, "description": "Words; *emphasis*, **strong** and {slots} allowed."}


def _long(value: str) -> None:
    if len(value) > LONGEST:
        hint = f"write no more than {LONGEST:,}, or make several texts of it"
        raise trouble("too-long", f"this text has {len(value):,} characters", hint)


def _line(value: str) -> str:
    _long(value)
    line = " ".join(unicodedata.normalize("NFC", value).split())
    if not line:
        raise trouble("empty-value", "this text is empty", "write the words, or delete the line")
    return line


def _reason(value: str) -> str:
    if len(value) < 10:
        raise trouble("too-short", "`{given}` explains nothing to a reader", "write a sentence", given=value)
    return value


def _name(value: str) -> str:
    if len(value) > 64 or not re.fullmatch(NAME, value):
        raise PydanticCustomError("name", "a name was expected")
    return value


def _language(value: str) -> str:
    if not re.fullmatch(LANGUAGE, value):
        hint = "write `es`, `pt-BR` or `zh-Hans`: language, then script or country if needed"
        raise trouble("language", "`{given}` is not a language tag", hint, given=value)
    return value


def _typed(pattern: str, make: Callable[[str], Any], kind: str, message: str, hint: str) -> BeforeValidator:
    """Read a text of this form; a value that is not text is passed on as it is."""
    form = re.compile(pattern)

    def read(value: Any) -> Any:
        if not isinstance(value, str):
            return value
        if not form.fullmatch(value):
            raise trouble(kind, message, hint, given=value)
        try:
            return make(value)
        except ValueError:
            raise trouble(kind, message, hint, given=value) from None

    return BeforeValidator(read)


Line = Annotated[str, AfterValidator(_line), WithJsonSchema(TEXT)]
"""One line of text without any markup."""
Reason = Annotated[str, AfterValidator(_line), AfterValidator(_reason), WithJsonSchema({**TEXT, "minLength": 10})]
"""A line long enough to explain something."""
Name = Annotated[str, AfterValidator(_name), WithJsonSchema({"type": "string", "pattern": NAME, "maxLength": 64})]
"""Lower-case words joined by hyphens, beginning with a letter: `outer-gloves`."""
Language = Annotated[str, AfterValidator(_language), WithJsonSchema({"type": "string", "pattern": LANGUAGE})]
"""A language tag as in BCP 47: language, script, region."""
WHOLE = _typed(r"\d{1,9}", int, "number", "`{given}` is not a whole number", "write digits only: `20`")
"""Reads the text of an `int`. Limits stand before it: `Annotated[int, Field(ge=1), WHOLE]`."""
DECIMAL = _typed(r"\d{1,4}(\.\d{1,4})?", float, "number", "`{given}` is not a number", "write digits: `1.5`")
"""Reads the text of a `float`."""
Count = Annotated[int, Field(ge=0), WHOLE]
"""A whole number from 0."""
Flag = Annotated[
    bool,
    _typed(
        "true|false", "true".__eq__, "truth", "`{given}` is neither `true` nor `false`", "write `true` or `false`"
    ),
]  # fmt: skip
Day = Annotated[
    datetime.date,
    _typed(
        r"\d{4}-\d{2}-\d{2}", datetime.date.fromisoformat, "date", "`{given}` is not a day of the calendar",
        "write year-month-day: `2026-03-31`",
    ),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]  # fmt: skip
"""A calendar day, ISO 8601."""


class OneOrMany:
    """In an `Annotated` tuple: a single text may stand for a list of one."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        def listed(value: Any) -> Any:
            return [value] if isinstance(value, str) else value

        return core_schema.no_info_before_validator_function(listed, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        many = handler(schema)
        return {"anyOf": [many["items"], many]}


def _once(value: tuple[str, ...]) -> tuple[str, ...]:
    seen: set[str] = set()
    for name in value:
        if name in seen:
            raise trouble("duplicate", "`{given}` is in this list twice", "name it once", given=name)
        seen.add(name)
    return value


_SET = Field(min_length=1, json_schema_extra={"uniqueItems": True})
Names = Annotated[tuple[Name, ...], _SET, AfterValidator(_once), OneOrMany()]
"""One name, or a list of them, none twice."""
Lines = Annotated[tuple[Words, ...], Field(min_length=1), OneOrMany()]
"""One text, or a list of them."""
Languages = Annotated[tuple[Language, ...], _SET, AfterValidator(_once), OneOrMany()]


def _range(value: Any) -> Any:
    return (value, value) if isinstance(value, (str, int)) else value


def _ordered(value: tuple[int, int]) -> tuple[int, int]:
    if value[0] > value[1]:
        raise trouble("order", "the smaller number of seconds comes first", f"write `[{value[1]}, {value[0]}]`")
    return value


class _Range:
    """Lets one number stand for both ends."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(_range, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        second = {"type": "integer", "minimum": 1, "maximum": 7200}
        pair = {"type": "array", "items": second, "minItems": 2, "maxItems": 2}
        return {"anyOf": [second, pair], "description": "Seconds: one number, or [least, most]."}


_Second = Annotated[int, Field(ge=1, le=7200), WHOLE]
Seconds = Annotated[tuple[_Second, _Second], AfterValidator(_ordered), _Range()]
"""Least and most whole seconds, 1 to 7200."""


def _formed(pattern: str, kind: str, message: str, hint: str) -> AfterValidator:
    form = re.compile(pattern)

    def check(value: str) -> str:
        if not form.fullmatch(value):
            raise trouble(kind, message, hint, given=value)
        return value

    return AfterValidator(check)


_CODE = r"^[A-Z0-9][A-Z0-9-]{1,15}$"
_VERSION = r"^\d{1,4}\.\d{1,4}$"
Code = Annotated[
    str,
    _formed(
        _CODE, "code", "`{given}` is not a document code", "write 2 to 16 capitals, digits and hyphens: `IP-ENH-02`"
    ),
    WithJsonSchema({"type": "string", "pattern": _CODE}),
]
"""A document code as printed; only characters that a small square code can hold."""
Version = Annotated[
    str,
    _formed(_VERSION, "version", "`{given}` is not a version", "write two numbers with a point: `2.1`"),
    WithJsonSchema({"type": ["string", "number"], "pattern": _VERSION}),
]
"""Major and minor number."""
