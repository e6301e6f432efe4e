"""The command line: arguments in, findings and exit status out, and no logic of its own.

Everything heavy is imported by the command that needs it, so that `docgen --help` and `docgen check` answer at once.
"""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from docgen import __version__

if TYPE_CHECKING:
    from docgen.build.outcome import Outcome
    from docgen.build.releasing import Signature
    from docgen.project import Project

ARTIFACTS = ("poster", "cards", "script", "checklist", "notice", "reader")
CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}
EXISTING = click.Path(path_type=Path)

_format = click.option(
    "--format", "form", type=click.Choice(["text", "json", "sarif"]), default="text", show_default=True,
    help="How findings are printed.",
)  # fmt: skip
_folder = click.option(
    "--protocols", "folder", type=EXISTING, metavar="DIR",
    help="Folder of the protocols, with `sites` in it.  [default: protocols]",
)  # fmt: skip
_sites = click.option("--site", "sites", multiple=True, metavar="NAME", help="Only this site; may be repeated.")
_languages = click.option(
    "--language", "languages", multiple=True, metavar="TAG", help="Only this language, such as `es`; may be repeated."
)
_DAY = click.DateTime(["%Y-%m-%d"])
_today = click.option(
    "--today", type=_DAY, metavar="DATE", hidden=True, help="Take this for today; the clock's day if left out."
)
_jobs = click.option(
    "--jobs", type=click.IntRange(1, 256), metavar="N", help="Processes to use.  [default: one for each core]"
)


@click.group(
    context_settings=CONTEXT, epilog="Exit status: 0 clean, 1 findings at error level, 2 unusable input, 3 a bug."
)
@click.version_option(__version__, prog_name="docgen")
def docgen() -> None:
    """One protocol in; poster, cards, script, checklist, notice and reader out, proven to agree.

    \b
    Examples:
      docgen make                        everything under protocols/, for every site
      docgen check protocols/mine.yaml   what is wrong with it, with line and column
      docgen verify out                  do the files still say what the sources say?
      docgen new my-protocol             a commented file to begin with

    \b
    Completion of commands and options in your shell, for this session:
      bash   eval "$(_DOCGEN_COMPLETE=bash_source docgen)"
      zsh    eval "$(_DOCGEN_COMPLETE=zsh_source docgen)"
      fish   _DOCGEN_COMPLETE=fish_source docgen | source
    """


@docgen.command()
@click.argument("files", nargs=-1, type=EXISTING, metavar="[FILE]...")
@_sites
@_folder
@_format
@click.option("--explain", metavar="RULE", help="Explain a rule in plain words, with its basis, and do nothing else.")
def check(files: tuple[Path, ...], sites: tuple[str, ...], folder: Path | None, form: str, explain: str | None) -> None:
    """Check protocols and sites without making anything.

    Each protocol is checked alone with all its options, and at every site that uses it: spelling of keys, references,
    wording, and the sequence itself, run as a state machine.

    \b
    Examples:
      docgen check
      docgen check protocols/hand-rub.yaml
      docgen check --site north --format json
      docgen check --explain sequence/respirator-before-eyes
    """
    from docgen.build.checking import check as run
    from docgen.build.checking import explained
    from docgen.build.shelf import Asked

    if explain:
        _finish(explained(explain), form, summary=False)
    _finish(run(_project(folder, files), Asked(files, sites)), form)


