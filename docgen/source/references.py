"""Turn a protocol that reads well into the names in it that lead nowhere, and the parts that can never be reached."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from docgen.findings import Finding, Where, error, warning
from docgen.model.protocol import ITEM_KINDS, Act, Protocol, Time
from docgen.model.read import Path, Read
from docgen.model.site import Site
from docgen.source.conditions import ALWAYS, Condition, Universe, both, lacking, never, told
from docgen.source.parts import Part, condition_of, parts, words
from docgen.source.sites import against_protocol
from docgen.source.suggest import close, did_you_mean, misspelt, one_of

TARGETS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    # verb: (what its targets may be, the words it also takes)
    "inspect": (("item", "supply"), ("ensemble", "skin", "clothing", "area", "supplies")),
    "sanitize": (("item",), ("ensemble",)),
    "remove": (("item",), ()),
    "put-on": (("item", "supply"), ()),
    "discard": (("item", "supply"), ()),
    "touch": (("item", "supply"), ("skin", "face")),
    "open": (("item", "supply"), ()),
    "move": (("role",), ()),
    "sit": (("supply",), ()),
    "hand-over": (("supply", "item"), ()),
    "change-gloves": (("item",), ()),
    "rub-hands": ((), ("bare",)),
    "wash": (("item",), ("bare", "skin", "face", "eyes")),
    "clean": (("supply",), ()),
    "apply": (("supply",), ()),
    "collect": (("supply", "item"), ()),
}
KINDS: Mapping[str, tuple[str, ...]] = {
    # the kinds of supply an act can do this with
    "into": ("container",),
    "sit": ("seat",),
    "put-on": ("garment",),
    "on": ("surface", "seat", "tool", "other"),
    "clean": ("surface", "seat", "tool", "other"),
    "apply": ("agent", "tool", "other"),
}
MOST = 100
NEEDS: Mapping[str, str] = {"move": "to", "hand-over": "to"}


def check_references(
    protocol: Read[Protocol], sites: Sequence[Read[Site]] = (), protocols: Collection[str] = ()
) -> tuple[Finding, ...]:
    """Everything in a protocol that names something which is not there, and what its sites leave open.

    `protocols` are the names of all protocols, for `pairs-with`; without them that one is not checked. A protocol or
    site that could not be read is passed over: it has findings of its own.
    """
    if protocol.value is None:
        return ()
    check = _Check(protocol, protocol.value)
    check.run(protocols)
    found = list(check.findings)
    for site in sites:
        if site.value is not None:
            found += against_protocol(protocol, site)
    found.sort(key=lambda f: (f.where.file != protocol.file, f.where.file, f.where.line, f.where.column))
    if len(found) > MOST:
        more = f"only the first {MOST} problems of this file are shown"
        found = [*found[:MOST], error("source/more", more, Where(protocol.file), hint="mend these first")]
    return tuple(f if f.protocol else replace(f, protocol=protocol.value.protocol) for f in found)


class _Check:
    def __init__(self, read: Read[Protocol], protocol: Protocol) -> None:
        self.read = read
        self.protocol = protocol
        self.findings: list[Finding] = []
        self.universe: Universe = {name: tuple(option.choices) for name, option in protocol.options.items()}
        self.parts = list(parts(protocol))
        self.names: dict[str, Collection[str]] = {
            "role": protocol.roles, "place": protocol.places, "supply": protocol.supplies, "item": protocol.items,
            "caution": protocol.cautions, "branch": protocol.branches, "option": protocol.options,
        }  # fmt: skip
        self.used: dict[str, set[str]] = {kind: set() for kind in self.names}

    def run(self, protocols: Collection[str]) -> None:
        self.head(protocols)
        self.conditions()
        self.ids()
        self.definitions()
        for part in self.parts:
            self.step(part)
        self.branches()
        self.slots()
        self.unused()

    def say(self, rule: str, message: str, where: Where, hint: str = "", step: str = "") -> None:
        self.findings.append(error(f"source/{rule}", message, where, hint=hint, step=step))

    def name(self, kinds: str | Sequence[str], name: str, path: Path, step: str = "", also: Iterable[str] = ()) -> str:
        """Check one name; gives the kind of thing it is, or empty. `also` are words that need no definition."""
        kinds = [kinds] if isinstance(kinds, str) else list(kinds)
        also = tuple(also)
        for kind in kinds:
            if name in self.names[kind]:
                self.used[kind].add(name)
                return kind
        if name in also:
            return "word"
        if len(self.findings) > MOST:
            return ""  # likening thousands of names to thousands of others helps nobody
        known = [*(n for kind in kinds for n in self.names[kind]), *also]
        what = " or ".join(kinds) or "target"
        other = next((kind for kind, names in self.names.items() if name in names and kind != "option"), "")
        message = f"`{name}` is a {other}; a {what} was expected" if other else f"no {what} is called `{name}`"
        lists = " or ".join(f"`{_plural(kind)}`" for kind in kinds)
        otherwise = f"define it under {lists}" if kinds and (other or len(known) > 20 or not known) else ""
        rule = "wrong-kind" if other else f"unknown-{kinds[0] if kinds else 'target'}"
        self.say(rule, message, self.read.at(*path), did_you_mean(name, known, otherwise), step)
        for kind in kinds:
            self.used[kind].add(close(name, known))  # a misspelt use is a use
        return ""

    def listed(self, kind: str, names: Sequence[str] | None, path: Path, step: str = "") -> None:
        for n, name in enumerate(names or ()):
            self.name(kind, name, (*path, n), step)

    # --- the parts ------------------------------------------------------------------------------------------

    def head(self, protocols: Collection[str]) -> None:
        p, at = self.protocol, self.read.at
        if p.review <= p.effective:
            message = f"the review date {p.review} is not after the effective date {p.effective}"
            self.say("review-before-effective", message, at("review"), "write the day by which it must be reviewed")
        if p.status in ("approved", "released") and p.approval is None:
            hint = "add `approval:` with `by`, `role` and `on`, or write `status: draft`"
            self.say("not-approved", f"the status is `{p.status}`, but nobody has approved it", at("status"), hint)
        if p.approval and p.approval.on > p.effective:
            message = f"it takes effect on {p.effective}, before its approval on {p.approval.on}"
            self.say("effective-before-approval", message, at("effective"), "move one of the two dates")
        if p.pairs_with and protocols and p.pairs_with not in protocols:
            message = f"no protocol is called `{p.pairs_with}`"
            self.say("unknown-protocol", message, at("pairs-with"), did_you_mean(p.pairs_with, protocols))
        if p.pairs_with == p.protocol:
            self.say("unknown-protocol", "a protocol does not pair with itself", at("pairs-with"), "name the other one")

    def conditions(self) -> None:
        p = self.protocol
        for name, defined in p.options.items():
            if defined.default and defined.default not in defined.choices:
                where = self.read.at("options", name, "default")
                message = f"option `{name}` has no choice `{defined.default}`"
                self.say("unknown-choice", message, where, did_you_mean(defined.default, defined.choices))
        places: list[tuple[Path, Mapping[str, Sequence[str]] | None, str]] = [
            *((("items", name), item.when, "") for name, item in p.items.items()),
            *((("cautions", name), caution.when, "") for name, caution in p.cautions.items()),
            *((("branches", name), branch.when, "") for name, branch in p.branches.items()),
            *((part.path, part.step.when, part.step.id) for part in self.parts),
        ]
        for path, when, step in places:
            for option, choices in (when or {}).items():
                here = (*path, "when", option)
                if option not in p.options:
                    hint = did_you_mean(option, p.options, "define it under `options`")
                    self.say("unknown-option", f"no option is called `{option}`", self.read.key(*here), hint, step)
                    self.used["option"].add(close(option, p.options))
                    continue
                self.used["option"].add(option)
                for n, choice in enumerate(choices):
                    if choice not in p.options[option].choices:
                        hint = did_you_mean(choice, p.options[option].choices)
                        message = f"option `{option}` has no choice `{choice}`"
                        self.say("unknown-choice", message, self.read.at(*here, n), hint, step)

    def ids(self) -> None:
        """Ids that stand for two things."""
        seen: dict[str, Where] = {}
        entries = [(("phases", n), phase.id) for n, phase in enumerate(self.protocol.phases)]
        self.twice("phase", entries, {})
        self.twice("step", [(part.path, part.step.id) for part in self.parts], seen)
        if "same" in seen:
            hint = "choose another name: `same` means the step a branch was left from"
            self.say("reserved-name", "a step cannot be called `same`", seen["same"], hint)
        kinds: dict[str, str] = {}
        for kind in ("role", "place", "supply", "item"):
            for name in self.names[kind]:
                if name in kinds:
                    where = self.read.key(_plural(kind), name)
                    message = f"`{name}` is a {kinds[name]} and a {kind}"
                    self.say("ambiguous-name", message, where, "rename one of the two")
                kinds.setdefault(name, kind)

    def twice(self, what: str, entries: Sequence[tuple[Path, str]], seen: dict[str, Where]) -> None:
        for path, name in entries:
            where = self.read.at(*path, "id")
            if name in seen:
                message = f"two {what}s are called `{name}`; the first is on line {seen[name].line}"
                self.say("duplicate-id", message, where, "give each its own `id`", name if what == "step" else "")
            seen.setdefault(name, where)

    def definitions(self) -> None:
        """Names inside roles, supplies, items and phases."""
        p = self.protocol
        for name, role in p.roles.items():
            for n, kind in enumerate(role.wears or ()):
                if kind not in ITEM_KINDS and kind not in p.items:
                    where = self.read.at("roles", name, "wears", n)
                    hint = did_you_mean(kind, [*ITEM_KINDS, *p.items], f"use {one_of(ITEM_KINDS)}")
                    self.say("unknown-item", f"`{kind}` is no kind of item", where, hint)
        for name, supply in p.supplies.items():
            self.listed("place", supply.at, ("supplies", name, "at"))
        for name, item in p.items.items():
            for n, covered in enumerate(item.covers or ()):
                if self.name("item", covered, ("items", name, "covers", n)) and not p.items[covered].kept:
                    self.used["item"].discard(covered)  # lying under something is a use only of what stays on
            if name in (item.covers or ()):
                where = self.read.at("items", name, "covers")
                self.say("covers-itself", f"`{name}` covers itself", where, "name only what lies under it")
        for n, phase in enumerate(p.phases):
            if phase.place:
                self.name("place", phase.place, ("phases", n, "place"))

    # --- steps ----------------------------------------------------------------------------------------------

    def step(self, part: Part) -> None:
        step, path = part.step, part.path
        option = never(part.condition)
        if option:
            message = f"step `{step.id}` is never reached: its `when` and its branch's contradict in `{option}`"
            self.say("when-never-holds", message, self.read.key(*path, "when"), "change one of the two", step.id)
            return
        self.name("role", step.actor, (*path, "actor"), step.id)
        if step.place:
            self.name("place", step.place, (*path, "place"), step.id)
        if step.hold:
            self.name("role", step.hold.by, (*path, "hold", "by"), step.id)
        self.listed("supply", step.uses, (*path, "uses"), step.id)
        self.time(step.time, (*path, "time"), step.id)
        for key, names, kind in (("cautions", step.cautions, "caution"), ("branches", step.branches, "branch")):
            for n, name in enumerate(names or ()):
                if self.name(kind, name, (*path, key, n), step.id):
                    defined = self.protocol.cautions if kind == "caution" else self.protocol.branches
                    self.agree(part, condition_of(defined[name].when, self.protocol), kind, name, (*path, key, n))
        for n, act in enumerate(step.acts):
            self.act(part, act, (*path, "acts", n))

    def agree(self, part: Part, other: Condition, kind: str, name: str, path: Path) -> None:
        option = never(both(part.condition, other))
        if option:
            message = f"{kind} `{name}` can never appear here: its `when` contradicts this step's in `{option}`"
            hint = f"change the `when` of the step or of the {kind}"
            self.say("when-never-holds", message, self.read.at(*path), hint, part.step.id)

    def time(self, time: Time | None, path: Path, step: str) -> None:
        if time and time.contact:
            self.name("supply", time.contact, (*path, "contact"), step)

    def act(self, part: Part, act: Act, path: Path) -> None:
        step, verb = part.step.id, act.verb
        actor = act.by or part.step.actor
        if act.by:
            self.name("role", act.by, (*path, "by"), step)
        if verb in TARGETS:
            self.targets(part, act, path, actor)
        for n, name in enumerate(act.using or ()):
            self.name("supply", name, (*path, "using", n), step)
        for key, kinds in (("into", "supply"), ("on", "supply")):
            name = getattr(act, key)
            if name and self.name(kinds, name, (*path, key), step):
                self.kind(key, name, (*path, key), step)
        if act.to:
            want = {"move": ["place"], "hand-over": ["role"]}.get(verb, ["place", "role"])
            self.name(want, act.to, (*path, "to"), step)
        need = NEEDS.get(verb, "")
        if need and not getattr(act, need):
            hint = f"add `{need}:` to this act"
            self.say("incomplete-act", f"`{verb}` needs `{need}`", self.read.at(*path), hint, step)
        self.time(act.time, (*path, "time"), step)

    def targets(self, part: Part, act: Act, path: Path, actor: str) -> None:
        step, verb = part.step.id, act.verb
        kinds, also = TARGETS[verb]
        role = self.protocol.roles.get(actor)
        own = role.wears if role and role.wears else ()  # what this person wears is named by its kind
        conditions: list[Condition] = []
        for n, name in enumerate(act.targets):
            here = (*path, verb, n)
            found = self.name(kinds, name, here, step, (*also, *(own if "item" in kinds else ())))
            if found == "item":
                conditions.append(condition_of(self.protocol.items[name].when, self.protocol))
            else:
                conditions.append(ALWAYS)
                if name == "clothing":
                    items = self.protocol.items.items()
                    self.used["item"] |= {n for n, item in items if item.kind == "clothing"}
            if found == "supply":
                self.kind(verb, name, here, step)
        if not all(conditions):
            return
        option = next((never(both(part.condition, c)) for c in conditions), "")
        named = one_of(act.targets)
        if len(conditions) == 1 and option:
            message = f"{named} is never there in this step: its `when` contradicts the step's in `{option}`"
            self.say("when-never-holds", message, self.read.at(*path, verb), "change one of the two", step)
            return
        gap = lacking(part.condition, conditions, self.universe)
        if gap:
            message = f"this step acts on {named}, which is not there when {told(gap)}"
            hint = f"give step `{step}` a `when` that leaves that out"
            self.say("item-not-there", message, self.read.at(*path, verb), hint, step)

    def kind(self, use: str, name: str, path: Path, step: str) -> None:
        kinds = KINDS.get(use)
        kind = self.protocol.supplies[name].kind
        if kinds and kind not in kinds:
            message = f"`{use}` takes a {' or '.join(kinds)}, and `{name}` is of kind `{kind}`"
            hint = f"name another supply, or correct the kind of `{name}`"
            self.say("wrong-kind", message, self.read.at(*path), hint, step)

    # --- branches, slots, what is never used ----------------------------------------------------------------

    def branches(self) -> None:
        main = {part.step.id: part for part in self.parts if not part.branch}
        for name, branch in self.protocol.branches.items():
            own = condition_of(branch.when, self.protocol)
            offers = [(p.step.id, both(p.condition, own)) for p in self.parts if name in (p.step.branches or ())]
            where = self.read.key("branches", name)
            if not offers and not branch.anywhere and name not in self.used["branch"]:
                hint = "add it to the `branches` of a step, or write `anywhere: true`"
                self.say("branch-never-offered", f"no step offers branch `{name}`", where, hint)
            if not branch.rejoin or branch.rejoin == "same":
                continue
            where = self.read.at("branches", name, "rejoin")
            target = main.get(branch.rejoin)
            if target is None:
                inside = any(p.step.id == branch.rejoin for p in self.parts)
                why = "is inside a branch" if inside else "is not there"
                message = f"branch `{name}` rejoins at `{branch.rejoin}`, which {why}"
                meant = misspelt(branch.rejoin, [*main, "same"])
                hint = f"did you mean `{meant}`?" if meant else self.where_to_rejoin(offers or [("", own)])
                self.say("rejoins-nowhere", message, where, hint)
                continue
            for step, condition in offers or [("", own)]:
                gap = None if never(condition) else lacking(condition, [target.condition], self.universe)
                if gap:
                    left = f", left at `{step}`," if step else ""
                    message = f"branch `{name}`{left} rejoins at `{branch.rejoin}`, which is not there when {told(gap)}"
                    self.say("rejoins-nowhere", message, where, "rejoin at a step that is always there")
                    break

    def where_to_rejoin(self, offers: Sequence[tuple[str, Condition]]) -> str:
        """What to write instead of a step that is gone: the next one, if it is there wherever the branch was left."""
        main = [part for part in self.parts if not part.branch]
        ids = [part.step.id for part in main]
        last = max((ids.index(step) for step, _ in offers if step in ids), default=-1)
        if last < 0:
            return "name a step of the main path, or write `same` to go on where it was left"
        for part in main[last + 1 : last + 2]:
            if all(never(c) or lacking(c, [part.condition], self.universe) is None for _, c in offers):
                return f"put the step back, or rejoin at `{part.step.id}`, the next step after `{ids[last]}`"
        return f"put the step back, or write `same` to go on after `{ids[last]}`, where it was left"

    def slots(self) -> None:
        """Slots that name supplies, places and items are uses of them; names themselves take no slots."""
        for path, text in words(self.protocol):
            for slot in text.slots:
                if len(path) == 3 and path[0] in ("roles", "places", "supplies", "items") and path[2] == "name":
                    message = f"a name cannot hold a placeholder, as `{{{slot}}}` here: it fills placeholders itself"
                    self.say("slot-in-name", message, self.read.at(*path), "write the name out")
                for kind in ("supply", "place", "item"):
                    if slot in self.names[kind]:
                        self.used[kind].add(slot)

    def unused(self) -> None:
        for kind in ("supply", "item", "caution"):
            for name in self.names[kind]:
                if name not in self.used[kind]:
                    where = self.read.key(_plural(kind), name)
                    use = "the `cautions` of a step" if kind == "caution" else f"an act, or in a text as `{{{name}}}`"
                    hint = f"name it in {use}, or delete it"
                    self.say(f"unused-{kind}", f"{kind} `{name}` is never used", where, hint)
        for name in self.names["option"]:
            if name not in self.used["option"]:
                where = self.read.key("options", name)
                message = f"option `{name}` changes nothing: no `when` names it"
                self.findings.append(
                    warning("source/unused-option", message, where, hint="name it in a `when`, or delete it")
                )


def _plural(kind: str) -> str:
    return {"supply": "supplies", "branch": "branches"}.get(kind, kind + "s")
