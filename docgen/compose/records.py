"""What a template sees of a record: the same mapping with a handle for every word in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from docgen.compose.handles import Ledger
from docgen.model.block import Origin

PICTURE = "picture"
"""Key whose value names a picture instead of being words."""
ID = "id"
"""Key whose value names the mapping it is in: no word of the sheet."""


def seen(record: Mapping[str, Any], ledger: Ledger, step: str = "") -> dict[str, Any]:
    """Handles for the texts of a record. Truth values stay what they are; lists and mappings keep their shape."""
    step = record.get(ID, step)
    return {key: value if key == ID else _value(value, key, ledger, step) for key, value in record.items()}


def _value(value: Any, key: str, ledger: Ledger, step: str) -> Any:
    if isinstance(value, Mapping):
        return seen(value, ledger, step)
    if isinstance(value, (tuple, list)):
        return tuple(_value(each, key, ledger, step) for each in value)
    if isinstance(value, str):
        if key == PICTURE:
            return ledger.thing(Origin("figure", value, step=step)) if value else ""
        return ledger.plain(value, Origin("record", field=key, step=step))
    return value
