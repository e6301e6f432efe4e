"""Turn a version that somebody wants to release into what stands in its way, and into what goes out and what stays."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from docgen.build.prepare import Prepared, Ready, Wanted
from docgen.build.shelf import SOURCE_LANGUAGE, Bound
from docgen.build.tongues import BESIDE, asked
from docgen.findings import Finding, Severity, Where, error, has_errors, warning
from docgen.model.release import Signature, Withheld


@dataclass(frozen=True, slots=True)
class Sorted:
    """The editions of one protocol."""

    alone: Bound
    here: tuple[Ready, ...]
    """Those that may go out."""
    withheld: tuple[Withheld, ...]
    findings: tuple[Finding, ...]
    """All that was said; with an error among them nothing goes out."""


def sort(prepared: Prepared, alone: Bound, wanted: Wanted, without: tuple[str, ...]) -> Sorted:
    """Which languages of a protocol go out at which sites. Whatever is wrong with the source language stops all.

    A translation that nobody qualified has revised stays, and is listed; so does one that somebody left out by name.
    """
    assert alone.protocol.value
    name, version = alone.protocol.value.protocol, alone.protocol.value.version
    findings = [*alone.findings]
    here: list[Ready] = []
    withheld: list[Withheld] = []
    tagged = tuple(_tagged(prepared, name))
    for bound, tag in tagged:
        site = bound.site.value.site if bound.site and bound.site.value else ""
        if tag != SOURCE_LANGUAGE and not prepared.has(name, site):
            continue  # what is wrong with the source is said once
        why = _why(bound, tag, without)
        if tag == SOURCE_LANGUAGE or not why:
            findings += bound.findings
            if bound.edition is None and not has_errors(bound.findings):
                message, hint = f"`{site}` has no edition of it", "mend what `docgen check` says of it"
                findings.append(error("release/no-edition", message, alone.protocol.at(), hint=hint, site=site))
            here += prepared.ready_of(bound, wanted)
            continue
        withheld.append(Withheld(site, tag, why))
        findings.append(_said(prepared, name, version, Withheld(site, tag, why), tag in without, alone))
    if not tagged:
        findings.append(error("release/no-site", f"no site uses `{name}`", alone.protocol.at("protocol"), protocol=name,
                              hint="name it under `protocols` in the file of a site"))  # fmt: skip
    return Sorted(alone, tuple(here), tuple(withheld), tuple(replace(f, protocol=f.protocol or name) for f in findings))


def _tagged(prepared: Prepared, name: str) -> Iterator[tuple[Bound, str]]:
    """Each edition of a protocol with the language that was asked for, also where there is no edition in it."""
    tags = [tag for b in prepared.alone if b.site for tag in asked(b)]
    for bound, tag in zip(prepared.bounds, tags, strict=True):
        if bound.protocol.value and bound.protocol.value.protocol == name:
            yield bound, tag


def _why(bound: Bound, tag: str, without: tuple[str, ...]) -> str:
    if tag in without:
        return "left out by name"
    languages = [t for t in tag.split(BESIDE) if t != SOURCE_LANGUAGE]
    if not languages:
        return ""
    own = [f for f in bound.findings if f.severity is Severity.ERROR and f.language in languages]
    if bound.edition is None:
        return own[0].message.replace("`", "") if own else "nobody has begun to translate it"
    if bound.edition.unreviewed:
        return "no second person has revised the translation"
    return own[0].message.replace("`", "") if own else ""


def _said(prepared: Prepared, name: str, version: str, held: Withheld, by_name: bool, alone: Bound) -> Finding:
    """A language that was out before must not be lost in silence: its old sheets would go, and no new ones come."""
    before = prepared.histories.of(name).before(version)
    kept = before.at(held.site) if before else None
    lost = kept is not None and kept.language(held.language) is not None and not by_name
    make = error if lost else warning
    message = f"`{held.language}` is not released at `{held.site}`: {held.why}"
    if lost and before:
        message += f"; version {before.version} was"
    hint = "have it translated and revised by two named people" + (
        f", or leave it out with `--without {held.language}`" if lost else "; it can go out with the next version"
    )
    return make("release/language-withheld", message, alone.protocol.at("version"), hint=hint, site=held.site,
                language=held.language, protocol=name)  # fmt: skip


def in_the_way(
    prepared: Prepared, alone: Bound, signature: Signature | None, today: datetime.date
) -> Iterator[Finding]:
    """What keeps a version from being released, whatever its editions say. Without a signature: from being proposed."""
    value = alone.protocol.value
    assert value
    at, history = alone.protocol.at, prepared.histories.of(value.protocol)

    def no(rule: str, message: str, where: Where, hint: str) -> Finding:
        return error(f"release/{rule}", message, where, hint=hint, protocol=value.protocol)

    if history.get(value.version):
        yield no("already-released", f"version {value.version} is released already", at("version"),
                 "raise the version; `docgen compare` says to which")  # fmt: skip
    if signature is None:
        return
    if value.status not in ("approved", "released") or value.approval is None:
        yield no("not-approved", f"the status is `{value.status}`: nobody has approved it", at("status"),
                 "write `status: approved` and `approval:` once it is approved")  # fmt: skip
    for rule, wrong, message, hint in _dates(value, signature, history.newest, today):
        if wrong:
            yield no(rule, message, at("effective"), hint)


def _dates(value, signature: Signature, newest, today: datetime.date) -> Iterable[tuple[str, bool, str, str]]:
    on = signature.on
    yield ("dated-ahead", on > today, f"the day of release, {on}, is after today, {today} by this computer",
           "give the day it is released with `--on`, or set the clock")  # fmt: skip
    if value.approval:
        yield ("before-approval", on < value.approval.on,
               f"it is released on {on}, before it was approved on {value.approval.on}",
               "give the day it is released with `--on`")  # fmt: skip
    if newest:
        yield ("before-last", on < newest.released.on,
               f"it is released on {on}, before version {newest.version}, which was released on {newest.released.on}",
               "give the day it is released with `--on`, and look at the clock")  # fmt: skip
    yield ("too-late", value.effective < on, f"it is to hold from {value.effective}, before it is released on {on}",
           "set `effective` to a day from then on, so that no sheet holds before it is there")  # fmt: skip
