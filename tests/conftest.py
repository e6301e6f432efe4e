"""What every test may use."""

from __future__ import annotations

import importlib
import os
import shutil
from typing import Any

import pytest


def tool(name: str) -> str:
    """Path of an outside program; a missing one skips the test on a user's machine and fails it in CI."""
    path = shutil.which(name)
    return path if path is not None else _missing(name)


def module(name: str) -> Any:
    """An outside library that is not needed for anything but checking; a missing one as a missing program."""
    try:
        return importlib.import_module(name)
    except ImportError:
        return _missing(name)


def _missing(name: str) -> Any:
    message = f"{name} is not installed"
    if os.environ.get("CI"):
        pytest.fail(f"{message}, but continuous integration must have it")
    pytest.skip(message)


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--update-goldens` writes what the code says now into the files of expected results, to be read in the diff."""
    parser.addoption("--update-goldens", action="store_true", help="write expected results anew")


@pytest.fixture
def update_goldens(request: pytest.FixtureRequest) -> bool:
    """Whether expected results are to be written instead of compared."""
    return bool(request.config.getoption("--update-goldens"))
