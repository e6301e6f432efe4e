"""Turn finished bytes into a verdict: what is really on the sheets, against what the edition says must be there.

The room is a stranger to whatever wrote the file: it shares no code and no PDF library with it, and believes only what
it finds by position, outline and pixel.
"""

from docgen.readback.copy import Copy, Unreadable
from docgen.readback.reading import read
from docgen.readback.screen import examine_page, page_facts
from docgen.readback.verdict import RULES, examine

__all__ = ["RULES", "Copy", "Unreadable", "examine", "examine_page", "page_facts", "read"]
