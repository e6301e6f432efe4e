"""Turn the files of a language into everything docgen knows of it, and editions into editions in that language."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from docgen.build.messages import ToTranslate
from docgen.build.shelf import SOURCE_LANGUAGE, Bound, Front
from docgen.findings import Finding, Severity, error, warning
from docgen.model.catalogue import SITES, TEMPLATES, Catalogue
from docgen.model.edition import Edition
from docgen.model.glossary import Glossary
from docgen.model.moment import Analysis, Timing
from docgen.model.read import Read
from docgen.model.wordlist import WordList
from docgen.project import Project

if TYPE_CHECKING:
    from docgen.language import Ground


@dataclass(frozen=True, slots=True)
class Tongue:
    """One language."""

    language: str
    catalogues: Mapping[str, Catalogue]
    """Name → catalogue, of those that could be read."""
    words: WordList | None
    findings: tuple[Finding, ...]
    """What is wrong with its files."""
    compared: tuple[Finding, ...] = ()
    """What its translations do not have in common with their sources."""

    def get(self, name: str) -> Catalogue:
        """The catalogue of that name, an empty one if there is none."""
        return self.catalogues.get(name) or Catalogue(self.language, name)


def read_one(project: Project, language: str, name: str) -> Read[Catalogue]:
    """One catalogue; an empty one where there is no file yet."""
    from docgen.source.catalogue import read_catalogue

    source, findings = project.locale(language, f"{name}.po")
    if source is None:
        return Read(None if findings else Catalogue(language, name), findings)
    return read_catalogue(source.text, source.file, language, name)


def tongue(project: Project, language: str, words: ToTranslate, rooms: Front, compare: bool = True) -> Tongue:
    """A language from its files; the pseudo-language from the sources alone.

    `compare`: also hold its translations against their sources.
    """
    from docgen.language import PSEUDO, check, pseudo_catalogue
    from docgen.source import inline

    if language == PSEUDO:
        made = {name: pseudo_catalogue(name, messages) for name, messages in words.catalogues.items()}
        return Tongue(language, made, None, ())
    reads = [read_one(project, language, name) for tag, name in project.catalogues() if tag == language]
    listed, problems = project.locale(language, "words.yaml")
    own = rooms.read_wordlist(listed.text, listed.file) if listed else Read(None)
    findings = (*(f for r in reads for f in r.findings), *problems, *own.findings)
    catalogues = {r.value.name: r.value for r in reads if r.value}
    ground, problems = grounded(project, language, own.value, rooms)
    signed = tuple(replace(f, language=language) for f in (*findings, *problems))
    compared = check(tuple(catalogues.values()), {}, ground, inline) if compare else ()
    return Tongue(language, catalogues, own.value, signed, compared)


def grounded(
    project: Project, language: str, words: WordList | None, rooms: Front
) -> tuple[Ground, tuple[Finding, ...]]:
    """What translations into a language are judged by: its words, those of the source language, and the glossary."""
    from docgen.language import Ground
    from docgen.source.glossary import read_glossary

    listed, first = project.locale(SOURCE_LANGUAGE, "words.yaml")
    source = rooms.read_wordlist(listed.text, listed.file) if listed else Read(None)
    shared, second = project.locale("", "glossary.yaml")
    glossary = read_glossary(shared.text, shared.file) if shared else Read(None)
    ground = Ground(language, words, source.value, SOURCE_LANGUAGE, glossary.value or Glossary())
    return ground, (*first, *second, *glossary.findings)


BESIDE = "+"
"""Between a language and the one that stands beside it: `es+ar`."""


def asked(bound: Bound) -> tuple[str, ...]:
    """The languages a site asks for a protocol in, and each with the languages of wearers beside it."""
    if not (bound.site and bound.site.value and bound.protocol.value):
        return ()
    site = bound.site.value
    own = site.protocols[bound.protocol.value.protocol].languages or site.languages
    return (*own, *(f"{a}{BESIDE}{b}" for a in own for b in site.beside or () if a != b))


def tongues_of(
    project: Project,
    bounds: Iterable[Bound],
    languages: tuple[str, ...],
    words: ToTranslate,
    rooms: Front,
    compare: bool = True,
) -> dict[str, Tongue]:
    """Every language that `spoken` will need."""
    named = languages or tuple(tag for b in bounds for tag in asked(b))
    wanted = dict.fromkeys(tag for pair in named for tag in pair.split(BESIDE))
    return {tag: tongue(project, tag, words, rooms, compare) for tag in wanted if tag != SOURCE_LANGUAGE}


def spoken(
    bounds: Iterable[Bound], languages: tuple[str, ...], tongues: Mapping[str, Tongue], words: ToTranslate, draft: bool
) -> Iterator[Bound]:
    """Each edition in each of `languages`, or without any in those its site asks for.

    A language may name another to stand beside it: `es+ar`. One whose protocol nobody has begun to translate has no
    edition, and a finding that says so.
    """
    for bound in bounds:
        known: dict[str, Bound] = {SOURCE_LANGUAGE: bound}
        for named in languages or asked(bound):
            both = [tag for tag in named.split(BESIDE) if tag]
            for tag in both:
                if tag not in known and bound.edition is not None:
                    known[tag] = _in(tag, bound, tongues[tag], words, draft)
            one, *other = [known.get(tag, bound) for tag in both]
            yield _paired(one, other[0], both[1]) if other else one


def _paired(one: Bound, other: Bound, language: str) -> Bound:
    """An edition with another language beside its own; none if either is missing."""
    from docgen.language.texts import texts_of

    findings = tuple(dict.fromkeys((*one.findings, *other.findings)))
    if one.edition is None or other.edition is None:
        return replace(one, edition=None, analysis=None, findings=findings)
    unreviewed = one.edition.unreviewed or other.edition.unreviewed
    revision = BESIDE.join(filter(None, (one.edition.translation, other.edition.translation)))
    edition = replace(
        one.edition,
        beside=language,
        beside_texts=texts_of(other.edition),
        unreviewed=unreviewed,
        translation=one.edition.translation and revision,
    )
    return replace(one, edition=edition, findings=findings)


def _in(language: str, bound: Bound, tongue: Tongue, words: ToTranslate, draft: bool) -> Bound:
    from docgen.language import PSEUDO, Spoken, missing_words, translate
    from docgen.source import inline

    assert bound.edition and bound.analysis and bound.site
    name, site = bound.edition.protocol, bound.edition.site
    about = {"language": language, "protocol": name, "site": site}
    catalogue = tongue.get(name)
    broken = [f for f in tongue.findings if f.severity is Severity.ERROR]
    if broken:
        return replace(bound, edition=None, analysis=None, findings=tongue.findings)
    if not catalogue.begun:
        return replace(bound, edition=None, analysis=None, findings=(_not_begun(language, bound, about),))
    draft = draft or bound.edition.status == "draft"
    if language == PSEUDO and not draft:
        message, hint = f"`{PSEUDO}` is a language for tests", "add `--draft`, or name another language"
        only = error("language/draft-only", message, hint=hint)
        return replace(bound, edition=None, analysis=None, findings=(only,))
    voice = Spoken(catalogue, tongue.get(SITES), tongue.get(TEMPLATES))
    edition, lacking = translate(bound.edition, voice, inline, draft)
    lacking += missing_words(voice.templates, words.catalogues.get(TEMPLATES, ()), draft)
    worded, timings, slow = _reworded(edition, tongue.words)
    said = [f for f in bound.findings if f.severity is Severity.ERROR or not f.rule.startswith(("wording/", "timing/"))]
    fresh = tuple(replace(f, **about) for f in (*lacking, *worded, *slow))
    compared = tuple(replace(f, protocol=name) for f in tongue.compared if _concerns(f, name, site))
    findings = (*said, *words.findings, *tongue.findings, *fresh, *compared)
    analysis: Analysis = replace(bound.analysis, findings=findings, timings=timings)
    return replace(bound, edition=edition, analysis=analysis, findings=findings)


def wording_of(edition: Edition, tongue: Tongue) -> tuple[Finding, ...]:
    """What the wording rules say of a translated general edition."""
    from docgen.analysis.wording import check
    from docgen.language import Spoken, translate
    from docgen.source import inline

    if tongue.words is None:
        return ()
    voice = Spoken(tongue.get(edition.protocol), tongue.get(SITES), tongue.get(TEMPLATES))
    spoken, _ = translate(edition, voice, inline, draft=True)
    return tuple(replace(f, protocol=edition.protocol, language=tongue.language) for f in check(spoken, tongue.words))


def _concerns(f: Finding, protocol: str, site: str) -> bool:
    """Whether a finding about the catalogues is about what this edition says."""
    about = dict(f.data)
    name, key = about.get("catalogue", TEMPLATES), about.get("key", "")
    return name in (protocol, TEMPLATES) or (name == SITES and (not key or key.startswith(f"{site}/")))


def _reworded(edition: Edition, words: WordList | None) -> tuple[tuple[Finding, ...], tuple[Timing, ...], Any]:
    """What of an analysis depends on the language: the wording, and the seconds it takes to say it."""
    from docgen.analysis.timing import estimate
    from docgen.analysis.wording import check

    return (check(edition, words) if words else (), *estimate(edition))


def _not_begun(language: str, bound: Bound, about: Mapping[str, str]) -> Finding:
    assert bound.site and bound.edition
    site, name = bound.site, bound.edition.protocol
    value = site.value
    use = value.protocols[name].languages if value else None
    path = ("protocols", name, "languages") if use else ("languages",)
    listed = use or (value.languages if value else ())
    where = site.at(*path, listed.index(language)) if language in listed else site.at("languages")
    message = f"`{language}` is asked for, and nobody has begun to translate `{name}` into it"
    hint = f"begin with `docgen words update protocols/{name}.yaml --language {language}`, or take the language out"
    return warning("build/no-catalogue", message, where, hint=hint, **about)
