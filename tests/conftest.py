"""What every test may use."""

from __future__ import annotations

import os
import shutil

import pytest


def tool(name: str) -> str:
    """Path of an outside program; a missing one skips the test on a user's machine and fails it in CI."""
    path = shutil.which(name)
    if path is None:
        message = f"{name} is not installed"
        if os.environ.get("CI"):
            pytest.fail(f"{message}, but continuous integration must have it")
        pytest.skip(message)
    return path
