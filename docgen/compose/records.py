"""What a template sees of a record: the same mapping with a handle for every word in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from docgen.compose.handles import Ledger
from docgen.model.block import Origin

PICTURE = "picture"
"""Key whose value names a picture instead of being words."""


def seen(record: Mapping[str, Any], ledger: Ledger) -> dict[str, Any]:
    """Handles for the texts of a record. Truth values stay what they are; lists and mappings keep their shape."""
    return {key: _value(value, key, ledger) for key, value in record.items()}


def _value(value: Any, key: str, ledger: Ledger) -> Any:
    if isinstance(value, Mapping):
        return {inner: _value(each, inner, ledger) for inner, each in value.items()}
    if isinstance(value, (tuple, list)):
        return tuple(_value(each, key, ledger) for each in value)
    if isinstance(value, str):
        if key == PICTURE:
            return ledger.thing(Origin("figure", value))
        return ledger.plain(value, Origin("record", field=key))
    return value
