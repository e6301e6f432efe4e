"""An invented hospital in a folder of its own, with releases to be recognised: real sheets, made by the real rooms."""

from __future__ import annotations

import datetime
import fcntl
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from docgen.build.outcome import Exit, Outcome
from docgen.build.releasing import Asking, release, signed, withdraw
from docgen.language.pofile import po_text
from docgen.language.revision import content
from docgen.model.catalogue import Signed
from docgen.project import Project
from docgen.source.catalogue import read_catalogue

ROOT = Path(__file__).parents[2]
SIGNED_ON = datetime.date(2025, 12, 20)
SITE = """\
site: harbour-north
name: Kestrel Bay Hospital, Harbour North
unit: Isolation Unit
invented: true
languages: [en]
protocols:
  hand-rub:
    languages: [{languages}]
    sheets:
      poster: {{sheet: A3, distance: 1.0}}
{more}supplies:
  hand-rub: {{product: Orvanol hand rub}}
sheets:
  poster: {{sheet: A3, distance: 1.0}}
  cards: {{sheet: A6, distance: 0.4}}
"""
SMALL = """\
protocol: {name}
code: {code}
title: {title}
version: "1.0"
effective: 2026-01-12
review: 2027-07-12
status: approved
approval: {{by: A. Person, role: Manager, on: 2025-12-08}}
owner: An invented unit
audience: Everybody
purpose: {purpose}
reason: This is the first version.
changes: [All of it.]
invented: true
basis:
  - source: Common practice, no source
    note: Invented for a test.
roles:
  worker: {{name: Worker}}
phases:
  - id: all
    title: All of it
    steps:
"""
AIRING = (
    SMALL.format(name="airing", code="AR-01", title="Airing a room", purpose="Change the air.")
    + """\
      - id: open-window
        headline: Open the window
        actor: worker
        acts: [{note: The window is open}]
      - id: wait-there
        headline: Stay in the room for 5 minutes
        actor: worker
        time: {seconds: 300}
        acts: [{wait: until the air has changed}]
"""
)
FOLDING = (
    SMALL.format(name="folding", code="FO-07", title="Folding a gown", purpose="Fold it.")
    + """\
      - id: lay-flat
        headline: Lay the gown flat
        actor: worker
        acts: [{note: The gown lies flat}]
      - id: fold-sides
        headline: Fold both sides in
        actor: worker
        acts: [{note: The sides are folded}]
"""
)
OWN = {"airing": AIRING, "folding": FOLDING}


class Hospital:
    """A project with the shipped hand rub and small protocols of its own at one site."""

    def __init__(self, folder: Path, *own: str, languages: tuple[str, ...] = ("en",)):
        self.folder = folder
        sources = folder / "protocols"
        (sources / "sites").mkdir(parents=True)
        shutil.copy(ROOT / "protocols" / "hand-rub.yaml", sources)
        for name in own:
            self.file(name).write_text(OWN[name], "utf-8")
        more = "".join(f"  {name}: {{}}\n" for name in own)
        site = SITE.format(languages=", ".join(languages), more=more)
        (sources / "sites" / "harbour-north.yaml").write_text(site, "utf-8")
        for tag in languages:
            if tag != "en":
                shutil.copytree(ROOT / "locales" / tag, folder / "locales" / tag)
                self.sign(tag)

    def sign(self, tag: str, **translations: str) -> None:
        """Let two invented people translate and revise what a language says of the hand rub."""
        for path in (self.folder / "locales" / tag).glob("*.po"):
            if path.stem not in ("hand-rub", "templates", "sites"):
                path.unlink()
                continue
            value = read_catalogue(path.read_text("utf-8"), path.name, tag, path.stem).value
            assert value
            signed_ = {"translator": Signed("Ines Invented", SIGNED_ON), "reviser": Signed("Rui Invented", SIGNED_ON)}
            value = replace(value, state="revised", **signed_)
            path.write_text(po_text(replace(value, revised=content([value]))), "utf-8")

    def file(self, protocol: str) -> Path:
        """Its source."""
        return self.folder / "protocols" / f"{protocol}.yaml"

    def edit(self, protocol: str, *edits: tuple[str, str]) -> None:
        """Replace texts in a source, each of which must be there."""
        text = self.file(protocol).read_text("utf-8")
        for old, new in edits:
            assert old in text, old
            text = text.replace(old, new)
            for path in (self.folder / "locales").glob(f"*/{protocol}.po"):  # as if the translation still held
                catalogue = path.read_text("utf-8").replace(f'msgid "{old}"', f'msgid "{new}"')
                path.write_text(catalogue, "utf-8")
        self.file(protocol).write_text(text, "utf-8")
        for home in (self.folder / "locales").glob("*"):
            self.sign(home.name)

    def reword(self) -> None:
        """Hand rub 1.1: one step and one caution say something else."""
        self.edit(
            "hand-rub", ('version: "1.0"', 'version: "1.1"'), ("effective: 2026-01-12", "effective: 2026-03-02"),
            ("Rub each thumb", "Rub both thumbs"), ("Do not go near a flame.", "Do not go near flames."),
        )  # fmt: skip

    def project(self, today: str) -> Project:
        """The project on a day."""
        return self.project_at(self.folder, today)

    @staticmethod
    def project_at(folder: Path, today: str) -> Project:
        """The project in a folder on a day."""
        return Project(folder / "protocols", None, datetime.date.fromisoformat(today))

    def release(self, *protocols: str, on: str, processes: int = 2) -> Outcome:
        """Release protocols on a day; nothing must stand in their way."""
        signature = signed("A. Person", "Head", "Yearly review", datetime.date.fromisoformat(on))
        files = tuple(self.file(p) for p in protocols)
        outcome = release(self.project(on), Asking(files, signature, out=self.folder / "out", processes=processes))
        return outcome

    def withdraw(self, protocol: str, version: str, on: str, reason: str) -> Outcome:
        """Withdraw a version on a day."""
        signature = signed("A. Person", "Head", reason, datetime.date.fromisoformat(on))
        return withdraw(self.project(on), (self.file(protocol),), signature, version)


def measured(folder: Path) -> None:
    """Three protocols, one of them in two versions and three languages."""
    hospital = Hospital(folder, "airing", "folding", languages=("en", "es", "ar"))
    first = hospital.release("hand-rub", "airing", "folding", on="2026-01-05")
    hospital.reword()
    second = hospital.release("hand-rub", on="2026-02-20")
    assert first.status == second.status == 0, (first.findings, second.findings)


def story(folder: Path) -> Path:
    """Hand rub 1.0 replaced by 1.1, airing withdrawn; made once for all processes that run tests."""
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        home = folder / "hospital"
        if not (folder / "done").exists():
            hospital = Hospital(home, "airing", languages=("en", "es"))
            assert hospital.release("hand-rub", "airing", on="2026-01-05").status == Exit.CLEAN
            hospital.reword()
            assert hospital.release("hand-rub", on="2026-02-20").status == Exit.CLEAN
            assert hospital.withdraw("airing", "1.0", "2026-02-01", "The windows no longer open").status == Exit.CLEAN
            (folder / "done").touch()
    return home


def known(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """Where it is: made once for all processes that run tests."""
    base = tmp_path_factory.getbasetemp()
    return story((base.parent if worker_id != "master" else base) / "identify")
