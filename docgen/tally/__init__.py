"""Turn filled checklists and the records of readers into counts of how each step went, by version, unit and month.

A session counts each step once: by its worst mark, if it was come to several times. `docgen.build.tallying` gathers the
files; nothing here opens any.
"""

from __future__ import annotations

from docgen.tally.bars import HEIGHT, LENGTH, bar, key
from docgen.tally.checklist import read_checklist
from docgen.tally.count import Group, Names, Tally, tally
from docgen.tally.record import read_record
from docgen.tally.session import Mark, Session, Told
from docgen.tally.write import as_csv, as_json, as_text, for_page

__all__ = [
    "HEIGHT", "LENGTH", "Group", "Mark", "Names", "Session", "Tally", "Told", "as_csv", "as_json", "as_text", "bar",
    "for_page", "key", "read_checklist", "read_record", "tally",
]  # fmt: skip
