"""Turn an edition into its pages for screens: staged files, read back from there like the sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from docgen.build.bench import Bench, Job, back, faces_of, fonts_of
from docgen.build.expected import terms
from docgen.findings import Finding, Where, error, has_errors, warning
from docgen.language import own_name
from docgen.model.edition import READER, Edition
from docgen.model.page import Image, Page
from docgen.publish import MANIFEST, HeldBack, Made, Manifest, name_of, published_beside, read_manifest, write

INDEX = "index.html"
"""The page of an edition's folder."""
KIB = 1024


def reader(job: Job, bench: Bench) -> tuple[tuple[Made, ...], tuple[Finding, ...]]:
    """Write the reader of a job and examine what lies on the disk, in every language it speaks."""
    rooms = bench.rooms or back()
    spoken = ((job.edition, job.analysis), *job.also)
    page, findings = rooms.page(job.artifact, spoken, bench.templates, bench.words)
    if page is None:
        return (), findings
    file = name_of(job.edition, job.artifact, suffix="html")
    made, said = _written(page, spoken, file, job.folder, job.shown, job.inputs, bench)
    return ((made,) if made else ()), (*findings, *said)


def front(
    edition: Edition,
    spoken: Any,
    siblings: Sequence[str],
    thumbs: Mapping[str, Image],
    shown: str,
    inputs: tuple[tuple[str, str], ...],
    bench: Bench,
) -> Callable[[Manifest, Path], Made]:
    """What makes the page of an edition's folder once it is known what lies there.

    `siblings`: the languages it is there in besides its own; `thumbs`: file → its picture, where it is known already.
    Raises HeldBack with the findings if the page is not as it must be.
    """  # fmt: skip
    rooms = bench.rooms or back()

    def index(manifest: Manifest, folder: Path) -> Made:
        files = [m.file for m in manifest.files]
        images = {name: image for name in files if (image := thumbs.get(name) or _thumb(folder / name, bench))}
        more = _listing(manifest, siblings)
        page, findings = rooms.page("index", (spoken,), bench.templates, bench.words, more)
        if page is None:
            raise HeldBack(findings)
        links = (*files, *(f"../{tag.lower()}/{INDEX}" for tag in siblings))
        made, said = _written(page, (spoken,), INDEX, folder, shown, inputs, bench, images, links)
        if made is None or (has_errors((*findings, *said)) and not edition.draft):
            raise HeldBack((*findings, *said))
        return made

    return index


def _listing(manifest: Manifest, siblings: Iterable[str]) -> dict[str, Any]:
    """What the template of the page sees of the folder."""
    shown = (m for m in manifest.files if m.artifact in _ORDER)
    files = sorted(shown, key=lambda m: (_ORDER.index(m.artifact), m.file))
    listed = tuple(
        {"name": m.file, "artifact": m.artifact, "sheet": m.sheet, "pages": m.pages, "size": size(m.bytes)}
        for m in files
    )
    return {"files": listed, "siblings": tuple((tag, own_name(tag)) for tag in siblings)}


_ORDER = ("reader", "poster", "cards", "script", "checklist", "notice")


def _thumb(path: Path, bench: Bench) -> Image | None:
    from docgen.readback.thumbs import thumbnail

    data, _ = bench.project.sheet(path)
    return thumbnail(data) if data and path.suffix == ".pdf" else None


