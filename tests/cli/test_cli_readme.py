"""What README.md shows can be typed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from docgen import cli

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
SHOWN = re.findall(r"^docgen (.+?)\s*(?:#.*)?$", README, re.MULTILINE)


@pytest.mark.parametrize("line", SHOWN)
def test_every_command_shown_is_one_the_program_takes(line):
    """Command, options and their values are understood; nothing is run."""
    name, *args = shlex.split(line)
    command = cli.docgen.commands[name]
    if isinstance(command, click.Group):
        name, *args = args
        command = command.commands[name]

    command.make_context(name, args)


@pytest.mark.parametrize("name", ["make", "test"])
def test_each_of_the_two_commands_is_one_line(name):
    """They are copied and pasted, and continuous integration reads them from here."""
    (block,) = re.findall(rf"<!-- command: {name} -->\n```sh\n(.*?)```", README, re.DOTALL)

    assert block.count("\n") == 1


def test_commands_are_shown_at_all():
    """The pattern above finds something."""
    assert len(SHOWN) >= 5
