"""Read a page's logical structure: which element says what, in the order a screen reader would take."""

from __future__ import annotations

import ctypes

import pypdfium2.raw as raw

from docgen.readback.copy import Element
from docgen.readback.opening import OpenPage

MAX_DEPTH = 40
MAX_ELEMENTS = 20_000
_ROOM = 2048
_BUFFER = ctypes.create_string_buffer(_ROOM)
"""Scratch memory, kept for the process: making it costs more than the call."""


def elements_of(page: OpenPage) -> tuple[Element, ...]:
    """The elements with content on this page, parents before children."""
    tree = raw.FPDF_StructTree_GetForPage(page.raw)
    if not tree:
        return ()
    out: list[Element | None] = []
    try:
        for n in range(raw.FPDF_StructTree_CountChildren(tree)):
            _walk(raw.FPDF_StructTree_GetChildAtIndex(tree, n), out, (n,))
    finally:
        raw.FPDF_StructTree_Close(tree)
    return tuple(e for e in out if e is not None)


def _walk(element, out: list[Element | None], at: tuple[int, ...]) -> tuple[int, ...]:
    """Add an element and what is below it; the marked content of all of it.

    Children without content on this page count too, so that places can be compared from page to page.
    """
    if not element or len(at) > MAX_DEPTH or len(out) >= MAX_ELEMENTS:
        return ()
    place = len(out)
    out.append(None)
    own: list[int] = []
    every: list[int] = []
    for n in range(max(0, raw.FPDF_StructElement_CountChildren(element))):
        mcid = raw.FPDF_StructElement_GetChildMarkedContentID(element, n)
        if mcid >= 0:
            own.append(mcid)
            every.append(mcid)
        else:
            every += _walk(raw.FPDF_StructElement_GetChildAtIndex(element, n), out, (*at, n))
    out[place] = Element(
        _text(raw.FPDF_StructElement_GetType, element),
        _text(raw.FPDF_StructElement_GetActualText, element),
        _text(raw.FPDF_StructElement_GetLang, element),
        _text(raw.FPDF_StructElement_GetAltText, element),
        tuple(every),
        tuple(own),
        at,
    )
    return tuple(every)


def _text(get, element) -> str:
    length = get(element, _BUFFER, _ROOM)
    if length <= 2:
        return ""
    if length <= _ROOM:
        return ctypes.string_at(_BUFFER, length - 2).decode("utf-16-le", "replace")
    longer = ctypes.create_string_buffer(length)
    get(element, longer, length)
    return longer.raw[: length - 2].decode("utf-16-le", "replace")
