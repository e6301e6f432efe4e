"""Turn the files of a language into everything docgen knows of it."""

from __future__ import annotations

from docgen.model.catalogue import Catalogue
from docgen.model.read import Read
from docgen.project import Project


def read_one(project: Project, language: str, name: str) -> Read[Catalogue]:
    """One catalogue; an empty one where there is no file yet."""
    from docgen.source.catalogue import read_catalogue

    source, findings = project.locale(language, f"{name}.po")
    if source is None:
        return Read(None if findings else Catalogue(language, name), findings)
    return read_catalogue(source.text, source.file, language, name)