@docgen.command()
@click.argument("files", nargs=-1, type=EXISTING, metavar="[FILE]...")
@_sites
@click.option(
    "--artifact", "artifacts", multiple=True, type=click.Choice(ARTIFACTS), help="Only this; may be repeated."
)
@click.option(
    "--sheet", metavar="NAME", default="", help="Sheet to print it on, such as A2 or 18x24in; with one --artifact."
)
@_languages
@click.option("--out", type=EXISTING, default=Path("out"), metavar="DIR", help="Where to publish.  [default: out]")
@click.option("--templates", type=EXISTING, metavar="DIR", help="Your own templates, laid over the shipped ones.")
@click.option("--draft", is_flag=True, help="Publish in spite of errors, with a band across every sheet.")
@click.option("--together", is_flag=True, help="Let each reader speak all languages that are made, with a switch.")
@click.option("--examples", is_flag=True, help="Make the example protocols that come with docgen.")
@_folder
@_jobs
@_format
def make(
    files: tuple[Path, ...], sites: tuple[str, ...], artifacts: tuple[str, ...], sheet: str, out: Path,
    templates: Path | None, draft: bool, together: bool, examples: bool, folder: Path | None, jobs: int | None,
    form: str, languages: tuple[str, ...],
) -> None:  # fmt: skip
    """Make the sheets, read them back, and publish those that agree with their source.

    Without FILE: every protocol, at every site that uses it. An edition is published whole or not at all; what was
    published before stays until it is replaced.

    \b
    Examples:
      docgen make
      docgen make protocols/hand-rub.yaml --site north
      docgen make --artifact poster --sheet A1
      docgen make --templates our-templates --out /srv/sheets
      docgen make --language es --language ar
      docgen make --artifact reader --language en --language es --together
      docgen make --draft
    """
    if sheet and len(artifacts) != 1:
        raise click.UsageError("--sheet needs exactly one --artifact, since each artifact has sheets of its own")
    if sheet and artifacts == ("reader",):
        raise click.UsageError("the reader is for screens: it has no --sheet")
    if examples and (files or folder):
        raise click.UsageError("--examples takes neither FILE nor --protocols")
    from docgen.build.making import Wanted
    from docgen.build.making import make as run
    from docgen.build.shelf import Asked

    if examples:
        from docgen.project import shipped

        folder = shipped("protocols")
    wanted = Wanted(Asked(files, sites), artifacts, languages, sheet, out, draft, jobs or _cores(), together)
    with _progress("making") as progress:
        outcome = run(_project(folder, files, templates), wanted, progress)
    _finish(outcome, form)


@docgen.command()
@click.argument("paths", nargs=-1, required=True, type=EXISTING, metavar="PATH...")
@click.option("--browser", is_flag=True, help="Also walk through each reader in Chromium, down every branch.")
@_folder
@_jobs
@_format
def verify(paths: tuple[Path, ...], browser: bool, folder: Path | None, jobs: int | None, form: str) -> None:
    """Open finished files as a stranger would, and compare what they say with the sources.

    PATH is a file or a folder of files.

    \b
    Examples:
      docgen verify out
      docgen verify Downloads/ip-hh-01-v1.0-north-en-poster-a2.pdf
      docgen verify --browser out
    """
    from docgen.build.verifying import verify as run

    with _progress("verifying") as progress:
        outcome = run(_project(folder, ()), paths, jobs or _cores(), progress, browser=browser)
    _finish(outcome, form)


@docgen.command()
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@_sites
@click.option("--language", metavar="TAG", default="en", help="Compare the words in this language; two releases only.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "html"]), default="text", show_default=True,
    help="How the account is printed.",
)  # fmt: skip
@_folder
def compare(old: str, new: str, sites: tuple[str, ...], language: str, form: str, folder: Path | None) -> None:
    """Say what differs between two versions of a protocol, and whether it changes what people do.

    OLD and NEW are protocol files, release files, or a file as it was at a git revision: git:REVISION:FILE.

    \b
    Examples:
      docgen compare protocols/releases/hand-rub/1.0.json protocols/hand-rub.yaml
      docgen compare git:HEAD~3:protocols/hand-rub.yaml protocols/hand-rub.yaml
      docgen compare old.json new.json --format html > change.html
    """
    from docgen.build.comparing import Wanted, compared

    account, outcome = compared(_project(folder, ()), Wanted(old, new, sites, language, form))
    click.echo(account, nl=False)
    _finish_aside(outcome)


