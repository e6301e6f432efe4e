"""Turn an edition into an edition in another language, and look after the catalogues its words come from."""

from docgen.language.extract import extract, phrase_messages, signal_messages
from docgen.language.merge import Merged, merge
from docgen.language.pofile import po_text
from docgen.language.revision import content
from docgen.language.texts import protocol_messages, sentences, site_messages

__all__ = [
    "Merged", "content", "extract", "merge", "phrase_messages", "po_text", "protocol_messages", "sentences",
    "signal_messages", "site_messages",
]  # fmt: skip
