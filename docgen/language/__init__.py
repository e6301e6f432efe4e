"""Turn an edition into an edition in another language, and look after the catalogues its words come from."""

from docgen.language.check import RULES, before_release, check
from docgen.language.extract import extract, phrase_messages, signal_messages
from docgen.language.local import long_date, own_name
from docgen.language.merge import Merged, merge
from docgen.language.pairs import Ground
from docgen.language.pofile import po_text
from docgen.language.pseudo import PSEUDO, pseudo_catalogue
from docgen.language.revision import content, reviewed
from docgen.language.status import Status, status
from docgen.language.texts import protocol_messages, sentences, site_messages
from docgen.language.translate import Spoken, missing_words, phrases_of, translate, words_of

__all__ = [
    "PSEUDO", "RULES", "Ground", "Merged", "Spoken", "Status", "before_release", "check", "content", "extract",
    "long_date", "merge", "missing_words", "own_name", "phrase_messages", "phrases_of", "po_text",
    "protocol_messages", "pseudo_catalogue", "reviewed", "sentences", "signal_messages",
    "site_messages", "status", "translate", "words_of",
]  # fmt: skip
