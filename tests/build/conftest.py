"""Every test of the corridor works in a folder of its own."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from workshop import Workshop


@pytest.fixture
def workshop(tmp_path, monkeypatch):
    """A folder with an empty project, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    return Workshop(tmp_path)
