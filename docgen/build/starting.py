"""Turn a name into a first protocol or site file, and the shape of the sources into files for editors."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from docgen.build.outcome import Outcome
from docgen.findings import Where, error
from docgen.project import Project
from docgen.publish import overwrite, refused, write_new

KINDS = ("protocol", "site")


def schema_text(kind: str) -> str:
    """The JSON Schema of a kind of source, as a file."""
    from docgen.source import schema

    return json.dumps(schema(kind), ensure_ascii=False, indent=1) + "\n"


def write_schemas(folder: Path) -> Outcome:
    """Refresh the schemas that the first line of a protocol points its editor to."""
    files = [folder / "schema" / f"{kind}.schema.json" for kind in KINDS]
    try:
        for kind, file in zip(KINDS, files, strict=True):
            overwrite(file, schema_text(kind).encode("utf-8"))
    except OSError as problem:
        return Outcome((refused("write the schema", folder, problem),))
    return Outcome((), tuple(f"wrote {file}" for file in files))


def start(name: str, folder: Path) -> Outcome:
    """Write a commented protocol to begin with."""
    from docgen.source import starter

    return _begun(folder / f"{name}.yaml", lambda: starter(name), "docgen check {file}")


def start_site(name: str, project: Project) -> Outcome:
    """Write a commented site to begin with, which uses every protocol of the project that can be read."""
    from docgen.source import read_protocol, site_starter

    sources = [source for path in project.protocols() if (source := project.source(path)[0])]
    protocols = [read.value for s in sources if (read := read_protocol(s.text, s.file)).value]
    if not protocols:
        hint = "write one with `docgen new NAME`, or give the folder with `--protocols`"
        message = "a site uses protocols, and there is none here that can be read"
        return Outcome((error("project/no-protocols", message, Where(str(project.folder)), hint=hint),))
    file = project.folder / "sites" / f"{name}.yaml"
    return _begun(file, lambda: site_starter(name, protocols), f"docgen check --site {name}")


def _begun(file: Path, text: Callable[[], str], then: str) -> Outcome:
    try:
        write_new(file, text().encode("utf-8"))
    except ValueError as problem:
        return Outcome((error("project/no-name", f"{problem}", hint="use lower-case words joined by hyphens"),))
    except FileExistsError:
        hint = "give another name; nothing is overwritten"
        return Outcome((error("project/exists", "there is a file of that name already", Where(str(file)), hint=hint),))
    except OSError as problem:
        return Outcome((refused("write it", file, problem),))
    return Outcome((), (f"wrote {file}: fill it in, then `{then.format(file=file)}`",))
