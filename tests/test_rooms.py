"""Each room imports only what the map in DEVELOPERS.md allows, and only two of them touch files."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "docgen"
BASE = {"model", "findings"}
MAY_IMPORT: dict[str, tuple[set[str], set[str]]] = {
    # room: (rooms of docgen besides itself, third-party packages)
    "__init__": (set(), set()),
    "findings": (set(), set()),
    "model": ({"findings"}, {"pydantic", "pydantic_core"}),
    "project": ({"findings"}, set()),
    "publish": (BASE, set()),
    "report": (BASE, set()),
    "source": (BASE, {"yaml", "markdown_it", "pydantic", "pydantic_core", "babel"}),
    "edition": (BASE, set()),
    "language": (BASE, {"babel", "jinja2", "openpyxl"}),
    "analysis": (BASE, set()),
    "figure": (BASE, set()),
    "compose": (BASE, {"jinja2", "markdown_it"}),
    "typeset": (BASE, {"uharfbuzz", "icu4py", "fontTools", "numpy", "segno"}),
    "artifacts": (BASE, {"fontTools", "pikepdf", "reportlab", "uharfbuzz"}),
    "release": (BASE, {"jinja2", "pydantic"}),
    "readback": (BASE, {"pypdfium2", "zxingcpp", "numpy"}),
    "tally": (BASE, {"pypdfium2"}),
    "recognise": (BASE, {"pypdfium2", "zxingcpp", "numpy", "PIL"}),
}
MAY_IMPORT["browser"] = (set(), set())
MAY_IMPORT["apart"] = (set(), set())
ROOMS = set(MAY_IMPORT) - {"__init__"}
MAY_IMPORT["build"] = (ROOMS | {"__version__"}, set())
MAY_IMPORT["cli"] = ({"build", "project", "report", "findings", "__version__"}, {"click", "rich"})
MAY_IMPORT["__main__"] = ({"cli"}, set())

WORLD = {
    "codecs", "fileinput", "glob", "http", "importlib", "io", "locale", "mmap", "multiprocessing", "os", "pathlib",
    "random", "secrets", "shutil", "socket", "subprocess", "tempfile", "time", "urllib",
}  # fmt: skip
"""Modules of the standard library through which a program meets files, the network, the clock or chance."""
MAY_MEET: dict[str, set[str]] = {
    "project": {"os", "pathlib", "importlib", "subprocess"},
    "publish": {"os", "pathlib", "shutil", "tempfile"},
    "build": {"pathlib", "multiprocessing"},  # names paths for the other two and starts processes
    "cli": {"os", "pathlib"},  # reads arguments and environment
    "report": {"urllib.parse"},  # quotes a path as a URI
    "readback": {"io"},
    "artifacts": {"io"},  # fonts in memory
    "recognise": {"io", "shutil", "subprocess"},  # pictures in memory; starts a reader of text if there is one
    "apart": {"multiprocessing", "os"},  # opens strangers' files in a process with limits
    "browser": {"os", "shutil", "tempfile", "time"},  # finds a browser, starts it with a folder of its own, and waits
    "language": {"io"},  # spreadsheets in memory
    "release": {"io"},  # lists in memory
    "tally": {"io"},  # tables in memory
}
TOUCH_FILES = {"project", "publish"}
ON_PATHS = {
    "read_text", "read_bytes", "write_text", "write_bytes", "unlink", "mkdir", "rmdir", "iterdir", "glob", "rglob",
    "hardlink_to", "symlink_to", "touch", "is_file", "is_dir", "exists", "stat", "lstat", "rename",
}  # fmt: skip
"""Methods of a path that reach the file system; whoever may name paths must leave these to the two rooms."""

FILES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    """The room a module belongs to."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imports(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and full name of everything imported, also inside functions."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{'.' * node.level}{node.module or ''}.{a.name}") for a in node.names)


def forbidden_imports(room: str, source: str) -> list[str]:
    """What a module of a room imports and may not."""
    rooms, packages = MAY_IMPORT[room]
    bad = []
    for line, name in imports(ast.parse(source)):
        top, _, rest = name.partition(".")
        if top == "docgen":
            allowed = rest.split(".")[0] in rooms | {room}
        elif top in WORLD:
            allowed = any(f"{name}.".startswith(f"{met}.") for met in MAY_MEET.get(room, ()))
        else:
            allowed = top in packages or top in sys.stdlib_module_names
        if not allowed:
            bad.append(f"line {line}: {room} may not import {name}")
    return bad


def file_access(room: str, source: str) -> list[str]:
    """Calls in a module that reach the file system."""
    bad = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            function = node.func
            method = function.attr if isinstance(function, ast.Attribute) else ""
            if method in ON_PATHS or (isinstance(function, ast.Name) and function.id == "open"):
                bad.append(f"line {node.lineno}: {room} may not call {method or 'open'}()")
    return bad


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_a_room_imports_only_what_the_map_allows(path):
    """A room reaches for the model, the findings and the libraries of its trade, and nothing else."""
    assert forbidden_imports(room_of(path), path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", [p for p in FILES if room_of(p) not in TOUCH_FILES],
                         ids=lambda p: p.relative_to(PACKAGE).as_posix())  # fmt: skip
def test_only_two_rooms_touch_files(path):
    """Everything between the window and the writer is a function of its arguments."""
    assert file_access(room_of(path), path.read_text("utf-8")) == []


@pytest.mark.parametrize(
    ("room", "source"),
    [
        ("readback", "from docgen.typeset import place"),
        ("readback", "def f():\n    import reportlab.pdfgen"),
        ("source", "from docgen import project"),
        ("model", "import yaml"),
        ("edition", "from .texts import named"),
        ("compose", "from pathlib import Path"),
        ("analysis", "import time"),
        ("report", "from urllib.request import urlopen"),
    ],
)
def test_the_map_refuses(room, source):
    """The check itself can fail."""
    assert forbidden_imports(room, source)


@pytest.mark.parametrize(
    "source",
    [
        "open('x')",
        "from pathlib import Path\nPath('x').read_text()",
        "import os\nos.rename('a', 'b')",
        "p.write_bytes(b'')",
    ],
)
def test_file_access_is_seen(source):
    """The check itself can fail."""
    assert file_access("source", source)
