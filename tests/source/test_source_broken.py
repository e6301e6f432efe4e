"""Broken sources and what is said about them, word for word.

Each file under `broken/` ends with the findings it must give, one `#> ` line each (and one for its hint). They are cut
off before the file is read. `pytest tests/source --update-goldens` writes them anew; read the difference before you
commit it. Files that start with `site-` are sites of the protocol in `good-protocol.yaml`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from docgen.findings import Finding, Severity
from docgen.model.read import Read
from docgen.source import check_references, check_site, read_protocol, read_site

HERE = Path(__file__).parent / "broken"
FILES = sorted(HERE.glob("*.yaml"))
GOOD = read_protocol((HERE / "good-protocol.yaml").read_bytes().partition(b"#> ")[0], "good-protocol.yaml")
SITE = read_site("site: kestrel-west\nname: Kestrel Bay Hospital, West\nprotocols: {door-handle: {}}\n", "site.yaml")


def findings(name: str, source: bytes) -> tuple[Finding, ...]:
    if name.startswith("site-"):
        site = read_site(source, name)
        return site.findings + check_site(site, {"door-handle": GOOD}) + check_references(GOOD, [site])
    protocol = read_protocol(source, name)
    return protocol.findings + check_references(protocol, [SITE], ["door-handle"])


def shown(found: tuple[Finding, ...]) -> list[str]:
    lines = []
    for each in found:
        other = f"{each.where.file} " if each.where.file == "good-protocol.yaml" else ""
        mild = "" if each.severity is Severity.ERROR else f" ({each.severity})"
        lines.append(f"#> {other}{each.where.line}:{each.where.column} {each.rule}{mild}: {each.message}")
        if each.hint:
            lines.append(f"#>     {each.hint}")
    return lines


def test_the_good_protocol_is_good() -> None:
    """What every broken file was made from is clean, so that each finding is due to what was broken."""
    assert GOOD.findings + check_references(GOOD, [SITE], ["door-handle"]) == ()
    assert len(FILES) > 25


@pytest.mark.parametrize("path", [p for p in FILES if p != HERE / "good-protocol.yaml"], ids=lambda p: p.stem)
def test_a_broken_source_says_all_that_is_wrong_with_it(path: Path, update_goldens: bool) -> None:
    """Every problem at once, each with line, column, rule, message and hint; never a traceback."""
    whole = path.read_bytes()
    source, mark, expected = whole.partition(b"#> ")
    said = shown(findings(path.name, source))
    if update_goldens:
        path.write_bytes(source + "".join(line + "\n" for line in said).encode())
        pytest.skip("expected findings written")
    assert said
    assert said == (mark + expected).decode().splitlines()


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_findings_keep_to_the_grammar(path: Path) -> None:
    """Lower-case start, no full stop, a hint, a place and the line it is about: what a reader needs to mend it."""
    source = path.read_bytes().partition(b"#> ")[0]
    rows = source.decode("utf-8", "replace").split("\n")
    for each in findings(path.name, source):
        assert each.rule.startswith("source/")
        assert each.message[0] in "`*" or each.message[0] == each.message[0].lower()
        assert not each.message.endswith(".")
        assert not each.hint.endswith(".")
        assert each.hint, each
        if each.rule != "source/empty" and each.where.file == path.name:
            row = rows[each.where.line - 1]
            assert len(each.where.excerpt) == len(row)
            assert 1 <= each.where.column <= len(row) + 1


def test_the_value_is_withheld_when_a_source_has_errors() -> None:
    """Nobody builds sheets from half a protocol."""
    broken: Read = read_protocol((HERE / "model-misspelt-keys.yaml").read_bytes(), "x.yaml")
    assert broken.value is None
