"""Turn all releases of a protocol into what holds on a day, and into what is wrong with the source beside them."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from docgen.findings import Finding, Where, advice, error, warning
from docgen.model.change import Change, Degree
from docgen.model.edition import Edition
from docgen.model.release import Release, Withdrawal
from docgen.release.account import HOW, title
from docgen.release.version import least, number, rises_enough

SOON = 60
"""Days before a review is due from which on it is announced."""
SHOWN = 3
"""Parts that a finding names."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What a released version is worth on a day."""

    state: str
    """`current`, `scheduled` (released, not yet in force), `superseded` or `withdrawn`."""
    since: datetime.date
    """The day from which on it is so."""
    by: str = ""
    """The highest version in force above it, or what holds instead of a withdrawn one; empty for none."""
    reason: str = ""
    """Of a withdrawal."""


@dataclass(frozen=True, slots=True)
class History:
    """Every release of one protocol that could be read, oldest first, and every withdrawal."""

    protocol: str
    releases: tuple[Release, ...] = ()
    withdrawals: tuple[Withdrawal, ...] = ()
    files: Mapping[str, str] | None = None
    """Version → its file, as findings show it."""
    digests: Mapping[str, str] | None = None
    """Version → SHA-256 of its file."""

    def get(self, version: str) -> Release | None:
        """The release of that version."""
        return next((r for r in self.releases if r.version == version), None)

    def before(self, version: str) -> Release | None:
        """The newest release with a lower version: what a new version replaces."""
        lower = [r for r in self.releases if number(r.version) < number(version)]
        return max(lower, key=_version, default=None)

    @property
    def newest(self) -> Release | None:
        """The release with the highest version."""
        return max(self.releases, key=_version, default=None)

    def withdrawal(self, version: str) -> Withdrawal | None:
        """How a version was withdrawn."""
        return next((w for w in self.withdrawals if w.version == version), None)

    def current(self, today: datetime.date) -> Release | None:
        """What holds on a day: the highest version in force. If that was withdrawn, none: an older one does not come
        back by itself, since its copies were taken down."""
        in_force = [r for r in self.releases if r.effective <= today]
        highest = max(in_force, key=_version, default=None)
        return None if highest is None or self._gone(highest.version, today) else highest

    def standing(self, version: str, today: datetime.date) -> Standing | None:
        """What a version is worth on a day; None if it was never released."""
        release = self.get(version)
        if release is None:
            return None
        current = self.current(today)
        if self._gone(version, today):
            gone = self.withdrawal(version)
            assert gone
            return Standing("withdrawn", gone.withdrawn.on, current.version if current else "", gone.withdrawn.reason)
        if release.effective > today:
            return Standing("scheduled", release.effective)
        later = [r for r in self.releases if number(r.version) > number(version) and r.effective <= today]
        if later:
            return Standing("superseded", min(r.effective for r in later), max(later, key=_version).version)
        return Standing("current", release.effective)

    def _gone(self, version: str, today: datetime.date) -> bool:
        gone = self.withdrawal(version)
        return gone is not None and gone.withdrawn.on <= today

    def file(self, version: str) -> str:
        """The file of a version, for findings."""
        return (self.files or {}).get(version, "")


def _version(release: Release) -> tuple[int, int]:
    return number(release.version)


# --- the source beside its releases -----------------------------------------------------------------------------


def check_version(history: History, version: str, status: str, at: Where) -> Iterator[Finding]:
    """Findings about the version that a source has, beside what was released before. `at`: its place there."""
    newest = history.newest
    gone = history.withdrawal(version)
    if gone:
        yield error(
            "release/withdrawn", f"version {version} was withdrawn on {gone.withdrawn.on}: {gone.withdrawn.reason}", at,
            hint=f"raise the version to {least(version, Degree.WORDING)} or higher, and release it",
        )  # fmt: skip
    elif newest and number(version) < number(newest.version):
        yield error(
            "release/version-went-back", f"version {newest.version} is released, and this is {version}", at,
            hint=f"raise the version to {least(newest.version, Degree.WORDING)} or higher",
        )  # fmt: skip
    elif status == "released" and not history.get(version):
        yield warning(
            "release/not-released", f"the status is `released`, and there is no release of version {version}", at,
            hint="write `status: approved`, and release it with `docgen release`",
        )  # fmt: skip


def check_change(change: Change, released: bool, at: Where) -> Iterator[Finding]:
    """Findings about an edition beside the release that it follows, or that has the same version (`released`)."""
    before, after = change.before, change.after
    if released:
        if before.fingerprint != after.fingerprint:
            yield error(
                "release/altered",
                f"version {after.version} is released for `{after.site}` as `{before.fingerprint}`, and the source now "
                f"says something else: {_summary(change)}",
                at, site=after.site,
                hint=f"raise the version to {least(before.version, change.degree)} or higher, or undo the edit",
            )  # fmt: skip
    elif not rises_enough(before.version, after.version, change.degree):
        yield error(
            "release/version-step",
            f"the sequence differs from version {before.version}: {_summary(change, Degree.SEQUENCE)}",
            at, site=after.site, hint=f"raise the version to {least(before.version, change.degree)} or higher",
        )  # fmt: skip


def _summary(change: Change, least_degree: Degree = Degree.WORDING) -> str:
    parts = [f"{HOW[p.how]}: {title(p)}" for p in change.parts if p.degree >= least_degree]
    more = f" and {len(parts) - SHOWN} more" if len(parts) > SHOWN else ""
    return "; ".join(parts[:SHOWN]) + more or "its account of the changes, or a part that nobody sees"


def check_dates(history: History, today: datetime.date) -> Iterator[Finding]:
    """Findings about what holds today and what is to come."""
    current = history.current(today)
    if current:
        left = (current.review - today).days
        where, hint = Where(history.file(current.version)), "review it, and release a version with a new review date"
        if left < 0:
            message = f"version {current.version} was to be reviewed by {current.review}"
            yield warning("release/review-overdue", message, where, hint=hint)
        elif left <= SOON:
            message = f"version {current.version} is to be reviewed by {current.review}, in {left} days"
            yield warning("release/review-due", message, where, hint=hint)
    for release in history.releases:
        standing = history.standing(release.version, today)
        if standing and standing.state == "scheduled":
            still = f"; until then {current.version} holds" if current else ""
            message = f"version {release.version} holds from {release.effective}{still}"
            yield advice("release/scheduled", message, Where(history.file(release.version)),
                         hint="put its sheets up on that day, not before")  # fmt: skip


def check_chain(history: History) -> Iterator[Finding]:
    """Findings about releases that name another file before them than there is."""
    for release in history.releases:
        before, digests = release.replaces, history.digests or {}
        if before and before.version not in digests:
            message = f"the release {before.version}, which this one replaced, is not there"
            yield warning("release/chain-broken", message, Where(history.file(release.version)),
                          hint="take it from version control: old copies are recognised by it")  # fmt: skip
        elif before and digests[before.version] != before.sha256:
            message = f"the file of release {before.version} is not the one that release {release.version} replaced"
            yield error("release/chain-broken", message, Where(history.file(before.version)),
                        hint="take the file from version control as it was written")  # fmt: skip


def previous_edition(history: History, edition: Edition) -> str:
    """The version whose sheets an edition replaces at its site; empty for a first one."""
    before = history.before(edition.version)
    return before.version if before and before.at(edition.site) else ""
