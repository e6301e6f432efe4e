"""The command line as people and programs meet it: words, exit status, nothing unasked."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from docgen import cli
from docgen.build import making
from docgen.build.making import Wanted
from docgen.build.outcome import Exit, Outcome
from docgen.findings import Where, error

DOCGEN = [sys.executable, "-c", "from docgen.cli import main; main()"]


def run(*args, cwd=None, **env):
    """The program in a process of its own."""
    return subprocess.run(
        [*DOCGEN, *args], capture_output=True, text=True, cwd=cwd, timeout=120, env={**os.environ, **env}
    )


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A working folder with a fresh protocol in it, from `docgen new`."""
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(cli.docgen, ["new", "mine"])
    assert result.exit_code == Exit.CLEAN, result.output
    return tmp_path


# --- every command ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", [[], *([name] for name in cli.docgen.commands)])
def test_help_has_a_sentence_and_examples(command):
    """A person can begin from `--help` alone."""
    result = CliRunner().invoke(cli.docgen, [*command, "--help"])

    assert result.exit_code == 0
    assert "Example" in result.output
    assert max(map(len, result.output.splitlines())) <= 100


def test_every_option_is_explained():
    """No option without a sentence."""
    for name, command in cli.docgen.commands.items():
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.help, f"{name} {parameter.name}"


def test_the_artifacts_offered_are_those_that_are_made():
    """The list is repeated in the command line so that `--help` need not load the model."""
    from docgen.model.edition import ARTIFACTS, READER

    assert (*ARTIFACTS, READER) == cli.ARTIFACTS