@docgen.command()
@click.argument("files", nargs=-1, required=True, type=EXISTING, metavar="FILE...")
@click.option("--report", type=EXISTING, metavar="FILE.html", help="Also write a page with bars for each step.")
@click.option("--language", metavar="TAG", default="en", show_default=True, help="Language of the report.")
@click.option("--together", is_flag=True, help="Add up all versions of a protocol, by the ids of their steps.")
@click.option("--names", is_flag=True, help="List each session with its names and remarks; with --format json.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json", "csv"]), default="text", show_default=True,
    help="How the result is printed.",
)  # fmt: skip
@_folder
def tally(
    files: tuple[Path, ...], report: Path | None, language: str, together: bool, names: bool, form: str,
    folder: Path | None,
) -> None:  # fmt: skip
    """Count filled checklists and the records that readers saved: how each step went, by version, unit and month.

    FILE is a checklist filled in as a PDF, a record in JSON or CSV, or a folder of them. A step that was come to
    several times counts once, by its worst mark. What can't be counted is listed. Nobody is named unless asked for.

    \b
    Examples:
      docgen tally march/*.pdf tablet/*.json
      docgen tally march --report march.html
      docgen tally march april --together --format csv > spring.csv
    """
    if report and report.suffix.lower() != ".html":
        raise click.UsageError("--report writes a page: give it a name that ends in .html")
    if names and form != "json":
        raise click.UsageError("--names goes with --format json")
    from docgen.build.tallying import Wanted, tallied

    wanted = Wanted(files, form, together, names, report, language)
    with _progress("reading") as progress:
        result, outcome = tallied(_project(folder, ()), wanted, progress)
    click.echo(result, nl=False)
    _finish_aside(outcome)


@docgen.command()
@click.argument("files", nargs=-1, required=True, type=EXISTING, metavar="PROTOCOL...")
@click.option("--by", metavar="NAME", help="Who releases it.")
@click.option("--role", metavar="ROLE", help="In which capacity.")
@click.option("--on", type=_DAY, metavar="DATE", help="The day of release, such as 2026-03-31.  [default: today]")
@click.option("--reason", metavar="TEXT", help="Why it is released; kept in its history.")
@click.option("--propose", is_flag=True, help="Only make the approval record, for those who decide.")
@click.option(
    "--without", multiple=True, metavar="TAG", help="Leave out a language that was released before; may be repeated."
)
@click.option("--out", type=EXISTING, default=Path("out"), metavar="DIR", help="Where to publish.  [default: out]")
@click.option("--templates", type=EXISTING, metavar="DIR", help="Your own templates, laid over the shipped ones.")
@_folder
@_jobs
@_format
@_today
def release(
    files: tuple[Path, ...], by: str | None, role: str | None, on: datetime.datetime | None, reason: str | None,
    propose: bool, without: tuple[str, ...], out: Path, templates: Path | None, folder: Path | None, jobs: int | None,
    form: str, today: datetime.datetime | None,
) -> None:  # fmt: skip
    """Release an approved protocol at all its sites: all its sheets, and the file that states it, both or neither.

    Nothing is released with an error anywhere in it, nor without a version that has risen as far as the change goes. A
    translation that nobody has revised stays behind and is listed. The release file keeps all that is needed to
    recognise a copy later: commit it together with the protocol.

    \b
    Examples:
      docgen release protocols/hand-rub.yaml --propose
      docgen release protocols/hand-rub.yaml --by "A. Person" --role "Head" --reason "Yearly review"
    """
    from docgen.build.releasing import Asking
    from docgen.build.releasing import release as run

    signature = None if propose else _signature(by, role, on or today, reason)
    asking = Asking(files, signature, without, out, jobs or _cores())
    with _progress("releasing") as progress:
        outcome = run(_project(folder, files, templates, today), asking, progress)
    _finish(outcome, form)


