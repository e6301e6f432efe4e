"""Turn YAML text into typed protocols and sites, with a place for every value and a finding for every problem."""

from docgen.source.reader import read, read_protocol, read_site
from docgen.source.words import inline

__all__ = ["inline", "read", "read_protocol", "read_site"]
