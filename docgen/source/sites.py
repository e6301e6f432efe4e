"""Turn a site that reads well into what it names wrongly, and what it leaves open in the protocols it uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from docgen.findings import Finding, Where, error, warning
from docgen.model.layout import SIZES
from docgen.model.protocol import Protocol
from docgen.model.read import Read
from docgen.model.site import Site
from docgen.source.conditions import Condition, holds
from docgen.source.parts import condition_of, parts, words
from docgen.source.site_starter import BLANK
from docgen.source.suggest import did_you_mean

_ISO_639_1 = """
    aa ab ae af ak am an ar as av ay az ba be bg bh bi bm bn bo br bs ca ce ch co cr cs cu cv cy da de dv dz ee el
    en eo es et eu fa ff fi fj fo fr fy ga gd gl gn gu gv ha he hi ho hr ht hu hy hz ia id ie ig ii ik io is it iu
    ja jv ka kg ki kj kk kl km kn ko kr ks ku kv kw ky la lb lg li ln lo lt lu lv mg mh mi mk ml mn mr ms mt my na
    nb nd ne ng nl nn no nr nv ny oc oj om or os pa pi pl ps pt qu rm rn ro ru rw sa sc sd se sg si sk sl sm sn so
    sq sr ss st su sv sw ta te tg th ti tk tl tn to tr ts tt tw ty ug uk ur uz ve vi vo wa wo xh yi yo za zh zu
