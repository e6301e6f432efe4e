"""Turn the layout files among the templates into layouts."""

from __future__ import annotations

from collections.abc import Mapping

from docgen.findings import Finding, Where, error
from docgen.model.edition import ARTIFACTS
from docgen.model.layout import House, Layout

LOOK = "house/look.yaml"
APPROVAL = "approval"
"""The approval record, which is made of a version and not of an edition."""
ROUND, PACK = "round", "pack"
"""The sheet for a walk from posting to posting, and the order on top of a print pack: made of a site."""
OFFICE = (APPROVAL, ROUND, PACK)
"""What is for those who approve, print and walk round: in the language protocols are written in, on office paper."""


def layouts(templates: Mapping[str, str]) -> tuple[Mapping[str, Layout], House | None, tuple[Finding, ...]]:
    """Artifact → layout, and what all share. Every artifact has one, or there is a finding."""
    from docgen.source import read

    findings: list[Finding] = []

    def load(shape, name: str):
        if name not in templates:
            findings.append(
                error(
                    "build/no-layout", "this file is missing", Where(f"templates/{name}"), hint="copy the shipped one"
                )
            )
            return None
        got = read(shape, templates[name], f"templates/{name}")
        findings.extend(got.findings)
        return got.value

    house = load(House, LOOK)
    drawn = {artifact: load(Layout, f"{artifact}/sheet.yaml") for artifact in (*ARTIFACTS, *OFFICE)}
    return {artifact: layout for artifact, layout in drawn.items() if layout}, house, tuple(findings)