def test_nothing_heavy_is_loaded_for_help():
    """`docgen --help` answers at once: no typesetting, no YAML, no models."""
    code = (
        "import sys; sys.argv = ['docgen', '--help']\n"
        "from docgen.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'yaml', 'pydantic', 'jinja2', 'markdown_it', 'uharfbuzz', 'pypdfium2', 'numpy', 'rich', 'ctypes'}\n"
        "print('LOADED', sorted(heavy & set(sys.modules)), sorted(m for m in sys.modules if m[:7] == 'docgen.'))\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60).stdout

    ours = "['docgen.build', 'docgen.build.outcome', 'docgen.cli', 'docgen.findings']"
    assert out.splitlines()[-1] == f"LOADED [] {ours}"


def test_check_loads_nothing_that_makes_or_reads_sheets(home):
    """`docgen check` on one file stays quick."""
    code = (
        "import sys; sys.argv = ['docgen', 'check', 'protocols/mine.yaml']\n"
        "from docgen.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'jinja2', 'uharfbuzz', 'pypdfium2', 'numpy', 'zxingcpp', 'rich', 'icu4py', 'fontTools', 'segno'}\n"
        "print('LOADED', sorted(heavy & set(sys.modules)))\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60).stdout

    assert out.splitlines()[-1] == "LOADED []"


# --- exit status --------------------------------------------------------------------------------------------


def test_a_clean_check_exits_with_0(home):
    """And says what was looked at."""
    result = CliRunner().invoke(cli.docgen, ["check"])

    assert result.exit_code == Exit.CLEAN
    assert result.output.splitlines()[-1] == "no findings"


def test_an_error_exits_with_1_and_shows_its_place(home):
    """`file:line:column: error: …`, the line, a caret, a summary."""
    file = home / "protocols" / "mine.yaml"
    file.write_text(file.read_text("utf-8").replace("purpose:", "purpos:"), "utf-8")
    result = CliRunner().invoke(cli.docgen, ["check", "protocols/mine.yaml"])
    number = next(n for n, line in enumerate(file.read_text("utf-8").splitlines(), 1) if line.startswith("purpos:"))

    assert result.exit_code == Exit.FINDINGS
    assert f"protocols/mine.yaml:{number}:1: error: " in result.output
    assert "| ^" in result.output
    assert "`purpose`" in result.output
    assert result.output.splitlines()[-1] == "1 error, 1 warning"  # the steps were not analysed


@pytest.mark.parametrize(
    "args",
    [
        ["check", "protocols/nothing.yaml"],
        ["check", "--site", "nowhere"],
        ["check", "--explain", "no/such-rule"],
        ["check", "protocols/mine.yaml", "elsewhere/other.yaml"],
        ["verify", "nothing.pdf"],
        ["verify"],
        ["make", "--sheet", "A1"],
        ["make", "--artifact", "banner"],
        ["make", "--jobs", "0"],
        ["make", "--examples", "protocols/mine.yaml"],
        ["make", "--templates", "nowhere"],
        ["schema", "hospital"],
        ["new", "No Name"],
        ["new", "../above"],
        ["new", "mine"],
        ["nonsense"],
        ["check", "--format", "xml"],
    ],
    ids=" ".join,
)
def test_what_cannot_be_used_exits_with_2(home, args):
    """Whatever was wrong is said in words, without a traceback, and nothing is made."""
    before = sorted(p.as_posix() for p in home.rglob("*"))
    result = run(*args, cwd=home)

    assert result.returncode == Exit.UNUSABLE
    assert "rror" in result.stdout + result.stderr
    assert "Traceback" not in result.stderr
    assert sorted(p.as_posix() for p in home.rglob("*")) == before


@pytest.mark.parametrize(("asked", "shown"), [("", False), ("1", True)])
def test_a_fault_of_ours_exits_with_3(home, asked, shown):
    """It is called a bug; where it is, is shown only when asked for."""
    code = (
        "import docgen.build.checking as c\n"
        "def fault(*_): raise ZeroDivisionError('by us')\n"
        "c.shelve = fault\n"
        "import sys; sys.argv = ['docgen', 'check']\n"
        "from docgen.cli import main; main()\n"
    )
    env = {**os.environ, "DOCGEN_TRACEBACK": asked}
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, env=env)

    assert result.returncode == Exit.BUG
    assert "this is a bug in docgen: ZeroDivisionError: by us" in result.stderr
    assert ("Traceback" in result.stderr) is shown
    assert result.stdout == ""


def test_a_closed_pipe_is_no_fault(home):
    """`docgen schema | head -1` ends quietly."""
    command = f"'{sys.executable}' -c 'from docgen.cli import main; main()' schema | head -1"
    done = subprocess.run(command, shell=True, capture_output=True, text=True, timeout=60, cwd=home)

    assert done.stdout == "{\n"
    assert done.stderr == ""


# --- formats ------------------------------------------------------------------------------------------------


def test_json_is_the_only_thing_on_the_output(home):
    """A list of findings; an empty one when clean."""
    assert json.loads(CliRunner().invoke(cli.docgen, ["check", "--format", "json"]).output) == []
    (home / "protocols" / "mine.yaml").write_text("protocol: mine\n", "utf-8")
    result = CliRunner().invoke(cli.docgen, ["check", "--format", "json"])

    assert result.exit_code == Exit.FINDINGS
    assert {f["file"] for f in json.loads(result.output)} == {"protocols/mine.yaml"}


def test_sarif_is_printed_even_when_clean(home):
    """A log without results tells a service that all is well."""
    log = json.loads(CliRunner().invoke(cli.docgen, ["check", "--format", "sarif"]).output)

    assert log["version"] == "2.1.0"
    assert log["runs"][0]["results"] == []


def test_piped_output_has_no_colour_and_no_progress(home):
    """Nothing but text goes into a file."""
    (home / "protocols" / "mine.yaml").write_text("protocol: mine\n", "utf-8")
    result = run("make", cwd=home)

    assert "\x1b" not in result.stdout + result.stderr
    assert result.stderr == ""


def test_a_terminal_gets_colour(home):
    """Severities stand out where somebody looks."""
    (home / "protocols" / "mine.yaml").write_text("protocol: mine\n", "utf-8")
    ours, theirs = pty.openpty()
    subprocess.run(
        [*DOCGEN, "check"], stdout=theirs, stderr=theirs, cwd=home, timeout=60, env={**os.environ, "TERM": "xterm"}
    )
    os.close(theirs)

    assert b"\x1b[31m" in os.read(ours, 1 << 16)


# --- options reach their room -------------------------------------------------------------------------------


def test_every_option_of_make_reaches_the_corridor(home, monkeypatch):
    """No option is dropped on the way; every field of what is wanted can be set."""
    got = {}

    def make(project, wanted, progress):
        got.update(project=project, wanted=wanted)
        return Outcome(())

    monkeypatch.setattr(making, "make", make)
    args = (
        "make protocols/mine.yaml --site north --site south --artifact poster --language es --sheet A1 --out there "
        "--draft --together --jobs 3"
    )
    result = CliRunner().invoke(cli.docgen, [*args.split(), "--templates", "ours", "--format", "json"])
    wanted, project = got["wanted"], got["project"]
    default = Wanted()

    assert result.exit_code == 0
    assert json.loads(result.output) == []
    assert all(getattr(wanted, f.name) != getattr(default, f.name) for f in fields(Wanted))
    assert wanted.asked.files == (Path("protocols/mine.yaml"),)
    assert wanted.asked.sites == ("north", "south")
    assert (wanted.artifacts, wanted.sheet, wanted.out) == (("poster",), "A1", Path("there"))
    assert wanted.languages == ("es",)
    assert (wanted.draft, wanted.processes) == (True, 3)
    assert (project.folder, project.overlay) == (Path("protocols"), Path("ours"))


def test_the_examples_come_with_docgen(home, monkeypatch):
    """`--examples` needs no project."""
    from docgen.project import shipped

    got = []
    monkeypatch.setattr(making, "make", lambda project, *_: got.append(project) or Outcome(()))
    CliRunner().invoke(cli.docgen, ["make", "--examples"])

    assert got[0].folder == shipped("protocols")
    assert any(got[0].protocols())


def test_the_folder_of_protocols_can_be_another(home):
    """`--protocols` on check, make, verify, schema and new."""
    (home / "protocols").rename(home / "ours")

    assert CliRunner().invoke(cli.docgen, ["check", "--protocols", "ours"]).exit_code == Exit.CLEAN
    assert CliRunner().invoke(cli.docgen, ["new", "other", "--protocols", "ours"]).exit_code == Exit.CLEAN
    assert (home / "ours" / "other.yaml").exists()


# --- schema and new -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["protocol", "site"])
def test_the_schema_in_the_folder_is_the_one_that_is_printed(kind):
    """The file editors are pointed to is current; `docgen schema --write` refreshes it."""
    from docgen.project import shipped

    printed = CliRunner().invoke(cli.docgen, ["schema", kind]).output

    assert (shipped("protocols") / "schema" / f"{kind}.schema.json").read_text("utf-8") == printed


def test_schemas_are_written_where_editors_look(home):
    """Beside the protocols, whole, and again without complaint."""
    for _turn in range(2):
        result = CliRunner().invoke(cli.docgen, ["schema", "--write"])

        assert result.exit_code == Exit.CLEAN
        written = sorted(p.name for p in (home / "protocols" / "schema").iterdir())
        assert written == ["protocol.schema.json", "site.schema.json"]


def test_a_new_site_is_clean_but_for_its_blanks(home):
    """What `docgen new --site` writes can be checked at once; a second time it refuses, as without any protocol."""
    result = CliRunner().invoke(cli.docgen, ["new", "--site", "ward-7"])
    assert result.exit_code == Exit.CLEAN, result.output
    assert "docgen check --site ward-7" in result.output
    checked = CliRunner().invoke(cli.docgen, ["check", "--site", "ward-7"])

    assert checked.exit_code == Exit.CLEAN, checked.output
    assert "[source/to-be-written]" in checked.output
    assert "mine 0.1" in checked.output and "at ward-7" in checked.output
    assert CliRunner().invoke(cli.docgen, ["new", "--site", "ward-7"]).exit_code == Exit.UNUSABLE
    (home / "empty").mkdir()
    alone = CliRunner().invoke(cli.docgen, ["new", "--site", "ward-7", "--protocols", "empty"])
    assert alone.exit_code == Exit.UNUSABLE and "[project/no-protocols]" in alone.output


def test_a_new_protocol_is_clean_and_never_overwrites(home):
    """What `docgen new` writes passes `docgen check`; a second time it refuses."""
    before = (home / "protocols" / "mine.yaml").read_bytes()
    again = CliRunner().invoke(cli.docgen, ["new", "mine"])

    assert again.exit_code == Exit.UNUSABLE
    assert "nothing is overwritten" in again.output
    assert (home / "protocols" / "mine.yaml").read_bytes() == before


def test_a_rule_is_explained():
    """In plain words with its basis."""
    from docgen.build.checking import rules

    result = CliRunner().invoke(cli.docgen, ["check", "--explain", rules()[0].name])

    assert result.exit_code == Exit.CLEAN
    assert "Basis:" in result.output


def test_the_exit_status_follows_the_findings():
    """Reading fails harder than finding."""
    place = Where("f", 1, 1)

    assert Outcome(()).status == 0
    assert Outcome((error("source/x", "y", place),)).status == 1
    assert Outcome((error("source/x", "y", place), error("project/x", "y", place))).status == 2


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_knows_the_commands(shell):
    """As the help says it is switched on."""
    script = run(_DOCGEN_COMPLETE=f"{shell}_source")

    assert script.returncode == 0
    assert "_DOCGEN_COMPLETE" in script.stdout
