"""Have cycles of objects looked for seldom, while editions are read and sheets are made."""

from __future__ import annotations

import gc

ALLOCATED = 100_000
"""Objects made since the last search, and not freed, before young ones are searched."""
AGED = 20
"""Searches of the young before older ones are searched."""


def search_seldom() -> None:
    """For the whole process. What is made here is trees, which are freed without a search; looking through all that is
    kept (fonts, words, drawings) time and again takes a third of the time (measured)."""
    gc.set_threshold(ALLOCATED, AGED, AGED)
