"""Turn authored words into the texts of an edition, with every slot filled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from docgen.model.protocol import Protocol
from docgen.model.site import Site
from docgen.model.text import NO_TEXT, Run, Text, Words, fill


def filling(protocol: Protocol, site: Site | None) -> dict[str, Text]:
    """What each slot stands for: a site's value, a supply (its product, where one is named), a place, an item."""
    out: dict[str, Text] = {}
    for name, item in protocol.items.items():
        out[name] = named(f"item.{name}.name", item.name)
    for name, place in protocol.places.items():
        out[name] = named(f"place.{name}.name", site.places.get(name, place.name) if site else place.name)
    for name, supply in protocol.supplies.items():
        product = site.supplies[name].product if site and name in site.supplies else None
        out[name] = named(f"supply.{name}.product", product) if product else named(f"supply.{name}.name", supply.name)
    for name, words in (site.values if site else {}).items():
        out[name] = named(f"value.{name}", words)
    return out


def named(key: str, words: Words) -> Text:
    """A text without slots."""
    return Text(key, words.source, words.runs, words.runs)


@dataclass(slots=True)
class Texts:
    """Makes texts and remembers which slots they used, and which nothing filled."""

    values: Mapping[str, Text]
    show_open: bool
    """Show a slot that nothing fills as `‹name›`; otherwise it goes into `missing`."""
    used: dict[str, Text] = field(default_factory=dict)
    missing: dict[str, str] = field(default_factory=dict)
    """Slot → key of the first text that needs it."""

    def text(self, key: str, words: Words | None) -> Text:
        """One text; `NO_TEXT` for none."""
        if words is None:
            return NO_TEXT
        if not words.slots:
            return Text(key, words.source, words.runs, words.runs)
        for slot in words.slots:
            if slot in self.values:
                self.used[slot] = self.values[slot]
            elif not self.show_open:
                self.missing.setdefault(slot, key)
        runs = fill(words.runs, {slot: text.runs for slot, text in self.values.items() if slot in words.slots})
        return Text(key, words.source, tuple(_shown(run) for run in runs), words.runs)

    def many(self, key: str, lines: Iterable[Words] | None) -> tuple[Text, ...]:
        """Texts numbered from 1: `key.1`, `key.2`, …"""
        return tuple(self.text(f"{key}.{n}", words) for n, words in enumerate(lines or (), 1))


def _shown(run: Run) -> Run:
    """A slot that nothing fills, as people see it in a general edition."""
    return Run(f"‹{run.slot.replace('-', ' ')}›", run.strong, run.emphasis, isolate=True) if run.slot else run