@docgen.command()
@click.argument("files", nargs=-1, required=True, type=EXISTING, metavar="PROTOCOL...")
@click.option("--version", default="", metavar="VERSION", help="Which one; the newest release if left out.")
@click.option("--by", metavar="NAME", help="Who withdraws it.")
@click.option("--role", metavar="ROLE", help="In which capacity.")
@click.option("--on", type=_DAY, metavar="DATE", help="The day of withdrawal.  [default: today]")
@click.option("--reason", metavar="TEXT", help="Why it must no longer be used.")
@_folder
@_format
@_today
def withdraw(
    files: tuple[Path, ...], version: str, by: str | None, role: str | None, on: datetime.datetime | None,
    reason: str | None, folder: Path | None, form: str, today: datetime.datetime | None,
) -> None:  # fmt: skip
    """State that a released version must no longer be used. Nothing is deleted; its copies are found to be withdrawn.

    \b
    Example:
      docgen withdraw protocols/hand-rub.yaml --by "A. Person" --role "Head" --reason "Rub recalled"
    """
    from docgen.build.releasing import withdraw as run

    signature = _signature(by, role, on or today, reason)
    _finish(run(_project(folder, files, None, today), files, signature, version), form)


@docgen.command()
@click.argument("files", nargs=-1, type=EXISTING, metavar="[PROTOCOL|RELEASE]...")
@_sites
@click.option("--by", required=True, metavar="NAME", help="Who orders it; printed on the order.")
@click.option("--grey", is_flag=True, help="A greyscale proof, to see what is left without colour.")
@click.option("--out", type=EXISTING, default=Path("out"), metavar="DIR", help="Where the sheets are.  [default: out]")
@click.option("--templates", type=EXISTING, metavar="DIR", help="Your own templates, laid over the shipped ones.")
@_folder
@_format
@_today
def pack(
    files: tuple[Path, ...], sites: tuple[str, ...], by: str, grey: bool, out: Path, templates: Path | None,
    folder: Path | None, form: str, today: datetime.datetime | None,
) -> None:  # fmt: skip
    """Make files for the printer: every copy that must go up, one file for each size of paper, with an order on top.

    The released sheets are printed as they are; one that was changed since is refused. Cards are laid on paper with
    crop and register marks. Print each file once, and the copies come out in walking order.

    \b
    Examples:
      docgen pack --site north --by "A. Person"
      docgen pack protocols/releases/hand-rub/1.1.json --by "A. Person" --grey
    """
    from docgen.build.packing import Ordering
    from docgen.build.packing import pack as run
    from docgen.build.posting import Asking

    _finish(
        run(_project(folder, (), templates, today), Ordering(Asking(files, sites), " ".join(by.split()), grey, out)),
        form,
    )


@docgen.group(context_settings=CONTEXT)
def postings() -> None:
    """Look after printed copies: what must hang where, what to print and take down, what was done.

    A site file lists the places under `postings`. What people say they have done goes, a line each, into a record
    beside it, protocols/sites/SITE.copies.csv: commit it together with the releases.

    \b
    Examples:
      docgen postings plan --site north      what to print, take down and put up
      docgen postings done --site north --by "A. Person" north-door
      docgen postings status --site north    every place: what hangs there, and does it hold?
    """


_release_files = click.argument("files", nargs=-1, type=EXISTING, metavar="[PROTOCOL|RELEASE]...")
_one_site = click.option("--site", required=True, metavar="NAME", help="The site.")
_listed = click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True,
    help="How the list is printed.",
)  # fmt: skip
_csv = click.option("--csv", "csv", is_flag=True, help="Print a list for a spreadsheet.")


def _listing(command: Callable[..., None]) -> Callable[..., None]:
    """What the commands that print a list of postings have in common."""
    for option in (_today, _csv, _listed, _folder, _sites, _release_files):
        command = option(command)
    return command


@postings.command()
@_listing
def plan(
    files: tuple[Path, ...], sites: tuple[str, ...], folder: Path | None, form: str, csv: bool,
    today: datetime.datetime | None,
) -> None:  # fmt: skip
    """Say what to print, take down and put up, in walking order, and who has not confirmed it.

    Without a protocol or release: for the newest release of every protocol.

    \b
    Examples:
      docgen postings plan --site north
      docgen postings plan protocols/releases/hand-rub/1.1.json
      docgen postings plan --site north --csv > round.csv
    """
    from docgen.build.posting import Asking, planned

    account, outcome = planned(_project(folder, (), None, today), Asking(files, sites, "csv" if csv else form))
    click.echo(account, nl=False)
    _finish_aside(outcome)


