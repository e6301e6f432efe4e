"""Turn the release files of a project into the history of each protocol, and kept editions back into editions."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from docgen.build.shelf import SOURCE_LANGUAGE
from docgen.build.tongues import BESIDE
from docgen.findings import Finding, Where, error, has_errors
from docgen.model.catalogue import SITES, TEMPLATES, Catalogue, Entry
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.model.release import Release, ReleasedEdition, Withdrawal
from docgen.model.text import Text
from docgen.model.wordlist import WordList
from docgen.project import Project
from docgen.release import History, compare, parse_release, parse_withdrawal, revive
from docgen.release.version import number

WITHDRAWN = "-withdrawn"
"""At the end of the name of a withdrawal's file."""


@dataclass(frozen=True, slots=True)
class Histories:
    """Protocol → its history; one without releases has an empty one."""

    found: Mapping[str, History] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()

    def of(self, protocol: str) -> History:
        """The history of a protocol."""
        return self.found.get(protocol) or History(protocol)


def histories(project: Project) -> Histories:
    """Every release of a project that can be trusted, with findings about those that can't."""
    found: dict[str, History] = {}
    findings: list[Finding] = []
    for path in project.releases():
        source, problems = project.release(path)
        findings += problems
        if source is None:
            continue
        gone = path.stem.endswith(WITHDRAWN)
        value, problems = (parse_withdrawal if gone else parse_release)(source.text, source.file)
        named = (path.parent.name, path.stem.removesuffix(WITHDRAWN))
        if value and not has_errors(problems) and (value.protocol, value.version) != named:
            message = f"this is `{value.protocol}` {value.version}, and lies where `{named[0]}` {named[1]} belongs"
            hint = "take the file from version control as it was written"
            problems += (error("release/misplaced", message, Where(source.file), hint=hint),)
        findings += (replace(f, protocol=path.parent.name) for f in problems)
        if value is None or has_errors(problems):
            continue
        history = found.get(value.protocol) or History(value.protocol, files={}, digests={})
        if isinstance(value, Withdrawal):
            history = replace(history, withdrawals=(*history.withdrawals, value))
        else:
            assert isinstance(value, Release)
            history = replace(
                history,
                releases=tuple(sorted((*history.releases, value), key=lambda r: number(r.version))),
                files={**(history.files or {}), value.version: source.file},
                digests={**(history.digests or {}), value.version: digest(source.text)},
            )
        found[value.protocol] = history
    return Histories(found, tuple(findings))


def digest(text: str) -> str:
    """SHA-256 of a release file, whatever line ends a checkout gave it."""
    return hashlib.sha256(text.replace("\r\n", "\n").encode()).hexdigest()


def revived(release: Release, kept: ReleasedEdition, language: str = SOURCE_LANGUAGE) -> Edition | None:
    """An edition as it was released at a site, in a language or a pair of them; None if that was not released."""
    from docgen.language import Spoken, translate
    from docgen.source import inline

    source = revive(release, kept, inline)
    spoken = kept.language(language)
    if spoken is None:
        return source if language == SOURCE_LANGUAGE else None
    found = []
    for tag in spoken.language.split(BESIDE):
        edition = source
        if tag != SOURCE_LANGUAGE:
            own, local = (_catalogue(release, source, tag, name) for name in (release.protocol, SITES))
            edition, _ = translate(source, Spoken(own, local, Catalogue(tag, TEMPLATES)), inline)
        found.append(edition)
    one, *other = found
    if other:
        one = replace(one, beside=other[0].language, beside_texts=_texts(other[0]))
    return replace(one, translation=spoken.translation, unreviewed=False)


def preceding(past: Histories, edition: Edition, same: bool = False) -> tuple[Edition | None, tuple[Finding, ...]]:
    """What was released at an edition's site, in its language, before its version (`same`: as its version), if any."""
    history = past.of(edition.protocol)
    release = history.get(edition.version) if same else history.before(edition.version)
    kept = release.at(edition.site) if release else None
    if release is None or kept is None:
        return None, ()
    try:
        return revived(release, kept, edition.language), ()
    except (ValueError, KeyError, TypeError, AttributeError) as problem:
        message = f"the edition kept for `{kept.site}` can't be read: {type(problem).__name__}, {problem}"
        where, hint = Where(history.file(release.version)), "take the file from version control as it was written"
        return None, (error("release/unreadable", message, where, hint=hint),)


def since(past: Histories, edition: Edition, source: Edition, words: WordList | None) -> Change | None:
    """What differs from the release before, in the edition's language; how far it goes is told by the source's words.

    None where there was no release before, or none in this language: to its readers this version is the first.
    """
    before, _ = preceding(past, edition)
    if before is None:
        return None
    was, _ = preceding(past, source)
    assert was  # a release in any language has the source's
    return replace(compare(before, edition), degree=compare(was, source, words).degree)


def _catalogue(release: Release, edition: Edition, language: str, name: str) -> Catalogue:
    """The words that a release keeps, as the catalogue they came from."""
    prefix = f"{edition.site}/" if name == SITES else ""
    sources = {t.key: t.source for t in _texts(edition)}
    words = release.words.get(language, {})
    entries = tuple(Entry(f"{prefix}{key}", source, words[f"{prefix}{key}"]) for key, source in sources.items()
                    if f"{prefix}{key}" in words)  # fmt: skip
    return Catalogue(language, name, entries)


def words_kept(edition: Edition, protocol: Catalogue, sites: Catalogue) -> dict[str, str]:
    """What a translation of an edition was made from: key → translation, a site's own words below the site's name."""
    own, local = ({e.key: e for e in c.entries} for c in (protocol, sites))
    out = {}
    for text in _texts(edition):
        site = f"{edition.site}/{text.key}"
        for key, entry in ((site, local.get(site)), (text.key, own.get(text.key))):
            if entry and entry.valid and entry.source == text.source:
                out[key] = entry.translation
                break
    return out


def _texts(edition: Edition) -> tuple[Text, ...]:
    from docgen.language.texts import texts_of

    return texts_of(edition)
