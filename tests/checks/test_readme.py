"""The README tells the truth: its first post answers what it prints, and its tables are complete."""

import json
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from stillset_core.attention.catalogue import CATALOGUE
from stillset_core.judging.catalogue import CAUTIONS, RULES
from stillset_core.protocol import Protocol

README = (Path(__file__).parents[2] / "README.md").read_text()
STILLSET = str(Path(sys.executable).with_name("stillset"))


def block(heading: str, language: str) -> str:
    """Find the first fenced block of a language below a heading."""
    section = README.split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    return re.search(rf"```{language}\n(.*?)```", section, re.DOTALL)[1]


@pytest.fixture
def demo() -> Iterator[tuple[int, str]]:
    """Start the demo as a user does; gives its port and the key that it prints."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [STILLSET, "demo", "--port", str(port), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        try:
            key = process.stdout.readline().split()[-1]
            assert "Board:" in process.stdout.readline()
            yield port, key
        finally:
            process.terminate()
            process.stdout.read()


def test_the_first_post_answers_what_the_readme_prints(demo: tuple[int, str]) -> None:
    port, key = demo
    script = block("Post a set", "sh").replace("KEY=...", f"KEY={key}").replace(":8000/", f":{port}/")
    wait = f"curl -s --retry 60 --retry-connrefused --retry-delay 1 http://127.0.0.1:{port}/healthz >/dev/null\n"
    answer = subprocess.run(["bash", "-c", wait + script], capture_output=True, text=True, check=True)
    printed = json.loads(block("Post a set", "json"))
    given = json.loads(answer.stdout)
    assert len(given.pop("id")) == len(printed.pop("id"))
    assert given == printed


def test_every_rule_caution_and_attention_item_is_in_the_readme_and_no_other() -> None:
    listed = re.findall(r"^\| `([a-z-]+)` \|", README.split("\n## The protocol\n")[0], re.MULTILINE)
    assert listed == [entry.code for entry in (*RULES, *CAUTIONS, *CATALOGUE)]
    for entry in (*RULES, *CAUTIONS, *CATALOGUE):
        assert entry.sentence in README


def test_every_setting_is_in_the_readme_and_no_other() -> None:
    table = README.split("\n## The protocol\n")[1].split("\n## ")[0]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    assert sorted(re.findall(r"`(\w+)`", " ".join(rows))) == sorted(Protocol().settings())


def test_every_command_is_in_the_readme() -> None:
    help_text = subprocess.run([STILLSET, "--help"], capture_output=True, text=True, check=True).stdout
    commands = re.findall(r"^  (\w+)  ", help_text.split("Commands:")[1], re.MULTILINE)
    assert len(commands) >= 7
    for command in commands:
        assert f"`stillset {command}" in README