@postings.command(name="round")
@_release_files
@_sites
@click.option("--audit", is_flag=True, help="Every place, with what must hang there today.")
@click.option("--out", type=EXISTING, default=Path("out"), metavar="DIR", help="Where to write it.  [default: out]")
@click.option("--templates", type=EXISTING, metavar="DIR", help="Your own templates, laid over the shipped ones.")
@_folder
@_format
@_today
def round_sheet(
    files: tuple[Path, ...], sites: tuple[str, ...], audit: bool, out: Path, templates: Path | None,
    folder: Path | None, form: str, today: datetime.datetime | None,
) -> None:  # fmt: skip
    """Make a round sheet: in walking order, what comes down, what goes up, and the code that must be found there.

    \b
    Examples:
      docgen postings round --site north
      docgen postings round --site north --audit
    """
    from docgen.build.posting import Asking
    from docgen.build.rounds import AUDIT, WORK
    from docgen.build.rounds import round_sheets as run

    kind = AUDIT if audit else WORK
    _finish(run(_project(folder, (), templates, today), Asking(files, sites), out, kind), form)


@postings.command(name="status")
@_listing
def posted(
    files: tuple[Path, ...], sites: tuple[str, ...], folder: Path | None, form: str, csv: bool,
    today: datetime.datetime | None,
) -> None:  # fmt: skip
    """List every place, what hangs there by the record, and whether it holds today.

    Exit status 1 if anything hangs that people must not follow.

    \b
    Examples:
      docgen postings status
      docgen postings status --site north --csv > audit.csv
    """
    from docgen.build.posting import Asking, audited

    account, outcome = audited(_project(folder, (), None, today), Asking(files, sites, "csv" if csv else form))
    click.echo(account, nl=False)
    _finish_aside(outcome)


@postings.command()
@click.argument("names", nargs=-1, metavar="[POSTING]...")
@_one_site
@click.option("--by", metavar="NAME", default="", help="Who did it.")
@click.option("--on", type=_DAY, metavar="DATE", help="The day it was done.  [default: today]")
@click.option("--all", "all_", is_flag=True, help="Everything that is left to do at this site.")
@click.option("--from", "file", type=EXISTING, metavar="CSV", help="The rows marked in a list of `plan --csv`.")
@click.option("--language", default="", metavar="TAG", help="Only the copies in this language.")
@click.option("--up", "what", flag_value="up", help="Only what was put up.")
@click.option("--down", "what", flag_value="down", help="Only what was taken down.")
@click.option("--version", default="", metavar="VERSION", help="Say that this version is there, planned or not.")
@click.option("--copies", type=click.IntRange(0, 10000), metavar="N", help="So many are there now; 0 for none.")
@click.option("--note", default="", metavar="TEXT", help="Anything worth keeping.")
@click.option("--release", "files", multiple=True, type=EXISTING, metavar="FILE",
              help="Protocol or release that it is about; the newest of each if left out.")  # fmt: skip
@_folder
@_format
@_today
def done(
    names: tuple[str, ...], site: str, by: str, on: datetime.datetime | None, all_: bool, file: Path | None,
    language: str, what: str | None, version: str, copies: int | None, note: str, files: tuple[Path, ...],
    folder: Path | None, form: str, today: datetime.datetime | None,
) -> None:  # fmt: skip
    """Record that copies were put up and old ones taken down, with name and date.

    For each POSTING: all that `plan` asks for there. Whatever can't be recorded is said, with the reason.

    \b
    Examples:
      docgen postings done --site north --by "A. Person" north-door cart
      docgen postings done --site north --by "A. Person" --all
      docgen postings done --site north --from round.csv
      docgen postings done --site north --by "A. Person" --version 1.0 --copies 2 cart
    """
    if (len(names) > 0) + all_ + (file is not None) != 1:
        raise click.UsageError("name the postings, or give --all, or --from a list")
    if (language or what or version or copies is not None) and not names:
        raise click.UsageError("--language, --up, --down, --version and --copies go with named postings")
    if not (by.strip() or file):
        raise click.UsageError("give --by: whoever did it is named in the record")
    from docgen.build.posting import Done, Mark, Told
    from docgen.build.posting import done as run

    project = _project(folder, (), None, today)
    told = Told(" ".join(by.split()), on.date() if on else project.today(), project.today(), " ".join(note.split()))
    marks = tuple(Mark(name, language, what or "", version, copies) for name in names)
    _finish(run(project, Done(site, told, marks, all_, file, files)), form)


