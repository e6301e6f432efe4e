"""Records and filled checklists for tests, made by hand and by a library that docgen does not use."""

from __future__ import annotations

import csv
import io
import json
from functools import cache
from io import BytesIO
from typing import Any

from pypdf import PdfReader, PdfWriter
from workbench import edition, made

STAMP = {
    "code": "IP-AIR-01", "version": "1.0", "fingerprint": "01234-56789", "site": "north", "language": "en",
}  # fmt: skip


def entry(step: str, result: str = "done", seconds: float = 5, breaches: int = 0, label: str = "1") -> dict[str, Any]:
    """One visit of a step, as the reader saves it."""
    return {
        "step": step, "label": label, "branch": "", "headline": f"Do {step}", "begun": "2026-03-04T10:00:00+00:00",
        "seconds": seconds, "result": result, "confirmed": None, "timer": 0, "breaches": breaches,
    }  # fmt: skip


def record(*entries: dict[str, Any], began: str = "2026-03-04T10:00:00+00:00", **more: Any) -> dict[str, Any]:
    """A whole record; it ends as many seconds after its begin as its entries took, within a day."""
    head = {
        "session-record": 1, "code": "", "version": "", "fingerprint": "", "title": "Airing", "site": "",
        "unit": "Ward", "language": "",
        "effective": "2026-01-01", "review": "2027-01-01", "began": began, "ended": began,
        "outcome": "complete", "names": {}, "steps": list(entries), "unseen": [],
    }  # fmt: skip
    return {**head, **STAMP, **more}


def as_json(value: dict[str, Any]) -> bytes:
    """The file that the reader saves as JSON."""
    return json.dumps(value).encode()


def as_csv(value: dict[str, Any]) -> bytes:
    """The file that the reader saves as CSV, as its program says how: all head fields in each row, cells in quotes."""
    steps, unseen, names = value["steps"], value["unseen"], value["names"]
    head = {key: v for key, v in value.items() if key not in ("steps", "unseen", "names")}
    people = {"wearer": "", "observer": "", "assistant": "", "remarks": "", **names}
    keys = list(steps[0])
    absent = [{**dict.fromkeys(keys, ""), "step": step, "result": "unseen"} for step in unseen]
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    writer.writerow([*head, *people, *keys])
    for row in (*steps, *absent):
        cells = ["" if cell is None else str(cell) for cell in (*head.values(), *people.values(), *row.values())]
        writer.writerow([f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "'") else cell for cell in cells])
    return b"\xef\xbb\xbf" + out.getvalue().encode()


@cache
def checklist(protocol: str = "hand-rub", site: str = "harbour-north") -> bytes:
    """A shipped checklist, as it is printed."""
    data, findings = made(*edition(protocol, site), "checklist")
    assert data, findings
    return data


def filled(values: dict[str, str], blank: bytes | None = None) -> bytes:
    """A checklist filled in by pypdf: field → words, or `/choice`."""
    writer = PdfWriter(clone_from=PdfReader(BytesIO(blank or checklist())))
    for page in writer.pages:
        writer.update_page_form_field_values(page, values, auto_regenerate=False)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def steps_of(blank: bytes | None = None) -> list[str]:
    """Ids of the steps a checklist has boxes for, as pypdf reads them."""
    fields = PdfReader(BytesIO(blank or checklist())).get_fields() or {}
    return [name.removesuffix(".result") for name in fields if name.endswith(".result")]
