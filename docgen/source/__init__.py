"""Turn YAML text into typed protocols and sites, with a place for every value and a finding for every problem."""

from docgen.source.reader import read, read_protocol, read_site
from docgen.source.references import check_references
from docgen.source.schema import schema
from docgen.source.site_starter import site_starter
from docgen.source.sites import check_site
from docgen.source.starter import starter
from docgen.source.words import inline

__all__ = [
    "check_references",
    "check_site",
    "inline",
    "read",
    "read_protocol",
    "read_site",
    "schema",
    "site_starter",
    "starter",
]