@docgen.command()
@click.argument("files", nargs=-1, required=True, type=EXISTING, metavar="FILE...")
@click.option("--templates", type=EXISTING, metavar="DIR", help="Your own templates, if sheets were made with them.")
@_folder
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True,
    help="How it is printed.",
)  # fmt: skip
@_today
def identify(
    files: tuple[Path, ...], templates: Path | None, folder: Path | None, form: str, today: datetime.datetime | None
) -> None:
    """Say what a found sheet is, and whether it still holds.

    FILE is a PDF, a scan or a photograph of one or more sheets (PNG, JPEG, TIFF). It is looked up in the releases below
    the folder of the protocols; nothing else is asked. What can't be found there is not to be used.

    Exit status: 0 all of it holds and is as it was released, 1 anything else was found, 2 a file can't be used.

    \b
    Examples:
      docgen identify door.jpg
      docgen identify scans/*.pdf --format json
    """
    from docgen import report
    from docgen.build.identifying import identified

    with _progress("identifying") as progress:
        found = identified(_project(folder, (), templates, today), files, progress)
    findings = (*found.findings, *(f for file in found.files for f in file.findings))
    if form == "json":
        click.echo(found.data(), nl=False)
    else:
        for line in found.lines():
            click.echo(report.visible(line))
    click.echo(report.text(findings, _paint), nl=False, err=form == "json")
    sys.exit(found.status)


@docgen.command()
@click.argument("file")
@click.option("--site", default="", metavar="NAME", help="Of this site; the first if left out.")
@_folder
def canonical(file: str, site: str, folder: Path | None) -> None:
    """Print the bytes that make a fingerprint: its characters are the first 50 bits of their SHA-256 in base 32.

    FILE is a protocol, a release, or git:REVISION:FILE.

    \b
    Example:
      docgen canonical protocols/releases/hand-rub/1.0.json --site north | sha256sum
    """
    from docgen.build.comparing import canonical as run

    identity, outcome = run(_project(folder, ()), file, site)
    sys.stdout.buffer.write(identity)
    _finish_aside(outcome)


@docgen.command()
@click.argument("kind", type=click.Choice(["protocol", "site"]), default="protocol")
@click.option("--write", is_flag=True, help="Refresh protocols/schema/*.json instead of printing.")
@_folder
def schema(kind: str, write: bool, folder: Path | None) -> None:
    """Print the JSON Schema of protocol or site files, which editors use for completion.

    \b
    Examples:
      docgen schema site
      docgen schema --write
    """
    from docgen.build.starting import schema_text, write_schemas

    if write:
        _finish(write_schemas(folder or Path("protocols")), summary=False)
    else:
        click.echo(schema_text(kind), nl=False)


@docgen.command()
@click.argument("name")
@click.option("--site", is_flag=True, help="A site instead: protocols/sites/NAME.yaml, for the protocols there are.")
@_folder
def new(name: str, site: bool, folder: Path | None) -> None:
    """Write protocols/NAME.yaml, a commented protocol to begin with. Nothing is ever overwritten.

    \b
    Examples:
      docgen new apron-change
      docgen new --site ward-7
    """
    from docgen.build.starting import start, start_site

    _finish(start_site(name, _project(folder, ())) if site else start(name, folder or Path("protocols")), summary=False)


@docgen.group(context_settings=CONTEXT)
def words() -> None:
    """Look after translations: gettext catalogues under locales/LANGUAGE/.

    \b
    Examples:
      docgen words update --language es    begin Spanish, or bring it up to the present sources
      docgen words update protocols/hand-rub.yaml --language vi
      docgen words status                  what is translated, outdated, missing, by whom
      docgen words check --language es     compare translations with their sources
      docgen words sheet es es.xlsx        a spreadsheet for a translator
    """


