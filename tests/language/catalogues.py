"""Small catalogues, editions and grounds for the tests of languages."""

from __future__ import annotations

from docgen.edition import resolve
from docgen.language import Ground
from docgen.model.catalogue import Catalogue, Entry
from docgen.model.glossary import Glossary, Term, Usage
from docgen.model.wordlist import WordList
from docgen.source import read_protocol, read_site

PROTOCOL = """\
protocol: airing
code: AR-01
title: Airing a room
version: "1.0"
effective: 2030-01-01
review: 2031-12-31
owner: An invented unit
audience: Everybody
purpose: Let the air change.
invented: true
basis: [{source: "Common practice, no source"}]
roles: {worker: {name: Worker}}
places: {room: {name: patient room, order: 1}}
supplies: {gel: {name: hand rub, kind: agent}}
cautions:
  draught:
    signal: warning
    hazard: The window can slam.
    consequence: It can hurt your hand.
    avoid: Do **not** hold the frame.
phases:
  - id: air
    title: Air the room
    steps:
      - id: open
        headline: Open the window
        say: Use {gel}, then open the window of the {room}.
        do:
          - Wait for 20 to 30 seconds.
          - Call {phone}.
        actor: worker
        cautions: draught
        hold: {by: worker, until: the window is open}
        acts:
          - {note: The window is open, using: gel}
"""
SITE = """\
site: north
name: Northern Hospital
invented: true
languages: [en, es]
protocols: {airing: {}}
values: {phone: "+1 555 0100"}
places: {room: room 12}
supplies: {gel: {product: Orvanol gel}}
"""

SPANISH = {
    "protocol.title": "Ventilar una sala",
    "protocol.owner": "Una unidad inventada",
    "protocol.audience": "Todos",
    "protocol.purpose": "Que el aire cambie.",
    "role.worker.name": "Trabajador",
    "place.room.name": "sala del paciente",
    "supply.gel.name": "gel para manos",
    "phase.air.title": "Ventile la sala",
    "step.open.headline": "Abra la ventana",
    "step.open.say": "Use {gel} y abra la ventana de {room}.",
    "step.open.do.1": "Espere de 20 a 30 segundos.",
    "step.open.do.2": "Llame al {phone}.",
    "step.open.hold": "la ventana está abierta",
    "caution.draught.hazard": "La ventana puede golpear.",
    "caution.draught.consequence": "Puede herirle la mano.",
    "caution.draught.avoid": "**No** sujete el marco.",
}
SITES = {
    "north/site.name": ("Northern Hospital", "Hospital Norte"),
    "north/place.room.name": ("room 12", "sala 12"),
    "north/supply.gel.product": ("Orvanol gel", "gel Orvanol"),
}
SIGNALS = {"danger": "PELIGRO", "warning": "ADVERTENCIA", "caution": "ATENCIÓN", "notice": "AVISO"}
TEMPLATES = {"Done when": "Hecho cuando", "sheet {n} of {of}": "hoja {n} de {of}"}


def edition(site: bool = True, protocol: str = PROTOCOL):
    """The edition of the protocol above, at the site above or alone."""
    read = read_protocol(protocol, "protocols/airing.yaml")
    assert read.value, read.findings
    there = read_site(SITE, "protocols/sites/north.yaml") if site else None
    found, findings = resolve(read, there)
    assert found is not None, findings
    return found


def the_site():
    """The site above."""
    site = read_site(SITE, "protocols/sites/north.yaml").value
    assert site
    return site


def catalogue(name: str, words: dict, language: str = "es", **more) -> Catalogue:
    """A catalogue: key → (source, translation)."""
    entries = tuple(Entry(key, source, translation) for key, (source, translation) in words.items())
    return Catalogue(language, name, entries, file=f"locales/{language}/{name}.po", **more)


def spanish(**more) -> Catalogue:
    """The protocol in Spanish."""
    from docgen.language import protocol_messages

    messages = protocol_messages(edition(site=False), "protocols/airing.yaml")
    return catalogue("airing", {m.key: (m.source, SPANISH[m.key]) for m in messages}, **more)


def sites(**more) -> Catalogue:
    """The site in Spanish."""
    return catalogue("sites", SITES, **more)


def templates(**more) -> Catalogue:
    """A few template words and the signal words in Spanish."""
    words = {f"template.{source}": (source, said) for source, said in TEMPLATES.items()}
    return catalogue("templates", words | {f"signal.{k}": (k.upper(), v) for k, v in SIGNALS.items()}, **more)


ENGLISH_WORDS = WordList("en", negation_cues=("not", "no", "never", "nothing", "without", "don't"))
SPANISH_WORDS = WordList(
    "es",
    negation_cues=("no", "nunca", "nada", "sin", "ni"),
    signal_words=tuple((k, (v,)) for k, v in SIGNALS.items()),
)
GLOSSARY = Glossary(
    (
        Term("hand rub", usages=(Usage("es", ("gel*", "solución para manos"), ("jabón",)),)),
        Term("N95", keep=True),
        Term("outer gloves", ("outer glove",), usages=(Usage("es", ("guante* externo*",)),)),
    )
)
GROUND = Ground("es", SPANISH_WORDS, ENGLISH_WORDS, "en", GLOSSARY)
