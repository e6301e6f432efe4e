"""Turn a finished document into the bytes of a file."""

from docgen.artifacts.pdf import write_pdf

__all__ = ["write_pdf"]
