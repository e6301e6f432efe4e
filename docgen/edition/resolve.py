"""Turn a protocol and a site's choices into an edition: what does not apply is gone, what remains is numbered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from docgen.edition.identity import fingerprint
from docgen.edition.texts import Texts, filling, named
from docgen.findings import Finding, Where, error
from docgen.model import edition as e
from docgen.model import protocol as p
from docgen.model.read import Path, Read
from docgen.model.site import Site
from docgen.model.text import NO_TEXT

MARKS = {"wearer": "circle", "observer": "square", "assistant": "triangle"}
"""The shape printed beside the steps of a role; any other role has a diamond."""

_When = Mapping[str, tuple[str, ...]] | None


def resolve(
    protocol: Read[p.Protocol], site: Read[Site] | None, choices: Mapping[str, str] | None = None
) -> tuple[e.Edition | None, tuple[Finding, ...]]:
    """The edition of a protocol at a site, and what stands in its way (then there is no edition).

    Without a site, the general edition: every part with its `when`, options open, slots that only a site can fill shown
    as `‹name›`. Without a site but with `choices` (option → choice): those options chosen, the others by their default.
    A source that could not be read gives `(None, ())`: it has findings of its own.
    """
    if protocol.value is None or (site is not None and site.value is None):
        return None, ()
    resolver = _Resolver(protocol, protocol.value, site, site.value if site else None, choices)
    edition = resolver.edition()
    if resolver.findings:
        return None, tuple(resolver.findings)
    return replace(edition, fingerprint=fingerprint(edition)), ()


@dataclass(slots=True)
class _Part:
    """A step that belongs to this edition, with its path in the file."""

    path: Path
    step: p.Step
    place: str


class _Resolver:
    def __init__(
        self,
        read: Read[p.Protocol],
        protocol: p.Protocol,
        site_read: Read[Site] | None,
        site: Site | None,
        choices: Mapping[str, str] | None,
    ) -> None:
        self.read, self.protocol, self.site_read, self.site = read, protocol, site_read, site
        self.findings: list[Finding] = []
        self.general = site is None and choices is None
        self.chosen = {} if self.general else self._choose(choices or {})
        self.texts = Texts(filling(protocol, site), show_open=site is None)
        self.text = self.texts.text
        self.items = {name: item for name, item in protocol.items.items() if self.keeps(item.when)}
        self.cautions: dict[str, e.Caution] = {}
        self.supplies_used: set[str] = set()

    def say(self, rule: str, message: str, where: Where, hint: str = "", step: str = "") -> None:
        """An error of this edition."""
        more = {"hint": hint, "step": step, "protocol": self.protocol.protocol}
        self.findings.append(error(f"edition/{rule}", message, where, site=self.site.site if self.site else "", **more))

    # --- what applies ---------------------------------------------------------------------------------------

    def _choose(self, explicit: Mapping[str, str]) -> dict[str, str]:
        """Every option with its choice: explicit, else the site's, else the default."""
        here = self.read.at("protocol")
        given = dict(explicit)
        if self.site is not None and self.site_read is not None:
            use = self.site.protocols.get(self.protocol.protocol)
            here = self.site_read.key("protocols", self.protocol.protocol)
            if use is None:
                hint = f"add `{self.protocol.protocol}` under `protocols` of the site"
                self.say("not-used-here", f"site `{self.site.site}` does not use this protocol", here, hint)
                return {}
            given = {**use.options, **given}
        chosen: dict[str, str] = {}
        for name, option in self.protocol.options.items():
            choice = given.pop(name, option.default)
            if choice is None:
                hint = "choose one of " + ", ".join(f"`{c}`" for c in option.choices)
                self.say("missing-option", f"option `{name}` is not chosen and has no default", here, hint)
            elif choice not in option.choices:
                hint = "choose one of " + ", ".join(f"`{c}`" for c in option.choices)
                self.say("unknown-choice", f"option `{name}` has no choice `{choice}`", here, hint)
            else:
                chosen[name] = choice
        for name in given:
            self.say("unknown-option", f"`{self.protocol.protocol}` has no option `{name}`", here, "delete it")
        return chosen

    def keeps(self, when: _When) -> bool:
        """Whether a part belongs to this edition."""
        return self.general or all(self.chosen.get(option) in choices for option, choices in (when or {}).items())

    def when(self, when: _When) -> e.When:
        """A condition as it stays in a general edition; nothing is left of it once options are chosen."""
        return tuple((when or {}).items()) if self.general else ()

    def _main(self) -> Iterator[tuple[p.Phase, list[_Part]]]:
        for n, phase in enumerate(self.protocol.phases):
            steps = [
                _Part(("phases", n, "steps", k), step, step.place or phase.place or "")
                for k, step in enumerate(phase.steps)
                if self.keeps(step.when)
            ]
            if steps:
                yield phase, steps

    def _branches(self, main: list[_Part]) -> dict[str, list[_Part]]:
        """Branches that apply and that some step of this edition offers (or that may happen anywhere)."""
        kept = {
            name: [
                _Part(("branches", name, "steps", k), step, step.place or "")
                for k, step in enumerate(branch.steps)
                if self.keeps(step.when)
            ]
            for name, branch in self.protocol.branches.items()
            if self.keeps(branch.when)
        }
        reached = {name for name in kept if self.protocol.branches[name].anywhere}
        todo = [*main, *(part for name in reached for part in kept[name])]
        while todo:
            for name in todo.pop().step.branches or ():
                if name in kept and name not in reached:
                    reached.add(name)
                    todo += kept[name]
        return {name: steps for name, steps in kept.items() if name in reached}

    # --- the parts ------------------------------------------------------------------------------------------

    def edition(self) -> e.Edition:
        """All of it."""
        q, s, text = self.protocol, self.site, self.text
        phases: list[e.Phase] = []
        main: list[tuple[p.Phase, _Part]] = []
        steps: list[e.Step] = []
        for phase, parts in self._main():
            ids = tuple(part.step.id for part in parts)
            title = text(f"phase.{phase.id}.title", phase.title)
            phases.append(e.Phase(phase.id, len(phases) + 1, title, ids))
            main += [(phase, part) for part in parts]
        kept = self._branches([part for _, part in main])
        for number, (phase, part) in enumerate(main, 1):
            steps.append(self._step(part, number, str(number), phase.id, kept))
        if not steps:
            self.say("no-steps", "no step is left for these choices", self.read.key("phases"), "correct a `when`")
        branches = tuple(self._branch(n, name, parts, kept, steps) for n, (name, parts) in enumerate(kept.items()))
        roles = tuple(self._role(name, role) for name, role in q.roles.items())
        edition = e.Edition(
            protocol=q.protocol, code=q.code, title=text("protocol.title", q.title), kind=q.kind, version=q.version,
            effective=q.effective, review=q.review, status=q.status, owner=text("protocol.owner", q.owner),
            audience=text("protocol.audience", q.audience), purpose=text("protocol.purpose", q.purpose),
            profile=q.profile or "", signal_scheme=q.signal_scheme, invented=q.invented or bool(s and s.invented),
            pairs_with=q.pairs_with or "", minutes=q.minutes or 0,
            basis=tuple(e.Basis(b.source, b.part or "", b.note or "") for b in q.basis),
            approval=e.Approval(q.approval.by, q.approval.role, q.approval.on) if q.approval else None,
            abbreviations=tuple((a.short, text(f"abbreviation.{a.short}", a.long)) for a in q.abbreviations),
            changes=self.texts.many("protocol.changes", q.changes), reason=text("protocol.reason", q.reason),
            roles=roles, places=tuple(self._place(name, place) for name, place in q.places.items()),
            supplies=(), items=tuple(self._item(name, item) for name, item in self.items.items()),
            options=tuple(self.chosen.items()),
            open_options=tuple((name, tuple(o.choices)) for name, o in q.options.items()) if self.general else (),
            phases=tuple(phases), steps=tuple(steps), branches=branches,
            silenced=tuple((each.rule, each.reason) for each in q.silence),
            site=s.site if s else "", site_name=text("site.name", s.name) if s else NO_TEXT,
            unit=text("site.unit", s.unit) if s else NO_TEXT,
            sheets=self._sheets(), waivers=self._waivers(), speech_rate=(s.speech_rate or 0) if s else 0,
            retraining=s.retraining if s else "", address=(s.address or "") if s else "", values=(),
            option_texts=self._option_texts(),
        )  # fmt: skip
        for slot, key in self.texts.missing.items():
            message = f"nothing fills `{{{slot}}}`, which `{key}` needs"
            where = self.site_read.key("values") if self.site_read else Where()
            self.say("unfilled-slot", message, where, f"add `{slot}:` under `values` of the site")
        used = self.supplies_used | set(self.texts.used)
        supplies = tuple(self._supply(name, supply) for name, supply in q.supplies.items() if name in used)
        return replace(edition, supplies=supplies, values=tuple(sorted(self.texts.used.items())))

    def _step(self, part: _Part, number: int, label: str, phase: str, branches: Mapping[str, object]) -> e.Step:
        step, key, text = part.step, f"step.{part.step.id}", self.text
        self.supplies_used.update(step.uses or ())
        acts = (self._act(part, n, act) for n, act in enumerate(step.acts))
        return e.Step(
            id=step.id, number=number, label=label, phase=phase, headline=text(f"{key}.headline", step.headline),
            actor=step.actor, place=part.place, say=text(f"{key}.say", step.say),
            answer=text(f"{key}.answer", step.answer), do=self.texts.many(f"{key}.do", step.do),
            watch=self.texts.many(f"{key}.watch", step.watch), done_when=text(f"{key}.done-when", step.done_when),
            acts=tuple(act for act in acts if act), uses=step.uses or (),
            hold=e.Hold(step.hold.by, text(f"{key}.hold", step.hold.until)) if step.hold else None,
            time=self._time(step.time, f"time.{step.id}.until", self.read.at(*part.path, "time"), step.id),
            cautions=tuple(self._caution(name) for name in step.cautions or () if self._cautioned(name)),
            branches=tuple(name for name in step.branches or () if name in branches),
            picture=step.picture or "", when=self.when(step.when), where=self.read.at(*part.path),
        )  # fmt: skip

    def _act(self, part: _Part, n: int, act: p.Act) -> e.Act | None:
        step, path = part.step, (*part.path, "acts", n)
        where = self.read.at(*path)
        gone = self.protocol.items.keys() - self.items.keys()
        targets = tuple(name for name in act.targets if name not in gone)
        if act.targets and not targets:
            message = f"`{act.verb}` acts on `{act.targets[0]}`, which this edition does not have"
            self.say("item-not-there", message, where, f"give step `{step.id}` the same `when`", step.id)
            return None
        using = act.using or ()
        self.supplies_used.update(name for name in (*targets, *using, act.into, act.on) if name)
        return e.Act(
            verb=act.verb, targets=targets, by=act.by or step.actor, using=using, touching=act.touching or "",
            fastening=act.fastening or "", into=act.into or "", to=act.to or "", on=act.on or "",
            time=self._time(act.time, f"time.{step.id}.{n + 1}.until", where, step.id), combined=act.combined,
            words=self.text(f"act.{step.id}.{n + 1}", act.words), where=where,
        )  # fmt: skip

    def _time(self, time: p.Time | None, key: str, where: Where, step: str) -> e.Time | None:
        if time is None:
            return None
        least, most = time.seconds or (0, 0)
        if time.contact:
            self.supplies_used.add(time.contact)
            given = self._contact(time.contact)
            if not given and self.site:
                message = f"no contact time is given for `{time.contact}`"
                hint = f"add `contact-seconds` to `{time.contact}` under `supplies` of the site"
                self.say("missing-contact-time", message, where, hint, step)
            least = max(least, given)
        return e.Time(least, max(least, most), self.text(key, time.until), time.contact or "")

    def _contact(self, supply: str) -> int:
        given = self.site.supplies.get(supply) if self.site else None
        return (given.contact_seconds or 0) if given else 0

    def _cautioned(self, name: str) -> bool:
        return name in self.protocol.cautions and self.keeps(self.protocol.cautions[name].when)

    def _caution(self, name: str) -> e.Caution:
        if name not in self.cautions:
            self.cautions[name] = self._worded(name, self.protocol.cautions[name])
        return self.cautions[name]

    def _worded(self, name: str, caution: p.Caution) -> e.Caution:
        key = f"caution.{name}"
        return e.Caution(
            name, caution.signal, self.text(f"{key}.hazard", caution.hazard),
            self.text(f"{key}.consequence", caution.consequence), self.text(f"{key}.avoid", caution.avoid),
            caution.about or (), self.when(caution.when), self.read.key("cautions", name),
        )  # fmt: skip

    def _branch(
        self, n: int, name: str, parts: list[_Part], kept: Mapping[str, object], main: list[e.Step]
    ) -> e.Branch:
        branch, key, letter = self.protocol.branches[name], f"branch.{name}", _letter(n)
        where = self.read.key("branches", name)
        gone = branch.rejoin not in {"same", *(step.id for step in main)}
        if branch.rejoin and gone and not self.general:  # without a site the check of references has said it
            message = f"branch `{name}` rejoins at `{branch.rejoin}`, which this edition does not have"
            self.say("rejoins-nowhere", message, where, "rejoin at a step that is always there")
        if not parts:
            self.say("no-steps", f"no step of branch `{name}` is left for these choices", where, "correct a `when`")
        steps = tuple(self._step(part, k, f"{letter}{k}", "", kept) for k, part in enumerate(parts, 1))
        return e.Branch(
            name, letter, self.text(f"{key}.question", branch.question), steps, branch.rejoin or "",
            self.text(f"{key}.leave", branch.leave), self.text(f"{key}.tell", branch.tell), branch.anywhere,
            self.when(branch.when), where,
        )  # fmt: skip

    # --- who, where, with what ------------------------------------------------------------------------------

    def _role(self, name: str, role: p.Role) -> e.Role:
        removes = self.text(f"role.{name}.removes-by", role.removes_by)
        mark = MARKS.get(name, "diamond")
        return e.Role(name, named(f"role.{name}.name", role.name), mark, role.contacts, role.wears or (), removes)

    def _place(self, name: str, place: p.Place) -> e.Place:
        words = self.site.places.get(name, place.name) if self.site else place.name
        return e.Place(name, named(f"place.{name}.name", words), place.order)

    def _supply(self, name: str, supply: p.Supply) -> e.Supply:
        given = self.site.supplies.get(name) if self.site else None
        product = named(f"supply.{name}.product", given.product) if given and given.product else NO_TEXT
        words = named(f"supply.{name}.name", supply.name)
        return e.Supply(name, words, supply.kind, supply.at or (), supply.clean, product, self._contact(name))

    def _item(self, name: str, item: p.Item) -> e.Item:
        return e.Item(
            name, named(f"item.{name}.name", item.name), item.kind,
            tuple(other for other in item.covers or () if other in self.items), item.layer or "", item.kept, item.worn,
            item.clean or ("inside",), item.integrated_shield, self.when(item.when), self.read.key("items", name),
        )  # fmt: skip

    def _option_texts(self) -> tuple[e.Text, ...]:
        out = []
        for name, option in self.protocol.options.items():
            out.append(self.text(f"option.{name}.title", option.title))
            for choice, said in option.choices.items():
                if self.general or self.chosen.get(name) == choice:
                    out.append(self.text(f"choice.{name}.{choice}.name", said.name))
        return tuple(out)

    def _sheets(self) -> tuple[tuple[str, e.SheetChoice], ...]:
        if self.site is None:
            return ()
        use = self.site.protocols.get(self.protocol.protocol)
        sheets = {**self.site.sheets, **(use.sheets if use else {})}
        return tuple((artifact, e.SheetChoice(c.sheet or "", c.distance or 0.0)) for artifact, c in sheets.items())

    def _waivers(self) -> tuple[e.Waiver, ...]:
        if self.site is None or self.site_read is None:
            return ()
        return tuple(
            e.Waiver(w.rule, w.steps or (), w.reason, w.by, w.on, w.review, self.site_read.at("waivers", n))
            for n, w in enumerate(self.site.waivers)
            if w.protocol == self.protocol.protocol
        )


def _letter(n: int) -> str:
    """A, B, …, Z, AA, AB, …"""
    return _letter(n // 26 - 1) + chr(65 + n % 26) if n >= 26 else chr(65 + n)
