"""One list of checks: what `.ci/run` holds a change to, a commit is held to, and nothing else."""

import os
import re
import subprocess
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]
TOOLS = re.compile(r"\b(ruff|mypy|lint-imports|makemigrations|djlint|spectacular|check --deploy)\b")


def _commands(name: str) -> list[str]:
    lines = (HOUSE / name).read_text().splitlines()
    return [line for line in lines if not line.lstrip().startswith("#")]


@pytest.mark.parametrize("caller", [".ci/run", ".pre-commit-config.yaml"])
def test_both_run_the_list_and_add_nothing_of_their_own(caller: str) -> None:
    commands = _commands(caller)
    assert sum(line.split()[-1:] == [".ci/checks"] for line in commands) == 1
    assert not [line for line in commands if TOOLS.search(line)]


def test_pre_commit_has_no_other_hook() -> None:
    assert sum("- id:" in line for line in _commands(".pre-commit-config.yaml")) == 1


def _checks(word: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [HOUSE / ".ci" / "checks", word], capture_output=True, text=True, check=False
    )


def test_the_list_names_every_check_that_the_script_knows() -> None:
    listed = _checks("--list").stdout.split()
    known = re.findall(r"^    ([a-z]+)\)", (HOUSE / ".ci" / "checks").read_text(), re.MULTILINE)
    assert listed == known
    assert {"ruff", "format", "mypy", "imports", "migrations"} <= set(listed)


def test_a_check_of_no_such_name_fails() -> None:
    assert _checks("spelling").returncode == 2


def test_a_failing_check_fails_the_run(tmp_path: Path) -> None:
    uv = tmp_path / "uv"
    uv.write_text('#!/bin/sh\necho "$@" >> "$ASKED"\ncase "$*" in *mypy*) exit 3;; esac\n')
    uv.chmod(0o755)
    asked = tmp_path / "asked"
    env = {**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}", "ASKED": str(asked)}
    done = subprocess.run([HOUSE / ".ci" / "checks"], env=env, capture_output=True, check=False)
    assert done.returncode == 3
    ran = [line.split()[1] for line in asked.read_text().splitlines()]
    assert ran[:2] == ["ruff", "ruff"]
    assert ran[-1] == "mypy"
