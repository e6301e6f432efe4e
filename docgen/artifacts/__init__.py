"""Turn a finished document or a composed page into the bytes of a file."""

from docgen.artifacts.html import write_html
from docgen.artifacts.pdf import write_pdf
from docgen.artifacts.webfonts import Worn

__all__ = ["Worn", "write_html", "write_pdf"]