"""
LANGUAGES = frozenset(_ISO_639_1.split())
"""Two-letter codes of ISO 639 (set 1); three-letter codes are taken as they are."""


def check_site(site: Read[Site], protocols: Mapping[str, Read[Protocol] | None]) -> tuple[Finding, ...]:
    """Everything a site names that is not there. `protocols`: every protocol by its name; None if it cannot be read.

    What a site leaves open in one protocol (slots, options, contact times) is found by `check_references`.
    """
    if site.value is None:
        return ()
    check = _Check(site, site.value, protocols)
    check.run()
    found = sorted(check.findings, key=lambda f: (f.where.line, f.where.column))
    return tuple(replace(f, site=site.value.site) for f in found)


class _Check:
    def __init__(self, read: Read[Site], site: Site, protocols: Mapping[str, Read[Protocol] | None]) -> None:
        self.read = read
        self.site = site
        self.known = protocols
        used = [protocols.get(name) for name in site.protocols]
        self.protocols = [p.value for p in used if p is not None and p.value is not None]
        self.blind = len(self.protocols) < len(used)  # some could not be read: do not blame names on them
        self.findings: list[Finding] = []

    def say(self, rule: str, message: str, where: Where, hint: str = "", protocol: str = "") -> None:
        self.findings.append(error(f"source/{rule}", message, where, hint=hint, protocol=protocol))

    def run(self) -> None:
        self.uses()
        self.blanks()
        self.names()
        self.postings()
        self.waivers()
        for artifact, choice in self.site.sheets.items():
            self.sheet(choice.sheet, ("sheets", artifact, "sheet"))
        for n, tag in enumerate(self.site.languages):
            self.language(tag, ("languages", n))

    def uses(self) -> None:
        for name, use in self.site.protocols.items():
            if name not in self.known:
                hint = did_you_mean(name, self.known) or "name a protocol by its `protocol:` key"
                self.say(
                    "unknown-protocol", f"no protocol is called `{name}`", self.read.key("protocols", name), hint, name
                )
            for n, tag in enumerate(use.languages or ()):
                self.language(tag, ("protocols", name, "languages", n))
            for artifact, choice in use.sheets.items():
                self.sheet(choice.sheet, ("protocols", name, "sheets", artifact, "sheet"))

    def blanks(self) -> None:
        """What `docgen new --site` left for the site to write: it would be printed as it stands."""
        for path, text in words(self.site):
            if text.source.startswith(BLANK[0]) and text.source.endswith(BLANK[1]):
                message = f"{text.source} is still to be written: sheets would show it as it stands"
                hint = "write what your staff are to read, without the marks"
                self.findings.append(warning("source/to-be-written", message, self.read.at(*path), hint=hint))

    def names(self) -> None:
        """Places, supplies and values, which may belong to any of the protocols used here."""
        if self.blind:
            return
        places = {name for p in self.protocols for name in p.places}
        supplies = {name for p in self.protocols for name in p.supplies}
        items = {name for p in self.protocols for name in p.items}
        for name in self.site.places:
            if name not in places:
                message = f"no protocol used here has a place `{name}`"
                self.say("unknown-place", message, self.read.key("places", name), did_you_mean(name, places))
        for name in self.site.supplies:
            if name not in supplies:
                message = f"no protocol used here has a supply `{name}`"
                self.say("unknown-supply", message, self.read.key("supplies", name), did_you_mean(name, supplies))
        slots = {slot for p in self.protocols for _, text in words(p) for slot in text.slots}
        for name in self.site.values:
            where = self.read.key("values", name)
            if name in places | supplies | items:
                message = f"`{name}` is a place, supply or item; a value of that name would hide it"
                self.say("ambiguous-name", message, where, "choose another name for the value")
            elif name not in slots:
                message = f"no protocol used here has a placeholder `{{{name}}}`"
                hint = did_you_mean(name, slots, "delete it")
                self.findings.append(warning("source/unused-value", message, where, hint=hint))
        for path, text in words(self.site):
            for slot in text.slots:
                message = f"a site's words fill placeholders and cannot hold one, as `{{{slot}}}` here"
                self.say("slot-in-name", message, self.read.at(*path), "write the words out")

    def postings(self) -> None:
        seen: dict[str, Where] = {}
        for n, posting in enumerate(self.site.postings):
            where = self.read.at("postings", n, "id")
            if posting.id in seen:
                message = f"two postings are called `{posting.id}`; the first is on line {seen[posting.id].line}"
                self.say("duplicate-id", message, where, "give each its own `id`")
            seen.setdefault(posting.id, where)
            self.sheet(posting.sheet, ("postings", n, "sheet"))
            use = self.site.protocols.get(posting.protocol)
            if use is None:
                message = f"this site does not use a protocol `{posting.protocol}`"
                hint = did_you_mean(posting.protocol, self.site.protocols)
                self.say("unknown-protocol", message, self.read.at("postings", n, "protocol"), hint, posting.protocol)
                continue
            choice = use.sheets.get(posting.artifact) or self.site.sheets.get(posting.artifact)
            if posting.sheet and choice and choice.sheet not in (None, posting.sheet):
                message = (
                    f"the {posting.artifact} of `{posting.protocol}` is made on {choice.sheet} here, and this "
                    f"posting asks for {posting.sheet}"
                )
                where = self.read.at("postings", n, "sheet")
                hint = f"write `{choice.sheet}`, leave it out, or choose the sheet under `protocols` of this site"
                self.findings.append(
                    warning("source/other-sheet", message, where, hint=hint, protocol=posting.protocol)
                )
            made = use.languages or self.site.languages
            for k, tag in enumerate(posting.languages):
                if tag not in made:
                    message = f"`{posting.protocol}` is not made in `{tag}` here"
                    where = self.read.at("postings", n, "languages", k)
                    self.say("unknown-language", message, where, did_you_mean(tag, made), posting.protocol)

    def waivers(self) -> None:
        for n, waiver in enumerate(self.site.waivers):
            if waiver.protocol not in self.site.protocols:
                message = f"this site does not use a protocol `{waiver.protocol}`"
                hint = did_you_mean(waiver.protocol, self.site.protocols)
                self.say("unknown-protocol", message, self.read.at("waivers", n, "protocol"), hint, waiver.protocol)
            if waiver.review <= waiver.on:
                message = f"the review date {waiver.review} is not after {waiver.on}, the day of the waiver"
                where = self.read.at("waivers", n, "review")
                self.say("review-before-effective", message, where, "write the day by which it must be renewed")

    def sheet(self, sheet: str | None, path: tuple[str | int, ...]) -> None:
        if sheet is not None and sheet not in SIZES:
            hint = did_you_mean(sheet, SIZES)
            self.say("unknown-sheet", f"no sheet is called `{sheet}`", self.read.at(*path), hint)

    def language(self, tag: str, path: tuple[str | int, ...]) -> None:
        language = tag.split("-")[0]
        if len(language) == 2 and language not in LANGUAGES:
            message = f"`{tag}` is not a language of ISO 639"
            self.say("unknown-language", message, self.read.at(*path), "write a code such as `en`, `es` or `fil`")


_Say = Callable[[str, str, Where, str], None]


def against_protocol(protocol: Read[Protocol], site: Read[Site]) -> list[Finding]:
    """What a site gets wrong or leaves open in one protocol that it uses."""
    assert protocol.value is not None and site.value is not None
    p, s = protocol.value, site.value
    found: list[Finding] = []

    def say(rule: str, message: str, where: Where, hint: str) -> None:
        found.append(error(f"source/{rule}", message, where, hint=hint, site=s.site, protocol=p.protocol))

    use = s.protocols.get(p.protocol)
    if use is None:
        return []
    here = ("protocols", p.protocol, "options")
    chosen: dict[str, str] = {}
    for option, choice in use.options.items():
        if option not in p.options:
            hint = did_you_mean(option, p.options, "delete it")
            say("unknown-option", f"`{p.protocol}` has no option `{option}`", site.key(*here, option), hint)
        elif choice not in p.options[option].choices:
            hint = did_you_mean(choice, p.options[option].choices)
            say("unknown-choice", f"option `{option}` has no choice `{choice}`", site.at(*here, option), hint)
    for name, option_ in p.options.items():
        choice = use.options.get(name) or option_.default or ""
        if choice in option_.choices:
            chosen[name] = choice
        elif name not in use.options and not option_.default:
            hint = did_you_mean("", option_.choices)
            say("missing-option", f"option `{name}` is not chosen and has no default", site.key(*here[:2]), hint)

    _slots(protocol, p, s, chosen, say)
    steps = [part.step for part in parts(p) if holds(part.condition, chosen)]
    times = [time for step in steps for time in (step.time, *(act.time for act in step.acts)) if time]
    for contact in dict.fromkeys(time.contact for time in times):
        given = s.supplies.get(contact) if contact else None
        if contact in p.supplies and (given is None or given.contact_seconds is None):
            where = site.key("supplies", contact) if given else site.key("supplies")
            hint = f"add `contact-seconds` to `{contact}` under `supplies`, from the product's label"
            say("missing-contact-time", f"no contact time is given for `{contact}`", where, hint)
    known = {part.step.id for part in parts(p)}
    for n, waiver in enumerate(s.waivers):
        if waiver.protocol == p.protocol:
            for k, step in enumerate(waiver.steps or ()):
                if step not in known:
                    hint = did_you_mean(step, known, "name a step by its `id`")
                    say("unknown-step", f"`{p.protocol}` has no step `{step}`", site.at("waivers", n, "steps", k), hint)
    return found


def _pointed(where: Where, fragment: str) -> Where:
    """The same place, moved on to `fragment` if that stands later in its line."""
    at = where.excerpt.find(fragment, max(0, where.column - 1))
    return replace(where, column=at + 1) if at >= 0 else where


def _slots(read: Read[Protocol], protocol: Protocol, site: Site, chosen: Mapping[str, str], say: _Say) -> None:
    """Slots in parts that appear at this site and that nothing fills. One finding for each slot."""
    around: dict[tuple[str | int, ...], Condition] = {part.path: part.condition for part in parts(protocol)}
    for name, caution in protocol.cautions.items():
        around[("cautions", name)] = condition_of(caution.when, protocol)
    for name, branch in protocol.branches.items():
        around[("branches", name)] = condition_of(branch.when, protocol)
    named = {*protocol.supplies, *protocol.places, *protocol.items, *site.values}
    seen: set[str] = set()
    for path, text in words(protocol):
        conditions = (around[path[:n]] for n in range(2, len(path)) if path[:n] in around)
        if not text.slots or not all(holds(c, chosen) for c in conditions):
            continue
        for slot in text.slots:
            if slot not in named and slot not in seen:
                seen.add(slot)
                message = f"nothing fills `{{{slot}}}` at site `{site.site}`"
                hint = did_you_mean(slot, named, f"add `{slot}:` under `values` of the site")
                say("unfilled-slot", message, _pointed(read.at(*path), f"{{{slot}}}"), hint)