_templates = click.option(
    "--templates", type=EXISTING, metavar="DIR", help="Your own templates; their words count too."
)


@words.command()
@click.argument("files", nargs=-1, type=EXISTING, metavar="[FILE]...")
@_languages
@_folder
@_templates
@_format
def update(
    files: tuple[Path, ...], languages: tuple[str, ...], folder: Path | None, templates: Path | None, form: str
) -> None:
    """Bring the catalogues up to the present protocols, sites and templates.

    No translation is lost: one whose source words have changed is marked `fuzzy` and keeps the words it was made from;
    one whose source is gone is kept at the end of its file. A language is begun by naming it; for a language that is
    there, a protocol is begun by naming its FILE.

    \b
    Examples:
      docgen words update
      docgen words update protocols/hand-rub.yaml --language es --language vi
    """
    from docgen.build.words import Which
    from docgen.build.words import update as run

    _finish(run(_project(folder, files, templates), Which(files, languages)), form)


@words.command()
@click.argument("files", nargs=-1, type=EXISTING, metavar="[FILE]...")
@_languages
@_folder
@_templates
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
def status(
    files: tuple[Path, ...], languages: tuple[str, ...], folder: Path | None, templates: Path | None, form: str
) -> None:
    """Show how far each catalogue has come, and who translated and revised it, when.

    In brackets: how many of the outdated or missing texts belong to cautions, holds or signal words.

    \b
    Examples:
      docgen words status --language es
      docgen words status --format json
    """
    from dataclasses import asdict
    from json import dumps

    from docgen.build.words import Which
    from docgen.build.words import status as run

    outcome, rows = run(_project(folder, files, templates), Which(files, languages))
    if form == "json":
        click.echo(dumps([asdict(row) for row in rows], ensure_ascii=False, indent=1))
        sys.exit(outcome.status)
    _finish(outcome, summary=False)


@words.command(name="check")
@click.argument("files", nargs=-1, type=EXISTING, metavar="[FILE]...")
@_languages
@_folder
@_templates
@_format
def check_words(
    files: tuple[Path, ...], languages: tuple[str, ...], folder: Path | None, templates: Path | None, form: str
) -> None:
    """Compare translations with their sources: numbers, units, slots, negations, terms, signal words, people.

    \b
    Examples:
      docgen words check
      docgen words check --language ar protocols/hand-rub.yaml
    """
    from docgen.build.words import Which
    from docgen.build.words import check as run

    _finish(run(_project(folder, files, templates), Which(files, languages)), form)


@words.command()
@click.argument("language", required=False)
@click.argument("out", type=EXISTING, required=False)
@click.argument("files", nargs=-1, type=EXISTING, metavar="[FILE]...")
@click.option("--read", "back", type=EXISTING, metavar="XLSX", help="Read a sheet back into the catalogues.")
@_folder
@_templates
@_format
def sheet(
    language: str | None, out: Path | None, files: tuple[Path, ...], back: Path | None, folder: Path | None,
    templates: Path | None, form: str,
) -> None:  # fmt: skip
    """Write the texts of LANGUAGE to the spreadsheet OUT for a translator, or read one back.

    FILE: only these protocols, with what all of them share. Whatever of a sheet is not taken is said, row by row.

    \b
    Examples:
      docgen words sheet es spanish.xlsx
      docgen words sheet es hand-rub-es.xlsx protocols/hand-rub.yaml
      docgen words sheet --read spanish.xlsx
    """
    from docgen.build.words import Which, sheet_back
    from docgen.build.words import sheet as run

    if bool(back) == bool(language and out):
        raise click.UsageError("give LANGUAGE and OUT to write a sheet, or --read to read one back")
    if back:
        _finish(sheet_back(_project(folder, ()), back), form)
    assert language and out
    _finish(run(_project(folder, files, templates), Which(files, (language,)), out), form)