def _written(
    page: Page, spoken: Sequence[Any], file: str, folder: Path, shown: str, inputs: Iterable[tuple[str, str]],
    bench: Bench, images: Mapping[str, Image] | None = None, links: Iterable[str] = (),
) -> tuple[Made | None, tuple[Finding, ...]]:  # fmt: skip
    """Write a composed page, read it from the disk, and examine it in each of its languages."""
    rooms = bench.rooms or back()
    data, used, findings = rooms.write_page(page, spoken, bench.house, bench.words, faces_of(bench.project), images)
    if data is None:
        return None, findings
    write(folder / file, data)
    there, problems = bench.project.sheet(folder / file)
    findings += problems
    if there is None:
        return None, findings
    if len(there) > KIB * KIB:
        message = f"the page has {size(len(there))}, which is slow to open on an old tablet"
        hint = "make fewer languages together"
        findings += (warning("build/large-page", message, Where(f"{shown}/{file}"), hint=hint),)
    for edition, _ in spoken:
        wanted = expected_of_page(page, edition, bench)
        findings += rooms.examine_page(there, edition, page.artifact, f"{shown}/{file}", files=links, **wanted)
    made_of = {*inputs, *_templates(page.artifact, bench), *fonts_of(used, bench.project)}
    return Made(file, page.artifact, "", 0, len(there), sha256(there).hexdigest(), tuple(sorted(made_of))), findings


def expected_of_page(page: Page, edition: Edition, bench: Bench) -> dict[str, Any]:
    """What the read-back of a page expects besides the edition."""
    words = bench.words.get(edition.language)
    return {
        "draft": edition.draft,
        "known_words": page.known(edition.language),
        "terms": terms(words) if words else None,
        "script": page.script,
    }


def _templates(artifact: str, bench: Bench) -> Iterable[tuple[str, str]]:
    for name in bench.templates:
        if name.startswith((f"{artifact}/", "house/")):
            yield f"templates/{name}", bench.project.read[f"templates/{name}"]


def examined(
    file: Path, data: bytes, artifact: str, spoken: Any, others: Sequence[Any], bench: Bench, browser: bool
) -> tuple[Finding, ...]:
    """What there is to say of a finished page, in each language that it speaks.

    `others`: the same edition in other languages. `browser`: walk through a reader as well.
    """
    from docgen.readback import page_facts

    rooms = bench.rooms or back()
    speaks = [facts.get("language", "") for _, facts in page_facts(data)]
    also = [pair for pair in others if pair[0].language in speaks]
    more, links = _beside(file) if artifact == "index" else (None, ())
    page, findings = rooms.page(artifact, (spoken, *also), bench.templates, bench.words, more)
    if page is None:
        return findings
    for edition, _ in (spoken, *also):
        wanted = expected_of_page(page, edition, bench)
        said = rooms.examine_page(data, edition, artifact, str(file), files=links, **wanted)
        if browser and artifact == READER and not has_errors(said):
            said += _walked(file, edition, wanted)
        findings += said
    return findings


def _beside(file: Path) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What the page of a folder may name: the files in it, and the same page in other languages."""
    manifest = read_manifest(file.with_name(MANIFEST)) or Manifest((), "", ())
    tags = tuple(dict(m.stamp)["language"] for m in published_beside(file.parent))
    links = (*(m.file for m in manifest.files), *(f"../{tag.lower()}/{INDEX}" for tag in tags))
    return _listing(manifest, tags), links


def _walked(file: Path, edition: Edition, wanted: Mapping[str, Any]) -> tuple[Finding, ...]:
    from docgen.browser import Browser, BrowserError, found
    from docgen.readback.walk import walk

    program = found()
    if not program:
        hint = "install Chromium, or verify without `--browser`"
        return (error("project/no-browser", "there is no browser to walk through the reader with", Where(str(file)),
                      hint=hint),)  # fmt: skip
    given = {key: value for key, value in wanted.items() if key != "script"}
    try:
        with Browser(program) as browser:
            bench, tab = browser.tab(), browser.tab()
            return walk(tab, bench, file.absolute().as_uri(), edition, str(file), **given)
    except BrowserError as problem:
        said = f"the walk through the reader ended early: {problem}".splitlines()[0]
        return (error("readback/walk-ended", said, Where(str(file)), hint="try again; the memory may not suffice"),)


def size(count: int) -> str:
    """Bytes as people read them, in units of 1024 (IEC 80000-13)."""
    return f"{count / KIB:.0f} KiB" if count < KIB * KIB else f"{count / KIB / KIB:.1f} MiB"
