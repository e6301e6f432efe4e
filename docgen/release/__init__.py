"""Turn approved editions into releases, two editions into what differs, and all releases into what holds on a day."""

from docgen.release.account import data, lines, parts
from docgen.release.compare import compare
from docgen.release.file import canonical_bytes, parse_release, parse_withdrawal, render
from docgen.release.found import data as found_data
from docgen.release.found import lines as found_lines
from docgen.release.identify import Known, Register, altered, by_digest, identify, register
from docgen.release.keep import revive, settings_of
from docgen.release.page import PAGE, page
from docgen.release.register import History, Standing
from docgen.release.touched import touched
from docgen.release.version import least, rises_enough

__all__ = [
    "PAGE", "History", "Known", "Register", "Standing", "altered", "by_digest", "canonical_bytes", "compare", "data",
    "found_data", "found_lines", "identify", "least", "lines", "page", "parse_release", "parse_withdrawal",
    "parts", "register",    "render", "revive", "rises_enough", "settings_of", "touched",
]  # fmt: skip