def _signature(by: str | None, role: str | None, on: datetime.datetime | None, reason: str | None) -> Signature:
    """Who decides it; every part but the day must be given."""
    from docgen.build.releasing import signed

    given = {"--by": by, "--role": role, "--reason": reason}
    if lacking := [name for name, value in given.items() if not (value and value.strip())]:
        raise click.UsageError(f"give {', '.join(lacking)}: a decision has a name, a role and a reason")
    assert by and role and reason
    return signed(by, role, reason, on.date() if on else datetime.date.today())


# --- between the arguments and the corridor ---------------------------------------------------------------------


def _project(
    folder: Path | None,
    files: tuple[Path, ...],
    templates: Path | None = None,
    today: datetime.datetime | None = None,
) -> Project:
    """The project of the files given, which must lie in one folder."""
    from docgen.project import Project

    homes = dict.fromkeys(f.parent.parent if f.parent.name == "sites" else f.parent for f in files)
    if folder:
        homes = dict.fromkeys((folder, *homes))
    if len(homes) > 1:
        raise click.UsageError("the files given lie in different folders; check one folder at a time")
    return Project(next(iter(homes), Path("protocols")), templates, today.date() if today else None)


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _progress(doing: str) -> Iterator[Callable[[int, int, str], None]]:
    """A progress bar on a terminal; nothing when piped."""
    if not sys.stderr.isatty():
        yield lambda _done, _all, _what: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn(doing), BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}"))
    # No refreshing thread: worker processes are forked while this is open.
    with Progress(*columns, console=Console(stderr=True), transient=True, auto_refresh=False) as bar:
        task = bar.add_task("", total=None)

        def progress(done: int, all_: int, what: str) -> None:
            bar.update(task, completed=done, total=all_, description=what, refresh=True)

        yield progress


def _finish(outcome: Outcome, form: str = "text", summary: bool = True) -> NoReturn:
    """Print what a run has to say, and end with its status."""
    from docgen import report

    if form == "json":
        click.echo(report.json(outcome.findings), nl=False)
    elif form == "sarif":
        from docgen.build.checking import rules

        click.echo(report.sarif(outcome.findings, __version__, rules()), nl=False)
    else:
        click.echo(report.text(outcome.findings, _paint), nl=False)
        for line in outcome.lines:
            click.echo(line)
        if summary or outcome.findings:
            click.echo(report.summary(outcome.findings))
    sys.exit(outcome.status)


def _finish_aside(outcome: Outcome) -> NoReturn:
    """End with the status of a run whose result went to the standard output; findings go beside it."""
    from docgen import report

    click.echo(report.text(outcome.findings, _paint), nl=False, err=True)
    for line in outcome.lines:
        click.echo(line, err=True)
    if outcome.findings:
        click.echo(report.summary(outcome.findings), err=True)
    sys.exit(outcome.status)


_COLOURS: dict[str, dict[str, Any]] = {
    "error": {"fg": "red", "bold": True},
    "warning": {"fg": "yellow", "bold": True},
    "advice": {"fg": "cyan", "bold": True},
    "quiet": {"dim": True},
}


def _paint(words: str, kind: str) -> str:
    return click.style(words, **_COLOURS[kind])


def main() -> None:
    """The program: every way of ending has its exit status, and none shows a traceback unasked."""
    from docgen.build.outcome import Exit

    try:
        docgen.main(prog_name="docgen", standalone_mode=False)
    except click.ClickException as problem:
        problem.show()
        sys.exit(Exit.UNUSABLE)
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted; what was published before is untouched", err=True)
        sys.exit(Exit.INTERRUPTED)
    except BrokenPipeError:  # whoever read our output has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(Exit.CLEAN)
    except Exception as fault:
        click.echo(f"this is a bug in docgen: {type(fault).__name__}: {fault}", err=True)
        if os.environ.get("DOCGEN_TRACEBACK"):
            import traceback

            traceback.print_exc()
        else:
            click.echo("set DOCGEN_TRACEBACK=1 to see where, and report it with the files that show it", err=True)
        sys.exit(Exit.BUG)
