"""A small project in a folder of its own, and stand-ins for the rooms that make sheets."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from docgen.build.bench import Back
from docgen.findings import Where, error, warning
from docgen.model.block import Composition
from docgen.model.page import Page
from docgen.model.sheet import Document, Sheet

PROTOCOL = """\
protocol: {name}
code: {code}
title: Airing a room
version: "1.0"
effective: 2030-01-01
review: 2031-12-31
status: {status}
approval: {{by: A. Person, role: Manager, on: 2029-12-01}}
owner: An invented unit
audience: Everybody
purpose: Let the air of a room change.
invented: true
basis:
  - source: Common practice, no source
    note: Invented for a test.
roles:
  worker: {{name: Worker}}
phases:
  - id: air
    title: Air the room
    steps:
      - id: open-window
        headline: {headline}
        actor: worker
        acts: [{{note: The window is open}}]
      - id: wait-there
        headline: Stay in the room
        actor: worker
        time: {{seconds: 300}}
        acts: [{{wait: until the air has changed}}]
"""
SITE = """\
site: {name}
name: An invented hospital, {name}
invented: true
languages: [en]
protocols: {{{protocols}}}
sheets:
  poster: {{sheet: A3}}
"""


class Workshop:
    """Writes sources below a folder."""

    def __init__(self, folder: Path):
        self.folder = folder
        (folder / "protocols" / "sites").mkdir(parents=True)

    def protocol(
        self,
        name: str,
        code: str = "AR-01",
        headline: str = "Open the window",
        status: str = "approved",
        more: str = "",
    ) -> Path:
        """A protocol; `more` is added at its end."""
        file = self.folder / "protocols" / f"{name}.yaml"
        file.write_text(PROTOCOL.format(name=name, code=code, headline=headline, status=status) + more, "utf-8")
        return file

    def site(self, name: str, *protocols: str) -> Path:
        """A site that uses protocols."""
        file = self.folder / "protocols" / "sites" / f"{name}.yaml"
        file.write_text(SITE.format(name=name, protocols=", ".join(f"{p}: {{}}" for p in protocols)), "utf-8")
        return file

    def tree(self) -> dict[str, bytes]:
        """Every file under out/."""
        out = self.folder / "out"
        return {p.relative_to(out).as_posix(): p.read_bytes() for p in sorted(out.rglob("*")) if p.is_file()}


# Stand-ins: a sheet of theirs is a line of JSON that says what reached them. A headline can ask for trouble.


def compose(edition: Any, artifact: str, templates: Any, analysis: Any, words: Any, dates: Any) -> Any:
    """Blocks without words."""
    return Composition(artifact, ()), ()


def place(composition: Any, edition: Any, layout: Any, house: Any, faces: Any, pictures: Any, **more: Any) -> Any:
    """One blank sheet whose title says what was asked for."""
    words = " ".join(s.headline.plain for s in edition.steps)
    if "does not fit" in words and composition.artifact == "cards":
        return None, (error("typeset/does-not-fit", "this step is too long", step="open-window"),)
    said = {"artifact": composition.artifact, "words": words, "draft": edition.draft, **more}
    return Document(json.dumps(said), edition.language, False, (Sheet(100, 100, ()),)), ()


def impose(document: Any, press: str) -> Any:
    """The same sheet twice."""
    return Document(document.title, "en", False, document.sheets * 2) if press == "A4" else None


def write(document: Any, faces: Any) -> bytes:
    """The title."""
    return f"{document.title} {len(document.sheets)}\n".encode()


def examine(data: bytes, edition: Any, artifact: str, file: str, **more: Any) -> Any:
    """Complains about sheets that say so, and about what it was not told."""
    text = data.decode()
    assert more["draft"] == edition.draft
    if "cannot be seen" in text and artifact == "poster":
        return (error("readback/no-ink", "a headline leaves no ink", Where(file, page=1)),)
    if "faint" in text and artifact == "poster":
        return (warning("readback/faint", "a headline is faint", Where(file, page=1)),)
    if "bug" in text:
        raise ZeroDivisionError("a fault of ours")
    return ()


def read(data: bytes) -> Any:
    """No square codes."""
    raise AssertionError("not needed here")


def page(artifact: str, spoken: Any, templates: Any, words: Any, more: Any = None) -> Any:
    """A page that says what reached it."""
    names = [file["name"] for file in (more or {}).get("files", ())]
    said = {"artifact": artifact, "languages": [e.language for e, _ in spoken], "files": names}
    return Page(artifact, json.dumps(said), ()), ()


def write_page(page: Page, spoken: Any, house: Any, words: Any, faces: Any, images: Any = None) -> Any:
    """The title."""
    return f"{page.title}\n".encode(), (), ()


def examine_page(data: bytes, edition: Any, artifact: str, file: str, **more: Any) -> Any:
    """Complains about a page that names a file nobody may open."""
    assert more["draft"] == edition.draft
    said = json.loads(data)
    if artifact == "index" and {*said["files"]} - {*more["files"]}:
        return (error("readback/link-broken", "a link leads nowhere", Where(file)),)
    return ()


def thumbnail(data: bytes) -> None:
    """None."""


BACK = Back(compose, place, impose, write, examine, read, page, write_page, examine_page, thumbnail)
